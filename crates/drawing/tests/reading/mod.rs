//! Reads pictures back: well-formedness, links, texts with the room they take.
#![allow(dead_code)]

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use workbench::job::Job;

/// One link as drawn.
#[derive(Debug, Default)]
pub struct Drawn {
    pub id: String,
    pub href: String,
    pub state: String,
    pub label: String,
    pub words: Vec<String>,
}

/// One text with the room it takes.
#[derive(Clone, Debug)]
pub struct Text {
    pub text: String,
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
}

/// All demo jobs.
pub fn demo() -> Vec<Job> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let entries = std::fs::read_dir(folder).expect("there are demo jobs");
    let mut paths: Vec<_> = entries.map(|e| e.expect("listed").path()).collect();
    paths.sort();
    let jobs: Vec<Job> = paths
        .iter()
        .filter(|p| p.file_name().and_then(|n| n.to_str()).is_some_and(|n| n.starts_with("01") && n.ends_with(".toml")))
        .map(|p| intake::load_job(p).unwrap_or_else(|_| panic!("{} can be read", p.display())))
        .collect();
    assert!(jobs.len() >= 5, "only {} demo jobs", jobs.len());
    jobs
}

fn attribute(e: &BytesStart<'_>, name: &str) -> String {
    let mut all = e.attributes().map(|a| a.expect("attributes are well-formed"));
    let found = all.find(|a| a.key.as_ref() == name.as_bytes());
    found.map_or_else(String::new, |a| a.unescape_value().expect("entities are known").into_owned())
}

fn number(e: &BytesStart<'_>, name: &str) -> f64 {
    attribute(e, name).parse().unwrap_or_else(|_| panic!("`{name}` of a text is a number"))
}

/// Walks the whole picture; panics where it is not well-formed XML.
fn walk(svg: &str, mut each: impl FnMut(&[String], &BytesStart<'_>, &str)) {
    let mut reader = Reader::from_str(svg);
    reader.config_mut().check_end_names = true;
    let mut open: Vec<(String, BytesStart<'static>, String)> = Vec::new();
    loop {
        match reader.read_event().expect("the picture is well-formed") {
            Event::Start(e) => {
                for a in e.attributes() {
                    a.expect("attributes are well-formed");
                }
                open.push((String::from_utf8_lossy(e.name().as_ref()).into_owned(), e.into_owned(), String::new()));
            }
            Event::Empty(e) => {
                for a in e.attributes() {
                    a.expect("attributes are well-formed");
                }
                let path: Vec<String> = open.iter().map(|o| o.0.clone()).collect();
                each(&path, &e, "");
            }
            Event::Text(t) => {
                if let Some(o) = open.last_mut() {
                    o.2 += &t.decode().expect("text is UTF-8");
                }
            }
            Event::GeneralRef(r) => {
                let name = r.decode().expect("UTF-8").into_owned();
                let c = match name.as_str() {
                    "amp" => "&",
                    "lt" => "<",
                    "gt" => ">",
                    "quot" => "\"",
                    "#39" => "'",
                    other => panic!("unknown entity {other}"),
                };
                if let Some(o) = open.last_mut() {
                    o.2 += c;
                }
            }
            Event::End(_) => {
                let (_, e, text) = open.pop().expect("an element is open");
                let path: Vec<String> = open.iter().map(|o| o.0.clone()).collect();
                each(&path, &e, &text);
            }
            Event::Eof => break,
            _ => {}
        }
    }
    assert!(open.is_empty(), "an element is left open");
}

/// The links of a picture.
pub fn links(svg: &str) -> Vec<Drawn> {
    let mut out = Vec::new();
    let mut words = Vec::new();
    walk(svg, |path, e, text| match e.name().as_ref() {
        b"text" if path.iter().any(|p| p == "a") => words.push(text.to_owned()),
        b"a" => out.push(Drawn {
            id: attribute(e, "data-link"),
            href: attribute(e, "href"),
            state: attribute(e, "data-state"),
            label: attribute(e, "aria-label"),
            words: core::mem::take(&mut words),
        }),
        _ => {}
    });
    out
}

/// Width of a text as a share of its size in DejaVu Sans, the widest sans-serif face in common use. `widths.csv` holds the
/// advances that a browser measures for version 2.37 of the font.
fn letters_width(text: &str, bold: bool) -> f64 {
    static WIDTHS: std::sync::OnceLock<std::collections::HashMap<char, (f64, f64)>> = std::sync::OnceLock::new();
    let widths = WIDTHS.get_or_init(|| {
        let row = |line: &str| {
            let mut parts = line.split(',').map(|p| p.parse::<u32>().expect("a whole number"));
            let mut next = || parts.next().expect("three columns");
            let (letter, regular, bold) = (next(), next(), next());
            (char::from_u32(letter).expect("a letter"), (f64::from(regular) / 1000.0, f64::from(bold) / 1000.0))
        };
        include_str!("widths.csv").lines().skip(1).map(row).collect()
    });
    let one = |c: char| widths.get(&c).map_or(1.0, |w| if bold { w.1 } else { w.0 });
    text.chars().map(one).sum()
}

/// The texts of a picture.
pub fn texts(svg: &str) -> Vec<Text> {
    let mut out = Vec::new();
    walk(svg, |_, e, text| {
        if e.name().as_ref() != b"text" {
            return;
        }
        let (x, y, size) = (number(e, "x"), number(e, "y"), number(e, "font-size"));
        let wide = size * letters_width(text, attribute(e, "class").contains("bold"));
        let left = match attribute(e, "text-anchor").as_str() {
            "middle" => x - wide / 2.0,
            "end" => x - wide,
            _ => x,
        };
        let key = ["drawing.", "link.", "card.", "verdict.", "side.", "fact."].iter().any(|k| text.starts_with(k));
        assert!(!key, "`{text}` is a key without words");
        let (top, bottom) = (y - 0.76 * size, y + 0.2 * size);
        out.push(Text { text: text.to_owned(), left, right: left + wide, top, bottom });
    });
    assert!(!out.is_empty(), "no text in the picture");
    out
}

/// Pairs of texts that touch.
pub fn overlaps(texts: &[Text]) -> Vec<String> {
    let mut out = Vec::new();
    for (i, a) in texts.iter().enumerate() {
        for b in &texts[i + 1..] {
            if a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom {
                out.push(format!("`{}` and `{}` overlap", a.text, b.text));
            }
        }
    }
    out
}

/// Width and height of a picture.
pub fn size(svg: &str) -> (f64, f64) {
    let mut out = (0.0, 0.0);
    walk(svg, |path, e, _| {
        if path.is_empty() {
            out = (number(e, "width"), number(e, "height"));
        }
    });
    out
}
