//! Before and after locking: only what may be compared, the change with its significance, and what follows.
//!
//! A free clutch lets the rotor stand when the wheel turns forwards, and a locked hub has more inertia at the wheel
//! (PHYSICS-DETAIL E15): whether the drag rose is judged on points at which the motor turns the wheel, at equal speed,
//! supply and hub temperature. Pulling backwards turns the rotor with a free clutch too and is the second witness.

use super::layout::{Hub, Known, Quantity};
use super::sheet::{Feel, NoLoad, Pull, Sheet, Taken, Turned};
use crate::fit::two_sided;

/// What a pair is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    /// Amperes in the pack wire, wheel in the air.
    NoLoad,
    /// Pull at the rim.
    Pull,
    /// Between two motor wires.
    Wires,
    /// Volts per speed.
    BackEmf,
    /// Left to itself.
    SpinDown,
    /// Runout of the clutch.
    Runout,
    /// By hand.
    Feel,
}

impl Item {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::NoLoad => "no-load",
            Self::Pull => "pull",
            Self::Wires => "wires",
            Self::BackEmf => "back-emf",
            Self::SpinDown => "spin-down",
            Self::Runout => "runout",
            Self::Feel => "feel",
        }
    }
    /// Unit in which it is shown, and how many of them are one in SI.
    pub const fn shown(self) -> (&'static str, f64) {
        match self {
            Self::NoLoad => ("A", 1.0),
            Self::Pull => ("N", 1.0),
            Self::Wires => ("mΩ", 1e3),
            Self::BackEmf => ("V·s/rad", 1.0),
            Self::Runout => ("mm", 1e3),
            Self::SpinDown | Self::Feel => ("", 1.0),
        }
    }
}

/// What a pair says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Says {
    /// No change that could be measured.
    Same,
    /// Look at it; not worse than may come by chance.
    Look,
    /// Worse beyond doubt.
    Stop,
    /// May not be compared; words key below `bench.refused.`.
    Refused(&'static str),
}

impl Says {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Look => "look",
            Self::Stop => "stop",
            Self::Refused(_) => "refused",
        }
    }
}

/// One row of before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// What it is about.
    pub item: Item,
    /// Which of them: volts of a no-load point, pair of wires.
    pub at: String,
    /// Before, SI (for the feel, its place among the answers).
    pub before: f64,
    /// After, SI.
    pub after: f64,
    /// Half of the 95 % interval of the change, SI.
    pub half: f64,
    /// What it says.
    pub says: Says,
}

/// What came out of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Same as before.
    Same,
    /// Nothing worse beyond doubt, but a row is to be looked at.
    Look,
    /// Stop, open it.
    Stop,
    /// Nothing that may be compared tells the drag, or too coarsely.
    NotKnown,
}

impl Outcome {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Look => "look",
            Self::Stop => "stop",
            Self::NotKnown => "not-known",
        }
    }
}

/// Change of the drag at the rotor, from the no-load points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DragChange {
    /// Change in N·m.
    pub newton_metres: f64,
    /// Half of its 95 % interval.
    pub half: f64,
    /// Change over its standard deviation.
    pub z: f64,
    /// Smallest rise that would have been noticed 19 times in 20, in N·m.
    pub would_notice: f64,
}

/// Before and after, side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// All rows, those that were refused too.
    pub pairs: Vec<Pair>,
    /// Change of the drag, if any no-load pair may be compared.
    pub drag: Option<DragChange>,
    /// Result.
    pub outcome: Outcome,
}

/// Points this near in speed and in supply count as the same point.
const NEAR_SPEED: f64 = 0.02;
const NEAR_SUPPLY: f64 = 0.03;
/// Grease this much warmer or colder is other grease (common practice).
const NEAR_CELSIUS: f64 = 8.0;
/// A rise that would not be noticed below this share of the drag leaves the question open.
const COARSE: f64 = 0.5;
const COPPER: f64 = 0.003_93;
const NEODYMIUM: f64 = -0.0011;

/// Compares two sessions. `known` is what the job says of the hub.
pub fn compare(hub: Hub, before: &Sheet, after: &Sheet, known: &[Known]) -> Comparison {
    let usual_drag = known.iter().find(|k| k.quantity == Quantity::DragConstant).map_or(0.0, |k| k.value);
    let mut pairs = Vec::new();
    let drag = no_load(hub, known, before, after, &mut pairs);
    pulls(before, after, &mut pairs);
    wires(before, after, &mut pairs);
    back_emf(before, after, &mut pairs);
    spin_downs(before, after, &mut pairs);
    if let (Some(b), Some(a)) = (&before.runout, &after.runout) {
        pairs.push(pair(Item::Runout, String::new(), b, a));
    }
    judge(&mut pairs);
    if let (Some(b), Some(a)) = (before.feel, after.feel) {
        let says = if b == a || a == Feel::Smooth { Says::Same } else { Says::Stop };
        pairs.push(Pair {
            item: Item::Feel,
            at: String::new(),
            before: b as u8 as f64,
            after: a as u8 as f64,
            half: 0.0,
            says,
        });
    }
    let drag = combine(&drag);
    let stopped = pairs.iter().any(|p| p.says == Says::Stop) || drag.is_some_and(|d| d.newton_metres > d.half);
    let looks = pairs.iter().any(|p| p.says == Says::Look);
    let outcome = match drag {
        _ if stopped => Outcome::Stop,
        Some(d) if d.would_notice <= COARSE * usual_drag.max(0.05) && looks => Outcome::Look,
        Some(d) if d.would_notice <= COARSE * usual_drag.max(0.05) => Outcome::Same,
        _ => Outcome::NotKnown,
    };
    Comparison { pairs, drag, outcome }
}

fn pair(item: Item, at: String, before: &Taken, after: &Taken) -> Pair {
    // The same tool's own error is in both and drops out; two tools bring theirs each.
    let own = |t: &Taken| if before.tool == after.tool { 0.0 } else { t.gain * t.value };
    let variance = before.sigma.powi(2) + after.sigma.powi(2) + own(before).powi(2) + own(after).powi(2);
    let half = two_sided(0.95, f64::INFINITY) * variance.sqrt();
    Pair { item, at, before: before.value, after: after.value, half, says: Says::Same }
}

fn refused(item: Item, at: String, before: f64, after: f64, why: &'static str) -> Pair {
    Pair { item, at, before, after, half: 0.0, says: Says::Refused(why) }
}

/// The share by which a rise of one row alone must pass its own doubt, so that all rows together alarm once in twenty.
fn judge(pairs: &mut [Pair]) {
    let count = pairs.iter().filter(|p| !matches!(p.says, Says::Refused(_))).count().max(1);
    let beyond = two_sided(1.0 - 0.05 / count as f64, f64::INFINITY) / two_sided(0.95, f64::INFINITY);
    for p in pairs.iter_mut().filter(|p| !matches!(p.says, Says::Refused(_))) {
        let change = p.after - p.before;
        let worse = match p.item {
            Item::NoLoad | Item::Pull | Item::Runout => change > 0.0,
            // Less volts per speed: the magnets were too hot.
            Item::BackEmf => change < 0.0,
            // Less is a shorted turn or a chafed cable, more a joint that came loose: locking changes neither.
            Item::Wires => true,
            Item::SpinDown | Item::Feel => false,
        };
        // A hair's breadth, so that a change printed as large as its doubt is looked at.
        p.says = if change.abs() > beyond * p.half && worse {
            Says::Stop
        } else if change.abs() >= 0.99 * p.half && change != 0.0 {
            Says::Look
        } else {
            Says::Same
        };
    }
}

fn warmth(before: &Sheet, after: &Sheet) -> Option<&'static str> {
    match (before.celsius, after.celsius) {
        (Some(b), Some(a)) if (a - b).abs() > NEAR_CELSIUS => Some("other-temperature"),
        (Some(_), None) | (None, Some(_)) => Some("no-temperature"),
        _ => None,
    }
}

/// Readings of the same point before, as one. Repeating them does not make them better: what is off in all stays in all.
fn mean<'a>(all: impl Iterator<Item = &'a Taken>) -> Option<Taken> {
    let all: Vec<&Taken> = all.collect();
    let first = *all.first()?;
    let of = |f: fn(&Taken) -> f64| all.iter().map(|t| f(t)).sum::<f64>() / all.len() as f64;
    let one_tool = all.iter().all(|t| t.tool == first.tool);
    let tool = if one_tool { first.tool.clone() } else { Some(String::new()) };
    Some(Taken { value: of(|t| t.value), sigma: of(|t| t.sigma), gain: of(|t| t.gain), tool })
}

fn same(a: f64, b: f64, share: f64) -> bool {
    (a - b).abs() <= share * a.abs().max(b.abs())
}

/// Whether two points are the same point: equal speed, by whatever was read in both.
fn same_point(b: &NoLoad, a: &NoLoad) -> bool {
    let near = |x: &Option<Taken>, y: &Option<Taken>| match (x, y) {
        (Some(x), Some(y)) => Some(same(x.value, y.value, NEAR_SPEED)),
        _ => None,
    };
    near(&b.wheel_speed, &a.wheel_speed).or_else(|| near(&b.motor_volts, &a.motor_volts)).unwrap_or(false)
}

fn point_name(n: &NoLoad) -> String {
    match (&n.motor_volts, &n.wheel_speed) {
        (Some(v), _) => format!("{:.0} V", v.value),
        (None, Some(w)) => format!("{:.0} rpm", w.value * 30.0 / core::f64::consts::PI),
        (None, None) => String::new(),
    }
}

/// Each point after locking against all that were the same before; gives the changes of drag with half of their intervals.
fn no_load(hub: Hub, known: &[Known], before: &Sheet, after: &Sheet, pairs: &mut Vec<Pair>) -> Vec<(f64, f64)> {
    let mut drag = Vec::new();
    for b in before.no_load.iter().filter(|b| !after.no_load.iter().any(|a| same_point(b, a))) {
        pairs.push(refused(Item::NoLoad, point_name(b), b.amperes.value, f64::NAN, "no-partner"));
    }
    for a in &after.no_load {
        let alike: Vec<&NoLoad> = before.no_load.iter().filter(|b| same_point(b, a)).collect();
        let near = |b: &&&NoLoad| same(b.supply_volts.value, a.supply_volts.value, NEAR_SUPPLY);
        let used: Vec<&NoLoad> = alike.iter().filter(near).copied().collect();
        let why = match (alike.first(), used.first()) {
            (None, _) => Some((f64::NAN, "no-partner")),
            (Some(b), None) => Some((b.amperes.value, "other-supply")),
            (_, Some(b)) => warmth(before, after).map(|why| (b.amperes.value, why)),
        };
        if let Some((b, why)) = why {
            pairs.push(refused(Item::NoLoad, point_name(a), b, a.amperes.value, why));
            continue;
        }
        let amperes = mean(used.iter().map(|b| &b.amperes));
        let volts = mean(used.iter().map(|b| &b.supply_volts));
        let (Some(amperes), Some(volts), Some(first)) = (amperes, volts, used.first()) else { continue };
        let row = pair(Item::NoLoad, point_name(a), &amperes, &a.amperes);
        if let Some(speed) = rotor_speed(hub, known, before, first) {
            let watts = a.amperes.value * a.supply_volts.value - amperes.value * volts.value;
            drag.push((watts / speed, row.half * volts.value / speed));
        }
        pairs.push(row);
    }
    drag
}

/// Rotor speed of a point; from the motor volts with the job's flux where the speed was not read.
fn rotor_speed(hub: Hub, known: &[Known], sheet: &Sheet, n: &NoLoad) -> Option<f64> {
    let layout = super::layout::Layout::new(hub, sheet, known);
    let start: Vec<f64> = layout.unknowns.iter().map(|u| u.start).collect();
    let speed = match (&n.wheel_speed, &n.motor_volts) {
        (Some(w), _) => w.value * hub.reduction,
        (None, Some(_)) => layout.rotor_speed(&start, n),
        (None, None) => return None,
    };
    (speed > 1.0).then_some(speed)
}

/// One change of drag from all points. The clamp is zeroed once a session, so that the points share its error: their
/// doubts add up instead of averaging out.
fn combine(points: &[(f64, f64)]) -> Option<DragChange> {
    let weights: Vec<f64> = points.iter().map(|(_, half)| 1.0 / (half * half)).collect();
    let sum: f64 = weights.iter().sum();
    if points.is_empty() || !sum.is_finite() || sum <= 0.0 {
        return None;
    }
    let mean = |pick: fn(&(f64, f64)) -> f64| points.iter().zip(&weights).map(|(p, w)| w * pick(p)).sum::<f64>() / sum;
    let (change, half) = (mean(|p| p.0), mean(|p| p.1));
    let sigma = half / two_sided(0.95, f64::INFINITY);
    // 1.96 to be called a change, 1.645 more so that chance does not hide it.
    let would_notice = half + two_sided(0.90, f64::INFINITY) * sigma;
    Some(DragChange { newton_metres: change, half, z: change / sigma, would_notice })
}

fn pulls(before: &Sheet, after: &Sheet, pairs: &mut Vec<Pair>) {
    let alike = |b: &Pull, a: &Pull| a.turned == b.turned && a.plugged == b.plugged;
    for b in before.pulls.iter().filter(|b| !after.pulls.iter().any(|a| alike(b, a))) {
        pairs.push(refused(Item::Pull, b.turned.token().to_owned(), b.newtons.value, f64::NAN, "no-partner"));
    }
    for a in &after.pulls {
        let name = a.turned.token().to_owned();
        let partners = before.pulls.iter().filter(|b| alike(b, a)).map(|b| &b.newtons);
        let Some(b) = mean(partners) else {
            pairs.push(refused(Item::Pull, name, f64::NAN, a.newtons.value, "no-partner"));
            continue;
        };
        let why = if !before.turns_rotor(a.turned) || !after.turns_rotor(a.turned) {
            Some("free-clutch")
        } else if a.plugged {
            Some("plugged")
        } else {
            warmth(before, after)
        };
        pairs.push(match why {
            Some(why) => refused(Item::Pull, name, b.value, a.newtons.value, why),
            None => pair(Item::Pull, name, &b, &a.newtons),
        });
    }
}

/// At 20 °C, so that a warm winding is not taken for a change.
fn at_20(t: &Taken, sheet: &Sheet, per_kelvin: f64) -> Taken {
    let factor = 1.0 + per_kelvin * (sheet.celsius.unwrap_or(20.0) - 20.0);
    Taken { value: t.value / factor, sigma: t.sigma / factor, ..t.clone() }
}

fn wires(before: &Sheet, after: &Sheet, pairs: &mut Vec<Pair>) {
    for b in &before.wires {
        let Some(a) = after.wires.iter().find(|a| a.pair == b.pair) else { continue };
        let unknown = before.celsius.is_none() != after.celsius.is_none();
        let (b20, a20) = (at_20(&b.ohms, before, COPPER), at_20(&a.ohms, after, COPPER));
        pairs.push(if unknown {
            refused(Item::Wires, b.pair.to_owned(), b.ohms.value, a.ohms.value, "no-temperature")
        } else {
            pair(Item::Wires, b.pair.to_owned(), &b20, &a20)
        });
    }
}

/// Volts over speed, the mean of all that turned the rotor.
fn volts_per_speed(sheet: &Sheet) -> Option<Taken> {
    let all: Vec<Taken> = sheet
        .back_emf
        .iter()
        .filter(|b| sheet.turns_rotor(b.turned) && b.wheel_speed.value > 0.0)
        .map(|b| {
            let (v, w) = (&b.volts_rms, &b.wheel_speed);
            let value = v.value / w.value;
            let share = ((v.sigma / v.value).powi(2) + (w.sigma / w.value).powi(2)).sqrt();
            at_20(&Taken { value, sigma: value * share, ..v.clone() }, sheet, NEODYMIUM)
        })
        .collect();
    let first = all.first()?;
    let n = all.len() as f64;
    let value = all.iter().map(|t| t.value).sum::<f64>() / n;
    let sigma = all.iter().map(|t| t.sigma * t.sigma).sum::<f64>().sqrt() / n;
    Some(Taken { value, sigma, ..first.clone() })
}

fn back_emf(before: &Sheet, after: &Sheet, pairs: &mut Vec<Pair>) {
    for b in before.back_emf.iter().filter(|b| !before.turns_rotor(b.turned)) {
        let value = b.volts_rms.value / b.wheel_speed.value;
        pairs.push(refused(Item::BackEmf, Turned::Forwards.token().to_owned(), value, f64::NAN, "free-clutch"));
    }
    if let (Some(b), Some(a)) = (volts_per_speed(before), volts_per_speed(after)) {
        pairs.push(if before.celsius.is_none() != after.celsius.is_none() {
            refused(Item::BackEmf, String::new(), b.value, a.value, "no-temperature")
        } else {
            pair(Item::BackEmf, String::new(), &b, &a)
        });
    }
}

fn spin_downs(before: &Sheet, after: &Sheet, pairs: &mut Vec<Pair>) {
    if before.spin_downs.is_empty() && after.spin_downs.is_empty() {
        return;
    }
    let seconds = |s: &Sheet| s.spin_downs.first().and_then(|d| d.points.last()).map_or(f64::NAN, |p| p.0);
    let why = if before.locked { "spin-down" } else { "spin-down-free" };
    pairs.push(refused(Item::SpinDown, String::new(), seconds(before), seconds(after), why));
}
