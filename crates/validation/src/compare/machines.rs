//! Motor, controller and gears.

use physics::OutOfRange;
use physics::dump::{Dump, load_dump};
use physics::motor::{Commutation, Machine, Motor, flux_from_kv};
use physics::supply::{self, Inverter};
use physics::voltage::{self, Dq};
use quantity::*;

use super::{Answer, Compared};
use crate::table::{Recorded, number};

/// A machine with the given winding, without drag or droop; gears of 95 % where there are any.
fn machine(gear: f64, pairs: u32, r_ohm: f64, l_h: f64, flux_wb: f64, drag: (f64, f64)) -> Result<Machine, OutOfRange> {
    let cool = Temperature::celsius(20.0);
    Motor {
        reduction: Ratio::new(gear),
        pole_pairs: pairs,
        flux_linkage: FluxLinkage::webers(flux_wb),
        flux_droop: FluxDroop::ZERO,
        magnet_coefficient: TemperatureCoefficient::ZERO,
        phase_resistance: PhaseResistance::ohms(r_ohm),
        phase_inductance: PhaseInductance::henries(l_h),
        hysteresis_drag: RotorTorque::newton_metres(drag.0),
        eddy_drag: RotorDamping::newton_metre_seconds(drag.1),
        gear_efficiency: Ratio::new(0.95),
        commutation: Commutation::Sine,
    }
    .at(cool, cool)
}

/// The machine that the rows call HUB.
fn hub(gear: f64) -> Result<Machine, OutOfRange> {
    machine(gear, 8, 0.08, 2e-4, 0.01, (0.0, 0.0))
}

pub(super) fn compare(row: &Recorded) -> Compared {
    let input = |key| number(&row.inputs, key);
    let gear = if row.inputs.contains("gear=") { input("gear=") } else { 1.0 };
    let bus = Voltage::volts(input("Vdc="));
    let kind = row.quantity.as_str();
    Some(match kind {
        _ if kind.starts_with("no-load speed limit") || kind.starts_with("uncontrolled rectification onset") => {
            hub(gear).map(|m| Answer::exact(m.wheel_speed(m.back_emf_speed(bus)).as_radians_per_second()))
        }
        "max speed without field weakening" => hub(gear).map(|m| {
            let speed = m.voltage_limit_speed(PhaseCurrent::amperes(input("iq=")), bus);
            Answer::exact(speed.map_or(f64::NAN, |s| m.wheel_speed(s).as_radians_per_second()))
        }),
        "field-weakening i_d needed" => hub(gear).map(|m| Answer::exact(weakened(&m, row, gear).0)),
        "copper loss incl. field weakening" => hub(gear).map(|m| {
            let (d_a, q_a) = weakened(&m, row, gear);
            Answer::exact(m.copper_loss(PhaseCurrent::amperes(d_a.hypot(q_a))).as_watts())
        }),
        "flux linkage from Kv" => flux_from_kv(8, 10.0).map(|flux| Answer::exact(flux.as_webers())),
        "torque per A peak from Kv" => flux_from_kv(8, 10.0)
            .and_then(|flux| machine(1.0, 8, 0.08, 2e-4, flux.as_webers(), (0.0, 0.0)))
            .map(|m| Answer::exact(m.airgap_torque(PhaseCurrent::amperes(1.0)).as_newton_metres())),
        "zero-recovery rotor speed" => hub(1.0)
            .and_then(|m| {
                let current = PhaseCurrent::amperes(input("iq=").abs());
                supply::zero_recovery_speed(&m, &Inverter::IDEAL, current, Voltage::volts(36.0))
            })
            .map(|speed| Answer::exact(speed.as_radians_per_second())),
        _ if kind.starts_with("max recoverable electrical power") => hub(1.0).and_then(|m| {
            let speed = RotorSpeed::radians_per_second(input(", w="));
            let best = supply::best_recovery(&m, &Inverter::IDEAL, speed, Voltage::volts(36.0))?;
            Ok(Answer::exact(best.map_or(f64::NAN, |best| best.power.as_watts())))
        }),
        "load dump, constant power" => hub(1.0).and_then(|m| {
            let dump = Dump {
                bus: Voltage::volts(42.0),
                power: Power::watts(600.0),
                capacitance: Capacitance::farads(1e-3),
                trip_time: Time::milliseconds(1.0),
                current: PhaseCurrent::ZERO,
            };
            Ok(Answer::exact(load_dump(&m, RotorSpeed::ZERO, &dump)?.as_volts()).against(number(&row.expected, "")))
        }),
        _ if kind.starts_with("lossy gear") => machine(5.0, 8, 0.08, 2e-4, 0.01, (0.0, 0.0)).map(|m| {
            let forward = RotorSpeed::radians_per_second(50.0);
            let braked = m.wheel_torque(RotorTorque::newton_metres(-2.4), forward).as_newton_metres();
            Answer::within(braked, 1e-8, "printed to seven decimals").against(number(&row.expected, "/ "))
        }),
        _ if kind.starts_with("reflected drag at wheel") => {
            let wheel = WheelSpeed::radians_per_second(input("v=") / 3.6 / input(" r="));
            machine(5.0, 8, 0.08, 2e-4, 0.01, (0.05, 2e-4)).map(|m| {
                let drag = m.coasting_drag(m.rotor_speed(wheel)).as_newton_metres();
                Answer::exact(drag.abs()).against(number(&row.expected, ""))
            })
        }
        _ => return None,
    })
}

/// Currents along and across the magnet for the torque and speed of a row.
fn weakened(m: &Machine, row: &Recorded, gear: f64) -> (f64, f64) {
    let torque_nm = number(&row.inputs, "tau_out=") / gear;
    let q_a = torque_nm / m.airgap_torque(PhaseCurrent::amperes(1.0)).as_newton_metres();
    let speed = RotorSpeed::radians_per_second(number(&row.inputs, "w_out=") * gear);
    let bus = Voltage::volts(number(&row.inputs, "Vdc="));
    let weak = m.field_weakening(PhaseCurrent::amperes(q_a), speed, bus);
    (weak.map_or(f64::NAN, PhaseCurrent::as_amperes), q_a)
}

/// Rows of a machine simulated at rest in its own frame; only those without saliency, which we leave out.
pub(super) fn compare_pmsm(row: &Recorded) -> Compared {
    let input = |key| number(&row.inputs, key);
    if input("Ld=") != input("Lq=") {
        return None;
    }
    let current = Dq { d: PhaseCurrent::amperes(input("id=")), q: PhaseCurrent::amperes(input("iq=")) };
    let speed = RotorSpeed::radians_per_second(input("omega="));
    Some(machine(1.0, 8, input("R="), input("Ld="), input("psi="), (0.0, 0.0)).map(|m| {
        let volts = m.dq_voltages(current, m.electrical_speed(speed));
        let ours = match row.quantity.as_str() {
            "voltage along the magnet" => volts.d.as_volts(),
            "voltage across the magnet" => volts.q.as_volts(),
            "air-gap torque" => {
                let size = m.airgap_torque(PhaseCurrent::amperes(input("iq=").abs())).as_newton_metres();
                size * input("iq=").signum()
            }
            "terminal power" => voltage::terminal_power(volts, current).as_watts(),
            "copper loss" => m.copper_loss(PhaseCurrent::amperes(input("id=").hypot(input("iq=")))).as_watts(),
            "peak between two wires" => voltage::line_peak(volts).as_volts(),
            _ => f64::NAN,
        };
        Answer::within(ours, 1e-6, "recorded with seven figures, the last one cut")
    }))
}
