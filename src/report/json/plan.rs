use std::borrow::Cow;

use serde::Serialize;

use super::candidate::{CandidateRow, RemedyRow};
use super::estimate::{self, AccuracyRow, EstimateRow, QualityRow};
use super::inspection::InspectionDocument;
use super::not_cut::{self, LeftOutRow, RefusedPathRow};
use super::open_cut::{self, OpenCutRow};
use super::pieces::PiecesRow;
use super::requirement::AskedRow;
use super::rows::Rows;
use super::run::{self, LeadRow, StartRow, StepRow};
use super::separation::{BlankRow, SeparationRow};
use crate::geometry::Polyline;
use crate::id::{ContourId, GroupId, PassNo};
use crate::message::Message;
use crate::pass::{Pass, PassKind};
use crate::plan::{GroupPlan, Plan};
use crate::report::cautions::cautions_in_short;
use crate::report::figures;
use crate::report::view::{AnswerState, answer};
use crate::shop::Figure;
use crate::toolpath::{
    NeighbourHit, Overload, Proposer, Split, Toolpaths, Unreached, Vanished, WallCut, WireLoop,
};
use crate::units::{Band, UM_PER_MM};

/// What `plan --json` prints: all of `inspect --json`, and more.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct PlanDocument<'a> {
    #[serde(flatten)]
    inspection: InspectionDocument<'a>,
    /// The answer in short.
    answer: AnswerRow,
    /// What can hurt, in short: to be shown wherever the plan is.
    cautions: [Cow<'static, str>; 5],
    /// Thickness of the work, mm.
    thickness_mm: f64,
    /// Name of the material.
    material: &'a str,
    /// Shift of the finished wall into the material, mm, signed.
    aim_mm: f64,
    /// The wire.
    wire: WireRow<'a>,
    /// Name of the shop's own recipe; null for the built-in table.
    recipe: Option<&'a str>,
    /// What is asked of the wall, one of a demand group.
    asked: Vec<AskedRow<'a>>,
    /// One row a pass of each demand group.
    passes: Vec<PassRow>,
    /// The way of the wire's centre, without leads.
    paths: Rows<'a, Plan, PathRow<'a>>,
    /// Open cuts: how each lies in the material that is kept.
    open_cuts: Vec<OpenCutRow>,
    /// Where the wire is threaded.
    starts: Rows<'a, Plan, StartRow<'a>>,
    /// The way of the wire on and off each of `paths`, in their order.
    leads: Rows<'a, Plan, LeadRow<'a>>,
    /// Steps in the order of cutting.
    sequence: Rows<'a, Plan, StepRow>,
    /// Passes of a contour for which no path passed the verifier.
    refused: Rows<'a, Toolpaths, RefusedPathRow>,
    /// Contours to be cut that have no path, start, lead or place in the order, and no time and cost.
    left_out: Rows<'a, Toolpaths, LeftOutRow>,
    /// Passes of a contour that fall apart into several loops.
    splits: &'a [Split],
    /// Passes of a contour for which there is no room at all.
    vanished: &'a [Vanished],
    /// Where the wire reaches into what another contour keeps.
    neighbour_hits: &'a [NeighbourHit],
    /// Walls between two contours of which nothing is left.
    walls_cut: &'a [WallCut],
    /// Skims that meet more stock than they are meant to.
    overloads: &'a [Overload],
    /// Places that no path of the last pass reaches.
    unreached: &'a [Unreached],
    /// What drops, and how.
    separations: Rows<'a, Plan, SeparationRow<'a>>,
    /// The blank; null where nothing says how large it is.
    blank: Option<BlankRow<'a>>,
    /// The parts of the drawing, and how an order counts them.
    pieces: PiecesRow,
    /// What it takes and costs.
    estimate: EstimateRow<'a>,
    /// Accuracy budget of the demand group that is expected to be farthest off; null when a path was refused or the machine does not take the job.
    accuracy: Option<AccuracyRow<'a>>,
    /// The wall of every demand group.
    quality: Vec<QualityRow<'a>>,
    /// What would make the expected error smaller, what brings most first; null where that was not tried.
    what_helps: Option<Vec<RemedyRow<'a>>>,
    /// What was weighed, the one taken first; empty where wire and passes were given.
    candidates: Vec<CandidateRow<'a>>,
    /// Every figure with its formula, terms, source and basis.
    figures: Vec<FigureRow<'a>>,
}

/// What a plan comes to.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct AnswerRow {
    /// Whether it can be cut as drawn, and what comes first if not.
    state: AnswerState,
    /// At most twelve lines for people: state, what is cut, wire, time, cost, requirement, machine, question, the worst findings.
    lines: Vec<AnswerLine>,
}

/// A line of the answer.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct AnswerLine {
    /// What it is about.
    about: String,
    /// What it says.
    words: Message,
}

impl AnswerRow {
    pub(super) fn new(plan: &Plan) -> Self {
        let answer = answer(plan);
        let lines = answer.lines.into_iter().map(|pair| AnswerLine {
            about: pair.name.to_string(),
            words: pair.value,
        });
        Self {
            state: answer.state,
            lines: lines.collect(),
        }
    }
}

/// The wire.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct WireRow<'a> {
    /// Diameter, mm.
    diameter_mm: f64,
    /// Its kind; null: the book's usual one.
    kind: Option<&'a str>,
}

/// One pass of a demand group.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct PassRow {
    /// Number of the demand group.
    group: GroupId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// Rough or skim.
    kind: PassKind,
    /// Wire centre to finished wall, mm: half the wire, spark gap and stock, less the aim.
    offset_mm: f64,
    /// The same with its band: a model offset, to be gauged on a test piece first.
    offset_band_mm: Option<Band>,
    /// Spark gap, one side, mm.
    spark_gap_mm: f64,
    /// Left on the wall for later passes, mm.
    stock_mm: f64,
    /// Area rate after the feed cap, mm²/min.
    area_rate_mm2_min: f64,
    /// The same with its band.
    area_rate_band_mm2_min: Band,
    /// Feed along the path, mm/min.
    feed_mm_min: f64,
    /// The same with its band.
    feed_band_mm_min: Band,
    /// Length of all its paths, mm; null when a contour of the group has no path; so are the three below.
    path_length_mm: Option<f64>,
    /// Path length × thickness, mm².
    cut_area_mm2: Option<f64>,
    /// `path_length_mm` × thickness ÷ `area_rate_mm2_min`, min.
    minutes: Option<f64>,
    /// The same with its band.
    minutes_band: Option<Band>,
    /// Ra if this were the last pass, µm.
    ra_um: f64,
    /// The same with its band.
    ra_band_um: Band,
    /// Form error that it leaves, ± µm per side.
    form_error_um: Band,
}

/// A path of the wire's centre: a loop, or that of an open cut.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct PathRow<'a> {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the demand group.
    group: GroupId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// It is a loop.
    closed: bool,
    /// Its length, mm.
    length_mm: f64,
    /// Largest deviation from the offset that the verifier measured, µm.
    verified_um: f64,
    /// What proposed the path that the verifier accepted: the offset library that keeps arcs, the polygon library for contours of crumbs, or the
    /// drawn line itself for an open cut.
    proposer: Proposer,
    /// `[x, y, bulge]`, mm; the bulge leads to the next vertex, of a loop the last one's back to the first.
    vertices: &'a Polyline,
}

/// A figure with all that it came from.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FigureRow<'a> {
    /// Number of the demand group; null for a figure of the job.
    group: Option<GroupId>,
    #[serde(flatten)]
    figure: &'a Figure,
}

impl<'a> PlanDocument<'a> {
    /// Without the vertices of the paths and leads and the terms of the figures.
    pub(super) fn without_bulk(plan: &'a Plan) -> Self {
        Self {
            paths: Rows::none(plan),
            leads: Rows::none(plan),
            sequence: Rows::none(plan),
            separations: Rows::none(plan),
            candidates: Vec::new(),
            figures: Vec::new(),
            ..Self::new(plan)
        }
    }

    pub(super) fn new(plan: &'a Plan) -> Self {
        let (toolpaths, process) = (&plan.toolpaths, &plan.process);
        Self {
            inspection: InspectionDocument::new(&plan.inspection),
            answer: AnswerRow::new(plan),
            cautions: cautions_in_short(plan),
            thickness_mm: plan.setup.thickness_mm,
            material: &plan.setup.material,
            aim_mm: plan.aim_mm(),
            wire: WireRow {
                diameter_mm: plan.setup.wire_mm,
                kind: plan.setup.wire_kind.as_deref(),
            },
            recipe: plan
                .groups
                .first()
                .and_then(|group| group.schedule.recipe.as_deref()),
            asked: plan
                .groups
                .iter()
                .map(|group| AskedRow::new(group.group, &group.contours, &group.requirement))
                .collect(),
            passes: passes(plan),
            paths: Rows::new(plan, |plan| Box::new(plan.toolpaths.loops.iter().map(path_row))),
            open_cuts: open_cut::open_cuts(plan),
            starts: run::starts(plan),
            leads: run::leads(plan),
            sequence: run::sequence(plan),
            refused: not_cut::refused(toolpaths),
            left_out: not_cut::left_out(toolpaths),
            splits: &toolpaths.splits,
            vanished: &toolpaths.vanished,
            neighbour_hits: &toolpaths.hits,
            walls_cut: &toolpaths.walls_cut,
            overloads: &toolpaths.overloads,
            unreached: &toolpaths.unreached,
            separations: Rows::new(plan, |plan| {
                Box::new(plan.process.separations.iter().map(SeparationRow::new))
            }),
            blank: process.blank.as_ref().map(BlankRow::new),
            pieces: PiecesRow::new(plan),
            estimate: EstimateRow::new(plan),
            accuracy: estimate::accuracy(plan),
            quality: estimate::quality(plan),
            what_helps: plan
                .remedies
                .as_ref()
                .map(|remedies| remedies.iter().map(RemedyRow::new).collect()),
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
        .flat_map(|group| group.passes().iter().map(|pass| pass_row(plan, group, pass)))
        .collect()
}

fn pass_row(plan: &Plan, group: &GroupPlan, pass: &Pass) -> PassRow {
    let cut = plan
        .estimate
        .cut
        .rows
        .iter()
        .find(|row| (row.group, row.pass) == (group.group, pass.pass));
    let minutes = cut.and_then(|cut| cut.minutes);
    PassRow {
        group: group.group,
        pass: pass.pass,
        kind: pass.kind,
        offset_mm: pass.offset_mm,
        offset_band_mm: group.schedule.trace(pass.pass).map(|trace| trace.offset.value),
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

fn path_row(wire: &WireLoop) -> PathRow<'_> {
    PathRow {
        contour: wire.contour,
        group: wire.group,
        pass: wire.pass,
        closed: wire.polyline.closed,
        length_mm: wire.length_mm,
        verified_um: wire.verified_mm * UM_PER_MM,
        proposer: wire.proposer,
        vertices: &wire.polyline,
    }
}
