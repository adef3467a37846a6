//! A sister bike: built like another one, whose facts it takes over until they are measured on itself.
//!
//! What belongs to the other bike's rider, road, battery's state or tests is not taken over, nor are the four facts that
//! nobody assumes. A value that is taken over counts as assumed. Its doubt is that of the other's measurement or that of
//! its kind of hub, whichever is wider: two bikes of one make differ (no source: judgement).

use crate::fact::{self, Distribution, Fact, FactId, Origin, Shape, Tool};
use crate::kinds;
use crate::say::figure;
use quantity::text::{self, Decimal, Spread, print_exact};
use quantity::units::{Unit, find_unit};

/// The rider's, the road's, or found by a test of that very bike.
const ITS_OWN: [&str; 28] = [
    "axle.cable_exit",
    "axle.hold_test",
    "battery.coldest",
    "battery.condition",
    "bike.centre_ahead",
    "bike.centre_ahead_lightest",
    "bike.centre_height",
    "bike.child_or_passenger",
    "bike.descent_height",
    "bike.downhill_speed",
    "bike.downhill_speed_kept_by",
    "bike.drag_area",
    "bike.front_brake_alone",
    "bike.grip_wet",
    "bike.heaviest",
    "bike.hitch_or_stand_under_nut",
    "bike.lightest",
    "bike.owner_consent",
    "bike.rear_brake_alone",
    "bike.rolling_resistance",
    "bike.steepest_descent",
    "motor.gear_teeth",
    "bike.usual",
    "bike.vehicle_class",
    "bike.wheel_taken_out_often",
    "motor.clutch",
    "motor.hottest_air",
    "settings.charge_to",
];

/// Whether a sister takes a fact over.
pub fn takes_over(id: FactId) -> bool {
    let name = fact::describe(id).1;
    !kinds::never_assumed().contains(&id)
        && !ITS_OWN.contains(&name.as_str())
        && !name.ends_with("kept_by")
        && !name.ends_with("thread_state")
        // Washers are looked at, not assumed.
        && !name.contains("washer_")
}

/// The text of a fact taken over from bike `number`; nothing where it is not taken over. What the workshop chose (a torque
/// to give, a setting) stays chosen.
pub fn as_on(id: FactId, f: &Fact, number: &str, kind: Option<&str>, rack: &[Tool]) -> Option<String> {
    if !takes_over(id) {
        return None;
    }
    let with = |tool: &String| if rack.iter().any(|t| t.id == *tool) { format!(" with {tool}") } else { String::new() };
    match f.origin {
        Origin::Chosen => {
            return Some(format!("{}, {}{}", f.text, f.origin.token(), f.tool.as_ref().map(with).unwrap_or_default()));
        }
        // Assumed there, so assumed here; the word of a third bike goes along.
        Origin::Assumed => {
            let from = f.tool.as_ref().map_or_else(String::new, |t| format!(" {t}"));
            return Some(format!("{}, {}{from}", f.text, f.origin.token()));
        }
        _ => {}
    }
    let value = match fact::describe(id).0.shape {
        Shape::Quantity { unit, .. } => {
            wider(f, kinds::assumed(id, kind).as_ref(), find_unit(unit).unwrap_or(Unit::one()))?
        }
        Shape::Choice(_) | Shape::Count { .. } => f.text.clone(),
    };
    Some(format!("{value}, {} {}{number}", Origin::Assumed.token(), fact::AS_ON))
}

/// The value with its own doubt or its kind's, whichever is wider.
fn wider(f: &Fact, of_kind: Option<&Fact>, own: &Unit) -> Option<String> {
    let reading = text::parse(&f.text, Decimal::Point).ok()?;
    if matches!(reading.spread, Spread::Range { .. }) {
        return Some(f.text.clone());
    }
    let half = half_width(f).max(of_kind.map_or(0.0, half_width));
    let unit = if reading.unit.matches(own) { reading.unit } else { own };
    let value = print_exact(reading.value_si, unit, Decimal::Point);
    if half <= 0.0 {
        return Some(value);
    }
    let shown = figure(unit.difference_from_si(half));
    // A doubt too small for the printed digits of its unit is written as a share.
    if shown.chars().all(|c| matches!(c, '0' | '.')) {
        return Some(format!("{value} ± {} %", figure(100.0 * half / f.value.abs())));
    }
    Some(format!("{value} ± {shown} {}", unit.symbol).trim_end().to_owned())
}

/// Half of the 95 % interval, in SI.
fn half_width(f: &Fact) -> f64 {
    const HALF: f64 = 1.959_963_985;
    match f.spread {
        Distribution::Exact => 0.0,
        Distribution::Normal { sigma } => HALF * sigma,
        Distribution::LogNormal { sigma_ln } => f.value * libm::expm1(HALF * sigma_ln),
        Distribution::Uniform { low, high } => (high - low) / 2.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fact::read_fact;

    fn taken_over(name: &str, text: &str) -> Option<Fact> {
        let id = fact::find(name, 1)?;
        let def = fact::describe(id).0;
        let tool = Tool {
            id: "C1".into(),
            name: "calliper".into(),
            share: 0.0,
            absolute: Some((3e-5, "length".into())),
            shares_error: false,
        };
        let rack = [tool];
        let there = read_fact(def, text, &rack, Origin::Measured, Decimal::Point).expect("a fact");
        let copied = as_on(id, &there, "0117", Some("hill"), &rack)?;
        Some(
            read_fact(def, &copied, &rack, Origin::Measured, Decimal::Point)
                .unwrap_or_else(|e| panic!("{copied}: {e:?}")),
        )
    }

    #[test]
    fn what_is_its_own_is_on_the_list_of_facts() {
        for name in ITS_OWN {
            assert!(fact::find(name, 1).is_some(), "{name}");
        }
    }

    #[test]
    fn a_copied_value_is_assumed_says_from_where_and_is_never_surer() {
        for (name, text) in [
            ("axle.across_flats", "10.00 mm, measured with C1"),
            ("axle.left.slot_width", "10.15 mm ± 0.02 mm, measured"),
            ("motor.resistance_between_wires", "148 mΩ ± 2 %, measured"),
            ("axle.left.face_friction", "0.12 to 0.20, measured"),
            ("axle.left.faces", "bare, measured"),
            ("battery.cool_charge_share", "0.0004 ± 1 %, measured"),
            ("axle.left.nut_torque", "80 N·m ± 4 %, measured"),
        ] {
            let id = fact::find(name, 1).expect("a fact");
            let def = fact::describe(id).0;
            let there = read_fact(def, text, &[], Origin::Measured, Decimal::Point);
            let here = taken_over(name, text).expect(name);
            assert_eq!((here.origin, here.tool.as_deref()), (Origin::Assumed, Some("as on 0117")), "{name}");
            if let Ok(there) = there {
                assert!(
                    (here.value - there.value).abs() <= 1e-9 * there.value.abs(),
                    "{name}: {} {}",
                    here.value,
                    there.value
                );
                // The printed doubt has three digits.
                assert!(half_width(&here) >= 0.99 * half_width(&there), "{name}");
            }
            let usual = kinds::assumed(id, Some("hill")).map_or(0.0, |f| half_width(&f));
            let range = here.text.contains(" to ");
            assert!(range || half_width(&here) >= 0.99 * usual, "{name}: {} of {usual}", half_width(&here));
        }
    }

    #[test]
    fn a_choice_stays_chosen_and_what_is_its_own_stays_behind() {
        let chosen = taken_over("axle.left.nut_torque", "80 N·m, chosen").expect("copied");
        assert_eq!(chosen.origin, Origin::Chosen);
        for (name, text) in [
            ("bike.lightest", "109 kg, measured"),
            ("bike.rear_brake_alone", "2.6 m/s², measured"),
            ("axle.hold_test", "100 N·m, measured"),
            ("battery.cells_series", "14, plate"),
            ("motor.clutch", "locked, measured"),
        ] {
            assert_eq!(taken_over(name, text), None, "{name}");
        }
    }
}
