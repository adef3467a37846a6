//! The search: the largest safe value of each setting, on the steps of the device, in the order of the objective.

use super::field::{Dials, Field, room, turned, value};
use super::{At, Binds, Gain, Impossible, Kind, Safe, Setting, Solution, Summer, Wish, assist, buy, speeds};
use crate::advice;
use crate::check;
use crate::fact::{FactId, Side, list};
use crate::job::Job;
use crate::link::{self, Kind as L, Off, Place, World};
use physics::supply::{self, Inverter};
use physics::{battery, gears, hold};
use quantity::*;

/// Lowest charge-to level that is given up for more braking, and highest.
const CHARGE_TO: (f64, f64) = (0.80, 1.0);
/// Shortest ramp, and the largest jerk that it may make (PHYSICS-DETAIL M3, assumed).
const SHORTEST_RAMP: Time = Time::milliseconds(150.0);
const JERK_M_S3: f64 = 5.0;
/// Walking pace at which a pushed bike must not brake (assumed).
const WALKING: Speed = Speed::metres_per_second(4.0 / 3.6);
/// Slowest speed that is worth holding.
const SLOWEST: Speed = Speed::metres_per_second(6.0 / 3.6);
/// A hold must also work this much faster (PHYSICS-DETAIL section 2, Hold).
const ABOVE: f64 = 1.2;
/// Above this share of its room a link is named as the one that binds.
const NEAR: f64 = 0.95;
/// Readings that differ by less are the same.
const HAIR: f64 = 1e-9;

/// One search on one job.
pub struct Solver<'a> {
    field: Field<'a>,
    dials: Dials,
    /// Links that no setting can meet: judged, but not searched for.
    ignored: Vec<usize>,
    /// Links that want more, or that the speed held decides.
    held: Vec<usize>,
    nuts_free: bool,
    charge_kept: bool,
    caps: [f64; 2],
    summer: Option<Summer>,
    full_below: Option<f64>,
    can_hold: bool,
    hold_slowest: f64,
}

/// Finds the settings of a job.
pub fn solve(job: &Job, wish: &Wish, went: &(dyn Fn(usize, usize) + Sync)) -> Solution {
    let draws = wish.draws.unwrap_or_else(|| check::draws_for(job.one_in));
    let buys = if wish.buy { buy::CHANGES.len() } else { 0 };
    let all = 3 + buys;
    let mut solver = Solver::new(job, draws);
    let full = solver.search(wish);
    // Changes are compared with what was found on the first sample, as theirs is.
    let base = (solver.gain(wish), solver.impossible(&full).len());
    went(1, all);
    solver.confirm(draws);
    went(2, all);
    let mut out = solver.solution(wish, draws);
    went(3, all);
    if wish.buy {
        out.before_buying = base.0;
        out.buys = buy::buys(job, wish, base.1, draws, &|n| went(3 + n, all));
    }
    out
}

/// The same without second sample, speeds and changes: for comparing.
pub fn gain_of(job: &Job, wish: &Wish, draws: usize) -> (Gain, usize) {
    let mut solver = Solver::new(job, draws);
    let full = solver.search(wish);
    (solver.gain(wish), solver.impossible(&full).len())
}

impl<'a> Solver<'a> {
    fn new(job: &'a Job, draws: usize) -> Self {
        let charge_kept = job.answer(list::CHARGE_LIMIT_KEPT_BY.id()) == Some("controller");
        let mut dials = Dials::new();
        let mut start = |id: FactId, otherwise: f64| {
            dials.push((id, job.fact(id).map_or(otherwise, |f| f.value)));
        };
        start(list::DRIVE_CURRENT.id(), 10.0);
        start(list::BRAKE_CURRENT.id(), 10.0);
        if charge_kept {
            start(list::CHARGE_LIMIT.id(), 2.0);
        }
        start(list::CHARGE_TO.id(), CHARGE_TO.0);
        start(list::HOLD_FASTEST.id(), Speed::kilometres_per_hour(15.0).si());
        start(list::RAMP.id(), 0.25);
        for side in Side::BOTH {
            start(list::NUT_TORQUE.of(side), 40.0);
        }
        for i in 0..job.arms {
            start(list::ANCHOR_TORQUE.of(i), 5.0);
            if job.answer(list::ARM_KIND.of(i)) == Some("pinching") {
                start(list::PINCH_TORQUE.of(i), 5.0);
            }
        }
        let field = Field::new(job, draws, 0, &dials);
        let held = field.find(|l| matches!(l.kind, L::HillHold | L::WindingHeat));
        Self {
            field,
            dials,
            ignored: Vec::new(),
            held,
            // A passed hold test is one of the nuts as they are.
            nuts_free: job.fact(list::HOLD_TEST.id()).is_none(),
            charge_kept,
            caps: [0.0; 2],
            summer: None,
            full_below: None,
            can_hold: true,
            hold_slowest: SLOWEST.si(),
        }
    }

    /// The job.
    pub const fn job(&self) -> &Job {
        self.field.job()
    }
    /// Every fact at its middle, with the settings found.
    pub fn middle_values(&self) -> Vec<f64> {
        let mut values = self.job().middle();
        for (id, v) in &self.dials {
            values[id.index()] = *v;
        }
        values
    }

    /// Turns every dial; reads all draws; again with the draws that were missed.
    fn search(&mut self, wish: &Wish) -> Vec<f64> {
        let mut full = self.field.measure(&self.dials);
        for _ in 0..6 {
            self.turn_all(wish);
            full = self.field.measure(&self.dials);
            if self.over(&full).is_empty() {
                break;
            }
        }
        full
    }

    /// Links over their room that the search has to answer for.
    fn over(&self, full: &[f64]) -> Vec<usize> {
        let links = self.field.links();
        (0..links.len())
            .filter(|i| full[*i] > room(links[*i]) * (1.0 + HAIR))
            .filter(|i| !self.ignored.contains(i) && (self.can_hold || !self.held.contains(i)))
            .collect()
    }

    fn turn_all(&mut self, wish: &Wish) {
        let ramp = self.least_ramp().max(value(&self.dials, list::RAMP.id()).unwrap_or(0.0).min(0.15));
        self.set(list::RAMP.id(), Kind::Ramp.rounded(ramp));
        self.find_caps();
        self.arms();
        self.find_ignored();
        self.set(list::CHARGE_TO.id(), self.charge_floor());
        self.currents();
        self.settle_nuts();
        self.charge(wish);
        self.hold();
    }

    fn set(&mut self, id: FactId, to: f64) {
        self.dials = turned(&self.dials, id, to);
    }

    /// Links that these facts change, without those that are not searched for.
    fn wanted(&self, on: &[FactId]) -> Vec<usize> {
        let mut out = self.field.depending(on);
        out.retain(|i| !self.ignored.contains(i) && !self.held.contains(i));
        out
    }

    /// Largest value of a setting, on its steps from `low` to `high` (SI), with which `holds`; none if `low` does not.
    fn largest(kind: Kind, low: f64, high: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
        let step = kind.step();
        let at = |k: i64| kind.to_si(k as f64 * step);
        let mut good = (kind.from_si(low) / step - HAIR).ceil() as i64;
        let mut bad = (kind.from_si(high) / step + HAIR).floor() as i64 + 1;
        if bad <= good || !holds(at(good)) {
            return None;
        }
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if holds(at(middle)) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        Some(at(good))
    }

    /// Value of a setting, on its steps, at which `worst` is least; it falls, then rises. The lower of equals.
    fn lowest(kind: Kind, low: f64, high: f64, worst: impl Fn(f64) -> f64) -> f64 {
        let step = kind.step();
        let at = |k: i64| kind.to_si(k as f64 * step);
        let mut low = (kind.from_si(low) / step - HAIR).ceil() as i64;
        let mut high = ((kind.from_si(high) / step + HAIR).floor() as i64).max(low);
        while high > low {
            let middle = low + (high - low) / 2;
            let (here, next) = (worst(at(middle)), worst(at(middle + 1)));
            if here <= next && here.is_finite() {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        at(low)
    }

    fn nut(side: Side) -> FactId {
        list::NUT_TORQUE.of(side)
    }

    /// How tight each nut may be whatever the motor does.
    fn find_caps(&mut self) {
        for side in Side::BOTH {
            let own =
                self.field.find(|l| matches!(l.kind, L::Nut | L::Thread | L::Dropout) && l.place == Place::At(side));
            let cap = Self::largest(Kind::NutTorque, 5.0, 200.0, |t| {
                self.field.worst(&own, &turned(&self.dials, Self::nut(side), t)).0 <= 1.0
            });
            self.caps[side as usize] = cap.unwrap_or(5.0);
        }
    }

    /// The nuts as tight as both ends may be under these currents: whatever holds, holds best with these.
    fn tight(&self, dials: &Dials) -> Dials {
        let mut out = dials.clone();
        if !self.nuts_free {
            return out;
        }
        for side in Side::BOTH {
            let cap = self.caps[side as usize];
            let own = self.field.find(|l| l.kind == L::AxleSection && l.place == Place::At(side));
            let fits = |t: f64| self.field.worst(&own, &turned(&out, Self::nut(side), t)).0 <= 1.0;
            let t = if fits(cap) { cap } else { Self::largest(Kind::NutTorque, 5.0, cap, fits).unwrap_or(cap) };
            out = turned(&out, Self::nut(side), t);
        }
        out
    }

    fn arms(&mut self) {
        if !self.nuts_free {
            return;
        }
        for i in 0..self.job().arms {
            let id = list::ANCHOR_TORQUE.of(i);
            if let Some(limit) = self.small_limit(i, "anchor") {
                self.set(id, Kind::AnchorTorque.rounded(limit));
            }
            let id = list::PINCH_TORQUE.of(i);
            if value(&self.dials, id).is_some() {
                let most = self.small_limit(i, "pinch").unwrap_or(60.0);
                let own = self.wanted(&[id]);
                let dials = self.tight(&self.dials);
                let best =
                    Self::lowest(Kind::PinchTorque, 0.5, most, |t| self.field.worst(&own, &turned(&dials, id, t)).0);
                self.set(id, best);
            }
        }
    }

    fn small_limit(&self, arm: usize, key: &str) -> Option<f64> {
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        advice::small_limit(self.job(), &w, arm, key).map(Quantity::si)
    }

    /// The least that can be asked: hardly any current, no charge.
    fn gentle(&self) -> Dials {
        let mut d = turned(&self.dials, list::DRIVE_CURRENT.id(), Kind::DriveCurrent.step());
        d = turned(&d, list::BRAKE_CURRENT.id(), 0.0);
        if self.charge_kept {
            d = turned(&d, list::CHARGE_LIMIT.id(), 0.0);
        }
        d = turned(&d, list::CHARGE_TO.id(), self.charge_floor());
        self.tight(&d)
    }

    fn find_ignored(&mut self) {
        let gentle = self.gentle();
        let links = self.field.links();
        self.ignored = (0..links.len())
            .filter(|i| !self.held.contains(i) && self.field.look(*i, &gentle) > room(links[*i]) * (1.0 + HAIR))
            .collect();
    }

    fn charge_floor(&self) -> f64 {
        self.job().get(list::CHARGE_TO).map_or(CHARGE_TO.0, |c| c.si().min(CHARGE_TO.0))
    }

    /// Motor current that the controller cannot exceed.
    fn hardware(&self) -> f64 {
        self.job().get(list::HARDWARE_CURRENT).map_or(600.0, Quantity::si)
    }

    /// Charge limit and charge-to level, and the braking current that goes best with them.
    ///
    /// What the supply rises to when the pack opens grows with the motor current and with the power into the pack, so
    /// that one is paid for with the other: the search walks along the largest charge limit of each braking current and
    /// takes the one with the most braking at the speeds asked for, each counted as a share of what the motor could
    /// alone, all with the same weight.
    fn charge(&mut self, wish: &Wish) {
        let level = list::CHARGE_TO.id();
        let floor = self.charge_floor();
        let id = list::CHARGE_LIMIT.id();
        let links = self.field.links();
        if self.charge_kept {
            let all = self.wanted(&[id]);
            let brake = list::BRAKE_CURRENT.id();
            // The pack's own limits hold whatever the motor current is set to.
            let (dump, pack): (Vec<usize>, Vec<usize>) = all.iter().partition(|i| links[**i].kind == L::PackCutsOut);
            let pack_dials = turned(&self.dials, brake, self.hardware());
            let pack_most = |links: &[usize]| {
                Self::largest(Kind::ChargeLimit, 0.0, 200.0, |x| {
                    self.field.worst(links, &turned(&pack_dials, id, x)).0 <= 1.0
                })
                .unwrap_or(0.0)
            };
            let warm: Vec<usize> = pack.iter().copied().filter(|i| links[*i].kind != L::Cold).collect();
            let (of_pack, of_warm) = (pack_most(&pack), pack_most(&warm));
            let most = |top: f64, amps: f64| {
                let dials = turned(&self.dials, brake, amps);
                Self::largest(Kind::ChargeLimit, 0.0, top, |x| self.field.worst(&dump, &turned(&dials, id, x)).0 <= 1.0)
                    .unwrap_or(0.0)
            };
            let top = value(&self.dials, brake).unwrap_or(0.0);
            let worth = |amps: f64| -self.braking_worth(wish, amps, most(of_pack, amps), top);
            let best = Self::lowest(Kind::BrakeCurrent, 0.0, top, worth);
            // Where a lower current would bring next to nothing, the higher one brakes more at low speed.
            let best = if worth(top) <= worth(best) + HAIR { top } else { best };
            let (all_year, in_summer) = (most(of_pack, best), most(of_warm, best));
            self.summer = (in_summer > all_year).then_some(Summer { all_year, warm: in_summer });
            self.set(brake, best);
            self.set(id, all_year);
        }
        let volts = self.wanted(&[level]);
        let to = Self::largest(Kind::ChargeTo, floor, CHARGE_TO.1, |x| {
            self.field.worst(&volts, &turned(&self.dials, level, x)).0 <= 1.0
        });
        let to = to.unwrap_or(floor);
        self.set(level, to);
        self.full_below = self.full_braking_below();
        self.set(level, self.full_below.map_or(to, |x| to.min(x.max(floor))));
    }

    /// Mean over the speeds asked for of the braking torque, as a share of that with `top` alone.
    fn braking_worth(&self, wish: &Wish, amps: f64, charge: f64, top: f64) -> f64 {
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        let share = |v: Speed| -> Option<f64> {
            let (torque, _) = speeds::torque(&w, v, amps, Some(charge))?;
            let (alone, _) = speeds::torque(&w, v, top, None)?;
            Some(torque.as_newton_metres() / alone.as_newton_metres())
        };
        let asked = asked(self.job(), wish);
        asked.iter().filter_map(|v| share(*v)).sum::<f64>() / asked.len() as f64
    }

    /// Volts between which braking folds back.
    fn fold_back(&self) -> Option<(f64, f64)> {
        let end = self.field.number(&self.dials, false, |w| {
            let series = w.get(list::CELLS_SERIES).ok()?.get() as u32;
            let limit = battery::fold_back(series, w.get(list::CELL_FULL).ok()?, w.get(list::IMBALANCE).ok()?);
            Some(limit.si())
        });
        let end = Kind::FoldBackEnd.rounded(end?);
        let charge = BatteryCurrent::from_si(value(&self.dials, list::CHARGE_LIMIT.id()).unwrap_or(0.0));
        let band = hold::fold_back_band(charge, Resistance::from_si(self.resistance()?)).ok()?;
        Some((Kind::FoldBackFrom.rounded(end - band.si()), end))
    }

    fn resistance(&self) -> Option<f64> {
        self.field.number(&self.dials, true, |w| w.get(list::PACK_RESISTANCE).ok().map(Quantity::si))
    }

    /// Highest level of charge at which the full charge current stays below the volts where braking folds back.
    fn full_braking_below(&self) -> Option<f64> {
        let (from, _) = self.fold_back()?;
        let charge = value(&self.dials, list::CHARGE_LIMIT.id()).unwrap_or(0.0);
        let rest = from - charge * self.resistance()?;
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        Self::largest(Kind::ChargeTo, 0.0, 1.0, |x| {
            w.bus_at_rest(StateOfCharge::from_si(x)).is_ok_and(|v| v.si() <= rest)
        })
    }

    fn driving(&self, dials: &Dials, amps: f64) -> Dials {
        let d = turned(dials, list::BRAKE_CURRENT.id(), 0.0);
        self.tight(&turned(&d, list::DRIVE_CURRENT.id(), amps))
    }
    fn braking(&self, dials: &Dials, amps: f64) -> Dials {
        let d = turned(dials, list::DRIVE_CURRENT.id(), Kind::DriveCurrent.step());
        self.tight(&turned(&d, list::BRAKE_CURRENT.id(), amps))
    }

    /// Both currents, each as large as holds with nuts as tight as it allows. The larger demand of the two allows a
    /// set of torques under which the smaller one holds too, so that they need not be searched together.
    fn currents(&mut self) {
        let nuts = Side::BOTH.map(Self::nut);
        let brake_links = self.wanted(&[list::BRAKE_CURRENT.id(), nuts[0], nuts[1]]);
        let brake = Self::largest(Kind::BrakeCurrent, 0.0, self.hardware(), |x| {
            self.field.worst(&brake_links, &self.braking(&self.dials, x)).0 <= 1.0
        });
        let drive_links = self.wanted(&[list::DRIVE_CURRENT.id(), nuts[0], nuts[1]]);
        let drive = Self::largest(Kind::DriveCurrent, Kind::DriveCurrent.step(), self.hardware(), |x| {
            self.field.worst(&drive_links, &self.driving(&self.dials, x)).0 <= 1.0
        });
        self.set(list::BRAKE_CURRENT.id(), brake.unwrap_or(0.0));
        self.set(list::DRIVE_CURRENT.id(), drive.unwrap_or(Kind::DriveCurrent.step()));
    }

    /// Each nut where its fullest link is least full: not tighter than does any good.
    fn settle_nuts(&mut self) {
        self.dials = self.tight(&self.dials);
        if !self.nuts_free {
            return;
        }
        for side in Side::BOTH {
            let id = Self::nut(side);
            let most = value(&self.dials, id).unwrap_or(5.0);
            // With those that no setting can meet: let them be as little over their room as they can.
            let mut own = self.field.depending(&[id]);
            own.retain(|i| !self.held.contains(i));
            let best =
                Self::lowest(Kind::NutTorque, 5.0, most, |t| self.field.worst(&own, &turned(&self.dials, id, t)).0);
            self.set(id, best);
        }
    }

    /// Speeds that the motor holds on the steepest hill, with 20 % in hand. Slower, the air helps less; faster, the charge
    /// limit leaves less torque: between them lies a range.
    fn hold(&mut self) {
        let id = list::HOLD_FASTEST.id();
        let usual = self.job().get(list::DOWNHILL_SPEED).map_or(25.0 / 3.6, Quantity::si);
        let hill = self.field.find(|l| l.kind == L::HillHold);
        let room = hill.first().map_or(1.0, |i| room(self.field.links()[*i]));
        let worst = |v: f64| {
            let faster = turned(&turned(&self.dials, id, v * ABOVE), list::DOWNHILL_SPEED.id(), usual.max(v * ABOVE));
            // 20 % faster it may be just full.
            let (here, there) = (turned(&self.dials, id, v), self.field.worst(&hill, &faster).0 * room);
            self.field.worst(&self.held, &here).0.max(there)
        };
        let slowest = SLOWEST.si();
        let best = Self::lowest(Kind::HoldFastest, slowest, usual.max(slowest), worst);
        let fastest = Self::largest(Kind::HoldFastest, best, usual.max(best), |v| worst(v) <= 1.0);
        // Downwards: the largest way down from the best.
        let down = Self::largest(Kind::HoldFastest, 0.0, best - slowest, |by| worst(best - by) <= 1.0);
        // Where a fact of the hill is missing, nobody can say.
        self.can_hold = fastest.is_some() && !hill.is_empty();
        self.hold_slowest = down.map_or(best, |by| best - by);
        self.set(id, fastest.unwrap_or(best));
    }

    /// Fastest speed downhill at which the volts stay in bounds.
    fn fastest_downhill(&self) -> Option<f64> {
        let id = list::DOWNHILL_SPEED.id();
        let volts =
            self.field.find(|l| matches!(l.kind, L::TooFast | L::ControllerVolts | L::BatteryOut | L::PackCutsOut));
        Self::largest(
            Kind::FastestDownhill,
            Speed::kilometres_per_hour(5.0).si(),
            Speed::kilometres_per_hour(90.0).si(),
            |v| self.field.worst(&volts, &turned(&self.dials, id, v)).0 <= 1.0,
        )
    }

    /// Shortest ramp under which play in the gears makes no blow: five swings of the rotor (PHYSICS-DETAIL section 3).
    fn least_ramp(&self) -> f64 {
        let swings = self.field.number(&self.dials, true, |w| {
            let f = gears::drive_frequency(
                w.get(list::GEAR_STIFFNESS).ok()?,
                w.get(list::ROTOR_INERTIA).ok()?,
                w.get(list::REDUCTION).ok()?,
            );
            f.ok().map(|f| 5.0 / f.as_hertz())
        });
        swings.unwrap_or(0.0).max(SHORTEST_RAMP.si())
    }

    /// Reads a second, independent sample and steps back whatever does not hold there too.
    fn confirm(&mut self, draws: usize) {
        let job = self.field.job();
        let job: Job = job.clone();
        let mut second = Field::new(&job, draws, 1, &self.dials);
        for _ in 0..12 {
            let over = {
                let full = second.measure(&self.dials);
                self.over(&full)
            };
            if over.is_empty() {
                return;
            }
            let before = self.dials.clone();
            for i in over {
                self.step_back(&second, i);
            }
            if self.dials == before {
                return;
            }
        }
    }

    /// Turns every setting that helps a link back by one step.
    fn step_back(&mut self, second: &Field<'_>, i: usize) {
        let full = second.look(i, &self.dials);
        let mut steps: Vec<(FactId, f64)> = Vec::new();
        for kind in [Kind::BrakeCurrent, Kind::DriveCurrent, Kind::ChargeLimit, Kind::ChargeTo, Kind::HoldFastest] {
            let Some(id) = kind.fact(At::Whole) else { continue };
            if let Some(v) = value(&self.dials, id) {
                steps.push((id, (v - kind.to_si(kind.step())).max(0.0)));
            }
        }
        if self.nuts_free {
            for side in Side::BOTH {
                let id = Self::nut(side);
                steps.extend(value(&self.dials, id).map(|v| (id, v - Kind::NutTorque.step())));
            }
        }
        for (id, to) in steps {
            if second.look(i, &turned(&self.dials, id, to)) < full * (1.0 - 1e-6) {
                self.set(id, to);
            }
        }
    }

    /// The link that one step more of a setting would not leave room.
    fn binder(&self, links: &[usize], dials: &Dials) -> Option<Binds> {
        let (share, i) = self.field.worst(links, dials);
        // Where only the second sample was over its room, the first is close to it.
        let i = i.filter(|_| share > NEAR)?;
        Some(Binds::Link(self.field.links()[i]))
    }

    fn binds(&self, kind: Kind, at: At, value_si: f64) -> Option<Binds> {
        let id = kind.fact(at)?;
        let up = kind.to_si(kind.from_si(value_si) + kind.step());
        match kind {
            Kind::BrakeCurrent => self.binder(&self.wanted(&[id]), &self.braking(&self.dials, up)),
            Kind::DriveCurrent => self.binder(&self.wanted(&[id]), &self.driving(&self.dials, up)),
            Kind::ChargeLimit => {
                let (own, links) = (self.wanted(&[id]), self.field.links());
                let (dump, pack): (Vec<usize>, Vec<usize>) =
                    own.iter().partition(|i| links[**i].kind == L::PackCutsOut);
                let more = turned(&self.dials, id, up);
                let brake = turned(&more, list::BRAKE_CURRENT.id(), self.hardware());
                let (dump, pack) = (self.field.worst(&dump, &more), self.field.worst(&pack, &brake));
                let (share, i) = if dump.0 > pack.0 { dump } else { pack };
                i.filter(|_| share > NEAR).map(|i| Binds::Link(links[i]))
            }
            Kind::ChargeTo if value_si >= CHARGE_TO.1 => Some(Binds::Rule("full")),
            Kind::ChargeTo if self.full_below.is_some_and(|x| value_si >= x) => Some(Binds::Rule("fold-back")),
            Kind::HoldFastest => {
                self.binder(&self.held, &turned(&self.dials, id, up * ABOVE)).or(Some(Binds::Rule("wish")))
            }
            _ => self.binder(&self.wanted(&[id]), &turned(&self.dials, id, up)),
        }
    }

    fn setting(&self, kind: Kind, at: At, value_si: f64, binds: Option<Binds>, keeper: &'static str) -> Setting {
        let now = kind.fact(at).and_then(|id| self.job().fact(id)).map(|f| f.value);
        Setting { kind, at, value: value_si, now, binds, keeper }
    }

    /// All values of the sheet.
    pub fn settings(&self) -> Vec<Setting> {
        let mut out = Vec::new();
        let dial = |kind: Kind, at: At| kind.fact(at).and_then(|id| value(&self.dials, id));
        let rule = |key| Some(Binds::Rule(key));
        for kind in [Kind::DriveCurrent, Kind::BrakeCurrent, Kind::ChargeLimit] {
            if let Some(v) = dial(kind, At::Whole) {
                out.push(self.setting(kind, At::Whole, v, self.binds(kind, At::Whole, v), "controller"));
            }
        }
        if let Some((from, end)) = self.fold_back() {
            out.push(self.setting(Kind::FoldBackFrom, At::Whole, from, rule("fold-back-band"), "controller"));
            out.push(self.setting(Kind::FoldBackEnd, At::Whole, end, rule("cell-full"), "controller"));
        }
        if let Some(v) = dial(Kind::ChargeTo, At::Whole) {
            out.push(self.setting(Kind::ChargeTo, At::Whole, v, self.binds(Kind::ChargeTo, At::Whole, v), "rider"));
        }
        let ramp = self.ramp();
        out.push(self.setting(Kind::Ramp, At::Whole, ramp.0, rule(ramp.1), "controller"));
        let (from, gone, why) = self.fade();
        out.push(self.setting(Kind::FadeFrom, At::Whole, from, rule(why), "controller"));
        out.push(self.setting(Kind::FadeGone, At::Whole, gone, rule("walking"), "controller"));
        if let (Some(v), true) = (dial(Kind::HoldFastest, At::Whole), self.can_hold) {
            let slowest = Kind::HoldSlowest.rounded(from.max(self.hold_slowest));
            if slowest <= v {
                let why = if from > self.hold_slowest { "above-fade" } else { "air-helps" };
                out.push(self.setting(Kind::HoldSlowest, At::Whole, slowest, rule(why), "controller"));
                let binds = self.binds(Kind::HoldFastest, At::Whole, v);
                out.push(self.setting(Kind::HoldFastest, At::Whole, v, binds, "controller"));
            }
        }
        if let Some(v) = self.fastest_downhill() {
            let kept = self.job().answer(list::DOWNHILL_KEPT_BY.id()).unwrap_or("nobody");
            let binds = self.binds_speed(v);
            out.push(self.setting(Kind::FastestDownhill, At::Whole, v, binds, kept));
        }
        let drive = PhaseCurrent::from_si(dial(Kind::DriveCurrent, At::Whole).unwrap_or(0.0));
        if let Some(a) = assist::assist(self.job(), drive) {
            out.push(self.setting(Kind::AssistLeast, At::Whole, a.least, rule("drag"), "controller"));
            out.push(self.setting(Kind::AssistMost, At::Whole, a.most, rule("class"), "controller"));
            if let Some(c) = a.class {
                let speed = Speed::kilometres_per_hour(c.cut_off_km_h).si();
                out.push(self.setting(Kind::AssistCutOff, At::Whole, speed, rule("class"), "controller"));
                out.push(self.setting(Kind::AssistPower, At::Whole, c.power_w, rule("class"), "controller"));
            }
        }
        for side in Side::BOTH {
            if let Some(v) = dial(Kind::NutTorque, At::Side(side)) {
                let binds = if self.nuts_free { self.binds_nut(side, v) } else { rule("hold-test") };
                out.push(self.setting(Kind::NutTorque, At::Side(side), v, binds, "workshop"));
            }
        }
        for i in 0..self.job().arms {
            if let Some(v) = dial(Kind::PinchTorque, At::Arm(i)) {
                let why = if self.nuts_free { "least-full" } else { "hold-test" };
                out.push(self.setting(Kind::PinchTorque, At::Arm(i), v, rule(why), "workshop"));
            }
            if let Some(v) = dial(Kind::AnchorTorque, At::Arm(i)) {
                let why = if self.nuts_free { "bolt-yield" } else { "hold-test" };
                out.push(self.setting(Kind::AnchorTorque, At::Arm(i), v, rule(why), "workshop"));
            }
        }
        out
    }

    fn binds_speed(&self, v: f64) -> Option<Binds> {
        let id = list::DOWNHILL_SPEED.id();
        let volts =
            self.field.find(|l| matches!(l.kind, L::TooFast | L::ControllerVolts | L::BatteryOut | L::PackCutsOut));
        self.binder(&volts, &turned(&self.dials, id, v + Kind::FastestDownhill.to_si(1.0)))
    }

    /// What would be over its room with the nut one step looser or tighter; where nothing is, it is where all is least full.
    fn binds_nut(&self, side: Side, v: f64) -> Option<Binds> {
        let id = Self::nut(side);
        let own = self.wanted(&[id]);
        self.binder(&own, &turned(&self.dials, id, v + Kind::NutTorque.step())).or(Some(Binds::Rule("least-full")))
    }

    /// Ramp, and the rule that asks most.
    fn ramp(&self) -> (f64, &'static str) {
        let gears = self.least_ramp();
        let jerk = self.field.number(&self.dials, true, |w| {
            let force = w.demand().ok()?.brake.as_newton_metres() / w.get(list::WHEEL_RADIUS).ok()?.as_metres();
            Some(force / (w.get(list::LIGHTEST).ok()?.as_kilograms() * JERK_M_S3))
        });
        let jerk = jerk.unwrap_or(0.0);
        let why = if jerk > gears {
            "jerk"
        } else if gears > SHORTEST_RAMP.si() {
            "gear-play"
        } else {
            "shortest-ramp"
        };
        (Kind::Ramp.rounded(gears.max(jerk)), why)
    }

    /// Speeds between which braking fades: from where it draws nothing from the battery, gone at walking pace.
    fn fade(&self) -> (f64, f64, &'static str) {
        let gone = Kind::FadeGone.rounded(WALKING.si());
        let brake = value(&self.dials, list::BRAKE_CURRENT.id()).unwrap_or(0.0);
        let draws_from = self.field.number(&self.dials, true, |w| {
            let current = w.amplitude(PhaseCurrent::from_si(brake)).ok()?;
            if current.as_amperes() < 0.5 {
                return None;
            }
            // Hot winding and magnet: recovery is worst (PHYSICS-DETAIL section 2, §4).
            let hot = w.motor().ok()?.at(w.get(list::WINDING_LIMIT).ok()?, w.get(list::GEAR_LIMIT).ok()?).ok()?;
            let bus = w.bus_at_rest(w.get(list::CHARGE_TO).ok()?).ok()?;
            let rotor = supply::zero_recovery_speed(&hot, &Inverter::IDEAL, current, bus).ok()?;
            Some(hot.wheel_speed(rotor).as_radians_per_second() * w.get(list::WHEEL_RADIUS).ok()?.as_metres())
        });
        let draws_from = draws_from.unwrap_or(0.0);
        // Deceleration a = F/m fades over v₁ − v₂ while the speed falls at a: jerk a²/(v₁ − v₂).
        let jerk = self.field.number(&self.dials, true, |w| {
            let force = w.demand().ok()?.brake.as_newton_metres() / w.get(list::WHEEL_RADIUS).ok()?.as_metres();
            let a = force / w.get(list::LIGHTEST).ok()?.as_kilograms();
            Some(a * a / JERK_M_S3)
        });
        let soft = gone + jerk.unwrap_or(0.0);
        let from = draws_from.max(soft).max(gone + Kind::FadeFrom.to_si(1.0));
        (Kind::FadeFrom.rounded(from), gone, if draws_from > soft { "zero-recovery" } else { "jerk" })
    }

    fn gain(&self, wish: &Wish) -> Gain {
        let dial = |id: FactId| value(&self.dials, id).unwrap_or(0.0);
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        let charge = value(&self.dials, list::CHARGE_LIMIT.id());
        let torque = |v| speeds::torque(&w, v, dial(list::BRAKE_CURRENT.id()), charge);
        Gain {
            braking: asked(self.job(), wish)
                .into_iter()
                .map(|v| (v, torque(v).map_or(WheelTorque::ZERO, |t| t.0)))
                .collect(),
            hold_fastest: Speed::from_si(if self.can_hold { dial(list::HOLD_FASTEST.id()) } else { 0.0 }),
            drive_current: PhaseCurrent::from_si(dial(list::DRIVE_CURRENT.id())),
            brake_current: PhaseCurrent::from_si(dial(list::BRAKE_CURRENT.id())),
            charge_limit: BatteryCurrent::from_si(dial(list::CHARGE_LIMIT.id())),
            charge_to: StateOfCharge::from_si(dial(list::CHARGE_TO.id())),
        }
    }

    /// Links that no setting can meet, with how full they are at best.
    fn impossible(&self, full: &[f64]) -> Vec<Impossible> {
        let links = self.field.links();
        let gentle = self.gentle();
        let mut out: Vec<Impossible> =
            self.ignored.iter().map(|i| Impossible { link: links[*i], full: self.field.look(*i, &gentle) }).collect();
        if !self.can_hold {
            let over = |i: &&usize| full[**i] > room(links[**i]);
            out.extend(self.held.iter().filter(over).map(|i| Impossible { link: links[*i], full: full[*i] }));
        }
        out
    }

    fn solution(&mut self, wish: &Wish, draws: usize) -> Solution {
        let settings = self.settings();
        let full = self.field.measure(&self.dials);
        let links = self.field.links();
        let speeds = (1..=10)
            .filter_map(|k| speeds::at(self, &settings, Speed::kilometres_per_hour(5.0 * f64::from(k))))
            .collect();
        let drive = settings.iter().find(|s| s.kind == Kind::DriveCurrent).map_or(0.0, |s| s.value);
        Solution {
            impossible: self.impossible(&full),
            links: links.iter().copied().zip(full).collect(),
            missing: missing(self.job(), &self.dials),
            summer: self.summer,
            full_braking_below: self.full_below.map(StateOfCharge::from_si),
            speeds,
            assist: assist::assist(self.job(), PhaseCurrent::from_si(drive)),
            gain: self.gain(wish),
            before_buying: self.gain(wish),
            buys: Vec::new(),
            tested: !self.nuts_free,
            charge_limit_not_kept: !self.charge_kept,
            one_in: self.job().one_in,
            draws,
            settings,
        }
    }
}

/// Speeds at which braking counts: those asked for, or town speed and the usual descent.
pub fn asked(job: &Job, wish: &Wish) -> Vec<Speed> {
    if !wish.speeds.is_empty() {
        return wish.speeds.clone();
    }
    let town = Speed::kilometres_per_hour(15.0);
    match job.get(list::DOWNHILL_SPEED) {
        Some(v) if v > town => vec![town, v],
        _ => vec![town],
    }
}

/// Facts without which a link cannot be judged.
fn missing(job: &Job, dials: &Dials) -> Vec<FactId> {
    let mut out: Vec<FactId> = Vec::new();
    let mut with = job.clone();
    for (id, v) in dials {
        if with.fact(*id).is_none() {
            with.choose(*id, *v, crate::fact::Distribution::Exact, "");
        }
    }
    for link in link::plan(job) {
        for id in check::missing_of(&with, link) {
            if !out.contains(&id) {
                out.push(id);
            }
        }
    }
    out
}

impl Safe {
    /// Whether a value on the other side of the one found asks more of some part.
    pub fn allows(self, found: f64, given: f64) -> bool {
        match self {
            Self::Down => given <= found * (1.0 + HAIR) + HAIR * HAIR,
            Self::Up => given >= found * (1.0 - HAIR) - HAIR * HAIR,
            Self::Between => (given - found).abs() <= HAIR * found.abs(),
        }
    }
}
