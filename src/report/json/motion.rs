//! The wire's way by the clock, for a page that shows it moving.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::geometry::{Point, Polyline};
use crate::id::{ContourId, LoopId, PassNo};
use crate::message::number::fixed;
use crate::plan::{Activity, Day, OperationKind, Plan, TimedOperation, WireStretch};
use crate::process::{PieceKind, Separation};
use crate::report::{steps, words};

/// Coordinates are shown, not cut: a hundredth of a micrometre is enough.
const STEPS_PER_MM: f64 = 1e5;

/// The way of the wire.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct MotionRow {
    /// Diameter of the wire, mm.
    wire_mm: f64,
    /// Length of a shift, minutes.
    shift_minutes: f64,
    /// Length of it all, minutes from the beginning of the set-up.
    end_minutes: f64,
    /// When somebody is there, or the machine waits for somebody: stretches of the day, without gaps.
    day: Vec<DayStretchRow>,
    /// The paths of the wire's centre.
    loops: Vec<LoopRow>,
    /// What is done, in order.
    steps: Vec<MotionStepRow>,
    /// What drops.
    pieces: Vec<FreePieceRow>,
    /// What each contour takes, a sentence.
    contours: BTreeMap<ContourId, String>,
}

/// A stretch of the day.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct DayStretchRow {
    /// `attended`, `running` or `waiting`.
    is: &'static str,
    /// Minutes from the beginning.
    from_minutes: f64,
    /// Minutes from the beginning.
    to_minutes: f64,
}

/// A path.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct LoopRow {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// Width that the wire clears, mm.
    kerf_mm: f64,
    /// It is a loop; else it is that of an open cut, and ends at its last vertex.
    closed: bool,
    /// `[x, y, bulge]`, mm.
    vertices: Vec<[f64; 3]>,
}

/// A step.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct MotionStepRow {
    /// As in the order of cutting.
    kind: &'static str,
    /// Its path, from 1.
    #[serde(rename = "loop")]
    wire_loop: LoopId,
    /// When it begins, minutes from the beginning of the set-up.
    from_minutes: f64,
    /// How long it takes, minutes.
    minutes: f64,
    /// The machine stops, and somebody has to be there.
    stop: bool,
    /// The piece that it is about, from 0; null where it is about none.
    piece: Option<usize>,
    /// What is done, a sentence.
    words: String,
    /// Where the wire runs.
    way: Vec<StretchRow>,
}

/// A stretch of the wire's way.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
enum StretchRow {
    /// From where along the path, and how far, mm; negative against its direction.
    Along([f64; 2]),
    /// `[x, y, bulge]`, mm: beside the path.
    Beside(Vec<[f64; 3]>),
}

/// A piece.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FreePieceRow {
    /// Number of the contour.
    contour: ContourId,
    /// It is kept.
    part: bool,
    /// The middle of its tab, mm; null where it has none.
    tab_mm: Option<Point>,
    /// `[x, y, bulge]`, mm.
    outlines: Vec<Vec<[f64; 3]>>,
}

impl MotionRow {
    pub(super) fn new(plan: &Plan, day: &Day) -> Self {
        let steps = plan.steps().zip(&day.steps_from_minutes);
        Self {
            wire_mm: plan.setup.wire_mm,
            shift_minutes: day.shift_minutes,
            end_minutes: day.end_minutes(),
            day: day_rows(day),
            loops: loop_rows(plan),
            steps: steps.map(|(step, from)| step_row(plan, &step, *from)).collect(),
            pieces: plan.process.separations.iter().map(piece_row).collect(),
            contours: contour_words(plan),
        }
    }
}

/// Says what each contour takes and costs.
fn contour_words(plan: &Plan) -> BTreeMap<ContourId, String> {
    let shares = plan.contour_shares().into_iter().map(|(contour, share)| {
        let minutes = fixed(share.minutes, 0);
        let says = match share.cost {
            Some(cost) => format!(
                "Takes {minutes} min; {} {} by its share of the time.",
                fixed(cost, 0),
                plan.book.currency
            ),
            None => format!("Takes {minutes} min."),
        };
        (contour, says)
    });
    shares.collect()
}

/// Stretches that are alike in one.
fn day_rows(day: &Day) -> Vec<DayStretchRow> {
    let mut rows: Vec<DayStretchRow> = Vec::new();
    for block in &day.blocks {
        let is = match (block.doing, block.attended) {
            (Activity::Waiting, _) => "waiting",
            (_, true) => "attended",
            (_, false) => "running",
        };
        match rows.last_mut() {
            Some(last) if last.is == is => last.to_minutes = block.to_minutes,
            _ => rows.push(DayStretchRow {
                is,
                from_minutes: block.from_minutes,
                to_minutes: block.to_minutes,
            }),
        }
    }
    rows
}

fn loop_rows(plan: &Plan) -> Vec<LoopRow> {
    let rows = plan.toolpaths.loops.iter().map(|wire| LoopRow {
        contour: wire.contour,
        pass: wire.pass,
        kerf_mm: plan.pass_of(wire).map_or(0.0, |pass| 2.0 * pass.half_kerf_mm),
        closed: wire.polyline.closed,
        vertices: vertices(&wire.polyline),
    });
    rows.collect()
}

fn step_row(plan: &Plan, step: &TimedOperation, from_minutes: f64) -> MotionStepRow {
    let way = plan.wire_way(step).into_iter().map(|stretch| match stretch {
        WireStretch::Along { from_mm, length_mm } => StretchRow::Along([from_mm, length_mm]),
        WireStretch::Beside(way) => StretchRow::Beside(vertices(&way)),
    });
    MotionStepRow {
        kind: steps::name(step.kind),
        wire_loop: step.wire_loop,
        from_minutes,
        minutes: step.takes_minutes(),
        stop: matches!(step.kind, OperationKind::Stop | OperationKind::Remove),
        piece: step.separation,
        words: words::capitalised(&steps::words(plan, step)),
        way: way.collect(),
    }
}

fn piece_row(separation: &Separation) -> FreePieceRow {
    let piece = &separation.piece;
    FreePieceRow {
        contour: piece.contour,
        part: piece.kind == PieceKind::Part,
        tab_mm: separation.tab().map(|tab| tab.at),
        outlines: piece.outlines.iter().map(vertices).collect(),
    }
}

fn vertices(polyline: &Polyline) -> Vec<[f64; 3]> {
    let rounded = |value: f64| (value * STEPS_PER_MM).round() / STEPS_PER_MM;
    let bulge_digits = |value: f64| (value * 1e9).round() / 1e9;
    let vertices = polyline.vertices.iter();
    vertices
        .map(|vertex| {
            [
                rounded(vertex.at.x),
                rounded(vertex.at.y),
                bulge_digits(vertex.bulge),
            ]
        })
        .collect()
}
