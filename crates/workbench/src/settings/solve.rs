//! The search: the largest safe value of each setting, on the steps of the device, in the order of the objective.

use super::field::{Dials, Field, room, turned, value};
use super::{At, Gain, Impossible, Kind, Safe, Solution, Summer, Wish, assist, buy, speeds};
use crate::check;
use crate::fact::{FactId, Side, list};
use crate::job::Job;
use crate::link::{self, Kind as L, Off, World};
use crate::rules;
use quantity::*;

/// Lowest charge-to level that is given up for more braking, and highest.
pub(super) const CHARGE_TO: (f64, f64) = (0.80, 1.0);
/// Shortest ramp, and the largest jerk that it may make (PHYSICS-DETAIL M3, assumed).
pub(super) const SHORTEST_RAMP: Time = Time::milliseconds(150.0);
pub(super) const JERK_M_S3: f64 = 5.0;
/// Walking pace at which a pushed bike must not brake (assumed).
pub(super) const WALKING: Speed = Speed::metres_per_second(4.0 / 3.6);
/// Slowest speed that is worth holding.
pub(super) const SLOWEST: Speed = Speed::metres_per_second(6.0 / 3.6);
/// Above this share of its room a link is named as the one that binds.
pub(super) const NEAR: f64 = 0.95;
/// Readings that differ by less are the same.
pub(super) const HAIR: f64 = 1e-9;

/// One search on one job.
pub struct Solver<'a> {
    pub(super) field: Field<'a>,
    pub(super) dials: Dials,
    /// Links that no setting can meet: judged, but not searched for.
    pub(super) ignored: Vec<usize>,
    /// Links that want more, or that the speed held decides.
    pub(super) held: Vec<usize>,
    pub(super) nuts_free: bool,
    pub(super) charge_kept: bool,
    pub(super) caps: [f64; 2],
    pub(super) summer: Option<Summer>,
    pub(super) full_below: Option<f64>,
    pub(super) can_hold: bool,
    /// Links that did not hold in the second sample to the end, and how full they were.
    pub(super) unmet: Vec<(usize, f64)>,
    pub(super) hold_slowest: f64,
}

/// Finds the settings of a job.
pub fn solve(job: &Job, wish: &Wish, went: &(dyn Fn(usize, usize) + Sync)) -> Solution {
    let draws = wish.draws.unwrap_or_else(|| check::draws_for(job.one_in));
    let buys = if wish.buy { buy::CHANGES.len() } else { 0 };
    let all = 3 + buys;
    let mut solver = Solver::new(job, draws);
    let full = solver.search(wish);
    // Changes are compared on a quarter of the draws, as many beyond the step as tell them apart.
    let few = (draws / 4).max(1024);
    let base = if wish.buy { gain_of(job, wish, few) } else { (solver.gain(wish), solver.impossible(&full).len()) };
    went(1, all);
    solver.confirm(draws);
    went(2, all);
    let mut out = solver.solution(wish, draws);
    went(3, all);
    out.before_buying = base.0;
    if wish.buy {
        out.buys = buy::buys(job, wish, base.1, few, &|n| went(3 + n, all));
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
    pub(super) fn new(job: &'a Job, draws: usize) -> Self {
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
            unmet: Vec::new(),
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
    pub(super) fn search(&mut self, wish: &Wish) -> Vec<f64> {
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
    pub(super) fn over(&self, full: &[f64]) -> Vec<usize> {
        let links = self.field.links();
        (0..links.len())
            .filter(|i| full[*i] > room(links[*i]) * (1.0 + HAIR))
            .filter(|i| !self.ignored.contains(i) && (self.can_hold || !self.held.contains(i)))
            .collect()
    }

    pub(super) fn turn_all(&mut self, wish: &Wish) {
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

    pub(super) fn set(&mut self, id: FactId, to: f64) {
        self.dials = turned(&self.dials, id, to);
    }

    /// Links that these facts change, without those that are not searched for.
    pub(super) fn wanted(&self, on: &[FactId]) -> Vec<usize> {
        let mut out = self.field.depending(on);
        out.retain(|i| !self.ignored.contains(i) && !self.held.contains(i));
        out
    }

    /// Largest value of a setting, on its steps from `low` to `high` (SI), with which `holds`; none if `low` does not.
    pub(super) fn largest(kind: Kind, low: f64, high: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
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
    pub(super) fn lowest(kind: Kind, low: f64, high: f64, worst: impl Fn(f64) -> f64) -> f64 {
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

    /// The least that can be asked: hardly any current, no charge.
    pub(super) fn gentle(&self) -> Dials {
        let mut d = turned(&self.dials, list::DRIVE_CURRENT.id(), Kind::DriveCurrent.step());
        d = turned(&d, list::BRAKE_CURRENT.id(), 0.0);
        if self.charge_kept {
            d = turned(&d, list::CHARGE_LIMIT.id(), 0.0);
        }
        d = turned(&d, list::CHARGE_TO.id(), self.charge_floor());
        self.tight(&d)
    }

    pub(super) fn find_ignored(&mut self) {
        let gentle = self.gentle();
        let links = self.field.links();
        self.ignored = (0..links.len())
            .filter(|i| !self.held.contains(i) && self.field.look(*i, &gentle) > room(links[*i]) * (1.0 + HAIR))
            .collect();
    }

    /// Motor current that the controller cannot exceed.
    pub(super) fn hardware(&self) -> f64 {
        self.job().get(list::HARDWARE_CURRENT).map_or(600.0, Quantity::si)
    }

    pub(super) fn driving(&self, dials: &Dials, amps: f64) -> Dials {
        let d = turned(dials, list::BRAKE_CURRENT.id(), 0.0);
        self.tight(&turned(&d, list::DRIVE_CURRENT.id(), amps))
    }
    /// Without charge, where the controller keeps a limit of it: that is looked at afterwards.
    pub(super) fn braking(&self, dials: &Dials, amps: f64) -> Dials {
        let mut d = turned(dials, list::DRIVE_CURRENT.id(), Kind::DriveCurrent.step());
        if self.charge_kept {
            d = turned(&d, list::CHARGE_LIMIT.id(), 0.0);
        }
        self.tight(&turned(&d, list::BRAKE_CURRENT.id(), amps))
    }

    /// Both currents, each as large as holds with nuts as tight as it allows. The larger demand of the two allows a
    /// set of torques under which the smaller one holds too, so that they need not be searched together.
    pub(super) fn currents(&mut self) {
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

    /// Speeds that the motor holds on the steepest hill, with 20 % in hand. Slower, the air helps less; faster, the charge
    /// limit leaves less torque: between them lies a range.
    pub(super) fn hold(&mut self) {
        let id = list::HOLD_FASTEST.id();
        let usual = self.job().get(list::DOWNHILL_SPEED).map_or(25.0 / 3.6, Quantity::si);
        let hill = self.field.find(|l| l.kind == L::HillHold);
        // The link of the hill itself looks at a fifth more speed.
        let worst = |v: f64| self.field.worst(&self.held, &turned(&self.dials, id, v)).0;
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

    /// Reads a second, independent sample and steps back whatever does not hold there too.
    pub(super) fn confirm(&mut self, draws: usize) {
        let job = self.field.job();
        let job: Job = job.clone();
        let mut second = Field::new(&job, draws, 1, &self.dials);
        for _ in 0..12 {
            let full = second.measure(&self.dials);
            let over = self.over(&full);
            self.unmet = over.iter().map(|i| (*i, full[*i])).collect();
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

    /// Turns every setting that helps a link by one step: currents, charge and speed back, nuts either way.
    pub(super) fn step_back(&mut self, second: &Field<'_>, i: usize) {
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
                // Either way: a looser nut spares its thread, a tighter one holds more. Three steps at once, since the whole
                // sample is read after each turn.
                let step = 3.0 * Kind::NutTorque.step();
                let near = value(&self.dials, id).map_or([None; 2], |v| [v - step, v + step].map(Some));
                let bears = |v: &f64| *v <= self.caps[side as usize];
                steps.extend(near.into_iter().flatten().filter(bears).map(|v| (id, v)));
            }
        }
        // Each alone: what helps by itself, not beside another.
        let before = self.dials.clone();
        for (id, to) in steps {
            if second.look(i, &turned(&before, id, to)) < full * (1.0 - 1e-6) {
                self.set(id, to);
            }
        }
    }

    pub(super) fn gain(&self, wish: &Wish) -> Gain {
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
    pub(super) fn impossible(&self, full: &[f64]) -> Vec<Impossible> {
        let links = self.field.links();
        let gentle = self.gentle();
        let mut out: Vec<Impossible> =
            self.ignored.iter().map(|i| Impossible { link: links[*i], full: self.field.look(*i, &gentle) }).collect();
        if !self.can_hold {
            let over = |i: &&usize| full[**i] > room(links[**i]);
            out.extend(self.held.iter().filter(over).map(|i| Impossible { link: links[*i], full: full[*i] }));
        }
        let still = self.over(full).into_iter().map(|i| (i, full[i]));
        for (i, full) in still.chain(self.unmet.iter().copied()) {
            if !out.iter().any(|known| known.link == links[i]) {
                out.push(Impossible { link: links[i], full });
            }
        }
        out
    }

    pub(super) fn solution(&mut self, wish: &Wish, draws: usize) -> Solution {
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
    let mut out: Vec<FactId> = rules::undecided(job);
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
