//! Charts: one description of what is shown, drawn as SVG and written as CSV.
//!
//! Lines are told apart by their dashes and carry their names at their ends; fills by pattern. Nothing is turned on its
//! side, so everything can be read from a bench away.

mod axis;
mod draw;
mod hill;
mod of_job;
mod place;
mod ride;
mod rows;

pub use hill::{Brakes, Event, Hill, temperatures};
pub use of_job::{ceiling, chances, charge_current, descent_heat, measure_next, swings};
pub use ride::ride_strip;

use crate::style::Theme;

/// One axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// What it is, for people.
    pub label: String,
    /// Its unit, empty for plain numbers.
    pub unit: String,
    /// Its column in the CSV, with the unit: `speed_km_per_h`.
    pub key: String,
    /// Range that is shown in any case.
    pub from: Option<f64>,
    /// Range that is shown in any case.
    pub to: Option<f64>,
    /// Names instead of numbers: rows of bars, from the top.
    pub names: Vec<String>,
    /// Steps of ten, for chances.
    pub log: bool,
    /// Numbers beyond `to` are drawn at its end, with a mark.
    pub capped: bool,
}

/// How a line is dashed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    #[default]
    Solid,
    /// Long dashes.
    Long,
    /// Short dashes.
    Short,
    /// Dots.
    Dots,
}

impl Dash {
    /// All, most visible first.
    pub const ALL: [Self; 4] = [Self::Solid, Self::Long, Self::Short, Self::Dots];
    const fn class(self) -> &'static str {
        match self {
            Self::Solid => "curve",
            Self::Long => "curve long",
            Self::Short => "curve short",
            Self::Dots => "curve dots",
        }
    }
}

/// How a surface is filled.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fill {
    /// The accent colour.
    #[default]
    Solid,
    /// Upright lines.
    Hatched,
    /// Nothing.
    Empty,
}

/// How a series is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// A line.
    Line(Dash),
    /// The surface between a line and the foot of the chart, without a name at its end.
    Area(Fill),
    /// One bar a row; the second number of a point is its row, from 0.
    Bars,
    /// A thin line from each bar on; the second number of a point is its row.
    Whiskers,
}

/// One series of numbers. A point that is not finite is a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Its name.
    pub name: String,
    /// How it is shown.
    pub style: Style,
    /// Its points, x first.
    pub points: Vec<(f64, f64)>,
    /// What stands beside each bar.
    pub labels: Vec<String>,
}

impl Series {
    /// A line.
    pub fn line(name: &str, dash: Dash, points: Vec<(f64, f64)>) -> Self {
        Self { name: name.to_owned(), style: Style::Line(dash), points, labels: Vec::new() }
    }
}

/// Which way a band lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// From one x to another, over the whole height.
    X,
    /// From one y to another, over the whole width.
    Y,
}

/// A named part of an axis, or a limit where both ends are the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Which way it lies.
    pub along: Along,
    /// Where it starts.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// What it is.
    pub label: String,
}

/// A point that has something to say.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// Where.
    pub x: f64,
    /// Where.
    pub y: f64,
    /// What.
    pub text: String,
}

/// What a chart shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chart {
    /// Identifier, for file names and the CSV.
    pub id: String,
    /// Title.
    pub title: String,
    /// What it says, in one sentence.
    pub about: String,
    /// Across.
    pub x: Axis,
    /// Upwards.
    pub y: Axis,
    /// Numbers.
    pub series: Vec<Series>,
    /// Parts and limits.
    pub bands: Vec<Band>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// How large a chart is and where it is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Width of the whole.
    pub width: f64,
    /// Height of the field between the axes; words come above and below it.
    pub height: f64,
    /// Where it is shown.
    pub theme: Theme,
}

impl Default for Look {
    fn default() -> Self {
        Self { width: 760.0, height: 300.0, theme: Theme::Page }
    }
}

impl Chart {
    /// The chart as SVG.
    pub fn svg(&self, look: &Look) -> String {
        stacked(std::slice::from_ref(self), look)
    }

    /// Its numbers: one row a point.
    pub fn csv(&self) -> String {
        let named = !self.y.names.is_empty();
        let mut out = if named {
            format!("series,row,{}\n", self.x.key)
        } else {
            format!("series,{},{}\n", self.x.key, self.y.key)
        };
        for s in &self.series {
            for (x, y) in &s.points {
                let second = if named {
                    self.y.names.get(*y as usize).map_or_else(String::new, |n| field(n))
                } else {
                    number(*x)
                };
                let third = number(if named { *x } else { *y });
                out += &format!("{},{second},{third}\n", field(&s.name));
            }
        }
        out
    }
}

/// Charts that share their x axis, one below the other.
pub fn stacked(charts: &[Chart], look: &Look) -> String {
    draw::draw(charts, look)
}

/// A number as written in a CSV: the shortest text that gives the same number again, empty where there is none.
fn number(value: f64) -> String {
    if value.is_finite() { format!("{value}") } else { String::new() }
}

/// A field of a CSV (RFC 4180).
fn field(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}
