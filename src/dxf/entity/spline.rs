use super::super::Error;
use super::super::document::{self, Shape};
use super::super::reader::Reader;
use super::super::tag::Tag;
use super::{Begun, Draft, Places, PointDraft};

#[derive(Default)]
pub(super) struct SplineDraft {
    degree: i32,
    flags: i32,
    knots: Vec<f64>,
    weights: Vec<f64>,
    control: Places,
    fit_points: Places,
    start_tangent: PointDraft,
    end_tangent: PointDraft,
    declared: [Option<i64>; 3],
}

impl<'a> Draft<'a> for SplineDraft {
    fn take(&mut self, tag: &Tag<'a>, kind: &[u8]) -> Result<(), Error> {
        match tag.code {
            10 | 20 | 30 => self.control.take(tag, kind)?,
            11 | 21 | 31 => self.fit_points.take(tag, kind)?,
            12 | 22 | 32 => self.start_tangent.take(tag, kind)?,
            13 | 23 | 33 => self.end_tangent.take(tag, kind)?,
            40 => self.knots.push(tag.real(kind)?),
            41 => self.weights.push(tag.real(kind)?),
            70 => self.flags = tag.flags(kind)?,
            71 => self.degree = tag.flags(kind)?,
            72..=74 => self.declared[(tag.code - 72) as usize] = Some(tag.integer(kind)?),
            _ => {}
        }
        Ok(())
    }

    fn finish(mut self, entity: &Begun<'a>, reader: &mut Reader<'a>) -> Result<Shape, Error> {
        let control = self.control.finish(entity)?;
        let fit_points = self.fit_points.finish(entity)?;
        let [knots, points, fits] = self.declared;
        reader.compare_count(entity, "SPLINE knots", knots, self.knots.len())?;
        reader.compare_count(entity, "SPLINE control points", points, control.len())?;
        reader.compare_count(entity, "SPLINE fit points", fits, fit_points.len())?;
        if self.weights.len() == control.len() && self.weights.iter().all(|&weight| weight == 1.0) {
            self.weights = Vec::new();
        }
        Ok(Shape::Spline(Box::new(document::Spline {
            degree: self.degree,
            flags: self.flags,
            knots: self.knots,
            control,
            weights: self.weights,
            fit_points,
            start_tangent: self.start_tangent.given(),
            end_tangent: self.end_tangent.given(),
            declared: self.declared,
        })))
    }
}
