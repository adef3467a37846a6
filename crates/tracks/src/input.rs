//! Bytes of a file as UTF-8 (or a single-byte encoding, whose ASCII part is the same), with a look ahead.

use std::io::{self, Read};

use encoding_rs_io::DecodeReaderBytesBuilder;

/// How far ahead a format, a separator or a header is looked for, in bytes.
const LOOK_AHEAD: usize = 1 << 16;

/// A stream whose beginning can be looked at.
pub(crate) struct Input<'a> {
    head: Vec<u8>,
    taken: usize,
    rest: Box<dyn Read + 'a>,
}

impl<'a> Input<'a> {
    /// Takes away a byte order mark, and turns UTF-16 into UTF-8.
    pub fn new(mut stream: impl Read + 'a) -> io::Result<Self> {
        let head = fill(&mut stream)?;
        let utf_16 = match head.as_slice() {
            [0xff, 0xfe, ..] => Some(encoding_rs::UTF_16LE),
            [0xfe, 0xff, ..] => Some(encoding_rs::UTF_16BE),
            [first, 0, second, 0, ..] if *first != 0 && *second != 0 => Some(encoding_rs::UTF_16LE),
            [0, first, 0, second, ..] if *first != 0 && *second != 0 => Some(encoding_rs::UTF_16BE),
            _ => None,
        };
        let Some(encoding) = utf_16 else {
            let taken = if head.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
            return Ok(Self { head, taken, rest: Box::new(stream) });
        };
        let raw = io::Cursor::new(head).chain(stream);
        let mut text = DecodeReaderBytesBuilder::new().encoding(Some(encoding)).build(raw);
        Ok(Self { head: fill(&mut text)?, taken: 0, rest: Box::new(text) })
    }

    /// The beginning of what was not read yet; all of it if it is shorter than the look ahead.
    pub fn head(&self) -> &[u8] {
        &self.head[self.taken..]
    }

    /// Leaves out the first bytes.
    pub fn skip(&mut self, bytes: usize) {
        self.taken = (self.taken + bytes).min(self.head.len());
    }
}

impl Read for Input<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let head = &self.head[self.taken..];
        if head.is_empty() {
            return self.rest.read(buffer);
        }
        let length = head.len().min(buffer.len());
        buffer[..length].copy_from_slice(&head[..length]);
        self.taken += length;
        Ok(length)
    }
}

fn fill(stream: &mut impl Read) -> io::Result<Vec<u8>> {
    let mut head = Vec::new();
    stream.take(LOOK_AHEAD as u64).read_to_end(&mut head)?;
    Ok(head)
}

/// Bytes as text: UTF-8, else Windows-1252 (of which Latin-1 is a part).
pub(crate) fn text(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.into(),
        Err(_) => encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0,
    }
}
