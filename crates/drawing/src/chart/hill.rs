//! The hill strip: speed, who brakes on which piece of the height profile, and the battery, over the way.

use super::{Along, Axis, Band, Chart, Dash, Fill, Look, Note, Series, Style, stacked};
use workbench::words;

/// Who brakes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Brakes {
    /// The motor.
    Motor,
    /// The hands.
    Hands,
    /// Nobody.
    Nobody,
}

impl Brakes {
    const ALL: [Self; 3] = [Self::Motor, Self::Hands, Self::Nobody];
    const fn token(self) -> &'static str {
        match self {
            Self::Motor => "motor",
            Self::Hands => "hands",
            Self::Nobody => "nobody",
        }
    }
    const fn fill(self) -> Fill {
        match self {
            Self::Motor => Fill::Solid,
            Self::Hands => Fill::Hatched,
            Self::Nobody => Fill::Empty,
        }
    }
}

/// Something that happens on the way: a limit bites, the pack opens.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Where.
    pub at_km: f64,
    /// What, in words.
    pub text: String,
}

/// A ride, as slices of the same length.
#[derive(Clone, Debug, PartialEq)]
pub struct Hill<'a> {
    /// Title of the strip.
    pub title: &'a str,
    /// What it says, in one sentence.
    pub about: &'a str,
    /// Way from the start, rising.
    pub distance_km: &'a [f64],
    /// Height.
    pub height_m: &'a [f64],
    /// Speed.
    pub speed_km_per_h: &'a [f64],
    /// Charge of the battery.
    pub charge_percent: &'a [f64],
    /// Who brakes from each point to the next.
    pub brakes: &'a [Brakes],
    /// What happens on the way.
    pub events: &'a [Event],
}

/// More points than these are thinned: one in so many is kept where nothing changes.
const MOST: usize = 1500;

impl Hill<'_> {
    /// Points that are drawn: evenly thinned, and every one where who brakes changes.
    fn kept(&self) -> Vec<usize> {
        let len = [
            self.distance_km.len(),
            self.height_m.len(),
            self.speed_km_per_h.len(),
            self.charge_percent.len(),
            self.brakes.len(),
        ]
        .into_iter()
        .min()
        .unwrap_or(0);
        let every = len.div_ceil(MOST).max(1);
        let changes = |i: usize| i > 0 && self.brakes[i] != self.brakes[i - 1];
        (0..len).filter(|i| i % every == 0 || i + 1 == len || changes(*i)).collect()
    }

    /// The charts of the strip, from the top: speed, height, charge.
    pub fn charts(&self) -> Vec<Chart> {
        let kept = self.kept();
        let text = |key: &str| words::text(&format!("drawing.chart.hill.{key}"));
        let points = |from: &[f64]| kept.iter().map(|i| (self.distance_km[*i], from[*i])).collect::<Vec<_>>();
        let ends = (kept.first().map(|i| self.distance_km[*i]), kept.last().map(|i| self.distance_km[*i]));
        let x = Axis {
            label: text("x"),
            unit: "km".to_owned(),
            key: "distance_km".to_owned(),
            from: ends.0,
            to: ends.1,
            ..Axis::default()
        };
        let axis = |key: &str, unit: &str, column: &str| Axis {
            label: text(key),
            unit: unit.to_owned(),
            key: column.to_owned(),
            ..Axis::default()
        };
        let chart = |id: &str, y: Axis, series: Vec<Series>| Chart {
            id: id.to_owned(),
            title: self.title.to_owned(),
            about: self.about.to_owned(),
            x: x.clone(),
            y,
            series,
            ..Chart::default()
        };
        let speed = Axis { from: Some(0.0), ..axis("speed", "km/h", "speed_km_per_h") };
        let speed =
            chart("hill-speed", speed, vec![Series::line(&text("speed"), Dash::Solid, points(self.speed_km_per_h))]);

        let mut series: Vec<Series> = Brakes::ALL
            .iter()
            .filter(|who| kept.iter().any(|i| self.brakes[*i] == **who))
            .map(|who| Series {
                name: text(who.token()),
                style: Style::Area(who.fill()),
                points: self.pieces(&kept, *who),
                labels: Vec::new(),
            })
            .collect();
        series.push(Series::line(&text("height"), Dash::Solid, points(self.height_m)));
        let mut height = chart("hill-height", axis("height", "m", "height_m"), series);
        height.notes = self.events.iter().filter_map(|e| self.note(e)).collect();

        let charge = chart(
            "hill-charge",
            axis("charge", "%", "charge_percent"),
            vec![Series::line(&text("charge"), Dash::Solid, points(self.charge_percent))],
        );
        vec![speed, height, charge]
    }

    /// The strip as SVG.
    pub fn svg(&self, look: &Look) -> String {
        stacked(&self.charts(), look)
    }

    /// Pieces of the profile on which one of them brakes, with a gap between each and the next.
    fn pieces(&self, kept: &[usize], who: Brakes) -> Vec<(f64, f64)> {
        let mut out = Vec::new();
        for w in kept.windows(2) {
            if self.brakes[w[0]] == who {
                out.push((self.distance_km[w[0]], self.height_m[w[0]]));
                out.push((self.distance_km[w[1]], self.height_m[w[1]]));
            } else if out.last().is_some_and(|p: &(f64, f64)| p.0.is_finite()) {
                out.push((f64::NAN, f64::NAN));
            }
        }
        out
    }

    /// An event on the profile; nothing where the profile does not reach.
    fn note(&self, e: &Event) -> Option<Note> {
        let after = self.distance_km.iter().position(|d| *d >= e.at_km)?;
        let y = *self.height_m.get(after)?;
        Some(Note { x: e.at_km, y, text: e.text.clone() })
    }
}

/// Temperatures of winding and hub shell along the way, each with its limit; points are (way, °C).
pub fn temperatures(
    winding: &[(f64, f64)],
    shell: &[(f64, f64)],
    winding_limit: Option<f64>,
    shell_limit: Option<f64>,
) -> Chart {
    let text = |key: &str| words::text(&format!("drawing.chart.heat.{key}"));
    let limit = |celsius: f64, key: &str| Band { along: Along::Y, from: celsius, to: celsius, label: text(key) };
    Chart {
        id: "heat".to_owned(),
        title: text("title"),
        about: text("about"),
        x: Axis { label: text("x"), unit: "km".to_owned(), key: "distance_km".to_owned(), ..Axis::default() },
        y: Axis { label: text("y"), unit: "°C".to_owned(), key: "temperature_c".to_owned(), ..Axis::default() },
        series: vec![
            Series::line(&text("winding"), Dash::Solid, winding.to_vec()),
            Series::line(&text("shell"), Dash::Long, shell.to_vec()),
        ],
        bands: [(winding_limit, "winding-limit"), (shell_limit, "shell-limit")]
            .into_iter()
            .filter_map(|(c, key)| c.map(|c| limit(c, key)))
            .collect(),
        notes: Vec::new(),
    }
}
