use serde::Serialize;

use super::asked::AskedRow;
use super::candidate::CandidateRow;
use super::estimate::{self, AccuracyRow, EstimateRow, QualityRow};
use super::inspection::{InspectionDocument, pair};
use super::separation::{BlankRow, SeparationRow};
use crate::pass::{Pass, PassKind};
use crate::path::{Neck, NeighbourHit, Overload, UnreachedKind, WallCut};
use crate::plan::{Plan, Step};
use crate::report::{figures, pieces};
use crate::shop::Figure;
use crate::units::{Band, UM_PER_MM};

/// What `plan --json` prints: all of `inspect --json`, and more.
#[derive(Serialize)]
pub(super) struct PlanDocument<'a> {
    #[serde(flatten)]
    inspection: InspectionDocument<'a>,
    thickness_mm: f64,
    material: &'a str,
    aim_mm: f64,
    wire: WireRow<'a>,
    recipe: Option<&'a str>,
    asked: Vec<AskedRow<'a>>,
    passes: Vec<PassRow>,
    paths: Vec<PathRow>,
    /// Steps in the order of cutting; threading and leads are no steps.
    sequence: Vec<StepRow>,
    refused: Vec<RefusedRow<'a>>,
    splits: Vec<SplitRow>,
    vanished: Vec<VanishedRow>,
    neighbour_hits: Vec<NeighbourHitRow>,
    walls_cut: Vec<WallCutRow>,
    overloads: Vec<OverloadRow>,
    unreached: Vec<UnreachedRow>,
    /// What comes free, and how.
    separations: Vec<SeparationRow<'a>>,
    /// `None` where nothing says how large it is.
    blank: Option<BlankRow>,
    estimate: EstimateRow<'a>,
    /// Of the demand group that is expected to be farthest off.
    accuracy: Option<AccuracyRow<'a>>,
    /// The wall of every demand group.
    quality: Vec<QualityRow<'a>>,
    /// What was weighed, the one taken first; empty where wire and passes were given.
    candidates: Vec<CandidateRow<'a>>,
    /// Every figure with its formula, terms, source and basis.
    figures: Vec<FigureRow<'a>>,
}

#[derive(Serialize)]
struct WireRow<'a> {
    diameter_mm: f64,
    /// `None`: the book's usual kind.
    kind: Option<&'a str>,
}

#[derive(Serialize)]
struct PassRow {
    group: usize,
    pass: usize,
    kind: PassKind,
    offset_mm: f64,
    offset_band_mm: Option<Band>,
    spark_gap_mm: f64,
    stock_mm: f64,
    /// After the feed cap.
    area_rate_mm2_min: f64,
    area_rate_band_mm2_min: Band,
    feed_mm_min: f64,
    feed_band_mm_min: Band,
    /// `None` when a path of this pass was refused; so are the two below.
    path_length_mm: Option<f64>,
    cut_area_mm2: Option<f64>,
    /// `path_length_mm` × thickness ÷ `area_rate_mm2_min`.
    minutes: Option<f64>,
    minutes_band: Option<Band>,
    ra_um: f64,
    ra_band_um: Band,
    form_error_um: Band,
}

#[derive(Serialize)]
struct PathRow {
    contour: usize,
    group: usize,
    pass: usize,
    closed: bool,
    length_mm: f64,
    /// Largest deviation from the offset that the verifier measured.
    verified_um: f64,
    /// `[x, y, bulge]`, mm; the bulge leads to the next vertex, the last one's back to the first.
    vertices: Vec<[f64; 3]>,
}

#[derive(Serialize)]
struct StepRow {
    step: usize,
    contour: usize,
    pass: usize,
    /// `rough`, `skim`, `coreless`, `stop`, `cut-off`, `remove` or `skim-tab`.
    kind: &'static str,
    length_mm: f64,
    minutes: f64,
    /// From the first step.
    from_minutes: f64,
    /// Somebody has to stand by; cutting itself runs alone.
    attended: bool,
    /// Of the piece that it is about.
    mass_kg: Option<f64>,
    /// What is done, in words.
    words: String,
}

#[derive(Serialize)]
struct RefusedRow<'a> {
    contour: usize,
    pass: usize,
    at_mm: [f64; 2],
    reason: &'a str,
}

#[derive(Serialize)]
struct SplitRow {
    contour: usize,
    pass: usize,
    loops: usize,
    necks: Vec<NeckRow>,
}

#[derive(Serialize)]
struct VanishedRow {
    contour: usize,
    pass: usize,
    #[serde(flatten)]
    roomiest: NeckRow,
}

#[derive(Serialize)]
#[expect(clippy::struct_field_names, reason = "each field bears its unit")]
struct NeckRow {
    at_mm: [f64; 2],
    width_mm: f64,
    needed_mm: f64,
}

/// The wire reaches into what another contour keeps.
#[derive(Serialize)]
struct NeighbourHitRow {
    contour: usize,
    pass: usize,
    neighbour: usize,
    at_mm: [f64; 2],
    overlap_mm: f64,
}

/// A wall between two contours of which nothing is left.
#[derive(Serialize)]
struct WallCutRow {
    contour: usize,
    neighbour: usize,
    at_mm: [f64; 2],
    wall_mm: f64,
    left_mm: f64,
}

/// A skim that meets more stock than it is meant to.
#[derive(Serialize)]
struct OverloadRow {
    contour: usize,
    pass: usize,
    at_mm: [f64; 2],
    met_mm: f64,
    meant_mm: f64,
}

#[derive(Serialize)]
struct FigureRow<'a> {
    /// Demand group; `None` for a figure of the job.
    group: Option<usize>,
    #[serde(flatten)]
    figure: &'a Figure,
}

#[derive(Serialize)]
struct UnreachedRow {
    contour: usize,
    at_mm: [f64; 2],
    area_mm2: f64,
    deviation_mm: f64,
    kind: UnreachedKind,
}

impl<'a> PlanDocument<'a> {
    /// Without the vertices of the paths and the terms of the figures.
    pub(super) fn without_bulk(plan: &'a Plan) -> Self {
        Self {
            paths: Vec::new(),
            figures: Vec::new(),
            ..Self::new(plan)
        }
    }

    pub(super) fn new(plan: &'a Plan) -> Self {
        let paths = &plan.paths;
        Self {
            inspection: InspectionDocument::new(&plan.inspection),
            thickness_mm: plan.ask.thickness_mm,
            material: &plan.ask.material,
            aim_mm: plan.ask.aim_mm,
            wire: WireRow {
                diameter_mm: plan.ask.wire_mm,
                kind: plan.ask.wire_kind.as_deref(),
            },
            recipe: plan.schedule.recipe.as_deref(),
            asked: plan
                .groups
                .iter()
                .zip(&plan.asked)
                .map(|(group, asked)| AskedRow::new(group.group, &group.contours, asked))
                .collect(),
            passes: passes(plan),
            paths: paths.loops.iter().map(path_row).collect(),
            sequence: (1..)
                .zip(plan.sequence())
                .map(|(number, step)| step_row(plan, number, &step))
                .collect(),
            refused: paths.refusals.iter().map(refused_row).collect(),
            splits: paths
                .splits
                .iter()
                .map(|split| SplitRow {
                    contour: split.contour,
                    pass: split.pass,
                    loops: split.loops,
                    necks: split.necks.iter().map(neck_row).collect(),
                })
                .collect(),
            vanished: paths
                .vanished
                .iter()
                .map(|vanished| VanishedRow {
                    contour: vanished.contour,
                    pass: vanished.pass,
                    roomiest: neck_row(&vanished.neck),
                })
                .collect(),
            neighbour_hits: paths.hits.iter().map(hit_row).collect(),
            walls_cut: paths.walls_cut.iter().map(wall_row).collect(),
            overloads: paths.overloads.iter().map(overload_row).collect(),
            unreached: paths
                .unreached
                .iter()
                .map(|place| UnreachedRow {
                    contour: place.contour,
                    at_mm: pair(place.at),
                    area_mm2: place.area_mm2,
                    deviation_mm: place.deviation_mm,
                    kind: place.kind,
                })
                .collect(),
            separations: paths.separations.iter().map(SeparationRow::new).collect(),
            blank: paths.blank.as_ref().map(BlankRow::new),
            estimate: EstimateRow::new(plan),
            accuracy: estimate::accuracy(plan),
            quality: estimate::quality(plan),
            candidates: plan.candidates.iter().map(CandidateRow::new).collect(),
            figures: figures(plan)
                .into_iter()
                .map(|(group, figure)| FigureRow { group, figure })
                .collect(),
        }
    }
}

fn passes(plan: &Plan) -> Vec<PassRow> {
    let groups = plan.groups.iter();
    groups
        .flat_map(|group| group.passes.iter().map(|pass| pass_row(plan, group.group, pass)))
        .collect()
}

fn pass_row(plan: &Plan, group: usize, pass: &Pass) -> PassRow {
    let cut = plan
        .cut
        .rows
        .iter()
        .find(|row| (row.group, row.pass) == (group, pass.pass));
    let minutes = cut.and_then(|cut| cut.minutes);
    PassRow {
        group,
        pass: pass.pass,
        kind: pass.kind,
        offset_mm: pass.offset_mm,
        offset_band_mm: plan
            .schedules()
            .find(|(of, _)| *of == group)
            .and_then(|(_, schedule)| schedule.traces.get(pass.pass - 1))
            .map(|trace| trace.offset.value),
        spark_gap_mm: pass.spark_gap_mm,
        stock_mm: pass.stock_mm,
        area_rate_mm2_min: pass.area_rate_mm2_min.expected,
        area_rate_band_mm2_min: pass.area_rate_mm2_min,
        feed_mm_min: pass.feed_mm_min.expected,
        feed_band_mm_min: pass.feed_mm_min,
        path_length_mm: cut.and_then(|cut| cut.path_length_mm),
        cut_area_mm2: cut.and_then(|cut| cut.cut_area_mm2),
        minutes: minutes.map(|minutes| minutes.expected),
        minutes_band: minutes,
        ra_um: pass.ra_um.expected,
        ra_band_um: pass.ra_um,
        form_error_um: pass.form_error_um,
    }
}

fn path_row(wire: &crate::path::WireLoop) -> PathRow {
    PathRow {
        contour: wire.contour,
        group: wire.group,
        pass: wire.pass,
        closed: wire.polyline.closed,
        length_mm: wire.length_mm,
        verified_um: wire.verified_mm * UM_PER_MM,
        vertices: wire
            .polyline
            .vertices
            .iter()
            .map(|v| [v.at.x, v.at.y, v.bulge])
            .collect(),
    }
}

fn step_row(plan: &Plan, number: usize, step: &Step) -> StepRow {
    let separation = step.separation.and_then(|i| plan.paths.separations.get(i));
    StepRow {
        step: number,
        contour: step.contour,
        pass: step.pass,
        kind: pieces::step_name(step.kind),
        length_mm: step.length_mm,
        minutes: step.minutes,
        from_minutes: step.from_minutes,
        attended: step.kind.is_attended(),
        mass_kg: separation.map(|separation| separation.piece.mass_kg),
        words: pieces::step(plan, step),
    }
}

fn refused_row(refusal: &crate::path::Refusal) -> RefusedRow<'_> {
    RefusedRow {
        contour: refusal.contour,
        pass: refusal.pass,
        at_mm: pair(refusal.at),
        reason: &refusal.reason,
    }
}

fn hit_row(hit: &NeighbourHit) -> NeighbourHitRow {
    NeighbourHitRow {
        contour: hit.contour,
        pass: hit.pass,
        neighbour: hit.neighbour,
        at_mm: pair(hit.at),
        overlap_mm: hit.overlap_mm,
    }
}

fn wall_row(wall: &WallCut) -> WallCutRow {
    WallCutRow {
        contour: wall.contour,
        neighbour: wall.neighbour,
        at_mm: pair(wall.at),
        wall_mm: wall.wall_mm,
        left_mm: wall.left_mm,
    }
}

fn overload_row(overload: &Overload) -> OverloadRow {
    OverloadRow {
        contour: overload.contour,
        pass: overload.pass,
        at_mm: pair(overload.at),
        met_mm: overload.met_mm,
        meant_mm: overload.meant_mm,
    }
}

fn neck_row(neck: &Neck) -> NeckRow {
    NeckRow {
        at_mm: pair(neck.at),
        width_mm: neck.width_mm,
        needed_mm: neck.needed_mm,
    }
}
