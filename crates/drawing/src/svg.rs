//! Writing SVG: numbers to a tenth, text escaped, every text at a place of its own and never inside a transform, so that
//! a test can say which words overlap.

use core::fmt::Write;

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hold {
    /// At its start.
    Start,
    /// At its middle.
    Middle,
    /// At its end.
    End,
}

/// A piece of SVG being written.
#[derive(Clone, Debug, Default)]
pub struct Svg(String);

impl Svg {
    /// Adds ready markup.
    pub fn raw(&mut self, markup: &str) -> &mut Self {
        self.0.push_str(markup);
        self
    }
    /// A path.
    pub fn path(&mut self, class: &str, d: &str) -> &mut Self {
        let _ = write!(self.0, "<path class=\"{class}\" d=\"{d}\"/>");
        self
    }
    /// A rectangle.
    pub fn rect(&mut self, class: &str, x: f64, y: f64, w: f64, h: f64, r: f64) -> &mut Self {
        let round = if r > 0.0 { format!(" rx=\"{}\"", n(r)) } else { String::new() };
        let (x, y, w, h) = (n(x), n(y), n(w), n(h));
        let _ = write!(self.0, "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"{round}/>");
        self
    }
    /// A circle.
    pub fn circle(&mut self, class: &str, x: f64, y: f64, r: f64) -> &mut Self {
        let _ = write!(self.0, "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>", n(x), n(y), n(r));
        self
    }
    /// A text whose baseline stands at that place.
    pub fn text(&mut self, class: &str, size: f64, hold: Hold, x: f64, y: f64, text: &str) -> &mut Self {
        let anchor = match hold {
            Hold::Start => "",
            Hold::Middle => " text-anchor=\"middle\"",
            Hold::End => " text-anchor=\"end\"",
        };
        let (x, y, size) = (n(x), n(y), n(size));
        let text = escape(text);
        let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
        let _ = write!(self.0, "<text{class} x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{anchor}>{text}</text>");
        self
    }
    /// A line break between groups, so that files can be compared line by line.
    pub fn newline(&mut self) -> &mut Self {
        self.0.push('\n');
        self
    }
    /// What has been written.
    pub fn finish(self) -> String {
        self.0
    }
}

/// A number to a tenth, without trailing zero.
pub fn n(value: f64) -> String {
    let tenths = (value * 10.0).round();
    // Minus zero would print a sign.
    let value = if tenths == 0.0 { 0.0 } else { tenths / 10.0 };
    format!("{value}")
}

/// Text made safe inside elements and attributes.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // XML knows no control characters but these three.
            c if c.is_control() && !matches!(c, '\t' | '\n' | '\r') => out.push(' '),
            '\u{FFFE}' | '\u{FFFF}' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
