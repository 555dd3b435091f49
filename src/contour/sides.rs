//! Checks whether the kept side of each contour follows from the edges around it: not where an option leaves out the only closed curve
//! that is drawn there.

use std::collections::BTreeMap;

use super::draft::DraftContour;
use super::facts::SideUnclear;
use super::frame::{FrameSign, sign_of_frame};
use super::nest::{Enclosing, NestView};
use super::{Contour, SideFrom, purposes};
use crate::drawing::Drawing;
use crate::id::ContourId;
use crate::job::{Purpose, Purposes};

/// Takes frames of the sheet out of what is not cut this time: a frame bounds no material.
pub(super) fn set_frames_aside(drawing: &Drawing, list: &mut [Contour]) {
    let cut: Vec<&Contour> = list.iter().filter(|c| is_loop_for(c, Purpose::Cut)).collect();
    let frames: Vec<ContourId> = list
        .iter()
        .filter(|c| is_loop_for(c, Purpose::NotNow))
        .filter(|c| is_known_frame(drawing, NestView::of(c), &cut))
        .map(|c| c.id)
        .collect();
    for id in frames {
        list[id.index()].purpose = Purpose::Reference;
    }
}

/// Marks the contours whose side is unclear, and lists those of them that no other of them encloses. `ignored` are the loops that
/// are left out of `list` altogether.
pub(super) fn find_unclear(
    drawing: &Drawing,
    list: &mut [Contour],
    ignored: &[DraftContour],
    uses: &Purposes,
) -> Vec<SideUnclear> {
    let hanging = hanging(drawing, list, ignored, uses);
    let rooted = |i: usize| {
        let root = unsettled_root(list, i)?;
        Some((i, root, *hanging.get(&root)?))
    };
    let found: Vec<(usize, ContourId, (usize, Purpose))> = (0..list.len()).filter_map(rooted).collect();
    let mut count: BTreeMap<ContourId, usize> = BTreeMap::new();
    for (_, root, _) in &found {
        *count.entry(*root).or_default() += 1;
    }
    let mut unclear: Vec<SideUnclear> = Vec::new();
    for (i, root, (around, purpose)) in found {
        let id = list[i].id;
        if id == root || list[root.index()].purpose != Purpose::Cut {
            unclear.push(SideUnclear {
                contour: id,
                inside: if id == root { count[&root] - 1 } else { 0 },
                around,
                purpose,
            });
        }
        list[i].side_from = SideFrom::Unclear;
    }
    unclear
}

/// Finds the outermost contours whose side hangs on a closed curve that bounds nothing, each with the first curve of
/// that one and its assumed purpose.
fn hanging(
    drawing: &Drawing,
    list: &[Contour],
    ignored: &[DraftContour],
    uses: &Purposes,
) -> BTreeMap<ContourId, (usize, Purpose)> {
    let cut: Vec<&Contour> = list.iter().filter(|c| is_loop_for(c, Purpose::Cut)).collect();
    let said = |c: &&Contour| match c.purpose {
        Purpose::Reference => true,
        // A loop that repeats another one is left out too.
        Purpose::Ignore => uses.contours.get(&c.id) == Some(&Purpose::Ignore),
        _ => false,
    };
    let no_edge =
        |c: NestView<'_>| purposes::shows_no_edge(drawing, c.curve) || is_known_frame(drawing, c, &cut);
    let left_out: Vec<NestView<'_>> = list
        .iter()
        .filter(said)
        .map(NestView::of)
        .chain(ignored.iter().map(NestView::of_ignored))
        .filter(|c| c.polyline.closed && !no_edge(*c))
        .collect();
    let mut around = Enclosing::new(left_out.clone());
    let outermost = cut.iter().filter(|c| c.parent.is_none());
    let mut hanging: BTreeMap<ContourId, (usize, Purpose)> = outermost
        .filter_map(|c| {
            let smallest = around.of(NestView::of(c)).into_iter().map(|k| left_out[k]);
            let smallest = smallest.min_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2))?;
            Some((c.id, (smallest.curve, smallest.purpose)))
        })
        .collect();
    // A rectangle that may be a frame as well as the outline of a plate.
    let doubtful = list
        .iter()
        .filter(|c| is_loop_for(c, Purpose::NotNow) && c.parent.is_none());
    let doubtful =
        doubtful.filter(|c| sign_of_frame(drawing, NestView::of(c), &cut) == Some(FrameSign::PartsWithin));
    for frame in doubtful {
        let within = list.iter().filter(|c| c.parent == Some(frame.id));
        hanging.extend(within.map(|c| (c.id, (frame.curves[0], frame.purpose))));
    }
    hanging
}

/// Finds the outermost of the contours to be cut around the one at `i`, itself included, from which its side follows; `None` where a
/// given side stands between them, or the contour is not one to be cut.
fn unsettled_root(list: &[Contour], i: usize) -> Option<ContourId> {
    let mut contour = &list[i];
    if !is_loop_for(contour, Purpose::Cut) {
        return None;
    }
    loop {
        if contour.side_from == SideFrom::Given {
            return None;
        }
        match contour.parent.map(|id| &list[id.index()]) {
            Some(parent) if parent.purpose == Purpose::Cut || parent.parent.is_some() => contour = parent,
            _ => return Some(contour.id),
        }
    }
}

fn is_loop_for(contour: &Contour, purpose: Purpose) -> bool {
    contour.purpose == purpose && contour.polyline.closed
}

/// Whether its layer's name or its size shows that it is the frame of a sheet.
fn is_known_frame(drawing: &Drawing, contour: NestView<'_>, cut: &[&Contour]) -> bool {
    matches!(
        sign_of_frame(drawing, contour, cut),
        Some(FrameSign::LayerName | FrameSign::SheetSize)
    )
}
