//! The questions in the order of the walk round the bike: 44 groups at nine stops, and the quick path of twelve.

use crate::bike::Bike;
use workbench::fact::{self, FactId};

/// One question card.
pub struct Group {
    /// Its number on the walk.
    pub n: u8,
    /// Stop: A to I.
    pub stop: char,
    /// Part of the quick path.
    pub quick: bool,
    /// Measuring cards that help.
    pub cards: &'static [&'static str],
    /// Facts asked first; `arm.*` means each torque arm.
    pub facts: &'static [&'static str],
    /// Facts for those who know them; a first answer does without.
    pub more: &'static [&'static str],
}

macro_rules! walk {
    ($( $n:literal $stop:literal $quick:literal [$($card:literal)*] [$($fact:literal)*] [$($more:literal)*] ; )+) => {
        /// All of them.
        pub const WALK: &[Group] = &[ $( Group {
            n: $n, stop: $stop, quick: $quick, cards: &[$($card),*], facts: &[$($fact),*], more: &[$($more),*],
        } ),+ ];
    };
}

walk! {
    1 'A' false [] [] [];
    2 'A' true ["m2" "m1" "m3" "m4"] ["bike.lightest" "bike.usual" "bike.heaviest" "bike.child_or_passenger"]
        ["bike.wheelbase" "bike.centre_ahead" "bike.centre_ahead_lightest" "bike.centre_height"];
    3 'A' true ["m38"] ["bike.steepest_descent" "bike.descent_height" "bike.downhill_speed" "bike.downhill_speed_kept_by"] [];
    4 'A' false ["m35"] ["battery.coldest" "motor.hottest_air"] [];
    5 'A' false [] ["bike.vehicle_class" "bike.owner_consent"] [];
    6 'A' false [] ["bike.wheel_taken_out_often" "bike.hitch_or_stand_under_nut"] [];
    7 'B' false [] [] [];
    8 'B' true ["m26" "m27" "m28"] ["controller.hardware_current" "settings.drive_current" "motor.currents_are" "controller.can_brake"]
        ["motor.torque_point" "motor.torque_point_current" "motor.torque_point_2" "motor.torque_point_2_current"
         "motor.torque_point_3" "motor.torque_point_3_current" "motor.flux_droop" "motor.commutation" "controller.overshoot"
         "controller.current_tolerance" "controller.ramp" "controller.field_weakening"
         "controller.standby" "controller.switch_resistance" "controller.switching_loss"];
    9 'B' true ["m34"] ["battery.chemistry" "battery.cells_parallel" "battery.cell_capacity" "battery.condition"]
        ["battery.cell_charge_current" "battery.cool_charge_share" "battery.electronics_charge_limit"
         "battery.cell_full_voltage" "battery.cell_cutout_voltage" "battery.cell_cutback_voltage" "battery.imbalance"];
    10 'B' true ["m31"] ["battery.cells_series"] [];
    11 'B' false ["m30" "m29"] ["controller.voltage_rating" "controller.capacitance"] ["controller.trip_time"];
    12 'B' false [] [] [];
    13 'C' true [] ["motor.position" "motor.drive" "bike.coaster_brake_in_hub"]
        ["motor.rotor_inertia" "motor.winding_heat_capacity" "motor.shell_heat_capacity" "motor.winding_to_shell"
         "motor.shell_to_air" "motor.winding_limit" "motor.gear_limit" "motor.cover_screws"
         "motor.cover_screw_circle_radius" "motor.cover_screw_clamp" "motor.cover_friction"];
    14 'C' false ["m18" "m19"] ["motor.clutch" "motor.clutch_member" "motor.lock" "motor.lock_count" "motor.lock_tack_length"
         "motor.lock_leg" "motor.lock_radius" "motor.lock_pin_diameter" "motor.reduction" "motor.pole_pairs" "motor.gear_teeth"]
        ["motor.lock_shear_strength" "motor.sun_teeth" "motor.planet_teeth" "motor.planets" "motor.gear_module" "motor.gear_width" "motor.gear_strength"
         "motor.gear_play" "motor.gear_stiffness" "motor.gear_efficiency"];
    15 'C' true ["m5"] ["bike.wheel_radius"] [];
    16 'C' false ["m7"] ["bike.spokes" "bike.spoke_crosses"] ["bike.flange_radius" "bike.rim_radius" "bike.spoke_tension"];
    17 'C' false [] ["bike.grip_wet"] ["bike.wheel_inertia"];
    18 'C' false ["m41"] [] [];
    19 'C' false [] [] [];
    20 'C' false ["m40"] ["bike.front_brake_alone" "bike.rear_brake_alone"] [];
    21 'D' false [] [] [];
    22 'D' true ["m6"] ["axle.kind" "axle.diameter" "axle.pitch"] ["axle.left.thread_friction" "axle.left.nut_face_friction"];
    23 'D' true ["m7"] ["axle.across_flats"] [];
    24 'D' true ["m7" "m43"] ["axle.left.dropout_thickness" "axle.left.faces"] ["axle.left.face_friction" "axle.left.settling"];
    25 'D' true ["m7" "m8"] ["axle.left.slot_width"] ["axle.left.prong_height" "axle.left.prong_length"];
    26 'D' false ["m7"] ["axle.left.face_inner_diameter" "axle.left.face_outer_diameter" "axle.left.washer_sits_flat" "axle.left.recess_diameter"
         "axle.left.washer_keyed_to_flats"] [];
    27 'D' true ["m11" "m10"] ["axle.left.free_thread" "axle.left.nut_height"] ["axle.left.nut_face_diameter" "axle.left.nut_strength"];
    28 'D' true ["m7" "m15"] ["arm.*.side" "arm.*.kind" "arm.*.thickness" "arm.*.slot_width" "arm.*.length" "arm.*.pinch_bolts"
         "arm.*.pinch_bolt_diameter" "arm.*.pinch_bolt_grade" "arm.*.pinch_bolt_torque" "arm.*.anchor_diameter"
         "arm.*.anchor_kind" "arm.*.tube_diameter" "arm.*.tube_wall" "arm.*.band_width"
         "arm.*.anchor_grade" "arm.*.anchor_torque" "arm.*.bolt_thread_state"]
        ["arm.*.yield_strength" "arm.*.bearing_strength" "arm.*.stiffness" "arm.*.pinch_bolt_friction" "arm.*.pinch_bolt_spacing" "arm.*.pinch_cut"
         "arm.*.pinch_bolt_lever" "arm.*.pinch_flat_lever" "arm.*.pinch_closing_moment" "arm.*.pinch_offset"
         "arm.*.anchor_thread_friction" "arm.*.anchor_face_friction" "arm.*.anchor_faces" "arm.*.anchor_settling_share"];
    29 'D' false ["m17"] ["arm.*.clearance"] [];
    30 'D' false ["m9"] ["axle.left.nut_torque" "axle.left.thread_state"] [];
    31 'E' false ["m7" "m11" "m43"] ["axle.right.dropout_thickness" "axle.right.faces" "axle.right.slot_width" "axle.right.face_inner_diameter"
         "axle.right.face_outer_diameter" "axle.right.washer_sits_flat" "axle.right.recess_diameter" "axle.right.washer_keyed_to_flats" "axle.right.free_thread" "axle.right.nut_height"]
        ["axle.right.prong_height" "axle.right.prong_length" "axle.right.face_friction" "axle.right.settling" "axle.right.nut_face_diameter" "axle.right.nut_strength"
         "axle.right.thread_friction" "axle.right.nut_face_friction"];
    32 'E' false ["m7"] ["axle.left.bore" "axle.right.bore" "axle.cable_exit" "axle.cable_slot_instead_of_bore"] [];
    33 'E' false ["m17"] [] [];
    34 'E' false ["m9"] ["axle.right.nut_torque" "axle.right.thread_state"] [];
    35 'E' false ["m14" "m12"] ["axle.yield_strength" "axle.hold_test"] [];
    36 'F' true ["m13"] ["bike.frame_material" "axle.left.dropout_material" "axle.right.dropout_material"]
        ["axle.left.dropout_yield" "axle.left.dropout_bearing_strength" "axle.right.dropout_yield" "axle.right.dropout_bearing_strength"];
    37 'F' false ["m16"] [] [];
    38 'G' true ["m33"] ["battery.charging_through_discharge_plug"] [];
    39 'G' false ["m32"] ["battery.resistance" "settings.charge_to" "settings.charge_to_kept_by"] [];
    40 'G' false ["m37"] ["battery.plug_rating"] [];
    41 'H' false ["m36"] [] [];
    42 'H' false [] ["settings.brake_command" "settings.brake_current" "settings.brake_current_kept_by" "settings.drive_current_kept_by" "settings.charge_limit" "settings.charge_limit_kept_by"
         "settings.fade_from" "settings.fade_gone" "settings.hold_fastest"] [];
    43 'H' false [] [] [];
    44 'I' false ["m20" "m21" "m22" "m24" "m25" "m39" "m23"] ["motor.resistance_between_wires" "motor.volts_per_wheel_speed"
         "motor.flux_linkage" "motor.drag_constant" "motor.drag_per_speed" "motor.inductance" "bike.rolling_resistance" "bike.drag_area"] [];
}

/// What the right end asks that the left end has answered, for "as left".
pub const AS_LEFT: [&str; 17] = [
    "dropout_thickness",
    "faces",
    "slot_width",
    "face_inner_diameter",
    "face_outer_diameter",
    "washer_keyed_to_flats",
    "washer_sits_flat",
    "recess_diameter",
    "prong_height",
    "prong_length",
    "free_thread",
    "nut_height",
    "nut_face_diameter",
    "nut_strength",
    "thread_friction",
    "nut_face_friction",
    "dropout_material",
];

/// One question of the quick path. Facts joined by `+` get the same answer; `arms.left` sets up a torque arm.
pub struct Quick {
    /// Words key below `page.quick.`.
    pub key: &'static str,
    /// What it sets.
    pub facts: &'static [&'static str],
    /// Whether tools are offered.
    pub tool: bool,
}

const fn ask(key: &'static str, facts: &'static [&'static str], tool: bool) -> Quick {
    Quick { key, facts, tool }
}

/// The twelve questions; the first one, the kind of hub, was answered when the bike was put on the stand.
pub const QUICK: [Quick; 11] = [
    ask("magnet", &["bike.frame_material+axle.left.dropout_material+axle.right.dropout_material"], false),
    ask("axle", &["axle.diameter", "axle.across_flats"], true),
    ask(
        "dropout",
        &["axle.left.dropout_thickness+axle.right.dropout_thickness", "axle.left.slot_width+axle.right.slot_width"],
        true,
    ),
    ask("faces", &["axle.left.faces+axle.right.faces"], false),
    ask("nuts", &["axle.left.nut_torque+axle.right.nut_torque"], true),
    ask("arms", &["arms.left", "arms.right"], false),
    ask("thread", &["axle.left.free_thread+axle.right.free_thread"], true),
    ask("current", &["controller.hardware_current+settings.drive_current"], false),
    ask(
        "battery",
        &["battery.cells_series", "controller.voltage_rating", "battery.charging_through_discharge_plug"],
        false,
    ),
    ask("weight", &["bike.wheel_radius", "bike.lightest", "bike.heaviest"], true),
    ask("hill", &["bike.steepest_descent", "bike.downhill_speed"], false),
];

/// A group by its number.
pub fn group(n: u8) -> Option<&'static Group> {
    WALK.iter().find(|g| g.n == n)
}

/// `arm.*.kind` of three arms is three facts.
pub fn expand(pattern: &str, arms: usize) -> Vec<FactId> {
    match pattern.strip_prefix("arm.*.") {
        Some(rest) => (1..=arms).filter_map(|i| fact::find(&format!("arm.{i}.{rest}"), arms)).collect(),
        None => fact::find(pattern, arms).into_iter().collect(),
    }
}

/// The group that asks for a fact.
pub fn group_of(id: FactId) -> Option<&'static Group> {
    let name = fact::describe(id).1;
    let pattern = match name.strip_prefix("arm.").and_then(|rest| rest.split_once('.')) {
        Some((_, rest)) => format!("arm.*.{rest}"),
        None => name,
    };
    WALK.iter().find(|g| g.facts.iter().chain(g.more).any(|f| *f == pattern))
}

/// Where a fact is asked for.
pub fn address(bike: &Bike, id: FactId) -> String {
    match group_of(id) {
        Some(g) => bike.at(&format!("measure/{}#{}", g.n, fact::describe(id).1)),
        None => bike.at("measure"),
    }
}

#[cfg(test)]
mod tests {
    use super::{QUICK, WALK, expand, group_of};
    use workbench::fact;

    #[test]
    fn every_fact_is_asked_for_at_one_place() {
        let mut asked: Vec<String> = Vec::new();
        for g in WALK {
            for pattern in g.facts.iter().chain(g.more) {
                let ids = expand(pattern, 2);
                assert!(!ids.is_empty(), "{pattern} of group {} is no fact", g.n);
                asked.extend(ids.into_iter().map(|id| fact::describe(id).1));
            }
        }
        for i in 0..fact::count(2) as u16 {
            let id = fact::nth(i).expect("a fact");
            let name = fact::describe(id).1;
            assert_eq!(asked.iter().filter(|a| **a == name).count(), 1, "{name}");
            assert!(group_of(id).is_some(), "{name}");
        }
    }

    #[test]
    fn the_walk_has_its_44_groups_and_nine_stops() {
        assert_eq!(WALK.iter().map(|g| g.n).collect::<Vec<_>>(), (1..=44).collect::<Vec<u8>>());
        let mut stops: Vec<char> = WALK.iter().map(|g| g.stop).collect();
        stops.dedup();
        assert_eq!(stops, ('A'..='I').collect::<Vec<_>>());
    }

    #[test]
    fn the_quick_path_asks_only_for_facts() {
        for q in QUICK {
            for joined in q.facts {
                for name in joined.split('+') {
                    assert!(name.starts_with("arms.") || fact::find(name, 0).is_some(), "{name}");
                }
            }
        }
    }
}
