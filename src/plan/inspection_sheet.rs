//! What of a finished part can be measured: its sizes for gauges, points of its walls for a measuring machine.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::comparison::setup_of;
use super::{GroupPlan, Plan};
use crate::contour::Contour;
use crate::estimate::Accuracy;
use crate::gauge::{
    DriftRecipe, FinishedWall, GaugedSize, PathTrace, PointsLeftOut, ProbeOptions, ProbePoint, WallTraces,
    WallUncertainty, gauged_sizes, probe_points,
};
use crate::geometry::Segment;
use crate::id::{ContourId, LoopId, PassNo};
use crate::job::{OffsetBasis, TabFace};
use crate::process::{PathLine, PieceKind, Separation};
use crate::toolpath::WireLoop;

/// What of a finished part can be measured.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct InspectionSheet {
    /// What it is cut with, but for the passes.
    recipe: DriftRecipe,
    /// The contours that are cut, in their order.
    pub cut: Vec<CutContour>,
    /// The sizes, contour by contour.
    pub sizes: Vec<GaugedSize>,
    /// Contours that are cut and of which no size is told: open cuts, and those whose side is not known.
    pub without_sizes: Vec<ContourId>,
    /// How the points are laid.
    pub probe: ProbeOptions,
    /// The points, contour by contour.
    pub points: Vec<ProbePoint>,
    /// The points that are left out.
    pub left_out: Vec<PointsLeftOut>,
}

/// What the walls of a contour are cut with at last.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct CutContour {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number of passes: a part that is not skimmed has one.
    pub passes: usize,
    /// Offset of the last of them, mm.
    pub offset_mm: f64,
}

impl InspectionSheet {
    /// Returns what the part is cut with; the passes stand with each contour.
    pub const fn recipe(&self) -> &DriftRecipe {
        &self.recipe
    }

    /// Returns what a contour is cut with, as it stands in a log of readings, and the offset of its last pass, mm.
    pub fn cut_with(&self, contour: ContourId) -> (DriftRecipe, Option<f64>) {
        let found = self.cut.binary_search_by_key(&contour, |cut| cut.contour);
        let found = found.ok().map(|i| self.cut[i]);
        let recipe = DriftRecipe {
            passes: found.map(|cut| cut.passes),
            ..self.recipe.clone()
        };
        (recipe, found.map(|cut| cut.offset_mm))
    }
}

impl Plan {
    /// Lists what of the finished part can be measured. `probe` says how points are laid along its walls.
    pub fn inspection_sheet(&self, probe: ProbeOptions) -> InspectionSheet {
        let contours = &self.inspection.contours;
        let mut dropping: BTreeMap<ContourId, Vec<&Separation>> = BTreeMap::new();
        for separation in &self.process.separations {
            let of_contour = dropping.entry(separation.piece.contour).or_default();
            of_contour.push(separation);
        }
        let mut cut: Vec<(&GroupPlan, &Contour)> = Vec::new();
        for group in &self.groups {
            let of_group = group.contours.iter().filter_map(|id| contours.get(*id));
            cut.extend(of_group.map(|contour| (group, contour)));
        }
        cut.sort_by_key(|(_, contour)| contour.id);
        let walls: Vec<FinishedWall<'_>> = (cut.iter())
            .map(|(group, contour)| finished_wall(group, contour))
            .collect();
        let traces = cut.iter().map(|(group, contour)| {
            let drops = dropping.get(&contour.id).map_or(&[][..], Vec::as_slice);
            self.wall_traces(group, contour, drops)
        });
        let traces: Vec<WallTraces<'_>> = traces.collect();
        let curves = &self.inspection.drawing.curves;
        let is_drawn = |curve: usize| {
            curves
                .get(curve)
                .is_some_and(|curve| curve.fit_deviation_mm == 0.0)
        };
        let sizes = gauged_sizes(&walls, contours, is_drawn);
        let (points, left_out) = probe_points(&traces, contours, probe);
        let with_size: BTreeSet<ContourId> = sizes.iter().map(|size| size.contour).collect();
        let without_sizes = walls.iter().map(|wall| wall.contour.id);
        InspectionSheet {
            recipe: self.recipe(),
            cut: (cut.iter())
                .map(|(group, contour)| self.cut_contour(group, contour.id))
                .collect(),
            without_sizes: without_sizes.filter(|id| !with_size.contains(id)).collect(),
            sizes,
            probe,
            points,
            left_out,
        }
    }

    fn recipe(&self) -> DriftRecipe {
        let setup = setup_of(self);
        DriftRecipe {
            material: Some(self.setup.material.clone()),
            thickness_mm: Some(self.setup.thickness_mm),
            wire_mm: Some(setup.wire_mm),
            wire_kind: Some(setup.wire_kind),
            machine: Some(setup.machine),
            passes: None,
        }
    }

    fn cut_contour(&self, group: &GroupPlan, contour: ContourId) -> CutContour {
        let last = self.last_pass(group, contour);
        CutContour {
            contour,
            passes: last.number(),
            offset_mm: offset_mm(group, last),
        }
    }

    /// Returns the last pass of a contour.
    fn last_pass(&self, group: &GroupPlan, contour: ContourId) -> PassNo {
        let made = self.loops_of(contour).map(|(_, wire)| wire.pass).max();
        made.unwrap_or_else(|| PassNo::from_index(group.passes().len().saturating_sub(1)))
    }

    /// Returns the loops of a contour; all loops are ordered by contour.
    fn loops_of(&self, contour: ContourId) -> impl Iterator<Item = (LoopId, &WireLoop)> {
        let loops = &self.toolpaths.loops;
        let first = loops.partition_point(|wire| wire.contour < contour);
        let of_contour = loops[first..]
            .iter()
            .take_while(move |wire| wire.contour == contour);
        let numbered = (first..).zip(of_contour);
        numbered.map(|(index, wire)| (LoopId::from_index(index), wire))
    }

    /// Returns what the cut leaves of a contour beside its wall. `dropping` are the pieces that drop at its rough cut.
    fn wall_traces<'a>(
        &'a self,
        group: &'a GroupPlan,
        contour: &'a Contour,
        dropping: &[&'a Separation],
    ) -> WallTraces<'a> {
        let last = self.last_pass(group, contour.id);
        let of_last = self.loops_of(contour.id).filter(|(_, wire)| wire.pass == last);
        let last_loops: Vec<(LoopId, &WireLoop)> = of_last.collect();
        let lead = |(id, wire): &(LoopId, &WireLoop)| {
            let lead = self.process.leads.get(id.index())?;
            let run = PathLine::new(&wire.polyline).run(lead.entry_mm, lead.overlap_mm);
            let entry = Segment::line(lead.entry, lead.entry);
            Some(PathTrace {
                run: std::iter::once(entry).chain(run.segments()).collect(),
                offset_mm: offset_mm(group, last),
            })
        };
        let stub = |separation: &&Separation| {
            // What an opening's slug hung on is skimmed with the rest of the wall.
            let stays = separation.piece.kind == PieceKind::Part && separation.face != TabFace::Skimmed;
            let uncut = separation.uncut().filter(|_| stays || last.is_rough())?;
            Some(PathTrace {
                run: uncut.run.segments().collect(),
                offset_mm: offset_mm(group, PassNo::FIRST),
            })
        };
        WallTraces {
            contour,
            aim_mm: group.request.aim_mm,
            offset_mm: offset_mm(group, last),
            leads: last_loops.iter().filter_map(lead).collect(),
            last_paths: last_loops.iter().map(|(_, wire)| &wire.polyline).collect(),
            stubs: dropping.iter().filter_map(stub).collect(),
        }
    }
}

fn offset_mm(group: &GroupPlan, pass: PassNo) -> f64 {
    group.pass(pass).map_or(0.0, |pass| pass.offset_mm)
}

fn finished_wall<'a>(group: &GroupPlan, contour: &'a Contour) -> FinishedWall<'a> {
    FinishedWall {
        contour,
        aim_mm: group.request.aim_mm,
        limits: group.requirement.limits,
        uncertainty: group.quality.accuracy.as_ref().map(wall_uncertainty),
    }
}

fn wall_uncertainty(accuracy: &Accuracy) -> WallUncertainty {
    let gauged = [&accuracy.expanded_per_side_um, &accuracy.expanded_on_size_um];
    let is_gauged = accuracy.offset_basis == OffsetBasis::Gauged;
    WallUncertainty {
        modelled_um: accuracy.modelled.each_ref().map(|figure| figure.value.expected),
        gauged_um: is_gauged.then(|| gauged.map(|band| band.expected)),
    }
}
