//! How a stretch of the part lies on the sheet: scale, turn, and y turned from up to down.

use std::fmt::Write as _;

use super::clip;
use super::sheet::{Area, SheetSpot, coordinate, round_length, spot};
use crate::geometry::{Bounds, Point, Polyline, Segment, Vertex};
use crate::tolerance::{DRAWN_FLAT_MM, DRAWN_STRAIGHT_MM};

/// A view of the part.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// Where it lies on the sheet.
    pub(super) area: Area,
    /// Point of the part at the middle of the area.
    pub(super) center: Point,
    /// Sheet millimetres per millimetre of the part.
    pub(super) scale: f64,
    /// The part is turned clockwise by this, radians.
    pub(super) turn_rad: f64,
}

impl View {
    /// Makes a view that holds `bounds` in `area` at the largest scale of ISO 5455.
    pub(super) fn holding(bounds: Bounds, area: Area) -> Self {
        let filling = Self::filling(bounds, area);
        Self {
            scale: round_length(filling.scale),
            ..filling
        }
    }

    /// Makes a view that holds `bounds` in `area` as large as it goes.
    pub(super) fn filling(bounds: Bounds, area: Area) -> Self {
        let fit = (area.width / bounds.width()).min(area.height / bounds.height());
        // Nothing, or a single point, has no scale of its own.
        let scaled = fit.is_finite() && fit > 0.0;
        Self {
            area,
            center: if bounds.is_empty() {
                Point::default()
            } else {
                bounds.center()
            },
            scale: if scaled { fit } else { 1.0 },
            turn_rad: 0.0,
        }
    }

    /// Where a point of the part lies on the sheet.
    pub(super) fn place(&self, p: Point) -> SheetSpot {
        self.place_turned(self.turned(p))
    }

    fn turned(&self, p: Point) -> Point {
        self.center + (p - self.center).turned(-self.turn_rad)
    }

    fn place_turned(&self, p: Point) -> SheetSpot {
        let middle = self.area.center();
        spot(
            middle.x + (p.x - self.center.x) * self.scale,
            middle.y - (p.y - self.center.y) * self.scale,
        )
    }

    /// Returns the part of the (turned) plane that the area shows.
    fn window(&self) -> Bounds {
        let half_width = self.area.width / self.scale / 2.0;
        let half_height = self.area.height / self.scale / 2.0;
        Bounds {
            min: Point::new(self.center.x - half_width, self.center.y - half_height),
            max: Point::new(self.center.x + half_width, self.center.y + half_height),
        }
    }

    /// Whether a point of the part lies in the area.
    pub(super) fn shows(&self, p: Point) -> bool {
        self.window().contains(self.turned(p))
    }

    /// Path data of a whole polyline.
    pub(super) fn data(&self, polyline: &Polyline) -> String {
        let mut data = self.run_data(polyline.segments());
        if polyline.closed {
            data.push('Z');
        }
        data
    }

    /// Path data of a whole polyline in which steps shorter than `step_mm` of the sheet are drawn together.
    pub(super) fn coarse_data(&self, polyline: &Polyline, step_mm: f64) -> String {
        let step_mm = step_mm / self.scale;
        let mut steps: Vec<Segment> = Vec::new();
        let mut pen: Option<Point> = None;
        for segment in polyline.segments() {
            let from = *pen.get_or_insert(segment.from);
            let small = segment.length() < step_mm;
            if small && from.distance(segment.to) < step_mm {
                continue;
            }
            if small {
                steps.push(Segment::line(from, segment.to));
            } else {
                if from != segment.from {
                    steps.push(Segment::line(from, segment.from));
                }
                steps.push(segment);
            }
            pen = Some(segment.to);
        }
        // What is smaller than a step as a whole is a dot.
        if let (true, Some(at)) = (steps.is_empty(), pen) {
            steps.push(Segment::line(at, at));
        }
        let mut data = self.run_data(steps.into_iter());
        if polyline.closed {
            data.push('Z');
        }
        data
    }

    /// Path data of a run of segments.
    fn run_data(&self, segments: impl Iterator<Item = Segment>) -> String {
        let mut data = String::new();
        for segment in segments {
            if data.is_empty() {
                let from = self.place_turned(segment.from);
                let _ = write!(data, "M{} {}", coordinate(from.x), coordinate(from.y));
            }
            let to = self.place_turned(segment.to);
            let (x, y) = (coordinate(to.x), coordinate(to.y));
            let rise = segment.chord() * segment.bulge.abs() / 2.0 * self.scale;
            let _ = if rise < DRAWN_STRAIGHT_MM {
                write!(data, "L{x} {y}")
            } else {
                let radius = coordinate(segment.radius() * self.scale);
                let large = u8::from(segment.bulge.abs() > 1.0);
                let clockwise = u8::from(segment.bulge < 0.0);
                write!(data, "A{radius} {radius} 0 {large} {clockwise} {x} {y}")
            };
        }
        data
    }

    /// Returns the stretches of a polyline that the area shows: path data, and its end that lies farthest to the `side`
    /// (1 right, −1 left).
    pub(super) fn clipped(&self, polyline: &Polyline, side: f64) -> Option<(String, SheetSpot)> {
        let runs = clip::runs(&self.turned_polyline(polyline), self.window());
        let data = runs
            .iter()
            .map(|run| self.run_data(run.iter().copied()))
            .collect::<String>();
        let ends = runs
            .iter()
            .flatten()
            .flat_map(|segment| [segment.from, segment.to]);
        let farthest = ends.max_by(|a, b| (side * a.x).total_cmp(&(side * b.x)).then(a.y.total_cmp(&b.y)))?;
        Some((data, self.place_turned(farthest)))
    }

    /// Path data of the area inside a loop, as far as the view shows it; empty when it does not.
    pub(super) fn clipped_area(&self, polyline: &Polyline) -> String {
        let flat = DRAWN_FLAT_MM / self.scale;
        let corners = clip::area(&self.turned_polyline(polyline), self.window(), flat);
        let mut data = String::new();
        for (i, corner) in corners.into_iter().enumerate() {
            let at = self.place_turned(corner);
            let _ = write!(
                data,
                "{}{} {}",
                if i == 0 { "M" } else { "L" },
                coordinate(at.x),
                coordinate(at.y)
            );
        }
        if !data.is_empty() {
            data.push('Z');
        }
        data
    }

    fn turned_polyline(&self, polyline: &Polyline) -> Polyline {
        let vertices = polyline
            .vertices
            .iter()
            .map(|v| Vertex {
                at: self.turned(v.at),
                bulge: v.bulge,
            })
            .collect();
        Polyline {
            vertices,
            closed: polyline.closed,
        }
    }

    /// Its scale in words, such as `4 : 1` or `1 : 5`.
    pub(super) fn scale_words(&self) -> String {
        use crate::message::number::short;
        if self.scale >= 1.0 {
            format!("{} : 1", short(self.scale, 1))
        } else {
            format!("1 : {}", short(1.0 / self.scale, 1))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const AREA: Area = Area::new(10.0, 10.0, 100.0, 50.0);

    #[test]
    fn y_points_up_and_the_scale_is_one_of_the_standard() {
        let view = View::holding(
            Bounds {
                min: Point::new(0.0, 0.0),
                max: Point::new(40.0, 20.0),
            },
            AREA,
        );
        assert_eq!(view.scale_words(), "2 : 1");
        assert_eq!(view.place(Point::new(0.0, 0.0)), spot(20.0, 55.0));
        assert_eq!(view.place(Point::new(40.0, 20.0)), spot(100.0, 15.0));
        let plate = View::holding(
            Bounds {
                min: Point::new(0.0, 0.0),
                max: Point::new(1000.0, 300.0),
            },
            AREA,
        );
        assert_eq!(plate.scale_words(), "1 : 10");
    }

    /// ISO 5455:1979, table: enlargements 50, 20, 10, 5, 2 to 1; reductions 1 to 2, 5, 10 and so on to 10 000; both extended by powers of ten.
    #[test]
    fn a_part_of_any_size_is_drawn_at_a_scale_of_iso_5455() {
        for step in 0..200 {
            let size = 0.002 * 1.09f64.powi(step);
            let bounds = Bounds::of([Point::default(), Point::new(size, 0.3 * size)]);
            let view = View::holding(bounds, AREA);
            let largest = AREA.width / size;
            assert!(
                view.scale <= largest && largest < 2.5 * view.scale * (1.0 + 1e-12),
                "{size}"
            );
            let words = view.scale_words();
            let (more, less) = words.split_once(" : ").expect("a scale");
            let number = if less == "1" { more } else { less };
            assert!([more, less].contains(&"1"), "{words}");
            let digits = number.trim_matches('0');
            assert!(["1", "2", "5"].contains(&digits), "{words}");
        }
    }

    #[test]
    fn an_arc_keeps_its_way_round() {
        let view = View::holding(
            Bounds {
                min: Point::new(-1.0, -1.0),
                max: Point::new(1.0, 1.0),
            },
            AREA,
        );
        let data = view.data(&Polyline::circle(Point::new(0.0, 0.0), 1.0));
        assert_eq!(data, "M80 35A20 20 0 0 0 40 35A20 20 0 0 0 80 35Z");
    }

    #[test]
    fn short_steps_are_drawn_together() {
        let view = View {
            area: AREA,
            center: Point::new(60.0, 35.0),
            scale: 1.0,
            turn_rad: 0.0,
        };
        let comb = Polyline::open((0..=100).map(|i| (f64::from(i) * 0.1, 0.0, 0.0)));
        let steps = view.coarse_data(&comb, 0.95).matches('L').count();
        assert_eq!(steps, 10);
        let circle = Polyline::circle(Point::new(0.0, 0.0), 5.0);
        assert_eq!(view.coarse_data(&circle, 0.95), view.data(&circle));
        let crumb = Polyline::circle(Point::new(0.0, 0.0), 0.01);
        assert_eq!(view.coarse_data(&crumb, 0.95), "M0.01 70L0.01 70Z");
    }

    #[test]
    fn nothing_has_a_scale_too() {
        for bounds in [Bounds::EMPTY, Bounds::of([Point::new(3.0, 3.0)])] {
            assert_eq!(View::holding(bounds, AREA).scale, 1.0);
        }
    }
}
