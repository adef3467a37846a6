//! A spinning motor behind six ideal diodes, in the time domain.
//!
//! Implicit Euler steps: in each one the three currents are those that minimise a convex energy under "the sum is
//! zero", which settles by itself which diodes conduct. No fundamental-wave theory and no overlap angles, so that it
//! shares nothing with the closed formulas that it checks.

use std::f64::consts::TAU;

/// The motor seen from its three wires, turning at a fixed speed.
#[derive(Clone, Copy, Debug)]
pub struct Machine {
    /// Electrical angular speed in rad/s.
    pub omega_e_rad_s: f64,
    /// Flux linkage of one phase in Wb, amplitude.
    pub flux_wb: f64,
    /// Resistance of one phase in Ω.
    pub resistance_ohm: f64,
    /// Inductance of one phase in H.
    pub inductance_h: f64,
}

impl Machine {
    /// EMF of the three phases in V at an electrical angle.
    pub fn emf_v(&self, angle_rad: f64) -> [f64; 3] {
        [0.0, 1.0, 2.0].map(|k| self.omega_e_rad_s * self.flux_wb * (angle_rad - k * TAU / 3.0).sin())
    }

    /// Currents out of the machine in A after a step of `h_s`, with the bus at `bus_v`.
    pub fn step(&self, current_a: [f64; 3], emf_v: [f64; 3], bus_v: f64, h_s: f64) -> [f64; 3] {
        let inertia = self.inductance_h / h_s;
        let push_v: [f64; 3] = std::array::from_fn(|k| inertia * current_a[k] + emf_v[k]);
        // Given the star point's voltage, each phase drives its upper diode, its lower diode or neither.
        let flow = |star_v: f64| {
            push_v.map(|push| {
                let terminal_v = push + star_v;
                (if terminal_v > bus_v { terminal_v - bus_v } else { terminal_v.min(0.0) })
                    / (inertia + self.resistance_ohm)
            })
        };
        // The sum of the currents rises piecewise linearly with the star point's voltage, with corners where a diode
        // begins to conduct: walk along the corners to the piece with the zero and interpolate on it.
        let mut corners: Vec<f64> = push_v.iter().flat_map(|push| [-push, bus_v - push]).collect();
        corners.sort_by(f64::total_cmp);
        let sum = |star_v: f64| flow(star_v).iter().sum::<f64>();
        let above = corners.iter().position(|&corner| sum(corner) >= 0.0).expect("the last corner pushes all outwards");
        if above == 0 || sum(corners[above]) == 0.0 {
            return flow(corners[above]);
        }
        let (low, high) = (corners[above - 1], corners[above]);
        let (at_low, at_high) = (sum(low), sum(high));
        flow(low + (high - low) * at_low / (at_low - at_high))
    }
}

/// What the diodes feed.
#[derive(Clone, Copy, Debug)]
pub struct Pack {
    /// Open-circuit volts.
    pub open_v: f64,
    /// Resistance of pack, wire and plug in Ω.
    pub resistance_ohm: f64,
    /// Capacitors at the controller's input in F.
    pub capacitance_f: f64,
}

/// What flows once it repeats.
#[derive(Clone, Copy, Debug)]
pub struct Rectified {
    /// Mean current into the bus in A.
    pub bus_a: f64,
    /// Mean mechanical power taken from the shaft in W.
    pub shaft_w: f64,
    /// Mean copper loss in W.
    pub copper_w: f64,
    /// Mean current along the magnet in A; negative weakens it.
    pub along_magnet_a: f64,
}

/// Means over one electrical period with `steps` steps on a stiff bus, after six time constants of the winding (at least
/// five periods).
pub fn rectify(machine: &Machine, bus_v: f64, steps: u32) -> Rectified {
    settled(machine, bus_v, steps, |_, _| bus_v)
}

/// The same into a pack with resistance behind the controller's capacitors.
pub fn rectify_into(machine: &Machine, pack: &Pack, steps: u32) -> Rectified {
    settled(machine, pack.open_v, steps, |bus_v, fed_as| {
        // The capacitor leaks into the pack through its resistance, exactly over a step; then it takes the charge.
        let h_s = TAU / machine.omega_e_rad_s / f64::from(steps);
        let left = (-h_s / (pack.resistance_ohm * pack.capacitance_f)).exp();
        pack.open_v + (bus_v - pack.open_v) * left + fed_as / pack.capacitance_f
    })
}

/// `next` gives the bus voltage in V after a step from that before and the charge in A·s fed in it.
fn settled(machine: &Machine, start_v: f64, steps: u32, next: impl Fn(f64, f64) -> f64) -> Rectified {
    let constants_a_period = TAU * machine.resistance_ohm / (machine.omega_e_rad_s * machine.inductance_h);
    let settle = (1..).find(|n| *n >= 5 && f64::from(*n) * constants_a_period >= 6.0).unwrap_or(5);
    let h_s = TAU / machine.omega_e_rad_s / f64::from(steps);
    let (mut current_a, mut bus_v) = ([0.0; 3], start_v);
    let mut mean = Rectified { bus_a: 0.0, shaft_w: 0.0, copper_w: 0.0, along_magnet_a: 0.0 };
    for n in 1..=(settle + 1) * steps {
        let angle_rad = TAU * f64::from(n % steps) / f64::from(steps);
        let emf_v = machine.emf_v(angle_rad);
        current_a = machine.step(current_a, emf_v, bus_v, h_s);
        let fed_a = current_a.iter().map(|i| i.max(0.0)).sum::<f64>();
        bus_v = next(bus_v, fed_a * h_s);
        if n > settle * steps {
            let share = 1.0 / f64::from(steps);
            mean.bus_a += share * fed_a;
            mean.shaft_w += share * (0..3).map(|k| emf_v[k] * current_a[k]).sum::<f64>();
            // The EMF is a quarter turn ahead of the flux, and what flows out of the machine is minus what flows in.
            let flux = [0.0, 1.0, 2.0].map(|k| -(angle_rad - k * TAU / 3.0).cos());
            mean.along_magnet_a -= share * 2.0 / 3.0 * (0..3).map(|k| flux[k] * current_a[k]).sum::<f64>();
            mean.copper_w += share * machine.resistance_ohm * current_a.iter().map(|i| i * i).sum::<f64>();
        }
    }
    mean
}

#[cfg(test)]
mod tests {
    use super::*;

    const HUB: Machine = Machine { omega_e_rad_s: 1713.2, flux_wb: 0.0276, resistance_ohm: 0.045, inductance_h: 1e-4 };

    #[test]
    fn energy_balance_closes() {
        let out = rectify(&HUB, 54.6, 20_000);
        let used_w = out.bus_a * 54.6 + out.copper_w;
        assert!((out.shaft_w / used_w - 1.0).abs() < 1e-3, "{out:?}");
    }

    #[test]
    fn nothing_flows_below_the_onset() {
        let slow = Machine { omega_e_rad_s: 0.999 * 54.6 / (3f64.sqrt() * 0.0276), ..HUB };
        assert_eq!(rectify(&slow, 54.6, 2_000).bus_a, 0.0);
    }

    #[test]
    fn what_is_fed_arrives_behind_the_resistance() {
        // No less than behind a stiff bus at the volts that the pack then shows, and the energy closes there too.
        let pack = Pack { open_v: 54.6, resistance_ohm: 0.1, capacitance_f: 1e-3 };
        let out = rectify_into(&HUB, &pack, 20_000);
        let stiff = rectify(&HUB, 54.6 + 0.1 * out.bus_a, 20_000);
        assert!((out.bus_a / stiff.bus_a - 1.0).abs() < 0.01, "{out:?}, stiff {stiff:?}");
    }

    #[test]
    fn half_the_step_changes_nothing_that_matters() {
        let (coarse, fine) = (rectify(&HUB, 54.6, 10_000), rectify(&HUB, 54.6, 20_000));
        assert!((coarse.bus_a / fine.bus_a - 1.0).abs() < 1e-3);
    }
}
