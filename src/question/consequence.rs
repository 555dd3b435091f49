//! Computes what a reading means: how much is cut, and what is lost if another one is right.

use std::collections::{BTreeMap, BTreeSet};

use super::scene::{Scene, as_nested};
use super::{Interpretation, KeptLoss, Purposed, QuestionCase};
use crate::contour::{Contour, Role, SideFrom};
use crate::id::ContourId;
use crate::job::Purpose;

/// Computes the consequences of the readings of a case.
pub(super) fn weigh(scene: &Scene<'_>, case: &QuestionCase, readings: &[Purposed]) -> Vec<Interpretation> {
    let views: Vec<ReadingView<'_>> = readings
        .iter()
        .map(|purposes| ReadingView::new(scene, case, purposes))
        .collect();
    let weighed = views.iter().zip(readings).map(|(view, purposes)| Interpretation {
        purposes: purposes.clone(),
        stays: Vec::new(),
        cut_length_mm: view.cut_length_mm(case),
        loss: views
            .iter()
            .map(|other| view.loss(other, case))
            .max_by(|a, b| {
                a.in_order()
                    .partial_cmp(&b.in_order())
                    .unwrap_or(std::cmp::Ordering::Equal)
            })
            .unwrap_or_default(),
    });
    weighed.collect()
}

/// Puts the readings after the first in the order of what they would lose.
pub(super) fn sort(readings: &mut [Interpretation]) {
    if let [_, others @ ..] = readings {
        others.sort_by(|a, b| {
            let (a, b) = (a.loss.in_order(), b.loss.in_order());
            a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
        });
    }
}

impl KeptLoss {
    fn in_order(&self) -> (f64, f64) {
        (self.area_mm2, self.kerf_along_mm)
    }
}

/// The contours of a case as one reading has them.
struct ReadingView<'a> {
    scene: &'a Scene<'a>,
    /// What each of them is for, a side where it is cut; and whether there is material directly inside it.
    read: BTreeMap<ContourId, (Purpose, bool)>,
}

impl<'a> ReadingView<'a> {
    fn new(scene: &'a Scene<'a>, case: &QuestionCase, purposes: &[(ContourId, Purpose)]) -> Self {
        let given: BTreeMap<ContourId, Purpose> = purposes.iter().copied().collect();
        // With the edges between them that are not cut: what is inside those hangs on them too.
        let mut ids: BTreeSet<ContourId> = case.contours.iter().copied().collect();
        for &id in &case.inside {
            let mut next = Some(id);
            while let Some(id) = next.filter(|id| ids.insert(*id)) {
                next = scene.contour(id).parent;
            }
        }
        let mut concerned: Vec<&Contour> = ids.into_iter().map(|id| scene.contour(id)).collect();
        // What is around goes before what is inside.
        concerned.sort_by_key(|contour| contour.depth);
        let mut view = Self {
            scene,
            read: BTreeMap::new(),
        };
        for contour in concerned {
            let around = scene
                .edge_around(contour)
                .is_some_and(|id| view.is_material_inside(id));
            let purpose = match given.get(&contour.id) {
                Some(Purpose::Cut) if contour.polyline.closed => side_in(around),
                Some(&purpose) => purpose,
                None => followed(contour, around),
            };
            let inside = match purpose {
                Purpose::Part => true,
                Purpose::Opening => false,
                purpose if purpose.is_edge() => !around,
                _ => around,
            };
            view.read.insert(contour.id, (purpose, inside));
        }
        view
    }

    /// Returns the purpose of a contour of the case, or of one that the case leaves as nested.
    fn purpose(&self, id: ContourId) -> Purpose {
        let read = self.read.get(&id);
        read.map_or_else(|| as_nested(self.scene.contour(id)).1, |(purpose, _)| *purpose)
    }

    /// Whether there is material directly inside an edge.
    fn is_material_inside(&self, id: ContourId) -> bool {
        let read = self.read.get(&id);
        read.map_or_else(
            || self.scene.contour(id).role == Role::Outside,
            |(_, inside)| *inside,
        )
    }

    fn cut_length_mm(&self, case: &QuestionCase) -> f64 {
        let concerned = case.contours.iter().chain(&case.inside);
        let cut = concerned.filter(|&&id| is_cut(self.purpose(id)));
        cut.map(|&id| self.scene.contour(id).perimeter_mm).sum()
    }

    /// Returns what is lost by this reading where `other` is right.
    fn loss(&self, other: &Self, case: &QuestionCase) -> KeptLoss {
        let mut loss = KeptLoss {
            depth_mm: Some(0.0),
            ..KeptLoss::default()
        };
        for &id in case.contours.iter().chain(&case.inside) {
            let (mine, right) = (self.purpose(id), other.purpose(id));
            if !is_cut(mine) || mine == right {
                continue;
            }
            let contour = self.scene.contour(id);
            let around = self.scene.edge_around(contour);
            let stays = around.is_some_and(|around| other.is_material_inside(around));
            // Where the other reading has no material either, nothing is lost.
            if !is_cut(right) && !stays {
                continue;
            }
            loss.kerf_along_mm += contour.perimeter_mm;
            if is_cut(right) || mine != Purpose::Opening {
                continue;
            }
            // What is inside drops, though only the openings in it should.
            let inner = self.scene.directly_inside(id).iter();
            let inner: Vec<ContourId> = inner
                .copied()
                .filter(|&id| other.purpose(id) == Purpose::Opening)
                .collect();
            let dropped: f64 = inner.iter().map(|&id| self.scene.contour(id).area_mm2).sum();
            loss.area_mm2 += contour.area_mm2 - dropped;
            let depth = match (self.scene.circle(id), &inner[..]) {
                (Some(outer), [one]) => {
                    let inner = self.scene.circle(*one).filter(|inner| inner.is_concentric(outer));
                    inner.map(|inner| outer.radius_mm - inner.radius_mm)
                }
                _ => None,
            };
            loss.depth_mm = loss.depth_mm.zip(depth).map(|(a, b)| a.max(b));
        }
        loss
    }
}

/// Returns the side of a contour that follows from those around it.
fn followed(contour: &Contour, in_material: bool) -> Purpose {
    if contour.purpose != Purpose::Cut || contour.role == Role::Open || contour.side_from == SideFrom::Given {
        return as_nested(contour).1;
    }
    side_in(in_material)
}

const fn side_in(material: bool) -> Purpose {
    if material { Purpose::Opening } else { Purpose::Part }
}

fn is_cut(purpose: Purpose) -> bool {
    purpose == Purpose::Cut || purpose.is_side()
}
