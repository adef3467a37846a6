//! Our closed formulas against the time domain and the field solutions.

use physics::OutOfRange;
use physics::axle_section::{self, AxleSection};
use physics::axle_state::{self, Peaks};
use physics::dump::{Dump, load_dump_estimate};
use physics::motor::{Commutation, Machine, Motor};
use physics::rectifier::{ForcedCharge, Supply, forced_charge};
use quantity::*;

use super::{Answer, Compared};
use crate::table::{Recorded, number};

pub(super) fn compare(row: &Recorded) -> Compared {
    let input = |key| number(&row.inputs, key);
    Some(match row.quantity.as_str() {
        "bridge bus current" => charge(input("omega_e=")).map(|c| near_bridge(c.current.as_amperes())),
        "bridge rotor torque" => charge(input("omega_e=")).map(|c| near_bridge(c.torque.as_newton_metres())),
        "load dump bus peak" => dump(input("omega_e="), input("C=")),
        "slip per reversal" => slip(row),
        "two-flat axle torsion stress" => torsion(input("bore ")),
        _ => return None,
    })
}

fn near_bridge(ours: f64) -> Answer {
    Answer::within(
        ours,
        0.10,
        "overlap near the onset and a fit beyond it, stated to be within 10 % up to twice the onset",
    )
}

fn machine() -> Result<Machine, OutOfRange> {
    let cool = Temperature::celsius(20.0);
    Motor {
        reduction: Ratio::new(5.0),
        pole_pairs: 8,
        flux_linkage: FluxLinkage::webers(0.0276),
        flux_droop: FluxDroop::ZERO,
        magnet_coefficient: TemperatureCoefficient::ZERO,
        phase_resistance: PhaseResistance::ohms(0.045),
        phase_inductance: PhaseInductance::henries(1e-4),
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
