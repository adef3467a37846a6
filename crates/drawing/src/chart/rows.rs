//! Bars in rows: a name with its number, and below it the bar.

use super::axis::Scale;
use super::draw::SMALL;
use super::{Along, Chart, Look, Style};
use crate::letters;
use crate::svg::{Hold, Svg, n};

const NAME: f64 = 14.5;
const ROW: f64 = 44.0;
/// Where a name and its number need a line each.
const TALL_ROW: f64 = 62.0;
const BAR: f64 = 13.0;

/// Draws the rows; gives where they end.
pub fn draw(svg: &mut Svg, c: &Chart, look: &Look, left: f64, top: f64) -> f64 {
    let right = look.width - left;
    let bars = c.series.iter().filter(|s| s.style == Style::Bars);
    let numbers = c.series.iter().flat_map(|s| s.points.iter().map(|p| p.0));
    let limits = c.bands.iter().filter(|b| b.along == Along::X).flat_map(|b| [b.from, b.to]);
    let most = (right - left) / 90.0;
    let scale = Scale::new(&c.x, numbers.chain(limits), left, right - 6.0, most);
    let label_of = |row: usize| {
        let find = |s: &super::Series| s.labels.get(s.points.iter().position(|p| p.1 == row as f64)?).cloned();
        c.series.iter().find_map(find).unwrap_or_default()
    };
    let wide = |name: &str, label: &str| letters::width(name, NAME, true) + letters::width(label, SMALL, true) + 14.0;
    let tall = c.y.names.iter().enumerate().any(|(row, name)| wide(name, &label_of(row)) > right - left);
    let (each, head) = if tall { (TALL_ROW, 44.0) } else { (ROW, 26.0) };
    let foot = top + 10.0 + each * c.y.names.len() as f64;
    for (v, _) in scale.ticks(most) {
        svg.path("grid", &format!("M{},{} V{}", n(scale.at(v)), n(top), n(foot)));
    }
    for b in c.bands.iter().filter(|b| b.along == Along::X) {
        let x = scale.at(b.to);
        svg.path("limit", &format!("M{},{} V{}", n(x), n(top), n(foot + 4.0)));
    }
    for (row, name) in c.y.names.iter().enumerate() {
        let y = top + 20.0 + each * row as f64;
        svg.text("bold pad", NAME, Hold::Start, left, y, &letters::cut(name, NAME, true, right - left));
        let label = label_of(row);
        if tall && !label.is_empty() {
            svg.text("pad", SMALL, Hold::Start, left, y + 18.0, &label);
        } else if !label.is_empty() {
            svg.text("bold pad", SMALL, Hold::End, right, y, &label);
        }
        svg.path("baseline thin", &format!("M{},{} v{}", n(left), n(y + head - 20.0), n(BAR)));
    }
    for s in bars {
        for (x, row) in s.points.iter().filter(|p| p.0.is_finite()) {
            let y = top + head + each * row;
            svg.rect("fill", left, y, (scale.at(*x) - left).max(0.0), BAR, 0.0);
            if *x > scale.high() {
                let half = n(BAR / 2.0);
                svg.path(
                    "cut",
                    &format!(
                        "M{},{} l5,{half} l-5,{half} m6,-{BAR} l5,{half} l-5,{half}",
                        n(scale.at(*x) - 16.0),
                        n(y)
                    ),
                );
            }
        }
    }
    for s in c.series.iter().filter(|s| s.style == Style::Whiskers) {
        for (x, row) in s.points.iter().filter(|p| p.0.is_finite()) {
            let (y, e) = (top + head + each * row + BAR / 2.0, scale.at(*x));
            svg.path("whisker", &format!("M{},{} H{} M{},{} v8", n(left), n(y), n(e), n(e), n(y - 4.0)));
        }
    }
    svg.path("baseline", &format!("M{},{} H{}", n(left), n(foot), n(right)));
    for (v, text) in scale.ticks(most) {
        let x = scale.at(v);
        let hold = if x - left < 20.0 {
            Hold::Start
        } else if right - x < 20.0 {
            Hold::End
        } else {
            Hold::Middle
        };
        svg.path("tick", &format!("M{},{} v5", n(x), n(foot)));
        svg.text("", SMALL, hold, x, foot + 20.0, &text);
    }
    let unit = if c.x.unit.is_empty() { c.x.label.clone() } else { format!("{}, {}", c.x.label, c.x.unit) };
    svg.text("bold quiet", SMALL, Hold::End, right, foot + 40.0, &unit);
    let mut y = foot + 46.0;
    for b in c.bands.iter().filter(|b| b.along == Along::X) {
        y += 16.0;
        svg.path("limit", &format!("M{},{} h26", n(left), n(y - 5.0)));
        svg.text("", SMALL, Hold::Start, left + 34.0, y, &b.label);
    }
    y
}
