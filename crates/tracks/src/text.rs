//! From bytes to text, numbers and times.

use crate::error::{Place, ReadError};
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};
use jiff::Timestamp;
use jiff::fmt::temporal::DateTimeParser;
use jiff::tz::Offset;
use std::borrow::Cow;

/// Largest file that is read as a whole, in bytes. Larger logs are streamed with [`crate::LogReader`].
pub const LARGEST_FILE: u64 = 1 << 30;

/// The text of an XML file: encoding by byte order mark, else by its declaration, else UTF-8.
///
/// A file that declares nothing, or UTF-8, and is not UTF-8 is an error with the place.
pub(crate) fn decode_xml(bytes: &[u8]) -> Result<Cow<'_, str>, ReadError> {
    let encoding = match Encoding::for_bom(bytes) {
        Some((encoding, _)) => encoding,
        None => wide(bytes).unwrap_or_else(|| declared(bytes).unwrap_or(UTF_8)),
    };
    let (text, malformed) = encoding.decode_with_bom_removal(bytes);
    if malformed {
        let (what, place) = match core::str::from_utf8(bytes) {
            Err(error) if encoding == UTF_8 => ("not UTF-8 text".to_owned(), Some(error.valid_up_to())),
            _ => (format!("not text in the encoding {}", encoding.name()), None),
        };
        let next = "if the file is in another encoding, name it in its first line: <?xml version=\"1.0\" encoding=\"…\"?>";
        let place = place.map(|byte| Place {
            line: Some(1 + bytes[..byte].iter().filter(|&&b| b == b'\n').count() as u64),
            byte: byte as u64,
        });
        return Err(ReadError { place, what, next: next.to_owned() });
    }
    Ok(text)
}

/// UTF-16 without a byte order mark shows by the zero byte beside `<`.
fn wide(bytes: &[u8]) -> Option<&'static Encoding> {
    match bytes {
        [b'<', 0, ..] => Some(encoding_rs::UTF_16LE),
        [0, b'<', ..] => Some(encoding_rs::UTF_16BE),
        _ => None,
    }
}

/// The encoding that the XML declaration names; ISO-8859-1 is read as its superset Windows-1252, as the web does.
fn declared(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = &bytes[..bytes.len().min(256)];
    let end = head.iter().position(|&b| b == b'>')?;
    let head = core::str::from_utf8(&head[..end]).ok()?;
    let (_, after) = head.trim_start().strip_prefix("<?xml")?.split_once("encoding")?;
    let value = after.trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let name = value[1..].split(quote).next()?;
    let found = Encoding::for_label(name.as_bytes())?;
    // A declaration that could be read as bytes cannot be UTF-16, whatever it says.
    Some(if found == encoding_rs::UTF_16LE || found == encoding_rs::UTF_16BE { UTF_8 } else { found })
}

/// One field of a CSV file, which may be UTF-8 or, where it is not, Windows-1252 (a superset of Latin-1).
pub(crate) fn decode_field(bytes: &[u8]) -> Cow<'_, str> {
    match core::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => WINDOWS_1252.decode_without_bom_handling(bytes).0,
    }
}

/// What stands where a number may stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Number {
    /// A finite number.
    Value(f64),
    /// Nothing: empty, or a word for nothing.
    Missing,
    /// Something else.
    Wrong,
}

/// Reads a number with a decimal point.
pub(crate) fn number(text: &str) -> Number {
    let text = text.trim();
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Number::Value(value),
        Ok(value) if value.is_nan() => Number::Missing,
        Ok(_) => Number::Wrong,
        Err(_) if text.is_empty() || matches!(text, "-" | "--" | "n/a" | "N/A" | "NA" | "null" | "None") => {
            Number::Missing
        }
        Err(_) => Number::Wrong,
    }
}

/// A moment: whole seconds since 1970-01-01T00:00:00Z, and the part of a second after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Moment {
    pub second: i64,
    pub part_s: f64,
}

impl Moment {
    pub(crate) fn since_s(self, start: i64) -> f64 {
        (self.second - start) as f64 + self.part_s
    }
}

/// Reads an ISO 8601 time; one without a zone is taken as UTC, and the flag says so.
pub(crate) fn moment(text: &str) -> Option<(Moment, bool)> {
    static PARSER: DateTimeParser = DateTimeParser::new();
    let text = text.trim();
    let split = |stamp: Timestamp| {
        let nanos = stamp.as_nanosecond();
        let second = nanos.div_euclid(1_000_000_000);
        Moment { second: second as i64, part_s: (nanos - second * 1_000_000_000) as f64 * 1e-9 }
    };
    if let Ok(stamp) = PARSER.parse_timestamp(text) {
        return Some((split(stamp), false));
    }
    // A date alone is no time: two points of one day would be at the same moment.
    if !text.contains(':') {
        return None;
    }
    let civil = PARSER.parse_datetime(text).ok()?;
    Some((split(Offset::UTC.to_timestamp(civil).ok()?), true))
}
