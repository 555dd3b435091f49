//! Facts found, and repairs made, while contours were made. Checks turn these into findings.

use serde::Serialize;

use crate::geometry::Point;
use crate::geometry::refit::FacetedRun;
use crate::id::ContourId;

use super::names::MissingName;
use super::purposes::StyleNotCut;

/// All facts, kind by kind. Curves are named by their index in the drawing.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Facts {
    /// Joints whose ends did not meet exactly and were brought together within the default join tolerance.
    pub merged_joints: usize,
    /// The widest of them.
    pub widest_merge: Option<MergedJoint>,
    /// Gaps wider than the default join tolerance that were closed because the user asked for a wider one.
    pub gaps_closed: Vec<Gap>,
    /// Gaps that stay open: a loose end and the loose end nearest to it.
    pub gaps: Vec<Gap>,
    /// Curves that repeat another one, left out.
    pub duplicate_curves: Vec<DuplicateCurve>,
    /// Loops that repeat another one.
    pub duplicate_contours: Vec<DuplicateContour>,
    /// Stretches along which two curves run together.
    pub overlaps: Vec<Overlap>,
    /// Places where two contours to be cut pass through each other.
    pub crossings: Vec<Contact>,
    /// Places where edges pass through each other of which one is not to be cut.
    pub edge_crossings: Vec<Contact>,
    /// Places where a contour to be cut passes through itself.
    pub self_crossings: Vec<Contact>,
    /// Places where contours to be cut, or two parts of one, touch.
    pub touches: Vec<Contact>,
    /// How many crossings, touches and overlaps there are; the first 10 000 of each are listed.
    pub contacts: ContactCounts,
    /// Narrow places on the wire's side, narrowest first; those below `crate::tolerance::WIDTH_LISTED_MM`.
    pub narrow_slots: Vec<Width>,
    /// Narrow places of the material, narrowest first; those below `crate::tolerance::WIDTH_LISTED_MM`.
    pub thin_walls: Vec<Width>,
    /// Pieces taken out because they were no longer than the join tolerance.
    pub crumbs: Vec<Crumbs>,
    /// Very short segments that are still there.
    pub short_segments: Vec<ShortSegments>,
    /// Joints that turn by a fraction of a degree.
    pub kinks: Vec<Kink>,
    /// Runs of chords that stand for a curve; those replaced by arcs, too.
    pub facets: Vec<Facets>,
    /// Places where three or more ends meet.
    pub branches: Vec<Branch>,
    /// Curves left out of the cut for their linetype alone.
    pub styles_not_cut: Vec<StyleNotCut>,
    /// A contour that lies within more others than are looked through; then none is nested.
    pub too_deep: Option<ContourId>,
    /// Names given for several drawings at once that stand for nothing in this one.
    pub names_missing: Vec<MissingName>,
}

/// A local width: of a wall, the material between two edges, or of a slot, what lies between them where the wire runs.
///
/// Between two contours it is the smallest distance of a point of one from a point of the other, across nothing but material (a wall) or
/// none (a slot); edges that are not cut count, but not two of them. Contours that touch or cross have no width there. Between
/// two places of one contour it is where a ball that holds no edge touches both, within 30° of straight across: walls that meet in a
/// corner are neither wall nor slot, and the land between two corners is none.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "WidthRow"))]
#[non_exhaustive]
pub struct Width {
    /// Distance of the two points, mm. Walls that keep one distance are measured in their
    /// middle, and may be that much nearer elsewhere.
    pub width_mm: f64,
    /// Where it is measured on the wall of this contour, mm.
    #[serde(rename = "from_mm")]
    pub from: Point,
    /// The point opposite, mm.
    #[serde(rename = "to_mm")]
    pub to: Point,
    /// Numbers of the contours of the two walls; the first is cut.
    pub contours: (ContourId, ContourId),
    /// Curves of the two walls.
    #[serde(skip)]
    pub curves: (usize, usize),
}

impl Facts {
    /// Adds the facts of another group of curves.
    pub(super) fn append(&mut self, mut other: Self) {
        self.merged_joints += other.merged_joints;
        let merges = self.widest_merge.into_iter().chain(other.widest_merge);
        self.widest_merge = merges.max_by(|a, b| a.size_mm.total_cmp(&b.size_mm));
        self.gaps_closed.append(&mut other.gaps_closed);
        self.gaps.append(&mut other.gaps);
        self.duplicate_curves.append(&mut other.duplicate_curves);
        self.duplicate_contours.append(&mut other.duplicate_contours);
        self.overlaps.append(&mut other.overlaps);
        self.crossings.append(&mut other.crossings);
        self.edge_crossings.append(&mut other.edge_crossings);
        self.self_crossings.append(&mut other.self_crossings);
        self.touches.append(&mut other.touches);
        self.contacts.add(other.contacts);
        self.crumbs.append(&mut other.crumbs);
        self.short_segments.append(&mut other.short_segments);
        self.kinks.append(&mut other.kinks);
        self.facets.append(&mut other.facets);
        self.branches.append(&mut other.branches);
        self.styles_not_cut.append(&mut other.styles_not_cut);
        self.names_missing.append(&mut other.names_missing);
    }
}

impl Facts {
    /// Adds the facts of another group of curves that concern a curve whose contour bounds material, by `bounds`.
    pub(super) fn append_concerning(&mut self, mut other: Self, bounds: impl Fn(usize) -> bool) {
        other.retain(|curve| Some(bounds(curve)));
        // Joints are counted for the group as a whole.
        (other.merged_joints, other.widest_merge) = (0, None);
        self.append(other);
    }

    /// Keeps the facts that concern a curve that bounds material. `bounds` returns whether the contour of a curve does; `None`
    /// for curves left out, which do not decide.
    pub(super) fn retain(&mut self, bounds: impl Fn(usize) -> Option<bool>) {
        let concerns = |curves: &[usize]| {
            let mut said = curves.iter().filter_map(|&curve| bounds(curve)).peekable();
            said.peek().is_none() || said.any(|yes| yes)
        };
        self.gaps_closed
            .retain(|gap| concerns(&[gap.curves.0, gap.curves.1]));
        self.gaps.retain(|gap| concerns(&[gap.curves.0, gap.curves.1]));
        self.duplicate_curves.retain(|double| concerns(&[double.kept]));
        self.duplicate_contours.retain(|double| concerns(&[double.kept]));
        self.overlaps
            .retain(|overlap| concerns(&[overlap.curves.0, overlap.curves.1]));
        self.crumbs.retain(|crumbs| concerns(&[crumbs.curve]));
        self.facets.retain(|facets| concerns(&[facets.curve]));
        self.branches.retain(|branch| concerns(&branch.curves));
    }
}

/// Ends of curves that were brought together.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct MergedJoint {
    /// Largest distance between them, mm.
    pub size_mm: f64,
    /// One of the ends as drawn.
    pub at: Point,
    /// Its curve.
    pub curve: usize,
}

/// Two loose ends near each other.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Gap {
    /// Distance between the ends, mm.
    pub size_mm: f64,
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// Their curves.
    pub curves: (usize, usize),
}

/// A curve that repeats another one of the same purpose within the join tolerance, in either direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct DuplicateCurve {
    /// The curve left out.
    pub curve: usize,
    /// The curve kept.
    pub kept: usize,
}

/// A loop that lies on another one of the same purpose.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct DuplicateContour {
    /// First curve of the loop that stands later in the drawing.
    pub curve: usize,
    /// First curve of the earlier loop.
    pub kept: usize,
    /// Largest distance between the two, mm.
    pub distance_mm: f64,
    /// Within the join tolerance, so the later one is not cut ([`crate::job::Purpose::Ignore`]); else both are.
    pub left_out: bool,
}

/// Two curves that run along one another within the join tolerance.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Overlap {
    /// Where the common stretch begins.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
    /// Its length, mm.
    pub length_mm: f64,
    /// The two curves; twice the same one where a curve runs back along itself.
    pub curves: (usize, usize),
    /// The stretch was kept once.
    pub repaired: bool,
}

/// How many contacts of each kind are listed.
pub(super) const CONTACTS_LISTED: usize = 10_000;

/// How many contacts of a kind are counted.
pub(super) const CONTACTS_COUNTED: usize = 1_000_000;

/// How many pairs of pieces of contours meet where they are not joined.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct ContactCounts {
    /// Where they pass through one another.
    pub crossings: usize,
    /// Where they touch, some places twice.
    pub touches: usize,
    /// Where they run together.
    pub overlaps: usize,
    /// The search was cut off: there are more. Then the contours are neither nested nor measured.
    pub cut_off: bool,
}

impl ContactCounts {
    pub(super) fn add(&mut self, other: Self) {
        self.crossings += other.crossings;
        self.touches += other.touches;
        self.overlaps += other.overlaps;
        self.cut_off |= other.cut_off;
    }

    /// How many there are of the kind of which there are most.
    pub(super) fn most(self) -> usize {
        self.crossings.max(self.touches).max(self.overlaps)
    }

    /// Whether each contact is listed.
    pub fn are_listed(self) -> bool {
        !self.cut_off && self.most() <= CONTACTS_LISTED
    }

    /// Whether slots and walls have a width: not where most run along others.
    pub fn leave_widths(self) -> bool {
        !self.cut_off && self.overlaps <= CONTACTS_LISTED
    }

    /// Whether more were found than are counted: what is left is a tangle.
    pub(super) fn are_too_many(self) -> bool {
        self.most() > CONTACTS_COUNTED
    }
}

/// A place where two lines meet that are not joined there.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Contact {
    /// Where.
    pub at: Point,
    /// Numbers of the two contours; twice the same one within a contour.
    pub contours: (ContourId, ContourId),
    /// The two curves.
    pub curves: (usize, usize),
}

/// Pieces no longer than the join tolerance, taken out of a contour: their two ends became one vertex.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Crumbs {
    /// The first one's place.
    pub at: Point,
    /// How many.
    pub count: usize,
    /// Curve that the first belongs to.
    pub curve: usize,
}

/// Segments of one contour shorter than `crate::tolerance::SHORT_SEGMENT_MM`.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct ShortSegments {
    /// Number of the contour.
    pub contour: ContourId,
    /// How many.
    pub count: usize,
    /// Length of the shortest, mm.
    pub shortest_mm: f64,
    /// Where the shortest begins.
    pub at: Point,
    /// Its curve.
    pub curve: usize,
}

/// A joint that is neither smooth nor a corner.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Kink {
    /// Where.
    pub at: Point,
    /// Change of direction, radians, positive.
    pub angle_rad: f64,
    /// Number of the contour.
    pub contour: ContourId,
    /// Curve of the segment that starts there.
    pub curve: usize,
}

/// A run of chords that stands for a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Facets {
    /// The contour; `None` while contours have no numbers, and for a curve that is in none.
    pub contour: Option<ContourId>,
    /// Curve of its first chord.
    pub curve: usize,
    /// What is known of it.
    pub run: FacetedRun,
    /// Largest distance of the contour's new arcs from its chords, mm, where they were replaced.
    pub deviation_mm: Option<f64>,
}

/// A place where three or more ends meet.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Branch {
    /// Where.
    pub at: Point,
    /// How many ends meet.
    pub ends: usize,
    /// Curves that meet, the first few.
    pub curves: Vec<usize>,
}
