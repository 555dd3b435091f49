mod curve;
mod insert;
mod mline;
mod polyline;
mod spline;
mod text;

use super::Error;
use super::document::{Entity, Notice, NoticeKind, Shape};
use super::reader::{Reader, RecordHead};
use super::tag::{Tag, quoted};

/// An entity of one type while its tags come in.
trait Draft<'a>: Default {
    /// Takes a tag; those of no interest are let go.
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error>;

    /// What was drawn, once all tags are there.
    fn finish(self, entity: &Begun<'a>, reader: &mut Reader<'a>) -> Result<Shape, Error>;
}

/// What entities of every type have.
struct Begun<'a> {
    kind: &'a [u8],
    line: usize,
    layer: &'a [u8],
    linetype: &'a [u8],
    color: i32,
    handle: u64,
    paper_space: bool,
    invisible: bool,
    extrusion: [f64; 3],
}

impl<'a> Reader<'a> {
    /// Reads one entity, with what belongs to it, into `out`; returns the head of the next.
    pub(super) fn entity(
        &mut self,
        head: RecordHead<'a>,
        out: &mut Vec<Entity>,
    ) -> Result<RecordHead<'a>, Error> {
        match head.kind {
            // 3DLINE is the LINE with heights of versions before R11.
            b"LINE" | b"3DLINE" => self.single::<curve::LineDraft>(head, out),
            b"ARC" => self.single::<curve::ArcDraft>(head, out),
            b"CIRCLE" => self.single::<curve::CircleDraft>(head, out),
            b"LWPOLYLINE" => self.single::<polyline::LwPolylineDraft>(head, out),
            b"POLYLINE" => self.heavy_polyline(head, out),
            b"ELLIPSE" => self.single::<curve::EllipseDraft>(head, out),
            b"SPLINE" => self.single::<spline::SplineDraft>(head, out),
            b"INSERT" => self.single::<insert::InsertDraft<'a>>(head, out),
            b"MLINE" => self.single::<mline::MlineDraft>(head, out),
            b"POINT" => self.single::<curve::PointEntityDraft>(head, out),
            b"TEXT" | b"MTEXT" | b"ATTRIB" | b"ATTDEF" => self.single::<text::TextDraft<'a>>(head, out),
            // The end of a POLYLINE or of the attributes of an INSERT, which follow it as entities.
            b"SEQEND" => self.skip(head.kind),
            b"" => Err(Begun::new(head).structure("an entity without a type")),
            _ => self.single::<Other>(head, out),
        }
    }

    /// Reads an entity that is one group 0.
    fn single<D: Draft<'a>>(
        &mut self,
        head: RecordHead<'a>,
        out: &mut Vec<Entity>,
    ) -> Result<RecordHead<'a>, Error> {
        let mut draft = D::default();
        let (begun, next) = self.fill(head, &mut draft)?;
        let shape = draft.finish(&begun, self)?;
        let entity = self.finished(&begun, shape);
        out.push(entity);
        Ok(next)
    }

    /// Hands the tags of one entity to `draft`, less those that all entities have and those of applications.
    fn fill<D: Draft<'a>>(
        &mut self,
        head: RecordHead<'a>,
        draft: &mut D,
    ) -> Result<(Begun<'a>, RecordHead<'a>), Error> {
        let mut begun = Begun::new(head);
        let mut own = Ownership::Entity;
        let mut handle_readable = true;
        let next = self.group(head.kind, |tag| {
            match (tag.code, own) {
                (_, Ownership::Embedded) | (1000.., _) => {}
                (102, _) => own = Ownership::after_102(tag),
                (_, Ownership::Application) => {}
                (101, _) => own = Ownership::Embedded,
                (5, _) => match tag.handle() {
                    Some(handle) => begun.handle = handle,
                    None => handle_readable = false,
                },
                _ => {
                    if !begun.take(tag)? {
                        draft.take(tag, head.kind)?;
                    }
                }
            }
            Ok(())
        })?;
        if own == Ownership::Application {
            return Err(begun.structure("a group 102 `{` that nothing closes"));
        }
        if !handle_readable {
            self.notice(head.line, NoticeKind::HandleUnreadable);
        }
        Ok((begun, next))
    }

    fn finished(&mut self, begun: &Begun<'a>, shape: Shape) -> Entity {
        Entity {
            shape,
            layer: self.names.layer(begun.layer, begun.line, &mut self.document),
            linetype: self
                .names
                .linetype(begun.linetype, begun.line, &mut self.document),
            color: begun.color,
            handle: begun.handle,
            line: begun.line,
            paper_space: begun.paper_space,
            invisible: begun.invisible,
            extrusion: begun.extrusion,
        }
    }

    /// Compares a declared count with what was found. A count that the whole file could not hold is refused.
    fn compare_count(
        &mut self,
        entity: &Begun<'a>,
        what: &'static str,
        declared: Option<i64>,
        found: usize,
    ) -> Result<(), Error> {
        let Some(declared) = declared else {
            return Ok(());
        };
        if let Ok(number) = u64::try_from(declared)
            && number > self.size as u64
        {
            return Err(Error::TooMuch {
                line: entity.line,
                what,
                found: number,
                limit: self.size as u64,
            });
        }
        if i64::try_from(found) != Ok(declared) {
            self.document.notices.push(Notice {
                line: entity.line,
                handle: entity.handle,
                kind: NoticeKind::CountDiffers(what, declared, found),
            });
        }
        Ok(())
    }
}

/// Whose tags are being read.
#[derive(Clone, Copy, PartialEq)]
enum Ownership {
    /// The entity's own.
    Entity,
    /// Those of an application, between group 102 `{…` and group 102 `}`.
    Application,
    /// Those of an object embedded in the entity, from group 101 to the end.
    Embedded,
}

impl Ownership {
    fn after_102(tag: &Tag) -> Self {
        if tag.word().starts_with(b"{") {
            Self::Application
        } else {
            Self::Entity
        }
    }
}

impl<'a> Begun<'a> {
    fn new(head: RecordHead<'a>) -> Self {
        Self {
            kind: head.kind,
            line: head.line,
            layer: b"0",
            linetype: b"ByLayer",
            color: 256,
            handle: 0,
            paper_space: false,
            invisible: false,
            extrusion: [0.0, 0.0, 1.0],
        }
    }

    /// Takes a tag that all entities have; false when it is not one.
    fn take(&mut self, tag: &Tag<'a>) -> Result<bool, Error> {
        match tag.code {
            6 => self.linetype = tag.word(),
            8 => self.layer = tag.word(),
            60 => self.invisible = tag.flags(self.kind)? != 0,
            62 => self.color = tag.flags(self.kind)?,
            67 => self.paper_space = tag.flags(self.kind)? != 0,
            210 => self.extrusion[0] = tag.real(self.kind)?,
            220 => self.extrusion[1] = tag.real(self.kind)?,
            230 => self.extrusion[2] = tag.real(self.kind)?,
            _ => return Ok(false),
        }
        Ok(true)
    }

    fn structure(&self, reason: &str) -> Error {
        Error::Structure {
            line: self.line,
            reason: format!("{}: {reason}", quoted(self.kind)),
        }
    }

    /// The number, which an entity of this type cannot do without.
    fn required(&self, number: Option<f64>, code: i32) -> Result<f64, Error> {
        number.ok_or_else(|| self.structure(&format!("group {code} is missing")))
    }
}

/// A point whose coordinates come as groups 1n, 2n, 3n. z may be absent: then it is 0.
#[derive(Clone, Copy, Default)]
struct PointDraft {
    x: Option<f64>,
    y: Option<f64>,
    z: f64,
}

impl PointDraft {
    fn take(&mut self, tag: &Tag, kind: &[u8]) -> Result<(), Error> {
        let number = tag.real(kind)?;
        match tag.code / 10 {
            1 => self.x = Some(number),
            2 => self.y = Some(number),
            _ => self.z = number,
        }
        Ok(())
    }

    /// The point; its x and y must be there. `code` is that of its x.
    fn required(&self, entity: &Begun, code: i32) -> Result<[f64; 3], Error> {
        Ok([
            entity.required(self.x, code)?,
            entity.required(self.y, code + 10)?,
            self.z,
        ])
    }

    /// The point, with 0 for what is absent.
    fn or_zero(&self) -> [f64; 3] {
        [self.x.unwrap_or(0.0), self.y.unwrap_or(0.0), self.z]
    }

    /// The point, or `None` when neither x nor y is there.
    fn given(&self) -> Option<[f64; 3]> {
        (self.x.is_some() || self.y.is_some()).then(|| self.or_zero())
    }
}

/// Points in a row: each begins with its group 1n.
#[derive(Default)]
struct Places {
    points: Vec<[f64; 3]>,
    /// The last point still lacks its y.
    y_missing: bool,
}

impl Places {
    fn take(&mut self, tag: &Tag, kind: &[u8]) -> Result<(), Error> {
        let number = tag.real(kind)?;
        let disordered = || Error::Structure {
            line: tag.line,
            reason: format!("{}: group {} does not follow on a point", quoted(kind), tag.code),
        };
        if tag.code / 10 == 1 {
            if self.y_missing {
                return Err(disordered());
            }
            self.points.push([number, 0.0, 0.0]);
            self.y_missing = true;
            return Ok(());
        }
        let point = self.points.last_mut().ok_or_else(disordered)?;
        if tag.code / 10 == 2 {
            point[1] = number;
            self.y_missing = false;
        } else {
            point[2] = number;
        }
        Ok(())
    }

    fn finish(self, entity: &Begun) -> Result<Vec<[f64; 3]>, Error> {
        if self.y_missing {
            return Err(entity.structure("its last point has no y"));
        }
        Ok(self.points)
    }
}

/// An entity that draws nothing that we read.
#[derive(Default)]
struct Other;

impl<'a> Draft<'a> for Other {
    fn take(&mut self, _: &Tag<'a>, _: &[u8]) -> Result<(), Error> {
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Other(
            String::from_utf8_lossy(entity.kind).to_uppercase().into(),
        ))
    }
}
