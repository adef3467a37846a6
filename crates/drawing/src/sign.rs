//! Small signs: the state of a link beside its word, and what the axle does in its slot.

use crate::svg::{Hold, Svg, n};
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

/// The flats of the axle in their slot, standing still or turned through their play, 56 wide and 44 high around (x, y).
pub(crate) fn axle_state(svg: &mut Svg, state: Option<State>, x: f64, y: f64) {
    let at = |points: &[(f64, f64)], close: bool| {
        let mut d = String::new();
        for (i, (dx, dy)) in points.iter().enumerate() {
            d += &format!("{}{},{} ", if i == 0 { "M" } else { "L" }, n(x + dx), n(y + dy));
        }
        d + if close { "Z" } else { "" }
    };
    svg.path("line", &at(&[(-28.0, -18.0), (-11.0, -18.0), (-11.0, 20.0)], false));
    svg.path("line", &at(&[(28.0, -18.0), (11.0, -18.0), (11.0, 20.0)], false));
    let straight = [(-9.0, -12.0), (9.0, -12.0), (9.0, 12.0), (-9.0, 12.0)];
    let turned = |angle: f64| straight.map(|(a, b)| (0.93 * (a - angle * b), 0.93 * (b + angle * a)));
    let arrow = |svg: &mut Svg, side: f64| {
        let (a, b) = (x + side * 17.0, y - 9.0);
        svg.path("line thin", &format!("M{},{} q{},9 {},19", n(a), n(b), n(side * 7.0), n(side * 1.0)));
        let (a, b) = (a + side, b + 19.0);
        svg.path(
            "line thin",
            &format!("M{},{} L{},{} L{},{}", n(a - side * 0.5), n(b - 7.0), n(a), n(b), n(a + side * 7.0), n(b - 4.0)),
        );
    };
    match state {
        None => {
            svg.path("line unknown", &at(&straight, true));
            svg.text("bold", 17.0, Hold::Middle, x, y + 6.0, "?");
        }
        Some(State::Still) => {
            svg.path("line", &at(&straight, true));
        }
        Some(State::Working) => {
            svg.path("line", &at(&straight, true)).path("line thin", &at(&turned(0.12), true));
        }
        Some(State::Seated) => {
            svg.path("line", &at(&turned(0.22), true));
            arrow(svg, 1.0);
        }
        Some(State::Rocking) => {
            svg.path("line strong", &at(&turned(0.22), true)).path("line thin", &at(&turned(-0.22), true));
            arrow(svg, 1.0);
            arrow(svg, -1.0);
        }
        Some(State::Spins) => {
            svg.circle("line strong", x, y, 8.0);
            arrow(svg, 1.0);
            arrow(svg, -1.0);
        }
    }
}
