//! Computes what a reading means: how much is cut, and what is lost if another one is right.

use super::scene::{Scene, as_nested};
use super::{Interpretation, KeptLoss, QuestionCase};
use crate::contour::Role;
use crate::id::ContourId;
use crate::job::Purpose;

/// Computes the consequences of the readings of a case, and puts those after the first in the order of what they would lose.
pub(super) fn weigh(
    scene: &Scene<'_>,
    case: &QuestionCase,
    readings: Vec<Vec<(ContourId, Purpose)>>,
) -> Vec<Interpretation> {
    let views: Vec<ReadingView<'_>> = readings
        .iter()
        .map(|purposes| ReadingView { scene, purposes })
        .collect();
    let weighed = views.iter().map(|view| Interpretation {
        purposes: view.purposes.to_vec(),
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
    let mut weighed: Vec<Interpretation> = weighed.collect();
    weighed[1..].sort_by(|a, b| {
        let (a, b) = (a.loss.in_order(), b.loss.in_order());
        a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
    });
    weighed
}

impl KeptLoss {
    fn in_order(&self) -> (f64, f64) {
        (self.area_mm2, self.kerf_along_mm)
    }
}

/// The contours as one reading has them.
struct ReadingView<'a> {
    scene: &'a Scene<'a>,
    purposes: &'a [(ContourId, Purpose)],
}

impl ReadingView<'_> {
    /// Returns the purpose of a contour: a side where it is cut.
    fn purpose(&self, id: ContourId) -> Purpose {
        let given = self.purposes.iter().find(|(other, _)| *other == id);
        match given {
            Some(&(_, purpose)) => purpose,
            None => self.followed(id),
        }
    }

    /// Returns the side of one that follows from those around it.
    fn followed(&self, id: ContourId) -> Purpose {
        let contour = self.scene.contour(id);
        if contour.purpose != Purpose::Cut || contour.role == Role::Open {
            return contour.purpose;
        }
        if contour.side_from == crate::contour::SideFrom::Given {
            return as_nested(contour).1;
        }
        let in_material = contour
            .parent
            .is_some_and(|around| self.is_material_inside(around));
        if in_material {
            Purpose::Opening
        } else {
            Purpose::Part
        }
    }

    /// Whether there is material directly inside an edge.
    fn is_material_inside(&self, id: ContourId) -> bool {
        let contour = self.scene.contour(id);
        match self.purpose(id) {
            Purpose::Part => true,
            Purpose::Opening => false,
            purpose if purpose.is_edge() => contour.role == Role::Outside,
            _ => contour
                .parent
                .is_some_and(|around| self.is_material_inside(around)),
        }
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
            let stays = contour.parent.is_some_and(|around| other.is_material_inside(around));
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

fn is_cut(purpose: Purpose) -> bool {
    purpose == Purpose::Cut || purpose.is_side()
}
