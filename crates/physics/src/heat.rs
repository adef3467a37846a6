//! Heat of winding and shell: two nodes, with the copper growing hotter and its resistance with it.

use super::checked::within;
use super::si::*;
use super::{Number, math};
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[
    &TWO_NODES,
    &STEADY_HEAT,
    &TIME_TO_LIMIT,
    &CONTINUOUS_LOSS,
    &SHORT_TIME_LOSS,
    &REST_TIME,
    &REPEATED_DUTY,
    &SHELL_COOLING,
];

/// Cooling of a hub by the air of the ride.
pub const SHELL_COOLING: Formula = Formula {
    name: "shell-cooling",
    equation: "H(v) = H_20·[f + (1 − f)·(v/20 km/h)^0.7], f = 0.3",
    source: "exponent between the 0.618 and 0.805 of a cylinder across the wind (Hilpert 1933, from memory); share of \
             still air: own estimate, grade D",
    valid: "0 to 90 km/h",
    left_out: "sun, rain, wind from the side",
    checked_by: "law_cooling_is_the_measured_one_at_20_km_h",
};

/// Two nodes over time.
pub const TWO_NODES: Formula = Formula {
    name: "two-nodes",
    equation: "C_w·dT_w/dt = P₂₀·(1 + α(T_w − 20)) − (T_w − T_s)/R_ws;  C_s·dT_s/dt = P_s + (T_w − T_s)/R_ws − H·(T_s − T_a); \
               T(t) = T₀ + Φ(t)·(A·T₀ + b), Φ = Σ (e^(l·t) − 1)/l · projection on l, l the two real eigenvalues of A",
    source: "lumped thermal network of two nodes (two-time-constant model of electrical machines); α of IEC 60028; matrix \
             exponential of the linear equations",
    valid: "constant losses and air over the time; exact, also where it never settles",
    left_out: "hot spots, radiation apart from H",
    checked_by: "validates_two_node_heat, validates_two_nodes_of_the_published_motor, validates_every_covered_value (SciPy, solvers.csv)",
};

/// Where it settles.
pub const STEADY_HEAT: Formula = Formula {
    name: "steady-heat",
    equation: "T_w = [T_a + P_s/H + R_th·P₂₀·(1 − 20α)]/(1 − q), R_th = R_ws + 1/H, q = α·P₂₀·R_th (°C)",
    source: "two-nodes at rest (PHYSICS-DETAIL M16)",
    valid: "q < 1; at q ≥ 1 it never settles",
    left_out: "as two-nodes",
    checked_by: "validates_two_node_heat",
};

/// When a limit is reached.
pub const TIME_TO_LIMIT: Formula = Formula {
    name: "time-to-limit",
    equation: "first t with T_w(t) = T_w,max or T_s(t) = T_s,max; a node turns at most once, where l₁·c₁·e^(l₁t) + l₂·c₂·e^(l₂t) = 0",
    source: "two-nodes solved for the time: by halving on each side of the turn",
    valid: "as two-nodes",
    left_out: "as two-nodes",
    checked_by: "validates_every_covered_value (SciPy, solvers.csv)",
};

/// The most copper loss for ever.
pub const CONTINUOUS_LOSS: Formula = Formula {
    name: "continuous-loss",
    equation: "P₂₀ = least of (T_w,max − T_a − P_s/H)/(R_th·(1 + α(T_w,max − 20))) and P/(1 + α(T_s,max + R_ws·P − 20)), \
               P = H·(T_s,max − T_a) − P_s",
    source: "steady-heat solved for the loss (duty S1 of IEC 60034-1)",
    valid: "shell loss alone below both limits",
    left_out: "as two-nodes",
    checked_by: "law_the_continuous_loss_settles_at_a_limit",
};

/// The most copper loss for a time.
pub const SHORT_TIME_LOSS: Formula = Formula {
    name: "short-time-loss",
    equation: "P₂₀ with time-to-limit = t, from the air's temperature",
    source: "duty S2 of IEC 60034-1: constant load for a time, then rest until within 2 K of the coolant (the clause from memory)",
    valid: "as two-nodes",
    left_out: "as two-nodes",
    checked_by: "validates_short_time_loss (closed form of one node), law_short_time_loss_meets_the_limit",
};

/// How long it must rest.
pub const REST_TIME: Formula = Formula {
    name: "rest-time",
    equation: "last t with |T_w − T_a| or |T_s − T_a| above 2 K, without losses",
    source: "duty S2 of IEC 60034-1 (from memory)",
    valid: "as two-nodes, with the conductance of a standing shell",
    left_out: "as two-nodes",
    checked_by: "validates_rest_time (closed form of one node)",
};

/// Load and rest again and again.
pub const REPEATED_DUTY: Formula = Formula {
    name: "repeated-duty",
    equation: "T at the end of the load = fixed point of T → load(rest(T)), both affine",
    source: "two-nodes; duty S3 of IEC 60034-1 without starting losses (from memory)",
    valid: "as two-nodes; none if it grows from round to round",
    left_out: "as two-nodes",
    checked_by: "validates_repeated_duty (many rounds in sequence)",
};

/// IEC 60028, annealed copper, at 20 °C.
const ALPHA: f64 = 0.003_93;
/// The longest time that is looked at: a day.
const LONGEST_S: f64 = 86_400.0;
/// The most loss that is looked at.
const MOST_LOSS_W: f64 = 1e6;
/// How near to the air a motor counts as cold (IEC 60034-1, from memory).
const REST_K: f64 = 2.0;

/// A motor's two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoNodes {
    /// Heat capacity of the winding.
    pub winding: HeatCapacity,
    /// Heat capacity of stator and shell.
    pub shell: HeatCapacity,
    /// From winding to shell.
    pub winding_to_shell: ThermalResistance,
    /// From shell to air.
    pub shell_to_air: ThermalConductance,
}

/// Losses and air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heating {
    /// Copper loss at 20 °C; it grows with the winding's temperature.
    pub copper_at_20: Power,
    /// Loss that goes to the shell: iron, gears.
    pub shell: Power,
    /// Air.
    pub air: Temperature,
}

/// Temperatures of both nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warmth {
    /// Winding.
    pub winding: Temperature,
    /// Shell.
    pub shell: Temperature,
}

fn check(n: &TwoNodes) -> Result<(Number, Number, Number, Number), OutOfRange> {
    let (cw, cs) = (n.winding.as_joules_per_kelvin(), n.shell.as_joules_per_kelvin());
    let (r, h) = (n.winding_to_shell.as_kelvins_per_watt(), n.shell_to_air.as_watts_per_kelvin());
    within("winding-heat-capacity", cw, 0.1, 1e6, "J/K")?;
    within("shell-heat-capacity", cs, 0.1, 1e7, "J/K")?;
    within("winding-to-shell", r, 1e-4, 100.0, "K/W")?;
    within("shell-to-air", h, 1e-3, 1e4, "W/K")?;
    Ok((cw, cs, r, h))
}

/// The equations of one heating: their two real eigenvalues and, for each, its share in both nodes' change.
struct Course {
    start_c: [Number; 2],
    rate_per_s: [Number; 2],
    /// Rates of change in K/s at the start, node by node, for the two eigenvalues.
    share_k_s: [[Number; 2]; 2],
}

impl Course {
    fn new(n: &TwoNodes, heating: &Heating, start: Warmth) -> Result<Self, OutOfRange> {
        let (cw, cs, r, h) = check(n)?;
        let (p, q, air) = (heating.copper_at_20.as_watts(), heating.shell.as_watts(), heating.air.as_celsius());
        within("copper-loss", p, 0.0, MOST_LOSS_W, "W")?;
        within("shell-loss", q, 0.0, MOST_LOSS_W, "W")?;
        within("air-temperature", air, -100.0, 200.0, "°C")?;
        let start_c = [start.winding.as_celsius(), start.shell.as_celsius()];
        for (what, c) in [("winding-temperature", start_c[0]), ("shell-temperature", start_c[1])] {
            within(what, c, -100.0, 2000.0, "°C")?;
        }
        let (a11, a12, b1) = ((p * ALPHA - 1.0 / r) / cw, 1.0 / (r * cw), p * (1.0 - 20.0 * ALPHA) / cw);
        let (a21, a22, b2) = (1.0 / (r * cs), -(1.0 / r + h) / cs, (q + h * air) / cs);
        let slope = [a11 * start_c[0] + a12 * start_c[1] + b1, a21 * start_c[0] + a22 * start_c[1] + b2];
        // a12·a21 > 0: the eigenvalues are real and apart.
        let half = (a11 - a22) / 2.0;
        let root = (half * half + a12 * a21).sqrt();
        let middle = (a11 + a22) / 2.0;
        // The eigenvalue of larger size by the sum, the other by the product, so that no digits cancel.
        let far = math::if_above(0.0, middle, middle - root, middle + root);
        let rate = [far, (a11 * a22 - a12 * a21) / far];
        let share = |mine: Number, other: Number| {
            let apart = mine - other;
            [((a11 - other) * slope[0] + a12 * slope[1]) / apart, (a21 * slope[0] + (a22 - other) * slope[1]) / apart]
        };
        Ok(Self { start_c, rate_per_s: rate, share_k_s: [share(rate[0], rate[1]), share(rate[1], rate[0])] })
    }

    fn at(&self, node: usize, t_s: Number) -> Number {
        let mut c = self.start_c[node];
        for (rate, share) in self.rate_per_s.iter().zip(&self.share_k_s) {
            let (rate, share) = (*rate, share[node]);
            let grown_s = math::if_same(rate, 0.0, t_s, math::expm1(rate * t_s) / rate);
            // A run that never settles may leave the range of numbers, but nothing times that is nothing.
            c += math::if_same(share, 0.0, 0.0, share * grown_s);
        }
        c
    }

    /// Where a node turns from rising to falling or back; it does so at most once.
    fn turn_s(&self, node: usize) -> Option<Number> {
        let [one, two] = [0, 1].map(|i| self.share_k_s[i][node]);
        let t_s = math::log(-one / two) / (self.rate_per_s[1] - self.rate_per_s[0]);
        (t_s > 0.0 && t_s.is_finite()).then_some(t_s)
    }

    /// First time up to `most_s` at which `found` is true of a node; it must not change back within a rise or fall.
    fn first_s(&self, node: usize, most_s: Number, found: impl Fn(Number) -> bool) -> Option<Number> {
        let mut low = Number::from(0.0);
        if found(self.at(node, low)) {
            return Some(low);
        }
        let turn = self.turn_s(node).filter(|t_s| *t_s < most_s);
        let mut high = [turn, Some(most_s)].into_iter().flatten().find(|t_s| found(self.at(node, *t_s)))?;
        if let Some(turn_s) = turn.filter(|t_s| *t_s < high) {
            low = turn_s;
        }
        while high - low > 1e-12 * high {
            let mid = low + (high - low) / 2.0;
            if mid <= low || mid >= high {
                break;
            }
            if found(self.at(node, mid)) { high = mid } else { low = mid }
        }
        Some(high)
    }
}

/// Temperatures after a time of constant heating, exact; infinite where a run that never settles leaves all numbers.
///
/// # Errors
/// [`OutOfRange`] for nodes without capacity or path, for losses or temperatures that no motor has, and beyond a day.
pub fn after(n: &TwoNodes, heating: &Heating, start: Warmth, time: Time) -> Result<Warmth, OutOfRange> {
    let course = Course::new(n, heating, start)?;
    let t_s = time.as_seconds();
    within("time", t_s, 0.0, LONGEST_S, "s")?;
    Ok(Warmth { winding: Temperature::celsius(course.at(0, t_s)), shell: Temperature::celsius(course.at(1, t_s)) })
}

/// Which of both nodes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Node {
    /// Winding.
    Winding,
    /// Shell.
    Shell,
}

/// Time until the first of both nodes reaches its limit, and which: [`TIME_TO_LIMIT`]; `None` if neither does within
/// a day.
///
/// # Errors
/// As [`after`].
pub fn time_to_limit(
    n: &TwoNodes,
    heating: &Heating,
    start: Warmth,
    limit: Warmth,
) -> Result<Option<(Time, Node)>, OutOfRange> {
    let course = Course::new(n, heating, start)?;
    let winding_s = course.first_s(0, LONGEST_S.into(), |c| c >= limit.winding.as_celsius());
    let shell_s = course.first_s(1, LONGEST_S.into(), |c| c >= limit.shell.as_celsius());
    Ok(match (winding_s, shell_s) {
        (Some(w), Some(s)) if s < w => Some((Time::seconds(s), Node::Shell)),
        (Some(w), _) => Some((Time::seconds(w), Node::Winding)),
        (None, Some(s)) => Some((Time::seconds(s), Node::Shell)),
        (None, None) => None,
    })
}

/// The most copper loss at 20 °C that can go on for ever: [`CONTINUOUS_LOSS`]; `None` if the shell's loss alone is too
/// much.
///
/// # Errors
/// [`OutOfRange`] for nodes without path, or limits not above the air.
pub fn continuous_loss(
    n: &TwoNodes,
    shell: Power,
    air: Temperature,
    limit: Warmth,
) -> Result<Option<Power>, OutOfRange> {
    let (_, _, r, h) = check(n)?;
    let (q, air) = (shell.as_watts(), air.as_celsius());
    let (winding, case) = (limit.winding.as_celsius(), limit.shell.as_celsius());
    within("winding-limit", winding, air, 2000.0, "°C")?;
    within("shell-limit", case, air, 2000.0, "°C")?;
    let by_winding = (winding - air - q / h) / (r + 1.0 / h) / (1.0 + ALPHA * (winding - 20.0));
    let through = h * (case - air) - q;
    let by_shell = through / (1.0 + ALPHA * (case + r * through - 20.0));
    let least = by_winding.min(by_shell);
    Ok((least >= 0.0).then(|| Power::watts(least)))
}

/// The most copper loss at 20 °C that can go on for a time from the air's temperature: [`SHORT_TIME_LOSS`]; `None` if
/// the shell's loss alone is too much.
///
/// # Errors
/// As [`after`] and [`continuous_loss`].
pub fn short_time_loss(
    n: &TwoNodes,
    shell: Power,
    air: Temperature,
    limit: Warmth,
    time: Time,
) -> Result<Option<Power>, OutOfRange> {
    within("time", time.as_seconds(), 1.0, LONGEST_S, "s")?;
    within("winding-limit", limit.winding.as_celsius(), air.as_celsius(), 2000.0, "°C")?;
    within("shell-limit", limit.shell.as_celsius(), air.as_celsius(), 2000.0, "°C")?;
    let start = Warmth { winding: air, shell: air };
    let holds = |copper_w: Number| -> Result<bool, OutOfRange> {
        let heating = Heating { copper_at_20: Power::watts(copper_w), shell, air };
        Ok(time_to_limit(n, &heating, start, limit)?.is_none_or(|(t, _)| t >= time))
    };
    if !holds(0.0.into())? {
        return Ok(None);
    }
    let (mut low, mut high) = (Number::from(0.0), Number::from(MOST_LOSS_W));
    if holds(high)? {
        return Err(OutOfRange {
            what: "copper-loss",
            value: math::shown(high),
            low: math::shown(low),
            high: math::shown(high),
            unit: "W",
        });
    }
    while high - low > 1e-12 * high {
        let mid = low + (high - low) / 2.0;
        if mid <= low || mid >= high {
            break;
        }
        if holds(mid)? { low = mid } else { high = mid }
    }
    Ok(Some(Power::watts(low)))
}

/// Rest without losses until both nodes are within 2 K of the air: [`REST_TIME`]; `None` if that takes more than a day.
///
/// # Errors
/// As [`after`].
pub fn rest_time(n: &TwoNodes, start: Warmth, air: Temperature) -> Result<Option<Time>, OutOfRange> {
    let course = Course::new(n, &Heating { copper_at_20: Power::ZERO, shell: Power::ZERO, air }, start)?;
    let air_c = air.as_celsius();
    let mut longest_s = Number::from(0.0);
    for node in [0, 1] {
        // Looked at from the end: after its turn a node only comes nearer to the air.
        let warm = |t_s: Number| (course.at(node, t_s) - air_c).abs() > REST_K;
        if warm(LONGEST_S.into()) {
            return Ok(None);
        }
        let turn_s = course.turn_s(node).unwrap_or(0.0.into()).min(LONGEST_S);
        let (mut low, mut high) = if warm(turn_s) { (turn_s, LONGEST_S.into()) } else { (0.0.into(), turn_s) };
        if !warm(low) {
            continue;
        }
        while high - low > 1e-9 * high {
            let mid = low + (high - low) / 2.0;
            if warm(mid) { low = mid } else { high = mid }
        }
        longest_s = longest_s.max(high);
    }
    Ok(Some(Time::seconds(longest_s)))
}

/// One stretch of a duty: the nodes with their air flow, the losses and how long.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// The nodes; the shell's conductance is another one standing still.
    pub nodes: TwoNodes,
    /// Losses and air.
    pub heating: Heating,
    /// How long.
    pub time: Time,
}

/// Temperatures at the end of the load when load and rest go on and on: [`REPEATED_DUTY`]; `None` if it grows from
/// round to round.
///
/// # Errors
/// As [`after`].
pub fn repeated_duty(load: &Stretch, rest: &Stretch) -> Result<Option<Warmth>, OutOfRange> {
    let round = |winding_c: f64, shell_c: f64| -> Result<[Number; 2], OutOfRange> {
        let start = Warmth { winding: Temperature::celsius(winding_c), shell: Temperature::celsius(shell_c) };
        let rested = after(&rest.nodes, &rest.heating, start, rest.time)?;
        let loaded = after(&load.nodes, &load.heating, rested, load.time)?;
        Ok([loaded.winding.as_celsius(), loaded.shell.as_celsius()])
    };
    // The round is affine: three starts give its matrix and constant.
    let base = round(0.0, 0.0)?;
    let (by_w, by_s) = (round(100.0, 0.0)?, round(0.0, 100.0)?);
    let (m11, m21) = ((by_w[0] - base[0]) / 100.0, (by_w[1] - base[1]) / 100.0);
    let (m12, m22) = ((by_s[0] - base[0]) / 100.0, (by_s[1] - base[1]) / 100.0);
    // All four are positive: it dies out if and only if both of these are.
    let (one, two, det) = (1.0 - m11, 1.0 - m22, (1.0 - m11) * (1.0 - m22) - m12 * m21);
    if !(one > 0.0 && det > 0.0) {
        return Ok(None);
    }
    Ok(Some(Warmth {
        winding: Temperature::celsius((two * base[0] + m12 * base[1]) / det),
        shell: Temperature::celsius((one * base[1] + m21 * base[0]) / det),
    }))
}

/// Temperatures at which it settles; `None` if it never does.
///
/// # Errors
/// [`OutOfRange`] for nodes without capacity or path.
pub fn settled(n: &TwoNodes, heating: &Heating) -> Result<Option<Warmth>, OutOfRange> {
    let (_, _, r, h) = check(n)?;
    let (p, q, air) = (heating.copper_at_20.as_watts(), heating.shell.as_watts(), heating.air.as_celsius());
    let path = r + 1.0 / h;
    let gain = ALPHA * p * path;
    if gain >= 1.0 {
        return Ok(None);
    }
    let winding = (air + q / h + path * p * (1.0 - 20.0 * ALPHA)) / (1.0 - gain);
    let copper = p * (1.0 + ALPHA * (winding - 20.0));
    Ok(Some(Warmth { winding: Temperature::celsius(winding), shell: Temperature::celsius(air + (copper + q) / h) }))
}

/// Share of a hub's cooling at 20 km/h that is left at a speed: [`SHELL_COOLING`].
///
/// # Errors
/// [`OutOfRange`] beyond 0 to 60 m/s.
pub fn shell_cooling(speed: Speed) -> Result<Ratio, OutOfRange> {
    const STILL: f64 = 0.3;
    let v = speed.as_metres_per_second();
    within("speed", v, 0.0, 60.0, "m/s")?;
    Ok(Ratio::new(STILL + (1.0 - STILL) * math::pow(speed.as_kilometres_per_hour() / 20.0, 0.7)))
}
