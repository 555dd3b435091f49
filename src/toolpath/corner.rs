//! Outside corners run sharp: the arc that the wire rolls round a corner gives way to the two tangents of its ends.

use crate::geometry::{Point, Polyline, Segment, SegmentIndex, Vertex};
use crate::tolerance::{PATH_MM, SMOOTH_RAD};

use super::Engagement;

/// The verified loop `path` at `offset_mm` from the contour in `walk`, with its outside corners sharp where the sharp
/// corner stands no farther than `limit` offsets from the corner of the contour and keeps the offset from everything
/// else; elsewhere the arc stays. `walk` holds the contour in the direction of the path. What is met along an arc is
/// met along both of its tangents.
pub(super) fn sharpened(
    path: &Polyline,
    engagement: &[Engagement],
    walk: &SegmentIndex,
    offset_mm: f64,
    limit: f64,
) -> (Polyline, Vec<Engagement>) {
    let mut vertices = Vec::with_capacity(path.vertices.len());
    let mut met = Vec::with_capacity(engagement.len());
    for (arc, &along) in path.segments().zip(engagement) {
        let line = |at: Point| Vertex { at, bulge: 0.0 };
        if let Some(corner) = sharp_corner(arc, walk, offset_mm, limit) {
            vertices.extend([line(arc.from), line(corner)]);
            met.extend([along, along]);
        } else {
            vertices.push(Vertex {
                at: arc.from,
                bulge: arc.bulge,
            });
            met.push(along);
        }
    }
    (
        Polyline {
            vertices,
            closed: path.closed,
        },
        met,
    )
}

/// Where the tangents meet, if `arc` is a whole roll round a corner and may be run sharp.
fn sharp_corner(arc: Segment, walk: &SegmentIndex, offset_mm: f64, limit: f64) -> Option<Point> {
    let center = arc.center().filter(|_| arc.bulge > 0.0)?;
    if (arc.radius() - offset_mm).abs() > PATH_MM {
        return None;
    }
    let walls = walk.segments();
    let (i, _, _) = walk.nearest_within(center, PATH_MM)?;
    // The corner stands at one end of the wall found.
    let ends = [
        (i, (i + 1) % walls.len()),
        ((i + walls.len() - 1) % walls.len(), i),
    ];
    let turn_at = |&(before, after): &(usize, usize)| {
        let here = walls[before].to.distance(center) <= PATH_MM;
        here.then(|| walls[before].direction(1.0).turn_to(walls[after].direction(0.0)))
    };
    let whole = ends
        .iter()
        .filter_map(turn_at)
        .any(|turn| (turn - arc.sweep()).abs() < SMOOTH_RAD);
    let corner = arc
        .tangents_meet()
        .filter(|p| whole && p.distance(center) <= limit * offset_mm)?;
    let keeps_off = |line: Segment| {
        walk.near(line.bounds().grown(offset_mm))
            .all(|i| line.clearance(walls[i]) >= offset_mm - PATH_MM)
    };
    (keeps_off(Segment::line(arc.from, corner)) && keeps_off(Segment::line(corner, arc.to))).then_some(corner)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::toolpath::offset;

    fn run(shape: &Polyline, offset_mm: f64, limit: f64) -> Polyline {
        let rolled = offset(shape, offset_mm).expect("verified").loops.remove(0);
        let walk = if offset_mm < 0.0 {
            shape.reversed()
        } else {
            shape.clone()
        };
        let none = vec![
            Engagement {
                factor: 1.0,
                stock_mm: None
            };
            rolled.segment_count()
        ];
        let (sharp, met) = sharpened(&rolled, &none, &SegmentIndex::of([&walk]), offset_mm.abs(), limit);
        assert_eq!(met.len(), sharp.segment_count());
        sharp
    }

    #[test]
    fn a_rectangle_runs_round_a_larger_rectangle() {
        let rectangle = Polyline::closed([
            (0.0, 0.0, 0.0),
            (40.0, 0.0, 0.0),
            (40.0, 20.0, 0.0),
            (0.0, 20.0, 0.0),
        ]);
        let sharp = run(&rectangle, 0.130, 1.5);
        assert!((sharp.area() - 40.26 * 20.26).abs() < 1e-9);
        assert!((sharp.length() - 2.0 * (40.26 + 20.26)).abs() < 1e-9);
        // A corner of 90° stands √2 offsets off: not within 1.4.
        let rolled = run(&rectangle, 0.130, 1.4);
        assert!((rolled.length() - (120.0 + 2.0 * PI * 0.130)).abs() < 1e-9);
    }

    #[test]
    fn the_outside_corner_of_an_l_shaped_opening_too() {
        let bay = Polyline::closed([
            (0.0, 0.0, 0.0),
            (6.0, 0.0, 0.0),
            (6.0, 6.0, 0.0),
            (3.0, 6.0, 0.0),
            (3.0, 3.0, 0.0),
            (0.0, 3.0, 0.0),
        ]);
        let d = 0.130;
        // The opening shrunk on all sides, its one outside corner kept sharp.
        let (long, short) = (6.0 - 2.0 * d, 3.0);
        let sharp = run(&bay, -d, 1.5);
        assert!((sharp.area().abs() - (long * long - short * short)).abs() < 1e-9);
        assert!(sharp.segments().all(|s| !s.is_arc()));
    }

    #[test]
    fn a_corner_too_close_to_another_wall_stays_rolled() {
        // A point of 60° whose sharp corner would reach into the wall above it.
        let d = 0.130;
        let gap = 2.1 * d;
        let h = 3f64.sqrt();
        let wedge = Polyline::closed([
            (0.0, 0.0, 0.0),
            (6.0, 0.0, 0.0),
            (6.0, h + gap + 1.0, 0.0),
            (0.0, h + gap + 1.0, 0.0),
            (0.0, h + gap, 0.0),
            (5.0, h + gap, 0.0),
            (5.0, 0.5, 0.0),
            (3.0 + (h - 0.5) / h, 0.5, 0.0),
            (3.0, h, 0.0),
            (3.0 - (h - 0.5) / h, 0.5, 0.0),
            (0.0, 0.5, 0.0),
        ]);
        let sharp = run(&wedge, d, 3.0);
        let at_point = |p: Point| p.distance(Point::new(3.0, h)) < 1.1 * d;
        assert!(
            sharp.segments().any(|s| s.is_arc() && at_point(s.at(0.5))),
            "{sharp:?}"
        );
        assert!(
            sharp.segments().filter(|s| s.is_arc()).count() < 3,
            "the other corners are sharp"
        );
    }
}
