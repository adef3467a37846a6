//! The test ride: the shortest ladder that shows every link and promise that may be ridden, and what is never ridden.
//!
//! Each rung shows some links; a rung may be climbed only after those that make it safe. Among all sets of rungs that keep
//! this order and show everything, the one with the fewest minutes is taken (all sets are tried).

use crate::road::Promised;
use workbench::fact::list;
use workbench::job::Job;
use workbench::link::{self, Kind, Link};

/// A rung.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rung {
    /// Hand brakes alone.
    HandBrakes,
    /// Braking at three tenths.
    Gentle,
    /// Braking at six tenths, ten stops.
    Middle,
    /// Full braking, ten stops.
    Full,
    /// A full stop on a wet patch.
    Wet,
    /// Full-power starts alternating with full braking.
    Starts,
    /// Coasting on the flat, both ways.
    Coast,
    /// Held on a real hill.
    Hill,
    /// The same hill with the battery at the agreed charge.
    HillCharged,
}

/// One rung with what belongs to it.
struct Step {
    rung: Rung,
    minutes: f64,
    /// Rungs that must have gone well before.
    after: &'static [Rung],
    links: &'static [Kind],
    promises: &'static [Promised],
}

/// Minutes: bench experience, with the ride to the place (common practice).
const STEPS: [Step; 9] = [
    Step { rung: Rung::HandBrakes, minutes: 3.0, after: &[], links: &[Kind::HandBrakes], promises: &[] },
    Step { rung: Rung::Gentle, minutes: 2.0, after: &[Rung::HandBrakes], links: &[], promises: &[] },
    Step { rung: Rung::Middle, minutes: 5.0, after: &[Rung::Gentle], links: &[], promises: &[] },
    Step {
        rung: Rung::Full,
        minutes: 6.0,
        after: &[Rung::Middle],
        links: &[
            Kind::AxleHold,
            Kind::Faces,
            Kind::Arm,
            Kind::Anchor,
            Kind::PinchJaws,
            Kind::ClutchLock,
            Kind::Spokes,
            Kind::CoverScrews,
        ],
        promises: &[Promised::PeakBrake, Promised::TorquePerAmpere, Promised::FadeGone],
    },
    Step { rung: Rung::Wet, minutes: 2.0, after: &[Rung::Full], links: &[Kind::TyreGrip], promises: &[] },
    Step {
        rung: Rung::Starts,
        minutes: 5.0,
        after: &[Rung::Full],
        links: &[Kind::MotorCurrent, Kind::Gears],
        promises: &[Promised::DrivePeak],
    },
    Step { rung: Rung::Coast, minutes: 6.0, after: &[Rung::HandBrakes], links: &[], promises: &[] },
    Step {
        rung: Rung::Hill,
        minutes: 12.0,
        after: &[Rung::Full],
        links: &[Kind::HillHold, Kind::WindingHeat],
        promises: &[Promised::HoldRipple, Promised::Heat, Promised::Recovered],
    },
    Step {
        rung: Rung::HillCharged,
        minutes: 12.0,
        after: &[Rung::Hill],
        links: &[Kind::ChargeAmps, Kind::ChargeVolts, Kind::PlugAndWire, Kind::ControllerVolts],
        promises: &[Promised::ChargePeak, Promised::BusPeak],
    },
];

impl Rung {
    /// All, from the lowest.
    pub fn all() -> impl Iterator<Item = Self> {
        STEPS.iter().map(|s| s.rung)
    }
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::HandBrakes => "hand-brakes",
            Self::Gentle => "gentle",
            Self::Middle => "middle",
            Self::Full => "full",
            Self::Wet => "wet",
            Self::Starts => "starts",
            Self::Coast => "coast",
            Self::Hill => "hill",
            Self::HillCharged => "hill-charged",
        }
    }
    /// Minutes that it takes.
    pub fn minutes(self) -> f64 {
        step(self).minutes
    }
    /// Share of the planned braking current.
    pub const fn braking(self) -> Option<f64> {
        match self {
            Self::Gentle => Some(0.3),
            Self::Middle => Some(0.6),
            Self::Full | Self::Wet | Self::Starts => Some(1.0),
            Self::HandBrakes | Self::Coast | Self::Hill | Self::HillCharged => None,
        }
    }
    /// Speed in km/h, where the hill or its setting does not give it.
    pub const fn speed(self) -> Option<f64> {
        match self {
            Self::HandBrakes => Some(15.0),
            Self::Gentle => Some(12.0),
            Self::Middle | Self::Wet => Some(20.0),
            Self::Full | Self::Starts | Self::Coast => Some(25.0),
            Self::Hill | Self::HillCharged => None,
        }
    }
}

fn step(rung: Rung) -> &'static Step {
    &STEPS[rung as usize]
}

/// The rung on which a promise can be seen.
pub fn rung_of(promise: Promised) -> Option<Rung> {
    STEPS.iter().find(|s| s.promises.contains(&promise)).map(|s| s.rung)
}

/// How a link is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ridden {
    /// On this rung.
    On(Rung),
    /// Never: it would hurt somebody or break something.
    Never,
    /// Not by riding: worked out, measured or read.
    Otherwise,
}

/// How a kind of link is shown.
pub fn how(kind: Kind) -> Ridden {
    if let Some(s) = STEPS.iter().find(|s| s.links.contains(&kind)) {
        return Ridden::On(s.rung);
    }
    match kind {
        Kind::PackCutsOut | Kind::BatteryOut | Kind::TooFast | Kind::Cold => Ridden::Never,
        Kind::FaultNut | Kind::FaultArm | Kind::FaultShort | Kind::FaultSign => Ridden::Never,
        _ => Ridden::Otherwise,
    }
}

/// The plan of a test ride.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// Rungs from the lowest.
    pub rungs: Vec<Rung>,
    /// Links that each rung shows, in the order of `rungs`.
    pub shows: Vec<Vec<Link>>,
    /// Never ridden.
    pub never: Vec<Link>,
    /// Shown otherwise.
    pub otherwise: Vec<Link>,
    /// Minutes of all rungs.
    pub minutes: f64,
}

/// The shortest ladder that shows every link of the job, or only what `open` still misses. `coast`: rolling and air are
/// wanted too.
pub fn ladder(job: &Job, open: Option<&[Promised]>, coast: bool) -> Ladder {
    let links = link::plan(job);
    let direct = job.answer(list::DRIVE.id()) == Some("direct");
    let there = |l: &&Link| !(direct && matches!(l.kind, Kind::Gears | Kind::ClutchLock));
    let mut wanted = 0_u16;
    match open {
        None => {
            for l in links.iter().filter(there) {
                if let Ridden::On(rung) = how(l.kind) {
                    wanted |= 1 << rung as u16;
                }
            }
        }
        Some(promises) => {
            for rung in promises.iter().filter_map(|p| rung_of(*p)) {
                wanted |= 1 << rung as u16;
            }
        }
    }
    if coast {
        wanted |= 1 << Rung::Coast as u16;
    }
    // What a set of rungs shows is itself and nothing else; a higher rung of the same hill does not show a lower one's
    // heat. So a set must hold all that is wanted, and all that each rung asks to come before.
    let sound = |set: u16| {
        set & wanted == wanted
            && STEPS
                .iter()
                .all(|s| set & (1 << s.rung as u16) == 0 || s.after.iter().all(|a| set & (1 << *a as u16) != 0))
    };
    let minutes = |set: u16| STEPS.iter().filter(|s| set & (1 << s.rung as u16) != 0).map(|s| s.minutes).sum::<f64>();
    let best = (0..1_u16 << STEPS.len())
        .filter(|set| sound(*set))
        .min_by(|a, b| minutes(*a).total_cmp(&minutes(*b)))
        .unwrap_or(0);
    let rungs: Vec<Rung> = Rung::all().filter(|r| best & (1 << *r as u16) != 0).collect();
    let shows = rungs
        .iter()
        .map(|r| links.iter().filter(there).filter(|l| how(l.kind) == Ridden::On(*r)).copied().collect())
        .collect();
    let pick = |wanted: Ridden| links.iter().filter(|l| how(l.kind) == wanted).copied().collect();
    Ladder { minutes: minutes(best), rungs, shows, never: pick(Ridden::Never), otherwise: pick(Ridden::Otherwise) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_stand_in_the_order_of_the_rungs_and_ask_only_for_lower_ones() {
        for (i, s) in STEPS.iter().enumerate() {
            assert_eq!(s.rung as usize, i);
            assert!(s.after.iter().all(|a| (*a as usize) < i));
        }
    }

    #[test]
    fn every_promise_has_a_rung() {
        for p in Promised::ALL {
            assert!(rung_of(p).is_some(), "{p:?}");
        }
    }

    #[test]
    fn the_ladder_is_closed_shows_all_and_has_nothing_dangerous() {
        let job = Job::new("1", "test", 1);
        let l = ladder(&job, None, false);
        for r in &l.rungs {
            assert!(step(*r).after.iter().all(|a| l.rungs.contains(a)), "{r:?}");
        }
        let shown: Vec<Link> = l.shows.concat();
        for link in link::plan(&job) {
            let places = [shown.contains(&link), l.never.contains(&link), l.otherwise.contains(&link)];
            assert_eq!(places.iter().filter(|p| **p).count(), 1, "{}", link.id());
        }
        for kind in [Kind::PackCutsOut, Kind::FaultShort, Kind::BatteryOut, Kind::TooFast] {
            assert!(l.never.iter().any(|l| l.kind == kind) && shown.iter().all(|l| l.kind != kind));
        }
        assert!(!l.rungs.contains(&Rung::Coast), "nobody asked for it");
    }

    /// The shortest one for a single open promise is exactly its rung and all that must come before.
    #[test]
    fn what_is_still_open_needs_only_its_own_way_up() {
        let job = Job::new("1", "test", 0);
        let l = ladder(&job, Some(&[Promised::DrivePeak]), false);
        assert_eq!(l.rungs, [Rung::HandBrakes, Rung::Gentle, Rung::Middle, Rung::Full, Rung::Starts]);
        assert!(ladder(&job, Some(&[]), false).rungs.is_empty());
    }
}
