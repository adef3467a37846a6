//! The job file: tables of facts, each value a text with its unit, its doubt and where it comes from.

use crate::diagnostic::Diagnostic;
use core::ops::Range;
use quantity::text::Decimal;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use workbench::fact::{self, FactId, Origin, Problem, Shape, Tool};
use workbench::job::Job;
use workbench::{conflict, kinds};

const HEADS: [&str; 8] = ["number", "name", "kind", "rack", "one_in", "same_surface", "notes", "decimal_comma"];
const TABLES: [&str; 7] = ["bike", "motor", "controller", "settings", "battery", "axle", "arm"];
/// More arms than any axle has room for.
const MOST_ARMS: usize = 8;

/// The rack file that a job names, if it can be read that far.
pub fn rack_name(source: &str) -> Option<String> {
    let table = DeTable::parse(source).ok()?;
    table.get_ref().get("rack").and_then(|v| v.get_ref().as_str()).map(str::to_owned)
}

struct Reader<'a> {
    rack: &'a [Tool],
    decimal: Decimal,
    errors: Vec<Diagnostic>,
    job: Job,
    unknown: Vec<FactId>,
    spans: Vec<(FactId, Range<usize>)>,
}

/// Reads a job file and fills what it leaves out from its kind.
///
/// # Errors
/// Everything that is wrong with it, in the order of the file.
pub fn read_job(source: &str, rack: &[Tool]) -> Result<Job, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| {
        vec![Diagnostic {
            span: e.span().unwrap_or(0..0),
            message: format!("this is not TOML: {}", e.message().replace('\n', " ")),
            hint: "texts stand in quotes, and each table in [brackets]".to_owned(),
        }]
    })?;
    let table = table.get_ref();
    let arms = match table.get("arm").map(Spanned::get_ref) {
        Some(DeValue::Array(list)) => list.len().min(MOST_ARMS),
        _ => 0,
    };
    let mut r = Reader {
        rack,
        decimal: Decimal::Point,
        errors: Vec::new(),
        job: Job::new("", "", arms),
        unknown: Vec::new(),
        spans: Vec::new(),
    };
    r.job.rack = rack.to_vec();
    r.heads(table);
    for (key, value) in table {
        let name: &str = key.get_ref();
        if HEADS.contains(&name) {
            continue;
        }
        match (name, value.get_ref()) {
            ("arm", DeValue::Array(list)) => {
                if list.len() > MOST_ARMS {
                    r.say(value.span(), format!("{} torque arms; at most {MOST_ARMS}", list.len()), "");
                }
                for (i, item) in list.iter().take(MOST_ARMS).enumerate() {
                    match item.get_ref() {
                        DeValue::Table(t) => r.table(&format!("arm.{}", i + 1), t),
                        _ => r.say(
                            item.span(),
                            "each torque arm is a table".to_owned(),
                            "write [[arm]] and its facts below it",
                        ),
                    }
                }
            }
            ("arm", _) => r.say(
                value.span(),
                "torque arms are a list of tables".to_owned(),
                "write [[arm]] with two brackets for each arm",
            ),
            (name, DeValue::Table(t)) if TABLES.contains(&name) => r.table(name, t),
            _ => {
                let hint = nearest(name, HEADS.iter().chain(&TABLES).map(|s| (*s).to_owned()));
                r.say(key.span(), format!("`{name}` is not known"), &hint);
            }
        }
    }
    let Reader { mut errors, mut job, unknown, spans, .. } = r;
    kinds::fill(&mut job, &unknown);
    for clash in conflict::find(&job) {
        let span = clash
            .facts
            .iter()
            .filter_map(|f| spans.iter().find(|(id, _)| id == f))
            .map(|(_, s)| s.clone())
            .max_by_key(|s| s.start);
        // Two assumed values cannot be the writer's fault; a clash always touches a written one.
        errors.push(Diagnostic { span: span.unwrap_or(0..0), message: clash.message(), hint: clash.hint() });
    }
    errors.sort_by_key(|e| e.span.start);
    if errors.is_empty() { Ok(job) } else { Err(errors) }
}

impl Reader<'_> {
    fn say(&mut self, span: Range<usize>, message: String, hint: &str) {
        self.errors.push(Diagnostic { span, message, hint: hint.to_owned() });
    }

    fn heads(&mut self, table: &DeTable<'_>) {
        let text = |r: &mut Self, key: &str, wanted: bool| -> String {
            match table.get(key) {
                None if wanted => {
                    r.say(0..0, format!("`{key}` is missing"), &format!("write {key} = \"…\" at the top of the file"));
                    String::new()
                }
                None => String::new(),
                Some(v) => v.get_ref().as_str().map(str::to_owned).unwrap_or_else(|| {
                    r.say(v.span(), format!("`{key}` is a text"), "put it in quotes");
                    String::new()
                }),
            }
        };
        self.job.number = text(self, "number", true);
        self.job.name = text(self, "name", true);
        let kind = text(self, "kind", false);
        let _ = text(self, "rack", false);
        if let Some(v) = table.get("kind")
            && !kind.is_empty()
        {
            if kinds::KINDS.contains(&kind.as_str()) {
                self.job.kind = Some(kind);
            } else {
                let hint = nearest(&kind, kinds::KINDS.iter().map(|k| (*k).to_owned()));
                self.say(v.span(), format!("`{kind}` is no kind of hub; allowed: {}", kinds::KINDS.join(", ")), &hint);
            }
        }
        if let Some(v) = table.get("one_in") {
            match v.get_ref().as_integer().and_then(|i| i.to_string().replace('_', "").parse::<f64>().ok()) {
                Some(n) if (10.0..=100_000.0).contains(&n) => self.job.one_in = n,
                _ => self.say(
                    v.span(),
                    "`one_in` is a whole number, 10 to 100 000".to_owned(),
                    "100, 1000 or 10000 are the usual steps",
                ),
            }
        }
        for (key, place) in [("same_surface", 0), ("decimal_comma", 1)] {
            if let Some(v) = table.get(key) {
                match (v.get_ref().as_bool(), place) {
                    (Some(b), 0) => self.job.same_surface = b,
                    (Some(true), _) => self.decimal = Decimal::Comma,
                    (Some(false), _) => {}
                    (None, _) => self.say(v.span(), format!("`{key}` is true or false, without quotes"), ""),
                }
            }
        }
        if let Some(v) = table.get("notes") {
            match v.get_ref() {
                DeValue::Array(list) if list.iter().all(|n| n.get_ref().as_str().is_some()) => {
                    self.job.notes = list.iter().filter_map(|n| n.get_ref().as_str().map(str::to_owned)).collect();
                }
                _ => self.say(v.span(), "`notes` is a list of texts".to_owned(), "notes = [\"…\", \"…\"]"),
            }
        }
    }

    fn table(&mut self, prefix: &str, table: &DeTable<'_>) {
        for (key, value) in table {
            let name: &str = key.get_ref();
            let id = format!("{prefix}.{name}");
            if let DeValue::Table(inner) = value.get_ref() {
                if prefix == "axle" && (name == "left" || name == "right") {
                    self.table(&id, inner);
                } else {
                    self.say(
                        key.span(),
                        format!("there is no table `{id}`"),
                        "only [axle.left] and [axle.right] are tables in tables",
                    );
                }
                continue;
            }
            match fact::find(&id, self.job.arms) {
                Some(found) => self.fact(found, &id, value),
                None => {
                    let all = (0..fact::count(self.job.arms) as u16).filter_map(fact::nth).map(|f| fact::describe(f).1);
                    let hint = nearest(&id, all);
                    self.say(key.span(), format!("`{id}` is not known"), &hint);
                }
            }
        }
    }

    fn fact(&mut self, id: FactId, name: &str, value: &Spanned<DeValue<'_>>) {
        let def = fact::describe(id).0;
        let owned;
        let text = match value.get_ref() {
            DeValue::String(s) => &**s,
            DeValue::Integer(i) if matches!(def.shape, Shape::Count { .. }) => {
                owned = i.to_string();
                owned.as_str()
            }
            _ => {
                let hint = example(def.shape).map_or(String::new(), |e| format!("for example \"{e}\""));
                self.say(value.span(), format!("`{name}` is a text in quotes, with its unit"), &hint);
                return;
            }
        };
        self.spans.push((id, value.span()));
        if text.trim() == "not known" {
            self.unknown.push(id);
            return;
        }
        let settings = name.starts_with("settings.");
        let default = if settings { Origin::Chosen } else { Origin::Measured };
        match fact::read_fact(def, text, self.rack, default, self.decimal) {
            Ok(f) => self.job.facts[id.index()] = Some(f),
            Err(problems) => {
                for p in problems {
                    let (message, hint) = say_problem(name, text, def.shape, &p, self.rack);
                    self.say(value.span(), message, &hint);
                }
            }
        }
    }
}

fn example(shape: Shape) -> Option<String> {
    match shape {
        Shape::Quantity { unit, low, high, .. } => Some(format!("{} {unit}", (low + high) / 2.0).trim_end().to_owned()),
        Shape::Count { low, .. } => Some(low.to_string()),
        Shape::Choice(tokens) => tokens.first().map(|t| (*t).to_owned()),
    }
}

fn allowed(shape: Shape) -> String {
    match shape {
        Shape::Quantity { unit, low, high, .. } => format!("{low} to {high} {unit}").trim_end().to_owned(),
        Shape::Count { low, high } => format!("a whole number, {low} to {high}"),
        Shape::Choice(tokens) => tokens.join(", "),
    }
}

fn say_problem(name: &str, text: &str, shape: Shape, p: &Problem, rack: &[Tool]) -> (String, String) {
    match p {
        Problem::Text(e) => (
            format!("`{name}`: {e}; allowed: {}", allowed(shape)),
            example(shape).map_or(String::new(), |x| format!("for example \"{x}\"")),
        ),
        Problem::Range { value, .. } => {
            let shown = format!("{}", (value * 1e6).round() / 1e6);
            (
                format!("`{name}` is {shown} ({text}); allowed: {}", allowed(shape)),
                "check the number and its unit; a doubt (±, to) must stay inside the range too".to_owned(),
            )
        }
        Problem::Choice { given, allowed } => (
            format!("`{name}` is `{given}`; allowed: {}", allowed.join(", ")),
            nearest(given, allowed.iter().map(|s| (*s).to_owned())),
        ),
        Problem::NotWhole(v) => {
            (format!("`{name}` is {v}; it is counted, so a whole number: {}", allowed(shape)), String::new())
        }
        Problem::Origin(word) => (
            format!("`{name}`: `{word}` does not say where the value comes from"),
            format!("after the comma stands one of: {}", Origin::ALL.map(Origin::token).join(", ")),
        ),
        Problem::Tool(word) => (
            format!("`{name}`: there is no tool `{word}` in the rack"),
            if rack.is_empty() {
                "name a rack file at the top: rack = \"rack.toml\"".to_owned()
            } else {
                format!("the rack has: {}", rack.iter().map(|t| t.id.as_str()).collect::<Vec<_>>().join(", "))
            },
        ),
        Problem::ToolKind { tool, takes } => (
            format!("`{name}`: tool `{tool}` takes a {takes}, not this"),
            "name the tool that took it, or write ± yourself".to_owned(),
        ),
        Problem::Spread => (
            format!("`{name}`: the doubt in `{text}` makes no sense"),
            "write ± with a positive number, or low to high".to_owned(),
        ),
    }
}

/// "did you mean …" with the nearest of the candidates, if any is near.
pub(crate) fn nearest(word: &str, candidates: impl Iterator<Item = String>) -> String {
    let last = word.rsplit('.').next().unwrap_or(word);
    candidates
        .map(|c| {
            let tail = c.rsplit('.').next().unwrap_or(&c).to_owned();
            let score = strsim::jaro_winkler(word, &c).max(0.97 * strsim::jaro_winkler(last, &tail));
            (score, c)
        })
        .filter(|(score, _)| *score > 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(String::new(), |(_, c)| format!("did you mean `{c}`?"))
}
