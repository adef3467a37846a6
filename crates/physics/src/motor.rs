//! The motor with its gears: flux, resistance, torque and drag.

use super::checked::within;
use super::si::*;
use super::{Number, math};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[
    &COPPER_RESISTANCE,
    &MAGNET_FLUX,
    &AIRGAP_TORQUE,
    &CURRENT_FOR_TORQUE,
    &ROTOR_DRAG,
    &WHEEL_TORQUE,
    &STANDSTILL_BAND,
    &COASTING_DRAG,
    &FREEWHEEL_COST,
    &TORQUE_FIT,
];

/// Resistance of the winding when warm.
pub const COPPER_RESISTANCE: Formula = Formula {
    name: "copper-resistance",
    equation: "R(T) = R_20·(1 + 0.00393·(T − 20 °C))",
    source: "IEC 60028: annealed copper, constant mass, 20 °C",
    valid: "−60 to 300 °C",
    left_out: "skin and proximity effect (real loss is higher at speed)",
    checked_by: "validates_copper_resistance",
};

/// Flux linkage when the magnet is warm.
pub const MAGNET_FLUX: Formula = Formula {
    name: "magnet-flux",
    equation: "λ(T) = λ_20·(1 + α_m·(T − 20 °C)), α_m some −0.0010/K for sintered neodymium magnets",
    source: "magnet makers' remanence coefficients, 20 to 100 °C (common practice)",
    valid: "below the knee of the magnet's demagnetisation curve",
    left_out: "irreversible loss; curvature of the coefficient",
    checked_by: "validates_magnet_flux",
};

/// Torque inside the motor.
pub const AIRGAP_TORQUE: Formula = Formula {
    name: "airgap-torque",
    equation: "T = k·p·λ(î)·î, λ(î) = λ₀/(1 + c·î); k = 3/2 (sine), 3√3/π (block current on sinusoidal EMF)",
    source: "dq equations of the round-rotor machine, i_d = 0; droop: own fit, used for torque and voltage alike",
    valid: "i_d = 0; î inside the points that the droop was fitted to",
    left_out: "saliency, ripple (14 % with block current)",
    checked_by: "validates_pmsm_torque, validates_t13_droop",
};

/// Phase current for a torque.
pub const CURRENT_FOR_TORQUE: Formula = Formula {
    name: "current-for-torque",
    equation: "î = T/(k·p·λ₀ − c·T)",
    source: "airgap-torque solved for the current",
    valid: "T < k·p·λ₀/c, the torque that the drooping flux never reaches",
    left_out: "as airgap-torque",
    checked_by: "law_current_inverts_torque",
};

/// Drag at the rotor.
pub const ROTOR_DRAG: Formula = Formula {
    name: "rotor-drag",
    equation: "T_drag = T_h + k_e·|ω_m|",
    source: "common practice: hysteresis and bearing drag constant, eddy currents and viscous drag with speed",
    valid: "speeds near those of the measurement of T_h and k_e",
    left_out: "cold grease (higher drag)",
    checked_by: "validates_t12_gears, validates_reflected_drag",
};

/// Torque at the wheel.
pub const WHEEL_TORQUE: Formula = Formula {
    name: "wheel-torque",
    equation: "T_sh = T_em − sgn(ω)·T_drag; T_wheel = N·η·T_sh if T_sh·ω > 0, N·T_sh/η if T_sh·ω < 0",
    source: "lossy gear with one efficiency for both directions (Modelica Standard Library, LossyGear)",
    valid: "ω ≠ 0; at rest only a band is known: standstill-band",
    left_out: "load-independent gear loss (belongs into T_h)",
    checked_by: "validates_t12_gears, validates_lossy_gear",
};

/// Torque at the wheel at rest.
pub const STANDSTILL_BAND: Formula = Formula {
    name: "standstill-band",
    equation: "from N·min(xη, x/η), x = T_em − T_h, to N·max(yη, y/η), y = T_em + T_h",
    source: "own derivation: dry friction and lossy gear at rest",
    valid: "ω = 0",
    left_out: "stiction above T_h",
    checked_by: "law_band_holds_both_directions",
};

/// Drag of a coasting wheel whose clutch is locked.
pub const COASTING_DRAG: Formula = Formula {
    name: "coasting-drag",
    equation: "T_wheel = N·T_drag/η",
    source: "wheel-torque with T_em = 0",
    valid: "clutch locked; with a free clutch the wheel does not feel the motor",
    left_out: "drag of the wheel bearings and seals",
    checked_by: "validates_reflected_drag",
};

/// Power that cancels the drag.
pub const FREEWHEEL_COST: Formula = Formula {
    name: "electric-freewheel",
    equation: "i_q: k·p·λ(i_q)·i_q = T_drag; P = ω_m·T_drag + k_R·R·i_q²; k_R = 3/2 (sine), 2 (block)",
    source: "own derivation: power balance at zero shaft torque",
    valid: "the gears then carry nothing",
    left_out: "inverter loss and standby (see inverter)",
    checked_by: "law_freewheel_costs_more_than_drag",
};

/// Flux linkage and droop from torque points.
pub const TORQUE_FIT: Formula = Formula {
    name: "torque-fit",
    equation: "î/T = A + B·î by least squares of the relative error; λ₀ = 1/(k·p·A), c = B/A",
    source: "own derivation: airgap-torque is linear in this form",
    valid: "two or more points of different current; no rise of torque per ampere",
    left_out: "uncertainty of the points",
    checked_by: "validates_trade_torque_points",
};

/// Temperature coefficient of the resistance of copper at 20 °C (IEC 60028).
pub const COPPER_COEFFICIENT: quantity::TemperatureCoefficient = quantity::TemperatureCoefficient::per_kelvin(0.00393);

/// The temperature to which a motor's facts are stated.
pub const STATED_AT: quantity::Temperature = quantity::Temperature::celsius(20.0);

/// Which way the motor's torque acts on the rolling bicycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Forward: it takes power from the battery.
    Drive,
    /// Backward: it slows the wheel.
    Brake,
}

/// The shape of the phase currents.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Commutation {
    /// Sine; the current is its amplitude.
    Sine,
    /// Block (six-step); the current is the flat top.
    Block,
}

impl Commutation {
    /// Torque per pole pair, flux linkage and current.
    pub(crate) const fn torque_factor(self) -> f64 {
        match self {
            Self::Sine => 1.5,
            Self::Block => 1.653_986_686_265_375_9, // 3√3/π
        }
    }
    /// Copper loss over R·î².
    pub(crate) const fn copper_factor(self) -> f64 {
        match self {
            Self::Sine => 1.5,
            Self::Block => 2.0,
        }
    }
}

/// The facts of a motor with its gears, electrical ones at 20 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// Rotor turns per wheel turn, 1 to 200.
    pub reduction: Ratio,
    /// Pole pairs of the rotor (a count), 1 to 200.
    pub pole_pairs: u32,
    /// No-load flux linkage of a phase, amplitude, 10 µWb to 10 Wb.
    pub flux_linkage: FluxLinkage,
    /// Fall of the flux linkage with current, 0 to 1/A; zero for none.
    pub flux_droop: FluxDroop,
    /// Change of the flux linkage with magnet temperature (negative), −0.01 to 0.
    pub magnet_coefficient: TemperatureCoefficient,
    /// Resistance of one phase, 0.1 mΩ to 100 Ω.
    pub phase_resistance: PhaseResistance,
    /// Synchronous inductance of one phase, 0.1 µH to 1 H.
    pub phase_inductance: PhaseInductance,
    /// Constant part of the rotor's drag, 0 to 100 N·m.
    pub hysteresis_drag: RotorTorque,
    /// Part of the rotor's drag that grows with speed, 0 to 10 N·m·s.
    pub eddy_drag: RotorDamping,
    /// Efficiency of the gears, 0.5 to 1 (1 without gears).
    pub gear_efficiency: Ratio,
    /// Shape of the phase currents.
    pub commutation: Commutation,
}

impl Motor {
    /// The motor with its winding and its magnet at the given temperatures, −60 to 300 °C.
    ///
    /// # Errors
    /// [`OutOfRange`] for a fact or temperature out of the range named beside it.
    pub fn at(&self, winding: Temperature, magnet: Temperature) -> Result<Machine, OutOfRange> {
        let reduction = self.reduction.get();
        let (lambda_wb, r_ohm) = (self.flux_linkage.as_webers(), self.phase_resistance.as_ohms());
        let l_h = self.phase_inductance.as_henries();
        let coefficient = self.magnet_coefficient.as_per_kelvin();
        within("reduction", reduction, 1.0, 200.0, "one")?;
        within("pole-pairs", f64::from(self.pole_pairs), 1.0, 200.0, "pairs")?;
        within("flux-linkage", lambda_wb, 1e-5, 10.0, "Wb")?;
        within("flux-droop", self.flux_droop.as_per_ampere(), 0.0, 1.0, "1/A")?;
        within("magnet-coefficient", coefficient, -0.01, 0.0, "1/K")?;
        within("phase-resistance", r_ohm, 1e-4, 100.0, "Ω")?;
        within("phase-inductance", l_h, 1e-7, 1.0, "H")?;
        within("hysteresis-drag", self.hysteresis_drag.as_newton_metres(), 0.0, 100.0, "N·m")?;
        within("eddy-drag", self.eddy_drag.as_newton_metre_seconds(), 0.0, 10.0, "N·m·s")?;
        within("gear-efficiency", self.gear_efficiency.get(), 0.5, 1.0, "one")?;
        within("winding-temperature", winding.as_celsius(), -60.0, 300.0, "°C")?;
        within("magnet-temperature", magnet.as_celsius(), -60.0, 300.0, "°C")?;
        let magnet_factor = 1.0 + coefficient * (magnet.as_celsius() - STATED_AT.as_celsius());
        within("magnet-flux-factor", magnet_factor, 0.05, 2.0, "one")?;
        Ok(Machine {
            reduction,
            pole_pairs: self.pole_pairs.into(),
            lambda_wb: lambda_wb * magnet_factor,
            droop: self.flux_droop.as_per_ampere(),
            r_ohm: r_ohm * copper_factor(winding),
            l_h,
            t_h: self.hysteresis_drag.as_newton_metres(),
            k_e: self.eddy_drag.as_newton_metre_seconds(),
            eta: self.gear_efficiency.get(),
            commutation: self.commutation,
        })
    }
}

/// Resistance of copper at a temperature over that at 20 °C.
fn copper_factor(winding: Temperature) -> Number {
    1.0 + COPPER_COEFFICIENT.as_per_kelvin() * (winding.as_celsius() - STATED_AT.as_celsius())
}

/// A motor at given temperatures of winding and magnet; only [`Motor::at`] makes one, so its facts are in range.
///
/// Currents are amplitudes, zero or positive, except where "signed" is said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    pub(crate) reduction: Number,
    pub(crate) pole_pairs: Number,
    pub(crate) lambda_wb: Number,
    pub(crate) droop: Number,
    pub(crate) r_ohm: Number,
    pub(crate) l_h: Number,
    pub(crate) t_h: Number,
    pub(crate) k_e: Number,
    pub(crate) eta: Number,
    pub(crate) commutation: Commutation,
}

impl Machine {
    /// Resistance of one phase.
    pub fn phase_resistance(&self) -> PhaseResistance {
        PhaseResistance::ohms(self.r_ohm)
    }

    /// Inductance of one phase.
    pub fn phase_inductance(&self) -> PhaseInductance {
        PhaseInductance::henries(self.l_h)
    }

    /// Flux linkage without current.
    pub fn flux_linkage(&self) -> FluxLinkage {
        FluxLinkage::webers(self.lambda_wb)
    }

    /// Speed of the rotor for a speed of the wheel.
    pub fn rotor_speed(&self, wheel: WheelSpeed) -> RotorSpeed {
        RotorSpeed::radians_per_second(wheel.as_radians_per_second() * self.reduction)
    }

    /// Speed of the wheel for a speed of the rotor.
    pub fn wheel_speed(&self, rotor: RotorSpeed) -> WheelSpeed {
        WheelSpeed::radians_per_second(rotor.as_radians_per_second() / self.reduction)
    }

    /// Electrical speed for a speed of the rotor.
    pub fn electrical_speed(&self, rotor: RotorSpeed) -> ElectricalSpeed {
        ElectricalSpeed::radians_per_second(rotor.as_radians_per_second() * self.pole_pairs)
    }

    /// Flux linkage under a phase current: [`AIRGAP_TORQUE`].
    pub fn flux_under(&self, current: PhaseCurrent) -> FluxLinkage {
        FluxLinkage::webers(self.flux_wb(current.as_amperes()))
    }

    pub(crate) const fn flux_droop(&self) -> Number {
        self.droop
    }

    pub(crate) fn flux_wb(&self, i_a: Number) -> Number {
        self.lambda_wb / (1.0 + self.droop * i_a.abs())
    }

    /// Torque at no droop per ampere.
    pub(crate) fn torque_per_ampere(&self) -> Number {
        self.commutation.torque_factor() * self.pole_pairs * self.lambda_wb
    }

    /// Torque of a phase current: [`AIRGAP_TORQUE`].
    pub fn airgap_torque(&self, current: PhaseCurrent) -> RotorTorque {
        let i_a = current.as_amperes();
        RotorTorque::newton_metres(self.torque_per_ampere() * i_a / (1.0 + self.droop * i_a.abs()))
    }

    /// Phase current for a torque: [`CURRENT_FOR_TORQUE`].
    pub fn current_for_torque(&self, torque: RotorTorque) -> Result<PhaseCurrent, OutOfRange> {
        let torque_nm = torque.as_newton_metres();
        let per_ampere = self.torque_per_ampere();
        let room = per_ampere - self.droop * torque_nm;
        if torque_nm >= 0.0 && room > 0.0 && torque_nm.is_finite() {
            return Ok(PhaseCurrent::amperes(torque_nm / room));
        }
        let high = math::if_above(self.droop, 0.0, per_ampere / self.droop, f64::MAX);
        Err(OutOfRange {
            what: "rotor-torque",
            value: math::shown(torque_nm),
            low: 0.0,
            high: math::shown(high),
            unit: "N·m",
        })
    }

    /// Drag at the rotor: [`ROTOR_DRAG`].
    pub fn rotor_drag(&self, speed: RotorSpeed) -> RotorTorque {
        RotorTorque::newton_metres(self.t_h + self.k_e * speed.as_radians_per_second().abs())
    }

    /// Signed torque at the wheel from a signed torque inside the motor, both positive forward: [`WHEEL_TORQUE`].
    /// At rest it is the middle of [`Machine::standstill_band`].
    pub fn wheel_torque(&self, airgap: RotorTorque, speed: RotorSpeed) -> WheelTorque {
        let omega = speed.as_radians_per_second();
        if omega == 0.0 {
            let (low, high) = self.standstill_band(airgap);
            return (low + high) / 2.0;
        }
        let shaft_nm = airgap.as_newton_metres() - omega.signum() * self.rotor_drag(speed).as_newton_metres();
        let eta = math::if_above(0.0, shaft_nm * omega, 1.0 / self.eta, self.eta);
        WheelTorque::newton_metres(self.reduction * eta * shaft_nm)
    }

    /// Least and largest torque at the wheel at rest (signed): [`STANDSTILL_BAND`]. Without motion it lies anywhere
    /// between.
    pub fn standstill_band(&self, airgap: RotorTorque) -> (WheelTorque, WheelTorque) {
        let x = airgap.as_newton_metres() - self.t_h;
        let y = airgap.as_newton_metres() + self.t_h;
        let (n, eta) = (self.reduction, self.eta);
        (WheelTorque::newton_metres(n * (x * eta).min(x / eta)), WheelTorque::newton_metres(n * (y * eta).max(y / eta)))
    }

    /// Torque with which a phase current drives or brakes the wheel that rolls forward: [`WHEEL_TORQUE`]. Positive in
    /// the asked direction; negative when the drag is larger than a small driving torque.
    pub fn wheel_torque_at(&self, direction: Direction, current: PhaseCurrent, speed: RotorSpeed) -> WheelTorque {
        let airgap_nm = self.airgap_torque(current).as_newton_metres();
        let forward = RotorSpeed::radians_per_second(speed.as_radians_per_second().abs().max(f64::MIN_POSITIVE));
        match direction {
            Direction::Drive => self.wheel_torque(RotorTorque::newton_metres(airgap_nm), forward),
            Direction::Brake => self.wheel_torque(RotorTorque::newton_metres(-airgap_nm), forward) * -1.0,
        }
    }

    /// Phase current that drives or brakes the forward-rolling wheel with a torque: [`CURRENT_FOR_TORQUE`].
    /// Zero if drag alone brakes as much.
    pub fn current_for_wheel_torque(
        &self,
        direction: Direction,
        torque: WheelTorque,
        speed: RotorSpeed,
    ) -> Result<PhaseCurrent, OutOfRange> {
        let wheel_nm = torque.as_newton_metres();
        within("wheel-torque", wheel_nm, 0.0, 1e5, "N·m")?;
        let drag_nm = self.rotor_drag(speed).as_newton_metres();
        let airgap_nm = match direction {
            Direction::Drive => wheel_nm / (self.reduction * self.eta) + drag_nm,
            Direction::Brake => (wheel_nm * self.eta / self.reduction - drag_nm).max(0.0),
        };
        self.current_for_torque(RotorTorque::newton_metres(airgap_nm))
    }

    /// Drag at the wheel when coasting with the clutch locked: [`COASTING_DRAG`].
    pub fn coasting_drag(&self, speed: RotorSpeed) -> WheelTorque {
        WheelTorque::newton_metres(self.reduction * self.rotor_drag(speed).as_newton_metres() / self.eta)
    }

    /// Current and electrical power at the motor that cancel the drag: [`FREEWHEEL_COST`].
    pub fn electric_freewheel(&self, speed: RotorSpeed) -> Result<(PhaseCurrent, Power), OutOfRange> {
        let drag = self.rotor_drag(speed);
        let current = self.current_for_torque(drag)?;
        let shaft_w = drag.as_newton_metres() * speed.as_radians_per_second().abs();
        Ok((current, Power::watts(shaft_w + self.copper_w(current.as_amperes()))))
    }

    /// Heat in the copper of all phases.
    pub fn copper_loss(&self, current: PhaseCurrent) -> Power {
        Power::watts(self.copper_w(current.as_amperes()))
    }

    pub(crate) fn copper_w(&self, i_a: Number) -> Number {
        self.commutation.copper_factor() * self.r_ohm * i_a * i_a
    }
}

/// Flux linkage and droop from points of phase current and torque inside the motor: [`TORQUE_FIT`].
///
/// Errors: fewer than two different currents, a point that is not positive, or torque per ampere that rises.
pub fn fit_torque(
    pole_pairs: u32,
    commutation: Commutation,
    points: &[(PhaseCurrent, RotorTorque)],
) -> Result<(FluxLinkage, FluxDroop), OutOfRange> {
    within("pole-pairs", f64::from(pole_pairs), 1.0, 200.0, "pairs")?;
    within("torque-points", points.len() as f64, 2.0, 1e6, "points")?;
    // Unknowns A and B in u·A + v·B = 1, u = T/î, v = T: the residual is the relative error of the torque.
    let (mut uu, mut uv, mut vv, mut u_sum, mut v_sum) = [Number::from(0.0); 5].into();
    for (current, torque) in points {
        let (i_a, torque_nm) = (current.as_amperes(), torque.as_newton_metres());
        within("torque-point-current", i_a, 1e-3, 1e4, "A")?;
        within("torque-point-torque", torque_nm, 1e-3, 1e4, "N·m")?;
        let (u, v) = (torque_nm / i_a, torque_nm);
        uu += u * u;
        uv += u * v;
        vv += v * v;
        u_sum += u;
        v_sum += v;
    }
    let determinant = uu * vv - uv * uv;
    within("spread-of-currents", determinant / (uu * vv), 1e-9, 1.0, "one")?;
    let a = (u_sum * vv - v_sum * uv) / determinant;
    let b = (v_sum * uu - u_sum * uv) / determinant;
    let droop = b / a;
    within("flux-droop", droop, 0.0, 1.0, "1/A")?;
    let flux_wb = 1.0 / (commutation.torque_factor() * f64::from(pole_pairs) * a);
    within("flux-linkage", flux_wb, 1e-5, 10.0, "Wb")?;
    Ok((FluxLinkage::webers(flux_wb), FluxDroop::per_ampere(droop)))
}

/// Speed of a wheel that rolls without sliding; radius 0.05 to 1 m.
pub fn rolling(speed: Speed, radius: Length) -> Result<WheelSpeed, OutOfRange> {
    within("wheel-radius", radius.as_metres(), 0.05, 1.0, "m")?;
    Ok(WheelSpeed::radians_per_second(speed.as_metres_per_second() / radius.as_metres()))
}

/// Force of a wheel's torque at the road; radius 0.05 to 1 m.
pub fn tyre_force(torque: WheelTorque, radius: Length) -> Result<Force, OutOfRange> {
    within("wheel-radius", radius.as_metres(), 0.05, 1.0, "m")?;
    Ok(Force::newtons(torque.as_newton_metres() / radius.as_metres()))
}

/// Revolutions per minute to the rotor's angular speed and Kv (per volt line to line, peak) to flux linkage:
/// `λ = 60/(√3·2π·p·Kv)`.
pub fn flux_from_kv(pole_pairs: u32, rpm_per_volt_peak: Number) -> Result<FluxLinkage, OutOfRange> {
    within("pole-pairs", f64::from(pole_pairs), 1.0, 200.0, "pairs")?;
    within("speed-constant", rpm_per_volt_peak, 0.01, 1e5, "rpm/V")?;
    Ok(FluxLinkage::webers(60.0 / (3f64.sqrt() * 2.0 * PI * f64::from(pole_pairs) * rpm_per_volt_peak)))
}
