//! The battery as tables that the stepper reads without a search: open-circuit volts and three resistances over charge,
//! and how the resistances grow in the cold.

use super::lanes::{Lanes, Rows, by_lane};
use physics::{battery, cell};
use quantity::*;

/// Steps of charge in a table: one per cent.
const STEP: f64 = 0.01;
/// Up to 5 % over full, so that a pack whose electronics open late still has volts.
const POINTS: usize = 106;
/// Coldest and hottest cell of the table, °C.
const COLD_C: f64 = -40.0;
const DEGREES: usize = 121;
/// The pack's resistance is measured after this long (card m32), s.
const MEASURED_AFTER_S: f64 = 2.0;
/// Current at which it is measured (card m32: 10 to 15 A).
const MEASURED_WITH_A: f64 = 12.5;
/// Charge at which the measured resistance is taken to stand.
const MEASURED_AT: f64 = 0.5;
/// Heat capacity of a cell for its charge: some 70 g for 5 Ah at 0.95 J/(g·K) (common cell sheets, from memory), J/(K·C).
const HEAT_PER_CHARGE: f64 = 70.0 * 0.95 / (5.0 * 3600.0);
/// A bag or case gives this to the air: one third of a watt for each kelvin and kilogram of cells (estimate, grade D), 1/s.
const COOLING_PER_HEAT: f64 = 1.0 / 2800.0;

/// A pack.
#[derive(Clone, Debug)]
pub struct PackTables {
    pub(super) rows: Vec<[f64; 10]>,
    /// Resistance over that at 25 °C, a row each degree from −40 °C.
    pub(super) cold: Vec<f64>,
    /// Cells in series.
    pub series: f64,
    /// Capacity, A·s.
    pub capacity_as: f64,
    /// Current at which the charge transfer bends, A.
    pub knee_a: f64,
    /// Time constant of the quick pair, s.
    pub quick_s: f64,
    /// Time constant of the slow pair, s.
    pub slow_s: f64,
    /// Heat capacity, J/K.
    pub heat_j_k: f64,
    /// To the air, W/K.
    pub air_w_k: f64,
}

by_lane! {
    /// What a pack is at one charge and temperature.
    pub struct PackNow {
        /// Open-circuit volts.
        pub open_v: L,
        /// Resistance at once, Ω.
        pub at_once_ohm: L,
        /// Resistance of the quick pair, Ω.
        pub quick_ohm: L,
        /// Resistance of the slow pair, Ω.
        pub slow_ohm: L,
    }
}

impl PackTables {
    /// From a chemistry, cells in series, capacity in ampere-seconds and the resistance after two seconds with its plug;
    /// nothing for a chemistry without a curve.
    pub fn new(chemistry: &str, series: f64, capacity_as: f64, resistance_ohm: f64) -> Option<Self> {
        let curve = evidence::ocv::curve(chemistry);
        let cells: Vec<_> = evidence::cells::resistances(chemistry).collect();
        let first = *cells.first()?;
        let (quick_s, slow_s) = (first.quick_constant.as_seconds(), first.slow_constant.as_seconds());
        let shape = |s: f64| {
            let points = |get: fn(&evidence::cells::CellResistance) -> f64| {
                straight(cells.iter().map(|c| (c.state_of_charge.get(), get(c))), s)
            };
            [
                points(|c| c.ohmic.as_ohms()),
                points(|c| c.transfer.as_ohms()),
                points(|c| c.quick.as_ohms()),
                points(|c| c.slow.as_ohms()),
            ]
        };
        let shown = |tau: f64| -libm::expm1(-MEASURED_AFTER_S / tau);
        let knee_a = first.knee_per_h * capacity_as / 3600.0;
        let [o, t, q, s] = shape(MEASURED_AT);
        let at_once = o + t * bend(MEASURED_WITH_A / knee_a);
        let scale = resistance_ohm / (at_once + q * shown(quick_s) + s * shown(slow_s));
        let point = |i: usize| {
            let s = i as f64 * STEP;
            let [o, t, q, l] = shape(s).map(|r| r * scale);
            [open_v(&curve, series, s)?, o, t, q, l].into()
        };
        let points: Vec<[f64; 5]> = (0..POINTS).map(point).collect::<Option<_>>()?;
        let rows = (0..POINTS - 1).map(|i| row(&points[i], &points[i + 1])).collect();
        let activation = first.activation_kj_mol * 1e3;
        let cold = (0..DEGREES)
            .map(|i| cell::warm_resistance(Temperature::celsius(COLD_C + i as f64), activation).ok().map(Ratio::get))
            .collect::<Option<_>>()?;
        let heat_j_k = capacity_as * series * HEAT_PER_CHARGE;
        Some(Self {
            rows,
            cold,
            series,
            capacity_as,
            knee_a,
            quick_s,
            slow_s,
            heat_j_k,
            air_w_k: heat_j_k * COOLING_PER_HEAT,
        })
    }

    /// One resistance at once and no more, the same at every charge and temperature; for checks against closed forms.
    pub fn stiff(volts: f64, capacity_as: f64, resistance_ohm: f64) -> Self {
        let row = [volts, resistance_ohm, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        Self {
            rows: vec![row; POINTS - 1],
            cold: vec![1.0; DEGREES],
            series: 1.0,
            capacity_as,
            knee_a: 1.0,
            quick_s: 1.0,
            slow_s: 1.0,
            heat_j_k: 1e9,
            air_w_k: 0.0,
        }
    }

    /// At a charge (0 to 1.05), cell temperature (−40 to 80 °C) and current; the ends of the tables beyond.
    pub fn at(&self, charge: f64, celsius: f64, amps: f64) -> PackNow {
        now(&mut Rows::new(()), &mut Rows::new(()), charge, celsius, amps / self.knee_a, |_| self)
    }
}

/// How the resistance of charge transfer falls with the current over its knee: its volts grow as asinh (Butler and Volmer,
/// symmetric). The fourth root is asinh(x)/x within 0.2 % up to x = 3 and 6 % at 5; the table is fitted with it.
#[inline(always)]
fn bend<L: Lanes>(x: L) -> L {
    let one = x.like(1.0);
    one / (x * x * (2.0 / 3.0) + 1.0).root().root()
}

/// Each lane's pack at a charge, cell temperature and current over its knee.
#[inline(always)]
pub(super) fn now<'a, L: Lanes>(
    rows: &mut Rows<L, 10>,
    cold: &mut Rows<L, 2>,
    charge: L,
    celsius: L,
    over_knee: L,
    of: impl Fn(usize) -> &'a PackTables,
) -> PackNow<L> {
    let last = |points: usize| charge.like((points - 1) as f64 - 1e-9);
    let place = (charge * (1.0 / STEP)).or_zero().least(last(POINTS));
    let i = place.whole();
    let f = place - i;
    let [open, ohmic, transfer, quick, slow, d_open, d_ohmic, d_transfer, d_quick, d_slow] =
        rows.at(i, |lane, i| of(lane).rows[i.min(POINTS - 2)]);
    let t = (celsius - COLD_C).or_zero().least(last(DEGREES));
    let j = t.whole();
    let [base, change] = cold.at(j, |lane, j| {
        let (c, j) = (&of(lane).cold, j.min(DEGREES - 2));
        [c[j], c[j + 1] - c[j]]
    });
    let cold = base + (t - j) * change;
    PackNow {
        open_v: open + f * d_open,
        at_once_ohm: (ohmic + f * d_ohmic + (transfer + f * d_transfer) * bend(over_knee)) * cold,
        quick_ohm: (quick + f * d_quick) * cold,
        slow_ohm: (slow + f * d_slow) * cold,
    }
}

/// Values at one charge, and their change up to the next.
fn row(a: &[f64; 5], b: &[f64; 5]) -> [f64; 10] {
    core::array::from_fn(|i| if i < 5 { a[i] } else { b[i - 5] - a[i - 5] })
}

/// Beyond full the curve goes on as it came.
fn open_v(curve: &[(StateOfCharge, Voltage)], series: f64, s: f64) -> Option<f64> {
    let at = |s: f64| battery::open_circuit(curve, series as u32, StateOfCharge::new(s)).ok().map(Voltage::as_volts);
    if s <= 1.0 { at(s) } else { Some(at(1.0)? + (s - 1.0) / STEP * (at(1.0)? - at(1.0 - STEP)?)) }
}

/// Straight lines between points, the end values beyond.
fn straight(points: impl Iterator<Item = (f64, f64)>, x: f64) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    for (at, value) in points {
        if at >= x {
            return before.map_or(value, |(x0, y0)| y0 + (x - x0) / (at - x0) * (value - y0));
        }
        before = Some((at, value));
    }
    before.map_or(0.0, |(_, y)| y)
}
