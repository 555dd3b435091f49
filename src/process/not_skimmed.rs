//! Parts that are loose when their rough pass closes, and so are not skimmed.

use crate::contour::{Contour, Contours, Role};
use crate::id::{ContourId, GroupId};
use crate::job::PieceOptions;
use crate::pass::Group;
use crate::toolpath::Toolpaths;

/// A part of which only the rough pass is run: it gets no tab, so it is loose when that closes.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct NotSkimmed {
    /// Number of the contour.
    pub contour: ContourId,
    /// Demand group.
    pub group: GroupId,
    /// How many skims are not run.
    pub skims: usize,
    /// Stock that they were to take off its wall, mm.
    pub stock_mm: f64,
}

/// Returns those of `cut` that are the outside of a part without a tab: such a part is loose when its rough pass closes.
pub fn loose_parts(
    contours: &Contours,
    cut: &[ContourId],
    piece_options_of: impl Fn(&Contour) -> PieceOptions,
) -> Vec<ContourId> {
    let named = cut.iter().filter_map(|&id| contours.get(id));
    named
        .filter(|contour| contour.role == Role::Outside && piece_options_of(contour).tab.is_left_out())
        .map(|contour| contour.id)
        .collect()
}

/// Lists the skims that are left out because only the rough pass is run, by contour, then group.
pub(super) fn not_skimmed(contours: &Contours, groups: &[Group], toolpaths: &Toolpaths) -> Vec<NotSkimmed> {
    let of_group = |contour: &Contour, group: &Group| {
        let listed = group.contours.contains(&contour.id) && group.rough_only.contains(&contour.id);
        let (rough, skims) = group.passes.split_first().filter(|_| listed)?;
        (!skims.is_empty()).then_some(NotSkimmed {
            contour: contour.id,
            group: group.group,
            skims: skims.len(),
            stock_mm: rough.stock_mm,
        })
    };
    let list = contours
        .list
        .iter()
        .filter(|contour| !toolpaths.leaves_out(contour.id));
    list.flat_map(|contour| groups.iter().filter_map(move |group| of_group(contour, group)))
        .collect()
}
