//! How wide a text is at most: a rough table of letter widths, taken wide so that a text that fits here fits in any
//! usual sans-serif face.

/// Width of a text, in the unit of its size.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let sum: f64 = text.chars().map(letter).sum();
    sum * size * if bold { 1.1 } else { 1.0 }
}

/// Width of a letter as a share of the size.
fn letter(c: char) -> f64 {
    match c {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '·' | '|' | '!' => 0.34,
        'i' | 'j' | 'l' | 'I' => 0.30,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '→' | '∞' => 0.98,
        'A'..='Z' | '>' | '<' | '=' | '+' | '±' => 0.76,
        '0'..='9' => 0.64,
        c if c.is_ascii() => 0.62,
        c if (c as u32) < 0x2000 => 0.66,
        _ => 1.0,
    }
}

/// Breaks a text into lines no wider than that; the last line allowed takes what is left, cut with `…`.
pub fn wrap(text: &str, size: f64, bold: bool, most: f64, lines: usize) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut words = text.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if line.is_empty() || width(&longer, size, bold) <= most {
            line = longer;
        } else if out.len() + 1 < lines {
            out.push(core::mem::replace(&mut line, word.to_owned()));
        } else {
            line.push('…');
            break;
        }
        if words.peek().is_none() {
            break;
        }
    }
    out.push(line);
    out.into_iter().map(|l| cut(&l, size, bold, most)).collect()
}

/// Cuts a text that is too wide, with `…`.
pub fn cut(text: &str, size: f64, bold: bool, most: f64) -> String {
    if width(text, size, bold) <= most {
        return text.to_owned();
    }
    let mut out = text.trim_end_matches('…').to_owned();
    while !out.is_empty() && width(&out, size, bold) + size > most {
        out.pop();
    }
    out.trim_end().to_owned() + "…"
}
