use std::collections::HashMap;

use super::document::{Document, Layer, Notice, NoticeKind};
use super::{code_page::CodePage, document::fold_name};

/// Decodes texts, and turns the names of layers and linetypes into the indices that entities carry.
pub(super) struct Names<'a> {
    pub(super) code_page: CodePage,
    layers: Interner<'a>,
    linetypes: Interner<'a>,
}

impl<'a> Names<'a> {
    /// Begins, and puts `ByLayer` at index 0 of the linetypes.
    pub(super) fn new(document: &mut Document) -> Self {
        let mut names = Self {
            code_page: CodePage::UNSTATED,
            layers: Interner::default(),
            linetypes: Interner::default(),
        };
        names.linetype(b"ByLayer", 0, document);
        names
    }

    /// Decodes a text of the file that stands in `line`.
    pub(super) fn decode(&self, bytes: &[u8], line: usize, notices: &mut Vec<Notice>) -> String {
        let decoded = self.code_page.decode(bytes);
        if !decoded.valid {
            notices.push(Notice {
                line,
                handle: 0,
                kind: NoticeKind::TextUndecodable,
            });
        }
        decoded.text
    }

    /// Returns the index of a layer; it is added to the document when new.
    pub(super) fn layer(&mut self, raw: &'a [u8], line: usize, document: &mut Document) -> u32 {
        if let Some(index) = self.layers.known(raw) {
            return index;
        }
        let name = self.decode(raw, line, &mut document.notices);
        let (index, new) = self.layers.add(raw, &name);
        if new {
            document.layers.push(Layer {
                name,
                color: 7,
                linetype: "Continuous".into(),
                ..Layer::default()
            });
        }
        index
    }

    /// Returns the index of a linetype; it is added to the document when new.
    pub(super) fn linetype(&mut self, raw: &'a [u8], line: usize, document: &mut Document) -> u32 {
        if let Some(index) = self.linetypes.known(raw) {
            return index;
        }
        let name = self.decode(raw, line, &mut document.notices);
        let (index, new) = self.linetypes.add(raw, &name);
        if new {
            document.linetypes.push(name);
        }
        index
    }
}

/// Numbers names in the order in which they come. Names that differ only in case are one.
#[derive(Default)]
struct Interner<'a> {
    by_spelling: HashMap<&'a [u8], u32>,
    by_name: HashMap<String, u32>,
    /// Neighbours in a file mostly lie on one layer.
    last: Option<(&'a [u8], u32)>,
}

impl<'a> Interner<'a> {
    fn known(&mut self, raw: &'a [u8]) -> Option<u32> {
        if let Some((spelling, index)) = self.last
            && spelling == raw
        {
            return Some(index);
        }
        let index = *self.by_spelling.get(raw)?;
        self.last = Some((raw, index));
        Some(index)
    }

    /// Returns the index of the name, and whether it is new.
    fn add(&mut self, raw: &'a [u8], name: &str) -> (u32, bool) {
        let next = self.by_name.len() as u32;
        let index = *self.by_name.entry(fold_name(name)).or_insert(next);
        self.by_spelling.insert(raw, index);
        (index, index == next)
    }
}
