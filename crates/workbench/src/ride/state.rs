//! Where a ride stands, what one step of it was, and why a step could not be taken.

use super::lanes::by_lane;
use super::tally::Limit;

by_lane! {
    /// Where the ride stands.
    pub struct State {
        /// Time, s.
        pub t_s: L,
        /// Way along the road, m.
        pub x_m: L,
        /// Speed, m/s.
        pub v_m_s: L,
        /// Charge, 0 to 1.
        pub charge: L,
        /// Volts of the quick pair, discharging positive.
        pub quick_v: L,
        /// Volts of the slow pair.
        pub slow_v: L,
        /// Winding, °C.
        pub winding_c: L,
        /// Stator, magnets and shell, °C.
        pub shell_c: L,
        /// Pack, °C.
        pub pack_c: L,
        /// Acceleration of the last step, m/s².
        pub a_m_s2: L,
        /// Battery current of the last step, discharging positive, A.
        pub battery_a: L,
        /// Battery current that the electrodes feel, A.
        pub(super) felt_a: L,
        /// Braking current at the end of the last step, from which it rises, A.
        pub(super) ramp_a: L,
        /// Limited braking current of the last step, where the next search begins, A.
        pub(super) limited_a: L,
        /// How long a charge has been going on that the electronics do not allow, s.
        pub(super) over_s: L,
        /// Electronics are open for charging until, s.
        pub open_until_s: L,
        /// Hands do not brake until, s.
        pub hands_from_s: L,
        /// How far the charge was beyond what the electronics allow in the last step; not-a-number after a switch.
        pub(super) beyond: L,
        /// Something switches at this time: the step before it ends there, s.
        pub(super) switches_s: L,
    }
}

by_lane! {
    /// What one step was; for pictures and series.
    pub struct Taken {
        /// Length, s.
        pub h_s: L,
        /// Sine of the slope.
        pub slope: L,
        /// Force of the motor at the tyre, driving positive, N.
        pub motor_n: L,
        /// Force of the hand brakes, N.
        pub hands_n: L,
        /// Braking that is wanted and that nobody does, N.
        pub nobody_n: L,
        /// Force of the rider's legs at the tyre, N.
        pub legs_n: L,
        /// Motor current, A.
        pub phase_a: L,
        /// Battery current, discharging positive, A.
        pub battery_a: L,
        /// Supply volts.
        pub bus_v: L,
        /// The motor's own volts between two wires.
        pub own_v: L,
        /// Torque at the axle with what overshoots, driving positive, N·m.
        pub(super) axle_nm: L,
        /// Number of the limit.
        pub(super) limit: L,
        /// One where the pack's electronics opened in this step.
        pub(super) opened: L,
        /// Number of the reason why the step could not be taken, else nothing.
        pub(super) stuck: L,
    }
}

impl Taken {
    /// What keeps the motor from doing what is wanted.
    pub const fn limit(&self) -> Limit {
        Limit::ALL[self.limit as usize]
    }
    /// Whether the pack's electronics opened in this step.
    pub const fn opened(&self) -> bool {
        self.opened > 0.0
    }
    pub(super) fn stuck(&self) -> Option<Stuck> {
        [Stuck::TooFastForBridge, Stuck::PackPower].into_iter().find(|s| s.code() == self.stuck)
    }
}

/// Why a step could not be taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stuck {
    /// More than twice the speed at which the bridge takes over: no formula reaches there.
    TooFastForBridge,
    /// The pack cannot give this power.
    PackPower,
}

impl Stuck {
    pub(super) const fn code(self) -> f64 {
        match self {
            Self::TooFastForBridge => 1.0,
            Self::PackPower => 2.0,
        }
    }
}
