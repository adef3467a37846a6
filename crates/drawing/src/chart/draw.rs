//! Drawing charts: title, fields one below the other, names at the lines, and a list of what found no room.

use super::axis::Scale;
use super::place::{Field, Placed};
use super::{Along, Axis, Band, Chart, Dash, Fill, Look, Style, rows};
use crate::letters;
use crate::style::{self, Theme};
use crate::svg::{Hold, Svg, escape, n};

/// Size of small words.
pub const SMALL: f64 = 13.5;
const TITLE: f64 = 18.0;
const NAME: f64 = 14.0;
const MARGIN: f64 = 10.0;
/// Places for one tick.
const TICK: f64 = 74.0;

/// Words that found no room in the field, keyed by number.
#[derive(Debug, Default)]
pub struct Keys(Vec<String>);

impl Keys {
    /// The number of a text.
    pub fn key(&mut self, text: &str) -> usize {
        let at = self.0.iter().position(|t| t == text).unwrap_or_else(|| {
            self.0.push(text.to_owned());
            self.0.len() - 1
        });
        at + 1
    }
}

/// All of it.
pub fn draw(charts: &[Chart], look: &Look) -> String {
    let Some(first) = charts.first() else { return String::new() };
    let room = look.width - 2.0 * MARGIN;
    let mut body = Svg::default();
    let mut y = 0.0;
    for line in letters::wrap(&first.title, TITLE, true, room, 3) {
        y += 24.0;
        body.text("bold", TITLE, Hold::Start, MARGIN, y, &line);
    }
    for line in letters::wrap(&first.about, SMALL, false, room, 6).iter().filter(|l| !l.is_empty()) {
        y += 19.0;
        body.text("quiet", SMALL, Hold::Start, MARGIN, y, line);
    }
    y += 12.0;
    let mut keys = Keys::default();
    if charts.iter().all(|c| c.y.names.is_empty()) {
        y = fields(&mut body, charts, look, y, &mut keys);
    } else {
        for chart in charts {
            y = rows::draw(&mut body, chart, look, MARGIN, y);
        }
    }
    y = list(&mut body, &keys, room, y);
    y = fills(&mut body, charts, room, y);
    let (w, h) = (n(look.width), n(y + 8.0));
    let title = escape(&first.title);
    let mut svg = Svg::default();
    svg.raw(&format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing chart\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" \
         role=\"img\" aria-label=\"{title}\" data-chart=\"{}\"><title>{title}</title><desc>{}</desc>",
        escape(&first.id),
        escape(&describe(charts))
    ));
    svg.raw(&style::element(look.theme)).newline();
    if look.theme != Theme::Page {
        svg.rect("ground", 0.0, 0.0, look.width, y + 8.0, 0.0);
    }
    svg.raw(&body.finish()).raw("</svg>\n");
    svg.finish()
}

/// The sentence and all remarks, for those who hear the chart.
fn describe(charts: &[Chart]) -> String {
    let mut out = charts.first().map(|c| c.about.clone()).unwrap_or_default();
    for c in charts {
        for b in c.bands.iter().map(|b| &b.label).chain(c.notes.iter().map(|n| &n.text)) {
            out += &format!(" {b}.");
        }
    }
    out
}

/// Title of an axis with its unit.
fn title(axis: &Axis) -> String {
    if axis.unit.is_empty() { axis.label.clone() } else { format!("{}, {}", axis.label, axis.unit) }
}

/// Fields that share their x axis.
fn fields(svg: &mut Svg, charts: &[Chart], look: &Look, mut y: f64, keys: &mut Keys) -> f64 {
    let each = if charts.len() == 1 { look.height } else { (look.height * 1.6 / charts.len() as f64).max(90.0) };
    let scale_y = |c: &Chart, top: f64| {
        let all = c.series.iter().flat_map(|s| s.points.iter().map(|p| p.1)).chain(c.notes.iter().map(|n| n.y));
        let limits = c.bands.iter().filter(|b| b.along == Along::Y).flat_map(|b| [b.from, b.to]);
        Scale::new(&c.y, all.chain(limits), top + each, top, each / 52.0)
    };
    let widest = charts
        .iter()
        .flat_map(|c| scale_y(c, 0.0).ticks(each / 52.0))
        .map(|(_, text)| letters::width(&text, SMALL, false))
        .fold(20.0, f64::max);
    let (left, right) = (MARGIN + widest + 8.0, look.width - MARGIN - 8.0);
    let xs = charts.iter().flat_map(|c| c.series.iter()).flat_map(|s| s.points.iter().map(|p| p.0));
    let most = (right - left) / TICK;
    let Some(axis) = charts.first().map(|c| &c.x) else { return y };
    let x_scale = Scale::new(axis, xs, left, right, most);
    for (i, c) in charts.iter().enumerate() {
        svg.text("bold quiet", SMALL, Hold::Start, MARGIN, y + 14.0, &title(&c.y));
        let named = c.bands.iter().any(|b| b.along == Along::X);
        let top = y + if named { 46.0 } else { 26.0 };
        let scale = scale_y(c, top);
        let last = i + 1 == charts.len();
        field(svg, c, (&x_scale, &scale), [left, right, top, top + each], last, keys);
        y = top + each + if last { 46.0 } else { 14.0 };
        if last {
            svg.text("bold quiet", SMALL, Hold::End, right, y - 6.0, &title(axis));
        }
    }
    y + 4.0
}

/// One field with everything in it.
fn field(
    svg: &mut Svg,
    c: &Chart,
    (sx, sy): (&Scale, &Scale),
    [left, right, top, foot]: [f64; 4],
    last: bool,
    keys: &mut Keys,
) {
    svg.raw(&format!(
        "<g class=\"field\" data-left=\"{}\" data-right=\"{}\" data-top=\"{}\" data-foot=\"{}\" data-x=\"{} {}\" data-y=\"{} {}\" data-x-unit=\"{}\" data-y-unit=\"{}\">",
        n(left), n(right), n(top), n(foot), sx.low(), sx.high(), sy.low(), sy.high(), escape(&c.x.unit), escape(&c.y.unit)
    ));
    let mut free = Field::new(left + 3.0, right - 2.0, top + 2.0, foot - 2.0);
    for (i, b) in c.bands.iter().filter(|b| b.along == Along::X && b.to > b.from).enumerate() {
        let (a, e) = (sx.at(b.from), sx.at(b.to));
        if i % 2 == 1 {
            svg.rect("shade", a, top, e - a, foot - top, 0.0);
        }
    }
    for (v, text) in sy.ticks((foot - top) / 52.0) {
        let y = sy.at(v);
        svg.path("grid", &format!("M{},{} H{}", n(left), n(y), n(right)));
        svg.text("", SMALL, Hold::End, left - 7.0, y + 4.6, &text);
    }
    for (v, text) in sx.ticks((right - left) / TICK) {
        let x = sx.at(v);
        svg.path("tick", &format!("M{},{} v5", n(x), n(foot)));
        if last {
            svg.text("", SMALL, Hold::Middle, x, foot + 20.0, &text);
        }
    }
    for s in &c.series {
        if let Style::Area(fill) = s.style {
            for run in runs(&s.points, sx, sy) {
                fill_below(svg, fill, &run, foot);
                if fill != Fill::Empty {
                    // Words stand beside a filled piece rather than on it.
                    for (x, y) in &run {
                        keep_off(&[vec![(*x, *y), (*x, foot)]], &mut free);
                    }
                }
            }
        }
    }
    svg.path("baseline", &format!("M{},{} H{}", n(left), n(foot), n(right)));
    for s in c.series.iter().filter(|s| matches!(s.style, Style::Line(_))) {
        keep_off(&runs(&s.points, sx, sy), &mut free);
    }
    for b in c.bands.iter().filter(|b| b.along == Along::Y && b.from == b.to) {
        keep_off(&[vec![(left, sy.at(b.from)), (right, sy.at(b.from))]], &mut free);
    }
    for note in c.notes.iter().filter(|n| n.x.is_finite() && n.y.is_finite()) {
        let (x, y) = (sx.at(note.x), sy.at(note.y));
        free.take(x - 6.0, x + 6.0, y - 6.0, y + 6.0);
    }
    for b in c.bands.iter().filter(|b| b.along == Along::Y) {
        level(svg, b, sy, [left, right], &mut free);
    }
    for s in &c.series {
        if let Style::Line(dash) = s.style {
            curve(svg, &s.name, dash, &runs(&s.points, sx, sy));
        }
    }
    columns(svg, c, sx, [top, foot], keys);
    for note in c.notes.iter().filter(|n| n.x.is_finite() && n.y.is_finite()) {
        let (x, y) = (sx.at(note.x), sy.at(note.y));
        let at = |hold, dx: f64, dy: f64| Placed { hold, x: x + dx, y: y + dy };
        let mut places = vec![
            at(Hold::Start, 10.0, -8.0),
            at(Hold::End, -10.0, -8.0),
            at(Hold::Start, 10.0, 18.0),
            at(Hold::End, -10.0, 18.0),
        ];
        places.extend([
            at(Hold::Middle, 0.0, -12.0),
            at(Hold::Middle, 0.0, 22.0),
            at(Hold::Start, 10.0, -26.0),
            at(Hold::End, -10.0, -26.0),
        ]);
        if let Some(p) = free.put(&note.text, SMALL, false, &places) {
            svg.circle("dot", x, y, 4.5).text("pad", SMALL, p.hold, p.x, p.y, &note.text);
        } else {
            svg.circle("dot", x, y, 4.5);
            let around = [(0.0, -15.0), (0.0, 25.0), (16.0, 4.0), (-16.0, 4.0), (18.0, -15.0), (-18.0, -15.0)];
            ring_near(svg, &note.text, (x, y), &around, &mut free, keys);
        }
    }
    names(svg, c, (sx, sy), &mut free, keys);
    svg.raw("</g>").newline();
}

/// A number in a ring.
fn ring(svg: &mut Svg, number: usize, x: f64, y: f64) {
    svg.circle("key", x, y, 9.5).text("bold reverse", 11.0, Hold::Middle, x, y + 4.0, &number.to_string());
}

/// A number in a ring at the first free place around a point, with its text in the list; nothing where there is none.
fn ring_near(svg: &mut Svg, text: &str, (x, y): (f64, f64), around: &[(f64, f64)], free: &mut Field, keys: &mut Keys) {
    let places: Vec<Placed> =
        around.iter().map(|(dx, dy)| Placed { hold: Hold::Middle, x: x + dx, y: y + dy + 3.0 }).collect();
    // As wide and high as the ring.
    if let Some(p) = free.put("00", 16.0, false, &places) {
        ring(svg, keys.key(text), p.x, p.y - 5.0);
    }
}

/// Names of the parts along x, above the field.
fn columns(svg: &mut Svg, c: &Chart, sx: &Scale, [top, foot]: [f64; 2], keys: &mut Keys) {
    let all: Vec<&Band> = c.bands.iter().filter(|b| b.along == Along::X && b.to > b.from).collect();
    // Rings of narrow parts move right rather than cover each other.
    let mut taken = f64::NEG_INFINITY;
    for (i, b) in all.iter().enumerate() {
        let (a, e) = (sx.at(b.from), sx.at(b.to));
        if i > 0 {
            svg.path("parting", &format!("M{},{} V{}", n(a), n(top - 20.0), n(foot)));
        }
        let (middle, wide) = ((a + e) / 2.0, letters::width(&b.label, NAME, true));
        if wide <= e - a - 10.0 && middle - wide / 2.0 > taken {
            svg.text("bold", NAME, Hold::Middle, middle, top - 7.0, &b.label);
            taken = middle + wide / 2.0 + 4.0;
        } else {
            let x = middle.max(taken + 11.0);
            if x <= sx.at(f64::INFINITY) {
                ring(svg, keys.key(&b.label), x, top - 11.0);
                taken = x + 11.0;
            }
        }
    }
}

/// A limit or a named part of the y axis.
fn level(svg: &mut Svg, b: &Band, sy: &Scale, [left, right]: [f64; 2], free: &mut Field) {
    let (low, high) = (sy.at(b.from), sy.at(b.to));
    if b.to > b.from {
        svg.rect("shade", left, high, right - left, low - high, 0.0);
    } else {
        svg.path("limit", &format!("M{},{} H{}", n(left), n(low), n(right)));
    }
    let at = |hold, x: f64, y: f64| Placed { hold, x, y };
    let places = [
        at(Hold::End, right - 6.0, high - 6.0),
        at(Hold::Start, left + 6.0, high - 6.0),
        at(Hold::End, right - 6.0, low + 16.0),
        at(Hold::Start, left + 6.0, low + 16.0),
    ];
    if let Some(p) = free.put(&b.label, SMALL, false, &places) {
        svg.text("pad", SMALL, p.hold, p.x, p.y, &b.label);
    }
}

/// Runs of points without a gap, as places.
fn runs(points: &[(f64, f64)], sx: &Scale, sy: &Scale) -> Vec<Vec<(f64, f64)>> {
    points
        .split(|p| !p.0.is_finite() || !p.1.is_finite())
        .filter(|r| !r.is_empty())
        .map(|r| r.iter().map(|(x, y)| (sx.at(*x), sy.at(*y))).collect())
        .collect()
}

fn polyline(points: &[(f64, f64)]) -> String {
    let mut d = String::new();
    let mut before = String::new();
    for (x, y) in points {
        let at = format!("{},{}", n(*x), n(*y));
        // Points that fall on the same tenth add nothing.
        if at != before {
            d += if d.is_empty() { "M" } else { " L" };
            d += &at;
            before = at;
        }
    }
    d
}

/// Fills what lies between a line and the foot.
fn fill_below(svg: &mut Svg, fill: Fill, line: &[(f64, f64)], foot: f64) {
    /// On a grid of the whole picture, so that neighbouring pieces join.
    const EVERY: f64 = 6.0;
    let (Some(first), Some(last)) = (line.first(), line.last()) else { return };
    match fill {
        Fill::Empty => {}
        Fill::Solid => {
            let outline = format!("{} L{},{} L{},{} Z", polyline(line), n(last.0), n(foot), n(first.0), n(foot));
            svg.path("fill", &outline);
        }
        Fill::Hatched => {
            let mut d = String::new();
            let mut x = (first.0 / EVERY).ceil() * EVERY;
            while x <= last.0 {
                if let Some(w) = line.windows(2).find(|w| w[0].0 <= x && x <= w[1].0) {
                    let share = if w[1].0 > w[0].0 { (x - w[0].0) / (w[1].0 - w[0].0) } else { 0.0 };
                    let y = w[0].1 + share * (w[1].1 - w[0].1);
                    if foot - y > 0.5 {
                        d += &format!("M{},{} V{} ", n(x), n(y), n(foot));
                    }
                }
                x += EVERY;
            }
            if !d.is_empty() {
                svg.path("hatching", d.trim_end());
            }
        }
    }
}

/// Keeps words off lines.
fn keep_off(runs: &[Vec<(f64, f64)>], free: &mut Field) {
    for w in runs.iter().flat_map(|r| r.windows(2)) {
        let steps = (((w[1].0 - w[0].0).abs() + (w[1].1 - w[0].1).abs()) / 5.0).ceil().clamp(1.0, 400.0);
        for k in 0..=steps as usize {
            let s = k as f64 / steps;
            free.line(w[0].0 + s * (w[1].0 - w[0].0), w[0].1 + s * (w[1].1 - w[0].1));
        }
    }
}

fn curve(svg: &mut Svg, name: &str, dash: Dash, runs: &[Vec<(f64, f64)>]) {
    for run in runs {
        if let [only] = run.as_slice() {
            svg.circle("dot", only.0, only.1, 3.0);
        } else {
            let (class, name) = (dash.class(), escape(name));
            svg.raw(&format!("<path class=\"{class}\" data-name=\"{name}\" d=\"{}\"/>", polyline(run)));
        }
    }
}

/// Names at the lines, where there is more than one.
fn names(svg: &mut Svg, c: &Chart, (sx, sy): (&Scale, &Scale), free: &mut Field, keys: &mut Keys) {
    let lines: Vec<_> = c.series.iter().filter(|s| matches!(s.style, Style::Line(_))).collect();
    if lines.len() < 2 {
        return;
    }
    for s in lines {
        let all: Vec<(f64, f64)> = runs(&s.points, sx, sy).concat();
        let mut places = Vec::new();
        for share in [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1] {
            let Some((x, y)) = all.get(((all.len().saturating_sub(1)) as f64 * share) as usize) else { continue };
            for (hold, dx, dy) in [
                (Hold::End, -4.0, -7.0),
                (Hold::Middle, 0.0, -7.0),
                (Hold::Start, 6.0, -7.0),
                (Hold::End, -4.0, 18.0),
                (Hold::Middle, 0.0, 18.0),
                (Hold::Start, 6.0, 18.0),
            ] {
                places.push(Placed { hold, x: x + dx, y: y + dy });
            }
        }
        if let Some(p) = free.put(&s.name, NAME, true, &places) {
            svg.text("bold pad", NAME, p.hold, p.x, p.y, &s.name);
        } else if let Some(at) = all.get(all.len() / 2) {
            let around = [(0.0, 4.0), (24.0, 4.0), (-24.0, 4.0), (0.0, -20.0), (0.0, 28.0), (48.0, 4.0), (-48.0, 4.0)];
            ring_near(svg, &s.name, *at, &around, free, keys);
        }
    }
}

/// What each fill means.
fn fills(svg: &mut Svg, charts: &[Chart], room: f64, mut y: f64) -> f64 {
    let mut x = f64::INFINITY;
    for s in charts.iter().flat_map(|c| &c.series) {
        let Style::Area(fill) = s.style else { continue };
        let wide = 46.0 + letters::width(&s.name, SMALL, false) + 22.0;
        if x + wide > MARGIN + room {
            x = MARGIN;
            y += 24.0;
        }
        let corners = [(x, y - 13.0), (x + 36.0, y - 13.0)];
        fill_below(svg, fill, &corners, y + 2.0);
        svg.rect("swatch", x, y - 13.0, 36.0, 15.0, 0.0);
        svg.text("", SMALL, Hold::Start, x + 46.0, y, &s.name);
        x += wide;
    }
    y
}

/// What found no room.
fn list(svg: &mut Svg, keys: &Keys, room: f64, mut y: f64) -> f64 {
    let mut x = MARGIN;
    for (i, text) in keys.0.iter().enumerate() {
        let text = letters::cut(text, SMALL, false, room - 30.0);
        let wide = 26.0 + letters::width(&text, SMALL, false) + 22.0;
        if i == 0 || x + wide > MARGIN + room {
            x = MARGIN;
            y += 24.0;
        }
        ring(svg, i + 1, x + 10.0, y - 5.0);
        svg.text("", SMALL, Hold::Start, x + 26.0, y, &text);
        x += wide;
    }
    y
}
