//! The job file: tables of facts, each value a text with its unit, its doubt and where it comes from.

use crate::Shop;
use crate::diagnostic::Diagnostic;
use core::ops::Range;
use quantity::text::Decimal;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use workbench::fact::{self, FactId, Origin, Problem, Shape, Tool};
use workbench::job::Job;
use workbench::{conflict, kinds, reading_words, words};

const HEADS: [&str; 9] =
    ["number", "name", "kind", "rack", "rules", "one_in", "same_surface", "notes", "decimal_comma"];
const TABLES: [&str; 7] = ["bike", "motor", "controller", "settings", "battery", "axle", "arm"];
/// More arms than any axle has room for.
const MOST_ARMS: usize = 8;

/// Files that a job names, if it can be read that far.
#[derive(Debug, Default)]
pub struct Named {
    /// Its tool rack.
    pub rack: Option<String>,
    /// Its house rules.
    pub rules: Option<String>,
}

/// The files that a job names.
pub fn named_files(source: &str) -> Named {
    let Ok(table) = DeTable::parse(source) else { return Named::default() };
    let text = |key: &str| table.get_ref().get(key).and_then(|v| v.get_ref().as_str()).map(str::to_owned);
    Named { rack: text("rack"), rules: text("rules") }
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
pub fn read_job(source: &str, shop: &Shop) -> Result<Job, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| vec![crate::not_toml(&e)])?;
    let table = table.get_ref();
    let arms = match table.get("arm").map(Spanned::get_ref) {
        Some(DeValue::Array(list)) => list.len().min(MOST_ARMS),
        _ => 0,
    };
    let mut r = Reader {
        rack: &shop.rack,
        decimal: Decimal::Point,
        errors: Vec::new(),
        job: Job::new("", "", arms),
        unknown: Vec::new(),
        spans: Vec::new(),
    };
    r.job.rack.clone_from(&shop.rack);
    r.job.rules.clone_from(&shop.rules.rules);
    r.job.rules_without.clone_from(&shop.rules.without);
    r.heads(table);
    for (key, value) in table {
        let name: &str = key.get_ref();
        if HEADS.contains(&name) {
            continue;
        }
        match (name, value.get_ref()) {
            ("arm", DeValue::Array(list)) => {
                if list.len() > MOST_ARMS {
                    let (n, most) = (list.len().to_string(), MOST_ARMS.to_string());
                    r.say(value.span(), "too-many-arms", &[("n", &n), ("most", &most)]);
                }
                for (i, item) in list.iter().take(MOST_ARMS).enumerate() {
                    match item.get_ref() {
                        DeValue::Table(t) => r.table(&format!("arm.{}", i + 1), t),
                        _ => r.say(item.span(), "arm-table", &[]),
                    }
                }
            }
            ("arm", _) => r.say(value.span(), "arm-list", &[]),
            (name, DeValue::Table(t)) if TABLES.contains(&name) => r.table(name, t),
            _ => {
                let hint = nearest(name, HEADS.iter().chain(&TABLES).map(|s| (*s).to_owned()));
                r.add(Diagnostic::new(key.span(), "unknown", &[("name", name)]).with_nearer_hint(hint));
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
    fn add(&mut self, error: Diagnostic) {
        self.errors.push(error);
    }
    fn say(&mut self, span: Range<usize>, key: &str, values: &[(&str, &str)]) {
        self.add(Diagnostic::new(span, key, values));
    }

    fn heads(&mut self, table: &DeTable<'_>) {
        let text = |r: &mut Self, key: &str, wanted: bool| -> String {
            match table.get(key) {
                None if wanted => {
                    r.say(0..0, "missing", &[("key", key)]);
                    String::new()
                }
                None => String::new(),
                Some(v) => v.get_ref().as_str().map(str::to_owned).unwrap_or_else(|| {
                    r.say(v.span(), "text", &[("key", key)]);
                    String::new()
                }),
            }
        };
        self.job.number = text(self, "number", true);
        self.job.name = text(self, "name", true);
        let kind = text(self, "kind", false);
        for file in ["rack", "rules"] {
            let _ = text(self, file, false);
        }
        if let Some(v) = table.get("kind")
            && !kind.is_empty()
        {
            if kinds::KINDS.contains(&kind.as_str()) {
                self.job.kind = Some(kind);
            } else {
                let hint = nearest(&kind, kinds::KINDS.iter().map(|k| (*k).to_owned()));
                let values = [("kind", kind.as_str()), ("allowed", &kinds::KINDS.join(", "))];
                self.add(Diagnostic::new(v.span(), "kind", &values).with_hint(hint));
            }
        }
        if let Some(v) = table.get("one_in") {
            match v.get_ref().as_integer().and_then(|i| i.to_string().replace('_', "").parse::<f64>().ok()) {
                Some(n) if (10.0..=100_000.0).contains(&n) => self.job.one_in = n,
                _ => self.say(v.span(), "one-in", &[]),
            }
        }
        for (key, place) in [("same_surface", 0), ("decimal_comma", 1)] {
            if let Some(v) = table.get(key) {
                match (v.get_ref().as_bool(), place) {
                    (Some(b), 0) => self.job.same_surface = b,
                    (Some(true), _) => self.decimal = Decimal::Comma,
                    (Some(false), _) => {}
                    (None, _) => self.say(v.span(), "true-false", &[("key", key)]),
                }
            }
        }
        if let Some(v) = table.get("notes") {
            match v.get_ref() {
                DeValue::Array(list) if list.iter().all(|n| n.get_ref().as_str().is_some()) => {
                    self.job.notes = list.iter().filter_map(|n| n.get_ref().as_str().map(str::to_owned)).collect();
                }
                _ => self.say(v.span(), "notes", &[]),
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
                    self.say(key.span(), "no-table", &[("name", &id)]);
                }
                continue;
            }
            match fact::find(&id, self.job.arms) {
                Some(found) => self.fact(found, &id, value),
                None => {
                    let all = (0..fact::count(self.job.arms) as u16).filter_map(fact::nth).map(|f| fact::describe(f).1);
                    let hint = nearest(&id, all);
                    self.add(Diagnostic::new(key.span(), "unknown", &[("name", &id)]).with_nearer_hint(hint));
                }
            }
        }
    }

    fn fact(&mut self, id: FactId, name: &str, value: &Spanned<DeValue<'_>>) {
        let def = fact::definition(id);
        let owned;
        let text = match value.get_ref() {
            DeValue::String(s) => &**s,
            DeValue::Integer(i) if matches!(def.shape, Shape::Count { .. }) => {
                owned = i.to_string();
                owned.as_str()
            }
            _ => {
                let error = Diagnostic::new(value.span(), "value-text", &[("name", name)]);
                self.add(error.with_hint(for_example(def.shape)));
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
                    let error = problem(value.span(), name, text, def.shape, &p, self.rack);
                    self.add(error);
                }
            }
        }
    }
}

fn for_example(shape: Shape) -> String {
    let example = match shape {
        Shape::Quantity { unit, low, high, .. } => format!("{} {unit}", (low + high) / 2.0).trim_end().to_owned(),
        Shape::Count { low, .. } => low.to_string(),
        Shape::Choice(tokens) => tokens.first().map_or_else(String::new, |t| (*t).to_owned()),
    };
    words::fill("job-file.for-example", &[("example", &example)])
}

fn allowed(shape: Shape) -> String {
    let range = |key: &str, low: f64, high: f64, unit: &str| {
        let (low, high) = (low.to_string(), high.to_string());
        words::fill(key, &[("low", &low), ("high", &high), ("unit", unit)]).trim_end().to_owned()
    };
    match shape {
        Shape::Quantity { unit, low, high, .. } => range("job-file.range-of", low, high, unit),
        Shape::Count { low, high } => range("job-file.whole-range", low, high, ""),
        Shape::Choice(tokens) => tokens.join(", "),
    }
}

pub(crate) fn problem(
    span: Range<usize>,
    name: &str,
    text: &str,
    shape: Shape,
    p: &Problem,
    rack: &[Tool],
) -> Diagnostic {
    let allowed = allowed(shape);
    let say = |key: &str, values: &[(&str, &str)]| {
        let all: Vec<(&str, &str)> = [("name", name), ("text", text), ("allowed", allowed.as_str())]
            .into_iter()
            .chain(values.iter().copied())
            .collect();
        Diagnostic::new(span.clone(), key, &all)
    };
    match p {
        Problem::Text(e) => say("reading", &[("why", &reading_words::say(e))]).with_hint(for_example(shape)),
        Problem::Range { value, .. } => say("range", &[("value", &((value * 1e6).round() / 1e6).to_string())]),
        Problem::Choice { given, allowed } => {
            say("choice", &[("given", given)]).with_hint(nearest(given, allowed.iter().map(|s| (*s).to_owned())))
        }
        Problem::NotWhole(v) => say("not-whole", &[("value", &v.to_string())]),
        Problem::Origin(word) => {
            let origins = Origin::ALL.map(Origin::token).join(", ");
            let hint = words::fill("job-file.origin-hint", &[("allowed", &origins)]);
            say("origin", &[("word", word)]).with_hint(hint)
        }
        Problem::Tool(word) if rack.is_empty() => {
            say("tool", &[("word", word)]).with_hint(words::text("job-file.tool-none-hint"))
        }
        Problem::Tool(word) => {
            let tools = rack.iter().map(|t| t.id.as_str()).collect::<Vec<_>>().join(", ");
            say("tool", &[("word", word), ("tools", &tools)])
        }
        Problem::ToolKind { tool, takes } => {
            let takes = words::text(&format!("unit-kind.{}", takes.replace(' ', "-")));
            say("tool-kind", &[("tool", tool), ("takes", &takes)])
        }
        Problem::Spread => say("spread", &[]),
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
        .map_or(String::new(), |(_, c)| words::fill("job-file.did-you-mean", &[("name", &c)]))
}
