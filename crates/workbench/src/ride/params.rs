//! What is constant over a ride: bike, rider and air worked out beforehand, a number for each lane.

use super::bike::{Bike, Command, Rider, Weather};
use super::lanes::by_lane;
use crate::link::COLD_MAGNET;

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;
/// Power at the pedals that reaches the wheel (Martin et al. 1998).
const CHAIN: f64 = 0.976;

/// What is the same for all rides that go side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Kind {
    pub locked: bool,
    pub command: Command,
    pub eases_off: bool,
}

impl Kind {
    pub(super) const fn of(bike: &Bike) -> Self {
        Self { locked: bike.locked, command: bike.command, eases_off: bike.ease_off.is_some() }
    }
}

by_lane! {
    /// Constants of a ride.
    pub(super) struct Params {
        pub moving_kg: L,
        pub per_kg: L,
        pub weight_n: L,
        pub rolling: L,
        pub air_kg_m: L,
        pub head_wind_m_s: L,
        pub air_c: L,
        pub start_pack_c: L,
        pub start_charge: L,
        // Motor.
        pub rotor_per_m: L,
        pub drive_nm_per_n: L,
        pub brake_nm_per_n: L,
        pub geared_per_m: L,
        pub per_geared_m: L,
        pub gears: L,
        pub per_gears2: L,
        pub carried: L,
        pub drag_nm: L,
        pub drag_nms: L,
        pub pole_pairs: L,
        pub own_per_wb: L,
        pub torque_per_wb: L,
        pub flux_wb: L,
        pub magnet_per_k: L,
        pub droop_per_a: L,
        pub phase_ohm: L,
        pub phase_h: L,
        pub copper_factor: L,
        pub per_winding: L,
        pub per_shell: L,
        pub per_between: L,
        // Controller.
        pub switch_ohm: L,
        pub switching: L,
        pub standby_w: L,
        pub diode_v: L,
        pub drive_a: L,
        pub cutback_v: L,
        pub ramp_a_s: L,
        pub brake_a: L,
        pub fade_gone_m_s: L,
        pub fade_per_m_s: L,
        pub charge_a: L,
        pub ease_full_a: L,
        pub ease_gone_v: L,
        pub ease_span_v: L,
        pub hold_fastest_m_s: L,
        // Pack.
        pub per_capacity: L,
        pub per_knee: L,
        pub per_pack: L,
        pub pack_air_w_k: L,
        pub cutout_v: L,
        pub electronics_a: L,
        // Rider.
        pub legs_w: L,
        pub slow_legs_m_s: L,
        pub per_slow_legs: L,
        pub fast_legs_m_s: L,
        pub per_fast_legs: L,
        pub push_n: L,
        pub assist: L,
        pub assist_until_m_s: L,
        pub speeding_m_s2: L,
        pub slowing_m_s2: L,
        pub firmness_per_s: L,
        pub reaction_s: L,
        pub hands_most_n: L,
        /// Grip of the driven tyre, and of both, over the weight square to the road.
        pub tyre_grip: L,
        pub grip: L,
        // What the account asks.
        /// What one driven wheel has of all motor current.
        pub per_hub: L,
        /// Amplitude of the cold motor's own volts between two wires, for each rad/s of the rotor.
        pub cold_v_per_om: L,
        /// Flux of the cold magnet over that at 20 °C.
        pub cold_flux: L,
        /// Square of the supply's volts that each watt adds until the controller stops.
        pub trip_v2_per_w: L,
        /// The same that each square ampere in the winding adds.
        pub winding_v2_per_a2: L,
        pub axle_per_n: L,
        pub winding_limit_c: L,
        pub gear_limit_c: L,
    }
}

impl Params {
    pub(super) fn new(b: &Bike, r: &Rider, w: &Weather) -> Self {
        // Alike motors on one battery are one with that many times the current, all else in proportion.
        let n = b.hubs;
        let radius_m = b.wheel_radius_m;
        let rotor_per_m = b.reduction / radius_m;
        let rotor_kg = if b.locked { n * b.rotor_kg_m2 * rotor_per_m * rotor_per_m } else { 0.0 };
        let moving_kg = b.mass_kg + b.wheels_kg + rotor_kg;
        let (slow_legs_m_s, fast_legs_m_s) =
            (r.low_gear_m * r.cadence_rpm / 60.0, r.high_gear_m * r.cadence_rpm / 60.0);
        // Below the drag the gears carry it forward, above it the motor does.
        let gears2 = b.gears * b.gears;
        let cold_flux = 1.0 + b.magnet_per_k * (COLD_MAGNET.as_celsius() - 20.0);
        let ease = b.ease_off.unwrap_or(super::bike::EaseOff { from_v: 0.0, gone_v: 1.0, full_a: 0.0 });
        Self {
            moving_kg,
            per_kg: 1.0 / moving_kg,
            weight_n: b.mass_kg * GRAVITY,
            rolling: b.rolling,
            air_kg_m: 0.5 * w.density_kg_m3 * b.drag_area_m2,
            head_wind_m_s: w.head_wind_m_s,
            air_c: w.air_c,
            start_pack_c: w.pack_c,
            start_charge: b.start_charge,
            rotor_per_m,
            drive_nm_per_n: 1.0 / (rotor_per_m * b.gears),
            brake_nm_per_n: b.gears / rotor_per_m,
            geared_per_m: rotor_per_m / b.gears,
            per_geared_m: b.gears / rotor_per_m,
            gears: b.gears,
            per_gears2: 1.0 / gears2,
            carried: if b.locked { gears2 - 1.0 } else { gears2 },
            drag_nm: n * b.drag_nm,
            drag_nms: n * b.drag_nms,
            pole_pairs: b.pole_pairs,
            own_per_wb: 3f64.sqrt() * b.pole_pairs,
            torque_per_wb: b.torque_factor * b.pole_pairs,
            flux_wb: b.flux_wb,
            magnet_per_k: b.magnet_per_k,
            droop_per_a: b.droop_per_a / n,
            phase_ohm: b.phase_ohm / n,
            phase_h: b.phase_h / n,
            copper_factor: b.copper_factor,
            per_winding: 1.0 / (n * b.winding_j_k),
            per_shell: 1.0 / (n * b.shell_j_k),
            per_between: n / b.winding_to_shell_k_w,
            switch_ohm: b.switch_ohm / n,
            switching: b.switching,
            standby_w: n * b.standby_w,
            diode_v: b.diode_v,
            drive_a: n * b.drive_a,
            cutback_v: b.cutback_v,
            ramp_a_s: n * b.brake_a / b.ramp_s,
            brake_a: n * b.brake_a,
            fade_gone_m_s: b.fade_gone_m_s,
            fade_per_m_s: 1.0 / (b.fade_from_m_s - b.fade_gone_m_s).max(1e-3),
            charge_a: b.charge_a,
            ease_full_a: ease.full_a,
            ease_gone_v: ease.gone_v,
            ease_span_v: ease.gone_v - ease.from_v,
            hold_fastest_m_s: b.hold_fastest_m_s,
            per_capacity: 1.0 / b.pack.capacity_as,
            per_knee: 1.0 / b.pack.knee_a,
            per_pack: 1.0 / b.pack.heat_j_k,
            pack_air_w_k: b.pack.air_w_k,
            cutout_v: b.cutout_v,
            electronics_a: b.electronics_a,
            legs_w: CHAIN * r.power_w,
            slow_legs_m_s,
            per_slow_legs: 1.0 / slow_legs_m_s,
            fast_legs_m_s,
            per_fast_legs: 1.0 / fast_legs_m_s,
            push_n: r.push_n,
            assist: r.assist,
            assist_until_m_s: r.assist_until_m_s,
            speeding_m_s2: r.speeding_m_s2,
            slowing_m_s2: r.slowing_m_s2,
            firmness_per_s: r.firmness_per_s,
            reaction_s: r.reaction_s,
            hands_most_n: b.hands_m_s2 * b.mass_kg,
            tyre_grip: if n > 1.0 { b.stance.grip_of_both(w.grip) } else { b.stance.grip(w.grip) },
            grip: w.grip,
            cold_v_per_om: 3f64.sqrt() * b.pole_pairs * b.flux_wb * cold_flux,
            cold_flux,
            trip_v2_per_w: 2.0 * b.trip_s / b.capacitance_f,
            // The copper's factor again: a sine stores ¾·L·î², a flat top through two wires L·î².
            winding_v2_per_a2: b.copper_factor * b.phase_h * b.beyond * b.beyond / b.capacitance_f,
            per_hub: 1.0 / n,
            axle_per_n: radius_m * b.beyond / n,
            winding_limit_c: b.winding_limit_c,
            gear_limit_c: b.gear_limit_c,
        }
    }
}
