use super::super::Error;
use super::super::document::{self, Notice, NoticeKind, Shape};
use super::super::reader::Reader;
use super::super::tag::Tag;
use super::{Begun, Draft, Places, PointDraft};

/// Flag of a closed MLINE.
const CLOSED: i32 = 2;

/// An element without breaks has at most this many parameters at a vertex: its distance along the mitre, and
/// where along the line it begins.
const UNBROKEN: i64 = 2;

/// MLINE: vertices, at each a mitre direction, and along it a point of every element.
#[derive(Default)]
pub(super) struct MlineDraft {
    flags: i32,
    declared_vertices: Option<i64>,
    declared_elements: Option<i64>,
    vertices: Places,
    mitre: PointDraft,
    /// For each vertex, the points of its elements.
    elements: Vec<Vec<[f64; 3]>>,
    /// The next parameter is the first of its element.
    element_begins: bool,
    broken: bool,
}

impl MlineDraft {
    /// The first parameter of an element: its distance from the vertex along the mitre.
    fn element(&mut self, distance: f64) {
        let mitre = self.mitre.or_zero();
        if let (Some(vertex), Some(points)) = (self.vertices.points.last(), self.elements.last_mut()) {
            points.push(std::array::from_fn(|axis| vertex[axis] + mitre[axis] * distance));
        }
    }
}

impl<'a> Draft<'a> for MlineDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            11 => {
                self.vertices.take(tag, kind)?;
                self.mitre = PointDraft::default();
                self.elements.push(Vec::new());
            }
            21 | 31 => self.vertices.take(tag, kind)?,
            13 | 23 | 33 => self.mitre.take(tag, kind)?,
            41 => {
                let parameter = tag.real(kind)?;
                if std::mem::take(&mut self.element_begins) {
                    self.element(parameter);
                }
            }
            71 => self.flags = tag.flags(kind)?,
            72 => self.declared_vertices = Some(tag.integer(kind)?),
            73 => self.declared_elements = Some(tag.integer(kind)?),
            74 => {
                self.element_begins = true;
                self.broken |= tag.integer(kind)? > UNBROKEN;
            }
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, reader: &mut Reader<'a>) -> Result<Shape, Error> {
        let vertices = self.vertices.finish(entity)?;
        reader.compare_count(entity, "MLINE vertices", self.declared_vertices, vertices.len())?;
        let declared = self.declared_elements.unwrap_or(0);
        let other = |points: &&Vec<_>| i64::try_from(points.len()) != Ok(declared);
        if let Some(points) = self.elements.iter().find(other) {
            reader.document.notices.push(Notice {
                line: entity.line,
                handle: entity.handle,
                kind: NoticeKind::CountDiffers("MLINE elements", declared, points.len()),
            });
            return Ok(Shape::Other("MLINE".into()));
        }
        Ok(Shape::Mline(Box::new(document::Mline {
            closed: self.flags & CLOSED != 0,
            vertices: self.elements,
            broken: self.broken,
        })))
    }
}
