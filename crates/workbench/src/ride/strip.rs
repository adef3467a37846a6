//! The hill as one strip: height, filled below by who brakes; speed; charge; marks where a limit begins.

use super::series::Row;
use super::tally::Limit;
use crate::words;
use core::fmt::Write as _;

/// Size of the picture, and of the fields in it, in its own units.
const WIDTH: f64 = 960.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 14.0;
const HILL: (f64, f64) = (64.0, 190.0);
const SPEED: (f64, f64) = (286.0, 80.0);
const CHARGE: (f64, f64) = (398.0, 60.0);
const HEIGHT: f64 = 500.0;
/// Force below which nobody counts as braking, N.
const BRAKES_N: f64 = 2.0;

/// The strip of one ride as SVG. The second line of the title says which clutch.
pub fn svg(rows: &[Row], title: &str, locked: bool) -> String {
    let mut out = String::new();
    let way_m = rows.last().map_or(1.0, |r| r.way_m.max(1.0));
    let x = |m: f64| LEFT + m / way_m * (WIDTH - LEFT - RIGHT);
    let _ = write!(
        out,
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="12" role="img"><title>{0}</title><style>.ink{{fill:none;stroke:currentColor}}.thin{{stroke-width:1;opacity:.35}}text{{fill:currentColor}}.motor{{fill:#2b7a52}}.hands{{fill:url(#hatch)}}.nobody{{fill:#fff;stroke:#b3261e;stroke-width:1.5}}.mark{{fill:#b3261e}}</style><defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#f3d9b1"/><line x1="0" y1="0" x2="0" y2="6" stroke="#a35a00" stroke-width="2.5"/></pattern></defs>"##,
        escape(title)
    );
    let clutch = words::text(if locked { "ride.strip.locked" } else { "ride.strip.free" });
    let _ = write!(
        out,
        r#"<text x="{LEFT}" y="22" font-size="16">{}</text><text x="{LEFT}" y="42">{}</text>"#,
        escape(title),
        escape(&clutch)
    );
    hill(&mut out, rows, &x);
    line(&mut out, rows, &x, SPEED, "ride.strip.speed", |r| r.speed_m_s * 3.6, Some(0.0));
    line(&mut out, rows, &x, CHARGE, "ride.strip.charge", |r| r.charge * 100.0, None);
    way(&mut out, way_m, &x);
    legend(&mut out);
    out.push_str("</svg>\n");
    out
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Who brakes in a row: class of the fill, or nothing.
fn who(r: &Row) -> Option<&'static str> {
    if r.nobody_n > BRAKES_N {
        Some("nobody")
    } else if r.hands_n > BRAKES_N && r.hands_n >= -r.motor_n {
        Some("hands")
    } else if r.motor_n < -BRAKES_N && r.legs_n < 1.0 {
        Some("motor")
    } else {
        None
    }
}

fn scale(values: impl Iterator<Item = f64>, floor: Option<f64>) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for v in values {
        low = low.min(v);
        high = high.max(v);
    }
    let low = floor.unwrap_or(low);
    if high - low < 1e-9 { (low, low + 1.0) } else { (low, high) }
}

fn hill(out: &mut String, rows: &[Row], x: &impl Fn(f64) -> f64) {
    let (top, tall) = HILL;
    let (low, high) = scale(rows.iter().map(|r| r.height_m), None);
    let y = |h: f64| top + tall - (h - low) / (high - low) * (tall - 12.0);
    let foot = top + tall;
    // One shape for each run of the same who.
    let mut i = 0;
    while i + 1 < rows.len() {
        let kind = who(&rows[i + 1]);
        let mut j = i + 1;
        while j + 1 < rows.len() && who(&rows[j + 1]) == kind {
            j += 1;
        }
        if let Some(class) = kind {
            let _ = write!(out, r#"<path class="{class}" d="M{:.1} {foot:.1}"#, x(rows[i].way_m));
            for r in &rows[i..=j] {
                let _ = write!(out, "L{:.1} {:.1}", x(r.way_m), y(r.height_m));
            }
            let _ = write!(out, r#"L{:.1} {foot:.1}Z"/>"#, x(rows[j].way_m));
        }
        i = j;
    }
    path(out, rows, x, y, |r| r.height_m, "ink");
    axis(out, HILL, "ride.strip.height", low, high);
    let mut before = Limit::None;
    let mut free_from = f64::NEG_INFINITY;
    for r in rows {
        if r.limit != before && !matches!(r.limit, Limit::None | Limit::NotAsked) {
            let (cx, cy) = (x(r.way_m), y(r.height_m));
            let _ = write!(out, r#"<circle class="mark" cx="{cx:.1}" cy="{cy:.1}" r="3.5"/>"#);
            if cx > free_from {
                let name = words::text(&format!("ride.limit.{}", r.limit.token()));
                let end = if cx > WIDTH * 0.7 { "end" } else { "start" };
                let _ = write!(
                    out,
                    r#"<text x="{cx:.1}" y="{:.1}" text-anchor="{end}">{}</text>"#,
                    cy - 8.0,
                    escape(&name)
                );
                free_from = cx + 150.0;
            }
        }
        before = r.limit;
    }
}

fn path(
    out: &mut String,
    rows: &[Row],
    x: &impl Fn(f64) -> f64,
    y: impl Fn(f64) -> f64,
    value: impl Fn(&Row) -> f64,
    class: &str,
) {
    let _ = write!(out, r#"<path class="{class}" d=""#);
    for (i, r) in rows.iter().enumerate() {
        let _ = write!(out, "{}{:.1} {:.1}", if i == 0 { "M" } else { "L" }, x(r.way_m), y(value(r)));
    }
    out.push_str(r#""/>"#);
}

fn axis(out: &mut String, field: (f64, f64), key: &str, low: f64, high: f64) {
    let (top, tall) = field;
    let right = WIDTH - RIGHT;
    let _ = write!(
        out,
        r#"<line class="ink thin" x1="{LEFT}" y1="{0:.1}" x2="{right}" y2="{0:.1}"/><text x="{1}" y="{2:.1}" text-anchor="end">{high:.0}</text><text x="{1}" y="{0:.1}" text-anchor="end">{low:.0}</text><text x="{LEFT}" y="{3:.1}" opacity=".7">{4}</text>"#,
        top + tall,
        LEFT - 6.0,
        top + 14.0,
        top + 2.0,
        escape(&words::text(key))
    );
}

fn line(
    out: &mut String,
    rows: &[Row],
    x: &impl Fn(f64) -> f64,
    field: (f64, f64),
    key: &str,
    value: impl Fn(&Row) -> f64,
    floor: Option<f64>,
) {
    let (top, tall) = field;
    let (low, high) = scale(rows.iter().map(&value), floor);
    path(out, rows, x, |v| top + tall - (v - low) / (high - low) * (tall - 10.0), &value, "ink");
    axis(out, field, key, low, high);
}

/// Marks along the way at a round distance.
fn way(out: &mut String, way_m: f64, x: &impl Fn(f64) -> f64) {
    let mut step = 100.0;
    for more in [200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5, 2e5] {
        if way_m / step > 10.0 {
            step = more;
        }
    }
    let mut m = 0.0;
    while m <= way_m {
        let _ = write!(out, r#"<text x="{:.1}" y="474" text-anchor="middle">{}</text>"#, x(m), m / 1000.0);
        m += step;
    }
    let _ = write!(
        out,
        r#"<text x="{}" y="492" text-anchor="end" opacity=".7">{}</text>"#,
        WIDTH - RIGHT,
        escape(&words::text("ride.strip.way"))
    );
}

fn legend(out: &mut String) {
    let mut at = WIDTH - 430.0;
    for kind in ["motor", "hands", "nobody"] {
        let _ = write!(
            out,
            r#"<rect class="{kind}" x="{at}" y="30" width="16" height="12"/><text x="{}" y="41">{}</text>"#,
            at + 22.0,
            escape(&words::text(&format!("ride.strip.who-{kind}")))
        );
        at += 145.0;
    }
}
