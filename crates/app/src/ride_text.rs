//! The hill as text for a terminal or a printer.

use crate::output::figure;
use quantity::Speed;
use workbench::job::Job;
use workbench::ride::answers::{ANSWERS, Answer, Pair};
use workbench::ride::course::Course;
use workbench::ride::ensemble::{Ensemble, WORTHS};
use workbench::ride::limits::EndsBy;
use workbench::ride::run::{End, Stretch};
use workbench::ride::study::{LOADS, Study};
use workbench::words::{fill, text as word};

/// Answers shown together, by the ends or beginnings of their keys.
const GROUPS: [(&str, &[&str]); 7] = [
    ("ride", &["time_min", "mean_speed_km_h", "fastest_km_h", "hilliness_m_km"]),
    (
        "energy",
        &[
            "recovered_wh",
            "clutch_cost_wh",
            "net_wh",
            "use_locked_wh_km",
            "use_free_wh_km",
            "legs_extra_wh",
            "break_even_m_km",
            "charge_end_percent",
        ],
    ),
    (
        "pads",
        &[
            "pads_saved_percent",
            "pads_heat_locked_wh",
            "pads_heat_free_wh",
            "pads_hardest_w",
            "motor_brakes_min",
            "hands_brake_min",
            "nobody_brakes_s",
        ],
    ),
    ("heat", &["winding_hottest_c", "winding_room_k", "shell_hottest_c", "shell_room_k"]),
    (
        "electric",
        &[
            "braking_current_a",
            "driving_current_a",
            "charge_current_a",
            "supply_highest_v",
            "supply_lowest_v",
            "surge_v",
            "own_volts_v",
            "pack_opens_times",
        ],
    ),
    (
        "limits",
        &[
            "motor_current_min",
            "fade_min",
            "charge_current_min",
            "charge_volts_min",
            "pack_open_min",
            "too_fast_min",
            "supply_volts_min",
            "pack_weak_min",
            "grip_min",
            "ramp_min",
            "empty_min",
        ],
    ),
    (
        "axle",
        &[
            "drive_torque_nm",
            "brake_torque_nm",
            "reversals_over_20_nm",
            "reversals_over_60_nm",
            "reversals_beyond_hold",
        ],
    ),
];

fn load_word(key: &str) -> String {
    word(&format!("ride.text.load-{key}"))
}

fn find(key: &str) -> Option<(usize, &'static Answer)> {
    ANSWERS.iter().enumerate().find(|(_, a)| a.key == key)
}

/// The whole answer.
pub fn text(job: &Job, course: &Course, s: &Study, descent: bool) -> String {
    let km = figure(course.length().as_metres() / 1000.0);
    let head = if descent {
        let percent =
            figure(100.0 * course.drop().as_metres() / (course.length().as_metres() * course.map_share().get()));
        fill(
            "ride.text.head-descent",
            &[("percent", &percent), ("height", &figure(course.drop().as_metres())), ("km", &km)],
        )
    } else {
        fill(
            "ride.text.head",
            &[
                ("km", &km),
                ("up", &figure(course.climb().as_metres())),
                ("down", &figure(course.drop().as_metres())),
                ("stops", &course.stops().to_string()),
            ],
        )
    };
    let mut out = format!("{} {}\n{head}\n\n", job.number, job.name);
    for (pair, (_, key)) in s.pairs.iter().zip(LOADS) {
        out.push_str(&format!("{}: {}\n", load_word(key), worth(pair)));
    }
    for (pair, (_, key)) in s.pairs.iter().zip(LOADS) {
        went_wrong(&mut out, pair, key);
        weak(&mut out, pair, key);
    }
    out.push_str(&format!("\n{:36}", word("ride.text.loads")));
    for ((_, key), mass) in LOADS.iter().zip(&s.masses) {
        out.push_str(&format!("{:>16}", format!("{} {} kg", load_word(key), figure(mass.as_kilograms()))));
    }
    out.push('\n');
    for (group, keys) in GROUPS {
        let lines: Vec<String> = keys.iter().filter_map(|key| line(key, s)).collect();
        if !lines.is_empty() {
            out.push_str(&format!("\n{}\n{}", word(&format!("ride.text.{group}")), lines.concat()));
        }
    }
    out.push('\n');
    limits(&mut out, s);
    out.push_str(&format!("\n{}\n", word("ride.text.foot")));
    out
}

/// A line with the three loads; nothing where all are zero minutes of a limit.
fn line(key: &str, s: &Study) -> Option<String> {
    let (_, a) = find(key)?;
    let values: Vec<Option<f64>> = s.pairs.iter().map(|p| (a.of)(p)).collect();
    let silent = key.ends_with("_min") && key != "time_min";
    if silent && values.iter().flatten().all(|v| *v < 1e-9) {
        return None;
    }
    let name = format!("{} {}", word(&format!("ride.answer.{key}")), unit(a));
    let cells: String = values.iter().map(|v| format!("{:>16}", v.map_or_else(|| a.absent(), signed))).collect();
    Some(format!("  {name:34}{cells}\n"))
}

fn unit(a: &Answer) -> String {
    if a.unit.is_empty() { String::new() } else { format!("({})", a.unit) }
}

fn signed(v: f64) -> String {
    if v < 0.0 { format!("−{}", figure(-v)) } else { figure(v) }
}

/// The sentence.
pub fn worth(p: &Pair) -> String {
    let net = p.net_wh();
    let number = |key: &str| find(key).and_then(|(_, a)| (a.of)(p)).unwrap_or(f64::NAN);
    fill(
        &format!("ride.worth.{}", p.worth().token()),
        &[
            ("net", &format!("{}{}", if net >= 0.0 { "+" } else { "−" }, figure(net.abs()))),
            ("recovered", &figure(p.recovered_wh())),
            ("pads", &signed(number("pads_saved_percent"))),
            ("even", &figure(number("break_even_m_km"))),
            ("has", &figure(number("hilliness_m_km"))),
        ],
    )
}

fn went_wrong(out: &mut String, p: &Pair, key: &str) {
    let why = match p.locked.end {
        End::Arrived => None,
        End::TooSteep => Some("too-steep"),
        End::TooLong => Some("too-long"),
        End::Stopped => Some("stopped"),
    };
    if let Some(why) = why {
        let why = word(&format!("ride.end.{why}"));
        out.push_str(&fill("ride.text.went-wrong", &[("load", &load_word(key)), ("why", &why)]));
        out.push('\n');
    }
    if let (Some(o), Some((height, way))) = (p.locked.openings.first(), p.first_opening_m) {
        out.push_str(&fill(
            "ride.text.opened",
            &[
                ("load", &load_word(key)),
                ("km", &figure(way / 1000.0)),
                ("height", &figure(height)),
                ("kmh", &figure(Speed::metres_per_second(o.speed_m_s).as_kilometres_per_hour())),
                ("grade", &signed(o.slope * 100.0)),
                ("lost", &figure(o.lost_m_s2)),
                ("gained", &figure(Speed::metres_per_second(o.gained_m_s).as_kilometres_per_hour())),
            ],
        ));
        out.push('\n');
    }
}

/// Where the pack is too weak: the first stretches, and how many more.
fn weak(out: &mut String, p: &Pair, key: &str) {
    const SHOWN: usize = 4;
    let stretches = &p.locked.weak;
    if stretches.is_empty() {
        return;
    }
    let km = |m: f64| figure(m / 1000.0);
    let one = |s: &Stretch| {
        let (from, to) = (km(s.from_m), km(s.to_m));
        if from == to { from } else { format!("{from}–{to}") }
    };
    let mut places = stretches.iter().take(SHOWN).map(one).collect::<Vec<_>>().join(", ");
    if stretches.len() > SHOWN {
        let more = (stretches.len() - SHOWN).to_string();
        places = fill("ride.text.weak-more", &[("places", &places), ("more", &more)]);
    }
    out.push_str(&fill("ride.text.weak", &[("load", &load_word(key)), ("places", &places)]));
    out.push('\n');
}

fn limits(out: &mut String, s: &Study) {
    let (grade, speed) = s.held;
    let (percent, kmh) = (figure(grade.as_percent()), figure(speed.as_kilometres_per_hour()));
    for (l, (_, key)) in s.longest.iter().zip(LOADS) {
        let load = load_word(key);
        let height = figure(l.height.as_metres());
        let why = word(&format!("ride.ends-by.{}", l.ends_by.token()));
        let key = if l.ends_by == EndsBy::Nothing { "ride.text.longest-all" } else { "ride.text.longest" };
        out.push_str(&fill(
            key,
            &[("percent", &percent), ("kmh", &kmh), ("load", &load), ("height", &height), ("why", &why)],
        ));
        out.push('\n');
    }
    let sentence = match s.highest_charge {
        None => fill("ride.text.highest-charge-none", &[("kmh", &kmh)]),
        Some(c) if c.get() >= 1.0 => fill("ride.text.highest-charge-full", &[("kmh", &kmh)]),
        Some(c) => fill("ride.text.highest-charge", &[("percent", &figure(c.as_percent())), ("kmh", &kmh)]),
    };
    out.push_str(&sentence);
    out.push('\n');
    if let Some(v) = s.least_stable {
        out.push_str(&fill("ride.text.unstable", &[("kmh", &figure(v.as_kilometres_per_hour()))]));
        out.push('\n');
    }
}

/// Quantiles of many variants.
pub fn variants(job: &Job, e: &Ensemble) -> String {
    let mut out = format!("{} {}\n", job.number, job.name);
    out.push_str(&fill("ride.variants.head", &[("n", &e.variants.to_string())]));
    out.push('\n');
    if let (n, Some(why)) = &e.failed {
        let why = workbench::say::ride_error(why);
        out.push_str(&fill("ride.variants.failed", &[("n", &n.to_string()), ("why", &why)]));
        out.push('\n');
    }
    out.push_str(&fill("ride.variants.arrives", &[("percent", &figure(100.0 * e.arrives))]));
    out.push('\n');
    out.push_str(&fill("ride.variants.survives", &[("percent", &figure(100.0 * e.survives))]));
    out.push_str("\n\n");
    for (w, share) in WORTHS.iter().zip(e.worth) {
        let name = word(&format!("ride.variants.worth-{}", w.token()));
        out.push_str(&format!("  {name:34}{:>14} %\n", figure(100.0 * share)));
    }
    out.push_str(&format!("\n  {:34}{}\n", "", word("ride.variants.columns")));
    for (a, q) in ANSWERS.iter().zip(&e.quantiles) {
        let name = format!("{} {}", word(&format!("ride.answer.{}", a.key)), unit(a));
        let [low, middle, high] = [0, 2, 4].map(|i| if q[i].is_nan() { a.absent() } else { signed(q[i]) });
        out.push_str(&format!("  {name:44}{low:>12}{middle:>12}{high:>12}\n"));
    }
    out.push_str(&format!("\n{}\n", word("ride.text.foot")));
    out
}
