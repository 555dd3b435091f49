//! Walls and slots between two contours against the distances of all pairs of their lines and arcs. These are computed here, in
//! closed form from the coordinates that the drawing states, and share no code with the library.

use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;

use kerfwright::contour::{Contour, Contours, Role, Width, build};
use kerfwright::drawing;
use kerfwright::dxf;
use kerfwright::geometry::{Polyline, Vertex};
use kerfwright::job::{Purpose, Purposes, Reading};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};

use crate::random::{cases, loops};

/// Walls that keep one distance to within 0.1 µm are told in their middle.
const IN_THE_MIDDLE_MM: f64 = 1e-4;

/// What coordinates of 10 m, in `f64`, leave of a flat arc's centre.
const ROUNDING_MM: f64 = 1e-6;

pub(crate) type Place = [f64; 2];

fn minus(a: Place, b: Place) -> Place {
    [a[0] - b[0], a[1] - b[1]]
}

fn dot(a: Place, b: Place) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn apart(a: Place, b: Place) -> f64 {
    minus(a, b)[0].hypot(minus(a, b)[1])
}

/// A line, or an arc with its centre, radius, first angle and sweep.
pub(crate) struct Piece {
    ends: [Place; 2],
    arc: Option<(Place, f64, f64, f64)>,
}

impl Piece {
    /// The bulge is the tangent of a quarter of the sweep (the DXF reference, group 42).
    fn new(from: Vertex, to: Vertex) -> Self {
        let ends = [[from.at.x, from.at.y], [to.at.x, to.at.y]];
        let chord = minus(ends[1], ends[0]);
        let arc = (from.bulge != 0.0).then(|| {
            let sweep = 4.0 * from.bulge.atan();
            // From the middle of the chord to the left, as a share of the chord.
            let rise = (1.0 - from.bulge * from.bulge) / (4.0 * from.bulge);
            let center = [
                0.5 * (ends[0][0] + ends[1][0]) - chord[1] * rise,
                0.5 * (ends[0][1] + ends[1][1]) + chord[0] * rise,
            ];
            let out = minus(ends[0], center);
            (center, apart(ends[0], center), out[1].atan2(out[0]), sweep)
        });
        Self { ends, arc }
    }

    pub(crate) fn all_of(line: &Polyline) -> Vec<Self> {
        let next = line.vertices.iter().cycle().skip(1);
        line.vertices
            .iter()
            .zip(next)
            .map(|(&a, &b)| Self::new(a, b))
            .collect()
    }

    /// The points where it may be nearest to something that lies along the line through `p`.
    fn towards(&self, p: Place) -> Vec<Place> {
        let mut found = Vec::new();
        match self.arc {
            None => {
                let along = minus(self.ends[1], self.ends[0]);
                let share = dot(minus(p, self.ends[0]), along) / dot(along, along);
                if (0.0..=1.0).contains(&share) {
                    found.push([
                        self.ends[0][0] + share * along[0],
                        self.ends[0][1] + share * along[1],
                    ]);
                }
            }
            Some((center, radius, first, sweep)) => {
                let out = minus(p, center);
                for angle in [out[1].atan2(out[0]), out[1].atan2(out[0]) + PI] {
                    if ((angle - first) * sweep.signum()).rem_euclid(TAU) <= sweep.abs() {
                        found.push([center[0] + radius * angle.cos(), center[1] + radius * angle.sin()]);
                    }
                }
            }
        }
        found
    }

    pub(crate) fn distance(&self, p: Place) -> f64 {
        let places = self.towards(p).into_iter().chain(self.ends);
        places.map(|q| apart(p, q)).fold(f64::INFINITY, f64::min)
    }

    /// The distance of two pieces that do not cross: at an end of one of them, or square to both.
    fn clearance(&self, other: &Self) -> f64 {
        let mut places = self.ends.to_vec();
        match (self.arc, other.arc) {
            (_, Some((center, ..))) => places.extend(self.towards(center)),
            (Some((center, ..)), None) => {
                places.extend(
                    other
                        .towards(center)
                        .into_iter()
                        .flat_map(|foot| self.towards(foot)),
                );
            }
            (None, None) => {}
        }
        let here = places.into_iter().map(|p| other.distance(p));
        here.chain(other.ends.map(|p| self.distance(p)))
            .fold(f64::INFINITY, f64::min)
    }
}

/// The distance of all pairs.
fn smallest_distance(a: &Polyline, b: &Polyline) -> f64 {
    let (a, b) = (Piece::all_of(a), Piece::all_of(b));
    let pairs = a.iter().flat_map(|s| b.iter().map(|t| s.clearance(t)));
    pairs.fold(f64::INFINITY, f64::min)
}

/// Whether `p` lies inside: by the chords, and within how many arcs it lies beyond its chord. No arc of more than a half turn.
pub(crate) fn encloses(line: &Polyline, p: Place) -> bool {
    let crossed = Piece::all_of(line).into_iter().map(|piece| {
        let [a, b] = piece.ends;
        let right =
            (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
        let beyond = piece.arc.is_some_and(|(center, radius, _, sweep)| {
            let (chord, out) = (minus(b, a), minus(p, a));
            let left = chord[0] * out[1] - chord[1] * out[0];
            apart(p, center) < radius && left * sweep < 0.0
        });
        usize::from(right) + usize::from(beyond)
    });
    crossed.sum::<usize>() % 2 == 1
}

/// The contours of a drawing of one polyline a layer, `0`, `1`, …, of which each is for something.
fn contours_of(lines: &[(&Polyline, Purpose)]) -> Contours {
    let mut text =
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n".to_owned();
    let mut purposes = Purposes::default();
    for (layer, (line, purpose)) in lines.iter().enumerate() {
        let _ = write!(
            text,
            "0\nLWPOLYLINE\n8\n{layer}\n90\n{}\n70\n1\n",
            line.vertices.len()
        );
        for v in &line.vertices {
            let _ = write!(text, "10\n{}\n20\n{}\n42\n{}\n", v.at.x, v.at.y, v.bulge);
        }
        purposes.layers.insert(layer.to_string(), *purpose);
    }
    text += "0\nENDSEC\n0\nEOF\n";
    let reading = Reading::default();
    let document = dxf::read(text.as_bytes()).expect("a sound file");
    let drawing = drawing::from_document(&document, &reading).expect("a sound drawing");
    let contours = build(&drawing, &reading, &purposes);
    assert_eq!(contours.list.len(), lines.len());
    contours
}

/// The width from a contour across to what lies on the side where the other is.
fn across(contour: &Contour, material: bool) -> Option<&Width> {
    if material {
        contour.thinnest_wall.as_deref()
    } else {
        contour.narrowest_slot.as_deref()
    }
}

/// A width is the distance of its two points, which lie on the two contours that it names.
fn is_between_its_points(width: &Width, lines: &[&Polyline]) {
    let (from, to) = ([width.from.x, width.from.y], [width.to.x, width.to.y]);
    assert!((apart(from, to) - width.width_mm).abs() < 1e-12, "{width:?}");
    for (place, contour) in [(from, width.contours.0), (to, width.contours.1)] {
        let pieces = Piece::all_of(lines[contour.index()]);
        let off = pieces
            .iter()
            .map(|piece| piece.distance(place))
            .fold(f64::INFINITY, f64::min);
        assert!(off < ROUNDING_MM, "{place:?} lies {off} mm off contour {contour}");
    }
}

/// Holds what is told of two contours against all pairs. Returns how far it is off, and whether the narrowest place is between the two.
fn deviation(lines: [&Polyline; 2], purposes: [Purpose; 2]) -> (f64, usize) {
    let all_pairs = smallest_distance(lines[0], lines[1]);
    let contours = contours_of(&[(lines[0], purposes[0]), (lines[1], purposes[1])]);
    let first = |line: &Polyline| [line.vertices[0].at.x, line.vertices[0].at.y];
    let nested = encloses(lines[0], first(lines[1])) || encloses(lines[1], first(lines[0]));
    let (mut worst, mut between): (f64, usize) = (0.0, 0);
    let cut = contours
        .list
        .iter()
        .filter(|contour| contour.purpose == Purpose::Cut);
    for contour in cut {
        // Beside each other the wire runs between them, one in the other the material lies there.
        let width = across(contour, nested).unwrap_or_else(|| panic!("nothing told across {all_pairs} mm"));
        is_between_its_points(width, &lines);
        if width.contours.0 == width.contours.1 {
            // Two walls of one contour are nearer.
            assert!(
                width.width_mm <= all_pairs + IN_THE_MIDDLE_MM,
                "{width:?} instead of {all_pairs}"
            );
        } else {
            assert_eq!(width.contours.0, contour.id);
            worst = worst.max((width.width_mm - all_pairs).abs());
            between += 1;
        }
    }
    let listed = if nested {
        &contours.facts.thin_walls
    } else {
        &contours.facts.narrow_slots
    };
    for width in listed {
        is_between_its_points(width, &lines);
    }
    if all_pairs < 0.999 {
        let two = listed.iter().filter(|width| width.contours.0 != width.contours.1);
        let least = two.map(|width| width.width_mm).fold(f64::INFINITY, f64::min);
        worst = worst.max((least - all_pairs).abs());
    }
    assert!(
        worst < IN_THE_MIDDLE_MM + ROUNDING_MM,
        "off by {worst} where {all_pairs} mm lie between"
    );
    (worst, between)
}

/// A loop made larger, turned, mirrored and moved.
fn placed(line: &Polyline, size: f64, turn: f64, mirror: bool, by: Place) -> Polyline {
    let flip = if mirror { -1.0 } else { 1.0 };
    Polyline::closed(line.vertices.iter().map(|v| {
        let (x, y) = (size * flip * v.at.x, size * v.at.y);
        let (sin, cos) = turn.sin_cos();
        (
            x * cos - y * sin + by[0],
            x * sin + y * cos + by[1],
            flip * v.bulge,
        )
    }))
}

fn purposes() -> impl Strategy<Value = [Purpose; 2]> {
    let left = prop_oneof![Just(Purpose::Existing), Just(Purpose::NotNow)];
    prop_oneof![
        Just([Purpose::Cut; 2]),
        left.clone().prop_map(|left| [Purpose::Cut, left]),
        left.prop_map(|left| [left, Purpose::Cut]),
    ]
}

/// Random contours, one in the other or beside it, up to 10 m from the origin.
#[test]
fn widths_between_random_contours_are_those_of_all_pairs() {
    let most = cases(200);
    let mut runner = TestRunner::new(Config {
        cases: most,
        rng_seed: RngSeed::Fixed(20_261_128),
        failure_persistence: None,
        max_global_rejects: 64 * most,
        max_local_rejects: 64 * most,
        ..Config::default()
    });
    let (large, small) = ((loops(), 1.0..6.0f64), (loops(), 0.02..2.0f64, -PI..PI));
    let beside = (0.0..1.0f64, -PI..PI);
    let moved = (-PI..PI, any::<bool>(), -1e4..1e4f64, -1e4..1e4f64);
    let counts = std::cell::Cell::new((0.0f64, 0, 0));
    let all = (large, small, beside, moved, purposes());
    let result = runner.run(
        &all,
        |((a, size), (b, share, spin), (out, way), moved, purposes)| {
            let (turn, mirror, dx, dy) = moved;
            // Both were shifted along a diagonal: the middle of their corners goes to the origin.
            let centered = |line: &Polyline| {
                let count = line.vertices.len() as f64;
                let sum = |of: fn(&Vertex) -> f64| line.vertices.iter().map(of).sum::<f64>() / count;
                placed(line, 1.0, 0.0, false, [-sum(|v| v.at.x), -sum(|v| v.at.y)])
            };
            let reach = 16.0 * size * out;
            let b = placed(
                &centered(&b),
                share,
                spin,
                false,
                [reach * way.cos(), reach * way.sin()],
            );
            let a = placed(&centered(&a), size, 0.0, false, [0.0; 2]);
            let [a, b] = [a, b].map(|line| placed(&line, 1.0, turn, mirror, [dx, dy]));
            // What crosses has no wall between.
            prop_assume!(a.segments().all(|s| b.segments().all(|t| s.clearance(t) > 1e-3)));
            let (worst, between) = deviation([&a, &b], purposes);
            let (most, told, tried) = counts.get();
            counts.set((worst.max(most), told + between, tried + 1));
            Ok(())
        },
    );
    result.unwrap_or_else(|error| panic!("{error}"));
    let (worst, between, tried) = counts.get();
    println!("{tried} pairs, {between} widths between them, the largest deviation {worst:e} mm");
    assert!(between > tried / 3, "only {between} widths between two contours");
}

/// A lozenge whose tip stands near a straight edge, anywhere along it: machined already, or cut. The wall is the distance of the tip.
#[test]
fn a_tip_near_an_edge_is_a_wall_from_both_sides() {
    for case in 0..60 {
        let k = f64::from(case);
        let (gap, at) = (0.05 + 0.15 * k / 59.0, 12.0 + 40.0 * (k * 0.618).fract());
        let (half, long) = (1.0 + (k * 0.37).fract() * 5.0, 3.0 + (k * 0.73).fract() * 6.0);
        let plate = Polyline::closed([
            (0.0, 0.0, 0.0),
            (64.0, 0.0, 0.0),
            (64.0, 40.0, 0.0),
            (0.0, 40.0, 0.0),
        ]);
        let tip = Polyline::closed([
            (at, gap, 0.0),
            (at + half, gap + long, 0.0),
            (at, gap + 2.0 * long, 0.0),
            (at - half, gap + long, 0.0),
        ]);
        let turn = 0.1 * k;
        let [plate, tip] = [plate, tip].map(|line| placed(&line, 1.0, turn, case % 2 == 0, [7.0 * k, -3.0]));
        for purpose in [Purpose::Existing, Purpose::Cut, Purpose::NotNow] {
            let contours = contours_of(&[(&plate, Purpose::Cut), (&tip, purpose)]);
            assert_eq!(contours.list[1].role, Role::Opening);
            let walls = &contours.facts.thin_walls;
            let told = contours
                .list
                .iter()
                .filter_map(|contour| contour.thinnest_wall.as_deref());
            let told: Vec<&Width> = told.chain(walls).collect();
            assert_eq!(
                (told.len(), walls.len()),
                (2 + usize::from(purpose == Purpose::Cut), 1),
                "case {case}"
            );
            for width in told {
                is_between_its_points(width, &[&plate, &tip]);
                assert!(
                    (width.width_mm - gap).abs() < 1e-9,
                    "{} instead of {gap}",
                    width.width_mm
                );
                assert_ne!(width.contours.0, width.contours.1);
            }
            assert_eq!(contours[walls[0].contours.0].purpose, Purpose::Cut);
        }
    }
}
