//! A spade hand for a setting dial, upright, its arbor at the origin: a round boss, a straight stem, and a leaf.
//! Lines and arcs, tangent throughout, so that a parallel curve is the same hand with other radii.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use super::answer::Expected;
use super::wheel::bulge;

/// The right half of a hand, from bottom to tip. mm.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    /// Radius of the boss about the arbor.
    pub(super) boss: f64,
    /// Fillet between boss and stem.
    pub(super) boss_fillet: f64,
    /// Half the width of the stem.
    pub(super) stem: f64,
    /// Fillet between stem and leaf.
    pub(super) neck_fillet: f64,
    /// Height where the neck ends and the leaf begins.
    pub(super) neck: f64,
    /// Quarter round at the bottom of the leaf.
    pub(super) shoulder: f64,
    /// Long side of the leaf.
    pub(super) flank: f64,
    /// Round of the tip.
    pub(super) tip: f64,
}

/// What follows from the measures: the angles and heights at which the pieces meet.
struct Joints {
    /// Height of the centre of the fillet at the boss.
    fillet_y: f64,
    /// Angle of the boss at which the fillet takes over.
    boss_angle: f64,
    /// Height of the widest place of the leaf.
    wide_y: f64,
    /// x of the centre of the flank (negative: it lies on the other side).
    flank_x: f64,
    /// Height of the centre of the tip.
    tip_y: f64,
    /// Angle at which the tip takes over from the flank.
    tip_angle: f64,
}

impl Hand {
    /// The hand within this one at a distance of `clearance` everywhere.
    pub(super) fn inset(self, clearance: f64) -> Self {
        Self {
            boss: self.boss - clearance,
            boss_fillet: self.boss_fillet + clearance,
            stem: self.stem - clearance,
            neck_fillet: self.neck_fillet + clearance,
            neck: self.neck + clearance,
            shoulder: self.shoulder - clearance,
            flank: self.flank - clearance,
            tip: self.tip - clearance,
        }
    }

    fn joints(self) -> Joints {
        let across = self.stem + self.boss_fillet;
        let fillet_y = ((self.boss + self.boss_fillet).powi(2) - across * across).sqrt();
        let flank_x = self.stem + self.neck_fillet + self.shoulder - self.flank;
        let rise = ((self.flank - self.tip).powi(2) - flank_x * flank_x).sqrt();
        let wide_y = self.neck + self.shoulder;
        Joints {
            fillet_y,
            boss_angle: fillet_y.atan2(across),
            wide_y,
            flank_x,
            tip_y: wide_y + rise,
            tip_angle: rise.atan2(-flank_x),
        }
    }

    /// Vertices with bulges, counter-clockwise from the lowest point.
    pub(super) fn outline(self) -> Vec<(f64, f64, f64)> {
        let j = self.joints();
        let (sin, cos) = j.boss_angle.sin_cos();
        let (tip_sin, tip_cos) = j.tip_angle.sin_cos();
        let waist = self.stem + self.neck_fillet;
        let quarter = bulge(FRAC_PI_2);
        // Right half: each vertex with the bulge of the piece that leads on from it.
        let right = [
            (0.0, -self.boss, bulge(j.boss_angle + FRAC_PI_2)),
            (self.boss * cos, self.boss * sin, -bulge(j.boss_angle)),
            (self.stem, j.fillet_y, 0.0),
            (self.stem, self.neck - self.neck_fillet, -quarter),
            (waist, self.neck, quarter),
            (waist + self.shoulder, j.wide_y, bulge(j.tip_angle)),
            (
                self.tip * tip_cos,
                j.tip_y + self.tip * tip_sin,
                bulge(FRAC_PI_2 - j.tip_angle),
            ),
        ];
        let mut outline = right.to_vec();
        outline.push((0.0, j.tip_y + self.tip, right[6].2));
        // The left half is the right one walked back: piece k leads to vertex k.
        for k in (1..right.len()).rev() {
            outline.push((-right[k].0, right[k].1, right[k - 1].2));
        }
        outline
    }

    /// Perimeter and area, piece by piece.
    pub(super) fn expected(self, layer: &'static str, role: &'static str) -> Expected {
        let j = self.joints();
        let stem_length = self.neck - self.neck_fillet - j.fillet_y;
        let boss_sweep = j.boss_angle + FRAC_PI_2;
        let half_length = self.boss * boss_sweep
            + self.boss_fillet * j.boss_angle
            + stem_length
            + FRAC_PI_2 * (self.neck_fillet + self.shoulder)
            + self.flank * j.tip_angle
            + self.tip * (FRAC_PI_2 - j.tip_angle);
        let waist = self.stem + self.neck_fillet;
        let boss = 0.5 * self.boss.powi(2) * boss_sweep + 0.5 * (self.stem + self.boss_fillet) * j.fillet_y
            - 0.5 * self.boss_fillet.powi(2) * j.boss_angle;
        let neck = waist * self.neck_fillet - FRAC_PI_4 * self.neck_fillet.powi(2);
        let shoulder = waist * self.shoulder + FRAC_PI_4 * self.shoulder.powi(2);
        let leaf = 0.5 * self.flank.powi(2) * j.tip_angle - 0.5 * -j.flank_x * (j.tip_y - j.wide_y)
            + 0.5 * self.tip.powi(2) * (FRAC_PI_2 - j.tip_angle);
        Expected {
            layer,
            purpose: "cut",
            role,
            count: 1,
            perimeter_mm: 2.0 * half_length,
            area_mm2: 2.0 * (boss + self.stem * stem_length + neck + shoulder + leaf),
            formula: "twice the right half: arcs by radius times sweep, stem straight; boss sector + triangle to the \
                      fillet's centre - fillet sector, stem rectangle, neck and shoulder as rectangle -/+ quarter \
                      disc, leaf as flank sector - triangle + tip sector",
        }
    }
}
