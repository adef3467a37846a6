//! From motor to battery: volts that the controller must stand, and speeds above which the motor brakes by itself.

use super::{Gap, Load, Step, Tape, World};
use crate::fact::list;
use physics::{motor, voltage};
use quantity::*;

/// The motor's own volts at the usual downhill speed against the controller's rating.
pub fn controller_volts<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let machine = w.machine()?;
    let rotor = machine.rotor_speed(motor::rolling(w.get(list::DOWNHILL_SPEED)?, w.get(list::WHEEL_RADIUS)?)?);
    let volts = machine.back_emf_peak(rotor);
    w.step(|| {
        Step::new("motor-volts", "", &voltage::BACK_EMF_SPEED, ("U", volts.as_volts(), "V"))
            .put("λ", machine.flux_linkage().as_webers() * 1e3, "mWb")
            .put("ω", rotor.as_radians_per_second(), "rad/s")
    });
    Ok(Load::one(volts.as_volts(), w.get(list::VOLTAGE_RATING)?.as_volts()))
}
