//! Residuals as pictures: a line of text for each reading, and the same as SVG.

/// One reading in a residual plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Dot {
    /// What it is called.
    pub name: String,
    /// Distance from the fit in its own standard deviations.
    pub studentised: f64,
    /// Whether it was set aside.
    pub bad: bool,
}

/// Ends of the picture, in standard deviations.
const REACH: f64 = 4.0;
/// Cells to each side of the middle.
const CELLS: f64 = 10.0;

/// `··········|··o·······`, with `X` for a bad reading; beyond four deviations it stands at the edge as an arrow.
pub fn line(dot: &Dot) -> String {
    let mut cells: Vec<char> = vec!['·'; 2 * CELLS as usize + 1];
    cells[CELLS as usize] = '|';
    let place = (dot.studentised / REACH * CELLS).round();
    let at = (place.clamp(-CELLS, CELLS) + CELLS) as usize;
    cells[at] = match (dot.bad, place) {
        (_, p) if p < -CELLS => '◀',
        (_, p) if p > CELLS => '▶',
        (true, _) => 'X',
        (false, _) => 'o',
    };
    cells.into_iter().collect()
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// The whole picture as SVG: one row a reading, the band of two deviations shaded; set-aside readings are crosses.
pub fn svg(title: &str, axis: &str, dots: &[Dot]) -> String {
    let (left, width, row) = (260.0, 400.0, 22.0);
    let top = 44.0;
    let height = top + row * dots.len() as f64 + 40.0;
    let x = |s: f64| left + width * (s.clamp(-REACH, REACH) + REACH) / (2.0 * REACH);
    let bottom = height - 36.0;
    let total = left + width + 20.0;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {total} {height}\" width=\"{total}\" height=\"{height}\" \
         role=\"img\" font-family=\"sans-serif\" font-size=\"13\">\n<title>{0}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n<text x=\"8\" y=\"22\" font-size=\"15\">{0}</text>\n\
         <rect x=\"{1}\" y=\"{top}\" width=\"{2}\" height=\"{3}\" fill=\"#e8eef4\"/>\n",
        escaped(title),
        x(-2.0),
        x(2.0) - x(-2.0),
        bottom - top,
    );
    for tick in -4..=4 {
        let at = x(f64::from(tick));
        let (colour, thick) = if tick == 0 { ("#333", 1.5) } else { ("#bbb", 0.5) };
        out.push_str(&format!(
            "<line x1=\"{at}\" x2=\"{at}\" y1=\"{top}\" y2=\"{bottom}\" stroke=\"{colour}\" stroke-width=\"{thick}\"/>\
             <text x=\"{at}\" y=\"{}\" text-anchor=\"middle\">{tick}</text>\n",
            bottom + 16.0
        ));
    }
    for (i, d) in dots.iter().enumerate() {
        let (cx, cy) = (x(d.studentised), top + row * (i as f64 + 0.5));
        out.push_str(&format!(
            "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
            left - 10.0,
            cy + 4.0,
            escaped(&d.name)
        ));
        out.push_str(&if d.bad {
            let (a, b, c, e) = (cx - 5.0, cx + 5.0, cy - 5.0, cy + 5.0);
            format!("<path d=\"M{a} {c}L{b} {e}M{a} {e}L{b} {c}\" stroke=\"#b00020\" stroke-width=\"2.5\"/>\n")
        } else {
            format!("<circle cx=\"{cx}\" cy=\"{cy}\" r=\"4\" fill=\"#1b5e8c\"/>\n")
        });
    }
    out.push_str(&format!(
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>\n</svg>\n",
        left + width / 2.0,
        height - 4.0,
        escaped(axis)
    ));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_stands_where_it_belongs() {
        let dot = |studentised, bad| Dot { name: "a < b".to_owned(), studentised, bad };
        assert_eq!(line(&dot(0.0, false)), "··········o··········");
        assert_eq!(line(&dot(2.0, false)), "··········|····o·····");
        assert_eq!(line(&dot(-9.0, true)), "◀·········|··········");
        let picture = svg("t", "deviations", &[dot(1.0, false), dot(5.0, true)]);
        assert!(picture.contains("a &lt; b") && picture.contains("<circle") && picture.contains("<path"));
    }
}
