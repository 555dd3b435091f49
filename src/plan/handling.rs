//! What comes free and how, the blank, and what of it goes into time.

use super::{Error, Inspection};
use crate::estimate::{PassLength, Work};
use crate::job::Holding;
use crate::pass::{Ask, Group};
use crate::path::{self, Handling, Paths, Plate, RawBlank};
use crate::shop::Book;

/// Adds to the paths what comes free, how the blank lies, and what may move.
pub(super) fn handle(
    paths: &mut Paths,
    inspection: &Inspection,
    groups: &[Group],
    ask: &Ask,
    holding: &Holding,
    book: &Book,
) -> Result<(), Error> {
    let rules = &book.rules;
    let handling = Handling {
        rules,
        plate: Plate {
            material: book.material(&ask.material).map_err(crate::pass::Error::from)?,
            thickness_mm: ask.thickness_mm,
        },
        clamp: holding.clamp,
    };
    let contours = &inspection.contours;
    let ask_of = |contour: &_| {
        let layer = inspection.layer_of(contour);
        holding.on(contour.id, layer)
    };
    paths.separations = path::separations(contours, paths, groups, &handling, ask_of, |_| None);
    paths.blank = RawBlank::new(contours, holding, &rules.holding);
    let widest_mm = groups.iter().filter_map(|group| group.passes.first());
    let widest_mm = widest_mm.map(|pass| pass.reach_mm).fold(0.0, f64::max);
    if let Some(blank) = &paths.blank {
        let cleared = paths.separations.iter();
        let runs = cleared.filter_map(|s| Some((s.piece.contour, &s.coreless()?.run)));
        let margin_mm = rules.holding.edge_margin_mm.value();
        paths.blank_faults = blank.faults(contours, paths, &runs.collect::<Vec<_>>(), widest_mm, margin_mm);
    }
    paths.may_move = path::may_move(contours, &paths.separations, paths.blank.as_ref(), &rules.holding);
    Ok(())
}

/// The work beside the passes, with tabs, slugs and coreless removal as they are on the paths.
pub(super) fn with_separations(work: Work, paths: &Paths) -> Work {
    let separations = &paths.separations;
    let mut coreless: Vec<PassLength> = Vec::new();
    for separation in separations {
        let Some(cleared) = separation.coreless() else {
            continue;
        };
        let group = paths.loops[separation.piece.wire_loop].group;
        match coreless.iter_mut().find(|held| held.group == group) {
            Some(held) => held.path_length_mm = held.path_length_mm.map(|mm| mm + cleared.length_mm),
            None => coreless.push(PassLength {
                group,
                pass: 1,
                path_length_mm: Some(cleared.length_mm),
            }),
        }
    }
    Work {
        tabs: separations.iter().filter(|s| s.tab().is_some()).count(),
        slugs: separations.iter().filter(|s| s.coreless().is_none()).count(),
        coreless,
        ..work
    }
}
