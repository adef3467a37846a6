//! Charts of one job.

use super::{Along, Axis, Band, Chart, Dash, Note, Series, Style};
use workbench::advice::{Ceiling, Measure};
use workbench::check::{self, Check, LinkResult, Verdict};
use workbench::fact::{Distribution, FactId, list};
use workbench::job::Job;
use workbench::link::{Kind, Link, Load, Place};
use workbench::say;
use workbench::words;

/// Most rows of a chart of bars; what comes after them fills less.
const ROWS: usize = 12;

fn say_of(chart: &str, key: &str) -> String {
    words::text(&format!("drawing.chart.{chart}.{key}"))
}

fn axis(chart: &str, which: &str, unit: &str, key: &str) -> Axis {
    Axis { label: say_of(chart, which), unit: unit.to_owned(), key: key.to_owned(), ..Axis::default() }
}

fn start(id: &str) -> Chart {
    Chart { id: id.to_owned(), title: say_of(id, "title"), about: say_of(id, "about"), ..Chart::default() }
}

/// Most braking over speed, with the link that stops you there; nothing where it cannot be worked out.
pub fn ceiling(points: &[Ceiling]) -> Option<Chart> {
    let at = |c: &Ceiling| (c.speed.as_kilometres_per_hour(), c.torque.as_newton_metres());
    let first = points.first()?;
    let mut bands: Vec<Band> = Vec::new();
    for (i, c) in points.iter().enumerate() {
        let (speed, _) = at(c);
        let label = words::text(&format!("link.{}.name", c.stopped_by));
        let before = i.checked_sub(1).and_then(|k| points.get(k));
        match bands.last_mut() {
            Some(b) if b.label == label => b.to = speed,
            Some(b) => {
                // Which of two speeds in a table the change lies between is not known closer than their middle.
                let middle = before.map_or(speed, |p| (at(p).0 + speed) / 2.0);
                b.to = middle;
                bands.push(Band { along: Along::X, from: middle, to: speed, label });
            }
            None => bands.push(Band { along: Along::X, from: at(first).0, to: speed, label }),
        }
    }
    let line = Series::line(&say_of("ceiling", "line"), Dash::Solid, points.iter().map(at).collect());
    Some(Chart {
        x: Axis {
            from: Some(at(first).0),
            to: points.last().map(|c| at(c).0),
            ..axis("ceiling", "x", "km/h", "speed_km_per_h")
        },
        y: Axis { from: Some(0.0), ..axis("ceiling", "y", "N·m", "wheel_torque_nm") },
        series: vec![line],
        bands,
        ..start("ceiling")
    })
}

/// One link of the job with some of its facts set to other values, everything else at its middle.
fn with(job: &Job, link: Kind, set: &[(FactId, f64)]) -> Option<(Load, workbench::link::Working)> {
    let mut other = job.clone();
    for (id, value) in set {
        other.choose(*id, *value, Distribution::Exact, "");
    }
    let (load, working) = check::explain(&other, Link { kind: link, place: Place::Whole });
    load.ok().map(|l| (l, working))
}

/// Temperatures of the pack that are drawn, °C.
const PACK_AT: [f64; 4] = [25.0, 10.0, 5.0, 2.0];
const KELVIN: f64 = 273.15;

/// What the pack swallows over its charge, from one temperature to another.
struct PackLine {
    coldest: f64,
    warmest: f64,
    points: Vec<(f64, f64)>,
}

/// What the pack swallows over its charge, warm and cold, and what stops it there.
pub fn charge_current(job: &Job) -> Option<Chart> {
    let controller = list::KEEPERS.iter().position(|k| *k == "controller")? as f64;
    let swallows = |charge: f64, celsius: f64| -> Option<(f64, Kind)> {
        let set = [
            (list::CHARGE_TO.id(), charge / 100.0),
            (list::CHARGE_TO_KEPT_BY.id(), controller),
            (list::COLDEST.id(), celsius + KELVIN),
        ];
        let mut least: Option<(f64, Kind)> = None;
        for kind in [Kind::Cold, Kind::PlugAndWire, Kind::ChargeVolts] {
            let (load, _) = with(job, kind, &set)?;
            if least.is_none_or(|(amps, _)| load.capacity < amps) {
                least = Some((load.capacity, kind));
            }
        }
        least
    };
    let mut chart = Chart {
        x: Axis { from: Some(10.0), to: Some(100.0), ..axis("charge", "x", "%", "state_of_charge_percent") },
        y: Axis { from: Some(0.0), ..axis("charge", "y", "A", "charge_current_a") },
        ..start("charge")
    };
    // Temperatures that the pack does not tell apart share one line.
    let mut lines: Vec<PackLine> = Vec::new();
    for celsius in PACK_AT {
        let mut points = Vec::new();
        let mut before: Option<Kind> = None;
        for charge in (10..=100).map(f64::from) {
            let (amps, by) = swallows(charge, celsius)?;
            if celsius == PACK_AT[0] && before.is_some_and(|b| b != by) {
                let link = words::text(&format!("link.{}.name", by.id()));
                let text = words::fill("drawing.chart.charge.from-here", &[("link", &link)]);
                chart.notes.push(Note { x: charge, y: amps, text });
            }
            before = Some(by);
            points.push((charge, amps));
        }
        match lines.last_mut() {
            Some(last) if last.points == points => last.coldest = celsius,
            _ => lines.push(PackLine { coldest: celsius, warmest: celsius, points }),
        }
    }
    for (PackLine { coldest: low, warmest: high, points }, dash) in lines.into_iter().zip(Dash::ALL) {
        let (low, high, key) = (say::figure(low), say::figure(high), if low < high { "range" } else { "at" });
        let name = words::fill(&format!("drawing.chart.charge.{key}"), &[("celsius", &high), ("low", &low)]);
        chart.series.push(Series::line(&name, dash, points));
    }
    if let Some(limit) = job.get(list::CHARGE_LIMIT).map(|a| a.as_amperes()) {
        let keeper = job.answer(list::CHARGE_LIMIT_KEPT_BY.id()).unwrap_or("nobody");
        let values = [("amps", &*say::figure(limit)), ("keeper", &words::text(&format!("token.{keeper}")))];
        let label = words::fill("drawing.chart.charge.limit", &values);
        chart.bands.push(Band { along: Along::Y, from: limit, to: limit, label });
    }
    Some(chart)
}

/// Chance of failing of each link, the largest first.
pub fn chances(check: &Check) -> Option<Chart> {
    let mut all: Vec<&LinkResult> = check.links.iter().filter(|l| l.load.is_some()).collect();
    let full = |l: &LinkResult| l.load.map_or(0.0, |x| x.full);
    all.sort_by(|a, b| b.chance.total_cmp(&a.chance).then(full(b).total_cmp(&full(a))));
    // Of those that failed in no draw, the fullest few stand for all.
    let failed = all.iter().filter(|l| l.chance > 0.0).count();
    all.truncate(ROWS.min(failed + 5));
    let least = all.iter().map(|l| l.chance_at_most).fold(f64::NAN, f64::min);
    if !least.is_finite() {
        return None;
    }
    let mut bars =
        Series { name: say_of("chances", "bar"), style: Style::Bars, points: Vec::new(), labels: Vec::new() };
    let mut bounds =
        Series { name: say_of("chances", "bound"), style: Style::Whiskers, points: Vec::new(), labels: Vec::new() };
    for (row, l) in all.iter().enumerate() {
        let row = row as f64;
        if l.chance > 0.0 {
            bars.points.push((l.chance, row));
            bars.labels.push(odds(l.chance));
        } else {
            bounds.labels.resize(bounds.points.len(), String::new());
            bounds
                .labels
                .push(words::fill("drawing.chart.chances.below", &[("n", &round_down(1.0 / l.chance_at_most))]));
        }
        bounds.points.push((l.chance_at_most, row));
    }
    let step = 1.0 / check.one_in;
    let label = words::fill("drawing.chart.chances.step", &[("n", &say::figure(check.one_in))]);
    Some(Chart {
        x: Axis {
            log: true,
            from: Some((step / 10.0).min(least / 2.0)),
            to: Some(1.0),
            ..axis("chances", "x", "", "chance")
        },
        y: Axis { names: all.iter().map(|l| say::name(l)).collect(), ..Axis::default() },
        series: vec![bars, bounds],
        bands: vec![Band { along: Along::X, from: step, to: step, label }],
        ..start("chances")
    })
}

/// A chance as one in so many; above a fifth, in a hundred.
fn odds(chance: f64) -> String {
    if chance > 0.2 {
        words::fill("drawing.chart.chances.hundred", &[("n", &say::figure((chance * 100.0).round()))])
    } else {
        words::fill("drawing.chart.chances.one-in", &[("n", &round_down(1.0 / chance))])
    }
}

/// Two figures, not above the number: a chance is never shown smaller than it is.
fn round_down(value: f64) -> String {
    let mut unit = 1.0;
    while value / unit >= 100.0 {
        unit *= 10.0;
    }
    format!("{:.0}", (value / unit).floor() * unit)
}

/// An axis of points; what would move a link by more than its own strength and a half is drawn cut off.
fn points_axis(chart: &str, bars: &Series) -> Axis {
    const MOST: f64 = 150.0;
    let capped = bars.points.iter().any(|p| p.0 > MOST);
    Axis { from: Some(0.0), to: capped.then_some(MOST), capped, ..axis(chart, "x", "", "how_full_points") }
}

/// Points of "how full": nobody needs more than a tenth.
fn few(points: f64) -> String {
    if points > 1000.0 {
        "> 1000".to_owned()
    } else if points >= 10.0 {
        format!("{points:.0}")
    } else {
        format!("{points:.1}")
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What changes a link most, in points of "how full", the largest first; nothing where no fact of it is in doubt.
pub fn swings(link: &LinkResult) -> Option<Chart> {
    let mut bars = Series { name: say_of("swings", "bar"), style: Style::Bars, points: Vec::new(), labels: Vec::new() };
    let mut names = Vec::new();
    for (id, swing) in link.swings.iter().filter(|s| s.1.is_finite() && s.1.abs() >= 0.0005).take(ROWS) {
        let points = swing.abs() * 100.0;
        bars.points.push((points, names.len() as f64));
        bars.labels.push(words::fill("drawing.chart.swings.points", &[("n", &few(points))]));
        names.push(capital(&say::fact_name(*id)));
    }
    let title = words::fill("drawing.chart.swings.title", &[("link", &say::name(link))]);
    (!names.is_empty()).then(|| Chart {
        title,
        x: points_axis("swings", &bars),
        y: Axis { names, ..Axis::default() },
        series: vec![bars],
        ..start("swings")
    })
}

/// What to measure next: how far each card moves the fullest link that it touches, and how long it takes.
pub fn measure_next(check: &Check, measure: &[Measure]) -> Option<Chart> {
    let mut bars =
        Series { name: say_of("measure", "bar"), style: Style::Bars, points: Vec::new(), labels: Vec::new() };
    let missing = check.missing();
    let decisive: Vec<&LinkResult> = check.worst_first();
    let mut names = Vec::new();
    for m in measure.iter().take(ROWS) {
        let swing = decisive
            .iter()
            .filter(|l| l.verdict != Verdict::Holds || l.load.is_some_and(|x| x.full > 0.6))
            .flat_map(|l| &l.swings)
            .filter(|(id, s)| m.facts.contains(id) && s.is_finite())
            .map(|(_, s)| s.abs() * 100.0)
            .fold(0.0, f64::max);
        let needed = m.facts.iter().any(|f| missing.contains(f));
        let key = if needed { "needed" } else { "points" };
        let mut label = words::fill(&format!("drawing.chart.measure.{key}"), &[("n", &few(swing))]);
        if let Some(minutes) = m.minutes {
            label += &words::fill("drawing.chart.measure.minutes", &[("n", &say::figure(minutes))]);
        }
        bars.points.push((if needed { f64::NAN } else { swing }, names.len() as f64));
        bars.labels.push(label);
        names.push(words::text(&format!("card.{}.title", m.card)));
    }
    (!names.is_empty()).then(|| Chart {
        x: points_axis("measure", &bars),
        y: Axis { names, ..Axis::default() },
        series: vec![bars],
        ..start("measure")
    })
}

/// Temperatures along the job's own descent and half as far again.
pub fn descent_heat(job: &Job) -> Option<Chart> {
    let own = job.get(list::DESCENT_HEIGHT)?.as_metres();
    let mut winding = Vec::new();
    let mut shell = Vec::new();
    for k in 0..=48 {
        let height = own * 1.5 * f64::from(k) / 48.0;
        let (load, working) = with(job, Kind::WindingHeat, &[(list::DESCENT_HEIGHT.id(), height)])?;
        winding.push((height, load.brake));
        let steps = working.steps();
        let put = steps.iter().filter(|s| s.key == "heat").flat_map(|s| &s.put).find(|p| p.symbol == "T_s");
        shell.push((height, put.map_or(f64::NAN, |p| p.value)));
    }
    let mut chart = super::temperatures(
        &winding,
        &shell,
        limit_of(job, list::WINDING_LIMIT.id()),
        limit_of(job, list::GEAR_LIMIT.id()),
    );
    chart.x = axis("heat", "x-height", "m", "height_lost_m");
    chart.x.from = Some(0.0);
    chart.x.to = Some(own * 1.5);
    let at_own = winding.iter().min_by(|a, b| (a.0 - own).abs().total_cmp(&(b.0 - own).abs()))?;
    let text = words::fill("drawing.chart.heat.own", &[("height", &say::figure(own))]);
    chart.notes.push(Note { x: at_own.0, y: at_own.1, text });
    Some(chart)
}

fn limit_of(job: &Job, id: FactId) -> Option<f64> {
    job.fact(id).map(|f| f.value - KELVIN)
}
