//! The sizes of finished contours that can be gauged: diameters, distances of opposite walls, walls between two contours, radii,
//! extents; each with what the drawing says and what the offsets aim at.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};

use super::drift_log::kind_word;
use super::wall_runs::{WallRun, wall_runs};
use crate::cancel::checkpoint;
use crate::contour::{Contour, Contours, Role, Width};
use crate::geometry::{Meeting, Point, Segment, SegmentIndex, meet};
use crate::id::ContourId;
use crate::job::{Purpose, Scope};
use crate::tolerance::{CRUMB_MM, SAME_POINT_MM, SAME_WIDTH_MM, SMOOTH_RAD};
use crate::units::{Feature, Limits};

/// Flats shorter than this are not gauged across, mm: estimate, a measuring face has to find room.
const SHORTEST_FLAT_MM: f64 = 0.5;

/// Arcs of a smaller sweep tell no radius: estimate, from 30° on a radius is fitted with some sense.
const LEAST_SWEEP_RAD: f64 = std::f64::consts::FRAC_PI_6;

/// Of sizes that are alike so many are listed.
const MOST_ALIKE: usize = 4;

/// The walls of a contour as they are planned.
pub struct FinishedWall<'a> {
    /// The contour.
    pub contour: &'a Contour,
    /// Shift of the walls into the material, mm.
    pub aim_mm: f64,
    /// Limits called for, and what they are of.
    pub limits: Option<(Limits, Scope)>,
    /// How far its sizes may be off; `None` where that is not known.
    pub uncertainty: Option<WallUncertainty>,
}

/// How far a finished wall, and a size between two of them, may be off, µm: expanded uncertainties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WallUncertainty {
    /// With the offset as modelled: of a wall, on a size.
    pub modelled_um: [f64; 2],
    /// With the offset as gauged on a test piece; `None` where it is planned as modelled.
    pub gauged_um: Option<[f64; 2]>,
}

/// What a size is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum SizeKind {
    /// The diameter of a full circle.
    Diameter,
    /// The extent along x.
    OverallX,
    /// The extent along y.
    OverallY,
    /// The distance of two parallel walls of a contour that face each other: a width across flats, a slot.
    AcrossWalls,
    /// The width of a slit that is drawn as a line.
    SlitWidth,
    /// The material between two contours where it is thinnest.
    WallBetween,
    /// The radius of an arc.
    Radius,
}

/// A size that can be gauged.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct GaugedSize {
    /// Its name: the number of the contour, what it is and, where there are several, which of them.
    pub name: String,
    /// Number of the contour.
    pub contour: ContourId,
    /// What it is of.
    pub kind: SizeKind,
    /// `part` where the material lies between its walls, `opening` where it lies outside them.
    #[serde(rename = "side", serialize_with = "as_word")]
    #[cfg_attr(test, schemars(with = "String"))]
    pub feature: Feature,
    /// How many of its walls are cut: an error of the offset counts so often on it.
    pub walls: usize,
    /// How many sizes of its contour are alike, itself included (of walls between contours: of all); at most four of them are listed.
    pub alike: usize,
    /// As drawn, mm.
    pub nominal_mm: f64,
    /// What the offsets aim at, mm: as drawn, each wall shifted by the aim.
    pub target_mm: f64,
    /// Lower and upper limit called for, mm; null where none hold for it.
    pub limits_mm: Option<[f64; 2]>,
    /// How far the size may be off the target with the offset as modelled, ± µm, k = 2; null where that is not known.
    pub modelled_um: Option<f64>,
    /// The same after gauging a test piece; null where the plan takes the offset as modelled.
    pub gauged_um: Option<f64>,
    /// Where it is measured from, mm.
    #[serde(rename = "from_mm")]
    pub from: Point,
    /// Where it is measured to, mm; of a radius the middle of the circle.
    #[serde(rename = "to_mm")]
    pub to: Point,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn as_word<S: Serializer>(feature: &Feature, serializer: S) -> Result<S::Ok, S::Error> {
    kind_word(*feature).serialize(serializer)
}

/// A size as it lies in the drawing.
#[derive(Clone, Copy)]
struct DrawnSize {
    kind: SizeKind,
    feature: Feature,
    nominal_mm: f64,
    from: Point,
    to: Point,
}

/// Lists the sizes of finished walls, which come in the order of their contours. `is_drawn` says whether a curve of the drawing is drawn of lines and arcs:
/// the radii of arcs that stand for other curves are nobody's size.
pub fn gauged_sizes(
    walls: &[FinishedWall<'_>],
    contours: &Contours,
    is_drawn: impl Fn(usize) -> bool,
) -> Vec<GaugedSize> {
    let edges = Edges::of(contours);
    let mut seen = BTreeSet::new();
    let (mut sizes, mut between) = (Vec::new(), Vec::new());
    for wall in walls {
        checkpoint();
        let drawn = drawn_sizes(wall.contour, &edges, &is_drawn);
        sizes.extend(few_alike(
            drawn.into_iter().map(|size| wall.gauged(size)).collect(),
        ));
        between.extend(wall_between(wall, walls, &mut seen));
    }
    sizes.extend(few_alike(between));
    sizes.sort_by_key(|size| size.contour);
    for of_contour in sizes.chunk_by_mut(|a, b| a.contour == b.contour) {
        name_sizes(of_contour);
    }
    sizes
}

impl FinishedWall<'_> {
    /// The side on which its material lies as a whole.
    fn own_feature(&self) -> Feature {
        match self.contour.role {
            Role::Outside => Feature::Shaft,
            Role::Opening | Role::Open => Feature::Hole,
        }
    }

    fn gauged(&self, size: DrawnSize) -> GaugedSize {
        let walls = if size.kind == SizeKind::Radius { 1 } else { 2 };
        GaugedSize {
            name: String::new(),
            contour: self.contour.id,
            kind: size.kind,
            feature: size.feature,
            walls,
            alike: 1,
            nominal_mm: size.nominal_mm,
            target_mm: target_mm(size.feature, size.nominal_mm, walls as f64 * self.aim_mm),
            limits_mm: self.limits_mm(size, walls),
            modelled_um: self.uncertainty.map(|of| expanded_um(of.modelled_um, walls)),
            gauged_um: self
                .uncertainty
                .and_then(|of| of.gauged_um)
                .map(|of| expanded_um(of, walls)),
            from: size.from,
            to: size.to,
        }
    }

    /// The limits of a size. Those to one side are for the sizes of one side of the walls: what becomes of the others is told by the check
    /// `one-sided-limits`.
    fn limits_mm(&self, size: DrawnSize, walls: usize) -> Option<[f64; 2]> {
        let (limits, scope) = self.limits?;
        let reach_mm = |scale: f64| [limits.lower_mm, limits.upper_mm].map(|mm| size.nominal_mm + scale * mm);
        let is_even = limits.middle_mm().abs() < SAME_POINT_MM;
        match scope {
            Scope::PerSide => Some(reach_mm(walls as f64)),
            Scope::OnSize if walls > 1 && (is_even || size.feature == self.own_feature()) => {
                Some(reach_mm(1.0))
            }
            Scope::OnSize => None,
        }
    }
}

/// Returns the uncertainty of a wall, or of a size between two.
fn expanded_um([of_wall, of_size]: [f64; 2], walls: usize) -> f64 {
    if walls == 1 { of_wall } else { of_size }
}

/// Returns a size whose walls are shifted into the material by so much in all, mm.
fn target_mm(feature: Feature, nominal_mm: f64, shift_mm: f64) -> f64 {
    match feature {
        Feature::Shaft => nominal_mm - shift_mm,
        Feature::Hole => nominal_mm + shift_mm,
    }
}

/// Keeps the first few of sizes that are alike, each with how many there are.
fn few_alike(sizes: Vec<GaugedSize>) -> Vec<GaugedSize> {
    let is_alike = |a: &GaugedSize, b: &GaugedSize| {
        (a.kind, a.feature, a.walls) == (b.kind, b.feature, b.walls)
            && (a.nominal_mm - b.nominal_mm).abs() < SAME_WIDTH_MM
    };
    let mut kept: Vec<GaugedSize> = Vec::new();
    for size in sizes {
        checkpoint();
        let mut alike = kept.iter().filter(|other| is_alike(&size, other));
        match alike.next().map(|first| first.alike + 1) {
            Some(count) => {
                let is_one_more = alike.count() + 1 < MOST_ALIKE;
                kept.extend(is_one_more.then(|| size.clone()));
                let alike = kept.iter_mut().filter(|other| is_alike(&size, other));
                alike.for_each(|other| other.alike = count);
            }
            None => kept.push(size),
        }
    }
    kept
}

/// Gives the sizes of one contour their names; where there is one of a kind it has no number.
fn name_sizes(sizes: &mut [GaugedSize]) {
    let words: Vec<&str> = sizes
        .iter()
        .map(|size| kind_in_words(size.kind, size.feature))
        .collect();
    for (i, size) in sizes.iter_mut().enumerate() {
        let of_kind = |upto: usize| words[..upto].iter().filter(|other| **other == words[i]).count();
        let of_several = (of_kind(words.len()) > 1).then(|| format!(" {}", of_kind(i) + 1));
        size.name = format!("{} {}{}", size.contour, words[i], of_several.unwrap_or_default());
    }
}

/// Returns what a size is, as it stands in its name.
fn kind_in_words(kind: SizeKind, feature: Feature) -> &'static str {
    match (kind, feature) {
        (SizeKind::Diameter, _) => "diameter",
        (SizeKind::OverallX, _) => "overall-x",
        (SizeKind::OverallY, _) => "overall-y",
        (SizeKind::AcrossWalls, Feature::Shaft) => "width",
        (SizeKind::AcrossWalls, Feature::Hole) => "slot",
        (SizeKind::SlitWidth, _) => "slit",
        (SizeKind::WallBetween, _) => "wall",
        (SizeKind::Radius, _) => "radius",
    }
}

/// All edges of the drawing, cut or not, with the contour and the place in it of each of their segments.
struct Edges {
    index: SegmentIndex,
    owners: Vec<(ContourId, usize)>,
}

impl Edges {
    fn of(contours: &Contours) -> Self {
        let edges = || contours.list.iter().filter(|contour| contour.bounds_material());
        let owners = edges().flat_map(|edge| (0..edge.polyline.segment_count()).map(|i| (edge.id, i)));
        Self {
            owners: owners.collect(),
            index: SegmentIndex::of(edges().map(|edge| &edge.polyline)),
        }
    }

    /// Returns the first of these edges that a ray meets beyond its beginning: its contour, its segment and where.
    fn first_on(
        &self,
        ray: Segment,
        is_one: impl Fn(ContourId) -> bool,
    ) -> Option<(ContourId, usize, Point)> {
        let near = self
            .index
            .near(ray.bounds())
            .filter(|&i| is_one(self.owners[i].0));
        let met = near.flat_map(|i| {
            let points = match meet(ray, self.index.segments()[i], SAME_POINT_MM) {
                Meeting::Points(points) => points,
                Meeting::Along(from, _) => vec![from],
            };
            points.into_iter().map(move |at| (i, at))
        });
        let beyond = met.filter(|(_, at)| ray.from.distance(*at) > CRUMB_MM);
        let first = beyond.min_by(|a, b| {
            let [a, b] = [a.1, b.1].map(|at| ray.from.distance(at));
            a.total_cmp(&b)
        });
        first.map(|(i, at)| (self.owners[i].0, self.owners[i].1, at))
    }
}

fn drawn_sizes(contour: &Contour, edges: &Edges, is_drawn: &impl Fn(usize) -> bool) -> Vec<DrawnSize> {
    if let (Purpose::Slit, Some(width_mm)) = (contour.purpose, contour.width_mm) {
        return vec![slit_width(contour, width_mm)];
    }
    if !contour.keeps_known_side() {
        return Vec::new();
    }
    let runs = wall_runs(&contour.polyline);
    if let [WallRun { segment, .. }] = &runs[..]
        && let Some(center) = segment.center()
    {
        return vec![DrawnSize {
            kind: SizeKind::Diameter,
            feature: side_of(contour, true),
            nominal_mm: 2.0 * segment.radius(),
            from: segment.from,
            to: center + (center - segment.from),
        }];
    }
    let across = across_walls(contour, &runs, edges);
    let mut sizes = overall(contour, &across);
    sizes.extend(across);
    sizes.extend(radii(contour, &runs, is_drawn));
    sizes
}

/// The side on which the material of a size lies that is measured across what lies inside the loop, or outside.
fn side_of(contour: &Contour, across_inside: bool) -> Feature {
    if (contour.role == Role::Outside) == across_inside {
        Feature::Shaft
    } else {
        Feature::Hole
    }
}

fn slit_width(contour: &Contour, width_mm: f64) -> DrawnSize {
    let middle = contour.polyline.segment(contour.polyline.segment_count() / 2);
    let half = middle.direction(0.5).left() * (0.5 * width_mm);
    DrawnSize {
        kind: SizeKind::SlitWidth,
        feature: Feature::Hole,
        nominal_mm: width_mm,
        from: middle.middle() - half,
        to: middle.middle() + half,
    }
}

/// The extents, where no distance of two walls is the same.
fn overall(contour: &Contour, across: &[DrawnSize]) -> Vec<DrawnSize> {
    let bounds = contour.bounds;
    let center = bounds.center();
    let feature = side_of(contour, true);
    let [low, high] = [bounds.min, bounds.max];
    let ends = [
        (
            SizeKind::OverallX,
            Point::new(low.x, center.y),
            Point::new(high.x, center.y),
        ),
        (
            SizeKind::OverallY,
            Point::new(center.x, low.y),
            Point::new(center.x, high.y),
        ),
    ];
    let size = |(kind, from, to): (SizeKind, Point, Point)| DrawnSize {
        kind,
        feature,
        nominal_mm: from.distance(to),
        from,
        to,
    };
    let is_told = |size: &DrawnSize| {
        let is_along = |other: &DrawnSize| {
            let along = (size.to - size.from).cross(other.to - other.from);
            along.abs() <= SMOOTH_RAD * size.nominal_mm * other.nominal_mm
        };
        across.iter().any(|other| {
            other.feature == size.feature
                && (other.nominal_mm - size.nominal_mm).abs() < SAME_WIDTH_MM
                && is_along(other)
        })
    };
    ends.map(size).into_iter().filter(|size| !is_told(size)).collect()
}

/// The distances of parallel walls that face each other with nothing in a gauge's way, seen from the middle of each.
fn across_walls(contour: &Contour, runs: &[WallRun], edges: &Edges) -> Vec<DrawnSize> {
    let flats: Vec<&WallRun> = (runs.iter())
        .filter(|run| !run.segment.is_arc() && run.segment.chord() >= SHORTEST_FLAT_MM)
        .collect();
    let reach_mm = contour.bounds.diagonal();
    let mut seen = BTreeSet::new();
    let mut sizes = Vec::new();
    for (i, flat) in flats.iter().enumerate() {
        let (from, along) = (flat.segment.middle(), flat.segment.direction(0.5));
        for across_inside in [true, false] {
            checkpoint();
            let away = if across_inside {
                along.left()
            } else {
                -along.left()
            };
            let feature = side_of(contour, across_inside);
            // Over material a gauge reaches from outside: what is cut out of it does not matter.
            let is_met = |id: ContourId| feature == Feature::Hole || id == contour.id;
            let ray = Segment::line(from, from + away * reach_mm);
            let Some((id, segment, to)) = edges.first_on(ray, is_met) else {
                continue;
            };
            let opposite = flats.iter().position(|flat| flat.holds(segment));
            let Some(j) = opposite.filter(|&j| id == contour.id && j != i) else {
                continue;
            };
            let other = flats[j].segment.direction(0.5);
            let faces = along.dot(other) < 0.0 && along.cross(other).abs() < SMOOTH_RAD;
            if faces && seen.insert((i.min(j), i.max(j), across_inside)) {
                sizes.push(DrawnSize {
                    kind: SizeKind::AcrossWalls,
                    feature,
                    nominal_mm: from.distance(to),
                    from,
                    to,
                });
            }
        }
    }
    sizes.sort_by(|a, b| b.nominal_mm.total_cmp(&a.nominal_mm));
    sizes
}

/// The radii of arcs that are drawn as such.
fn radii(contour: &Contour, runs: &[WallRun], is_drawn: &impl Fn(usize) -> bool) -> Vec<DrawnSize> {
    let arcs = runs.iter().filter(|run| {
        run.segment.is_arc()
            && run.sweep_rad.abs() >= LEAST_SWEEP_RAD
            && is_drawn(contour.curve_of(run.first))
    });
    let size = |run: &WallRun| {
        let center = run.segment.center()?;
        // A loop runs counter-clockwise: a left turn has the inside within the arc.
        let feature = side_of(contour, run.segment.bulge > 0.0);
        Some(DrawnSize {
            kind: SizeKind::Radius,
            feature,
            nominal_mm: run.segment.radius(),
            from: run.segment.middle(),
            to: center,
        })
    };
    arcs.filter_map(size).collect()
}

/// The thinnest material between a contour and another one, once for each two of them.
fn wall_between(
    wall: &FinishedWall<'_>,
    walls: &[FinishedWall<'_>],
    seen: &mut BTreeSet<(ContourId, ContourId)>,
) -> Option<GaugedSize> {
    let Width {
        width_mm,
        from,
        to,
        contours: (one, other),
        ..
    } = **wall.contour.thinnest_wall.as_ref()?;
    if one == other || !seen.insert((one.min(other), one.max(other))) {
        return None;
    }
    let opposite = if one == wall.contour.id { other } else { one };
    let opposite = walls.binary_search_by_key(&opposite, |wall| wall.contour.id);
    let opposite = opposite.ok().map(|i| &walls[i]);
    let size = DrawnSize {
        kind: SizeKind::WallBetween,
        feature: Feature::Shaft,
        nominal_mm: width_mm,
        from,
        to,
    };
    let walls = if opposite.is_some() { 2 } else { 1 };
    let shift_mm = wall.aim_mm + opposite.map_or(0.0, |opposite| opposite.aim_mm);
    Some(GaugedSize {
        walls,
        target_mm: target_mm(Feature::Shaft, width_mm, shift_mm),
        limits_mm: None,
        modelled_um: wall.uncertainty.map(|of| expanded_um(of.modelled_um, walls)),
        gauged_um: wall
            .uncertainty
            .and_then(|of| of.gauged_um)
            .map(|of| expanded_um(of, walls)),
        ..wall.gauged(size)
    })
}
