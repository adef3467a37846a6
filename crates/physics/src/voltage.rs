//! Voltages of the turning motor: steady state, back-EMF, where the supply's voltage ends, field weakening.

use super::Number;
use super::motor::Machine;
use super::si::*;
use crate::Formula;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&DQ_VOLTAGES, &LINE_PEAK, &BACK_EMF_SPEED, &VOLTAGE_LIMIT_SPEED, &FIELD_WEAKENING];

/// Steady-state voltages.
pub const DQ_VOLTAGES: Formula = Formula {
    name: "dq-voltages",
    equation: "v_d = R·i_d − ω_e·L·i_q;  v_q = R·i_q + ω_e·(λ(i_q) + L·i_d)",
    source: "dq equations of the round-rotor permanent-magnet machine, amplitude-invariant",
    valid: "steady state, sine currents, L_d = L_q",
    left_out: "saliency, cross-saturation other than the droop",
    checked_by: "validates_pmsm_voltages",
};

/// Peak of the voltage between two motor wires.
pub const LINE_PEAK: Formula = Formula {
    name: "line-peak",
    equation: "û = √3·√(v_d² + v_q²)",
    source: "three-phase geometry",
    valid: "sine voltages",
    left_out: "switching spikes, harmonics of the EMF",
    checked_by: "validates_pmsm_voltages",
};

/// Speed at which the back-EMF reaches a voltage.
pub const BACK_EMF_SPEED: Formula = Formula {
    name: "back-emf-speed",
    equation: "ω_m = U/(√3·p·λ₀)",
    source: "line-peak without current",
    valid: "λ₀ of the coldest magnet, where the voltage must not be reached",
    left_out: "harmonics of the EMF",
    checked_by: "validates_no_load_speed, validates_onset_speeds",
};

/// Highest speed at a current without field weakening.
pub const VOLTAGE_LIMIT_SPEED: Formula = Formula {
    name: "voltage-limit-speed",
    equation: "(ω_e·L·i)² + (ω_e·λ(i) ± R·i)² = (V/√3)², + driving, − braking; the positive root",
    source: "dq-voltages at the limit of space-vector modulation, |v| = V/√3",
    valid: "i_d = 0, sine currents",
    left_out: "dead time and minimum pulses (a few per cent less voltage)",
    checked_by: "validates_speed_without_field_weakening",
};

/// Field-weakening current.
pub const FIELD_WEAKENING: Formula = Formula {
    name: "field-weakening",
    equation: "Z²·i_d² + 2·X·ω_eλ·i_d + C = 0, C = X²i_q² + (R·i_q + ω_eλ)² − (V/√3)²; the root nearer to zero",
    source: "dq-voltages at |v| = V/√3, solved for i_d",
    valid: "sine currents; no root: the voltage cannot be held at this torque",
    left_out: "change of λ and L with i_d",
    checked_by: "validates_field_weakening",
};

/// Voltages or currents in the rotor's frame, amplitude-invariant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dq<T> {
    /// Along the magnet.
    pub d: T,
    /// Across it; positive drives forward.
    pub q: T,
}

impl Machine {
    pub(crate) fn emf_v(&self, i_a: Number, speed: ElectricalSpeed) -> Number {
        self.flux_wb(i_a) * speed.as_radians_per_second()
    }

    /// Voltages of signed currents: [`DQ_VOLTAGES`].
    pub fn dq_voltages(&self, current: Dq<PhaseCurrent>, speed: ElectricalSpeed) -> Dq<Voltage> {
        let (d_a, q_a) = (current.d.as_amperes(), current.q.as_amperes());
        let x_ohm = speed.as_radians_per_second() * self.l_h;
        Dq {
            d: Voltage::volts(self.r_ohm * d_a - x_ohm * q_a),
            q: Voltage::volts(self.r_ohm * q_a + self.emf_v(q_a, speed) + x_ohm * d_a),
        }
    }

    /// Peak of the back-EMF between two wires, without current: [`LINE_PEAK`].
    pub fn back_emf_peak(&self, speed: RotorSpeed) -> Voltage {
        Voltage::volts(3f64.sqrt() * self.emf_v(0.0.into(), self.electrical_speed(speed)).abs())
    }

    /// Speed at which the back-EMF's peak reaches a voltage (touch limit, controller rating): [`BACK_EMF_SPEED`].
    pub fn back_emf_speed(&self, peak: Voltage) -> RotorSpeed {
        RotorSpeed::radians_per_second(peak.as_volts() / (3f64.sqrt() * self.lambda_wb * self.pole_pairs))
    }

    /// Highest rotor speed at which a signed current (positive drives) can be held without field weakening on a bus
    /// voltage: [`VOLTAGE_LIMIT_SPEED`]. `None` if the bus cannot even push the current at rest.
    pub fn voltage_limit_speed(&self, current: PhaseCurrent, bus: Voltage) -> Option<RotorSpeed> {
        let i_a = current.as_amperes();
        let (li, ri, flux_wb) = (self.l_h * i_a, self.r_ohm * i_a, self.flux_wb(i_a));
        let room = bus.as_volts() * bus.as_volts() / 3.0 - ri * ri;
        let square = li * li + flux_wb * flux_wb;
        let half = flux_wb * ri;
        let root = half * half + square * room;
        let omega = (root.max(0.0).sqrt() - half) / square;
        (root >= 0.0 && omega >= 0.0).then(|| RotorSpeed::radians_per_second(omega / self.pole_pairs))
    }

    /// Field-weakening current (zero or negative along the magnet) that a signed torque current needs: [`FIELD_WEAKENING`].
    /// `None` if no such current holds it.
    pub fn field_weakening(
        &self,
        torque_current: PhaseCurrent,
        speed: RotorSpeed,
        bus: Voltage,
    ) -> Option<PhaseCurrent> {
        let q_a = torque_current.as_amperes();
        let speed = self.electrical_speed(speed);
        let x_ohm = speed.as_radians_per_second() * self.l_h;
        let emf_v = self.emf_v(q_a, speed);
        let across_v = self.r_ohm * q_a + emf_v;
        let excess = x_ohm * x_ohm * q_a * q_a + across_v * across_v - bus.as_volts() * bus.as_volts() / 3.0;
        if excess <= 0.0 {
            return Some(PhaseCurrent::ZERO);
        }
        let z2 = self.r_ohm * self.r_ohm + x_ohm * x_ohm;
        let root = x_ohm * emf_v * x_ohm * emf_v - z2 * excess;
        (root >= 0.0).then(|| PhaseCurrent::amperes((root.sqrt() - x_ohm * emf_v) / z2))
    }
}

/// Peak of the voltage between two wires: [`LINE_PEAK`].
pub fn line_peak(voltage: Dq<Voltage>) -> Voltage {
    let (d_v, q_v) = (voltage.d.as_volts(), voltage.q.as_volts());
    Voltage::volts(3f64.sqrt() * (d_v * d_v + q_v * q_v).sqrt())
}

/// Electrical power into the motor's wires, sine: `1.5·(v_d·i_d + v_q·i_q)`; negative when it gives power.
pub fn terminal_power(voltage: Dq<Voltage>, current: Dq<PhaseCurrent>) -> Power {
    let d_w = voltage.d.as_volts() * current.d.as_amperes();
    Power::watts(1.5 * (d_w + voltage.q.as_volts() * current.q.as_amperes()))
}
