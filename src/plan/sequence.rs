//! The order of cutting: what sits inside another contour is cut before it, each contour rough first; a stop before each
//! piece comes free.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::Plan;
use crate::job::TabFace;
use crate::path::{PieceKind, Removal, Separation, WireLoop};

/// One step, in the order of cutting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Number of the contour.
    pub contour: usize,
    /// Pass that it belongs to, from 1.
    pub pass: usize,
    /// What is done.
    pub kind: StepKind,
    /// Path cut in it, mm.
    pub length_mm: f64,
    /// Length × thickness ÷ expected area rate, or the book's time for what is done by hand, min.
    pub minutes: f64,
    /// When it begins, min from the first step; threading and set-up are left aside.
    pub from_minutes: f64,
    /// The piece that it is about, an index into [`crate::path::Paths::separations`].
    pub separation: Option<usize>,
}

/// What is done in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StepKind {
    /// The slug is cleared away before the wall is cut.
    Coreless,
    /// The rough pass, up to the tab where there is one.
    Rough,
    /// A later pass along the wall.
    Skim,
    /// The machine stops, and somebody comes to hold the piece.
    Stop,
    /// The tab is cut through.
    CutOff,
    /// The face where the tab stood is skimmed.
    SkimTab,
    /// The piece is taken out.
    Remove,
}

impl StepKind {
    /// Whether the wire runs by itself meanwhile.
    pub const fn is_cutting(self) -> bool {
        matches!(self, Self::Coreless | Self::Rough | Self::Skim | Self::SkimTab)
    }

    /// Whether somebody has to stand by.
    pub const fn is_attended(self) -> bool {
        !self.is_cutting()
    }
}

impl Plan {
    /// The steps in the order of cutting: the deepest contours first, so that no part comes free before its openings are
    /// cut; contours of one depth by number.
    ///
    /// An opening is roughed to its tab; the slug is held, cut off and taken out, and then the whole contour is skimmed. An
    /// outside contour is roughed and skimmed up to its tab; then the part is held and cut off. Leads are no steps.
    pub fn sequence(&self) -> Vec<Step> {
        let depth = |contour: usize| {
            let list = &self.inspection.contours.list;
            list.get(contour - 1).map_or(0, |contour| contour.depth)
        };
        let mut loops: Vec<(usize, &WireLoop)> = self.paths.loops.iter().enumerate().collect();
        loops.sort_by_key(|(_, wire)| (Reverse(depth(wire.contour)), wire.contour, wire.pass));
        let separations = self.paths.separations.iter().enumerate();
        let mut writer = Writer {
            plan: self,
            separation_of: separations.map(|(i, s)| (s.piece.wire_loop, i)).collect(),
            steps: Vec::new(),
        };
        for of_contour in loops.chunk_by(|(_, a), (_, b)| a.contour == b.contour) {
            writer.contour(of_contour);
        }
        let mut from_minutes = 0.0;
        for step in &mut writer.steps {
            step.from_minutes = from_minutes;
            from_minutes += step.minutes;
        }
        writer.steps
    }
}

struct Writer<'a> {
    plan: &'a Plan,
    separation_of: BTreeMap<usize, usize>,
    steps: Vec<Step>,
}

impl<'a> Writer<'a> {
    /// All passes of one contour, and what comes free.
    fn contour(&mut self, loops: &[(usize, &'a WireLoop)]) {
        let (rough, skims): (Vec<_>, Vec<_>) = loops.iter().partition(|(_, wire)| wire.pass == 1);
        let mut parts: Vec<(usize, &Separation, &WireLoop)> = Vec::new();
        for &(index, wire) in rough {
            let found = self.separation_of.get(&index);
            let held = found.and_then(|&i| Some((i, self.plan.paths.separations.get(i)?)));
            let Some((i, separation)) = held else {
                self.cut(StepKind::Rough, wire, wire.length_mm, None);
                continue;
            };
            let tab_mm = separation.tab().map_or(0.0, |tab| tab.length_mm);
            if let Removal::Coreless(coreless) = &separation.removal {
                self.cut(StepKind::Coreless, wire, coreless.length_mm, Some(i));
                self.cut(StepKind::Rough, wire, wire.length_mm, None);
                continue;
            }
            if separation.piece.kind == PieceKind::Part {
                if separation.tab().is_none() {
                    self.by_hand(StepKind::Stop, wire, 0.0, i);
                }
                self.cut(StepKind::Rough, wire, wire.length_mm - tab_mm, Some(i));
                parts.push((i, separation, wire));
                continue;
            }
            self.cut(StepKind::Rough, wire, wire.length_mm - tab_mm, Some(i));
            self.by_hand(StepKind::Stop, wire, 0.0, i);
            self.cut_off(separation, wire, i);
            self.by_hand(StepKind::Remove, wire, 0.0, i);
        }
        // A part stays on its tab while it is skimmed.
        let kept_mm = parts.iter().filter_map(|(_, s, _)| Some(s.tab()?.length_mm));
        let kept_mm: f64 = kept_mm.sum();
        for &(_, wire) in &skims {
            let around = wire.polyline.area() > 0.0;
            let left_mm = if around { kept_mm } else { 0.0 };
            self.cut(StepKind::Skim, wire, wire.length_mm - left_mm, None);
        }
        for (i, separation, wire) in parts {
            if let Some(tab) = separation.tab() {
                self.by_hand(StepKind::Stop, wire, 0.0, i);
                self.cut_off(separation, wire, i);
                if separation.face == TabFace::Skimmed {
                    for &(_, skim) in skims.iter().filter(|(_, skim)| skim.polyline.area() > 0.0) {
                        self.cut(StepKind::SkimTab, skim, tab.length_mm, Some(i));
                    }
                }
            }
            self.by_hand(StepKind::Remove, wire, 0.0, i);
        }
    }

    fn cut_off(&mut self, separation: &Separation, wire: &WireLoop, index: usize) {
        if let Some(tab) = separation.tab() {
            self.by_hand(StepKind::CutOff, wire, tab.length_mm, index);
        }
    }

    /// A step in which the wire runs along `length_mm`.
    fn cut(&mut self, kind: StepKind, wire: &WireLoop, length_mm: f64, separation: Option<usize>) {
        let group = self.plan.groups.iter().find(|group| group.group == wire.group);
        let pass = group.and_then(|group| group.passes.iter().find(|pass| pass.pass == wire.pass));
        let Some(pass) = pass else { return };
        self.steps.push(Step {
            contour: wire.contour,
            pass: wire.pass,
            kind,
            length_mm,
            minutes: length_mm * self.plan.ask.thickness_mm / pass.area_rate_mm2_min.expected,
            from_minutes: 0.0,
            separation,
        });
    }

    /// A step that somebody does, in the book's time.
    fn by_hand(&mut self, kind: StepKind, wire: &WireLoop, length_mm: f64, separation: usize) {
        let minutes = match kind {
            StepKind::CutOff => self.plan.times.tab_cut_off_min.value(),
            StepKind::Remove => self.plan.times.slug_handling_min.value(),
            _ => 0.0,
        };
        self.steps.push(Step {
            contour: wire.contour,
            pass: wire.pass,
            kind,
            length_mm,
            minutes,
            from_minutes: 0.0,
            separation: Some(separation),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::plan::plan_job;
    use crate::shop::Book;

    /// A plate of 40 × 30 mm with a round opening, Ø4 or Ø12, cut in two passes, with more in the job.
    fn plan(bytes: &[u8], more: &str) -> Plan {
        let book = Book::built_in().expect("the built-in book is sound");
        let job = format!("material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 2\n{more}");
        let job = JobFile::parse(&job).expect("a sound job");
        plan_job("plate.dxf", bytes, &job, &book).expect("a sound drawing")
    }

    const SMALL: &[u8] = include_bytes!("../../fixtures/checks/slug-may-jam-fires.dxf");
    const LARGE: &[u8] = include_bytes!("../../fixtures/checks/slug-may-jam-clean.dxf");

    fn kinds(plan: &Plan) -> Vec<(usize, StepKind)> {
        plan.sequence()
            .iter()
            .map(|step| (step.contour, step.kind))
            .collect()
    }

    #[test]
    fn a_slug_is_taken_out_before_the_skims_and_a_part_after_them() {
        use StepKind::{CutOff, Remove, Rough, Skim, SkimTab, Stop};
        let opening = [(2, Rough), (2, Stop), (2, CutOff), (2, Remove), (2, Skim)];
        let part = [(1, Rough), (1, Skim), (1, Stop), (1, CutOff), (1, Remove)];
        assert_eq!(kinds(&plan(LARGE, "")), [opening, part].concat());
        let skimmed = [
            (1, Rough),
            (1, Skim),
            (1, Stop),
            (1, CutOff),
            (1, SkimTab),
            (1, Remove),
        ];
        let clamped = plan(LARGE, "tab_face = \"skimmed\"");
        assert_eq!(kinds(&clamped), [&opening[..], &skimmed[..]].concat());
        let loose = [(1, Stop), (1, Rough), (1, Skim), (1, Remove)];
        let opening = [(2, Rough), (2, Stop), (2, Remove), (2, Skim)];
        assert_eq!(kinds(&plan(LARGE, "tab = \"none\"")), [opening, loose].concat());
    }

    #[test]
    fn a_slug_that_is_cleared_away_asks_for_no_stop() {
        use StepKind::{Coreless, Rough, Skim};
        let steps = kinds(&plan(SMALL, ""));
        assert_eq!(steps[..3], [(2, Coreless), (2, Rough), (2, Skim)]);
        let stopped = kinds(&plan(SMALL, "slug = \"stop\""));
        assert!(stopped.contains(&(2, StepKind::Stop)) && !stopped.contains(&(2, Coreless)));
    }

    /// Whatever tabs leave, the loops are cut whole in the end; the clock runs through, and what is done by hand takes the
    /// 3 min each of the book.
    #[test]
    fn all_of_each_loop_is_cut_and_the_clock_runs_through() {
        let plan = plan(LARGE, "tab_face = \"skimmed\"");
        let steps = plan.sequence();
        for wire in &plan.paths.loops {
            let of_loop = |step: &&Step| (step.contour, step.pass) == (wire.contour, wire.pass);
            let cut_mm: f64 = steps.iter().filter(of_loop).map(|step| step.length_mm).sum();
            assert!(
                (cut_mm - wire.length_mm).abs() < 1e-9,
                "{cut_mm} of {}",
                wire.length_mm
            );
        }
        let mut clock = 0.0;
        for step in &steps {
            assert!((step.from_minutes - clock).abs() < 1e-9);
            clock += step.minutes;
            let by_hand = matches!(step.kind, StepKind::CutOff | StepKind::Remove);
            assert_eq!(by_hand && step.minutes == 3.0, by_hand);
            assert_eq!(step.kind.is_attended(), by_hand || step.kind == StepKind::Stop);
        }
        assert!(steps.len() > 8 && clock > 60.0);
    }
}
