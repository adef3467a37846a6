//! What follows from the verdict: how tight, the hold test's pull, what to measure next, what would fix it, and the
//! most braking at each speed.

use crate::check::{self, Check, Verdict};
use crate::fact::{self, Distribution, FactId, Origin, Side, list};
use crate::job::Job;
use crate::kinds;
use crate::link::{Kind, Off, Place, World};
use physics::axle_section::{self, AxleSection};
use physics::motor::{self, Direction};
use physics::supply::{self, Inverter};
use physics::{thread, tightening};
use quantity::*;

/// Cautions printed with every answer, words keys below `caution.`.
pub const CAUTIONS: [&str; 6] = ["hand-brakes-first", "welding", "magnets", "battery", "shorted-wires", "local-codes"];

/// Standard gravity, for pulls read on a scale.
const GRAVITY: f64 = 9.806_65;

/// A fastener and its torque.
#[derive(Clone, Debug)]
pub struct Tighten {
    /// `nut`, `pinch` or `anchor`.
    pub key: &'static str,
    /// Side or arm.
    pub place: String,
    /// Torque that the job gives it.
    pub torque: Torque,
    /// Highest torque that its yield and threads allow, by the tool's class and low friction.
    pub at_most: Option<Torque>,
    /// Tool that the job names.
    pub tool: Option<String>,
}

/// The lever hold test.
#[derive(Clone, Copy, Debug)]
pub struct HoldTest {
    /// Torque to pull, both ways.
    pub torque: Torque,
    /// What the job asks: a quarter above the highest demand.
    pub asked: Torque,
    /// 90 % of the first yield of the solid end.
    pub limit: Torque,
    /// The same as a pull on a bar of one metre, as a luggage scale shows it.
    pub pull_at_one_metre: Mass,
}

/// A card to take next.
#[derive(Clone, Debug)]
pub struct Measure {
    /// Measuring card.
    pub card: &'static str,
    /// How long it takes.
    pub minutes: Option<f64>,
    /// What it settles.
    pub facts: Vec<FactId>,
}

/// One change of the job.
#[derive(Clone, Debug)]
pub struct Change {
    /// Words key below `lever.`.
    pub key: &'static str,
    /// Its new value in words.
    pub value: String,
}

/// Changes and what they would give.
#[derive(Clone, Debug)]
pub struct Fix {
    /// What to change, all together.
    pub changes: Vec<Change>,
    /// The verdict then.
    pub verdict: Verdict,
    /// Fullest link then.
    pub fullest: String,
    /// How full it is.
    pub full: f64,
}

/// Most braking at one speed.
#[derive(Clone, Copy, Debug)]
pub struct Ceiling {
    /// Road speed.
    pub speed: Speed,
    /// Torque at the wheel.
    pub torque: WheelTorque,
    /// Link that stops you there.
    pub stopped_by: &'static str,
}

/// Everything that follows.
#[derive(Clone, Debug)]
pub struct Advice {
    /// How tight.
    pub tighten: Vec<Tighten>,
    /// Pull of the hold test, if it can be worked out.
    pub hold_test: Option<HoldTest>,
    /// What to measure next, first things first.
    pub measure: Vec<Measure>,
    /// What would fix it.
    pub fixes: Vec<Fix>,
    /// Most braking over speed.
    pub ceiling: Vec<Ceiling>,
}

/// Works out the advice.
pub fn advise(job: &Job, c: &Check) -> Advice {
    let middle = job.middle();
    let world = World::new(&middle, job.arms, &Off);
    Advice {
        tighten: tighten(job, &world),
        hold_test: hold_test(job, &world),
        measure: measure(job, c),
        fixes: fixes(job, c),
        ceiling: ceiling(&world),
    }
}

fn tool_of(job: &Job, id: FactId) -> Option<String> {
    job.fact(id).and_then(|f| f.tool.clone())
}

fn tighten(job: &Job, w: &World<'_>) -> Vec<Tighten> {
    let mut out = Vec::new();
    for side in Side::BOTH {
        let id = list::NUT_TORQUE.of(side);
        let Some(torque) = job.side(list::NUT_TORQUE, side) else { continue };
        out.push(Tighten {
            key: "nut",
            place: crate::words::text(&format!("side.{}", side.token())),
            torque,
            at_most: nut_limit(job, w, side),
            tool: tool_of(job, id),
        });
    }
    for i in 0..job.arms {
        for (key, torque) in [("pinch", list::PINCH_TORQUE), ("anchor", list::ANCHOR_TORQUE)] {
            if key == "pinch" && job.answer(list::ARM_KIND.of(i)) != Some("pinching") {
                continue;
            }
            if let Some(t) = job.arm(torque, i) {
                out.push(Tighten {
                    key,
                    place: format!("{}", i + 1),
                    torque: t,
                    at_most: small_limit(job, w, i, key),
                    tool: tool_of(job, torque.of(i)),
                });
            }
        }
    }
    out
}

/// A friction at the low end of its doubt, where a torque makes the most clamp force.
fn low_end(job: &Job, id: FactId) -> Option<Friction> {
    let f = job.fact(id)?;
    Some(Friction::new(match f.spread {
        Distribution::Exact => f.value,
        Distribution::Normal { sigma } => f.value - 1.96 * sigma,
        Distribution::LogNormal { sigma_ln } => f.value * libm::exp(-1.96 * sigma_ln),
        Distribution::Uniform { low, .. } => low,
    }))
}

fn tool_deviation(job: &Job, id: FactId) -> Ratio {
    let class = tool_of(job, id).and_then(|t| job.rack.iter().find(|r| r.id == t).map(|r| r.share));
    // Without a tool the wrench is taken as the usual class of ISO 6789.
    Ratio::new(class.unwrap_or(0.04))
}

fn nut_limit(job: &Job, w: &World<'_>, side: Side) -> Option<Torque> {
    let mut turning = w.turning(side).ok()?;
    turning.thread_friction = low_end(job, list::THREAD_FRICTION.of(side))?;
    turning.face_friction = low_end(job, list::NUT_FRICTION.of(side))?;
    let section = w.section(side).ok()?;
    let yields = job.get(list::AXLE_YIELD)?;
    let strip =
        thread::strip_forces(section, w.engagement(side).ok()?, yields, job.side(list::NUT_STRENGTH, side)?).ok()?;
    let tool = tool_deviation(job, list::NUT_TORQUE.of(side));
    tightening::torque_limit(section, &turning, yields, Ratio::new(0.9), strip, tool).ok().map(|l| l.torque)
}

pub(crate) fn small_limit(job: &Job, w: &World<'_>, i: usize, key: &str) -> Option<Torque> {
    let (d, mu, grade, id) = if key == "pinch" {
        (list::PINCH_DIAMETER, list::PINCH_FRICTION, list::PINCH_GRADE, list::PINCH_TORQUE.of(i))
    } else {
        (list::ANCHOR_DIAMETER, list::ANCHOR_THREAD_FRICTION, list::ANCHOR_GRADE, list::ANCHOR_TORQUE.of(i))
    };
    let friction = low_end(job, mu.of(i))?;
    let turning = w.small_turning(job.arm(d, i)?, friction).ok()?;
    let yields = evidence::bolts::find(job.answer(grade.of(i))?)?.yield_strength;
    let section = thread::ThreadedSection::solid(turning.thread);
    let force = tightening::preload_at_yield(section, friction, yields, Ratio::new(0.9)).ok()?;
    tightening::nut_torque(&turning, force).ok().map(|t| t / (1.0 + tool_deviation(job, id).get()))
}

fn hold_test(job: &Job, w: &World<'_>) -> Option<HoldTest> {
    let d = w.demand().ok()?;
    let asked = Torque::newton_metres(1.25 * d.drive.max(d.brake).as_newton_metres());
    // The solid end is pulled; the hollow one is weaker.
    let bores = Side::BOTH.map(|s| job.side(list::BORE, s));
    let solid = if bores[0]? <= bores[1]? { Side::Left } else { Side::Right };
    let thread = w.thread().ok()?;
    let flats = job.get(list::ACROSS_FLATS)?.min(thread.root_diameter());
    let section = AxleSection::new(thread.root_diameter(), Some(flats), job.side(list::BORE, solid)?).ok()?;
    let limit = axle_section::hold_test_limit(section, job.get(list::AXLE_YIELD)?, Force::ZERO).ok()?;
    let torque = asked.min(limit);
    let pull = Mass::kilograms(torque.as_newton_metres() / GRAVITY);
    Some(HoldTest { torque, asked, limit, pull_at_one_metre: pull })
}

/// Missing facts first: those that may end the job, then the quickest. Then what would take away most doubt.
fn measure(job: &Job, c: &Check) -> Vec<Measure> {
    let mut out: Vec<Measure> = Vec::new();
    let mut add = |id: FactId| {
        let card = fact::describe(id).0.card;
        match out.iter_mut().find(|m| m.card == card) {
            Some(m) if !m.facts.contains(&id) => m.facts.push(id),
            Some(_) => {}
            None => out.push(Measure {
                card,
                minutes: evidence::cards::find(card).and_then(evidence::cards::Card::minutes),
                facts: vec![id],
            }),
        }
    };
    let mut missing = c.missing();
    let enders = kinds::never_assumed();
    for id in enders {
        if job.fact(id).is_none() && !missing.contains(&id) {
            missing.push(id);
        }
    }
    missing.into_iter().for_each(&mut add);
    let may_end = |m: &Measure| m.facts.iter().any(|f| enders.contains(f));
    out.sort_by(|a, b| {
        let minutes = |m: &Measure| m.minutes.unwrap_or(0.0);
        may_end(b).cmp(&may_end(a)).then(minutes(a).total_cmp(&minutes(b)))
    });
    let mut later: Vec<Measure> = Vec::new();
    for l in c.worst_first().into_iter().filter(|l| l.verdict != Verdict::Holds || l.load.is_some_and(|x| x.full > 0.6))
    {
        for (id, _) in l.swings.iter().take(2) {
            let card = fact::describe(*id).0.card;
            let assumed = job.fact(*id).is_some_and(|f| f.origin == Origin::Assumed);
            if assumed && card != "assume" && !out.iter().chain(&later).any(|m| m.card == card) {
                let minutes = evidence::cards::find(card).and_then(evidence::cards::Card::minutes);
                later.push(Measure { card, minutes, facts: vec![*id] });
            }
        }
    }
    out.extend(later.into_iter().take(4));
    out
}

type Lever = (&'static str, fn(&mut Job) -> Option<String>);

/// Levers in the order in which a workshop would pull them.
const LEVERS: [Lever; 8] = [
    ("nut-torque", raise_nuts),
    ("bare-faces", bare_faces),
    ("pinch-arm", pinch_arm),
    ("brake-less", |job| lower_current(job, list::BRAKE_CURRENT)),
    ("drive-less", |job| lower_current(job, list::DRIVE_CURRENT)),
    ("charge-less", charge_less),
    ("charge-lower", charge_lower),
    ("slower", slower),
];

fn raise_nuts(job: &mut Job) -> Option<String> {
    let mut said = None;
    for side in Side::BOTH {
        let values = job.middle();
        // Where the thread is not known yet, the usual upper value is tried; its own link goes on asking.
        let limit = nut_limit(job, &World::new(&values, job.arms, &Off), side).unwrap_or(Torque::newton_metres(80.0));
        let now = job.side(list::NUT_TORQUE, side)?;
        // The trade's usual upper value, or what this end can take.
        let aim = (limit.as_newton_metres().min(80.0) / 5.0).floor() * 5.0;
        if aim > now.as_newton_metres() + 2.0 {
            let half = aim * 0.04;
            let spread = Distribution::Uniform { low: aim - half, high: aim + half };
            job.choose(list::NUT_TORQUE.of(side), aim, spread, &format!("{aim} N·m"));
            said = Some(format!("{aim:.0} N·m"));
        }
    }
    said
}

pub(crate) fn bare_faces(job: &mut Job) -> Option<String> {
    let mut said = None;
    for side in Side::BOTH {
        if job.answer(list::FACES.of(side)) != Some("bare") {
            job.choose(list::FACES.of(side), 0.0, Distribution::Exact, "bare");
            job.facts[list::FACE_FRICTION.of(side).index()] = None;
            job.facts[list::SETTLING.of(side).index()] = None;
            said = Some(String::new());
        }
    }
    kinds::fill(job, &[]);
    said
}

pub(crate) fn pinch_arm(job: &mut Job) -> Option<String> {
    if (0..job.arms).any(|i| job.answer(list::ARM_KIND.of(i)) == Some("pinching")) {
        return None;
    }
    job.arms += 1;
    job.facts.resize(fact::count(job.arms), None);
    let arm = job.arms - 1;
    job.choose(list::ARM_KIND.of(arm), 1.0, Distribution::Exact, "pinching");
    job.choose(list::ARM_SIDE.of(arm), 0.0, Distribution::Exact, "left");
    // Eight millimetres of hardened steel: softer jaws are crushed by their own bolts.
    for (key, value_si) in [
        (list::ARM_THICKNESS.of(arm), 0.008),
        (list::ARM_YIELD.of(arm), 750e6),
        (list::ARM_BEARING.of(arm), 950e6),
        (list::PINCH_TORQUE.of(arm), 8.0),
        (list::ANCHOR_DIAMETER.of(arm), 0.008),
        (list::ANCHOR_TORQUE.of(arm), 20.0),
    ] {
        job.choose(key, value_si, Distribution::Exact, "hardened");
    }
    kinds::fill(job, &[]);
    Some(String::new())
}

/// A charge limit that the controller keeps, at half of what the warm cells take.
fn charge_less(job: &mut Job) -> Option<String> {
    let cells = job.get(list::CELL_CHARGE)?.as_amperes() * job.get(list::CELLS_PARALLEL)?.get();
    let aim = (cells * 0.5).floor().max(1.0);
    let kept = job.answer(list::CHARGE_LIMIT_KEPT_BY.id()) == Some("controller");
    if kept && job.get(list::CHARGE_LIMIT).is_some_and(|now| now.as_amperes() <= aim) {
        return None;
    }
    job.choose(list::CHARGE_LIMIT.id(), aim, Distribution::Exact, &format!("{aim} A"));
    job.choose(list::CHARGE_LIMIT_KEPT_BY.id(), 0.0, Distribution::Exact, "controller");
    Some(format!("{aim:.0} A"))
}

fn charge_lower(job: &mut Job) -> Option<String> {
    if job.get(list::CHARGE_TO)? <= StateOfCharge::percent(80.0) {
        return None;
    }
    job.choose(list::CHARGE_TO.id(), 0.8, Distribution::Exact, "80 %");
    Some("80 %".to_owned())
}

fn lower_current(job: &mut Job, key: fact::Key<PhaseCurrent>) -> Option<String> {
    let now = job.get(key)?.as_amperes();
    let aim = (now * 0.6).floor();
    if aim < 1.0 {
        return None;
    }
    job.choose(key.id(), aim, Distribution::Exact, &format!("{aim} A"));
    Some(format!("{aim:.0} A"))
}

fn slower(job: &mut Job) -> Option<String> {
    let now = job.get(list::DOWNHILL_SPEED)?.as_kilometres_per_hour();
    let aim = (now * 0.6 / 5.0).floor() * 5.0;
    if aim < 10.0 {
        return None;
    }
    job.choose(
        list::DOWNHILL_SPEED.id(),
        Speed::kilometres_per_hour(aim).si(),
        Distribution::Exact,
        &format!("{aim} km/h"),
    );
    Some(format!("{aim:.0} km/h"))
}

/// Each lever alone where it helps, then all that help together.
fn fixes(job: &Job, c: &Check) -> Vec<Fix> {
    if c.verdict != Verdict::Fails {
        return Vec::new();
    }
    let failing = |c: &Check| c.links.iter().filter(|l| l.verdict == Verdict::Fails).count();
    let mut out = Vec::new();
    let mut all = job.clone();
    let mut together = Vec::new();
    let before = failing(c);
    for (key, pull) in LEVERS {
        let mut one = job.clone();
        let Some(value) = pull(&mut one) else { continue };
        let after = check::check(&one);
        let better = failing(&after) < before || after.state < c.state;
        let mut next = all.clone();
        if (better || helps_more(&all, pull))
            && let Some(value) = pull(&mut next)
        {
            together.push(Change { key, value });
            all = next;
        }
        if better {
            out.push(fix(vec![Change { key, value }], &after));
        }
    }
    if together.len() > 1 {
        out.push(fix(together, &check::check(&all)));
    }
    out
}

fn helps_more(job: &Job, pull: fn(&mut Job) -> Option<String>) -> bool {
    let worst = |job: &Job| {
        check::check(job)
            .links
            .iter()
            .filter(|l| l.verdict == Verdict::Fails)
            .filter_map(|l| l.load.map(|x| x.full.min(1e3)))
            .sum::<f64>()
    };
    let mut tried = job.clone();
    pull(&mut tried).is_some() && worst(&tried) < worst(job)
}

fn fix(changes: Vec<Change>, after: &Check) -> Fix {
    let fullest = after.worst_first().into_iter().find(|l| l.load.is_some());
    Fix {
        changes,
        verdict: after.verdict,
        fullest: fullest.map_or_else(String::new, |l| match l.link.place {
            Place::Whole => crate::words::text(&format!("link.{}.name", l.link.kind.id())),
            _ => l.link.id(),
        }),
        full: fullest.and_then(|l| l.load).map_or(0.0, |l| l.full),
    }
}

/// Most braking at each speed, and the link that stops you there.
fn ceiling(w: &World<'_>) -> Vec<Ceiling> {
    (1..=10).filter_map(|k| ceiling_at(w, Speed::kilometres_per_hour(5.0 * f64::from(k)))).collect()
}

fn ceiling_at(w: &World<'_>, speed: Speed) -> Option<Ceiling> {
    let machine = w.machine().ok()?;
    let rotor = machine.rotor_speed(motor::rolling(speed, w.get(list::WHEEL_RADIUS).ok()?).ok()?);
    let at = |i: PhaseCurrent| machine.wheel_torque_at(Direction::Brake, i, rotor);
    let asked = w.amplitude(w.get(list::BRAKE_CURRENT).ok()?).ok()?;
    let mut least = Ceiling { speed, torque: at(asked), stopped_by: Kind::MotorCurrent.id() };
    let mut lower = |torque: WheelTorque, by: &'static str| {
        if torque < least.torque {
            least = Ceiling { speed, torque, stopped_by: by };
        }
    };
    if let (Ok(limit), Ok(bus)) = (w.get(list::CHARGE_LIMIT), w.bus_at_rest(StateOfCharge::percent(50.0))) {
        let power = Power::watts(limit.as_amperes() * bus.as_volts());
        if let Ok(Some(i)) = supply::charge_limit_current(&machine, &Inverter::IDEAL, rotor, power, bus) {
            lower(at(i), Kind::ChargeAmps.id());
        }
    }
    if let Ok(still) = w.first_slip() {
        lower(WheelTorque::newton_metres(still.as_newton_metres()), Kind::AxleHold.id());
    }
    if let Ok(grip) = w.wet_grip_torque() {
        lower(grip, Kind::TyreGrip.id());
    }
    Some(least)
}
