//! How wide a text is at most, so that what fits here fits in any usual sans-serif face.

/// Width of a text, in the unit of its size.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    text.chars().map(|c| letter(c, bold)).sum::<f64>() * size
}

/// Advance of the printable ASCII letters of DejaVu Sans in hundredths of the size, rounded up: the widest face in common
/// use (its metrics are those of Bitstream Vera).
const REGULAR: [u8; 95] = [
    32, 41, 46, 84, 64, 95, 78, 28, 39, 39, 50, 84, 32, 37, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84,
    84, 84, 54, 100, 69, 69, 70, 77, 64, 58, 78, 76, 30, 30, 66, 56, 87, 75, 79, 61, 79, 70, 64, 62, 74, 69, 99, 69,
    62, 69, 39, 34, 39, 84, 50, 50, 62, 64, 55, 64, 62, 36, 64, 64, 28, 28, 58, 28, 98, 64, 62, 64, 64, 42, 53, 40, 64,
    60, 82, 60, 60, 53, 64, 34, 64, 84,
];
/// The same of its bold face.
const BOLD: [u8; 95] = [
    35, 46, 53, 84, 70, 101, 88, 31, 46, 46, 53, 84, 38, 42, 38, 37, 70, 70, 70, 70, 70, 70, 70, 70, 70, 70, 40, 40,
    84, 84, 84, 58, 100, 78, 77, 74, 83, 69, 69, 83, 84, 38, 38, 78, 64, 100, 84, 85, 74, 85, 77, 72, 69, 82, 78, 111,
    78, 73, 73, 46, 37, 46, 84, 50, 50, 68, 72, 60, 72, 68, 44, 72, 72, 35, 35, 67, 35, 105, 72, 69, 72, 72, 50, 60,
    48, 72, 66, 93, 65, 66, 59, 72, 37, 72, 84,
];

/// Width of a letter as a share of the size. Latin letters with accents are as wide as their plain ones at most in capitals.
fn letter(c: char, bold: bool) -> f64 {
    let ascii = (c as usize).checked_sub(32).filter(|i| *i < 95);
    match ascii {
        Some(i) => f64::from(if bold { BOLD[i] } else { REGULAR[i] }) / 100.0,
        None if matches!(c, '°' | '·' | '²' | '³' | '’') => 0.5,
        None if matches!(c, 'Æ' | 'æ' | 'Œ' | 'œ' | '¼' | '½' | '¾' | 'Ŵ' | 'Ħ') => 1.2,
        None if (c as u32) < 0x250 => {
            if bold {
                0.88
            } else {
                0.78
            }
        }
        None => 1.05,
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
