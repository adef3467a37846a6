//! Charts are well-formed, keep their words apart and inside, and their CSV carries the numbers that were put in.

mod reading;

use drawing::Theme;
use drawing::chart::{self, Brakes, Chart, Event, Hill, Look};
use proptest::prelude::*;
use reading::{demo, overlaps, size, texts};
use workbench::{advice, check};

fn prove(name: &str, svg: &str, again: &str) {
    assert_eq!(svg, again, "{name}: not the same bytes twice");
    let (width, height) = size(svg);
    let all = texts(svg);
    for t in &all {
        let inside = t.left >= 0.0 && t.right <= width && t.top >= 0.0 && t.bottom <= height;
        assert!(inside, "{name}: {t:?} leaves {width} by {height}");
    }
    let hits = overlaps(&all);
    assert!(hits.is_empty(), "{name}: {}", hits.join("\n"));
}

fn looks() -> [Look; 3] {
    let look = |width, height, theme| Look { width, height, theme };
    [look(340.0, 240.0, Theme::Page), look(720.0, 300.0, Theme::File), look(1200.0, 420.0, Theme::Print)]
}

#[test]
fn charts_of_every_demo_job_can_be_read() {
    for job in demo() {
        let c = check::check(&job);
        let advice = advice::advise(&job, &c);
        let mut all: Vec<Chart> = [
            chart::ceiling(&advice.ceiling),
            chart::charge_current(&job),
            chart::chances(&c),
            chart::measure_next(&c, &advice.measure),
            chart::descent_heat(&job),
        ]
        .into_iter()
        .flatten()
        .collect();
        assert!(all.len() >= 2, "{}: {} charts", job.number, all.len());
        all.extend(c.links.iter().filter_map(chart::swings));
        for chart in &all {
            for look in looks() {
                let name = format!("{} {} at {}", job.number, chart.id, look.width);
                prove(&name, &chart.svg(&look), &chart.svg(&look));
            }
        }
    }
}

#[test]
fn the_ceiling_names_the_link_of_each_speed() {
    for job in demo() {
        let c = check::check(&job);
        let advice = advice::advise(&job, &c);
        let Some(chart) = chart::ceiling(&advice.ceiling) else { continue };
        for p in &advice.ceiling {
            let speed = p.speed.as_kilometres_per_hour();
            let band = chart.bands.iter().find(|b| b.from <= speed && speed <= b.to).expect("a band for each speed");
            assert_eq!(band.label, workbench::words::text(&format!("link.{}.name", p.stopped_by)), "at {speed} km/h");
        }
    }
}

/// Reads a CSV back with the plainest reader there is.
fn numbers(csv: &str) -> Vec<(f64, f64)> {
    let number = |t: &str| if t.is_empty() { f64::NAN } else { t.parse().expect("a number") };
    csv.lines()
        .skip(1)
        .map(|line| {
            let mut parts = line.rsplit(',');
            let y = number(parts.next().expect("a last field"));
            (number(parts.next().expect("a field before it")), y)
        })
        .collect()
}

#[test]
fn the_charge_chart_falls_with_charge_and_with_cold() {
    for job in demo() {
        let Some(chart) = chart::charge_current(&job) else { continue };
        let mut warmer: Option<&chart::Series> = None;
        for s in &chart.series {
            for w in s.points.windows(2) {
                assert!(w[1].1 <= w[0].1 + 1e-9, "{}: {} rises at {:?}", job.number, s.name, w[1]);
            }
            if let Some(before) = warmer {
                assert!(
                    before.points.iter().zip(&s.points).all(|(a, b)| b.1 <= a.1 + 1e-9),
                    "{}: colder takes more",
                    job.number
                );
            }
            warmer = Some(s);
        }
        let wanted: Vec<(f64, f64)> = chart.series.iter().flat_map(|s| s.points.clone()).collect();
        assert_eq!(numbers(&chart.csv()), wanted);
    }
}

fn any_chart() -> impl Strategy<Value = Chart> {
    let value = prop_oneof![8 => -1e4..1e4, 1 => Just(f64::NAN), 1 => Just(f64::INFINITY), 1 => Just(0.0)];
    let line = (prop::collection::vec((0.0..100.0, value), 0..40), "[a-zA-Z ,\"<&]{0,30}");
    let lines = prop::collection::vec(line, 0..5);
    let notes = prop::collection::vec((0.0..100.0, -1e4..1e4, "[a-z ]{1,40}"), 0..8);
    let bands = prop::collection::vec((0.0..100.0, "[a-z ]{1,30}"), 0..6);
    (lines, notes, bands).prop_map(|(lines, notes, bands)| {
        let mut chart = Chart { id: "any".into(), title: "Any chart at all".into(), ..Chart::default() };
        (chart.x.label, chart.y.label) = ("across".into(), "up".into());
        for ((mut points, name), dash) in lines.into_iter().zip(chart::Dash::ALL) {
            points.sort_by(|a: &(f64, f64), b| a.0.total_cmp(&b.0));
            chart.series.push(chart::Series::line(&name, dash, points));
        }
        chart.notes = notes.into_iter().map(|(x, y, text)| chart::Note { x, y, text }).collect();
        let mut from = 0.0;
        for (wide, label) in bands {
            chart.bands.push(chart::Band { along: chart::Along::X, from, to: from + wide / 6.0, label });
            from += wide / 6.0;
        }
        chart
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn any_chart_can_be_read(chart in any_chart(), width in 320.0..1400.0_f64) {
        let look = Look { width, ..Look::default() };
        prove("any chart", &chart.svg(&look), &chart.svg(&look));
        let put: Vec<(f64, f64)> = chart.series.iter().flat_map(|s| s.points.clone()).collect();
        let got = numbers(&chart.csv());
        prop_assert_eq!(put.len(), got.len());
        for (a, b) in put.iter().zip(&got) {
            prop_assert_eq!(a.0, b.0);
            prop_assert!(a.1 == b.1 || (!a.1.is_finite() && b.1.is_nan()), "{:?} {:?}", a, b);
        }
    }

    #[test]
    fn any_ride_can_be_drawn(
        steps in prop::collection::vec((0.0..0.2, -30.0..30.0, 0.0..60.0, 0.0..100.0, 0..3_usize), 0..400),
        events in prop::collection::vec((-1.0..60.0, "[a-z ]{1,30}"), 0..12),
        width in 320.0..1400.0_f64,
    ) {
        let mut at = (0.0, 200.0);
        let mut ride: [Vec<f64>; 4] = Default::default();
        let mut brakes = Vec::new();
        for (way, climb, speed, charge, who) in steps {
            at = (at.0 + way, at.1 + climb);
            for (list, value) in ride.iter_mut().zip([at.0, at.1, speed, charge]) {
                list.push(value);
            }
            brakes.push([Brakes::Motor, Brakes::Hands, Brakes::Nobody][who]);
        }
        let events: Vec<Event> = events.into_iter().map(|(at_km, text)| Event { at_km, text }).collect();
        let hill = Hill {
            title: "The hill",
            about: "",
            distance_km: &ride[0],
            height_m: &ride[1],
            speed_km_per_h: &ride[2],
            charge_percent: &ride[3],
            brakes: &brakes,
            events: &events,
        };
        let look = Look { width, ..Look::default() };
        prove("any ride", &hill.svg(&look), &hill.svg(&look));
    }
}
