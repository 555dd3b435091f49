//! From contours and passes to all wire-centre paths of a job.

use std::collections::BTreeMap;

use super::{Neck, Offset, Paths, Refusal, Refused, Split, Vanished, WireLoop, offset};
use crate::contour::{Contour, Contours, Role};
use crate::geometry::Point;
use crate::pass::{Group, Pass};
use crate::tolerance::PATH_MM;

/// The paths of every pass of every contour in `groups`, each offset from the contour itself, never from the
/// pass before. Near-linear in the segments of each contour.
pub fn wire_paths(contours: &Contours, groups: &[Group]) -> Paths {
    let mut groups_of: BTreeMap<usize, Vec<&Group>> = BTreeMap::new();
    for group in groups {
        for &contour in &group.contours {
            groups_of.entry(contour).or_default().push(group);
        }
    }
    let mut paths = Paths::default();
    for contour in &contours.list {
        for group in groups_of.get(&contour.id).into_iter().flatten() {
            for pass in &group.passes {
                match offset_for(contour, pass.offset_mm) {
                    Ok(found) => take(&mut paths, contour, group.group, pass, found),
                    Err(Refused { at, reason }) => {
                        paths.refusals.push(Refusal {
                            contour: contour.id,
                            pass: pass.pass,
                            at,
                            reason,
                        });
                    }
                }
            }
        }
    }
    paths
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

fn take(paths: &mut Paths, contour: &Contour, group: usize, pass: &Pass, found: Offset) {
    match found.loops.len() {
        0 => paths.vanished.push(Vanished {
            contour: contour.id,
            pass: pass.pass,
            neck: roomiest(contour, pass.offset_mm),
        }),
        1 => {}
        loops => paths.splits.push(Split {
            contour: contour.id,
            pass: pass.pass,
            loops,
            necks: Vec::new(),
        }),
    }
    let verified_mm = found.verified_mm;
    paths
        .loops
        .extend(found.loops.into_iter().map(|polyline| WireLoop {
            contour: contour.id,
            group,
            pass: pass.pass,
            length_mm: polyline.length(),
            polyline,
            verified_mm,
        }));
}

/// Where the wire would have most room in a contour that has none for `offset_mm`: the largest offset that
/// leaves a loop, found by halving until the width is known to the accuracy of the paths.
fn roomiest(contour: &Contour, offset_mm: f64) -> Neck {
    let (mut fits, mut too_wide) = (0.0, offset_mm);
    let mut at = contour.bounds.center();
    while too_wide - fits > PATH_MM {
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
        width_mm: 2.0 * fits,
        needed_mm: 2.0 * offset_mm,
    }
}
