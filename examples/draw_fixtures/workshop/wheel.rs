//! Toothed wheels: a tooth is a land on the tip circle, two flanks, and a root arc, all given by angles.

use std::f64::consts::{PI, TAU};

use super::answer::Expected;

/// A wheel. The angles of one pitch, in the order of a walk counter-clockwise: `root`, `rise`, `land`, `fall`;
/// they add up to 2·pi over `teeth`. A negative `rise` is an undercut tooth. Radians, mm.
pub(super) struct Wheel {
    pub(super) teeth: usize,
    pub(super) tip_radius: f64,
    pub(super) root_radius: f64,
    pub(super) root: f64,
    pub(super) rise: f64,
    pub(super) land: f64,
    pub(super) fall: f64,
    /// Radius of the flanks, which swell outward; `None` for straight ones.
    pub(super) flank_radius: Option<f64>,
}

/// A piece of the outline of a wheel.
pub(super) enum Piece {
    /// Straight from here to there.
    Line((f64, f64), (f64, f64)),
    /// Counter-clockwise about the wheel's centre: radius, from and to in degrees.
    Arc(f64, (f64, f64)),
}

impl Wheel {
    /// Vertices with bulges, counter-clockwise. Arcs of no width are left out.
    pub(super) fn outline(&self) -> Vec<(f64, f64, f64)> {
        let mut outline = Vec::new();
        for tooth in 0..self.teeth {
            let [root, rise, land, fall] = self.angles(tooth);
            outline.push(vertex(self.root_radius, root, bulge(self.root)));
            outline.push(vertex(self.root_radius, rise, self.flank_bulge(self.rise)));
            outline.push(vertex(self.tip_radius, land, bulge(self.land)));
            outline.push(vertex(self.tip_radius, fall, self.flank_bulge(self.fall)));
        }
        outline.dedup_by(|next, last| (next.0, next.1) == (last.0, last.1));
        outline
    }

    /// The same outline as single lines and arcs, for straight flanks.
    pub(super) fn pieces(&self) -> Vec<Piece> {
        let at = |radius: f64, angle: f64| (radius * angle.cos(), radius * angle.sin());
        let mut pieces = Vec::new();
        for tooth in 0..self.teeth {
            let [root, rise, land, fall] = self.angles(tooth);
            let next = self.angles(tooth + 1)[0];
            pieces.push(Piece::Arc(
                self.root_radius,
                (root.to_degrees(), rise.to_degrees()),
            ));
            pieces.push(Piece::Line(at(self.root_radius, rise), at(self.tip_radius, land)));
            pieces.push(Piece::Arc(
                self.tip_radius,
                (land.to_degrees(), fall.to_degrees()),
            ));
            pieces.push(Piece::Line(at(self.tip_radius, fall), at(self.root_radius, next)));
        }
        pieces
    }

    /// Perimeter and area: sectors for root and land, a triangle to the centre for each flank (law of
    /// cosines for its length), and a circular segment on each swelling flank.
    pub(super) fn expected(&self, layer: &'static str) -> Expected {
        let (tip, root, n) = (self.tip_radius, self.root_radius, self.teeth as f64);
        let chord = |angle: f64| (tip * tip + root * root - 2.0 * tip * root * angle.cos()).sqrt();
        let (mut length, mut twice_area) = (
            tip * self.land + root * self.root,
            tip * tip * self.land + root * root * self.root,
        );
        for angle in [self.rise, self.fall] {
            twice_area += tip * root * angle.sin();
            if let Some(radius) = self.flank_radius {
                let sweep = 2.0 * (chord(angle) / (2.0 * radius)).asin();
                length += radius * sweep;
                twice_area += radius * radius * (sweep - sweep.sin());
            } else {
                length += chord(angle);
            }
        }
        Expected {
            layer,
            purpose: "cut",
            role: "outside",
            count: 1,
            perimeter_mm: n * length,
            area_mm2: n * twice_area / 2.0,
            formula: if self.flank_radius.is_some() {
                "n teeth: each tip·land + root·rootangle + 2·R·g; half of tip²·land + root²·rootangle + \
                 2·tip·root·sin(flank) + 2·R²·(g - sin g), g = 2·asin(flank chord / (2·R))"
            } else {
                "n teeth: each tip·land + root·rootangle + both flanks by the law of cosines; half of tip²·land + \
                 root²·rootangle + tip·root·(sin(rise) + sin(fall))"
            },
        }
    }

    fn angles(&self, tooth: usize) -> [f64; 4] {
        let root = TAU * tooth as f64 / self.teeth as f64 + PI / 2.0;
        let rise = root + self.root;
        let land = rise + self.rise;
        [root, rise, land, land + self.land]
    }

    fn flank_bulge(&self, angle: f64) -> f64 {
        let (tip, root) = (self.tip_radius, self.root_radius);
        let chord = (tip * tip + root * root - 2.0 * tip * root * angle.cos()).sqrt();
        self.flank_radius
            .map_or(0.0, |radius| bulge(2.0 * (chord / (2.0 * radius)).asin()))
    }
}

/// The windows that leave `spokes` straight spokes of the same width between hub and rim.
pub(super) struct Crossings {
    pub(super) spokes: usize,
    pub(super) rim_radius: f64,
    pub(super) hub_radius: f64,
    pub(super) half_width: f64,
}

impl Crossings {
    /// One window, vertices with bulges, counter-clockwise.
    pub(super) fn window(&self, index: usize) -> Vec<(f64, f64, f64)> {
        let start = TAU * index as f64 / self.spokes as f64;
        let pitch = TAU / self.spokes as f64;
        let rim = (self.half_width / self.rim_radius).asin();
        let hub = (self.half_width / self.hub_radius).asin();
        vec![
            vertex(self.rim_radius, start + rim, bulge(pitch - 2.0 * rim)),
            vertex(self.rim_radius, start + pitch - rim, 0.0),
            vertex(self.hub_radius, start + pitch - hub, -bulge(pitch - 2.0 * hub)),
            vertex(self.hub_radius, start + hub, 0.0),
        ]
    }

    /// All windows: the ring between hub and rim, less the part of each spoke that lies in it.
    pub(super) fn expected(&self, layer: &'static str) -> Expected {
        let (h, n) = (self.half_width, self.spokes as f64);
        // Of the strip |y| < h, x > 0, the part within radius r.
        let strip = |r: f64| h * (r * r - h * h).sqrt() + r * r * (h / r).asin();
        let side = |r: f64| (r * r - h * h).sqrt();
        let arc = |r: f64| r * (TAU / n - 2.0 * (h / r).asin());
        let (rim, hub) = (self.rim_radius, self.hub_radius);
        Expected {
            layer,
            purpose: "cut",
            role: "opening",
            count: self.spokes,
            perimeter_mm: arc(rim) + arc(hub) + 2.0 * (side(rim) - side(hub)),
            area_mm2: PI * (rim * rim - hub * hub) / n - (strip(rim) - strip(hub)),
            formula: "window: rim and hub arcs of 2·pi/n - 2·asin(h/r), two sides sqrt(R²-h²) - sqrt(r²-h²); \
                      pi·(R²-r²)/n - s(R) + s(r), s(r) = h·sqrt(r²-h²) + r²·asin(h/r)",
        }
    }
}

/// The bulge of an arc of this sweep, radians.
pub(super) fn bulge(sweep: f64) -> f64 {
    (sweep / 4.0).tan()
}

fn vertex(radius: f64, angle: f64, bulge: f64) -> (f64, f64, f64) {
    (radius * angle.cos(), radius * angle.sin(), bulge)
}
