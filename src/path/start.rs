//! Where the wire is threaded.
//!
//! Each loop of the first pass needs a start of its own, and so does a later loop in a region that no earlier one reaches.
//! A start that is given, or a start hole that is drawn in its region, is taken. Else a place is proposed: square to the
//! middle of the longest straight of the path that has room for the hole, so that the lead-in is short and its witness lies
//! on a straight; without such a straight beside the longest arc; in a small opening, or where no wall has room beside
//! it, at the roomiest place of the region.

use std::collections::{BTreeMap, BTreeSet};

use super::lead::{EntryPoint, Leads, runs};
use super::surroundings::Surroundings;
use super::{Paths, RawBlank, WireLoop};
use crate::contour::{Contour, Contours};
use crate::geometry::{Point, SegmentIndex, Vector};
use crate::job::{Side, StartOptions};
use crate::pass::Group;
use crate::shop::StartHoleRule;
use crate::tolerance::PATH_MM;

/// What start holes go by.
#[derive(Clone, Copy)]
pub struct Starting<'a> {
    /// The rule of the book.
    pub rule: &'a StartHoleRule,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// The clamped side.
    pub clamp: Option<Side>,
    /// The blank, where it is known.
    pub blank: Option<&'a RawBlank>,
    /// Middles of start holes beside the circles of the drawing.
    pub holes: &'a [Point],
}

/// Where the wire is threaded for one loop of the first pass, and for the later ones of its region.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Number of the contour.
    pub contour: usize,
    /// Index in [`Paths::loops`] of the first loop that starts here.
    pub wire_loop: usize,
    /// Where: the middle of the start hole.
    pub at: Point,
    /// Who says so.
    pub origin: StartOrigin,
    /// Diameter of the hole, mm; `None` where the wire comes in from the edge of the blank.
    pub hole_mm: Option<f64>,
    /// How far the drill may wander over the thickness, mm.
    pub drift_mm: f64,
    /// Distance from the middle of the hole to the nearest wall, mm; no more than `required_clearance_mm` is looked for.
    pub clearance_mm: f64,
    /// Distance that the hole needs, with the drift of its drill and the clearance of the book, mm.
    pub required_clearance_mm: f64,
    /// Diameter of a hole that the wire threads through, mm.
    pub threads_from_mm: f64,
    /// It lies in material that is kept, or in another region than the path.
    pub misplaced: bool,
    /// Where the first path is entered; [`super::Leads`] holds the rest.
    pub(super) landing: EntryPoint,
}

impl Start {
    /// Where its first path is entered, and the unit direction in which the wire runs on there.
    pub fn entry(&self) -> (Point, Vector) {
        (self.landing.entry, self.landing.along)
    }

    /// Whether its hole, or the drift of its drill, reaches a wall.
    pub fn lacks_room(&self) -> bool {
        self.clearance_mm < self.required_clearance_mm - PATH_MM
    }
}

/// Who says where a start is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartOrigin {
    /// A start hole of the drawing.
    Drawn,
    /// Given with the job.
    Given,
    /// Proposed, beside the wall where the path is entered.
    BesideWall,
    /// Proposed, at the roomiest place.
    Roomiest,
    /// Proposed: from the edge of the blank, where that is too near for a hole.
    BlankEdge,
}

/// All starts.
#[derive(Clone, Debug, Default)]
pub struct Starts {
    /// In the order of the loops.
    pub list: Vec<Start>,
    /// By loop: index in `list` of the start that it is entered from.
    pub of_loop: Vec<usize>,
    /// Drawn or given holes from which no path starts.
    pub unused: Vec<UnusedHole>,
}

/// A start hole from which no path starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnusedHole {
    /// Its middle.
    pub at: Point,
    /// Number of the contour where it is drawn; `None` of a point.
    pub contour: Option<usize>,
    /// Number of the outside contour in whose material it lies.
    pub kept_by: Option<usize>,
}

impl Starts {
    /// The middle of the start hole of a loop, and where its first path is entered.
    pub fn place_of(&self, wire_loop: usize) -> Option<(Point, Point)> {
        let start = self.list.get(*self.of_loop.get(wire_loop)?)?;
        Some((start.at, start.landing.entry))
    }
}

/// Finds starts and leads.
pub struct StartFinder<'a>(Surroundings<'a>);

impl<'a> StartFinder<'a> {
    /// All that stands on the drawing, ready to be searched.
    pub fn new(contours: &'a Contours, starting: &Starting<'a>) -> Self {
        Self(Surroundings::new(contours, starting))
    }

    /// The starts of all loops. Every region that is cut gets one; whether its hole has room is said by
    /// [`Start::clearance_mm`]. `piece_options_of` says what is asked of the start of a contour. Near-linear in segments and holes.
    pub fn starts(&self, paths: &Paths, piece_options_of: impl Fn(&Contour) -> StartOptions) -> Starts {
        let Self(site) = self;
        let mut starts = Starts::default();
        let mut used: BTreeSet<usize> = BTreeSet::new();
        // Starts of each contour so far.
        let mut of_contour: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (wire_loop, wire) in paths.loops.iter().enumerate() {
            let path = Path {
                wire,
                index: SegmentIndex::of([&wire.polyline]),
                around: wire.polyline.area() > 0.0,
            };
            let known = of_contour.entry(wire.contour).or_default();
            let reaches = |&&i: &&usize| path.is_reached_from(&starts.list[i], paths);
            if let Some(&start) = known.iter().find(reaches).filter(|_| wire.pass > 1) {
                starts.of_loop.push(start);
                continue;
            }
            let contour = &site.contours.list[wire.contour - 1];
            let (start, hole) = site.start(wire_loop, &path, contour, piece_options_of(contour));
            used.extend(hole);
            known.push(starts.list.len());
            starts.of_loop.push(starts.list.len());
            starts.list.push(start);
        }
        let unused = (0..site.holes.len()).filter(|hole| !used.contains(hole));
        starts.unused = unused.map(|i| site.unused(&site.holes[i])).collect();
        starts
    }

    /// The way of the wire on and off each loop, in the order of the loops, when their starts and what comes free are
    /// known.
    pub fn runs(
        &self,
        paths: &Paths,
        starts: &Starts,
        groups: &[Group],
        piece_options_of: impl Fn(&Contour) -> StartOptions,
    ) -> Vec<Leads> {
        let Self(site) = self;
        let usual_mm = site.starting.rule.overlap_mm.value();
        let overlap_mm = |contour: usize| {
            let asked = piece_options_of(&site.contours.list[contour - 1]).overlap_mm;
            asked.unwrap_or(usual_mm)
        };
        let offset_mm = |i: usize| {
            let wire = &paths.loops[i];
            let group = groups.iter().find(|group| group.group == wire.group);
            let pass = group.and_then(|group| group.passes.get(wire.pass - 1));
            pass.map_or(0.0, |pass| pass.offset_mm)
        };
        runs(site, paths, starts, overlap_mm, offset_mm)
    }
}

/// A loop that is to be entered.
pub(super) struct Path<'a> {
    pub wire: &'a WireLoop,
    pub index: SegmentIndex,
    pub around: bool,
}

impl Path<'_> {
    /// A later loop is entered from the start of an earlier one: round the part from that of the loop round it, within
    /// an opening from one whose path lies in this loop.
    fn is_reached_from(&self, start: &Start, paths: &Paths) -> bool {
        if self.around {
            paths.loops[start.wire_loop].polyline.area() > 0.0
        } else {
            self.index.winding(start.landing.entry) != 0
        }
    }
}
