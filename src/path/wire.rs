//! From contours and passes to all wire-centre paths of a job.

use std::collections::BTreeMap;

use super::corner::sharpened;
use super::neighbours::Neighbourhood;
use super::reach::{Place, places};
use super::stock::{Before, full_slot};
use super::{
    Neck, Offset, Overload, Paths, Refusal, Refused, Split, Unreached, UnreachedKind, Vanished, WireLoop,
    offset,
};
use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Point, Polyline, SegmentIndex};
use crate::job::Patience;
use crate::pass::{CornerRun, Group, Pass};
use crate::tolerance::PATH_MM;

/// The paths of every pass of every contour in `groups`, each offset from the contour itself, never from the
/// pass before. Near-linear in the segments of each contour. `None` when `patience` ended before all were laid.
pub fn wire_paths(contours: &Contours, groups: &[Group], patience: &Patience) -> Option<Paths> {
    let mut groups_of: BTreeMap<usize, Vec<&Group>> = BTreeMap::new();
    for group in groups {
        for &contour in &group.contours {
            groups_of.entry(contour).or_default().push(group);
        }
    }
    let mut paths = Paths::default();
    for contour in &contours.list {
        for group in groups_of.get(&contour.id).into_iter().flatten() {
            lay(contour, group, patience, &mut paths)?;
        }
    }
    let neighbourhood = Neighbourhood::new(contours);
    paths.hits = neighbourhood.hits(&paths.loops, groups);
    paths.walls_cut = neighbourhood.walls_cut(groups);
    Some(paths)
}

/// All passes of one contour.
fn lay(contour: &Contour, group: &Group, patience: &Patience, paths: &mut Paths) -> Option<()> {
    // The contour in the direction of its paths, the kept material on the left.
    let walk = match contour.role {
        Role::Opening => contour.polyline.reversed(),
        Role::Outside | Role::Open => contour.polyline.clone(),
    };
    let mut before: Option<(&Pass, Vec<Polyline>)> = None;
    for pass in &group.passes {
        if patience.is_over() {
            return None;
        }
        let found = match offset_for(contour, pass.offset_mm) {
            Ok(found) => found,
            Err(Refused { at, reason }) => {
                paths.refusals.push(Refusal {
                    contour: contour.id,
                    pass: pass.pass,
                    at,
                    reason,
                });
                before = None;
                continue;
            }
        };
        report_reach(contour, &walk, group, pass, &found.loops, paths);
        let met = before.map(|(earlier, loops)| Before::new(earlier, &loops, pass));
        for polyline in &found.loops {
            let along = met
                .as_ref()
                .and_then(|met| met.met_along(polyline, pass.reach_mm));
            let (engagement, excess) = along.unwrap_or_else(|| (full_slot(polyline), Vec::new()));
            paths.overloads.extend(excess.into_iter().map(|e| Overload {
                contour: contour.id,
                pass: pass.pass,
                at: e.at,
                met_mm: e.met_mm,
                meant_mm: e.meant_mm,
            }));
            let (polyline, engagement) = match group.corners {
                CornerRun::Rolled => (polyline.clone(), engagement),
                CornerRun::Sharp { limit } => sharpened(
                    polyline,
                    &engagement,
                    &SegmentIndex::of([&walk]),
                    pass.offset_mm,
                    limit,
                ),
            };
            paths.loops.push(WireLoop {
                contour: contour.id,
                group: group.group,
                pass: pass.pass,
                length_mm: polyline.length(),
                polyline,
                verified_mm: found.verified_mm,
                engagement,
            });
        }
        before = Some((pass, found.loops));
    }
    Some(())
}

/// Offsets a contour to the side where its material is not kept.
pub(super) fn offset_for(contour: &Contour, offset_mm: f64) -> Result<Offset, Refused> {
    match contour.role {
        Role::Outside => offset(&contour.polyline, offset_mm),
        Role::Opening => offset(&contour.polyline, -offset_mm),
        Role::Open => Err(Refused {
            at: contour
                .polyline
                .vertices
                .first()
                .map_or_else(Point::default, |v| v.at),
            reason: "the contour is open: it has no side to keep".to_owned(),
        }),
    }
}

/// Splits and vanishings of every pass; what is left over, of the last.
fn report_reach(
    contour: &Contour,
    walk: &Polyline,
    group: &Group,
    pass: &Pass,
    loops: &[Polyline],
    paths: &mut Paths,
) {
    let last = group.passes.last().is_some_and(|last| last.pass == pass.pass);
    let may_stay_round = group.inside_radius_mm.is_some_and(|mm| pass.reach_mm <= mm);
    let unreached = |place: &Place| Unreached {
        contour: contour.id,
        at: place.at,
        area_mm2: place.area_mm2,
        deviation_mm: place.deviation_mm,
        kind: place.kind,
        tolerance_mm: match place.kind {
            UnreachedKind::SharpCorner | UnreachedKind::SmallRadius if may_stay_round => None,
            _ => group.tolerance_mm,
        },
    };
    if loops.is_empty() {
        let neck = roomiest(contour, pass.offset_mm);
        paths.vanished.push(Vanished {
            contour: contour.id,
            pass: pass.pass,
            neck,
        });
        let whole = Place {
            at: neck.at,
            area_mm2: contour.area_mm2,
            deviation_mm: 0.5 * neck.width_mm,
            kind: UnreachedKind::Vanished,
            necks: Vec::new(),
        };
        paths.unreached.extend(last.then(|| unreached(&whole)));
        return;
    }
    if !last && loops.len() == 1 {
        return;
    }
    let places = places(walk, loops, pass.offset_mm);
    if loops.len() > 1 {
        paths.splits.push(Split {
            contour: contour.id,
            pass: pass.pass,
            loops: loops.len(),
            necks: places
                .iter()
                .flat_map(|place| place.necks.iter().copied())
                .collect(),
        });
    }
    if last {
        paths.unreached.extend(places.iter().map(unreached));
    }
}

/// Where the wire would have most room in a contour that has none for `offset_mm`: the largest offset that
/// leaves a loop, found by halving until the width is known to the accuracy of the paths.
fn roomiest(contour: &Contour, offset_mm: f64) -> Neck {
    let (mut fits, mut too_wide) = (0.0, offset_mm);
    let mut at = contour.bounds.center();
    while too_wide - fits > 0.1 * PATH_MM {
        let middle = 0.5 * (fits + too_wide);
        match offset_for(contour, middle) {
            Ok(found) if !found.loops.is_empty() => {
                at = found.loops[0].bounds().center();
                fits = middle;
            }
            _ => too_wide = middle,
        }
    }
    Neck {
        at,
        width_mm: fits + too_wide,
        needed_mm: 2.0 * offset_mm,
    }
}
