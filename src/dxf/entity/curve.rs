use std::f64::consts::TAU;

use super::super::Error;
use super::super::document::{self, Shape};
use super::super::reader::Reader;
use super::super::tag::Tag;
use super::{Begun, Draft, PointDraft};

#[derive(Default)]
pub(super) struct LineDraft {
    from: PointDraft,
    to: PointDraft,
}

impl<'a> Draft<'a> for LineDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.from.take(tag, kind),
            11 | 21 | 31 => self.to.take(tag, kind),
            _ => Ok(()),
        }
    }

    fn finish(self, entity: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Line {
            from: self.from.required(entity, 10)?,
            to: self.to.required(entity, 11)?,
        })
    }
}

#[derive(Default)]
pub(super) struct CircleDraft {
    center: PointDraft,
    radius: Option<f64>,
}

impl<'a> Draft<'a> for CircleDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.center.take(tag, kind)?,
            40 => self.radius = Some(tag.real(kind)?),
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Circle {
            center: self.center.required(entity, 10)?,
            radius: entity.required(self.radius, 40)?,
        })
    }
}

#[derive(Default)]
pub(super) struct ArcDraft {
    center: PointDraft,
    radius: Option<f64>,
    start_deg: Option<f64>,
    end_deg: Option<f64>,
}

impl<'a> Draft<'a> for ArcDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.center.take(tag, kind)?,
            40 => self.radius = Some(tag.real(kind)?),
            50 => self.start_deg = Some(tag.real(kind)?),
            51 => self.end_deg = Some(tag.real(kind)?),
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Arc {
            center: self.center.required(entity, 10)?,
            radius: entity.required(self.radius, 40)?,
            start_deg: entity.required(self.start_deg, 50)?,
            end_deg: entity.required(self.end_deg, 51)?,
        })
    }
}

#[derive(Default)]
pub(super) struct EllipseDraft {
    center: PointDraft,
    major: PointDraft,
    ratio: Option<f64>,
    start_rad: Option<f64>,
    end_rad: Option<f64>,
}

impl<'a> Draft<'a> for EllipseDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.center.take(tag, kind)?,
            11 | 21 | 31 => self.major.take(tag, kind)?,
            40 => self.ratio = Some(tag.real(kind)?),
            41 => self.start_rad = Some(tag.real(kind)?),
            42 => self.end_rad = Some(tag.real(kind)?),
            _ => {}
        }
        Ok(())
    }

    fn finish(self, entity: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Ellipse(Box::new(document::Ellipse {
            center: self.center.required(entity, 10)?,
            major: self.major.required(entity, 11)?,
            ratio: entity.required(self.ratio, 40)?,
            start_rad: self.start_rad.unwrap_or(0.0),
            end_rad: self.end_rad.unwrap_or(TAU),
        })))
    }
}

#[derive(Default)]
pub(super) struct PointEntityDraft {
    at: PointDraft,
}

impl<'a> Draft<'a> for PointEntityDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.at.take(tag, kind),
            _ => Ok(()),
        }
    }

    fn finish(self, entity: &Begun<'a>, _: &mut Reader<'a>) -> Result<Shape, Error> {
        Ok(Shape::Point {
            at: self.at.required(entity, 10)?,
        })
    }
}
