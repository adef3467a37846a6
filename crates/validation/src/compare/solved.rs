//! Our closed formulas against the time domain and the field solutions.

use physics::OutOfRange;
use physics::axle_section::{self, AxleSection};
use physics::axle_state::{self, Peaks};
use physics::dump::{Dump, load_dump_estimate};
use physics::heat::{Heating, TwoNodes, Warmth, after, time_to_limit};
use physics::motor::{Commutation, Machine, Motor};
use physics::rectifier::{ForcedCharge, Supply, forced_charge};
use physics::short::{FirstPeak, first_peak};
use quantity::*;

use super::{Answer, Compared};
use crate::table::{Recorded, number};

pub(super) fn compare(row: &Recorded) -> Compared {
    let input = |key| number(&row.inputs, key);
    if let Some(answer) = super::bench::compare(row) {
        return Some(answer);
    }
    Some(match row.quantity.as_str() {
        "bridge bus current" => charge(input("omega_e=")).map(|c| near_bridge(c.current.as_amperes())),
        "bridge rotor torque" => charge(input("omega_e=")).map(|c| near_bridge(c.torque.as_newton_metres())),
        "load dump bus peak" => dump(input("omega_e="), input("C=")),
        "two heat nodes, winding" => warmth(row).map(|end| recorded(end.winding.as_celsius())),
        "two heat nodes, shell" => warmth(row).map(|end| recorded(end.shell.as_celsius())),
        "time to a heat limit" => time(row).map(recorded),
        "short, first peak along the magnet" => short(row).map(|peak| recorded(peak.against_magnet.as_amperes())),
        "short, first peak of rotor torque" => short(row).map(|peak| recorded(peak.torque.as_newton_metres())),
        "slip per reversal" => slip(row),
        "two-flat axle torsion stress" => torsion(input("bore ")),
        _ => return None,
    })
}

/// An exact solution of ours beside an exact one of theirs.
fn recorded(ours: f64) -> Answer {
    Answer::within(ours, 1e-6, "six digits, rounded twice when they were recorded")
}

fn near_bridge(ours: f64) -> Answer {
    Answer::within(
        ours,
        0.10,
        "overlap near the onset and a fit beyond it, stated to be within 10 % up to twice the onset",
    )
}

fn machine() -> Result<Machine, OutOfRange> {
    motor(8, 0.0276, 0.045, 1e-4)
}

fn motor(pole_pairs: u32, flux_wb: f64, resistance_ohm: f64, inductance_h: f64) -> Result<Machine, OutOfRange> {
    let cool = Temperature::celsius(20.0);
    Motor {
        reduction: Ratio::new(5.0),
        pole_pairs,
        flux_linkage: FluxLinkage::webers(flux_wb),
        flux_droop: FluxDroop::ZERO,
        magnet_coefficient: TemperatureCoefficient::ZERO,
        phase_resistance: PhaseResistance::ohms(resistance_ohm),
        phase_inductance: PhaseInductance::henries(inductance_h),
        hysteresis_drag: RotorTorque::ZERO,
        eddy_drag: RotorDamping::ZERO,
        gear_efficiency: Ratio::new(0.95),
        commutation: Commutation::Sine,
    }
    .at(cool, cool)
}

fn charge(omega_e: f64) -> Result<ForcedCharge, OutOfRange> {
    let supply = Supply { open_circuit: Voltage::volts(54.6), diode: Voltage::ZERO, resistance: Resistance::ZERO };
    forced_charge(&machine()?, RotorSpeed::radians_per_second(omega_e / 8.0), &supply)
}

fn dump(omega_e: f64, capacitance_mf: f64) -> Result<Answer, OutOfRange> {
    let dump = Dump {
        bus: Voltage::volts(54.6),
        power: Power::ZERO,
        capacitance: Capacitance::farads(capacitance_mf * 1e-3),
        trip_time: Time::ZERO,
        current: PhaseCurrent::amperes(70.0),
    };
    let peak = load_dump_estimate(&machine()?, RotorSpeed::radians_per_second(omega_e / 8.0), &dump)?;
    let why = "fundamental waves, without resistance; stated to be within 2 V below the onset";
    Ok(Answer::within(peak.as_volts(), 0.005, why))
}

fn slip(row: &Recorded) -> Result<Answer, OutOfRange> {
    let input = |key| number(&row.inputs, key);
    let peaks = Peaks {
        drive: WheelTorque::newton_metres(input("drive ")),
        brake: WheelTorque::newton_metres(input("brake ")),
    };
    let stiffness = |key| TorsionalStiffness::newton_metres_per_radian(input(key));
    let faces = Some(stiffness("faces "));
    let slip = axle_state::cyclic_slip(peaks, Torque::newton_metres(input("friction ")), stiffness("arm "), faces)?;
    Ok(Answer::within(slip.as_degrees(), 0.003, "followed in 400 steps of torque a reversal"))
}

fn torsion(bore_mm: f64) -> Result<Answer, OutOfRange> {
    let bore = Length::millimetres(bore_mm);
    let section = AxleSection::new(Length::millimetres(12.0), Some(Length::millimetres(10.0)), bore)?;
    let stress = axle_section::torsion_bound(section, Torque::newton_metres(40.0))?;
    let why = "an upper bound: the tube inscribed in the flats; stated to lie up to 22 % above";
    Ok(Answer::within(stress.as_megapascals(), 0.22, why))
}

/// A number that may be negative.
fn signed(row: &Recorded, key: &str) -> f64 {
    let below = number(&row.inputs, &format!("{key}-"));
    if below.is_nan() { number(&row.inputs, key) } else { -below }
}

fn short(row: &Recorded) -> Result<FirstPeak, OutOfRange> {
    let input = |key| number(&row.inputs, key);
    let pairs = input("p=");
    let m = motor(pairs as u32, input("flux="), input("R="), input("L="))?;
    let speed = RotorSpeed::radians_per_second(input("omega_e=") / pairs);
    Ok(first_peak(&m, speed, PhaseCurrent::amperes(signed(row, "before="))))
}

fn heated(row: &Recorded) -> (TwoNodes, Heating) {
    let input = |key| number(&row.inputs, key);
    let nodes = TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(input("Cw=")),
        shell: HeatCapacity::joules_per_kelvin(input("Cs=")),
        winding_to_shell: ThermalResistance::kelvins_per_watt(input("Rws=")),
        shell_to_air: ThermalConductance::watts_per_kelvin(input("H=")),
    };
    let air = Temperature::celsius(signed(row, "air="));
    (nodes, Heating { copper_at_20: Power::watts(input("P20=")), shell: Power::watts(input("Ps=")), air })
}

fn warmth(row: &Recorded) -> Result<Warmth, OutOfRange> {
    let (nodes, heating) = heated(row);
    let start = |key| Temperature::celsius(signed(row, key));
    let start = Warmth { winding: start("winding starts at "), shell: start("shell starts at ") };
    after(&nodes, &heating, start, Time::seconds(number(&row.inputs, "t=")))
}

/// Seconds to the limit that the row names; the other node has none.
fn time(row: &Recorded) -> Result<f64, OutOfRange> {
    let (nodes, heating) = heated(row);
    let limit = |key| {
        let c = number(&row.inputs, key);
        Temperature::celsius(if c.is_nan() { f64::MAX } else { c })
    };
    let limit = Warmth { winding: limit("winding limit="), shell: limit("shell limit=") };
    let start = Warmth { winding: heating.air, shell: heating.air };
    Ok(time_to_limit(&nodes, &heating, start, limit)?.map_or(f64::NAN, |(time, _)| time.as_seconds()))
}
