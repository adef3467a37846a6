//! The hill on the command line: one course, all loads; or many variants of it.

use crate::output::{self, Exit, figure};
use crate::progress::Progress;
use crate::{check_text, ride_json, ride_text};
use drawing::chart::ride_strip;
use workbench::job::Job;
use workbench::ride::course::Course;
use workbench::ride::descent;
use workbench::ride::options::{OPTIONS, OptionError, Options};
use workbench::ride::run::{STEP_S, ride_with};
use workbench::ride::series::{Row, Series, csv};
use workbench::ride::study::{RideError, study};
use workbench::ride::{demands, ensemble};
use workbench::{say, words};

/// Rows of a series stand this far apart.
const EVERY_S: f64 = 1.0;

/// What was asked on the command line.
pub struct Asked<'a> {
    /// Job file.
    pub job: &'a str,
    /// Route file.
    pub route: Option<&'a str>,
    /// One descent.
    pub descent: Option<&'a str>,
    /// Options of the ride as written.
    pub options: Vec<(&'static str, String)>,
    /// Variants, if many.
    pub variants: Option<&'a str>,
    /// Format.
    pub format: &'a str,
}

/// Rides.
pub fn run(asked: &Asked<'_>) -> Exit {
    let job = match crate::load(asked.job) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    match answer(&job, asked) {
        Ok((text, holds)) => {
            output::data(&text);
            if holds { Exit::Holds } else { Exit::DoesNotHold }
        }
        Err(problems) => {
            for p in problems {
                output::talk(&p);
            }
            Exit::BadInput
        }
    }
}

fn answer(job: &Job, asked: &Asked<'_>) -> Result<(String, bool), Vec<String>> {
    let said: Vec<(&str, &str)> = asked.options.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let options = Options::read(&said).map_err(|all| all.iter().map(option_error).collect::<Vec<_>>())?;
    let course = course(job, &options, asked.route, asked.descent).map_err(|e| vec![e])?;
    if let Some(n) = asked.variants {
        let range = 1..=ensemble::MOST;
        let Some(n) = n.parse::<usize>().ok().filter(|n| range.contains(n)) else {
            let most = ensemble::MOST.to_string();
            return Err(vec![words::fill("ride.error.variants", &[("given", n), ("most", &most)])]);
        };
        let bar = Progress::new();
        let all = ensemble::ensemble(job, &course, &options, n, &|done| bar.at(done, n));
        bar.done();
        let text = if asked.format == "json" { ride_json::variants(job, &all) } else { ride_text::variants(job, &all) };
        return Ok((text, all.survives > 0.5));
    }
    let study = study(job, &course, &options).map_err(|e| vec![say::ride_error(&e)])?;
    let holds = study.pairs.iter().all(|p| p.survives());
    let series = |locked: bool| -> Result<Vec<Row>, Vec<String>> {
        let bike = study.usual.with_clutch(locked);
        let mut series = Series::new(&course, EVERY_S);
        let start = course.start_speed().as_metres_per_second();
        ride_with(&bike, &study.rider, &study.weather, &course, start, STEP_S, &mut series)
            .map_err(|e| vec![say::ride_error(&RideError::Stuck(e))])?;
        Ok(series.rows)
    };
    let title = format!("{} {}", job.number, job.name);
    let text = match asked.format {
        "json" => ride_json::json(job, &course, &study),
        "csv" => csv(&series(true)?),
        "svg" => ride_strip(&series(true)?, &title, true),
        "svg-free" => ride_strip(&series(false)?, &title, false),
        _ => ride_text::text(job, &course, &study, asked.descent.is_some()),
    };
    Ok((text, holds))
}

/// A job with what a ride asks of it in place of what was only assumed; says what changed.
pub fn asked_of(job: &Job, route: Option<&str>, descent: Option<&str>) -> Result<Job, String> {
    let options = Options::read(&[]).map_err(|all| all.iter().map(option_error).collect::<Vec<_>>().join("\n"))?;
    let course = course(job, &options, route, descent)?;
    let demands = demands::demands(job, &course, &options).map_err(|e| say::ride_error(&e))?;
    for d in &demands {
        let was = job.fact(d.fact).map_or_else(|| words::text("app.not-known"), |f| f.text.clone());
        let line = [("fact", check_text::fact_name(d.fact)), ("value", d.text()), ("was", was)];
        output::talk(&words::fill("ride.text.demand", &line.each_ref().map(|(k, v)| (*k, v.as_str()))));
    }
    Ok(demands::with(job, &demands))
}

/// The course of a route file or of one descent.
pub fn course(job: &Job, options: &Options, route: Option<&str>, descent: Option<&str>) -> Result<Course, String> {
    match (route, descent) {
        (None, Some(text)) => {
            let (grade, height) =
                descent::slope_and_height(text).ok_or_else(|| words::fill("ride.error.descent", &[("given", text)]))?;
            descent::course(job, options, grade, height).map_err(|e| say::course_error(&e))
        }
        (Some(path), _) => {
            let told = |why: String| words::fill("app.no-file", &[("path", path), ("why", &why)]);
            let bytes = std::fs::read(path).map_err(|e| told(e.to_string()))?;
            let (course, notes) = intake::read_route(job, options, &bytes).map_err(told)?;
            for note in notes {
                output::talk(&format!("{path}: {note}"));
            }
            Ok(course)
        }
        _ => Err(words::text("ride.error.what")),
    }
}

fn option_error(e: &OptionError) -> String {
    match e {
        OptionError::Unknown(name) => {
            let all: Vec<&str> = OPTIONS.iter().map(|o| o.name).collect();
            words::fill("ride.error.unknown", &[("name", name), ("all", &all.join(", "))])
        }
        OptionError::Text(name, why) => words::fill("ride.error.text", &[("name", name), ("why", &why.to_string())]),
        OptionError::Range(name, value) => {
            let o = OPTIONS.iter().find(|o| o.name == *name);
            let (low, high, unit) = o.map_or((0.0, 0.0, ""), |o| (o.low, o.high, o.unit));
            words::fill(
                "ride.error.range",
                &[
                    ("name", name),
                    ("value", &figure(*value)),
                    ("unit", unit),
                    ("low", &figure(low)),
                    ("high", &figure(high)),
                ],
            )
        }
    }
}
