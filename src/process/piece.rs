//! What drops when the rough pass closes: out of an outside contour the part, out of an opening the slug. Its
//! outline is the inner edge of the kerf, exact to the accuracy of the paths; what was cut from it before is taken off.

use std::collections::BTreeMap;

use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Bounds, Point, Polyline, Segment, SegmentIndex};
use crate::id::{ContourId, GroupId, LoopId};
use crate::job::Purpose;
use crate::pass::Group;
use crate::shop::Material;
use crate::toolpath::{OpenCut, WireLoop, offset};

/// The part, or what is thrown away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PieceKind {
    /// What an outside contour keeps.
    Part,
    /// What an opening leaves.
    Slug,
    /// What a trim cuts off.
    Offcut,
}

/// A piece that drops at the end of one loop of the first pass.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Piece {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number of the loop in [`Toolpaths::loops`](crate::toolpath::Toolpaths::loops).
    pub wire_loop: LoopId,
    /// Part or slug.
    pub kind: PieceKind,
    /// Its outlines; more than one where it falls apart.
    pub outlines: Vec<Polyline>,
    /// Its area seen from above, less what was cut from it before, mm².
    pub area_mm2: f64,
    /// Area × thickness × density, kg.
    pub mass_kg: f64,
    /// Whether area and mass are exact; else they are upper bounds, since an edge could not be verified.
    pub exact: bool,
    /// The larger side of its bounds, of the largest outline, mm.
    pub across_mm: f64,
    /// Its centre of area; holes in it are left aside.
    pub centroid: Point,
    /// The middle of a drawn start hole that lies in it.
    pub hole: Option<Point>,
}

/// The plate that is cut.
#[derive(Clone, Copy, Debug)]
pub struct Plate<'a> {
    /// Its material.
    pub material: &'a Material,
    /// Its thickness, mm.
    pub thickness_mm: f64,
}

/// The pieces of all loops of the first passes, in the order of the loops. A loop whose kerf meets itself, so that
/// nothing is left within, has none.
pub fn pieces(contours: &Contours, loops: &[WireLoop], groups: &[Group], plate: Plate<'_>) -> Vec<Piece> {
    let cutter = Cutter::new(contours, loops, groups);
    let rough = LoopId::numbered(loops).filter(|(_, wire)| wire.pass.is_rough());
    rough
        .filter_map(|(id, wire)| match &wire.open {
            Some(cut) => cut_off(id, wire, cut, plate),
            None => cutter.piece(id, wire, plate),
        })
        .collect()
}

/// What an open cut cuts off.
fn cut_off(id: LoopId, wire: &WireLoop, cut: &OpenCut, plate: Plate<'_>) -> Option<Piece> {
    let shape = cut.offcut.as_ref()?;
    let bounds = shape.outline.bounds();
    Some(Piece {
        contour: wire.contour,
        wire_loop: id,
        kind: if cut.kept_drops {
            PieceKind::Part
        } else {
            PieceKind::Offcut
        },
        across_mm: bounds.width().max(bounds.height()),
        centroid: shape.outline.centroid(),
        mass_kg: plate.material.mass_kg(shape.area_mm2 * plate.thickness_mm),
        area_mm2: shape.area_mm2,
        exact: shape.exact,
        outlines: vec![shape.outline.clone()],
        hole: None,
    })
}

/// What is left to drop.
struct RemainingPiece {
    outlines: Vec<Polyline>,
    area_mm2: f64,
    exact: bool,
    hole: Option<Point>,
}

struct Cutter<'a> {
    contours: &'a Contours,
    children: BTreeMap<ContourId, Vec<&'a Contour>>,
    /// Rough loops of each contour.
    rough: BTreeMap<ContourId, Vec<&'a WireLoop>>,
    /// What trims take off each part, as drawn, mm².
    trimmed_mm2: BTreeMap<ContourId, f64>,
    /// Wire centre to the edge of its kerf in the rough pass, by group.
    half_kerf_mm: BTreeMap<GroupId, f64>,
    /// Middles of the drawn start holes, as lines of no length, and the holes.
    holes: SegmentIndex,
    hole_of: Vec<&'a Contour>,
}

impl<'a> Cutter<'a> {
    fn new(contours: &'a Contours, loops: &'a [WireLoop], groups: &[Group]) -> Self {
        let mut children: BTreeMap<ContourId, Vec<&Contour>> = BTreeMap::new();
        let bounding = contours.list.iter().filter(|c| c.bounds_material());
        for (parent, contour) in bounding.filter_map(|c| Some((c.parent?, c))) {
            children.entry(parent).or_default().push(contour);
        }
        let mut rough: BTreeMap<ContourId, Vec<&WireLoop>> = BTreeMap::new();
        let mut trimmed_mm2: BTreeMap<ContourId, f64> = BTreeMap::new();
        for wire in loops.iter().filter(|wire| wire.pass.is_rough()) {
            rough.entry(wire.contour).or_default().push(wire);
            let trim = wire.open.as_ref().and_then(|cut| cut.part.zip(cut.exact_waste()));
            if let Some((part, waste)) = trim {
                *trimmed_mm2.entry(part).or_default() += waste.area().abs();
            }
        }
        let first = |group: &Group| Some((group.group, group.passes.first()?.half_kerf_mm));
        let drawn = contours.list.iter();
        let hole_of: Vec<&Contour> = drawn
            .filter(|c| matches!(c.purpose, Purpose::StartHole | Purpose::ReadyHole) && c.role != Role::Open)
            .collect();
        let middles = hole_of.iter().map(|hole| hole.bounds.center());
        Self {
            contours,
            children,
            rough,
            trimmed_mm2,
            half_kerf_mm: groups.iter().filter_map(first).collect(),
            holes: SegmentIndex::new(middles.map(|p| Segment::line(p, p)).collect()),
            hole_of,
        }
    }

    fn piece(&self, wire_loop: LoopId, wire: &WireLoop, plate: Plate<'_>) -> Option<Piece> {
        let contour = self.contours.get(wire.contour)?;
        // A loop round the part runs counter-clockwise; one in an opening, or in a closed-off bay, clockwise.
        let kind = if wire.polyline.area() > 0.0 {
            PieceKind::Part
        } else {
            PieceKind::Slug
        };
        let RemainingPiece {
            outlines,
            area_mm2,
            exact,
            hole,
        } = match kind {
            PieceKind::Part => self.part(contour),
            PieceKind::Slug | PieceKind::Offcut => self.slug(contour, wire)?,
        };
        let side = |outline: &&Polyline| {
            let bounds = outline.bounds();
            bounds.width().max(bounds.height())
        };
        let largest = outlines.iter().max_by(|a, b| side(a).total_cmp(&side(b)))?;
        Some(Piece {
            contour: contour.id,
            wire_loop,
            kind,
            across_mm: side(&largest),
            centroid: largest.centroid(),
            mass_kg: plate.material.mass_kg(area_mm2 * plate.thickness_mm),
            area_mm2,
            exact,
            outlines,
            hole,
        })
    }

    fn children(&self, contour: &Contour) -> impl Iterator<Item = &'a Contour> {
        self.children.get(&contour.id).into_iter().flatten().copied()
    }

    /// The part as drawn, less its openings and what is trimmed off it: that is cut, or was there, before it drops. Slits weigh nothing.
    fn part(&self, contour: &Contour) -> RemainingPiece {
        let openings: f64 = self.children(contour).map(|c| c.area_mm2).sum();
        let trimmed: f64 = self.trimmed_mm2.get(&contour.id).copied().unwrap_or_default();
        let (area_mm2, exact) = less(contour.area_mm2, openings + trimmed, true);
        RemainingPiece {
            outlines: vec![contour.polyline.clone()],
            area_mm2,
            exact,
            hole: None,
        }
    }

    /// What the rough kerf leaves within, less the parts cut out of it, with their kerf, and less start holes; `None`
    /// when the kerf leaves nothing.
    fn slug(&self, contour: &Contour, wire: &WireLoop) -> Option<RemainingPiece> {
        let half_kerf_mm = *self.half_kerf_mm.get(&wire.group)?;
        let (outlines, mut exact) = match offset(&wire.polyline, -half_kerf_mm) {
            Ok(edge) => (edge.loops, true),
            // The path itself is farther out than the edge of its kerf.
            Err(_) => (vec![wire.polyline.clone()], false),
        };
        let whole: f64 = outlines.iter().map(|edge| edge.area().abs()).sum();
        if outlines.is_empty() {
            return None;
        }
        let edges = SegmentIndex::of(&outlines);
        let bounds = outlines
            .iter()
            .map(Polyline::bounds)
            .fold(Bounds::EMPTY, Bounds::union);
        let mut gone = 0.0;
        for child in self.children(contour) {
            let first = child.polyline.vertices.first().map(|v| v.at);
            let mut witnesses = first.into_iter().chain([child.bounds.center()]);
            if !witnesses.any(|p| edges.winding(p) != 0) {
                continue;
            }
            let (area_mm2, verified) = self.cut_out(child);
            gone += area_mm2;
            exact &= verified;
        }
        let mut held: Option<Point> = None;
        for i in self.holes.near(bounds) {
            let hole = self.hole_of[i];
            let middle = hole.bounds.center();
            let radius = 0.5 * hole.bounds.width().max(hole.bounds.height());
            let clear = edges
                .nearest(middle, radius)
                .is_some_and(|(_, _, room)| room >= radius);
            if edges.winding(middle) == 0 {
                continue;
            }
            held = held.or(Some(middle));
            if clear {
                gone += hole.area_mm2;
            }
        }
        let (area_mm2, exact) = less(whole, gone, exact);
        Some(RemainingPiece {
            area_mm2,
            outlines,
            exact,
            hole: held,
        })
    }

    /// The hole that cutting out a part within a slug leaves: to the outer edge of its rough kerf.
    fn cut_out(&self, part: &Contour) -> (f64, bool) {
        let loops = self.rough.get(&part.id).into_iter().flatten();
        let around = loops.filter(|wire| wire.polyline.area() > 0.0);
        let edge = |wire: &&'a WireLoop| {
            let half_kerf_mm = *self.half_kerf_mm.get(&wire.group)?;
            let edge = offset(&wire.polyline, half_kerf_mm).ok()?;
            edge.loops.iter().map(|l| l.area().abs()).max_by(f64::total_cmp)
        };
        match around.map(edge).collect::<Option<Vec<f64>>>() {
            Some(areas) if !areas.is_empty() => (areas.iter().sum(), true),
            // What exists already has no kerf; what could not be verified leaves at least its own area.
            _ => (part.area_mm2, part.purpose != Purpose::Cut),
        }
    }
}

/// The area without what is gone from it, and whether it is exact. Where contours cross, more can be gone than there was: then
/// the whole is an upper bound.
fn less(whole_mm2: f64, gone_mm2: f64, exact: bool) -> (f64, bool) {
    if gone_mm2 < whole_mm2 {
        (whole_mm2 - gone_mm2, exact)
    } else {
        (whole_mm2, false)
    }
}
