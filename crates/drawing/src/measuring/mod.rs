//! Where calliper, scale and meter go: one line drawing for each of the measurements that decide most.

mod axle;
mod bike;
mod fixing;
mod labels;
mod motor;
mod tools;

use crate::style::{self, Theme};
use crate::svg::{Hold, Svg, escape};
use workbench::fact::{self, FactId};
use workbench::words;

/// Width of each drawing.
pub const WIDTH: f64 = 360.0;
/// Height of each drawing.
pub const HEIGHT: f64 = 250.0;

/// One drawing: its identifier, the facts or cards that it shows how to take, what is drawn.
type Drawing = (&'static str, &'static [&'static str], fn(&mut Art));

const DRAWINGS: &[Drawing] = &[
    ("across-flats", &["axle.across_flats"], axle::across_flats),
    ("axle-diameter", &["axle.diameter"], axle::diameter),
    ("pitch", &["axle.pitch", "m6"], axle::pitch),
    ("slot-width", &["axle.slot_width", "arm.slot_width"], axle::slot),
    ("dropout-thickness", &["axle.dropout_thickness", "arm.thickness", "m7"], axle::thickness),
    ("washer", &["axle.face_outer_diameter", "axle.face_inner_diameter"], axle::washer),
    ("free-thread", &["axle.free_thread", "m11"], axle::free_thread),
    ("nut-height", &["axle.nut_height", "m10"], axle::nut_height),
    ("nut-torque", &["m9"], axle::nut_torque),
    ("play", &["m8"], axle::play),
    ("faces", &["m43"], axle::faces),
    ("hold-test", &["m12"], axle::hold_test),
    ("arm-length", &["arm.length"], bike::arm_length),
    ("pinch-bolts", &["arm.pinch_bolts", "arm.pinch_bolt_diameter", "arm.pinch_bolt_torque"], fixing::pinch_bolts),
    ("bolt-grade", &["arm.pinch_bolt_grade", "arm.anchor_grade", "m15"], fixing::bolt_grade),
    ("anchor", &["arm.anchor_diameter", "arm.anchor_kind"], fixing::anchor),
    ("anchor-tube", &["arm.tube_diameter", "arm.tube_wall", "arm.band_width", "m16"], fixing::anchor_tube),
    ("recess", &["axle.recess_diameter", "axle.washer_sits_flat"], fixing::recess),
    ("bore", &["axle.bore"], fixing::bore),
    ("lock", &["motor.lock_tack_length", "motor.lock_leg", "motor.lock_radius", "motor.lock_count"], motor::lock),
    ("teeth", &["motor.reduction", "motor.gear_teeth", "motor.sun_teeth", "m18"], motor::teeth),
    ("runout", &["m41"], motor::runout),
    ("clearance", &["arm.clearance", "m17"], bike::clearance),
    ("magnet", &["m13"], bike::magnet),
    ("roll-out", &["bike.wheel_radius", "m5"], bike::roll_out),
    ("centre-ahead", &["m3"], bike::centre_ahead),
    ("wires", &["m20"], motor::wires),
    ("volts-per-speed", &["m21"], motor::volts),
    ("drag", &["m24"], motor::drag),
    ("torque-per-amp", &["m26"], motor::torque),
    ("clamp", &["m25"], labels::clamp),
    ("capacitors", &["controller.voltage_rating", "m30"], labels::capacitors),
    ("charger-label", &["battery.cells_series", "m31"], labels::charger),
    ("two-plugs", &["battery.charging_through_discharge_plug", "m33"], labels::plugs),
    ("slope", &["bike.steepest_descent", "m38"], bike::slope),
    ("stop-test", &["m40"], bike::stop_test),
];

/// Identifiers of all drawings.
pub fn all() -> impl Iterator<Item = &'static str> {
    DRAWINGS.iter().map(|d| d.0)
}

/// Cards for sizes of all kinds: their drawing shows one of many, so that a fact without a drawing of its own gets none.
pub const MANY_SIZES: [&str; 3] = ["m6", "m7", "m10"];

/// The drawing for a fact: its own, or its card's; nothing where none has been made.
pub fn for_fact(id: FactId) -> Option<&'static str> {
    let (def, full) = fact::describe(id);
    let parts: Vec<&str> = full.split('.').collect();
    let plain = match parts.as_slice() {
        [table, _, key] => format!("{table}.{key}"),
        _ => full,
    };
    find(&plain).or_else(|| find(def.card).filter(|_| !MANY_SIZES.contains(&def.card)))
}

/// What a drawing shows, in a few words; the key itself where there is no such drawing.
pub fn title(id: &str) -> String {
    words::text(&format!("drawing.measure.{id}.title"))
}

/// The drawing for a card.
pub fn for_card(card: &str) -> Option<&'static str> {
    find(card)
}

fn find(shown: &str) -> Option<&'static str> {
    DRAWINGS.iter().find(|d| d.1.contains(&shown)).map(|d| d.0)
}

/// A drawing as SVG; nothing where there is none of that name.
pub fn svg(id: &str, theme: Theme) -> Option<String> {
    let (id, _, draw) = DRAWINGS.iter().find(|d| d.0 == id)?;
    let mut art = Art { svg: Svg::default(), id, said: Vec::new() };
    draw(&mut art);
    let title = art.word("title");
    // Who reads with ears hears every word that stands in the drawing.
    let label = escape(&core::iter::once(title.clone()).chain(art.said).collect::<Vec<_>>().join("; "));
    let mut svg = Svg::default();
    svg.raw(&format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing measuring\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" \
         height=\"{HEIGHT}\" role=\"img\" aria-label=\"{label}\"><title>{title}</title>",
        title = escape(&title)
    ));
    svg.raw(&style::element(theme)).newline();
    if theme != Theme::Page {
        svg.rect("ground", 0.0, 0.0, WIDTH, HEIGHT, 0.0);
    }
    svg.raw(&art.svg.finish()).raw("</svg>\n");
    Some(svg.finish())
}

/// A drawing being made.
struct Art {
    svg: Svg,
    id: &'static str,
    said: Vec<String>,
}

impl Art {
    fn word(&self, key: &str) -> String {
        words::text(&format!("drawing.measure.{}.{key}", self.id))
    }
    /// A piece of the bike.
    fn part(&mut self, d: &str) -> &mut Self {
        self.svg.path("piece", d);
        self
    }
    /// A thin line of the bike.
    fn thin(&mut self, d: &str) -> &mut Self {
        self.svg.path("part thin", d);
        self
    }
    /// A tool.
    fn tool(&mut self, d: &str) -> &mut Self {
        self.svg.path("tool", d);
        self
    }
    /// A wire, string or strap.
    fn lead(&mut self, d: &str) -> &mut Self {
        self.svg.path("lead", d);
        self
    }
    /// A word beside the drawing.
    fn say(&mut self, key: &str, hold: Hold, x: f64, y: f64) -> &mut Self {
        let text = self.word(key);
        self.svg.text("pad", 14.0, hold, x, y, &text);
        self.said.push(text);
        self
    }
    /// What is measured.
    fn name(&mut self, key: &str, hold: Hold, x: f64, y: f64) -> &mut Self {
        let text = self.word(key);
        self.svg.text("bold pad", 15.0, hold, x, y, &text);
        self.said.push(text);
        self
    }
}
