//! What the shop's papers are made from: its name, its prices and hours (the shop's document `prices`), and what the parts on
//! its shelf cost and are for.

use super::money::{Count, Money};
use crate::app::App;
use crate::fail::Fail;
use crate::shelf;
use intake::Diagnostic;
use jobbook::edit;
use workbench::words::{fill, text};

/// A piece of work or a thing that every quote has, or only those for which it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// What it is.
    pub what: String,
    /// How much of it.
    pub count: Count,
    /// What one costs; nothing where the shop has not said.
    pub each: Option<Money>,
    /// The lever or purpose for which it is (`pinch-arm`, `lock`); empty: every time.
    pub purpose: String,
}

/// All of it, read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prices {
    /// The shop's name, place and phone, as they stand on its papers.
    pub shop: [String; 3],
    /// What the shop says of papers, in its own words.
    pub papers: String,
    /// What it is paid in.
    pub currency: String,
    /// One hour at the bench.
    pub hour: Option<Money>,
    /// What is paid beforehand for opening and looking.
    pub deposit: Option<Money>,
    /// Days for which a quote holds.
    pub valid_days: i64,
    /// What has to be waited for.
    pub wait: String,
    /// When the bike comes back; paid with the work.
    pub rechecks: String,
    /// Work.
    pub work: Vec<Entry>,
    /// Things.
    pub items: Vec<Entry>,
}

/// Days where the shop has not said: common practice.
const VALID_DAYS: i64 = 14;
const MOST_DAYS: i64 = 366;

/// Reads the shop's prices; everything that is wrong, in words.
pub fn read(source: &str) -> Result<Prices, Vec<Diagnostic>> {
    let doc = edit::parse(source).map_err(|e| match e {
        edit::Wrong::NotToml(why) | edit::Wrong::NoPlace(why) => vec![fault(source, "", why)],
    })?;
    let mut wrong: Vec<Diagnostic> = Vec::new();
    let known =
        ["shop.name", "shop.place", "shop.phone", "shop.papers", "money.currency", "money.hour", "money.deposit"];
    let more = ["money.valid_days", "wait.says", "rechecks.says"];
    for key in edit::leaves(&doc).into_keys() {
        let listed = key.split_once('.').is_some_and(|(list, rest)| {
            let key = rest.split_once('.').map_or("", |(_, key)| key);
            match list {
                "work" => ["", "what", "hours", "for"].contains(&key),
                "item" => ["", "what", "count", "each", "for"].contains(&key),
                _ => false,
            }
        });
        if !listed && !known.contains(&key.as_str()) && !more.contains(&key.as_str()) {
            wrong.push(fault(source, &key, fill("office.prices.unknown", &[("key", &key)])));
        }
    }
    let word = |key: &str| edit::plain(&doc, key).unwrap_or_default();
    let money = |key: &str, wrong: &mut Vec<Diagnostic>| {
        let written = edit::plain(&doc, key)?;
        let read = Money::read(&written);
        if read.is_none() {
            wrong.push(fault(source, key, fill("office.prices.money", &[("key", key), ("given", &written)])));
        }
        read
    };
    let valid_days = match edit::plain(&doc, "money.valid_days") {
        None => VALID_DAYS,
        Some(given) => given.parse().ok().filter(|d| (1..=MOST_DAYS).contains(d)).unwrap_or_else(|| {
            let message = fill("office.prices.days", &[("given", &given), ("most", &MOST_DAYS.to_string())]);
            wrong.push(fault(source, "money.valid_days", message));
            VALID_DAYS
        }),
    };
    let mut prices = Prices {
        shop: [word("shop.name"), word("shop.place"), word("shop.phone")],
        papers: word("shop.papers"),
        currency: word("money.currency"),
        hour: money("money.hour", &mut wrong),
        deposit: money("money.deposit", &mut wrong),
        valid_days,
        wait: word("wait.says"),
        rechecks: word("rechecks.says"),
        work: Vec::new(),
        items: Vec::new(),
    };
    for (list, amount) in [("work", "hours"), ("item", "count")] {
        let n = doc.get(list).and_then(|i| i.as_array_of_tables()).map_or(0, |a| a.len());
        for i in 1..=n {
            let at = |key: &str| format!("{list}.{i}.{key}");
            let written = edit::plain(&doc, &at(amount)).unwrap_or_else(|| "1".to_owned());
            let count = Count::read(&written).filter(|c| list == "item" || c.minutes() > 0);
            let Some(count) = count else {
                let message = fill(&format!("office.prices.{amount}"), &[("key", &at(amount)), ("given", &written)]);
                wrong.push(fault(source, &at(amount), message));
                continue;
            };
            let what = word(&at("what"));
            if what.is_empty() {
                wrong.push(fault(source, &at("what"), fill("office.prices.what", &[("key", &at("what"))])));
                continue;
            }
            let each = if list == "work" { prices.hour } else { money(&at("each"), &mut wrong) };
            let entry = Entry { what, count, each, purpose: word(&at("for")) };
            if list == "work" { prices.work.push(entry) } else { prices.items.push(entry) }
        }
    }
    if wrong.is_empty() { Ok(prices) } else { Err(wrong) }
}

/// A fault at the line of its key.
fn fault(source: &str, key: &str, message: String) -> Diagnostic {
    let parts: Vec<&str> = key.split('.').collect();
    let after = |from: usize, what: &str| source[from..].find(what).map(|at| from + at);
    let table = match parts.as_slice() {
        [list, n, _] => {
            let n: usize = n.parse().unwrap_or(1);
            source.match_indices(&format!("[[{list}]]")).nth(n.saturating_sub(1)).map(|(at, _)| at)
        }
        [table, _] => after(0, &format!("[{table}]")),
        _ => None,
    };
    let start = table.unwrap_or(0);
    let last = parts.last().copied().unwrap_or_default();
    let span = match after(start, &format!("\n{last} ")).or_else(|| after(start, &format!("\n{last}="))) {
        Some(at) if !last.is_empty() => at + 1..at + 1 + last.len(),
        _ => start..start,
    };
    Diagnostic { span, message, hint: String::new() }
}

/// The shop's prices, and its shelf; what cannot be read (it was checked when it was kept) counts as not there.
pub fn load(app: &App) -> Result<(Prices, Vec<shelf::Part>), Fail> {
    let own = |name: &str| Ok::<String, Fail>(app.book.document(name)?.map_or_else(String::new, |d| d.text));
    let none = Prices { valid_days: VALID_DAYS, ..Prices::default() };
    Ok((read(&own("prices")?).unwrap_or(none), shelf::parts(&own("shelf")?)))
}

impl Prices {
    /// An amount with its money.
    pub fn show(&self, amount: Money) -> String {
        format!("{amount} {}", self.currency).trim().to_owned()
    }
    /// The shop's name, or the word for it.
    pub fn shop_name(&self) -> String {
        if self.shop[0].is_empty() { text("office.the-shop") } else { self.shop[0].clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::{Money, read};

    #[test]
    fn the_demo_shop_can_be_read() {
        let prices = read(include_str!("../../../../demo/prices.toml")).expect("readable");
        assert_eq!(prices.show(prices.hour.expect("a price")), "52 mk");
        assert_eq!((prices.work.len(), prices.items.len(), prices.valid_days), (10, 3, 14));
        assert!(prices.work.iter().all(|w| w.each == Money::read("52")));
    }

    #[test]
    fn everything_that_is_wrong_is_said_at_once() {
        let text = "[money]\nhour = \"dear\"\nvalid_days = 0\nrate = 3\n[[work]]\nwhat = \"x\"\nhours = \"45\"\n[[item]]\neach = \"2\"\n";
        let wrong = read(text).expect_err("faults");
        assert_eq!(wrong.len(), 5, "{wrong:#?}");
        for part in ["money.hour", "dear", "money.rate", "work.1.hours", "item.1.what"] {
            assert!(wrong.iter().any(|w| w.message.contains(part)), "{part}: {wrong:#?}");
        }
        let hours = wrong.iter().find(|w| w.message.contains("work.1.hours")).expect("a fault");
        assert_eq!(&text[hours.span.clone()], "hours");
        assert!(read("not = [").is_err());
    }
}
