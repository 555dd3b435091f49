//! The order of cutting: what sits inside another contour is cut before it, each contour rough first.

use std::cmp::Reverse;

use super::Plan;
use crate::pass::PassKind;
use crate::path::WireLoop;

/// One loop of the wire, in the order of cutting. Threading, leads, tabs and stops between loops are no steps yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Number of the contour.
    pub contour: usize,
    /// Pass, from 1.
    pub pass: usize,
    /// Rough or skim.
    pub kind: PassKind,
    /// Length of the loop, mm.
    pub length_mm: f64,
    /// Length × thickness ÷ expected area rate, min.
    pub minutes: f64,
}

impl Plan {
    /// The loops in the order of cutting: the deepest contours first, so that no part falls off before its openings
    /// are cut; contours of one depth by number, the passes of each in turn.
    pub fn sequence(&self) -> Vec<Step> {
        let depth = |contour: usize| {
            self.inspection
                .contours
                .list
                .get(contour - 1)
                .map_or(0, |c| c.depth)
        };
        let mut loops: Vec<_> = self.paths.loops.iter().collect();
        loops.sort_by_key(|wire| (Reverse(depth(wire.contour)), wire.contour, wire.pass));
        let step = |wire: &WireLoop| {
            let group = self.groups.iter().find(|group| group.group == wire.group)?;
            let pass = group.passes.iter().find(|pass| pass.pass == wire.pass)?;
            Some(Step {
                contour: wire.contour,
                pass: wire.pass,
                kind: pass.kind,
                length_mm: wire.length_mm,
                minutes: wire.length_mm * self.ask.thickness_mm / pass.area_rate_mm2_min.expected,
            })
        };
        loops.into_iter().filter_map(step).collect()
    }
}
