//! A loop measured along, from its first vertex.

use crate::geometry::{Point, Polyline, Vector};
use crate::tolerance::SAME_POINT_MM;

/// A loop measured along.
pub struct PathLine<'a> {
    pub(super) path: &'a Polyline,
    /// Where each segment begins, mm.
    pub(super) begins_mm: Vec<f64>,
    pub(super) length_mm: f64,
}

impl<'a> PathLine<'a> {
    /// Measures a loop.
    pub fn new(path: &'a Polyline) -> Self {
        let mut length_mm = 0.0;
        let begins_mm = path
            .segments()
            .map(|s| {
                let begins = length_mm;
                length_mm += s.length();
                begins
            })
            .collect();
        Self {
            path,
            begins_mm,
            length_mm,
        }
    }

    /// Returns the distance along the loop to the point of it nearest to `p`, mm.
    pub fn position(&self, p: Point) -> f64 {
        let Some((i, at, _)) = self.path.nearest(p) else {
            return 0.0;
        };
        let segment = self.path.segment(i);
        self.begins_mm[i] + segment.parameter(at) * segment.length()
    }

    /// Segment at a distance along the loop, and the part of it gone.
    pub(super) fn place(&self, mm: f64) -> (usize, f64) {
        // An open path ends where it ends.
        let mm = if self.path.closed {
            mm.rem_euclid(self.length_mm)
        } else {
            mm.clamp(0.0, self.length_mm)
        };
        let i = self.begins_mm.partition_point(|begins| *begins <= mm).max(1) - 1;
        let length = self.path.segment(i).length();
        let share = if length > 0.0 {
            ((mm - self.begins_mm[i]) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (i, share)
    }

    /// Returns the point at a distance along the loop.
    pub fn at(&self, mm: f64) -> Point {
        let (i, share) = self.place(mm);
        self.path.segment(i).at(share)
    }

    /// The point at a distance along the loop, and the direction of travel there.
    pub(super) fn heading(&self, mm: f64) -> (Point, Vector) {
        let (i, share) = self.place(mm);
        let segment = self.path.segment(i);
        (segment.at(share), segment.direction(share))
    }

    /// The open run of `length_mm` from `from_mm`, over the first vertex if need be.
    pub(crate) fn run(&self, from_mm: f64, length_mm: f64) -> Polyline {
        let (first, from) = self.place(from_mm);
        let (last, to) = self.place(from_mm + length_mm);
        let n = self.path.segment_count();
        let mut pieces = Vec::new();
        if first == last && to > from {
            pieces.push(self.path.segment(first).part(from, to));
        } else {
            pieces.push(self.path.segment(first).part(from, 1.0));
            let between = (last + n - first) % n;
            let between = if between == 0 { n } else { between };
            pieces.extend((1..between).map(|k| self.path.segment((first + k) % n)));
            pieces.push(self.path.segment(last).part(0.0, to));
        }
        // What is cut off at a joint has no direction.
        pieces.retain(|piece| piece.chord() > SAME_POINT_MM);
        Polyline::run(&pieces)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A run that begins or ends at a joint, to within rounding, is the segments between, and turns as they do.
    #[test]
    fn runs_to_a_joint_have_no_pieces_without_length() {
        let square = Polyline::closed([(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (3.0, 2.0, 0.0), (0.0, 2.0, 0.0)]);
        let line = PathLine::new(&square);
        for off_mm in [0.0, 1e-15, -1e-15, 1e-12, -1e-12] {
            let run = line.run(3.0 + off_mm, 2.0);
            assert_eq!(run.segment_count(), 1, "{off_mm}");
            assert!(run.segment(0).from.distance(Point::new(3.0, 0.0)) < 1e-9);
            assert!((run.segment(0).length() - 2.0).abs() < 1e-9);
        }
    }
}
