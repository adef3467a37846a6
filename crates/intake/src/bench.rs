//! Bench files: what was read at the bench, values as texts with their units, as in a job file.

use crate::LoadError;
use crate::diagnostic::Diagnostic;
use crate::job::{nearest, problem};
use core::ops::Range;
use proof::bench::{BackEmf, Feel, Hold, Lever, NoLoad, Pull, Sheet, SpinDown, Taken, Turned, When, Wires};
use proof::follow::{Card, Day, Done};
use quantity::text::{self, Decimal, Spread};
use std::io::{self, Read};
use std::path::Path;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use workbench::fact::{Distribution, FactDef, Origin, Shape, Spreads, Tool, read_fact};
use workbench::words;

/// A kind of reading: its definition, and how good one careful go is where neither doubt nor a better tool is named.
///
/// The shares are the "good to" of the measuring cards m20 to m26, m41 and m12 (bench experience, no published source),
/// as half of 95 %; the others are common practice for the tool that is usual there.
struct Kind {
    def: FactDef,
    share: f64,
    absolute: f64,
}

const fn kind(id: &'static str, card: &'static str, unit: &'static str, range: (f64, f64), good: (f64, f64)) -> Kind {
    let shape = Shape::Quantity { unit, low: range.0, high: range.1 };
    Kind { def: FactDef { id, shape, doubt: Spreads::Normal, card }, share: good.0, absolute: good.1 }
}

const OHMS: Kind = kind("wires", "m20", "mΩ", (2.0, 3000.0), (0.02, 0.0));
const STANDBY: Kind = kind("standby", "m25", "W", (0.0, 60.0), (0.0, 0.5));
const SUPPLY: Kind = kind("supply", "m25", "V", (5.0, 250.0), (0.005, 0.0));
const AMPERES: Kind = kind("current", "m25", "A", (0.0, 60.0), (0.0, 0.05));
const SPEED: Kind = kind("speed", "m21", "rpm", (1.0, 3000.0), (0.01, 0.0));
const MOTOR_VOLTS: Kind = kind("motor", "m22", "V", (1.0, 250.0), (0.005, 0.0));
const PULL_MASS: Kind = kind("pull", "m24", "g", (5.0, 20_000.0), (0.08, 0.0));
const PULL_FORCE: Kind = kind("pull", "m24", "N", (0.05, 200.0), (0.08, 0.0));
const VOLTS: Kind = kind("volts", "m21", "V", (0.05, 250.0), (0.025, 0.0));
const FLYWHEEL: Kind = kind("flywheel", "assume", "kg·m²", (0.001, 20.0), (0.05, 0.0));
const SECONDS: Kind = kind("points", "m21", "s", (0.0, 600.0), (0.0, 0.0));
const MOTOR_AMPERES: Kind = kind("current", "m26", "A", (0.5, 600.0), (0.02, 0.0));
const LEVER_TORQUE: Kind = kind("against", "m26", "N·m", (0.1, 400.0), (0.05, 0.0));
const HOLD_MASS: Kind = kind("pull", "m12", "kg", (0.2, 60.0), (0.0, 0.1));
const HOLD_FORCE: Kind = kind("pull", "m12", "N", (2.0, 600.0), (0.0, 1.0));
const HOLD_LEVER: Kind = kind("lever", "m12", "m", (0.1, 3.0), (0.005, 0.0));
const RUNOUT: Kind = kind("runout", "m41", "mm", (0.0, 5.0), (0.0, 2e-5));
const HUB: Kind = kind("hub", "m44", "°C", (-20.0, 120.0), (0.0, 0.0));

/// Weight of a kilogram, N (standard gravity).
const GRAVITY: f64 = 9.806_65;
/// Half of a 95 % interval over the standard deviation of a normal spread.
const HALF: f64 = 1.959_963_985;

/// Reads values with units out of tables and collects what is wrong.
pub(crate) struct Reader<'a> {
    rack: &'a [Tool],
    decimal: Decimal,
    errors: Vec<Diagnostic>,
}

/// Reads a bench file. `name` stands in messages about it later.
///
/// # Errors
/// Everything that is wrong with it, in the order of the file.
pub fn read_bench(source: &str, name: &str, rack: &[Tool]) -> Result<Sheet, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| vec![crate::not_toml(&e)])?;
    let table = table.get_ref();
    let mut r = Reader::new(rack);
    let sheet = r.sheet(table, name);
    r.finish(sheet)
}

/// Loads a bench file; `-` reads standard input.
///
/// # Errors
/// [`LoadError`] with everything that is wrong with it.
pub fn load_bench(path: &Path, rack: &[Tool]) -> Result<Sheet, LoadError> {
    let name = path.display().to_string();
    let text = if name == "-" { from_stdin()? } else { crate::slurp(path)? };
    read_bench(&text, &name, rack).map_err(|errors| LoadError::Content { path: name, text, errors })
}

fn from_stdin() -> Result<String, LoadError> {
    let fail = |why: String| LoadError::File { path: "-".to_owned(), why };
    let mut bytes = Vec::new();
    io::stdin().lock().take(crate::LARGEST + 1).read_to_end(&mut bytes).map_err(|e| fail(e.to_string()))?;
    if bytes.len() as u64 > crate::LARGEST {
        return Err(fail(words::fill(
            "job-file.too-large",
            &[("size", &bytes.len().to_string()), ("most", &crate::LARGEST.to_string())],
        )));
    }
    String::from_utf8(bytes)
        .map_err(|e| fail(words::fill("job-file.not-utf8", &[("byte", &e.utf8_error().valid_up_to().to_string())])))
}

/// For the fuzzer: any bytes give a sheet or card, or errors, never a panic.
pub fn fuzz_bench(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes) {
        if let Err(errors) = read_bench(text, "fuzz.toml", &[]) {
            let _ = crate::render("fuzz.toml", text, &errors);
        }
        if let Err(errors) = crate::read_card(text, "fuzz.toml", &[]) {
            let _ = crate::render("fuzz.toml", text, &errors);
        }
    }
}

const TOP: [&str; 17] = [
    "job",
    "when",
    "clutch",
    "date",
    "hub",
    "decimal_comma",
    "notes",
    "standby",
    "runout",
    "feel",
    "wires",
    "no_load",
    "pull",
    "back_emf",
    "spin_down",
    "lever",
    "hold",
];

type Entry<'a> = Spanned<DeValue<'a>>;

/// What a come-back card may hold.
pub(crate) const CARD_KEYS: [&str; 13] = [
    "job",
    "date",
    "odometer",
    "hand_over",
    "wheel_out",
    "decimal_comma",
    "notes",
    "decision",
    // How the faces looked: for people, nothing is worked out from it.
    "faces",
    "marks",
    "left_nut",
    "right_nut",
    "pull",
];
const ODOMETER: Kind = kind("odometer", "look", "km", (0.0, 1e6), (0.0, 0.0));
const MARK: Kind = kind("marks", "look", "°", (0.0, 720.0), (0.0, 0.0));
const NUT: Kind = kind("nut", "m9", "N·m", (1.0, 250.0), (0.05, 0.0));

impl<'a> Reader<'a> {
    pub(crate) fn new(rack: &'a [Tool]) -> Self {
        Self { rack, decimal: Decimal::Point, errors: Vec::new() }
    }

    /// What was read, or everything that is wrong in the order of the file.
    pub(crate) fn finish<T>(mut self, read: T) -> Result<T, Vec<Diagnostic>> {
        self.errors.sort_by_key(|e| e.span.start);
        if self.errors.is_empty() { Ok(read) } else { Err(self.errors) }
    }
}

impl Reader<'_> {
    pub(crate) fn say(&mut self, span: Range<usize>, key: &str, values: &[(&str, &str)]) {
        self.errors.push(Diagnostic::new(span, key, values));
    }

    fn sheet(&mut self, table: &DeTable<'_>, name: &str) -> Sheet {
        self.only(table, &TOP);
        self.decimal_comma(table);
        let job = self.text(table, "job", 0..0).unwrap_or_default();
        let when = match self.choice(table, "when", &["before", "after"], 0..0) {
            Some(0) => When::Before,
            _ => When::After,
        };
        let locked = self.choice(table, "clutch", &["free", "locked"], 0..0) == Some(1);
        let mut s = Sheet::new(name, &job, when, locked);
        s.date = table.get("date").and_then(|_| self.text(table, "date", 0..0));
        s.celsius = table.get("hub").and_then(|_| self.one(table, &HUB, "hub", 0..0)).map(|t| t.value - 273.15);
        s.standby = table.get("standby").and_then(|_| self.one(table, &STANDBY, "standby", 0..0));
        s.runout = table.get("runout").and_then(|_| self.one(table, &RUNOUT, "runout", 0..0));
        if table.get("feel").is_some() {
            s.feel = match self.choice(table, "feel", &["smooth", "tight-spot", "gritty"], 0..0) {
                Some(0) => Some(Feel::Smooth),
                Some(1) => Some(Feel::TightSpot),
                Some(_) => Some(Feel::Gritty),
                None => None,
            };
        }
        self.wires(table, &mut s);
        self.each(table, "no_load", &["supply", "current", "speed", "motor"], |r, t, at| {
            let supply_volts = r.one(t, &SUPPLY, "supply", at.clone());
            let amperes = r.one(t, &AMPERES, "current", at.clone());
            let speed = r.maybe(t, &SPEED, "speed");
            let motor = r.maybe(t, &MOTOR_VOLTS, "motor");
            if t.get("speed").is_none() && t.get("motor").is_none() {
                r.say(at, "bench-no-load", &[]);
            }
            Some(NoLoad { supply_volts: supply_volts?, amperes: amperes?, wheel_speed: speed, motor_volts: motor })
        })
        .into_iter()
        .for_each(|n| s.no_load.push(n));
        s.pulls = self.each(table, "pull", &["pull", "turned", "plugged"], |r, t, at| {
            let newtons = r.weight(t, &PULL_MASS, &PULL_FORCE, at.clone());
            let turned = r.turned(t, at);
            let plugged = r.flag(t, "plugged").unwrap_or(false);
            Some(Pull { newtons: newtons?, turned: turned?, plugged })
        });
        s.back_emf = self.each(table, "back_emf", &["volts", "meter", "speed", "turned"], |r, t, at| {
            let volts = r.one(t, &VOLTS, "volts", at.clone());
            let wheel_speed = r.one(t, &SPEED, "speed", at.clone());
            let turned = r.turned(t, at.clone());
            let peak = t.get("meter").is_some() && r.choice(t, "meter", &["rms", "peak"], at) == Some(1);
            let over = if peak { 2f64.sqrt() } else { 1.0 };
            let v = volts?;
            let volts_rms = Taken { value: v.value / over, sigma: v.sigma / over, ..v };
            Some(BackEmf { volts_rms, wheel_speed: wheel_speed?, turned: turned? })
        });
        s.spin_downs = self.each(table, "spin_down", &["turned", "flywheel", "points"], |r, t, at| {
            let turned = r.turned(t, at.clone());
            let flywheel = r.maybe(t, &FLYWHEEL, "flywheel");
            let points = r.points(t, at);
            Some(SpinDown { turned: turned?, flywheel, points: points? })
        });
        s.levers = self.each(table, "lever", &["current", "against", "lifted"], |r, t, at| {
            let amperes = r.one(t, &MOTOR_AMPERES, "current", at.clone());
            let against = r.maybe(t, &LEVER_TORQUE, "against");
            let lifted = r.maybe(t, &LEVER_TORQUE, "lifted");
            if t.get("against").is_none() && t.get("lifted").is_none() {
                r.say(at, "bench-lever", &[]);
            }
            Some(Lever { amperes: amperes?, against, lifted })
        });
        s.holds = self.each(table, "hold", &["pull", "lever", "turned", "times", "moved"], |r, t, at| {
            let newtons = r.weight(t, &HOLD_MASS, &HOLD_FORCE, at.clone());
            let metres = r.one(t, &HOLD_LEVER, "lever", at.clone());
            let turned = r.turned(t, at.clone());
            let times = r.count(t, "times", at.clone());
            let moved = r.flag(t, "moved");
            if moved.is_none() && t.get("moved").is_none() {
                r.say(at, "bench-moved", &[]);
            }
            Some(Hold { newtons: newtons?, metres: metres?, turned: turned?, times: times?, moved: moved? })
        });
        s
    }

    pub(crate) fn decimal_comma(&mut self, table: &DeTable<'_>) {
        if let Some(v) = table.get("decimal_comma") {
            match v.get_ref().as_bool() {
                Some(true) => self.decimal = Decimal::Comma,
                Some(false) => {}
                None => self.say(v.span(), "true-false", &[("key", "decimal_comma")]),
            }
        }
    }

    pub(crate) fn card(&mut self, table: &DeTable<'_>, name: &str, job: String, day: Day) -> Card {
        let odometer = self.one(table, &ODOMETER, "odometer", 0..0).map_or(0.0, |t| t.value);
        let mut moved = [None; 4];
        if let Some(v) = table.get("marks") {
            match v.get_ref() {
                DeValue::Table(t) => {
                    self.only(t, &["left_nut", "right_nut", "arm", "anchor"]);
                    for (i, key) in ["left_nut", "right_nut", "arm", "anchor"].into_iter().enumerate() {
                        moved[i] = self.maybe(t, &MARK, key).map(|t| t.value.to_degrees());
                    }
                }
                _ => self.say(v.span(), "card-marks", &[]),
            }
        }
        let nuts = ["left_nut", "right_nut"].map(|key| self.maybe(table, &NUT, key).map(|t| t.value));
        let pull = table.get("pull").and_then(|_| self.weight(table, &PULL_MASS, &PULL_FORCE, 0..0));
        let done =
            table.get("decision").and_then(|_| self.choice(table, "decision", &Done::ALL.map(Done::token), 0..0));
        let flag = |r: &mut Self, key| r.flag(table, key).unwrap_or(false);
        Card {
            name: name.to_owned(),
            job,
            day,
            odometer,
            moved,
            nuts,
            pull: pull.map(|t| (t.value, t.sigma)),
            wheel_out: flag(self, "wheel_out"),
            hand_over: flag(self, "hand_over"),
            done: done.map(|i| Done::ALL[i]),
        }
    }

    pub(crate) fn only(&mut self, table: &DeTable<'_>, allowed: &[&str]) {
        for (key, _) in table {
            let name: &str = key.get_ref();
            if !allowed.contains(&name) {
                let mut hint = nearest(name, allowed.iter().map(|s| (*s).to_owned()));
                if hint.is_empty() {
                    hint = words::fill("job-file.bench-allowed", &[("allowed", &allowed.join(", "))]);
                }
                self.errors.push(Diagnostic::new(key.span(), "unknown", &[("name", name)]).with_hint(hint));
            }
        }
    }

    pub(crate) fn text(&mut self, table: &DeTable<'_>, key: &str, at: Range<usize>) -> Option<String> {
        match table.get(key).map(|v| (v.span(), v.get_ref().as_str().map(str::to_owned))) {
            Some((_, Some(s))) => Some(s),
            Some((span, None)) => {
                self.say(span, "text", &[("key", key)]);
                None
            }
            None => {
                self.say(at, "bench-missing", &[("key", key)]);
                None
            }
        }
    }

    fn choice(&mut self, table: &DeTable<'_>, key: &str, allowed: &[&str], at: Range<usize>) -> Option<usize> {
        let given = self.text(table, key, at)?;
        let place = allowed.iter().position(|a| *a == given);
        if place.is_none() {
            let span = table.get(key).map_or(0..0, Spanned::span);
            let hint = nearest(&given, allowed.iter().map(|s| (*s).to_owned()));
            let values = [("name", key), ("given", given.as_str()), ("allowed", &allowed.join(", "))];
            self.errors.push(Diagnostic::new(span, "choice", &values).with_hint(hint));
        }
        place
    }

    fn turned(&mut self, table: &DeTable<'_>, at: Range<usize>) -> Option<Turned> {
        match self.choice(table, "turned", &["forwards", "backwards"], at)? {
            0 => Some(Turned::Forwards),
            _ => Some(Turned::Backwards),
        }
    }

    fn flag(&mut self, table: &DeTable<'_>, key: &str) -> Option<bool> {
        let v = table.get(key)?;
        let found = v.get_ref().as_bool();
        if found.is_none() {
            self.say(v.span(), "true-false", &[("key", key)]);
        }
        found
    }

    fn count(&mut self, table: &DeTable<'_>, key: &str, at: Range<usize>) -> Option<u32> {
        let Some(v) = table.get(key) else {
            self.say(at, "bench-count", &[("key", key)]);
            return None;
        };
        let n = v.get_ref().as_integer().and_then(|i| i.to_string().replace('_', "").parse::<u32>().ok());
        if !n.is_some_and(|n| (1..=1000).contains(&n)) {
            self.say(v.span(), "bench-count", &[("key", key)]);
            return None;
        }
        n
    }

    /// The items of a list of tables; `name` alone in single brackets is taken as a list of one.
    fn each<T>(
        &mut self,
        table: &DeTable<'_>,
        name: &str,
        keys: &[&str],
        mut read: impl FnMut(&mut Self, &DeTable<'_>, Range<usize>) -> Option<T>,
    ) -> Vec<T> {
        let Some(found) = table.get(name) else { return Vec::new() };
        let mut out = Vec::new();
        let mut item = |r: &mut Self, v: &Entry<'_>| match v.get_ref() {
            DeValue::Table(t) => {
                r.only(t, keys);
                out.extend(read(r, t, v.span()));
            }
            _ => r.say(v.span(), "bench-table", &[("name", name)]),
        };
        match found.get_ref() {
            DeValue::Array(list) => list.iter().for_each(|v| item(self, v)),
            _ => item(self, found),
        }
        out
    }

    fn maybe(&mut self, table: &DeTable<'_>, kind: &Kind, key: &str) -> Option<Taken> {
        table.get(key)?;
        self.one(table, kind, key, 0..0)
    }

    fn one(&mut self, table: &DeTable<'_>, kind: &Kind, key: &str, at: Range<usize>) -> Option<Taken> {
        let given = self.text(table, key, at)?;
        let span = table.get(key).map_or(0..0, Spanned::span);
        self.taken(kind, key, &given, span)
    }

    fn taken(&mut self, kind: &Kind, key: &str, given: &str, span: Range<usize>) -> Option<Taken> {
        match read_fact(&kind.def, given, self.rack, Origin::Measured, self.decimal) {
            Ok(f) => {
                let stated = text::parse(&f.text, self.decimal).is_ok_and(|r| r.spread != Spread::None);
                let careful = (kind.share * f.value.abs() + kind.absolute) / HALF;
                if stated {
                    let sigma = match f.spread {
                        Distribution::Normal { sigma } => sigma,
                        Distribution::LogNormal { sigma_ln } => sigma_ln * f.value.abs(),
                        Distribution::Uniform { low, high } => (high - low) / 12f64.sqrt(),
                        Distribution::Exact => 0.0,
                    };
                    return Some(Taken { value: f.value, sigma: sigma.max(1e-9), gain: 0.0, tool: f.tool });
                }
                // A tool's class spreads evenly: its half width over √3. Its share is the same in all its readings.
                let tool = f.tool.as_ref().and_then(|t| self.rack.iter().find(|r| r.id == *t));
                let own = tool.and_then(|t| t.absolute.as_ref()).map_or(0.0, |(half, _)| half / 3f64.sqrt());
                let gain = tool.map_or(0.0, |t| t.share / 3f64.sqrt());
                Some(Taken { value: f.value, sigma: careful.max(own), gain, tool: f.tool })
            }
            Err(problems) => {
                for p in problems {
                    self.errors.push(problem(span.clone(), key, given, kind.def.shape, &p, self.rack));
                }
                None
            }
        }
    }

    /// A pull as a weight on a scale or as a force; in newtons.
    fn weight(&mut self, table: &DeTable<'_>, mass: &Kind, force: &Kind, at: Range<usize>) -> Option<Taken> {
        let given = self.text(table, "pull", at)?;
        let span = table.get("pull").map_or(0..0, Spanned::span);
        let body = given.split(',').next().unwrap_or(&given);
        if text::parse(body, self.decimal).is_ok_and(|r| r.unit.kinds.contains(&"force")) {
            return self.taken(force, "pull", &given, span);
        }
        let t = self.taken(mass, "pull", &given, span)?;
        Some(Taken { value: t.value * GRAVITY, sigma: t.sigma * GRAVITY, ..t })
    }

    fn wires(&mut self, table: &DeTable<'_>, s: &mut Sheet) {
        let Some(v) = table.get("wires") else { return };
        let DeValue::Table(t) = v.get_ref() else {
            self.say(v.span(), "bench-wires", &[]);
            return;
        };
        self.only(t, &["ab", "bc", "ca"]);
        for pair in ["ab", "bc", "ca"] {
            if let Some(ohms) = self.maybe(t, &OHMS, pair) {
                s.wires.push(Wires { pair, ohms });
            }
        }
    }

    fn points(&mut self, table: &DeTable<'_>, at: Range<usize>) -> Option<Vec<(f64, Taken)>> {
        let Some(v) = table.get("points") else {
            self.say(at, "bench-points", &[]);
            return None;
        };
        let DeValue::Array(list) = v.get_ref() else {
            self.say(v.span(), "bench-points", &[]);
            return None;
        };
        let mut out: Vec<(f64, Taken)> = Vec::new();
        for item in list.iter() {
            let pair = match item.get_ref() {
                DeValue::Array(p) if p.len() == 2 => (p[0].get_ref().as_str(), p[1].get_ref().as_str()),
                _ => (None, None),
            };
            let (Some(time), Some(speed)) = pair else {
                self.say(item.span(), "bench-points", &[]);
                continue;
            };
            let t = self.taken(&SECONDS, "points", time, item.span());
            let w = self.taken(&SPEED, "points", speed, item.span());
            if let (Some(t), Some(w)) = (t, w) {
                if out.last().is_some_and(|last| t.value <= last.0) {
                    self.say(item.span(), "bench-times", &[]);
                }
                out.push((t.value, w));
            }
        }
        if out.len() < 3 {
            self.say(v.span(), "bench-points", &[]);
            return None;
        }
        Some(out)
    }
}
