//! Small signs: the state of a link beside its word, and what the axle does in its slot.

use crate::svg::{Svg, n};
use workbench::check::{State, Verdict};

/// What a sign stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// The result of a link or a job.
    Result(Verdict),
    /// A part that is not there and could be added.
    NotFitted,
}

impl Sign {
    /// All of them, best first.
    pub const ALL: [Self; 6] = [
        Self::Result(Verdict::Holds),
        Self::Result(Verdict::Marginal),
        Self::Result(Verdict::Fails),
        Self::Result(Verdict::NotKnown),
        Self::Result(Verdict::Refused),
        Self::NotFitted,
    ];
    /// Identifier of its symbol: `link-holds`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Result(Verdict::Holds) => "link-holds",
            Self::Result(Verdict::Marginal) => "link-marginal",
            Self::Result(Verdict::NotKnown) => "link-not-known",
            Self::Result(Verdict::Fails) => "link-fails",
            Self::Result(Verdict::Refused) => "link-refused",
            Self::NotFitted => "link-not-fitted",
        }
    }
    /// What is inside its 40 by 40 field, in the colour of the text around it.
    pub const fn inside(self) -> &'static str {
        match self {
            Self::Result(Verdict::Holds) => {
                r#"<rect x="5" y="10" width="30" height="20" rx="10" fill="none" stroke="currentColor" stroke-width="3"/>"#
            }
            Self::Result(Verdict::Marginal) => {
                r#"<rect x="5" y="10" width="30" height="20" rx="10" fill="none" stroke="currentColor" stroke-width="5"/><path d="M24,3 l-5,8 l6,5 l-4,6" fill="none" stroke="currentColor" stroke-width="2.5"/>"#
            }
            Self::Result(Verdict::Fails) => {
                r#"<path d="M18,8 H13 a9,9 0 0 0 0,20 H17 M24,13 H28 a9,9 0 0 1 0,20 H22" fill="none" stroke="currentColor" stroke-width="4.5"/><path d="M22,3 l-5,9 l6,6 l-5,9 l5,10" fill="none" stroke="currentColor" stroke-width="2"/>"#
            }
            Self::Result(Verdict::NotKnown) => {
                r#"<rect x="5" y="8" width="30" height="24" rx="12" fill="none" stroke="currentColor" stroke-width="2.5" stroke-dasharray="5 4"/><path d="M16,17 a4.2,4.2 0 1 1 6,3.6 q-2,1 -2,3.4 M20,27.4 v0.2" fill="none" stroke="currentColor" stroke-width="2.6" stroke-linecap="round"/>"#
            }
            Self::Result(Verdict::Refused) => {
                r#"<path d="M13,4 H27 L36,13 V27 L27,36 H13 L4,27 V13 Z" fill="none" stroke="currentColor" stroke-width="3.5"/><path d="M12,28 L28,12" fill="none" stroke="currentColor" stroke-width="4.5"/>"#
            }
            Self::NotFitted => {
                r#"<path d="M3,20 H37" fill="none" stroke="currentColor" stroke-width="1.5"/><path d="M20,13 v14 M13,20 h14" fill="none" stroke="currentColor" stroke-width="2.5"/>"#
            }
        }
    }
    /// The sign alone, for a row in which its word stands beside it.
    pub fn svg(self, size: u16) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"sign\" viewBox=\"0 0 40 40\" width=\"{size}\" height=\"{size}\" \
             aria-hidden=\"true\" focusable=\"false\">{}</svg>",
            self.inside()
        )
    }
}

/// All signs as symbols, to be put once into a page and used by `<use href="#link-fails"/>`.
pub fn symbols() -> String {
    let mut out = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"0\" height=\"0\" aria-hidden=\"true\" focusable=\"false\">",
    );
    for sign in Sign::ALL {
        out += &format!("<symbol id=\"{}\" viewBox=\"0 0 40 40\">{}</symbol>", sign.id(), sign.inside());
    }
    out + "</svg>"
}

/// What the axle does, as a picture of its own: its flats in their slot, standing still or turned through their play.
pub fn axle(state: Option<State>, size: u16) -> String {
    let mut svg = Svg::default();
    axle_state(&mut svg, state, 32.0, 24.0, 1.0);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing axle\" viewBox=\"0 0 64 48\" width=\"{size}\" height=\"{}\" \
         aria-hidden=\"true\" focusable=\"false\">{}</svg>",
        size * 3 / 4,
        svg.finish()
    )
}

/// The same around (x, y), 56 wide and 40 high times `scale`.
pub(crate) fn axle_state(svg: &mut Svg, state: Option<State>, x: f64, y: f64, scale: f64) {
    let at = |points: &[(f64, f64)], close: &str| {
        let points: Vec<String> =
            points.iter().map(|(a, b)| format!("{},{}", n(x + scale * a), n(y + scale * b))).collect();
        format!("M{}{close}", points.join(" L"))
    };
    for side in [-1.0, 1.0] {
        svg.path("line", &at(&[(side * 27.0, -16.0), (side * 10.5, -16.0), (side * 10.5, 18.0)], ""));
    }
    let flats = [(-8.5, -11.0), (8.5, -11.0), (8.5, 11.0), (-8.5, 11.0)];
    let turned = |angle: f64| flats.map(|(a, b)| (0.92 * (a - angle * b), 0.92 * (b + angle * a)));
    let arrow = |svg: &mut Svg, side: f64| {
        svg.path("line", &at(&[(side * 16.0, -9.0), (side * 20.5, -2.0), (side * 19.0, 8.0)], ""));
        svg.path("line", &at(&[(side * 15.0, 3.5), (side * 19.0, 8.5), (side * 24.0, 4.5)], ""));
    };
    match state {
        None => {
            svg.path("line unknown", &at(&flats, " Z"));
            svg.path("line", &at(&[(-3.5, -4.0), (-2.0, -6.5), (2.0, -6.5), (3.5, -4.0), (0.0, 0.5), (0.0, 2.5)], ""));
            svg.path("line", &at(&[(0.0, 6.0), (0.0, 6.2)], ""));
        }
        Some(State::Still) => {
            svg.path("line", &at(&flats, " Z"));
        }
        Some(State::Working) => {
            svg.path("line", &at(&turned(0.06), " Z")).path("line thin", &at(&turned(-0.06), " Z"));
        }
        Some(State::Seated) => {
            svg.path("line strong", &at(&turned(0.2), " Z"));
            arrow(svg, 1.0);
        }
        Some(State::Rocking) => {
            svg.path("line thin", &at(&turned(-0.2), " Z")).path("line strong", &at(&turned(0.2), " Z"));
            arrow(svg, 1.0);
            arrow(svg, -1.0);
        }
        Some(State::Spins) => {
            svg.circle("line strong", x, y, 7.5 * scale);
            arrow(svg, 1.0);
            arrow(svg, -1.0);
        }
    }
}
