//! The bench fit against SciPy's least squares on the same readings.

use std::sync::OnceLock;

use physics::OutOfRange;
use proof::bench::*;

use super::{Answer, Compared};
use crate::table::Recorded;

/// Unit of the recorded rows over SI.
const PER_SI: [(&str, f64); 8] = [
    ("resistance", 1e3),
    ("flux", 1e3),
    ("drag-constant", 1e3),
    ("drag-per-speed", 1e3),
    ("efficiency", 1e2),
    ("droop", 1e2),
    ("standby", 1.0),
    ("inertia", 1e3),
];

pub(super) fn compare(row: &Recorded) -> Compared {
    let name = row.quantity.strip_prefix("bench fit ")?;
    let (token, deviation) = name.strip_suffix(" deviation").map_or((name, false), |token| (token, true));
    let found = fitted().iter().find(|f| f.quantity.token() == token)?;
    let (_, per_si) = PER_SI.iter().find(|(t, _)| *t == token)?;
    let Some(value) = found.value else {
        return Some(Err(OutOfRange { what: "bench-fit", value: f64::NAN, low: 0.0, high: 0.0, unit: "" }));
    };
    // Two-sided 95 % of a normal distribution.
    let ours = if deviation { found.half / 1.959_963_984_540_054 } else { value };
    Some(Ok(Answer::within(ours * per_si, 2e-5, "minimum found by another algorithm, printed to six digits")))
}

fn fitted() -> &'static [Found] {
    static FITTED: OnceLock<Vec<Found>> = OnceLock::new();
    FITTED.get_or_init(|| {
        let hub = Hub {
            reduction: 4.6,
            pole_pairs: 8.0,
            radius: 0.332,
            radius_sigma: 0.0,
            torque_factor: 1.5,
            copper_factor: 1.5,
            amplitude: 1.0,
        };
        fit_sheet(hub, &sheet(), &[]).map_or_else(|_| Vec::new(), |fit| fit.found)
    })
}

fn sheet() -> Sheet {
    let exact = |value| Taken { value, sigma: 0.0, gain: 0.0, tool: None };
    let mut s = Sheet::new("bench_readings.csv", "", When::After, true);
    s.celsius = Some(20.0);
    let mut reader = csv::Reader::from_reader(include_str!("../../tables/bench_readings.csv").as_bytes());
    for row in reader.records().map(|row| row.expect("a table of this crate is well-formed CSV")) {
        let number = |column: usize| row[column].parse::<f64>().expect("a number");
        let (at, with) = (number(1), number(2));
        let taken = Taken { value: number(3), sigma: number(4), gain: 0.0, tool: None };
        match &row[0] {
            "wires" => s.wires.push(Wires { pair: "ab", ohms: taken }),
            "standby" => s.standby = Some(taken),
            "no-load" => s.no_load.push(NoLoad {
                supply_volts: exact(with),
                amperes: taken,
                wheel_speed: Some(exact(at)),
                motor_volts: None,
            }),
            "pull" => s.pulls.push(Pull { newtons: taken, turned: Turned::Backwards, plugged: false }),
            "back-emf" => {
                s.back_emf.push(BackEmf { volts_rms: taken, wheel_speed: exact(at), turned: Turned::Backwards });
            }
            "against" => s.levers.push(Lever { amperes: exact(at), against: Some(taken), lifted: None }),
            "lifted" => s.levers.push(Lever { amperes: exact(at), against: None, lifted: Some(taken) }),
            _ => {
                let flywheel = (with > 0.0).then(|| exact(with));
                match s.spin_downs.last_mut() {
                    Some(d) if d.flywheel == flywheel => d.points.push((at, taken)),
                    _ => s.spin_downs.push(SpinDown { turned: Turned::Forwards, flywheel, points: vec![(at, taken)] }),
                }
            }
        }
    }
    s
}
