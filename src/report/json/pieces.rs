use serde::Serialize;

use crate::id::ContourId;
use crate::plan::{EqualParts, Plan};

/// The parts of the drawing, and how an order counts them.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct PiecesRow {
    /// Equal parts together, mirror images apart; one that is not drawn stands last.
    kinds: Vec<EqualPartsRow>,
    /// Pieces in the drawing: parts where all are equal, else sets of the parts as they are drawn.
    drawn: usize,
    /// What a piece is.
    piece: PieceIs,
    /// Pieces ordered; as many as are drawn where nothing is given.
    quantity: usize,
    /// Pieces cut in one load; as many as are drawn where nothing is given.
    pieces_per_load: usize,
    /// Loads that are set up.
    loads: usize,
}

/// What a piece of an order is.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
enum PieceIs {
    /// One part: all that are drawn are equal.
    Part,
    /// A set of parts that are not all equal.
    Set,
}

/// Parts that are equal.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct EqualPartsRow {
    /// How many.
    count: usize,
    /// Index in `kinds` of those that they are mirror images of; null where they are of none.
    mirror_of: Option<usize>,
    /// Numbers of their outlines; empty where the outline is not drawn.
    outlines: Vec<ContourId>,
}

impl PiecesRow {
    pub(super) fn new(plan: &Plan) -> Self {
        let row = |kind: &EqualParts| EqualPartsRow {
            count: kind.count(),
            mirror_of: kind.mirror_of,
            outlines: kind.outlines.iter().flatten().copied().collect(),
        };
        let order = plan.order;
        Self {
            kinds: plan.parts.kinds.iter().map(row).collect(),
            drawn: order.drawn,
            piece: if plan.parts.kinds.len() > 1 {
                PieceIs::Set
            } else {
                PieceIs::Part
            },
            quantity: order.quantity,
            pieces_per_load: order.pieces_per_load,
            loads: order.loads(),
        }
    }
}
