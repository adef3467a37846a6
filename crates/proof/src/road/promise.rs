//! Promise against ride: what the plan says, what was seen, and whether the two agree.
//!
//! Every promise is worked out in the same draws of all facts, the seen value too where it needs facts (a torque from
//! slowing needs the mass): a fact that both share enters once. `z = mean(seen − planned)/√(var(seen − planned) + noise²)`
//! against the two-sided 5 % point for all promises together (Bonferroni). A promise counts as *seen* only if the ride
//! went to nine tenths of what is planned, at the ride's own speed and charge and of the job's own peak, and the upper 95 % bound stays below what the link can take; a small `z` alone
//! is no proof.

use super::held::Swing;
use super::peaks::Peaks;
use super::plan::{Ground, cut_out_volts};
use super::promised::{Promise, Promised, Shown, Unridden};
use super::ride::{Ride, Window};
use crate::fit::two_sided;
use workbench::check::Check;
use workbench::doubt::{Draws, normal_quantile};
use workbench::fact::{FactId, list};
use workbench::job::Job;
use workbench::link::{Gap, Kind, Off, World};

/// A ride held against the plan.
#[derive(Clone, Debug)]
pub struct Proof {
    /// All promises.
    pub promises: Vec<Promise>,
    /// Beyond this many standard deviations a difference counts.
    pub beyond: f64,
    /// For each promise that differs, the facts that could explain it best, each alone: by how many of its own standard
    /// deviations it would have to be off.
    pub explained_by: Vec<(Promised, FactId, f64)>,
    /// Flux linkage in Wb that the braking torque says, with half of its interval; none if the ride does not tell.
    pub flux: Option<(f64, f64)>,
}

const DRAWS: usize = 512;
/// Windows that are worked out in every draw.
const MOST: usize = 200;
/// Of the planned value, from where on it counts as ridden (PHYSICS-DETAIL section 12).
const RIDDEN: f64 = 0.9;
/// Slope of a road that nobody measured, and what heights leave of it, as standard deviation (common practice).
const SLOPE_UNKNOWN: f64 = 0.01;
const SLOPE_MEASURED: f64 = 0.004;
/// Own error of a controller's volts and amperes, as standard deviation (common practice: 2 % at 95 %).
const METER: f64 = 0.01;
/// Ripple that a held speed may have, km/h, and how near to its setting braking fades, km/h as deviation (common practice).
const RIPPLE: f64 = 1.5;
const FADE_DEVIATION: f64 = 0.36;

/// What a promise needs: planned and seen in each draw, and the noise that the draws do not hold.
struct Pairing {
    planned: Vec<f64>,
    seen: Vec<f64>,
    noise: f64,
    events: usize,
    limit: Option<f64>,
    /// Highest seen, where it is more than the mean that is compared.
    highest: Option<f64>,
    /// Only more than planned differs.
    one_sided: bool,
    /// To which share of the job's own peak the ride went; 1 where there is none.
    reach: f64,
}

/// Holds a ride against the plan. `mass` replaces the job's usual load, in kg.
///
/// # Errors
/// [`Gap`] when the job lacks what every promise needs.
pub fn prove(job: &Job, check: &Check, ride: &Ride, mass: Option<f64>) -> Result<Proof, Gap> {
    let draws = Draws::new(job);
    let points = draws.points(DRAWS);
    let dims = draws.dimensions();
    let middle = job.middle();
    let centre = Ground::new(&World::new(&middle, job.arms, &Off), mass)?;
    let grounds = (0..DRAWS)
        .map(|i| {
            let mut values = middle.clone();
            draws.draw(&points[i * dims..(i + 1) * dims], &mut values);
            Ground::new(&World::new(&values, job.arms, &Off), mass)
        })
        .collect::<Result<Vec<Ground>, Gap>>()?;
    let peaks = Peaks::new(job, &centre);
    let book = Book { job, check, ride, centre, grounds, peaks };
    let worked: Vec<(Promised, Result<Pairing, Unridden>)> =
        Promised::ALL.into_iter().map(|p| (p, book.possible(p).and_then(|()| book.work(p)))).collect();
    let count = worked.iter().filter(|w| w.1.is_ok()).count().max(1);
    let beyond = two_sided(1.0 - 0.05 / count as f64, f64::INFINITY);
    let mut promises = Vec::new();
    let mut explained_by = Vec::new();
    for (which, w) in worked {
        let apart = w.as_ref().ok().map(|p| p.seen.iter().zip(&p.planned).map(|(s, q)| s - q).collect::<Vec<f64>>());
        let promise = judge(which, w, beyond);
        if let (Shown::Differs, Some(apart)) = (promise.shown, apart) {
            explained_by.extend(explain(&draws, &points, &apart).into_iter().map(|(f, off)| (which, f, off)));
        }
        promises.push(promise);
    }
    Ok(Proof { promises, beyond, explained_by, flux: book.flux() })
}

/// The three facts with which the difference swings most, and how far each alone would have to be off to make it vanish.
fn explain(draws: &Draws, points: &[f64], apart: &[f64]) -> Vec<(FactId, f64)> {
    let (mean, spread) = moments(apart);
    let dims = draws.dimensions();
    let mut found: Vec<(FactId, f64)> = draws
        .facts()
        .map(|(fact, dimension)| {
            let score = |i: usize| normal_quantile(points[i * dims + dimension]);
            let swing = apart.iter().enumerate().map(|(i, a)| (a - mean) * score(i)).sum::<f64>() / apart.len() as f64;
            (fact, swing)
        })
        // Less than this of the whole swing is chance among the draws.
        .filter(|(_, swing)| swing.abs() > 0.15 * spread && spread > 0.0)
        .collect();
    found.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    found.into_iter().take(3).map(|(fact, swing)| (fact, -mean / swing)).collect()
}

fn judge(which: Promised, worked: Result<Pairing, Unridden>, beyond: f64) -> Promise {
    let none = Promise { which, shown: Shown::Seen, planned: None, seen: None, z: None, limit: None, events: 0 };
    let p = match worked {
        Err(why) => return Promise { shown: Shown::NotRidden(why), ..none },
        Ok(p) => p,
    };
    let (planned, planned_sd) = moments(&p.planned);
    let (seen, seen_sd) = moments(&p.seen);
    let apart: Vec<f64> = p.seen.iter().zip(&p.planned).map(|(s, q)| s - q).collect();
    let (difference, spread) = moments(&apart);
    let difference = if p.one_sided { difference.max(0.0) } else { difference };
    let z = difference / (spread * spread + p.noise * p.noise).sqrt();
    let half = two_sided(0.95, f64::INFINITY);
    let seen_sd = (seen_sd * seen_sd + p.noise * p.noise).sqrt();
    let limit = p.limit.map(|l| (l, p.highest.unwrap_or(seen) + two_sided(0.90, f64::INFINITY) * seen_sd));
    let reached = (p.highest.unwrap_or(seen) / planned).min(p.reach);
    let shown = if z.abs() > beyond {
        Shown::Differs
    } else if limit.is_some_and(|(l, upper)| upper > l) {
        Shown::TooNear
    } else if !p.one_sided && reached < RIDDEN {
        Shown::NotRidden(Unridden::OnlyTo(reached))
    } else {
        Shown::Seen
    };
    Promise {
        shown,
        planned: Some((planned, half * planned_sd)),
        seen: Some((seen, half * seen_sd)),
        z: Some(z),
        limit,
        events: p.events,
        ..none
    }
}

fn moments(x: &[f64]) -> (f64, f64) {
    let n = x.len() as f64;
    let mean = x.iter().sum::<f64>() / n;
    let variance = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    (mean, variance.sqrt())
}

fn median(mut x: Vec<f64>) -> f64 {
    x.sort_by(f64::total_cmp);
    x.get(x.len() / 2).copied().unwrap_or(f64::NAN)
}

struct Book<'a> {
    job: &'a Job,
    check: &'a Check,
    ride: &'a Ride,
    centre: Ground,
    grounds: Vec<Ground>,
    peaks: Peaks,
}

impl Book<'_> {
    fn possible(&self, p: Promised) -> Result<(), Unridden> {
        if let Some(gone) = p.channels().iter().find(|c| !self.ride.has[**c as usize]) {
            return Err(Unridden::NoColumn(*gone));
        }
        if self.ride.clock.rate() < p.rate() {
            return Err(Unridden::TooSlow(p.rate()));
        }
        Ok(())
    }

    fn work(&self, p: Promised) -> Result<Pairing, Unridden> {
        match p {
            Promised::PeakBrake => self.peak_brake(),
            Promised::TorquePerAmpere => self.torque_per_ampere(),
            Promised::ChargePeak => self.charge_peak(),
            Promised::BusPeak => self.bus_peak(),
            Promised::Heat => self.heat(),
            Promised::HoldRipple => self.hold_ripple(),
            Promised::FadeGone => self.fade_gone(),
            Promised::Recovered => self.recovered(),
            Promised::DrivePeak => self.drive_peak(),
        }
    }

    fn each<T>(&self, f: impl Fn(&Ground) -> T) -> Vec<T> {
        self.grounds.iter().map(f).collect()
    }

    fn capacity(&self, kind: Kind) -> Option<f64> {
        self.check.links.iter().find(|l| l.link.kind == kind).and_then(|l| l.load).map(|l| l.capacity)
    }

    /// Windows at steady current from this share of the planned one on, without those in which something else slowed the
    /// bike too: a torque per ampere far above that of the others is a hand brake.
    fn clean(&self, share: f64) -> Vec<Window> {
        let mut all: Vec<Window> = self
            .ride
            .windows
            .iter()
            .filter(|w| w.steady && w.acceleration.is_finite() && w.brake_amperes > 2.0)
            .filter(|w| w.brake_amperes >= share * self.centre.planned_amperes(w.speed, w.bus_volts))
            .copied()
            .collect();
        let ratio = |w: &Window| self.centre.torque_from_slowing(w) / w.brake_amperes;
        let usual = median(all.iter().map(ratio).collect());
        let apart = 1.4826 * median(all.iter().map(|w| (ratio(w) - usual).abs()).collect());
        all.retain(|w| (ratio(w) - usual).abs() <= 4.0 * apart + 0.05 * usual.abs());
        all
    }

    fn slope_noise(&self, w: &Window) -> f64 {
        let slope = if w.grade.is_finite() { SLOPE_MEASURED } else { SLOPE_UNKNOWN };
        self.centre.mass * 9.806_65 * slope * self.centre.radius
    }

    /// The peak of each event that went to full braking, and how well their mean is known.
    fn peak_brake(&self) -> Result<Pairing, Unridden> {
        let all = self.clean(RIDDEN);
        let Some(first) = all.first() else {
            let most = self.ride.windows.iter().map(|w| w.brake_amperes).fold(0.0, f64::max);
            let share = most / self.centre.planned_amperes(0.0, f64::NAN);
            return Err(if most > 0.0 { Unridden::OnlyTo(share) } else { Unridden::NoEvent });
        };
        let mut peaks: Vec<(Window, usize)> = Vec::new();
        for w in &all {
            match peaks.last_mut() {
                Some((top, n)) if top.event == w.event => {
                    *n += 1;
                    if self.centre.torque_from_slowing(w) > self.centre.torque_from_slowing(top) {
                        *top = *w;
                    }
                }
                _ => peaks.push((*w, 1)),
            }
        }
        // Noise of one window: scatter of neighbours at full braking.
        let off = |w: &Window| self.centre.torque_from_slowing(w) - self.centre.brake_torque(w.brake_amperes, w.speed);
        let usual = median(all.iter().map(off).collect());
        let noise = 1.4826 * median(all.iter().map(|w| (off(w) - usual).abs()).collect());
        let events = peaks.len();
        let step = events.div_ceil(MOST);
        let used: Vec<&(Window, usize)> = peaks.iter().step_by(step).collect();
        let n = used.len() as f64;
        // The highest of several noisy windows is high by itself; that much is taken off (Blom 1958).
        let luck = |n: usize| noise * normal_quantile(((n as f64 - 0.375) / (n as f64 + 0.25)).max(0.5));
        let lucky: f64 = used.iter().map(|(_, n)| luck(*n)).sum::<f64>() / n;
        let seen = self.each(|g| used.iter().map(|(w, _)| g.torque_from_slowing(w)).sum::<f64>() / n - lucky);
        let planned = self.each(|g| {
            used.iter().map(|(w, _)| g.brake_torque(g.planned_amperes(w.speed, w.bus_volts), w.speed)).sum::<f64>() / n
        });
        let (planned_mean, _) = moments(&planned);
        let tolerance = 0.5 * self.centre.tolerance * planned_mean;
        let scatter = (noise * noise + self.slope_noise(first).powi(2)) / n;
        let highest =
            peaks.iter().map(|(w, n)| self.centre.torque_from_slowing(w) - luck(*n)).fold(f64::NEG_INFINITY, f64::max);
        // The highest of all events is lucky again, by the scatter between events.
        let between = self.slope_noise(first) * normal_quantile(((n - 0.375) / (n + 0.25)).max(0.5));
        let strongest = used.iter().map(|(w, _)| w.brake_amperes).fold(0.0, f64::max);
        Ok(Pairing {
            planned,
            seen,
            noise: (scatter + tolerance * tolerance).sqrt(),
            events,
            limit: self.capacity(Kind::AxleHold),
            highest: Some(highest - between),
            one_sided: false,
            reach: strongest / self.centre.planned_amperes(0.0, f64::NAN),
        })
    }

    fn torque_per_ampere(&self) -> Result<Pairing, Unridden> {
        let all = self.clean(0.5);
        if all.len() < 3 {
            return Err(Unridden::NoEvent);
        }
        let used: Vec<&Window> = all.iter().step_by(all.len().div_ceil(MOST)).collect();
        let amperes: f64 = used.iter().map(|w| w.brake_amperes).sum();
        let seen = self.each(|g| used.iter().map(|w| g.torque_from_slowing(w)).sum::<f64>() / amperes);
        let planned =
            self.each(|g| used.iter().map(|w| g.brake_torque(w.brake_amperes, w.speed)).sum::<f64>() / amperes);
        let mut events: Vec<u32> = used.iter().map(|w| w.event).collect();
        events.dedup();
        let mean = amperes / used.len() as f64;
        let slope = self.slope_noise(used[0]) / mean / (events.len() as f64).sqrt();
        let ratios = used.iter().map(|w| self.centre.torque_from_slowing(w) / w.brake_amperes).collect::<Vec<_>>();
        let scatter = moments(&ratios).1 / (used.len() as f64).sqrt();
        let (seen_mean, _) = moments(&seen);
        let meter = METER * seen_mean;
        let noise = (slope * slope + scatter * scatter + meter * meter).sqrt();
        let events = events.len();
        Ok(Pairing { planned, seen, noise, events, limit: None, highest: None, one_sided: false, reach: 1.0 })
    }

    /// What the flux linkage must be for the torque per ampere that was seen.
    fn flux(&self) -> Option<(f64, f64)> {
        self.possible(Promised::TorquePerAmpere).ok()?;
        let p = self.torque_per_ampere().ok()?;
        let used = self.clean(0.5);
        let mean = used.iter().map(|w| w.brake_amperes).sum::<f64>() / used.len() as f64;
        let speed = used.iter().map(|w| w.speed).sum::<f64>() / used.len() as f64;
        // Of the planned torque per ampere, what the drag brings does not scale with the flux.
        let values: Vec<f64> = self
            .grounds
            .iter()
            .zip(p.seen.iter().zip(&p.planned))
            .map(|(g, (seen, planned))| {
                let drag = g.brake_torque(0.0, speed) / mean;
                g.machine.flux_linkage().as_webers() * (seen - drag) / (planned - drag)
            })
            .collect();
        // At the ride's warmth; stated to 20 °C as the job's is.
        let cold = self.centre.machine.flux_linkage().as_webers();
        let stated = workbench::conflict::flux_wb(self.job).map_or(1.0, |(wb, _)| wb / cold);
        let (flux, spread) = moments(&values);
        let (seen, _) = moments(&p.seen);
        let sigma = (spread * spread + (flux * p.noise / seen).powi(2)).sqrt();
        Some((flux * stated, two_sided(0.95, f64::INFINITY) * sigma * stated))
    }

    fn strongest_charge(&self) -> Option<&Window> {
        let all = self.ride.windows.iter().filter(|w| w.charge_amperes > 0.0 && w.bus_volts > 1.0);
        all.max_by(|a, b| a.charge_amperes.total_cmp(&b.charge_amperes))
    }

    fn charge_peak(&self) -> Result<Pairing, Unridden> {
        let top = self.strongest_charge().ok_or(Unridden::NoEvent)?;
        let own_peak = self.peaks.charge.ok_or(Unridden::NotPlanned(None))?;
        let planned =
            self.each(|g| g.charge_amperes(g.planned_amperes(top.speed, top.bus_volts), top.speed, top.bus_volts));
        let seen = vec![self.ride.charge_peak; planned.len()];
        let (mean, _) = moments(&planned);
        let own = (METER * self.ride.charge_peak).hypot(0.5 * self.centre.tolerance * mean);
        Ok(Pairing {
            planned,
            seen,
            noise: own,
            events: self.ride.brakings as usize,
            limit: self.capacity(Kind::ChargeAmps),
            highest: None,
            one_sided: false,
            reach: self.ride.charge_peak / own_peak,
        })
    }

    fn bus_peak(&self) -> Result<Pairing, Unridden> {
        let (volts, rest, amperes) = self.ride.bus_peak.ok_or(Unridden::NoEvent)?;
        if !rest.is_finite() {
            return Err(Unridden::NoEvent);
        }
        if self.centre.pack_resistance.is_none() {
            return Err(Unridden::NotPlanned(Some(list::PACK_RESISTANCE.id())));
        }
        let (own_charge, own_bus) = self.peaks.charge.zip(self.peaks.bus).ok_or(Unridden::NotPlanned(None))?;
        let planned = self.each(|g| rest + amperes * g.pack_resistance.unwrap_or(0.0));
        let seen = vec![volts; planned.len()];
        let middle = self.job.middle();
        let world = World::new(&middle, self.job.arms, &Off);
        Ok(Pairing {
            planned,
            seen,
            // Both readings come from one meter, so only the rise has its error; the pack recovers while it rests.
            noise: (METER * (volts - rest)).hypot(0.25),
            events: self.ride.brakings as usize,
            limit: cut_out_volts(&world),
            highest: None,
            one_sided: false,
            // Volts alone are near the peak on any ride: it is the charging that lifts them.
            reach: (amperes / own_charge).min(volts / own_bus),
        })
    }

    fn heat(&self) -> Result<Pairing, Unridden> {
        let (first, most, at) = self.ride.temperature.ok_or(Unridden::NoEvent)?;
        let air = self.ride.air.unwrap_or(first);
        let until = &self.ride.heating[..at.min(self.ride.heating.len())];
        let steps = coarser(until, 400);
        // The sensor sits somewhere between winding and shell.
        let rises: Vec<(f64, f64)> = self
            .grounds
            .iter()
            .step_by(4)
            .filter_map(|g| g.heated(&steps, first, air))
            .map(|(w, s)| (w - first, s - first))
            .collect();
        if rises.is_empty() {
            return Err(Unridden::NotPlanned(None));
        }
        let planned: Vec<f64> = rises.iter().map(|(w, s)| 0.5 * (w + s)).collect();
        let (mean, _) = moments(&planned);
        if mean < 8.0 {
            return Err(if mean > 0.0 { Unridden::OnlyTo(mean / 20.0) } else { Unridden::NoEvent });
        }
        let between = rises.iter().map(|(w, s)| (w - s).abs()).sum::<f64>() / rises.len() as f64;
        let warmer = rises.iter().map(|(w, _)| w).sum::<f64>() / rises.len() as f64;
        let seen = vec![most - first; planned.len()];
        let noise = (between / 12f64.sqrt()).hypot(1.5);
        // Without a hill nothing is planned that would be hotter.
        let reach = self.peaks.warmer.map_or(1.0, |own| warmer / own);
        Ok(Pairing { planned, seen, noise, events: 1, limit: None, highest: None, one_sided: false, reach })
    }

    fn hold_ripple(&self) -> Result<Pairing, Unridden> {
        let Swing { seen, noise, events } = super::held::swing(self.job, self.ride)?;
        let planned = vec![RIPPLE; self.grounds.len()];
        let seen = vec![seen; planned.len()];
        Ok(Pairing { planned, seen, noise, events, limit: None, highest: None, one_sided: true, reach: 1.0 })
    }

    fn fade_gone(&self) -> Result<Pairing, Unridden> {
        if self.centre.fade_gone.is_none() {
            return Err(Unridden::NotPlanned(Some(list::FADE_GONE.id())));
        }
        let all = &self.ride.gone;
        if all.len() < 3 {
            return Err(if all.is_empty() { Unridden::NoEvent } else { Unridden::OnlyTo(all.len() as f64 / 3.0) });
        }
        let usual = median(all.clone());
        let spread = 1.4826 * median(all.iter().map(|v| (v - usual).abs()).collect());
        let planned = self.each(|g| 3.6 * g.fade_gone.unwrap_or(f64::NAN));
        let seen = vec![3.6 * usual; planned.len()];
        let noise = (3.6 * spread * 1.25 / (all.len() as f64).sqrt()).hypot(FADE_DEVIATION);
        Ok(Pairing {
            planned,
            seen,
            noise,
            events: all.len(),
            limit: None,
            highest: None,
            one_sided: false,
            reach: 1.0,
        })
    }

    fn recovered(&self) -> Result<Pairing, Unridden> {
        const LEAST: f64 = 3.0;
        let seen_wh = self.ride.recovered / 3600.0;
        if seen_wh < LEAST {
            return Err(if seen_wh > 0.0 { Unridden::OnlyTo(seen_wh / LEAST) } else { Unridden::NoEvent });
        }
        let bus = self.ride.brake_bus;
        let planned = self.each(|g| {
            let joules: f64 = self
                .ride
                .slots
                .iter()
                .filter(|s| s.seconds > 0.0)
                .map(|s| g.charge_amperes(s.charge / s.seconds, s.metres / s.seconds, bus) * bus * s.seconds)
                .sum();
            joules / 3600.0
        });
        let seen = vec![seen_wh; planned.len()];
        // Losses of the controller itself (2 % at 95 %, common practice) and both meters.
        let noise = seen_wh * (2.0 * METER * METER + 0.01 * 0.01_f64).sqrt();
        let events = self.ride.brakings as usize;
        Ok(Pairing { planned, seen, noise, events, limit: None, highest: None, one_sided: false, reach: 1.0 })
    }

    fn drive_peak(&self) -> Result<Pairing, Unridden> {
        if self.ride.starts == 0 && self.ride.drive_peak <= 0.0 {
            return Err(Unridden::NoEvent);
        }
        let asked = super::steer(self.job).map_err(|g| match g {
            Gap::Unknown(id) => Unridden::NotPlanned(Some(id)),
            _ => Unridden::NotPlanned(None),
        })?;
        let planned = vec![asked.drive_amperes; self.grounds.len()];
        let seen = vec![self.ride.drive_peak; planned.len()];
        let noise = asked.drive_amperes * METER.hypot(0.5 * self.centre.tolerance);
        let events = self.ride.starts as usize;
        let limit = self.capacity(Kind::MotorCurrent);
        Ok(Pairing { planned, seen, noise, events, limit, highest: None, one_sided: false, reach: 1.0 })
    }
}

/// No more than so many steps, neighbours joined.
fn coarser(steps: &[super::Heating], most: usize) -> Vec<super::Heating> {
    let every = steps.len().div_ceil(most).max(1);
    steps
        .chunks(every)
        .map(|c| {
            let seconds: f64 = c.iter().map(|h| h.seconds).sum();
            let mean = |f: fn(&super::Heating) -> f64| c.iter().map(|h| f(h) * h.seconds).sum::<f64>() / seconds;
            super::Heating { seconds, square_amperes: mean(|h| h.square_amperes), speed: mean(|h| h.speed) }
        })
        .collect()
}
