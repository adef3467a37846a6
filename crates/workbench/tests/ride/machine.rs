//! The example machine (N 5, p 8, λ 27.6 mWb, R 45 mΩ, L 0.1 mH) on a bike without habits of its own.

use quantity::*;
use workbench::ride::bike::{Bike, Command, Rider, Stance, Weather};
use workbench::ride::course::{Course, Point, Wishes};
use workbench::ride::pack::PackTables;

pub fn hub5() -> Bike {
    Bike {
        mass_kg: 120.0,
        hubs: 1.0,
        wheels_kg: 0.0,
        rolling: 0.01,
        drag_area_m2: 0.6,
        wheel_radius_m: 0.34,
        reduction: 5.0,
        pole_pairs: 8.0,
        flux_wb: 0.0276,
        droop_per_a: 0.0,
        magnet_per_k: 0.0,
        phase_ohm: 0.045,
        phase_h: 1e-4,
        drag_nm: 0.12,
        drag_nms: 0.9e-3,
        gears: 0.95,
        torque_factor: 1.5,
        copper_factor: 1.5,
        rotor_kg_m2: 1.4e-3,
        locked: true,
        winding_j_k: 350.0,
        shell_j_k: 2200.0,
        winding_to_shell_k_w: 0.25,
        shell_to_air_w_k: 5.5,
        winding_limit_c: 120.0,
        gear_limit_c: 90.0,
        switch_ohm: 0.0,
        switching: 0.0,
        standby_w: 0.0,
        diode_v: 0.0,
        ramp_s: 0.0,
        cutback_v: 0.0,
        stance: Stance { front: false, wheelbase_m: 1.1, ahead_m: 0.45, height_m: 1.1 },
        drive_a: 70.0,
        brake_a: 70.0,
        fade_from_m_s: 2.5,
        fade_gone_m_s: 0.3,
        charge_a: f64::INFINITY,
        ease_off: None,
        command: Command::Variable,
        hold_fastest_m_s: 20.0,
        pack: PackTables::stiff(54.6, 20.0 * 3600.0, 1e-6),
        cutout_v: 1e6,
        electronics_a: 1e3,
        hands_m_s2: 6.0,
        rating_v: 90.0,
        capacitance_f: 1e-3,
        trip_s: 5e-4,
        beyond: 1.0,
        axle_still_nm: 60.0,
        start_charge: 0.6,
    }
}

pub fn rider() -> Rider {
    Rider { slowing_m_s2: 5.0, ..Rider::EVERYDAY }
}

pub fn calm() -> Weather {
    Weather { air_c: 20.0, pack_c: 20.0, density_kg_m3: 1.2, head_wind_m_s: 0.0, grip: 100.0 }
}

/// Straight slope, run as fast as it likes.
pub fn slope(percent: f64, metres: f64, speed: Speed) -> Course {
    let rise = metres * percent / 100.0;
    let top = Point { at: Length::ZERO, height: Length::metres(1000.0), wish: None };
    let foot = Point { at: Length::metres(metres), height: Length::metres(1000.0 + rise), wish: None };
    let wishes = Wishes {
        cruise: Speed::metres_per_second(0.5),
        downhill: speed,
        slowing: Acceleration::metres_per_second_squared(1.0),
    };
    Course::new(&[top, foot], &[], &[], &wishes).unwrap()
}
