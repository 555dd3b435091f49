//! The heights at which curves lie, each flat by itself: seen from above they are one profile, in the part perhaps not.

use std::collections::BTreeMap;

use super::{Curve, CurveFact, CurveFactKind};
use crate::geometry::Point;
use crate::tolerance::LIES_FLAT_MM;

/// Curves counted by the height at which they lie.
#[derive(Default)]
pub(super) struct Levels(BTreeMap<i64, Level>);

#[derive(Clone, Copy)]
struct Level {
    height_mm: f64,
    curves: usize,
    first: usize,
}

impl Levels {
    /// Counts curve number `curve`.
    pub(super) fn count(&mut self, height_mm: f64, curve: usize) {
        let step = (height_mm / LIES_FLAT_MM).round() as i64;
        let level = self.0.entry(step).or_insert(Level {
            height_mm,
            curves: 0,
            first: curve,
        });
        level.curves += 1;
    }

    /// Takes the levels of curves that follow, of which the first becomes number `first`.
    pub(super) fn append(&mut self, later: Self, first: usize) {
        for (step, more) in later.0 {
            let level = self.0.entry(step).or_insert(Level {
                curves: 0,
                first: first + more.first,
                ..more
            });
            level.curves += more.curves;
        }
    }

    /// Returns the facts of the levels other than the one at which most curves lie, lowest first.
    pub(super) fn into_facts(self, curves: &[Curve]) -> Vec<CurveFact> {
        let mut levels: Vec<Level> = Vec::new();
        let mut last_step = None;
        for (step, level) in self.0 {
            // Neighbouring steps are one level: their curves may lie less than a step apart.
            match levels.last_mut().filter(|_| last_step == Some(step - 1)) {
                Some(below) => {
                    below.curves += level.curves;
                    below.first = below.first.min(level.first);
                }
                None => levels.push(level),
            }
            last_step = Some(step);
        }
        let usual = levels.iter().copied().max_by(|a, b| {
            let nearer = || b.height_mm.abs().total_cmp(&a.height_mm.abs());
            a.curves.cmp(&b.curves).then_with(nearer)
        });
        let Some(usual) = usual else { return Vec::new() };
        let others = levels.iter().filter(|level| level.height_mm != usual.height_mm);
        others
            .map(|level| {
                let curve = &curves[level.first];
                CurveFact {
                    kind: CurveFactKind::OtherHeight {
                        height_mm: level.height_mm,
                        usual_mm: usual.height_mm,
                        curves: level.curves,
                    },
                    at: curve.polyline.vertices.first().map_or(Point::default(), |v| v.at),
                    origin: curve.origin,
                }
            })
            .collect()
    }
}
