//! One loop, one signed distance: the loops at that distance, verified, or the reason why there are none.
//!
//! Stages, each with its noun:
//! 1. *prepared contour*: about its own middle, counter-clockwise, points given twice dropped, arcs of more
//!    than a half turn split;
//! 2. *attempts*: the offset library is asked for parallels joined to their neighbours, which mostly is all that there is to a path; where
//!    that does not hold, for a whole offset, with one pair of tolerances after another, then with the
//!    contour begun elsewhere, turned, freed of crumbs, or the distance nudged, with arcs laid along its chords, and at last
//!    [`super::polygon`] is: whatever they answer, also a panic, is only a proposal. On contours of crumbs arcs come first;
//! 3. *verdict*: the first proposal that [`super::verify`] accepts is the path. None: refused, with the place
//!    where the contour crosses or touches itself, however little, or else where the first attempt failed.

use std::borrow::Cow;
use std::f64::consts::{PI, TAU};
use std::sync::OnceLock;

use cavalier_contours::polyline::internal::raw_pline_offset::create_raw_offset;
use cavalier_contours::polyline::{
    PlineCreation, PlineOffsetOptions, PlineSource, PlineSourceMut, Polyline as LibraryLoop,
};

use super::Proposer;
use super::polygon::{self, joints};
use super::prepared::{Prepared, moved, prepare};
use super::refusal::RefusalReason;
use super::verify::{PathFault, PathFlaw, Verifier, crossing, just_fits, touching};
use crate::cancel::uninterrupted_or_panicked;
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, Vector, Vertex, arcs_along};
use crate::tolerance::{
    ARC_FIT_MM, CRUMB_MM, JUST_FITS_MM, NUDGE_MM, OFFSET_SAME_PLACE_MM, OFFSET_SLACK_MM, PATH_MM,
    WRITTEN_STEPS_OF_BULGE, WRITTEN_STEPS_PER_MM,
};

/// Of a contour with as many segments [`AS_CHORDS`] come before [`OTHERWISE`]: each way costs seconds there.
const MANY_SEGMENTS: usize = 2_000;

/// Segments that are in the mean this part of the offset long are crumbs: [`AS_CHORDS`] are the quicker there.
const CRUMB_SHARE: f64 = 0.02;

/// Where they are this part of it long, the first of [`AS_CHORDS`] is tried when the first attempt fails.
const CHORD_SHARE: f64 = 0.1;

/// The verified loops at one distance from a contour. None when there is no room for the wire.
#[derive(Clone, Debug)]
pub struct Offset {
    /// The loops; each runs with the contour on its left, so counter-clockwise around it and clockwise inside.
    pub loops: Vec<Polyline>,
    /// No point of them deviates from the distance by more than this, mm.
    pub verified_mm: f64,
    /// What proposed them.
    pub proposer: Proposer,
}

/// No loop passed the verifier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RefusedOffset {
    /// Where the first attempt failed, mm.
    pub at: Point,
    /// Why.
    pub reason: RefusalReason,
}

/// The loops at `offset_mm` from a closed `contour`: outside it when positive, inside when negative, whatever
/// its direction. Corners that jut out towards the path are rolled round.
///
/// Near-linear in the number of segments. Every point of the result is within [`PATH_MM`] of the distance.
pub fn offset(contour: &Polyline, offset_mm: f64) -> Result<Offset, RefusedOffset> {
    Offsets::of(contour)?.at(offset_mm)
}

/// A contour ready to be offset: what is the same at every distance is done once.
pub(crate) struct Offsets {
    prepared: Prepared,
    index: SegmentIndex,
    /// The outline with arcs laid along its chords, from when it is first asked for.
    along_arcs: OnceLock<Polyline>,
    /// The largest ball inside, from when it is first asked for.
    roomiest: OnceLock<(Point, f64)>,
}

impl Offsets {
    /// Makes a closed contour ready, or says why it cannot be offset at all.
    pub(crate) fn of(contour: &Polyline) -> Result<Self, RefusedOffset> {
        let prepared = prepare(contour).map_err(|reason| RefusedOffset {
            at: contour
                .vertices
                .iter()
                .map(|v| v.at)
                .find(|p| p.is_finite())
                .unwrap_or_default(),
            reason,
        })?;
        let index = SegmentIndex::of([&prepared.outline]);
        match crossing(&index) {
            Some(at) => Err(RefusedOffset {
                at: at + prepared.origin,
                reason: RefusalReason::CrossesItself,
            }),
            None => Ok(Self {
                prepared,
                index,
                along_arcs: OnceLock::new(),
                roomiest: OnceLock::new(),
            }),
        }
    }

    /// As [`offset`].
    pub(crate) fn at(&self, offset_mm: f64) -> Result<Offset, RefusedOffset> {
        let Self { prepared, index, .. } = self;
        let somewhere = prepared.outline.vertices[0].at + prepared.origin;
        let refused = |at: Point, reason: RefusalReason| RefusedOffset { at, reason };
        if !offset_mm.is_finite() || offset_mm.abs() <= PATH_MM {
            return Err(refused(somewhere, RefusalReason::OffsetTooSmall { offset_mm }));
        }
        if let Some(found) = self.where_one_just_fits(offset_mm) {
            return Ok(found);
        }
        if self.leaves_no_room(offset_mm) {
            return Ok(Offset {
                loops: Vec::new(),
                verified_mm: prepared.moved_mm,
                proposer: Proposer::Arcs,
            });
        }
        let verifier = Verifier::new(index, offset_mm);
        let mut first_flaw = None;
        for attempt in quickest_first(&prepared.outline, offset_mm) {
            let Some(loops) = attempt.propose(self, offset_mm) else {
                continue;
            };
            let loops = written(loops, prepared.origin);
            let proposed: Vec<Polyline> = loops.iter().map(|l| moved(l, -prepared.origin)).collect();
            match verifier.verify(&proposed) {
                Ok(worst) if worst + prepared.moved_mm <= PATH_MM => {
                    return Ok(Offset {
                        loops,
                        verified_mm: worst + prepared.moved_mm,
                        proposer: attempt.variant.proposer(),
                    });
                }
                // Nothing is said by it where the path has to be trimmed.
                _ if matches!(attempt.variant, Variant::Untrimmed) => {}
                // The prepared contour is not quite the one that was drawn.
                Ok(_) => {
                    let at = prepared.outline.vertices[0].at;
                    first_flaw.get_or_insert(PathFlaw {
                        at,
                        fault: PathFault::TooFar,
                    });
                }
                Err(flaw) => _ = first_flaw.get_or_insert(flaw),
            }
        }
        if let Some(at) = touching(index) {
            return Err(refused(at + prepared.origin, RefusalReason::CrossesItself));
        }
        Err(match first_flaw {
            Some(PathFlaw { at, fault }) => refused(at + prepared.origin, RefusalReason::NoneVerified(fault)),
            None => refused(somewhere, RefusalReason::NoneFound),
        })
    }

    /// Whether it is proved that there is no path inside, so that none has to be tried.
    fn leaves_no_room(&self, offset_mm: f64) -> bool {
        let (outline, distance) = (&self.prepared.outline, -offset_mm);
        // A loop of area A and length L holds a ball of radius r < L/2π when A > Lr − πr² (R. Osserman, "Bonnesen-style isoperimetric
        // inequalities", Amer. Math. Monthly 86 (1979), 1–29).
        let is_wide = || {
            let length = outline.length();
            TAU * distance < length && outline.area() > distance * (length - PI * distance)
        };
        distance > 0.0 && !is_wide() && self.inner_place(distance).is_none()
    }

    /// A place inside with so much room, mm, if there is one.
    fn inner_place(&self, room_mm: f64) -> Option<Point> {
        Verifier::strict(&self.index, -room_mm).place_with_room()
    }

    /// The largest ball inside: its centre, and its radius to a tenth of [`PATH_MM`].
    pub(crate) fn roomiest(&self) -> (Point, f64) {
        *self.roomiest.get_or_init(|| {
            let bounds = self.prepared.outline.bounds();
            let mut at = bounds.center();
            let (mut fits, mut too_large) = (0.0, 0.5 * bounds.width().min(bounds.height()));
            while too_large - fits > 0.1 * PATH_MM {
                let middle = 0.5 * (fits + too_large);
                match self.inner_place(middle) {
                    Some(place) => (at, fits) = (place, middle),
                    None => too_large = middle,
                }
            }
            // Where all of a slot is as wide, its middle rather than its end.
            let slot = attempts([Variant::AsItIs])
                .next()
                .and_then(|attempt| attempt.propose(self, -fits));
            let middle = slot.and_then(|loops| Some(loops.first()?.bounds().center()));
            let has_room = |p: &Point| {
                self.index.winding(*p) != 0 && self.index.nearest_within(*p, fits - PATH_MM).is_none()
            };
            let at = middle.filter(has_room).unwrap_or(at);
            (at + self.prepared.origin, 0.5 * (fits + too_large))
        })
    }

    fn along_arcs(&self) -> &Polyline {
        self.along_arcs
            .get_or_init(|| arcs_along(&joints(&self.prepared.outline), ARC_FIT_MM))
    }

    /// The loops where some slot is so nearly twice the offset wide that the roundings of an attempt would decide: nearer by [`JUST_FITS_MM`],
    /// as exact as `f64` allows, so that equal slots have one answer. `None` where there is no such slot, or no attempt is as exact.
    fn where_one_just_fits(&self, offset_mm: f64) -> Option<Offset> {
        let Self { prepared, index, .. } = self;
        if !just_fits(index, offset_mm) {
            return None;
        }
        let nearer_mm = offset_mm - JUST_FITS_MM.copysign(offset_mm);
        let verifier = Verifier::strict(index, nearer_mm);
        let exact = std::iter::once(Variant::AsItIs).chain(OTHERWISE);
        let mut proposals = attempts(exact).filter_map(|attempt| attempt.propose(self, nearer_mm));
        proposals.find_map(|loops| {
            let loops = written(loops, prepared.origin);
            let proposed: Vec<Polyline> = loops.iter().map(|l| moved(l, -prepared.origin)).collect();
            let off_mm = verifier
                .verify(&proposed)
                .ok()
                .filter(|&worst| worst <= NUDGE_MM)?;
            Some(Offset {
                loops,
                verified_mm: off_mm + JUST_FITS_MM + prepared.moved_mm,
                proposer: Proposer::Arcs,
            })
        })
    }
}

/// One way of asking the library.
#[derive(Clone, Copy)]
struct Attempt {
    same_place_mm: f64,
    slack_mm: f64,
    variant: Variant,
}

/// The same question put another way: what the answer should be does not change.
#[derive(Clone, Copy)]
enum Variant {
    /// As it is, each parallel trimmed by its neighbours alone: what a whole offset comes to where no part of it meets another.
    Untrimmed,
    AsItIs,
    /// Begun at the vertex a third of the way round.
    OtherStart,
    /// Turned by 1 radian: other roundings.
    Turned,
    /// Without its crumbs.
    NoCrumbs,
    /// A little closer.
    Closer,
    /// A little farther.
    Farther,
    /// With arcs laid along its chords.
    AlongArcs,
    /// Asked of the polygon library.
    Polygon,
}

/// The contour as it is put another way, as exactly.
const OTHERWISE: [Variant; 5] = [
    Variant::OtherStart,
    Variant::Turned,
    Variant::NoCrumbs,
    Variant::Closer,
    Variant::Farther,
];

/// The contour as chords, for what is within hundredths of a micrometre.
const AS_CHORDS: [Variant; 2] = [Variant::AlongArcs, Variant::Polygon];

/// The ways of asking about a contour, the quickest first.
fn quickest_first(outline: &Polyline, offset_mm: f64) -> Vec<Attempt> {
    let count = outline.segment_count();
    let short = |share: f64| outline.length() <= share * offset_mm.abs() * count as f64;
    let as_it_is: &[Variant] = &[Variant::AsItIs];
    let variants = if short(CRUMB_SHARE) {
        [&AS_CHORDS, as_it_is, &OTHERWISE].concat()
    } else if count < MANY_SEGMENTS {
        [as_it_is, &OTHERWISE, &AS_CHORDS].concat()
    } else {
        [as_it_is, &AS_CHORDS, &OTHERWISE].concat()
    };
    let mut all: Vec<Attempt> = attempts(variants).collect();
    if short(CHORD_SHARE) && !short(CRUMB_SHARE) {
        let along_arcs = all
            .iter()
            .position(|attempt| matches!(attempt.variant, Variant::AlongArcs));
        let next = along_arcs.map(|i| all.remove(i));
        all.splice(1..1, next);
    }
    if !short(CRUMB_SHARE) {
        all.splice(0..0, attempts([Variant::Untrimmed]));
    }
    all
}

impl Variant {
    fn proposer(self) -> Proposer {
        match self {
            Self::Polygon => Proposer::Polygon,
            _ => Proposer::Arcs,
        }
    }
}

/// The attempts of these variants: all but the polygon library are asked with one pair of tolerances after another.
fn attempts(variants: impl IntoIterator<Item = Variant>) -> impl Iterator<Item = Attempt> {
    variants.into_iter().flat_map(|variant| {
        let pairs = OFFSET_SAME_PLACE_MM.into_iter().zip(OFFSET_SLACK_MM);
        let count = match variant {
            Variant::Untrimmed | Variant::Polygon => 1,
            _ => pairs.len(),
        };
        pairs.take(count).map(move |(same_place_mm, slack_mm)| Attempt {
            same_place_mm,
            slack_mm,
            variant,
        })
    })
}

impl Attempt {
    /// What is proposed; `None` when it panics or its answer is no set of loops.
    fn propose(self, contour: &Offsets, offset_mm: f64) -> Option<Vec<Polyline>> {
        let outline = &contour.prepared.outline;
        let as_it_is = Cow::Borrowed(outline);
        let (asked, distance, turn) = match self.variant {
            Variant::Untrimmed | Variant::AsItIs => (as_it_is, offset_mm, 0.0),
            Variant::OtherStart => (Cow::Owned(begun_elsewhere(outline)), offset_mm, 0.0),
            Variant::Turned => (Cow::Owned(turned(outline, 1.0)), offset_mm, 1.0),
            Variant::NoCrumbs => (Cow::Owned(without_crumbs(outline)), offset_mm, 0.0),
            Variant::Closer => (as_it_is, offset_mm - NUDGE_MM.copysign(offset_mm), 0.0),
            Variant::Farther => (as_it_is, offset_mm + NUDGE_MM.copysign(offset_mm), 0.0),
            Variant::AlongArcs => (Cow::Borrowed(contour.along_arcs()), offset_mm, 0.0),
            Variant::Polygon => return polygon::propose(outline, &contour.index, offset_mm),
        };
        let mut source = LibraryLoop::with_capacity(asked.vertices.len(), true);
        for v in &asked.vertices {
            source.add(v.at.x, v.at.y, v.bulge);
        }
        // Positive is to the left there: inside, for a counter-clockwise loop.
        let distance = -distance;
        if matches!(self.variant, Variant::Untrimmed) {
            let raw = uninterrupted_or_panicked(|| untrimmed(&source, distance, self.same_place_mm))??;
            return Some(vec![from_library(&raw, offset_mm, turn)?]);
        }
        let options = PlineOffsetOptions {
            pos_equal_eps: self.same_place_mm,
            offset_dist_eps: self.slack_mm,
            ..PlineOffsetOptions::new()
        };
        let answer = uninterrupted_or_panicked(|| source.parallel_offset_opt(distance, &options))?;
        answer
            .iter()
            .map(|found| from_library(found, offset_mm, turn))
            .collect()
    }
}

/// The parallels of a loop, each joined to its neighbours; `None` where one of them turns round.
fn untrimmed(source: &LibraryLoop<f64>, distance: f64, same_place_mm: f64) -> Option<LibraryLoop<f64>> {
    let cleaned = source.remove_repeat_pos(same_place_mm);
    let source = cleaned.as_ref().unwrap_or(source);
    let raw = create_raw_offset::<_, _, LibraryLoop<f64>>(source, distance, same_place_mm);
    if !raw.invalid_segment_indexes.is_empty() {
        return None;
    }
    Some(
        raw.polyline
            .remove_repeat_pos(same_place_mm)
            .unwrap_or(raw.polyline),
    )
}

fn from_library(found: &LibraryLoop<f64>, offset_mm: f64, turn: f64) -> Option<Polyline> {
    let vertices: Vec<Vertex> = found
        .iter_vertexes()
        .map(|v| Vertex {
            at: Point::new(v.x, v.y),
            bulge: v.bulge,
        })
        .collect();
    let sane = found.is_closed()
        && vertices.len() >= 2
        && vertices.iter().all(|v| v.at.is_finite() && v.bulge.is_finite());
    let found = Polyline {
        vertices,
        closed: true,
    };
    let found = if turn == 0.0 { found } else { turned(&found, -turn) };
    let found = split_long_arcs(found);
    sane.then(|| if offset_mm > 0.0 { found } else { found.reversed() })
}

/// Loops moved by `origin`, back onto the drawing, as they are written: coordinates and bulges of so many digits. Pieces shorter than
/// [`CRUMB_MM`], which would have no direction left, go.
fn written(loops: Vec<Polyline>, origin: Vector) -> Vec<Polyline> {
    let rounded = |value: f64, steps: f64| (value * steps).round() / steps;
    let vertex = |v: &Vertex| Vertex {
        at: Point::new(
            rounded(v.at.x + origin.x, WRITTEN_STEPS_PER_MM),
            rounded(v.at.y + origin.y, WRITTEN_STEPS_PER_MM),
        ),
        bulge: rounded(v.bulge, WRITTEN_STEPS_OF_BULGE),
    };
    let of_loop = |path: Polyline| {
        let vertices: Vec<Vertex> = path.vertices.iter().map(vertex).collect();
        let n = vertices.len();
        let long = |&i: &usize| vertices[i].at.distance(vertices[(i + 1) % n].at) > CRUMB_MM;
        // Paths are kept until the end: no more room than they need.
        let mut kept = Vec::with_capacity((0..n).filter(long).count());
        kept.extend((0..n).filter(long).map(|i| vertices[i]));
        Polyline {
            vertices: if kept.len() < 2 { vertices } else { kept },
            closed: true,
        }
    };
    loops.into_iter().map(of_loop).collect()
}

fn split_long_arcs(polyline: Polyline) -> Polyline {
    if polyline.vertices.iter().all(|v| v.bulge.abs() <= 1.0) {
        return polyline;
    }
    let pieces = polyline.segments().flat_map(|s| {
        let [first, second] = s.halves();
        let halved = s.bulge.abs() > 1.0;
        [if halved { first } else { s }]
            .into_iter()
            .chain(halved.then_some(second))
    });
    loop_of(pieces)
}

fn loop_of(segments: impl IntoIterator<Item = Segment>) -> Polyline {
    let vertices = segments
        .into_iter()
        .map(|s| Vertex {
            at: s.from,
            bulge: s.bulge,
        })
        .collect();
    Polyline {
        vertices,
        closed: true,
    }
}

fn begun_elsewhere(outline: &Polyline) -> Polyline {
    let mut begun = outline.clone();
    begun.vertices.rotate_left(outline.vertices.len() / 3);
    begun
}

fn turned(polyline: &Polyline, angle_rad: f64) -> Polyline {
    let about = Point::default();
    let vertices = polyline
        .vertices
        .iter()
        .map(|v| Vertex {
            at: about + (v.at - about).turned(angle_rad),
            bulge: v.bulge,
        })
        .collect();
    Polyline {
        vertices,
        closed: polyline.closed,
    }
}

fn without_crumbs(outline: &Polyline) -> Polyline {
    loop_of(outline.segments().filter(|s| s.length() > CRUMB_MM))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of 4 mm, 0.2 mm inwards: each side is 3.6 mm, 1 nm a wall more or less where it is asked so (plane geometry; no source
    /// needed).
    #[test]
    fn what_is_asked_nearer_or_farther_is_so_by_a_nanometre() {
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        let square = Polyline::closed(square.map(|(x, y)| (x, y, 0.0)));
        let contour = Offsets::of(&square).expect("a square can be offset");
        for (variant, side_mm) in [
            (Variant::AsItIs, 3.6),
            (Variant::Closer, 3.6 + 2e-6),
            (Variant::Farther, 3.6 - 2e-6),
        ] {
            let attempt = attempts([variant]).next().expect("one of three");
            let loops = attempt.propose(&contour, -0.2).expect("there is room");
            let bounds = loops[0].bounds();
            assert!((bounds.width() - side_mm).abs() < 1e-10, "{}", bounds.width());
            assert!((bounds.height() - side_mm).abs() < 1e-10);
        }
    }

    /// A square of 4 mm with corners rolled round has the area that Steiner's formula says (J. Steiner, 1840, see `docs/offsetting.md`), by its
    /// parallels alone. Two rooms of 4 mm with a passage of 1 mm between them have two paths 0.6 mm inwards, and parallels alone give none.
    #[test]
    fn parallels_are_a_path_only_where_none_meets_another() {
        let untrimmed = attempts([Variant::Untrimmed]).next().expect("one");
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        let square = Polyline::closed(square.map(|(x, y)| (x, y, 0.0)));
        let contour = Offsets::of(&square).expect("a square can be offset");
        let loops = untrimmed.propose(&contour, 0.2).expect("all are joined");
        assert!((loops[0].area() - (16.0 + 16.0 * 0.2 + PI * 0.04)).abs() < 1e-9);
        assert!(Verifier::new(&contour.index, 0.2).verify(&loops).is_ok());

        let rooms = [
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 1.5),
            (6.0, 1.5),
            (6.0, 0.0),
            (10.0, 0.0),
            (10.0, 4.0),
            (6.0, 4.0),
            (6.0, 2.5),
            (4.0, 2.5),
            (4.0, 4.0),
            (0.0, 4.0),
        ];
        let contour = Offsets::of(&Polyline::closed(rooms.map(|(x, y)| (x, y, 0.0)))).expect("it has area");
        let verifier = Verifier::new(&contour.index, -0.6);
        let proposed = untrimmed.propose(&contour, -0.6);
        assert!(proposed.is_none_or(|loops| verifier.verify(&loops).is_err()));
        assert_eq!(contour.at(-0.6).expect("verified").loops.len(), 2);
    }

    /// Pieces of a contour up to 1 nm long go, longer ones stay.
    #[test]
    fn crumbs_are_up_to_a_nanometre_long() {
        for (length, corners) in [(0.9e-6, 4), (1.1e-6, 5)] {
            let outline = [(0.0, 0.0), (3.0, 0.0), (3.0, length), (3.0, 2.0), (0.0, 2.0)];
            let outline = Polyline::closed(outline.map(|(x, y)| (x, y, 0.0)));
            assert_eq!(without_crumbs(&outline).vertices.len(), corners, "{length}");
        }
    }
}
