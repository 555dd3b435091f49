use super::super::Error;
use super::super::document::{Entity, HeavyPolyline, HeavyVertex, LwPolyline, NoticeKind, Shape};
use super::super::reader::{Reader, RecordHead};
use super::super::tag::{Tag, quoted};
use super::{Begun, Draft, Places, PointDraft};

/// Flag of a closed polyline.
const CLOSED: i32 = 1;

/// Flags of a POLYLINE whose vertices are not those of a line: mesh, polyface.
const NO_LINE: i32 = 16 | 64;

/// LWPOLYLINE. The third coordinate of its points is the bulge.
#[derive(Default)]
pub(super) struct LwPolylineDraft {
    vertices: Places,
    flags: i32,
    elevation: f64,
    declared: Option<i64>,
}

impl<'a> Draft<'a> for LwPolylineDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 => self.vertices.take(tag, kind)?,
            42 => {
                let bulge = tag.real(kind)?;
                let vertex = self.vertices.points.last_mut().ok_or_else(|| Error::Structure {
                    line: tag.line,
                    reason: format!("{}: a bulge stands before the first vertex", quoted(kind)),
                })?;
                vertex[2] = bulge;
            }
            38 => self.elevation = tag.real(kind)?,
            70 => self.flags = tag.flags(kind)?,
            90 => self.declared = Some(tag.integer(kind)?),
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, reader: &mut Reader<'a>) -> Result<Shape, Error> {
        let vertices = self.vertices.finish(entity)?;
        reader.compare_count(entity, "LWPOLYLINE vertices", self.declared, vertices.len())?;
        Ok(Shape::LwPolyline(Box::new(LwPolyline {
            vertices,
            closed: self.flags & CLOSED != 0,
            elevation: self.elevation,
            declared_vertices: self.declared,
        })))
    }
}

/// POLYLINE without its vertices.
#[derive(Default)]
struct HeavyPolylineDraft {
    flags: i32,
    elevation: f64,
    vertices: Vec<HeavyVertex>,
}

impl<'a> Draft<'a> for HeavyPolylineDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            30 => self.elevation = tag.real(kind)?,
            70 => self.flags = tag.flags(kind)?,
            _ => {}
        }
        Ok(())
    }

    fn finish(self, _: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Polyline(Box::new(HeavyPolyline {
            flags: self.flags,
            elevation: self.elevation,
            vertices: self.vertices,
        })))
    }
}

/// VERTEX.
#[derive(Default)]
struct VertexDraft {
    at: PointDraft,
    bulge: f64,
    flags: i32,
}

impl VertexDraft {
    fn take(&mut self, tag: &Tag, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.at.take(tag, kind)?,
            42 => self.bulge = tag.real(kind)?,
            70 => self.flags = tag.flags(kind)?,
            _ => {}
        }
        Ok(())
    }
}

impl<'a> Reader<'a> {
    /// Reads a POLYLINE with the VERTEX entities that follow it, up to its SEQEND.
    pub(super) fn heavy_polyline(
        &mut self,
        head: RecordHead<'a>,
        out: &mut Vec<Entity>,
    ) -> Result<RecordHead<'a>, Error> {
        let mut polyline = HeavyPolylineDraft::default();
        let (begun, mut next) = self.fill(head, &mut polyline)?;
        while next.kind == b"VERTEX" {
            let begin = next;
            let mut vertex = VertexDraft::default();
            next = self.group(begin.kind, |tag| vertex.take(tag, begin.kind))?;
            let at = if polyline.flags & NO_LINE == 0 {
                vertex.at.required(&Begun::new(begin), 10)?
            } else {
                vertex.at.or_zero()
            };
            polyline.vertices.push(HeavyVertex {
                at,
                bulge: vertex.bulge,
                flags: vertex.flags,
            });
        }
        if next.kind == b"SEQEND" {
            next = self.skip(next.kind)?;
        } else {
            self.notice(next.line, NoticeKind::EndMissing("POLYLINE"));
        }
        let shape = polyline.finish(&begun, self)?;
        let entity = self.finished(&begun, shape);
        out.push(entity);
        Ok(next)
    }
}
