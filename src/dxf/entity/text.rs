use super::super::Error;
use super::super::document::{self, Shape};
use super::super::reader::Reader;
use super::super::tag::Tag;
use super::{Begun, Draft, PointDraft};

#[derive(Default)]
pub(super) struct TextDraft<'a> {
    at: PointDraft,
    /// What it says, in pieces that may part in the middle of a character.
    bytes: Vec<&'a [u8]>,
    height: f64,
}

impl<'a> Draft<'a> for TextDraft<'a> {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.at.take(tag, kind)?,
            // A text is not cut: a height that is no number hides nothing.
            40 => self.height = tag.real(kind).unwrap_or_default(),
            1 => self.bytes.push(tag.text()),
            // The earlier pieces of a long MTEXT; in an ATTDEF it is the prompt.
            3 if kind == b"MTEXT" => self.bytes.push(tag.text()),
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, reader: &mut Reader<'a>) -> Result<Shape, Error> {
        let bytes = self.bytes.concat();
        Ok(Shape::Text(Box::new(document::Text {
            kind: String::from_utf8_lossy(entity.kind).into(),
            at: self.at.or_zero(),
            height: self.height,
            text: reader
                .names
                .decode(&bytes, entity.line, &mut reader.document.notices),
        })))
    }
}
