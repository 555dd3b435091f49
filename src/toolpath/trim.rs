//! The paths of a trim: the drawn line cuts off a stretch of one edge, one side of it stays, and the wire runs on the other.
//!
//! The line, made longer along its tangents until it is clear of the material, and the parallel of the edge out there close round what
//! is cut off. In that region the wire runs as in an opening, so that its loops are found and verified as those of closed contours
//! are. Of each loop the run along the line is the path, from where its kerf comes into the material to where it has left it; from there
//! it goes straight on by the run-out, which is proved to come no nearer to any edge than half its kerf.

use super::offset::{Offset, Offsets, RefusedOffset};
use super::refusal::RefusalReason;
use super::slit::{Slitting, last_of, refused};
use super::{CutEnd, Engagement, OffcutShape, OpenCut};
use crate::contour::{CannotStay, Contour, CutPiece, EdgeCut, KeptMaterial, NoEdgeCut, Role};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, loop_of, part_between, reversed_run};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::pass::Pass;
use crate::tolerance::{CRUMB_PIECE_MM2, PATH_MM};

/// Beyond what the widest pass asks for the region in which an open cut is made reaches this much farther out, mm.
pub(super) const CUT_BEYOND_MM: f64 = 0.2;

/// What the paths of a trim go by.
#[derive(Clone, Copy)]
pub(super) struct Trimming<'a> {
    pub(super) kept: &'a KeptMaterial<'a>,
    pub(super) passes: &'a [Pass],
    pub(super) run_out_mm: f64,
}

/// Where a trim cuts.
pub(super) struct TrimSite {
    /// What the wire runs in, with room to run out.
    pub(super) region: Polyline,
    /// The line with its tangents, which is a part of the region's edge.
    line: Vec<Segment>,
    /// What is cut off, as drawn.
    waste: Polyline,
    /// The edge that it cuts.
    edge: ContourId,
    /// The edge's part of `waste`.
    edge_run: Vec<Segment>,
    /// What stays, as drawn, where it is the smaller piece of an outline and so the one that drops.
    pub(super) loose: Option<OffcutShape>,
}

/// A run of a loop along the line, as a path.
pub(super) struct TrimPath {
    pub(super) path: Polyline,
    /// The segment of the loop that each segment of it comes from.
    pub(super) from: Vec<usize>,
    pub(super) cut: OpenCut,
}

impl Trimming<'_> {
    fn slitting(&self, pass: &Pass) -> Slitting<'_> {
        Slitting {
            kept: self.kept,
            half_kerf_mm: pass.half_kerf_mm,
            run_out_mm: self.run_out_mm,
        }
    }

    /// How far the region reaches out of the material, mm.
    fn reach_mm(&self) -> f64 {
        let asked = self.passes.iter().map(|pass| pass.offset_mm + pass.half_kerf_mm);
        asked.fold(0.0, f64::max) + self.run_out_mm + CUT_BEYOND_MM
    }

    /// Finds what a trim cuts off, or says why it cannot be.
    pub(super) fn site(&self, contour: &Contour) -> Result<TrimSite, RefusedOffset> {
        let slitting = self.slitting(&self.passes[0]);
        let drawn = slitting.line(contour)?;
        let ahead = self.reaching(&slitting, drawn)?;
        let line = reversed_run(&self.reaching(&slitting, reversed_run(&ahead))?);
        let cut = EdgeCut::of(self.kept, &line).map_err(|why| refused(line[0].from, no_edge_cut(why)))?;
        let around = &self.kept.contours[cut.edge];
        let at = cut.inside[0].from;
        if around.purpose == Purpose::Cut && around.role == Role::Outside {
            return Err(refused(at, RefusalReason::TrimsCutPart { contour: cut.edge }));
        }
        let goes_on = self.waste_goes_on(contour, &cut, at)?;
        let region = self.region(&line, around, goes_on)?;
        let CutPiece { outline, edge_run } = cut.piece(goes_on);
        let is_loose = around.role == Role::Outside && cut.smaller_goes_on() != goes_on;
        let stays = is_loose.then(|| offcut_of(self.kept, cut.piece(!goes_on).outline.clone()));
        Ok(TrimSite {
            region,
            line,
            waste: outline.clone(),
            edge: cut.edge,
            edge_run: edge_run.clone(),
            loose: stays,
        })
    }

    /// The run with its last end made longer, or shorter, to where it is clear of the edge by the reach of the region.
    fn reaching(&self, slitting: &Slitting<'_>, line: Vec<Segment>) -> Result<Vec<Segment>, RefusedOffset> {
        let end = last_of(&line);
        let (mut line, begin_mm) = if self.kept.keeps(end.to) {
            let gap_mm = slitting.leaves_within(end);
            let gap_mm = gap_mm.ok_or_else(|| refused(end.to, RefusalReason::EndsInMaterial))?;
            (line, gap_mm)
        } else {
            (slitting.without_overhang(line)?, 0.0)
        };
        let end = last_of(&line);
        let heading = end.direction(1.0);
        let out_mm = slitting.clear_after_mm(end.to, heading, begin_mm, self.reach_mm())?;
        let out = end.to + heading * out_mm;
        if end.is_arc() {
            line.push(Segment::line(end.to, out));
        } else {
            let i = line.len() - 1;
            line[i].to = out;
        }
        Ok(line)
    }

    /// Whether the waste lies between the line and the edge as that runs on from the line's last end; else on the other side.
    fn waste_goes_on(&self, contour: &Contour, cut: &EdgeCut, at: Point) -> Result<bool, RefusedOffset> {
        let edge = &self.kept.contours[cut.edge];
        match contour.keep {
            Some(keep) => cut.waste_beside(self.kept, keep).map_err(|why| {
                let reason = match why {
                    CannotStay::Elsewhere => RefusalReason::KeepsElsewhere,
                    CannotStay::WasteHasNoEnd => RefusalReason::WasteHasNoEnd,
                };
                refused(keep, reason)
            }),
            // Beside an opening that is there the piece towards it drops.
            None if edge.role == Role::Opening && edge.purpose == Purpose::Existing => {
                Ok(cut.smaller_goes_on())
            }
            None => Err(refused(at, RefusalReason::KeptSideNotGiven)),
        }
    }

    /// The line, closed by the parallel of the edge on the side of the waste.
    fn region(&self, line: &[Segment], edge: &Contour, goes_on: bool) -> Result<Polyline, RefusedOffset> {
        let (first, last) = (line[0].from, last_of(line).to);
        let no_room = || refused(last, RefusalReason::RunOutCutsWall { contour: edge.id });
        let reach_mm = match edge.role {
            Role::Opening => -self.reach_mm(),
            Role::Outside | Role::Open => self.reach_mm(),
        };
        let Offset { loops, .. } = Offsets::of(&edge.polyline)?.at(reach_mm)?;
        let is_on = |parallel: &&Polyline, p: Point| {
            parallel
                .nearest(p)
                .is_some_and(|(_, _, away_mm)| away_mm <= PATH_MM)
        };
        let parallel = loops
            .iter()
            .find(|parallel| is_on(parallel, first) && is_on(parallel, last));
        let parallel = parallel.ok_or_else(no_room)?;
        // Along the edge, counter-clockwise as contours are.
        let parallel = if parallel.area() < 0.0 {
            parallel.reversed()
        } else {
            parallel.clone()
        };
        let mut closing = if goes_on {
            parallel.stretch(last, first)
        } else {
            reversed_run(&parallel.stretch(first, last))
        };
        let end = closing.len().checked_sub(1).ok_or_else(no_room)?;
        closing[0].from = last;
        closing[end].to = first;
        let all: Vec<Segment> = line.iter().copied().chain(closing).collect();
        Ok(loop_of(&all))
    }
}

impl TrimSite {
    /// The contour as it is offset: what is cut off, as an opening.
    pub(super) fn stand_in(&self, contour: &Contour) -> Contour {
        let polyline = self.region.clone();
        contour.as_opening(if polyline.area() < 0.0 {
            polyline.reversed()
        } else {
            polyline
        })
    }

    /// The path of a pass: the one run of its loops along the line, from where its kerf comes into the material to where it has left it.
    pub(super) fn path(
        &self,
        trimming: &Trimming<'_>,
        pass: &Pass,
        loops: &[&Polyline],
    ) -> Result<(usize, TrimPath), RefusedOffset> {
        let at = self.line[0].from;
        let runs: Vec<(usize, Vec<(usize, Segment)>)> = loops
            .iter()
            .enumerate()
            .flat_map(|(i, path)| {
                self.runs_along(path, pass.offset_mm)
                    .into_iter()
                    .map(move |run| (i, run))
            })
            .collect();
        let [(number, run)] = runs.as_slice() else {
            return Err(refused(at, RefusalReason::TrimSplits));
        };
        let slitting = trimming.slitting(pass);
        let (line, from) = run_out_along(&slitting, run)?;
        let met = slitting.met(&line)?;
        let path = Polyline::run(&line);
        let ends = [line[0].from, last_of(&line).to].map(|p| {
            if trimming.kept.is_air(p) {
                CutEnd::Air
            } else {
                CutEnd::Waste
            }
        });
        let mut crossed: Vec<ContourId> = vec![self.edge];
        crossed.extend(trimming.kept.edges_within(&self.waste));
        let cut = OpenCut {
            ends,
            part: met.parts.first().copied(),
            crossed,
            met_mm: met.length_mm,
            left_mm: met.left_mm,
            runs_back: false,
            waste: Some(self.waste.clone()),
            band: None,
            offcut: None,
            kept_drops: false,
        };
        Ok((*number, TrimPath { path, from, cut }))
    }

    /// The runs of a loop that are nearer to the line than to what closes the region, each with the numbers of its segments.
    fn runs_along(&self, path: &Polyline, offset_mm: f64) -> Vec<Vec<(usize, Segment)>> {
        let index = SegmentIndex::new(self.line.clone());
        let n = path.segment_count();
        let is_along = |i: usize| {
            let middle = path.segment(i).at(0.5);
            index.nearest_within(middle, offset_mm + PATH_MM).is_some()
        };
        let along: Vec<bool> = (0..n).map(is_along).collect();
        let begins = (0..n).filter(|&i| along[i] && !along[(i + n - 1) % n]);
        let run = |first: usize| {
            let numbers = (0..n).map(|k| (first + k) % n).take_while(|&i| along[i]);
            numbers.map(|i| (i, path.segment(i))).collect()
        };
        begins.map(run).collect()
    }

    /// What drops: what the rough kerf leaves of the waste, less what is no material in it; `None` where it leaves nothing.
    pub(super) fn offcut(&self, trimming: &Trimming<'_>) -> Result<Option<OffcutShape>, RefusedOffset> {
        let rough = &trimming.passes[0];
        let depth_mm = rough.offset_mm + rough.half_kerf_mm;
        let Offset { loops, .. } = Offsets::of(&self.region)?.at(-depth_mm)?;
        let mut outlines = Vec::new();
        for path in &loops {
            for run in self.runs_along(path, depth_mm) {
                let run: Vec<Segment> = run.into_iter().map(|(_, segment)| segment).collect();
                outlines.extend(self.closed_by_edge(&run));
            }
        }
        outlines.retain(|outline: &Polyline| outline.area().abs() > CRUMB_PIECE_MM2);
        if outlines.len() > 1 {
            return Err(refused(self.line[0].from, RefusalReason::TrimSplits));
        }
        let Some(outline) = outlines.pop() else {
            return Ok(None);
        };
        Ok(Some(offcut_of(trimming.kept, outline)))
    }

    /// A run between its first and its last crossing of the edge, closed along that.
    fn closed_by_edge(&self, run: &[Segment]) -> Option<Polyline> {
        let edge = Polyline::run(&self.edge_run);
        let mut crossings: Vec<(usize, f64)> = Vec::new();
        for (i, segment) in run.iter().enumerate() {
            let mut shares: Vec<f64> = self
                .edge_run
                .iter()
                .flat_map(|wall| segment.crossings(*wall))
                .flatten()
                .map(|p| segment.share(p))
                .collect();
            shares.sort_by(f64::total_cmp);
            crossings.extend(shares.into_iter().map(|share| (i, share)));
        }
        let (first, last) = (*crossings.first()?, *crossings.last()?);
        let inside = part_between(run, [first, last]);
        if inside.is_empty() {
            return None;
        }
        let (from, to) = (last_of(&inside).to, inside[0].from);
        let closing = edge.between(from, to);
        Some(loop_of(&inside.into_iter().chain(closing).collect::<Vec<_>>()))
    }
}

fn offcut_of(kept: &KeptMaterial<'_>, outline: Polyline) -> OffcutShape {
    OffcutShape {
        area_mm2: kept.area_within(&outline),
        outline,
        exact: true,
    }
}

/// Why a line that cuts nothing off an edge is no trim.
const fn no_edge_cut(why: NoEdgeCut) -> RefusalReason {
    match why {
        NoEdgeCut::RunsAlong(contour) => RefusalReason::RunsAlongEdge { contour },
        NoEdgeCut::MeetsNothing => RefusalReason::MeetsNoMaterial,
        NoEdgeCut::FromEdgeToEdge => RefusalReason::PartsNothing,
        NoEdgeCut::CrossesAgain => RefusalReason::CrossesEdgesAgain,
    }
}

/// A run up to where its kerf has left the material, and the way out from there.
fn out_of(slitting: &Slitting<'_>, run: Vec<Segment>) -> Result<(Vec<Segment>, Segment), RefusedOffset> {
    let line = slitting.without_overhang(run)?;
    let end = last_of(&line);
    let heading = end.direction(1.0);
    let out_mm = slitting.way_out_mm(end.to, heading, 0.0)?;
    Ok((line, Segment::line(end.to, end.to + heading * out_mm)))
}

/// The run of a loop up to where its kerf has left the material at both ends, and straight on from there by the run-out; and the
/// segment of the loop that each segment of it comes from.
pub(super) fn run_out_along(
    slitting: &Slitting<'_>,
    run: &[(usize, Segment)],
) -> Result<(Vec<Segment>, Vec<usize>), RefusedOffset> {
    let segments: Vec<Segment> = run.iter().map(|(_, segment)| *segment).collect();
    let ahead = out_of(slitting, segments)?;
    let skipped = run.len() - ahead.0.len();
    let back = out_of(slitting, reversed_run(&ahead.0))?;
    let begun = ahead.0.len() - back.0.len();
    let mut line = reversed_run(&back.0);
    let mut from: Vec<usize> = run[begun..run.len() - skipped].iter().map(|(i, _)| *i).collect();
    lengthen(&mut line, &mut from, ahead.1);
    let mut line = reversed_run(&line);
    from.reverse();
    lengthen(&mut line, &mut from, back.1);
    from.reverse();
    Ok((reversed_run(&line), from))
}

/// Adds the way out to the end of a run, as one with a straight.
fn lengthen(line: &mut Vec<Segment>, from: &mut Vec<usize>, out: Segment) {
    let end = line.len() - 1;
    if line[end].is_arc() {
        line.push(out);
        from.push(from[end]);
    } else {
        line[end].to = out.to;
    }
}

/// What is met along the segments of a path, as along those of the loop that they come from.
pub(super) fn met_along(from: &[usize], along_loop: &[Engagement]) -> Vec<Engagement> {
    from.iter().map(|&i| along_loop[i]).collect()
}
