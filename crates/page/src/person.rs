//! Who holds this device, and how they like numbers: cookies, nothing secret.

use axum::http::HeaderMap;
use axum::http::header::COOKIE;
use quantity::text::Decimal;
use quantity::units::System;

/// The person at this device and their habits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Name or initials; written beside every change.
    pub who: String,
    /// The device: `bench 1`.
    pub device: String,
    /// Units in which numbers are shown and asked.
    pub units: System,
    /// Decimal comma or point.
    pub decimal: Decimal,
    /// Dark colours, by choice only.
    pub dark: bool,
}

/// Longest name of a person or device, in characters.
pub const LONGEST_NAME: usize = 40;

/// A cookie's value.
pub fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|h| h.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(key, _)| *key == name)
        .map(|(_, value)| value)
}

impl Person {
    /// Nobody in particular: metric, with a point.
    pub fn anybody() -> Self {
        Self { who: String::new(), device: String::new(), units: System::Metric, decimal: Decimal::Point, dark: false }
    }

    /// Reads the cookies; what is missing or odd is left at its usual value.
    pub fn from_headers(headers: &HeaderMap) -> Self {
        let text = |name: &str| cookie(headers, name).map(plain).filter(|t| !t.is_empty());
        Self {
            who: text("who").unwrap_or_default(),
            device: text("device").unwrap_or_default(),
            units: if cookie(headers, "units") == Some("imperial") { System::Imperial } else { System::Metric },
            decimal: if cookie(headers, "decimal") == Some("comma") { Decimal::Comma } else { Decimal::Point },
            dark: cookie(headers, "theme") == Some("dark"),
        }
    }
}

/// A name without control characters, of bearable length.
pub fn tidy(name: &str) -> String {
    let kept: String = name.chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
    kept.trim().to_owned()
}

/// Text as a cookie can carry it: percent for everything but letters and digits of ASCII.
pub fn packed(text: &str) -> String {
    text.bytes().fold(String::new(), |mut out, b| {
        if b.is_ascii_alphanumeric() {
            out.push(b as char)
        } else {
            out.push_str(&format!("%{b:02X}"))
        }
        out
    })
}

fn plain(packed: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = packed.bytes();
    while let Some(b) = rest.next() {
        let hex = |b: Option<u8>| b.and_then(|b| (b as char).to_digit(16)).map(|d| d as u8);
        if b == b'%' {
            let (Some(high), Some(low)) = (hex(rest.next()), hex(rest.next())) else { return String::new() };
            bytes.push(high * 16 + low);
        } else {
            bytes.push(b);
        }
    }
    tidy(&String::from_utf8_lossy(&bytes))
}

#[cfg(test)]
mod tests {
    use super::{packed, plain};

    #[test]
    fn a_name_survives_its_cookie() {
        for name in ["Mirra Stobel", "Jörg; Ünal=x", "50 %", "工房"] {
            assert_eq!(plain(&packed(name)), name);
        }
        assert_eq!(plain("%zz"), "");
        assert_eq!(plain("a%0ab"), "ab");
    }
}
