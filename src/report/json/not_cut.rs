//! What no path does, with its reason in words.

use serde::Serialize;

use super::rows::Rows;
use crate::check::path_words::{incomplete_sentence, refusal_in_words};
use crate::geometry::Point;
use crate::id::{ContourId, PassNo};
use crate::message::Message;
use crate::toolpath::{Incomplete, PathRefusal, Toolpaths};

/// A pass of a contour for which no path passed the verifier.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "RefusedRow"))]
pub(super) struct RefusedPathRow {
    /// Number of the contour.
    contour: ContourId,
    /// Number of the pass, from 1.
    pass: PassNo,
    /// Where the best attempt failed, mm.
    at_mm: Point,
    /// Why, in words.
    reason: Message,
}

/// A contour to be cut that is left out of the order of cutting.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct LeftOutRow {
    /// Number of the contour.
    contour: ContourId,
    /// Why, in words.
    reason: String,
}

pub(super) const fn refused(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, RefusedPathRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.refusals.iter().map(refused_row))
    })
}

pub(super) const fn left_out(toolpaths: &Toolpaths) -> Rows<'_, Toolpaths, LeftOutRow> {
    Rows::new(toolpaths, |toolpaths| {
        Box::new(toolpaths.left_out().map(left_out_row))
    })
}

fn left_out_row(left_out: &Incomplete) -> LeftOutRow {
    LeftOutRow {
        contour: left_out.contour,
        reason: incomplete_sentence(*left_out),
    }
}

fn refused_row(refusal: &PathRefusal) -> RefusedPathRow {
    RefusedPathRow {
        contour: refusal.contour,
        pass: refusal.pass,
        at_mm: refusal.at,
        reason: refusal_in_words(refusal.reason),
    }
}
