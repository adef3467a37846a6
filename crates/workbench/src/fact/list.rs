//! The list of all facts that a job can hold. One line a fact: key, meaning, identifier, allowed range in the unit
//! named, how doubt spreads, measuring card.
//!
//! A side fact exists for the left and the right axle end, an arm fact once for each torque arm.

use super::{ArmKey, FactDef, Key, Shape, SideKey, Spreads::*};
use quantity::*;

macro_rules! facts {
    ($list:ident, $index:ident, $key:ident: $( $name:ident : $ty:tt = $id:literal, $shape:expr, $doubt:expr, $card:literal; )+) => {
        #[allow(non_camel_case_types, clippy::upper_case_acronyms)]
        enum $index { $( $name ),+ }
        $(
            #[doc = concat!("`", $id, "`, measuring card `", $card, "`.")]
            pub const $name: $key<$ty> = $key::new($index::$name as u16);
        )+
        /// Definitions in the order of their keys.
        pub const $list: &[FactDef] = &[ $( FactDef { id: $id, shape: $shape, doubt: $doubt, card: $card } ),+ ];
    };
}

const fn q(unit: &'static str, low: f64, high: f64) -> Shape {
    Shape::Quantity { unit, low, high }
}
const fn n(low: f64, high: f64) -> Shape {
    Shape::Count { low, high }
}
const fn c(tokens: &'static [&'static str]) -> Shape {
    Shape::Choice(tokens)
}
/// Answer tokens of a yes/no fact; index 1 is yes.
pub const YES_NO: &[&str] = &["no", "yes"];
/// Bolt grades of the table `evidence/tables/bolt_grades.csv`, in its order.
pub const GRADES: &[&str] = &["4.6", "5.6", "8.8", "10.9", "12.9", "A2-70", "A4-80"];
/// What is in a thread while it is tightened; a locker lubricates until it has cured.
pub const THREAD_STATES: &[&str] = &["dry", "oiled", "wet-with-locker"];
/// Who keeps a limit.
pub const KEEPERS: &[&str] = &["controller", "battery", "rider", "nobody"];

facts! { COMMON, CommonIndex, Key:
    // bike and rider
    LIGHTEST: Mass = "bike.lightest", q("kg", 15.0, 400.0), Normal, "m2";
    USUAL: Mass = "bike.usual", q("kg", 15.0, 400.0), Normal, "m2";
    HEAVIEST: Mass = "bike.heaviest", q("kg", 15.0, 500.0), Normal, "m2";
    WHEELBASE: Length = "bike.wheelbase", q("m", 0.6, 3.0), Normal, "m7";
    CENTRE_AHEAD: Length = "bike.centre_ahead", q("m", 0.05, 1.5), Normal, "m3";
    CENTRE_AHEAD_LIGHTEST: Length = "bike.centre_ahead_lightest", q("m", 0.05, 1.5), Normal, "m3";
    CENTRE_HEIGHT: Length = "bike.centre_height", q("m", 0.2, 2.0), Normal, "m4";
    WHEEL_RADIUS: Length = "bike.wheel_radius", q("m", 0.1, 0.45), Normal, "m5";
    SPOKES: Ratio = "bike.spokes", n(0.0, 72.0), Normal, "look";
    SPOKE_CROSSES: Ratio = "bike.spoke_crosses", n(0.0, 4.0), Normal, "look";
    FLANGE_RADIUS: Length = "bike.flange_radius", q("mm", 20.0, 160.0), Normal, "m7";
    RIM_RADIUS: Length = "bike.rim_radius", q("mm", 120.0, 330.0), Normal, "m7";
    SPOKE_TENSION: Force = "bike.spoke_tension", q("N", 100.0, 2500.0), Normal, "look";
    ROLLING: Ratio = "bike.rolling_resistance", q("", 0.001, 0.05), LogNormal, "m39";
    DRAG_AREA: DragArea = "bike.drag_area", q("m²", 0.1, 2.0), LogNormal, "m39";
    WHEEL_INERTIA: Inertia = "bike.wheel_inertia", q("g·m²", 20.0, 800.0), LogNormal, "assume";
    GRIP_WET: Friction = "bike.grip_wet", q("", 0.05, 1.0), Normal, "assume";
    BRAKE_FRONT: Acceleration = "bike.front_brake_alone", q("m/s²", 0.0, 9.0), Normal, "m40";
    BRAKE_REAR: Acceleration = "bike.rear_brake_alone", q("m/s²", 0.0, 6.0), Normal, "m40";
    STEEPEST: Grade = "bike.steepest_descent", q("%", 0.0, 35.0), Normal, "m38";
    DESCENT_HEIGHT: Length = "bike.descent_height", q("m", 0.0, 3000.0), Normal, "m38";
    DOWNHILL_SPEED: Speed = "bike.downhill_speed", q("km/h", 3.0, 90.0), Normal, "ask";
    DOWNHILL_KEPT_BY: Ratio = "bike.downhill_speed_kept_by", c(KEEPERS), Exact, "ask";
    FRAME_MATERIAL: Ratio = "bike.frame_material", c(&["steel", "aluminium", "titanium", "carbon", "magnesium"]), Exact, "m13";
    VEHICLE_CLASS: Ratio = "bike.vehicle_class", c(&["pedal-assist-25", "pedal-assist-45", "other"]), Exact, "ask";
    PASSENGER: Ratio = "bike.child_or_passenger", c(YES_NO), Exact, "ask";
    OWNER_CONSENT: Ratio = "bike.owner_consent", c(&["not-needed", "written", "missing"]), Exact, "ask";
    WHEEL_OUT_OFTEN: Ratio = "bike.wheel_taken_out_often", c(YES_NO), Exact, "ask";
    UNDER_NUT: Ratio = "bike.hitch_or_stand_under_nut", c(YES_NO), Exact, "look";
    COASTER_BRAKE: Ratio = "bike.coaster_brake_in_hub", c(YES_NO), Exact, "look";
    // motor
    POSITION: Ratio = "motor.position", c(&["rear", "front", "both"]), Exact, "look";
    DRIVE: Ratio = "motor.drive", c(&["geared", "direct"]), Exact, "look";
    CLUTCH: Ratio = "motor.clutch", c(&["free", "locked", "none"]), Exact, "look";
    CLUTCH_MEMBER: Ratio = "motor.clutch_member", c(&["wheel-side", "carrier-to-axle", "ring-to-axle", "rotor-side", "no-clutch"]), Exact, "m18";
    COMMUTATION: Ratio = "motor.commutation", c(&["sine", "block"]), Exact, "ask";
    REDUCTION: Ratio = "motor.reduction", q("", 1.0, 30.0), Normal, "m18";
    POLE_PAIRS: Ratio = "motor.pole_pairs", n(1.0, 60.0), Exact, "m19";
    FLUX: FluxLinkage = "motor.flux_linkage", q("mWb", 0.5, 200.0), Normal, "m21";
    VOLTS_PER_SPEED: FluxLinkage = "motor.volts_per_wheel_speed", q("V·s/rad", 0.05, 20.0), Normal, "m21";
    DROOP: FluxDroop = "motor.flux_droop", q("1/A", 0.0, 0.05), Normal, "m26";
    TORQUE_POINT: WheelTorque = "motor.torque_point", q("N·m", 1.0, 400.0), Normal, "m26";
    TORQUE_POINT_CURRENT: PhaseCurrent = "motor.torque_point_current", q("A", 1.0, 500.0), Normal, "m26";
    TORQUE_POINT_2: WheelTorque = "motor.torque_point_2", q("N·m", 1.0, 400.0), Normal, "m26";
    TORQUE_POINT_2_CURRENT: PhaseCurrent = "motor.torque_point_2_current", q("A", 1.0, 500.0), Normal, "m26";
    TORQUE_POINT_3: WheelTorque = "motor.torque_point_3", q("N·m", 1.0, 400.0), Normal, "m26";
    TORQUE_POINT_3_CURRENT: PhaseCurrent = "motor.torque_point_3_current", q("A", 1.0, 500.0), Normal, "m26";
    CURRENT_MEANS: Ratio = "motor.currents_are", c(&["amplitude", "rms"]), Exact, "m27";
    RESISTANCE: LineResistance = "motor.resistance_between_wires", q("mΩ", 2.0, 3000.0), Normal, "m20";
    INDUCTANCE: PhaseInductance = "motor.inductance", q("µH", 5.0, 5000.0), LogNormal, "m23";
    DRAG_CONSTANT: RotorTorque = "motor.drag_constant", q("N·m", 0.0, 10.0), LogNormal, "m24";
    DRAG_PER_SPEED: RotorDamping = "motor.drag_per_speed", q("mN·m·s", 0.0, 100.0), LogNormal, "m25";
    GEAR_EFFICIENCY: Ratio = "motor.gear_efficiency", q("", 0.5, 1.0), Normal, "assume";
    ROTOR_INERTIA: Inertia = "motor.rotor_inertia", q("g·m²", 0.01, 200.0), LogNormal, "assume";
    WINDING_CAPACITY: HeatCapacity = "motor.winding_heat_capacity", q("J/K", 20.0, 5000.0), LogNormal, "assume";
    SHELL_CAPACITY: HeatCapacity = "motor.shell_heat_capacity", q("J/K", 100.0, 20000.0), LogNormal, "assume";
    WINDING_TO_SHELL: ThermalResistance = "motor.winding_to_shell", q("K/W", 0.01, 5.0), LogNormal, "assume";
    SHELL_TO_AIR: ThermalConductance = "motor.shell_to_air", q("W/K", 0.2, 60.0), LogNormal, "assume";
    WINDING_LIMIT: Temperature = "motor.winding_limit", q("°C", 60.0, 200.0), Normal, "assume";
    GEAR_LIMIT: Temperature = "motor.gear_limit", q("°C", 40.0, 200.0), Normal, "assume";
    HOTTEST_AIR: Temperature = "motor.hottest_air", q("°C", 0.0, 50.0), Normal, "ask";
    SUN_TEETH: Ratio = "motor.sun_teeth", n(6.0, 80.0), Exact, "m18";
    PLANET_TEETH: Ratio = "motor.planet_teeth", n(8.0, 200.0), Exact, "m18";
    PLANETS: Ratio = "motor.planets", n(1.0, 9.0), Exact, "m18";
    GEAR_TEETH: Ratio = "motor.gear_teeth", c(&["straight", "helical-both-washers-sound", "helical-one-washer"]), Exact, "m18";
    GEAR_MODULE: Length = "motor.gear_module", q("mm", 0.3, 3.0), Normal, "m18";
    GEAR_WIDTH: Length = "motor.gear_width", q("mm", 2.0, 60.0), Normal, "m18";
    GEAR_STRENGTH: Stress = "motor.gear_strength", q("MPa", 10.0, 800.0), Normal, "assume";
    GEAR_PLAY: Angle = "motor.gear_play", q("°", 0.0, 8.0), LogNormal, "m42";
    GEAR_STIFFNESS: TorsionalStiffness = "motor.gear_stiffness", q("N·m/rad", 200.0, 50000.0), LogNormal, "assume";
    LOCK_KIND: Ratio = "motor.lock", c(&["tacks", "full-ring", "pins", "none-yet", "no-clutch"]), Exact, "look";
    LOCK_RADIUS: Length = "motor.lock_radius", q("mm", 3.0, 80.0), Normal, "m7";
    LOCK_LEG: Length = "motor.lock_leg", q("mm", 0.5, 12.0), Normal, "m7";
    LOCK_TACK_LENGTH: Length = "motor.lock_tack_length", q("mm", 1.0, 60.0), Normal, "m7";
    LOCK_COUNT: Ratio = "motor.lock_count", n(1.0, 24.0), Exact, "look";
    LOCK_PIN_DIAMETER: Length = "motor.lock_pin_diameter", q("mm", 1.0, 12.0), Normal, "m7";
    LOCK_STRENGTH: Stress = "motor.lock_shear_strength", q("MPa", 20.0, 800.0), Normal, "assume";
    COVER_SCREWS: Ratio = "motor.cover_screws", n(0.0, 36.0), Exact, "look";
    COVER_CIRCLE: Length = "motor.cover_screw_circle_radius", q("mm", 20.0, 160.0), Normal, "m7";
    COVER_CLAMP: Force = "motor.cover_screw_clamp", q("N", 200.0, 30000.0), LogNormal, "assume";
    COVER_FRICTION: Friction = "motor.cover_friction", q("", 0.03, 0.6), LogNormal, "m43";
    // controller
    VOLTAGE_RATING: Voltage = "controller.voltage_rating", q("V", 20.0, 250.0), Normal, "m30";
    HARDWARE_CURRENT: PhaseCurrent = "controller.hardware_current", q("A", 3.0, 600.0), Normal, "m28";
    OVERSHOOT: Ratio = "controller.overshoot", q("%", 0.0, 100.0), Normal, "m28";
    CURRENT_TOLERANCE: Ratio = "controller.current_tolerance", q("%", 0.0, 30.0), Normal, "m27";
    CAPACITANCE: Capacitance = "controller.capacitance", q("µF", 20.0, 20000.0), LogNormal, "m29";
    TRIP_TIME: Time = "controller.trip_time", q("ms", 0.0, 50.0), LogNormal, "assume";
    FIELD_WEAKENING: Ratio = "controller.field_weakening", c(YES_NO), Exact, "ask";
    CAN_BRAKE: Ratio = "controller.can_brake", c(YES_NO), Exact, "ask";
    RAMP: Time = "controller.ramp", q("ms", 0.0, 3000.0), Normal, "ask";
    STANDBY: Power = "controller.standby", q("W", 0.0, 40.0), LogNormal, "ask";
    SWITCHES: Resistance = "controller.switch_resistance", q("mΩ", 0.1, 60.0), LogNormal, "assume";
    SWITCHING: Ratio = "controller.switching_loss", q("%", 0.0, 6.0), LogNormal, "assume";
    // settings asked for
    DRIVE_CURRENT: PhaseCurrent = "settings.drive_current", q("A", 1.0, 600.0), Exact, "label";
    DRIVE_CURRENT_KEPT_BY: Ratio = "settings.drive_current_kept_by", c(KEEPERS), Exact, "ask";
    BRAKE_CURRENT: PhaseCurrent = "settings.brake_current", q("A", 0.0, 600.0), Exact, "label";
    BRAKE_CURRENT_KEPT_BY: Ratio = "settings.brake_current_kept_by", c(KEEPERS), Exact, "ask";
    CHARGE_LIMIT: BatteryCurrent = "settings.charge_limit", q("A", 0.0, 200.0), Exact, "label";
    CHARGE_LIMIT_KEPT_BY: Ratio = "settings.charge_limit_kept_by", c(KEEPERS), Exact, "ask";
    FADE_FROM: Speed = "settings.fade_from", q("km/h", 0.0, 30.0), Exact, "ask";
    FADE_GONE: Speed = "settings.fade_gone", q("km/h", 0.0, 30.0), Exact, "ask";
    HOLD_FASTEST: Speed = "settings.hold_fastest", q("km/h", 3.0, 60.0), Exact, "ask";
    CHARGE_TO: StateOfCharge = "settings.charge_to", q("%", 10.0, 100.0), Exact, "ask";
    CHARGE_TO_KEPT_BY: Ratio = "settings.charge_to_kept_by", c(KEEPERS), Exact, "ask";
    BRAKE_COMMAND: Ratio = "settings.brake_command", c(&["variable-lever", "lever-switch", "backpedal", "speed-hold-only"]), Exact, "ask";
    // battery
    CHEMISTRY: Ratio = "battery.chemistry", c(&["nmc", "lfp"]), Exact, "label";
    CELLS_SERIES: Ratio = "battery.cells_series", n(3.0, 40.0), Exact, "m31";
    CELLS_PARALLEL: Ratio = "battery.cells_parallel", n(1.0, 40.0), Exact, "label";
    CELL_CAPACITY: Charge = "battery.cell_capacity", q("Ah", 0.5, 120.0), Normal, "label";
    CELL_CHARGE: BatteryCurrent = "battery.cell_charge_current", q("A", 0.05, 200.0), Normal, "m34";
    COOL_SHARE: Ratio = "battery.cool_charge_share", q("", 0.0, 1.0), Normal, "m34";
    ELECTRONICS_CHARGE: BatteryCurrent = "battery.electronics_charge_limit", q("A", 0.0, 300.0), Normal, "m34";
    CELL_FULL: Voltage = "battery.cell_full_voltage", q("V", 3.3, 4.4), Normal, "label";
    CELL_CUTOUT: Voltage = "battery.cell_cutout_voltage", q("V", 3.4, 4.5), Normal, "label";
    CUTBACK: Voltage = "battery.cell_cutback_voltage", q("V", 1.5, 3.7), Normal, "ask";
    IMBALANCE: Voltage = "battery.imbalance", q("V", 0.0, 0.3), Normal, "assume";
    PACK_RESISTANCE: Resistance = "battery.resistance", q("mΩ", 2.0, 2000.0), LogNormal, "m32";
    PLUG_RATING: BatteryCurrent = "battery.plug_rating", q("A", 1.0, 400.0), Normal, "m37";
    COLDEST: Temperature = "battery.coldest", q("°C", -40.0, 40.0), Normal, "m35";
    CHARGING_PLUG: Ratio = "battery.charging_through_discharge_plug", c(&["in-writing", "not-in-writing", "two-plugs"]), Exact, "m33";
    BATTERY_CONDITION: Ratio = "battery.condition", c(&["sound", "opened", "swollen-or-wet", "unknown-cells"]), Exact, "look";
    // axle, both ends alike
    AXLE_KIND: Ratio = "axle.kind", c(&["nutted", "thru-axle", "quick-release"]), Exact, "look";
    AXLE_DIAMETER: Length = "axle.diameter", q("mm", 8.0, 20.0), Normal, "m6";
    AXLE_PITCH: Length = "axle.pitch", q("mm", 0.5, 2.5), Exact, "m6";
    ACROSS_FLATS: Length = "axle.across_flats", q("mm", 5.0, 20.0), Normal, "m7";
    AXLE_YIELD: Stress = "axle.yield_strength", q("MPa", 200.0, 1500.0), Normal, "m14";
    HOLD_TEST: Torque = "axle.hold_test", q("N·m", 0.0, 400.0), Exact, "m12";
    CABLE_SLOT: Ratio = "axle.cable_slot_instead_of_bore", c(YES_NO), Exact, "look";
    CABLE_EXIT: Ratio = "axle.cable_exit", c(&["sound", "cut-or-pinched"]), Exact, "look";
}

facts! { SIDE, SideIndex, SideKey:
    BORE: Length = "bore", q("mm", 0.0, 14.0), Normal, "m7";
    SLOT_WIDTH: Length = "slot_width", q("mm", 5.0, 25.0), Normal, "m7";
    DROPOUT_THICKNESS: Length = "dropout_thickness", q("mm", 1.0, 25.0), Normal, "m7";
    DROPOUT_MATERIAL: Ratio = "dropout_material", c(&["steel", "aluminium", "titanium", "carbon", "magnesium"]), Exact, "m13";
    DROPOUT_YIELD: Stress = "dropout_yield", q("MPa", 50.0, 1200.0), Normal, "assume";
    DROPOUT_BEARING: Stress = "dropout_bearing_strength", q("MPa", 80.0, 1800.0), Normal, "assume";
    PRONG_HEIGHT: Length = "prong_height", q("mm", 3.0, 60.0), Normal, "m7";
    PRONG_LENGTH: Length = "prong_length", q("mm", 2.0, 60.0), Normal, "m7";
    RECESS: Length = "recess_diameter", q("mm", 0.0, 60.0), Normal, "m7";
    WASHER_FLAT: Ratio = "washer_sits_flat", c(YES_NO), Exact, "look";
    FACES: Ratio = "faces", c(&["bare", "painted", "plated", "oily"]), Exact, "m43";
    FACE_FRICTION: Friction = "face_friction", q("", 0.03, 0.6), LogNormal, "m43";
    FACE_INNER: Length = "face_inner_diameter", q("mm", 8.0, 30.0), Normal, "m7";
    FACE_OUTER: Length = "face_outer_diameter", q("mm", 12.0, 60.0), Normal, "m7";
    NUT_TORQUE: Torque = "nut_torque", q("N·m", 3.0, 250.0), Normal, "m9";
    NUT_HEIGHT: Length = "nut_height", q("mm", 3.0, 25.0), Normal, "m7";
    NUT_FACE: Length = "nut_face_diameter", q("mm", 10.0, 50.0), Normal, "m7";
    NUT_STRENGTH: Stress = "nut_strength", q("MPa", 200.0, 1500.0), Normal, "m15";
    FREE_THREAD: Length = "free_thread", q("mm", 0.0, 60.0), Normal, "m11";
    THREAD_STATE: Ratio = "thread_state", c(THREAD_STATES), Exact, "look";
    THREAD_FRICTION: Friction = "thread_friction", q("", 0.03, 0.5), LogNormal, "assume";
    NUT_FRICTION: Friction = "nut_face_friction", q("", 0.03, 0.5), LogNormal, "assume";
    SETTLING: Length = "settling", q("µm", 0.0, 60.0), LogNormal, "assume";
    WASHER_KEYED: Ratio = "washer_keyed_to_flats", c(YES_NO), Exact, "look";
}

facts! { ARM, ArmIndex, ArmKey:
    ARM_SIDE: Ratio = "side", c(&["left", "right"]), Exact, "look";
    ARM_KIND: Ratio = "kind", c(&["slotted", "pinching"]), Exact, "look";
    ARM_THICKNESS: Length = "thickness", q("mm", 1.0, 25.0), Normal, "m7";
    ARM_SLOT: Length = "slot_width", q("mm", 5.0, 25.0), Normal, "m7";
    ARM_YIELD: Stress = "yield_strength", q("MPa", 50.0, 1500.0), Normal, "assume";
    ARM_BEARING: Stress = "bearing_strength", q("MPa", 80.0, 1800.0), Normal, "assume";
    ARM_LENGTH: Length = "length", q("mm", 20.0, 400.0), Normal, "m7";
    ARM_STIFFNESS: TorsionalStiffness = "stiffness", q("N·m/rad", 100.0, 100000.0), LogNormal, "assume";
    CLEARANCE: Length = "clearance", q("mm", 0.0, 100.0), Normal, "m17";
    PINCH_CUT: Ratio = "pinch_cut", c(&["both-sides", "one-side"]), Exact, "look";
    PINCH_BOLT_LEVER: Length = "pinch_bolt_lever", q("mm", 3.0, 100.0), Normal, "m7";
    PINCH_FLAT_LEVER: Length = "pinch_flat_lever", q("mm", 3.0, 100.0), Normal, "m7";
    PINCH_CLOSING: Torque = "pinch_closing_moment", q("N·m", 0.0, 60.0), LogNormal, "assume";
    PINCH_OFFSET: Length = "pinch_offset", q("mm", -5.0, 5.0), Normal, "m7";
    PINCH_BOLTS: Ratio = "pinch_bolts", n(1.0, 6.0), Exact, "look";
    PINCH_DIAMETER: Length = "pinch_bolt_diameter", q("mm", 3.0, 12.0), Exact, "m6";
    PINCH_GRADE: Ratio = "pinch_bolt_grade", c(GRADES), Exact, "m15";
    PINCH_TORQUE: Torque = "pinch_bolt_torque", q("N·m", 0.5, 60.0), Normal, "m9";
    PINCH_FRICTION: Friction = "pinch_bolt_friction", q("", 0.03, 0.5), LogNormal, "assume";
    PINCH_SPACING: Length = "pinch_bolt_spacing", q("mm", 6.0, 80.0), Normal, "m7";
    BOLT_THREAD_STATE: Ratio = "bolt_thread_state", c(THREAD_STATES), Exact, "look";
    ANCHOR_KIND: Ratio = "anchor_kind", c(&["bolted-through", "band"]), Exact, "look";
    TUBE_DIAMETER: Length = "tube_diameter", q("mm", 8.0, 80.0), Normal, "m7";
    TUBE_WALL: Length = "tube_wall", q("mm", 0.4, 6.0), Normal, "assume";
    BAND_WIDTH: Length = "band_width", q("mm", 3.0, 60.0), Normal, "m7";
    ANCHOR_DIAMETER: Length = "anchor_diameter", q("mm", 3.0, 16.0), Exact, "m6";
    ANCHOR_GRADE: Ratio = "anchor_grade", c(GRADES), Exact, "m15";
    ANCHOR_TORQUE: Torque = "anchor_torque", q("N·m", 0.5, 120.0), Normal, "m9";
    ANCHOR_THREAD_FRICTION: Friction = "anchor_thread_friction", q("", 0.03, 0.5), LogNormal, "assume";
    ANCHOR_FRICTION: Friction = "anchor_face_friction", q("", 0.03, 0.6), LogNormal, "m43";
    ANCHOR_FACES: Ratio = "anchor_faces", n(1.0, 4.0), Exact, "look";
    ANCHOR_SETTLING: Ratio = "anchor_settling_share", q("%", 0.0, 80.0), Normal, "assume";
}
