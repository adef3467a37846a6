//! After hand-over: when to look again, whether the axle rocks, and what drifts.
//!
//! Re-checks are due 20 km, 100 km and 500 km or three months after hand-over, whichever comes first, and after every
//! removal of the wheel (common practice).

mod day;
mod due;
mod trend;

pub use day::Day;
pub use due::Due;
pub use trend::{Drift, Trend};

use workbench::say::figure;
use workbench::words;

/// A mark that can move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Left nut.
    LeftNut,
    /// Right nut.
    RightNut,
    /// Torque arm.
    Arm,
    /// Its anchor.
    Anchor,
}

impl Mark {
    /// All.
    pub const ALL: [Self; 4] = [Self::LeftNut, Self::RightNut, Self::Arm, Self::Anchor];
    /// Token of files, JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::LeftNut => "left-nut",
            Self::RightNut => "right-nut",
            Self::Arm => "arm",
            Self::Anchor => "anchor",
        }
    }
}

/// What the workshop did with a bike that came back; its own decision.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// Nothing: go on.
    GoOn,
    /// Retightened.
    Retightened,
    /// Opened; it is handed over anew.
    Opened,
    /// Riding stopped.
    Stop,
}

impl Done {
    /// All.
    pub const ALL: [Self; 4] = [Self::GoOn, Self::Retightened, Self::Opened, Self::Stop];
    /// Token of files and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::GoOn => "go-on",
            Self::Retightened => "retightened",
            Self::Opened => "opened",
            Self::Stop => "stop",
        }
    }
}

/// One come-back card; also the hand-over itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Where it comes from.
    pub name: String,
    /// Number of the job.
    pub job: String,
    /// The day.
    pub day: Day,
    /// Odometer in m.
    pub odometer: f64,
    /// Degrees by which each mark moved, as in [`Mark::ALL`]; none where nobody looked.
    pub moved: [Option<f64>; 4],
    /// Torque in N·m at which the left and right nut first moved on.
    pub nuts: [Option<f64>; 2],
    /// Backward pull at the rim in N, with its standard deviation.
    pub pull: Option<(f64, f64)>,
    /// The wheel was out since the card before.
    pub wheel_out: bool,
    /// This is the hand-over.
    pub hand_over: bool,
    /// What the workshop did.
    pub done: Option<Done>,
}

impl Card {
    /// Whether both nuts were tried and all marks seen that this bike has: those of the nuts, and what any card tells of.
    fn looked(&self, cards: &[&Card]) -> bool {
        let there = |i: usize| i < 2 || cards.iter().any(|c| c.moved[i].is_some());
        self.nuts.iter().all(Option::is_some) && (0..4).all(|i| self.moved[i].is_some() || !there(i))
    }
}

/// One ride's share in the watch.
#[derive(Clone, Debug, PartialEq)]
pub struct Logged {
    /// Where it comes from.
    pub name: String,
    /// The day, if the log has a clock of the world.
    pub day: Option<Day>,
    /// Metres ridden in it.
    pub distance: f64,
    /// Times driven and then braked.
    pub reversals: u64,
    /// Those in which both peaks went beyond what the faces hold, at its low end; none if what they hold is not known.
    pub beyond: Option<u64>,
    /// Braking torque per motor ampere with half of its interval.
    pub per_ampere: Option<(f64, f64)>,
}

/// Why to act.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reason {
    /// A mark moved by so many degrees.
    Mark(Mark, f64),
    /// A mark moved twice in a row.
    Twice(Mark),
    /// A nut first moved at this share of its torque.
    Nut(Mark, f64),
    /// So many changes of direction went beyond what the faces hold.
    Beyond(u64),
    /// A trend for the worse.
    Drift(Drift),
    /// The wheel was out.
    WheelOut,
    /// What the faces hold is not known.
    NoHold,
    /// Nobody looked at all nuts and marks.
    NotLooked,
    /// The workshop's own decision.
    Workshop(Done),
}

impl Reason {
    /// It, as a sentence.
    pub fn sentence(&self) -> String {
        let mark = |m: &Mark| words::text(&format!("watch.mark.{}", m.token()));
        let (key, what, value) = match self {
            Self::Mark(m, degrees) => ("mark", mark(m), figure(*degrees)),
            Self::Twice(m) => ("twice", mark(m), String::new()),
            Self::Nut(m, share) => ("nut", mark(m), format!("{:.0}", share * 100.0)),
            Self::Beyond(n) => ("beyond", String::new(), n.to_string()),
            Self::Drift(d) => ("drift", words::text(&format!("watch.drift.{}", d.token())), String::new()),
            Self::WheelOut => ("wheel-out", String::new(), String::new()),
            Self::NoHold => ("no-hold", String::new(), String::new()),
            Self::NotLooked => ("not-looked", String::new(), String::new()),
            Self::Workshop(d) => ("workshop", words::text(&format!("watch.done.{}", d.token())), String::new()),
        };
        words::fill(&format!("watch.reason.{key}"), &[("what", &what), ("value", &value)])
    }
}

/// What to do; texts are fixed (WORKSHOP 1.10).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Decision {
    /// Go on.
    GoOn,
    /// Nothing says that it may go on.
    NotKnown,
    /// Retighten and mark anew.
    Retighten,
    /// Stop riding: wheel out, look at faces and flats.
    Stop,
}

impl Decision {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::GoOn => "go-on",
            Self::NotKnown => "not-known",
            Self::Retighten => "retighten",
            Self::Stop => "stop",
        }
    }
}

/// Everything about one bike since hand-over.
#[derive(Clone, Debug, PartialEq)]
pub struct Watch {
    /// What to do.
    pub decision: Decision,
    /// Why.
    pub reasons: Vec<Reason>,
    /// What drifts.
    pub trends: Vec<Trend>,
    /// The next re-check; none before hand-over or after the last one.
    pub due: Option<Due>,
    /// All changes of direction in the logs.
    pub reversals: u64,
    /// Those beyond what the faces hold; none if that is not known of some.
    pub beyond: Option<u64>,
    /// Metres in the logs.
    pub logged: f64,
}

/// A nut that moves on below this share of its torque is retightened; below the second the wheel comes out. The breakaway
/// reads up to a fifth high (WORKSHOP M9), so that the first still means "as given".
const LOOSE: f64 = 0.97;
const FAR_TOO_LOOSE: f64 = 0.60;
/// A mark that moved this many degrees stops the ride (WORKSHOP road ladder).
const MARK_MOVED: f64 = 10.0;

/// Puts cards and logs together. `asked` are the nuts' torques of the job in N·m.
pub fn watch(cards: &[Card], logs: &[Logged], asked: [Option<f64>; 2]) -> Watch {
    let mut cards: Vec<&Card> = cards.iter().collect();
    cards.sort_by(|a, b| a.odometer.total_cmp(&b.odometer).then(a.day.cmp(&b.day)));
    let mut reasons = Vec::new();
    // A hand-over is a new beginning: nuts at their torque, marks painted anew.
    let since = cards.iter().rposition(|c| c.hand_over).unwrap_or(0);
    found(&cards[since.min(cards.len())..], asked, &mut reasons);
    let counted = logs.iter().filter_map(|l| l.beyond).sum();
    if counted > 0 {
        reasons.push(Reason::Beyond(counted));
    }
    let beyond = logs.iter().all(|l| l.beyond.is_some()).then_some(counted);
    if beyond.is_none() {
        reasons.push(Reason::NoHold);
    }
    let trends = trend::trends(&cards, logs);
    for t in trends.iter().filter(|t| t.sure) {
        let worse = match t.of {
            Drift::LeftNut | Drift::RightNut | Drift::PerAmpere => t.change < 0.0,
            Drift::Pull => t.change > 0.0,
        };
        if worse {
            reasons.push(Reason::Drift(t.of));
        }
    }
    Watch {
        decision: reasons.iter().map(decide).max().unwrap_or(Decision::GoOn),
        due: due::due(&cards, logs),
        reasons,
        trends,
        reversals: logs.iter().map(|l| l.reversals).sum(),
        beyond,
        logged: logs.iter().map(|l| l.distance).sum(),
    }
}

fn decide(r: &Reason) -> Decision {
    match r {
        Reason::Mark(_, degrees) if *degrees > MARK_MOVED => Decision::Stop,
        Reason::Nut(_, share) if *share < FAR_TOO_LOOSE => Decision::Stop,
        Reason::Twice(_) | Reason::Beyond(_) => Decision::Stop,
        Reason::Drift(Drift::Pull | Drift::PerAmpere) => Decision::Stop,
        Reason::Mark(..) | Reason::Nut(..) | Reason::Drift(_) | Reason::WheelOut => Decision::Retighten,
        Reason::NotLooked | Reason::NoHold => Decision::NotKnown,
        Reason::Workshop(Done::GoOn) => Decision::GoOn,
        Reason::Workshop(Done::Retightened) => Decision::Retighten,
        Reason::Workshop(Done::Opened | Done::Stop) => Decision::Stop,
    }
}

/// What the cards since hand-over say. What was found stands until somebody looked there again.
fn found(cards: &[&Card], asked: [Option<f64>; 2], reasons: &mut Vec<Reason>) {
    let Some(last) = cards.last() else { return };
    for (i, mark) in Mark::ALL.into_iter().enumerate() {
        let mut looks = cards.iter().rev().filter_map(|c| c.moved[i]);
        let Some(degrees) = looks.next().filter(|d| *d > 0.0) else { continue };
        reasons.push(Reason::Mark(mark, degrees));
        if looks.next().is_some_and(|d| d > 0.0) {
            reasons.push(Reason::Twice(mark));
        }
    }
    let came = || cards.iter().rev().filter(|c| !c.hand_over);
    for (i, mark) in [Mark::LeftNut, Mark::RightNut].into_iter().enumerate() {
        if let (Some(found), Some(asked)) = (came().find_map(|c| c.nuts[i]), asked[i])
            && found < LOOSE * asked
        {
            reasons.push(Reason::Nut(mark, found / asked));
        }
    }
    if last.wheel_out && !last.hand_over {
        reasons.push(Reason::WheelOut);
    }
    if !last.hand_over && !last.looked(cards) {
        reasons.push(Reason::NotLooked);
    }
    if let Some(done) = came().find_map(|c| c.done).filter(|d| *d != Done::GoOn) {
        reasons.push(Reason::Workshop(done));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn card(day: &str, km: f64, nuts: [f64; 2], right_mark: f64) -> Card {
        Card {
            name: day.to_owned(),
            job: "0098".to_owned(),
            day: Day::parse(day).unwrap(),
            odometer: km * 1e3,
            moved: [Some(0.0), Some(right_mark), Some(0.0), Some(0.0)],
            nuts: nuts.map(Some),
            pull: Some((4.1, 0.1)),
            wheel_out: false,
            hand_over: km == 1000.0,
            done: None,
        }
    }

    /// A visit for something else: day and odometer only.
    fn not_looked(day: &str, km: f64) -> Card {
        Card { moved: [None; 4], nuts: [None; 2], pull: None, ..card(day, km, [0.0; 2], 0.0) }
    }

    #[test]
    fn a_card_on_which_nobody_looked_does_not_go_on() {
        let first = card("2026-03-10", 1000.0, [80.0, 80.0], 0.0);
        let w = watch(&[first.clone(), not_looked("2026-03-20", 1020.0)], &[], [Some(80.0); 2]);
        assert_eq!((w.decision, w.reasons.as_slice()), (Decision::NotKnown, [Reason::NotLooked].as_slice()));
        // The arm was seen before, so it has one.
        let mut no_arm = card("2026-03-20", 1020.0, [80.0, 80.0], 0.0);
        no_arm.moved[2] = None;
        assert_eq!(watch(&[first, no_arm.clone()], &[], [Some(80.0); 2]).decision, Decision::NotKnown);
        no_arm.moved[3] = None;
        assert_eq!(watch(&[no_arm], &[], [Some(80.0); 2]).decision, Decision::GoOn);
    }

    #[test]
    fn a_moved_mark_stands_until_somebody_looked_again_or_it_is_handed_over_anew() {
        let mut cards = vec![
            card("2026-03-10", 1000.0, [80.0, 80.0], 0.0),
            card("2026-03-20", 1020.0, [80.0, 80.0], 12.0),
            not_looked("2026-03-25", 1030.0),
        ];
        let decision = |cards: &[Card]| watch(cards, &[], [Some(80.0); 2]).decision;
        let w = watch(&cards, &[], [Some(80.0); 2]);
        assert_eq!(w.decision, Decision::Stop);
        assert!(w.reasons.contains(&Reason::Mark(Mark::RightNut, 12.0)), "{w:?}");
        let anew = Card { hand_over: true, ..not_looked("2026-03-26", 1031.0) };
        assert_eq!(decision(&[cards.as_slice(), &[anew]].concat()), Decision::GoOn);
        cards.push(card("2026-03-27", 1032.0, [80.0, 80.0], 3.0));
        let w = watch(&cards, &[], [Some(80.0); 2]);
        assert!(w.reasons.contains(&Reason::Twice(Mark::RightNut)), "moved at both looks: {w:?}");
        cards.push(card("2026-04-27", 1100.0, [80.0, 80.0], 0.0));
        assert_eq!(decision(&cards), Decision::GoOn);
    }

    #[test]
    fn the_decision_is_never_milder_than_the_workshops_own() {
        for (done, least) in [
            (Done::GoOn, Decision::GoOn),
            (Done::Retightened, Decision::Retighten),
            (Done::Opened, Decision::Stop),
            (Done::Stop, Decision::Stop),
        ] {
            for mark in [0.0, 4.0, 12.0] {
                let mut cards =
                    [card("2026-03-10", 1000.0, [80.0, 80.0], 0.0), card("2026-03-20", 1020.0, [80.0, 80.0], mark)];
                let without = watch(&cards, &[], [Some(80.0); 2]).decision;
                cards[1].done = Some(done);
                let with = watch(&cards, &[], [Some(80.0); 2]).decision;
                assert_eq!(with, without.max(least), "{done:?} with a mark at {mark}°");
            }
        }
    }

    /// WORKSHOP 6.8: 0117 goes on, 0098 stops.
    #[test]
    fn the_demo_bikes_get_their_decisions() {
        let good = [card("2026-03-10", 1000.0, [80.0, 80.0], 0.0), card("2026-03-20", 1020.0, [78.0, 78.0], 0.0)];
        let w = watch(&good, &[], [Some(80.0), Some(80.0)]);
        assert_eq!((w.decision, w.reasons.len()), (Decision::GoOn, 0), "{w:?}");
        let due = w.due.unwrap();
        assert_eq!((due.odometer, due.day.text().as_str(), due.overdue), (1_100e3, "2026-04-21", false));
        let slack = [card("2026-03-10", 1000.0, [80.0, 80.0], 0.0), card("2026-03-20", 1020.0, [78.0, 76.0], 0.0)];
        assert_eq!(watch(&slack, &[], [Some(80.0), Some(80.0)]).decision, Decision::Retighten);
        let bad = [card("2026-03-10", 1000.0, [80.0, 80.0], 0.0), card("2026-06-01", 1100.0, [74.0, 41.0], 12.0)];
        let w = watch(&bad, &[], [Some(80.0), Some(80.0)]);
        assert_eq!(w.decision, Decision::Stop);
        assert!(w.reasons.contains(&Reason::Mark(Mark::RightNut, 12.0)));
    }

    #[test]
    fn a_mark_that_moves_twice_in_a_row_takes_the_wheel_out() {
        let cards = [
            card("2026-03-10", 1000.0, [80.0, 80.0], 0.0),
            card("2026-03-20", 1020.0, [80.0, 80.0], 4.0),
            card("2026-04-20", 1100.0, [80.0, 80.0], 3.0),
        ];
        let w = watch(&cards, &[], [Some(80.0), Some(80.0)]);
        assert_eq!(w.decision, Decision::Stop);
        assert!(w.reasons.contains(&Reason::Twice(Mark::RightNut)));
    }

    #[test]
    fn changes_of_direction_beyond_the_hold_stop_and_a_falling_torque_per_ampere_too() {
        let log = |beyond, per| Logged {
            name: String::new(),
            day: None,
            distance: 50e3,
            reversals: 200,
            beyond: Some(beyond),
            per_ampere: Some((per, 0.02)),
        };
        let w = watch(&[], &[log(3, 1.3)], [None, None]);
        assert_eq!((w.decision, w.beyond, w.reversals), (Decision::Stop, Some(3), 200));
        let not_known = Logged { beyond: None, ..log(0, 1.3) };
        let w = watch(&[], &[log(0, 1.3), not_known.clone()], [None, None]);
        assert_eq!((w.decision, w.beyond), (Decision::NotKnown, None), "not known is not none");
        assert_eq!(watch(&[], &[log(3, 1.3), not_known], [None, None]).decision, Decision::Stop);
        let falling = [log(0, 1.30), log(0, 1.26), log(0, 1.19), log(0, 1.14), log(0, 1.11)];
        let w = watch(&[], &falling, [None, None]);
        assert_eq!(w.reasons, [Reason::Drift(Drift::PerAmpere)]);
        let steady = [log(0, 1.30), log(0, 1.31), log(0, 1.29), log(0, 1.30)];
        assert_eq!(watch(&[], &steady, [None, None]).decision, Decision::GoOn);
    }

    /// Against the table of WORKSHOP 1.1: 20 km, 100 km, 500 km; 14, 42, 91 days.
    #[test]
    fn a_check_is_done_only_by_a_look_about_its_distance_or_day() {
        let next = |cards: &[Card]| {
            let all = [&[card("2026-03-10", 1000.0, [80.0, 80.0], 0.0)], cards].concat();
            watch(&all, &[], [None, None]).due.map(|d| d.after / 1e3)
        };
        let look = |day: &str, km| card(day, km, [80.0, 80.0], 0.0);
        assert_eq!(next(&[look("2026-03-12", 1003.0)]), Some(20.0), "came for a bell after 3 km");
        assert_eq!(next(&[not_looked("2026-03-20", 1020.0)]), Some(20.0), "nobody looked");
        assert_eq!(next(&[look("2026-03-20", 1019.0)]), Some(100.0));
        assert_eq!(next(&[look("2026-03-24", 1005.0)]), Some(100.0), "the fortnight is over");
        assert_eq!(next(&[look("2026-03-20", 1020.0), look("2026-03-22", 1024.0)]), Some(100.0));
        assert_eq!(next(&[look("2026-03-20", 1110.0)]), Some(500.0), "late for the first, in time for the second");
        assert_eq!(next(&[look("2026-06-09", 1200.0)]), None);
    }

    #[test]
    fn kilometres_in_logs_after_the_last_card_count() {
        let cards = [card("2026-03-10", 1000.0, [80.0, 80.0], 0.0)];
        let overdue = |day: &str, km: f64| {
            let log = Logged {
                name: String::new(),
                day: Day::parse(day),
                distance: km * 1e3,
                reversals: 0,
                beyond: Some(0),
                per_ampere: None,
            };
            watch(&cards, &[log.clone(), log], [None, None]).due.unwrap().overdue
        };
        assert!(overdue("2026-03-12", 11.0), "two rides of 11 km");
        assert!(!overdue("2026-03-12", 9.0));
        assert!(!overdue("2026-03-09", 11.0), "ridden before the hand-over");
    }

    #[test]
    fn a_late_check_is_said() {
        let mut late = [card("2026-03-10", 1000.0, [80.0, 80.0], 0.0)];
        late[0].hand_over = true;
        let log = Logged {
            name: String::new(),
            day: Day::parse("2026-05-01"),
            distance: 1.0,
            reversals: 0,
            beyond: Some(0),
            per_ampere: None,
        };
        assert!(watch(&late, &[log], [None, None]).due.unwrap().overdue);
    }
}
