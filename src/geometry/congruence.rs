//! Whether two flat shapes are the same, moved and turned or mirrored too: proved on their lines, whatever vertex they begin at.

use super::{Point, Polyline, Segment, SegmentIndex, Trail, Vector, Vertex};
use crate::tolerance::SHARP_CORNER_RAD;

/// The corners and centres that a turn is read from lie no nearer to the centre than this share of the farthest: from near
/// ones an angle is poorly known.
const FAR_SHARE: f64 = 0.3;

/// An arc that turns less has a centre that rounded coordinates leave poorly known, radians.
const KNOWN_CENTER_RAD: f64 = 0.2;

/// A feature this many times the allowed distance off may still be the one that is looked for: the centre is off as well.
const SLACK: f64 = 4.0;

/// Where a segment is compared beside its ends, as shares of its length.
const COMPARED_AT: [f64; 3] = [0.25, 0.5, 0.75];

/// A closed outline and what lies in it, sorted into sets: a line is only ever compared with those of the same set.
pub struct FlatShape {
    /// The outline alone, then the others.
    sets: Vec<Vec<Polyline>>,
    center: Point,
    /// Distance of its farthest vertex from there, mm.
    radius_mm: f64,
    /// Places by which it is turned, each with its set.
    features: Vec<Landmark>,
    indices: Vec<SegmentIndex>,
}

/// A place of a shape.
#[derive(Clone, Copy, Debug)]
struct Landmark {
    kind: LandmarkKind,
    set: usize,
    at: Point,
    distance_mm: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum LandmarkKind {
    /// A corner; where it is looked for any vertex will do.
    Corner,
    /// A vertex without a corner.
    Vertex,
    /// Centre of an arc.
    Center,
}

/// A turn about one centre and a move of it to another.
#[derive(Clone, Copy)]
struct Motion {
    from: Point,
    to: Point,
    cos_sin: Vector,
}

impl Motion {
    fn turned(self, p: Point) -> Point {
        let (v, r) = (p - self.from, self.cos_sin);
        self.to + Vector::new(r.x * v.x - r.y * v.y, r.y * v.x + r.x * v.y)
    }

    fn back(self) -> Self {
        Self {
            from: self.to,
            to: self.from,
            cos_sin: Vector::new(self.cos_sin.x, -self.cos_sin.y),
        }
    }
}

impl FlatShape {
    /// Makes a shape of its outline and of what lies in it, set by set.
    pub fn new(outline: Polyline, inside: Vec<Vec<Polyline>>) -> Self {
        let center = outline.centroid();
        let mut sets = vec![vec![outline]];
        sets.extend(inside);
        let mut features = Vec::new();
        for (set, lines) in sets.iter().enumerate() {
            for line in lines {
                add_features(&mut features, set, line, center);
            }
        }
        let at_lines = features.iter().filter(|f| f.kind != LandmarkKind::Center);
        Self {
            radius_mm: at_lines.map(|f| f.distance_mm).fold(0.0, f64::max),
            indices: sets.iter().map(SegmentIndex::of).collect(),
            sets,
            center,
            features,
        }
    }

    /// Returns the mirror image.
    pub fn mirrored(&self) -> Self {
        let mirror = |lines: &Vec<Polyline>| lines.iter().map(mirrored).collect();
        let mut sets: Vec<Vec<Polyline>> = self.sets.iter().map(mirror).collect();
        let outline = sets[0].remove(0);
        Self::new(outline, sets.into_iter().skip(1).collect())
    }

    /// Whether both are the same to within `alike_mm` everywhere when one is moved and turned: every vertex of either, and the
    /// quarters of its segments, lie that near to the lines of the other.
    pub fn is_congruent(&self, other: &Self, alike_mm: f64) -> bool {
        let same_sets = self.sets.len() == other.sets.len()
            && self.sets.iter().zip(&other.sets).all(|(a, b)| a.len() == b.len());
        if !same_sets {
            return false;
        }
        let Some(anchor) = self.anchor(alike_mm) else {
            return self.coincides(other, Vector::new(1.0, 0.0), alike_mm);
        };
        let from = anchor.at - self.center;
        let center = anchor.kind == LandmarkKind::Center;
        let fits = |f: &&Landmark| {
            (f.kind == LandmarkKind::Center) == center
                && f.set == anchor.set
                && (f.distance_mm - anchor.distance_mm).abs() <= SLACK * alike_mm
        };
        other.features.iter().filter(fits).any(|feature| {
            let to = feature.at - other.center;
            let cos_sin = Vector::new(from.dot(to), from.cross(to)).normalized();
            cos_sin.is_some_and(|cos_sin| self.coincides(other, cos_sin, alike_mm))
        })
    }

    /// The feature that tells the turn best: of corners and centres far from the middle one of a distance that few others have;
    /// without such, of all vertices. `None` of what is the same however it is turned.
    fn anchor(&self, alike_mm: f64) -> Option<Landmark> {
        let off_center =
            |f: &&Landmark| f.distance_mm > SLACK * alike_mm && f.distance_mm <= 2.0 * self.radius_mm;
        let all_round = |f: &&Landmark| f.kind != LandmarkKind::Vertex;
        let mut pool: Vec<Landmark> = self
            .features
            .iter()
            .filter(off_center)
            .filter(all_round)
            .copied()
            .collect();
        if pool.is_empty() && !self.is_round(alike_mm) {
            pool = self.features.iter().filter(off_center).copied().collect();
        }
        let farthest_mm = pool.iter().map(|f| f.distance_mm).fold(0.0, f64::max);
        pool.retain(|f| f.distance_mm >= FAR_SHARE * farthest_mm);
        pool.sort_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm));
        // How many stand about as far out, of whatever kind.
        let alike = |f: &Landmark| {
            let from = pool.partition_point(|g| g.distance_mm < f.distance_mm - SLACK * alike_mm);
            let to = pool.partition_point(|g| g.distance_mm <= f.distance_mm + SLACK * alike_mm);
            to - from
        };
        // Of equally rare ones the farthest.
        let rarest = pool.iter().rev().min_by_key(|f| alike(f));
        rarest.copied()
    }

    /// Whether all its lines are circles about its centre.
    fn is_round(&self, alike_mm: f64) -> bool {
        let mut segments = self.sets.iter().flatten().flat_map(Polyline::segments);
        segments.all(|s| {
            s.center()
                .is_some_and(|at| at.distance(self.center) <= SLACK * alike_mm)
        })
    }

    fn coincides(&self, other: &Self, cos_sin: Vector, alike_mm: f64) -> bool {
        let motion = Motion {
            from: self.center,
            to: other.center,
            cos_sin,
        };
        self.lies_on(other, motion, alike_mm) && other.lies_on(self, motion.back(), alike_mm)
    }

    /// Whether all of it, moved, lies on the lines of `other`.
    fn lies_on(&self, other: &Self, motion: Motion, alike_mm: f64) -> bool {
        self.sets.iter().zip(&other.indices).all(|(lines, index)| {
            let mut trail = Trail::default();
            let mut near = |p: Point| index.nearest_on(&mut trail, motion.turned(p), alike_mm).is_some();
            lines
                .iter()
                .flat_map(Polyline::segments)
                .all(|s| near(s.from) && near(s.to) && COMPARED_AT.iter().all(|&share| near(s.at(share))))
        })
    }
}

fn add_features(features: &mut Vec<Landmark>, set: usize, line: &Polyline, center: Point) {
    let count = line.segment_count();
    let mut add = |kind, at: Point| {
        features.push(Landmark {
            kind,
            set,
            at,
            distance_mm: at.distance(center),
        });
    };
    for (i, vertex) in line.vertices.iter().enumerate() {
        let is_end = !line.closed && (i == 0 || i + 1 == line.vertices.len());
        let turn = || {
            let before = line.segment((i + count - 1) % count).direction(1.0);
            before.turn_to(line.segment(i % count).direction(0.0)).abs()
        };
        let is_corner = is_end || turn() > SHARP_CORNER_RAD;
        add(
            if is_corner {
                LandmarkKind::Corner
            } else {
                LandmarkKind::Vertex
            },
            vertex.at,
        );
    }
    let arcs = line.segments().filter(|s| s.sweep().abs() > KNOWN_CENTER_RAD);
    arcs.filter_map(Segment::center)
        .for_each(|at| add(LandmarkKind::Center, at));
}

/// Returns a line as seen in a mirror along y; a loop runs round its inside on the same hand.
fn mirrored(line: &Polyline) -> Polyline {
    let flipped = Polyline {
        vertices: line
            .vertices
            .iter()
            .map(|v| Vertex {
                at: Point::new(-v.at.x, v.at.y),
                bulge: -v.bulge,
            })
            .collect(),
        closed: line.closed,
    };
    flipped.reversed()
}

/// What two congruent shapes have in common: cheap to compare, so that few pairs need a proof.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapeSums {
    /// Area of the outline, mm².
    area_mm2: f64,
    /// Length of the outline, mm.
    length_mm: f64,
    /// Segments of the outline.
    segments: usize,
    /// Of what lies in it.
    sets: Vec<SetSums>,
}

#[derive(Clone, Debug, PartialEq)]
struct SetSums {
    lines: usize,
    length_mm: f64,
    area_mm2: f64,
    /// Sum of the distances of its loops from the middle of the outline, mm.
    distance_mm: f64,
}

impl ShapeSums {
    /// Adds up an outline and what lies in it.
    pub fn of(outline: &Polyline, inside: &[Vec<&Polyline>]) -> Self {
        let center = outline.centroid();
        let distance_mm = |line: &&Polyline| {
            if line.closed {
                line.centroid().distance(center)
            } else {
                0.0
            }
        };
        let sums = |lines: &Vec<&Polyline>| SetSums {
            lines: lines.len(),
            length_mm: lines.iter().map(|line| line.length()).sum(),
            area_mm2: lines.iter().map(|line| line.area().abs()).sum(),
            distance_mm: lines.iter().map(distance_mm).sum(),
        };
        Self {
            area_mm2: outline.area().abs(),
            length_mm: outline.length(),
            segments: outline.segment_count(),
            sets: inside.iter().map(sums).collect(),
        }
    }

    /// Returns the area of the outline, mm².
    pub fn area_mm2(&self) -> f64 {
        self.area_mm2
    }

    /// Computes by how much the areas of outlines may differ that are alike to within `alike_mm`, mm².
    pub fn area_slack_mm2(&self, alike_mm: f64) -> f64 {
        2.0 * alike_mm * self.length_mm
    }

    /// Whether shapes with these sums may be alike to within `alike_mm`.
    pub fn may_be_alike(&self, other: &Self, alike_mm: f64) -> bool {
        let near = |a: f64, b: f64, slack: f64| (a - b).abs() <= slack;
        // Each vertex may be off by as much at the ends of two segments; the middles by a few times that.
        let along_mm = 2.0 * alike_mm * self.segments.max(other.segments) as f64;
        let apart_mm = SLACK * SLACK * alike_mm;
        near(self.area_mm2, other.area_mm2, self.area_slack_mm2(alike_mm))
            && near(self.length_mm, other.length_mm, along_mm)
            && self.sets.len() == other.sets.len()
            && self.sets.iter().zip(&other.sets).all(|(a, b)| {
                a.lines == b.lines
                    && near(a.distance_mm, b.distance_mm, apart_mm * a.lines as f64)
                    && near(
                        a.area_mm2,
                        b.area_mm2,
                        2.0 * alike_mm * a.length_mm.max(b.length_mm),
                    )
            })
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use proptest::prelude::*;

    use super::*;

    const ALIKE_MM: f64 = 0.01;

    /// A plate with one corner cut off and rounded ones, that is its own image in no mirror and by no turn.
    fn plate() -> Polyline {
        let quarter = (PI / 8.0).tan();
        Polyline::closed([
            (2.0, 0.0, 0.0),
            (40.0, 0.0, 0.0),
            (40.0, 12.0, 0.0),
            (34.0, 20.0, 0.0),
            (0.0, 20.0, 0.0),
            (0.0, 2.0, quarter),
        ])
    }

    fn moved(line: &Polyline, angle: f64, by: Vector, first: usize, decimals: i32) -> Polyline {
        let round = |x: f64| (x * 10f64.powi(decimals)).round() / 10f64.powi(decimals);
        let mut line = line.clone();
        for vertex in &mut line.vertices {
            let at = Point::default() + (vertex.at - Point::default()).turned(angle) + by;
            vertex.at = Point::new(round(at.x), round(at.y));
        }
        let first = first % line.vertices.len();
        line.vertices.rotate_left(first);
        line
    }

    /// As a CIRCLE of a turned copy comes out: its two halves begin on its right again.
    fn moved_circle(at: Point, radius: f64, angle: f64, by: Vector) -> Polyline {
        let at = Point::default() + (at - Point::default()).turned(angle) + by;
        Polyline::circle(at, radius)
    }

    fn shape(outline: Polyline, holes: Vec<Polyline>) -> FlatShape {
        FlatShape::new(outline, vec![holes])
    }

    proptest! {
        #[test]
        fn a_turned_and_rounded_copy_is_congruent_and_a_mirrored_one_is_not(
            angle in -4.0..4.0f64, x in -500.0..500.0f64, y in -500.0..500.0f64, first in 0..6usize,
        ) {
            let by = Vector::new(x, y);
            let hole = Point::new(9.0, 7.0);
            let one = shape(plate(), vec![Polyline::circle(hole, 2.5)]);
            let other = shape(
                moved(&plate(), angle, by, first, 4),
                vec![moved_circle(hole, 2.5, angle, by)],
            );
            prop_assert!(one.is_congruent(&other, ALIKE_MM));
            prop_assert!(other.is_congruent(&one, ALIKE_MM));
            prop_assert!(!one.is_congruent(&other.mirrored(), ALIKE_MM));
            prop_assert!(one.mirrored().is_congruent(&other.mirrored(), ALIKE_MM));
            // The hole 30 µm off, or as much larger.
            let off = shape(moved(&plate(), angle, by, first, 4), vec![moved_circle(Point::new(9.03, 7.0), 2.5, angle, by)]);
            prop_assert!(!one.is_congruent(&off, ALIKE_MM));
            let larger = shape(moved(&plate(), angle, by, first, 4), vec![moved_circle(hole, 2.53, angle, by)]);
            prop_assert!(!one.is_congruent(&larger, ALIKE_MM));
        }

        /// Two holes tell how a disc is turned; which of two handed patterns it has, its three holes.
        #[test]
        fn a_disc_is_turned_by_its_holes(angle in -4.0..4.0f64, x in -500.0..500.0f64) {
            let by = Vector::new(x, 1.0);
            let disc = |holes: [(f64, f64, f64); 3], angle: f64, by: Vector| {
                let hole = |(x, y, r): (f64, f64, f64)| moved_circle(Point::new(x, y), r, angle, by);
                shape(moved_circle(Point::default(), 30.0, angle, by), holes.map(hole).to_vec())
            };
            let holes = [(20.0, 0.0, 3.0), (0.0, 20.0, 2.0), (-15.0, 3.0, 1.0)];
            let handed = holes.map(|(x, y, r)| (x, -y, r));
            let one = disc(holes, 0.0, Vector::default());
            prop_assert!(one.is_congruent(&disc(holes, angle, by), ALIKE_MM));
            prop_assert!(!one.is_congruent(&disc(handed, angle, by), ALIKE_MM));
            prop_assert!(one.is_congruent(&disc(handed, angle, by).mirrored(), ALIKE_MM));
        }
    }

    #[test]
    fn washers_have_no_turn_and_sets_are_kept_apart() {
        let ring = |x: f64, bore: f64| {
            shape(
                Polyline::circle(Point::new(x, 0.0), 7.0),
                vec![Polyline::circle(Point::new(x, 0.0), bore)],
            )
        };
        assert!(ring(0.0, 4.0).is_congruent(&ring(100.0, 4.0), ALIKE_MM));
        assert!(!ring(0.0, 4.0).is_congruent(&ring(100.0, 4.02), ALIKE_MM));
        let holes = || vec![Polyline::circle(Point::new(5.0, 5.0), 1.0)];
        let cut = FlatShape::new(plate(), vec![holes(), vec![]]);
        let left = FlatShape::new(plate(), vec![vec![], holes()]);
        assert!(cut.is_congruent(&cut, ALIKE_MM) && !cut.is_congruent(&left, ALIKE_MM));
    }

    /// Rotated by a quarter turn a square is the square again; so is a wheel of 60 teeth by one tooth.
    #[test]
    fn what_is_the_same_in_many_turns_is_congruent_in_one() {
        let wheel = |shift: f64| {
            let at = |i: i32| {
                Vector::unit(PI * f64::from(i) / 60.0 + shift) * if i % 2 == 0 { 30.0 } else { 27.0 }
            };
            Polyline::closed((0..120).map(|i| (at(i).x, at(i).y, 0.0)))
        };
        let (one, other) = (shape(wheel(0.0), vec![]), shape(wheel(0.01), vec![]));
        assert!(one.is_congruent(&other, ALIKE_MM));
        let mut bent = wheel(0.01);
        bent.vertices[17].at = bent.vertices[17].at + Vector::new(0.02, 0.02);
        assert!(!one.is_congruent(&shape(bent, vec![]), ALIKE_MM));
    }

    #[test]
    fn sums_of_congruent_shapes_are_alike() {
        let outline = plate();
        let hole = Polyline::circle(Point::new(9.0, 7.0), 2.5);
        let by = Vector::new(3.0, 4.0);
        let other = moved(&outline, 1.0, by, 2, 4);
        let other_hole = moved_circle(Point::new(9.0, 7.0), 2.5, 1.0, by);
        let one = ShapeSums::of(&outline, &[vec![&hole]]);
        assert!(one.may_be_alike(&ShapeSums::of(&other, &[vec![&other_hole]]), ALIKE_MM));
        assert!(!one.may_be_alike(&ShapeSums::of(&other, &[vec![]]), ALIKE_MM));
        assert!(!one.may_be_alike(&ShapeSums::of(&hole, &[vec![&hole]]), ALIKE_MM));
        // The hole elsewhere.
        assert!(!one.may_be_alike(&ShapeSums::of(&other, &[vec![&hole]]), ALIKE_MM));
    }
}
