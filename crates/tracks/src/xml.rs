//! Walks through XML, element by element, with the text of each and its place.

use crate::error::{Place, ReadError, quoted};
use quick_xml::Reader;
use quick_xml::events::Event;
use quick_xml::events::attributes::Attributes;
use std::borrow::Cow;

/// What the walk meets. Names are local: without namespace prefix.
pub(crate) enum Item<'a> {
    /// An element begins; what stands in its tag.
    Open(Tag<'a>),
    /// An element ends; its text after its last child, if any.
    Close,
    /// The file ends.
    End,
}

/// What stands between `<` and `>`.
#[derive(Clone, Copy)]
pub(crate) struct Tag<'a> {
    content: &'a str,
    name_len: usize,
}

impl<'a> Tag<'a> {
    /// The value of an attribute, as written.
    pub(crate) fn attribute(self, wanted: &str) -> Option<&'a str> {
        let mut attributes = Attributes::new(self.content, self.name_len);
        let found = attributes.with_checks(false).filter_map(Result::ok).find(|found| found.key.into_inner() == wanted)?;
        match found.value {
            Cow::Borrowed(value) => Some(value),
            Cow::Owned(_) => None,
        }
    }
}

pub(crate) struct Walk<'a> {
    text: &'a str,
    reader: Reader<&'a [u8]>,
    content: Cow<'a, str>,
    // Names of the open elements.
    open: Vec<&'a str>,
    // The innermost element is closed: at once if its tag was an empty one, else when it has been looked at.
    empty: bool,
    closing: bool,
}

impl<'a> Walk<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        let mut reader = Reader::from_str(text);
        let config = reader.config_mut();
        // The names are held here anyway, and an error of ours says more.
        config.check_end_names = false;
        config.allow_unmatched_ends = true;
        Self { text, reader, content: Cow::Borrowed(""), open: Vec::new(), empty: false, closing: false }
    }

    /// How deep the element just opened, or about to be closed, stands: the root is 1.
    pub(crate) fn depth(&self) -> usize {
        self.open.len()
    }

    /// Name of the innermost open element: at a [`Item::Close`] the one that closes.
    pub(crate) fn name(&self) -> &str {
        self.open.last().map_or("", |name| local(name))
    }

    /// The text of the innermost element.
    pub(crate) fn content(&self) -> &str {
        &self.content
    }

    /// Where the walk is.
    pub(crate) fn place(&self) -> Place {
        Place::in_text(self.text, usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX))
    }

    pub(crate) fn fail(&self, what: impl Into<String>, next: impl Into<String>) -> ReadError {
        ReadError::at(self.place(), what, next)
    }

    pub(crate) fn next(&mut self) -> Result<Item<'a>, ReadError> {
        const WHOLE: &str = "the file is damaged or was not saved whole: export it again";
        if core::mem::take(&mut self.closing) {
            self.open.pop();
            self.content = Cow::Borrowed("");
        }
        if core::mem::take(&mut self.empty) {
            self.closing = true;
            return Ok(Item::Close);
        }
        loop {
            match self.reader.read_event() {
                Ok(Event::Start(start)) => return Ok(Item::Open(self.open(&start, start.name().into_inner().len(), 1))),
                Ok(Event::Empty(start)) => {
                    self.empty = true;
                    return Ok(Item::Open(self.open(&start, start.name().into_inner().len(), 2)));
                }
                Ok(Event::End(end)) => {
                    if self.open.last().is_none_or(|open| end.name().into_inner() != *open) {
                        let found = quoted(end.name().into_inner());
                        return Err(match self.open.last() {
                            Some(open) => self.fail(format!("element {} is closed by {found}", quoted(open)), WHOLE),
                            None => self.fail(format!("{found} is closed, but was never opened"), WHOLE),
                        });
                    }
                    self.closing = true;
                    return Ok(Item::Close);
                }
                Ok(Event::Text(text)) => self.add(text.into_inner()),
                Ok(Event::CData(text)) => self.add(text.into_inner()),
                Ok(Event::GeneralRef(reference)) => {
                    if let Ok(Some(char)) = reference.resolve_char_ref() {
                        self.content.to_mut().push(char);
                    } else {
                        let named = [("lt", "<"), ("gt", ">"), ("amp", "&"), ("apos", "'"), ("quot", "\"")];
                        let name = reference.into_inner();
                        // An entity that the file defines itself is kept as written: no number has one.
                        let plain = named.iter().find(|(entity, _)| *entity == name).map(|(_, plain)| *plain);
                        match plain {
                            Some(plain) => self.content.to_mut().push_str(plain),
                            None => self.content.to_mut().push_str(&name),
                        }
                    }
                }
                Ok(Event::Eof) => {
                    if let Some(open) = self.open.last() {
                        return Err(self.fail(format!("the file ends inside element {}", quoted(open)), WHOLE));
                    }
                    return Ok(Item::End);
                }
                Ok(Event::Comment(_) | Event::Decl(_) | Event::PI(_) | Event::DocType(_)) => {}
                Err(error) => {
                    let byte = usize::try_from(self.reader.error_position()).unwrap_or(usize::MAX);
                    return Err(ReadError::at(Place::in_text(self.text, byte), error.to_string(), WHOLE));
                }
            }
        }
    }

    /// Opens the element whose tag ends `after` bytes before the reader: the text outlives the reader's event.
    fn open(&mut self, content: &str, name_len: usize, after: usize) -> Tag<'a> {
        let end = usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX).saturating_sub(after);
        let content = self.text.get(end.saturating_sub(content.len())..end).unwrap_or("");
        self.open.push(content.get(..name_len).unwrap_or(""));
        self.content = Cow::Borrowed("");
        Tag { content, name_len }
    }

    fn add(&mut self, text: Cow<'a, str>) {
        if self.content.is_empty() {
            self.content = text;
        } else {
            self.content.to_mut().push_str(&text);
        }
    }
}

/// A name without its namespace prefix.
pub(crate) fn local(name: &str) -> &str {
    name.rsplit_once(':').map_or(name, |(_, local)| local)
}
