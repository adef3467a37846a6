//! The difference between two texts as one splice, so that history can be replayed in both directions to the byte.

/// At a byte, this was taken out and that put in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Splice {
    /// Where, in bytes.
    pub at_byte: usize,
    /// What stood there before.
    pub removed: String,
    /// What stands there after.
    pub inserted: String,
}

/// The shortest single splice that turns `before` into `after`.
pub fn between(before: &str, after: &str) -> Splice {
    let mut start = before.bytes().zip(after.bytes()).take_while(|(a, b)| a == b).count();
    while !before.is_char_boundary(start) || !after.is_char_boundary(start) {
        start -= 1;
    }
    let (tail_before, tail_after) = (&before[start..], &after[start..]);
    let mut end = tail_before.bytes().rev().zip(tail_after.bytes().rev()).take_while(|(a, b)| a == b).count();
    let splits = |tail: &str, end: usize| tail.is_char_boundary(tail.len() - end);
    while !splits(tail_before, end) || !splits(tail_after, end) {
        end -= 1;
    }
    Splice {
        at_byte: start,
        removed: tail_before[..tail_before.len() - end].to_owned(),
        inserted: tail_after[..tail_after.len() - end].to_owned(),
    }
}

impl Splice {
    /// The text after, from the text before; `None` if the splice does not belong to this text.
    pub fn apply(&self, before: &str) -> Option<String> {
        replace(before, self.at_byte, &self.removed, &self.inserted)
    }
    /// The text before, from the text after; `None` if the splice does not belong to this text.
    pub fn revert(&self, after: &str) -> Option<String> {
        replace(after, self.at_byte, &self.inserted, &self.removed)
    }
}

fn replace(text: &str, at: usize, old: &str, new: &str) -> Option<String> {
    let rest = text.get(at..)?.strip_prefix(old)?;
    Some([&text[..at], new, rest].concat())
}
