use super::super::Error;
use super::super::document::{self, Shape};
use super::super::reader::Reader;
use super::super::tag::Tag;
use super::{Begun, Draft, PointDraft};

pub(super) struct InsertDraft<'a> {
    block: &'a [u8],
    at: PointDraft,
    scale: [f64; 3],
    rotation_deg: f64,
    columns: i64,
    rows: i64,
    column_spacing: f64,
    row_spacing: f64,
}

impl Default for InsertDraft<'_> {
    fn default() -> Self {
        Self {
            block: b"",
            at: PointDraft::default(),
            scale: [1.0; 3],
            rotation_deg: 0.0,
            columns: 1,
            rows: 1,
            column_spacing: 0.0,
            row_spacing: 0.0,
        }
    }
}

impl<'a> Draft<'a> for InsertDraft<'a> {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            2 => self.block = tag.word(),
            10 | 20 | 30 => self.at.take(tag, kind)?,
            41..=43 => self.scale[(tag.code - 41) as usize] = tag.real(kind)?,
            44 => self.column_spacing = tag.real(kind)?,
            45 => self.row_spacing = tag.real(kind)?,
            50 => self.rotation_deg = tag.real(kind)?,
            70 => self.columns = tag.integer(kind)?,
            71 => self.rows = tag.integer(kind)?,
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, reader: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Insert(Box::new(document::Insert {
            block: reader
                .names
                .decode(self.block, entity.line, &mut reader.document.notices),
            at: self.at.required(entity, 10)?,
            scale: self.scale,
            rotation_deg: self.rotation_deg,
            columns: self.columns,
            rows: self.rows,
            column_spacing: self.column_spacing,
            row_spacing: self.row_spacing,
        })))
    }
}
