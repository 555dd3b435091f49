//! One line that an entity draws, or why it draws none.

use super::trace::{LineBuilder, Traced};
use crate::geometry::biarc::TooManyArcs;
use crate::geometry::{Point, Vector};
use crate::message::Message;

/// One line that an entity draws.
#[derive(Clone)]
pub(super) struct Stroke {
    pub(super) trace: LineBuilder,
    pub(super) ending: Ending,
}

/// How a line ends.
#[derive(Clone, Copy)]
pub(super) enum Ending {
    /// Open, here.
    At(Point),
    /// Back at its start.
    Closed,
}

/// Why an entity draws nothing.
pub(super) enum NotDrawn {
    TooManyArcs,
    BadSpline(BadSpline),
}

impl From<TooManyArcs> for NotDrawn {
    fn from(_: TooManyArcs) -> Self {
        Self::TooManyArcs
    }
}

impl From<BadSpline> for NotDrawn {
    fn from(bad: BadSpline) -> Self {
        Self::BadSpline(bad)
    }
}

impl Stroke {
    /// The same line elsewhere.
    pub(super) fn shifted(&self, by: [f64; 3]) -> Self {
        let mut shifted = self.clone();
        shifted.trace.shift(by);
        if let Ending::At(end) = &mut shifted.ending {
            *end = *end + Vector::new(by[0], by[1]);
        }
        shifted
    }

    /// The finished line; `None` when it has no length.
    pub(super) fn finish(self) -> Option<Traced> {
        match self.ending {
            Ending::At(end) => self.trace.end_at(end),
            Ending::Closed => self.trace.close(),
        }
    }
}

/// Why a SPLINE makes no curve, in words.
pub(super) struct BadSpline(pub(super) Message);
