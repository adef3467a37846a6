//! The name card: a person's own file that says how the controller and display on this bike name and scale each value.

use crate::diagnostic::Diagnostic;
use crate::job::nearest;
use core::ops::Range;
use quantity::text::{self, Decimal, Reading, Spread};
use quantity::units::{Unit, find_unit};
use toml::de::{DeTable, DeValue};
use workbench::fact::Side;
use workbench::settings::{At, Card, Entry, Kind, Means, Scale};

const HEADS: [&str; 3] = ["device", "firmware", "value"];
const KEYS: [&str; 11] =
    ["name", "page", "is", "step", "least", "most", "full_scale", "at_zero", "at_full", "means", "old"];
/// More values than any device has.
const MOST_VALUES: usize = 200;

/// Reads a name card.
///
/// # Errors
/// Everything that is wrong with it, in the order of the file.
pub fn read_name_card(source: &str) -> Result<Card, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| {
        vec![Diagnostic {
            span: e.span().unwrap_or(0..0),
            message: format!("this is not TOML: {}", e.message().replace('\n', " ")),
            hint: "texts stand in quotes, and each value of the device below [[value]]".to_owned(),
        }]
    })?;
    let mut r = Reader { errors: Vec::new() };
    let mut card = Card::default();
    for (key, value) in table.get_ref() {
        let name: &str = key.get_ref();
        match (name, value.get_ref()) {
            ("device", DeValue::String(s)) => card.device = s.to_string(),
            ("firmware", DeValue::Table(t)) => {
                for (part, version) in t {
                    match version.get_ref().as_str() {
                        Some(v) => card.firmware.push((part.get_ref().to_string(), v.to_owned())),
                        None => r.say(version.span(), "a firmware version is a text".to_owned(), "put it in quotes"),
                    }
                }
            }
            ("value", DeValue::Array(list)) => {
                if list.len() > MOST_VALUES {
                    r.say(value.span(), format!("{} values; at most {MOST_VALUES}", list.len()), "");
                }
                for item in list.iter().take(MOST_VALUES) {
                    match item.get_ref() {
                        DeValue::Table(t) => card.entries.extend(r.entry(item.span(), t)),
                        _ => r.say(item.span(), "each value is a table".to_owned(), "write [[value]] above it"),
                    }
                }
            }
            (name, _) if HEADS.contains(&name) => {
                r.say(
                    value.span(),
                    format!("`{name}` has the wrong form"),
                    "device is a text, firmware a [table], value a [[list of tables]]",
                );
            }
            _ => {
                let hint = nearest(name, HEADS.iter().map(|s| (*s).to_owned()));
                r.say(key.span(), format!("`{name}` is not known in a name card"), &hint);
            }
        }
    }
    if card.device.is_empty() && r.errors.is_empty() {
        r.say(0..0, "`device` is missing".to_owned(), "write device = \"…\" at the top: what you call it");
    }
    if card.entries.is_empty() && r.errors.is_empty() {
        r.say(0..0, "the card names no value".to_owned(), "write [[value]] and below it name, is and step");
    }
    r.errors.sort_by_key(|e| e.span.start);
    if r.errors.is_empty() { Ok(card) } else { Err(r.errors) }
}

struct Reader {
    errors: Vec<Diagnostic>,
}

impl Reader {
    fn say(&mut self, span: Range<usize>, message: String, hint: &str) {
        self.errors.push(Diagnostic { span, message, hint: hint.to_owned() });
    }

    fn entry(&mut self, span: Range<usize>, t: &DeTable<'_>) -> Option<Entry> {
        let before = self.errors.len();
        for (key, _) in t {
            let name: &str = key.get_ref();
            if !KEYS.contains(&name) {
                let hint = nearest(name, KEYS.iter().map(|s| (*s).to_owned()));
                self.say(key.span(), format!("`{name}` is not known in a value of a name card"), &hint);
            }
        }
        let name = self.text(t, "name");
        if name.is_none() && !t.contains_key("name") {
            self.say(span.clone(), "`name` is missing".to_owned(), "what the device calls it");
        }
        let what = self.what(&span, t);
        let step = self.number(t, "step");
        if step.is_none() && !t.contains_key("step") {
            self.say(
                span,
                "`step` is missing".to_owned(),
                "the smallest change that the device takes, with its unit: \"1 %\", \"0.5 A\"",
            );
        }
        let unit = step.as_ref().map(|(r, _)| r.unit);
        if let Some((r, at)) = &step
            && r.value_si - r.unit.to_si(0.0) <= 0.0
        {
            self.say(at.clone(), "`step` is above zero".to_owned(), "");
        }
        let limits = ["least", "most"].map(|key| self.in_unit(t, key, unit));
        let scale = self.scale(t, unit, what.map(|w| w.0), step.as_ref().map(|s| s.1.clone()));
        let means = self.means(t, what.map(|w| w.0));
        if let (Some(low), Some(high)) = (&limits[0], &limits[1])
            && low >= high
            && let Some(v) = t.get("most")
        {
            self.say(v.span(), "`most` is not above `least`".to_owned(), "");
        }
        let (kind, at) = what?;
        if self.errors.len() > before {
            return None;
        }
        let (reading, _) = step?;
        Some(Entry {
            name: name?,
            page: self.text(t, "page"),
            kind,
            at,
            scale: scale?,
            means,
            unit: reading.unit,
            // A step is a difference: 1 °C is 1 K.
            step: reading.value_si - reading.unit.to_si(0.0),
            least: limits[0],
            most: limits[1],
            old: self.text(t, "old"),
        })
    }

    fn text(&mut self, t: &DeTable<'_>, key: &str) -> Option<String> {
        let v = t.get(key)?;
        let found = v.get_ref().as_str().map(str::to_owned);
        if found.is_none() {
            self.say(v.span(), format!("`{key}` is a text"), "put it in quotes");
        }
        found
    }

    fn number(&mut self, t: &DeTable<'_>, key: &str) -> Option<(Reading, Range<usize>)> {
        let v = t.get(key)?;
        let Some(s) = v.get_ref().as_str() else {
            self.say(
                v.span(),
                format!("`{key}` is a text in quotes, with its unit"),
                "for example \"1 %\" or \"0.5 A\"",
            );
            return None;
        };
        match text::parse(s, Decimal::Point) {
            Ok(r) if r.spread == Spread::None => Some((r, v.span())),
            Ok(_) => {
                self.say(v.span(), format!("`{key}` is one number"), "without ± or to");
                None
            }
            Err(e) => {
                self.say(v.span(), format!("`{key}`: {e}"), "for example \"1 %\" or \"0.5 A\"");
                None
            }
        }
    }

    /// A number of the same kind as the device's step.
    fn in_unit(&mut self, t: &DeTable<'_>, key: &str, unit: Option<&'static Unit>) -> Option<f64> {
        let (r, span) = self.number(t, key)?;
        let unit = unit?;
        if !same(r.unit, unit) {
            self.say(
                span,
                format!("`{key}` is in {}, `step` in {}", shown(r.unit), shown(unit)),
                "both are what the device shows",
            );
            return None;
        }
        Some(r.value_si)
    }

    /// `brake-current`, `nut-torque.left`, `anchor-torque.1`.
    fn what(&mut self, span: &Range<usize>, t: &DeTable<'_>) -> Option<(Kind, At)> {
        let Some(v) = t.get("is") else {
            let all: Vec<&str> = Kind::ALL.iter().map(|k| k.id()).collect();
            self.say(span.clone(), "`is` is missing".to_owned(), &format!("one of: {}", all.join(", ")));
            return None;
        };
        let given = v.get_ref().as_str().unwrap_or_default();
        let (id, place) = given.split_once('.').unwrap_or((given, ""));
        let Some(kind) = Kind::find(id) else {
            let hint = nearest(given, Kind::ALL.iter().map(|k| k.id().to_owned()));
            let all: Vec<&str> = Kind::ALL.iter().map(|k| k.id()).collect();
            self.say(v.span(), format!("`{given}` is no setting; allowed: {}", all.join(", ")), &hint);
            return None;
        };
        let at = match (kind, place) {
            (Kind::NutTorque, "left") => Some(At::Side(Side::Left)),
            (Kind::NutTorque, "right") => Some(At::Side(Side::Right)),
            (Kind::PinchTorque | Kind::AnchorTorque, n) => {
                n.parse::<usize>().ok().filter(|n| (1..=8).contains(n)).map(|n| At::Arm(n - 1))
            }
            (Kind::NutTorque, _) => None,
            (_, "") => Some(At::Whole),
            _ => None,
        };
        let Some(at) = at else {
            self.say(
                v.span(),
                format!("`{given}`: which one?"),
                "nut-torque.left or .right; pinch-torque.1, anchor-torque.1 for the first arm; all others without a place",
            );
            return None;
        };
        Some((kind, at))
    }

    fn scale(
        &mut self,
        t: &DeTable<'_>,
        unit: Option<&'static Unit>,
        kind: Option<Kind>,
        step: Option<Range<usize>>,
    ) -> Option<Scale> {
        let own = kind.and_then(|k| find_unit(k.unit())).unwrap_or(Unit::one());
        if !t.contains_key("full_scale") {
            for key in ["at_zero", "at_full"] {
                if let Some(v) = t.get(key) {
                    self.say(
                        v.span(),
                        format!("`{key}` needs `full_scale`"),
                        "the setting at which the device is at its end: full_scale = \"90 A\"",
                    );
                }
            }
            if let (Some(unit), Some(kind), Some(span)) = (unit, kind, step)
                && !same(unit, own)
            {
                self.say(
                    span,
                    format!("`step` is in {}, but {} is in {}", shown(unit), kind.id(), shown(own)),
                    "where the device shows a share or volts of a sensor, add full_scale = \"…\"",
                );
                return None;
            }
            return Some(Scale::Plain);
        }
        let (full, span) = self.number(t, "full_scale")?;
        if kind.is_some() && (!same(full.unit, own) || full.value_si <= 0.0) {
            self.say(
                span,
                format!("`full_scale` is above zero and in {}", shown(own)),
                "the setting itself, not what is shown",
            );
            return None;
        }
        let at_zero = if t.contains_key("at_zero") { self.in_unit(t, "at_zero", unit)? } else { 0.0 };
        let at_full = if t.contains_key("at_full") {
            self.in_unit(t, "at_full", unit)?
        } else if unit.is_some_and(|u| u.symbol == "%") {
            1.0
        } else {
            self.say(span, "`at_full` is missing".to_owned(), "what the device shows at full_scale");
            return None;
        };
        if at_zero == at_full {
            self.say(span, "`at_zero` and `at_full` are the same".to_owned(), "the device must show a difference");
            return None;
        }
        Some(Scale::Line { full_scale: full.value_si, at_zero, at_full })
    }

    fn means(&mut self, t: &DeTable<'_>, kind: Option<Kind>) -> Option<Means> {
        let v = t.get("means")?;
        if kind.is_some_and(|k| !matches!(k, Kind::DriveCurrent | Kind::BrakeCurrent)) {
            self.say(v.span(), "`means` belongs to a motor current".to_owned(), "leave it out here");
            return None;
        }
        match v.get_ref().as_str() {
            Some("rms") => Some(Means::Rms),
            Some("amplitude") => Some(Means::Amplitude),
            _ => {
                self.say(v.span(), "`means` is \"rms\" or \"amplitude\"".to_owned(), "");
                None
            }
        }
    }
}

fn same(a: &Unit, b: &Unit) -> bool {
    let pure = |u: &Unit| u.symbol.is_empty() || u.symbol == "%";
    (pure(a) && pure(b)) || (a.dimension == b.dimension && a.kinds.iter().any(|k| b.kinds.contains(k)))
}

fn shown(u: &Unit) -> &'static str {
    if u.symbol.is_empty() { "a pure number" } else { u.symbol }
}
