//! Times the order of cutting: every operation of the machine, and the running clock.

use std::collections::BTreeMap;

use super::Plan;
use crate::cancel::checkpoint;
use crate::estimate::{Presence, Time};
use crate::geometry::Point;
use crate::id::{ContourId, LoopId, PassNo};
use crate::process::Operation;
use crate::shop::Threading;

pub use crate::process::OperationKind;

/// One operation with its times.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct TimedOperation {
    /// Number of the contour.
    pub contour: ContourId,
    /// Number of the loop in [`Toolpaths::loops`](crate::toolpath::Toolpaths::loops).
    pub wire_loop: LoopId,
    /// Pass that it belongs to, from 1.
    pub pass: PassNo,
    /// What is done.
    pub kind: OperationKind,
    /// Way in it, mm.
    pub length_mm: f64,
    /// Length cut × thickness ÷ expected area rate (of a lead-in: at the book's share of it), and the book's time for
    /// what is done beside, min.
    pub minutes: f64,
    /// What engagement, corners and wire breaks add while the wire runs, in proportion, min.
    pub slower_minutes: f64,
    /// When it begins, min from the first step; set-up is left aside. The last step ends with the expected machine
    /// time, where that is known.
    pub clock_minutes: f64,
    /// The operator has to be present.
    pub attended: bool,
    /// Where it begins.
    pub at: Point,
    /// The piece that it is about, an index into [`crate::process::Process::separations`].
    pub separation: Option<usize>,
}

impl TimedOperation {
    /// Returns the duration, min.
    pub fn takes_minutes(&self) -> f64 {
        self.minutes + self.slower_minutes
    }

    /// Returns who is there.
    pub fn presence(&self) -> Presence {
        if self.attended {
            Presence::Attended
        } else {
            Presence::Unattended
        }
    }
}

/// What a contour takes of a plan.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct ContourShare {
    /// Expected minutes of its steps, min.
    pub minutes: f64,
    /// Expected cost of one cut of all that is drawn, shared out by these minutes; `None` where there is no cost.
    pub cost: Option<f64>,
}

impl Plan {
    /// Returns what each contour takes of all that is drawn, cut once; the cost is shared out by time.
    pub fn contour_shares(&self) -> BTreeMap<ContourId, ContourShare> {
        let mut shares: BTreeMap<ContourId, ContourShare> = BTreeMap::new();
        for step in self.steps() {
            shares.entry(step.contour).or_default().minutes += step.takes_minutes();
        }
        let all_minutes: f64 = shares.values().map(|share| share.minutes).sum();
        let costs = self.estimate.costs.as_ref().filter(|_| all_minutes > 0.0);
        for share in shares.values_mut() {
            share.cost = costs.map(|costs| costs.cost_each.value.expected * share.minutes / all_minutes);
        }
        shares
    }

    /// The steps in the order of cutting, as `crate::process::operations` has them. An adjustment between passes that takes no
    /// time is no step.
    pub fn sequence(&self) -> Vec<TimedOperation> {
        self.steps().collect()
    }

    /// As [`Self::sequence`], one after the other.
    pub fn steps(&self) -> impl Iterator<Item = TimedOperation> + '_ {
        let slower = self.ordered_time.as_ref().map_or(0.0, |time| self.slower(time));
        let mut clock_minutes = 0.0;
        self.steps_alone().map(move |mut step| {
            if step.kind.is_cutting() || step.kind.is_lead() {
                step.slower_minutes = step.minutes * slower;
            }
            step.clock_minutes = clock_minutes;
            clock_minutes += step.takes_minutes();
            step
        })
    }

    /// The steps without what is slower, and without the clock.
    fn steps_alone(&self) -> impl Iterator<Item = TimedOperation> + '_ {
        let operations = self.process.operations.iter();
        let steps = operations.map(|operation| {
            checkpoint();
            self.step(operation)
        });
        steps.filter(|step| step.kind != OperationKind::Adjust || step.minutes > 0.0)
    }

    fn step(&self, operation: &Operation) -> TimedOperation {
        let wire = &self.toolpaths[operation.wire_loop];
        let times = &self.book.times;
        let rough_or_skim = self.cutting_minutes(operation);
        let minutes = match operation.kind {
            OperationKind::Travel | OperationKind::Return => {
                operation.length_mm / times.travel_mm_min.value()
            }
            OperationKind::Thread => match self.threading {
                Threading::Automatic => times.thread_automatic_min.value(),
                Threading::Hand => times.thread_by_hand_min.value(),
            },
            OperationKind::LeadIn => rough_or_skim / times.lead_feed_share.value(),
            OperationKind::CutOff => rough_or_skim + times.tab_cut_off_min.value(),
            OperationKind::Adjust => times.adjust_between_passes_min.value(),
            OperationKind::Remove => times.slug_handling_min.value(),
            OperationKind::Coreless
            | OperationKind::Rough
            | OperationKind::Skim
            | OperationKind::SkimTab
            | OperationKind::LeadOut
            | OperationKind::Stop => rough_or_skim,
        };
        let by_hand = operation.kind == OperationKind::Thread && self.threading == Threading::Hand;
        TimedOperation {
            contour: wire.contour,
            wire_loop: operation.wire_loop,
            pass: wire.pass,
            kind: operation.kind,
            length_mm: operation.length_mm,
            minutes,
            slower_minutes: 0.0,
            clock_minutes: 0.0,
            attended: by_hand || operation.kind.is_attended(),
            at: operation.at,
            separation: operation.separation,
        }
    }

    /// Computes length cut × thickness ÷ expected area rate of the pass.
    fn cutting_minutes(&self, operation: &Operation) -> f64 {
        let wire = &self.toolpaths[operation.wire_loop];
        self.pass_of(wire).map_or(0.0, |pass| {
            operation.cut_mm * self.setup.thickness_mm / pass.area_rate_mm2_min.expected
        })
    }

    /// Computes by which share the cutting is slower than its lengths and rates alone give.
    fn slower(&self, time: &Time) -> f64 {
        let breaks = time
            .piece
            .iter()
            .filter(|term| term.minutes.name == "wire breaks");
        let breaks: f64 = breaks.map(|term| term.minutes.value.expected).sum();
        let tabs = self
            .process
            .operations
            .iter()
            .filter(|a| a.kind == OperationKind::CutOff);
        let tabs: f64 = tabs.map(|operation| self.cutting_minutes(operation)).sum();
        let running = self
            .steps_alone()
            .filter(|step| step.kind.is_cutting() || step.kind.is_lead());
        let running: f64 = running.map(|step| step.minutes).sum();
        if running > 0.0 {
            (time.running.value.expected + breaks - tabs) / running - 1.0
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::plan::Planner;
    use crate::shop::Book;

    /// A plate of 40 × 30 mm with a round opening, Ø4 or Ø12, cut in two passes, with more in the job.
    fn plan(bytes: &[u8], more: &str) -> Plan {
        let book = Book::built_in().expect("the built-in book is sound");
        let job = format!("material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 2\n{more}");
        let job = JobFile::parse(&job).expect("a sound job");
        Planner::new(&book)
            .job(&job)
            .plan("plate.dxf", bytes)
            .expect("a sound drawing")
    }

    const SMALL: &[u8] = include_bytes!("../../fixtures/checks/slug-may-jam-fires.dxf");
    const LARGE: &[u8] = include_bytes!("../../fixtures/checks/slug-may-jam-clean.dxf");

    fn all_kinds(plan: &Plan) -> Vec<(usize, OperationKind)> {
        let steps = plan.sequence();
        steps
            .iter()
            .map(|step| (step.contour.number(), step.kind))
            .collect()
    }

    /// Without the ways to the path.
    fn kinds(plan: &Plan) -> Vec<(usize, OperationKind)> {
        let way = |kind: OperationKind| kind.is_dry() || kind == OperationKind::Thread || kind.is_lead();
        let all = all_kinds(plan).into_iter();
        all.filter(|(_, kind)| !way(*kind)).collect()
    }

    /// The wire is cut when a piece is taken out, and comes onto every path once; a part's skims run to and fro between the
    /// ends of its tab. Of pieces that are not lifted out the wire stays threaded.
    #[test]
    fn every_move_is_a_step() {
        use OperationKind::{CutOff, LeadIn, LeadOut, Remove, Rough, Skim, Stop, Thread, Travel};
        let opening = [
            Thread, LeadIn, Rough, Stop, CutOff, Remove, Travel, Thread, LeadIn, Skim, LeadOut,
        ];
        let part = [Travel, Thread, LeadIn, Rough, Skim, Stop, CutOff, Remove];
        let of = |contour: usize, kinds: &[OperationKind]| -> Vec<(usize, OperationKind)> {
            kinds.iter().map(|&kind| (contour, kind)).collect()
        };
        assert_eq!(
            all_kinds(&plan(LARGE, "")),
            [of(2, &opening), of(1, &part)].concat()
        );
    }

    #[test]
    fn a_slug_is_taken_out_before_the_skims_and_a_part_after_them() {
        use OperationKind::{CutOff, Remove, Rough, Skim, SkimTab, Stop};
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
        // Without a tab the part is loose when its last stretch is cut: it is not skimmed.
        let part = [(1, Rough), (1, Stop), (1, CutOff), (1, Remove)];
        assert_eq!(
            kinds(&plan(LARGE, "tab = \"none\"")),
            [&opening[..], &part[..]].concat()
        );
    }

    #[test]
    fn a_slug_that_is_cleared_away_asks_for_no_stop() {
        use OperationKind::{Coreless, Rough, Skim};
        let steps = kinds(&plan(SMALL, "slug = \"coreless\""));
        assert_eq!(steps[..3], [(2, Coreless), (2, Rough), (2, Skim)]);
        let stopped = kinds(&plan(SMALL, "slug = \"stop\""));
        assert!(stopped.contains(&(2, OperationKind::Stop)) && !stopped.contains(&(2, Coreless)));
    }

    /// Whatever tabs leave, the loops are cut whole in the end; the clock runs through, and what is done by hand takes the
    /// 3 min each of the book.
    #[test]
    fn all_of_each_loop_is_cut_and_the_clock_runs_through() {
        let plan = plan(LARGE, "tab_face = \"skimmed\"");
        let steps = plan.sequence();
        for wire in &plan.toolpaths.loops {
            let of_loop = |step: &&TimedOperation| (step.contour, step.pass) == (wire.contour, wire.pass);
            let along = |step: &&TimedOperation| step.kind.is_cutting() || step.kind == OperationKind::CutOff;
            let steps = steps.iter().filter(of_loop).filter(along);
            let cut_mm: f64 = steps.map(|step| step.length_mm).sum();
            assert!(
                (cut_mm - wire.length_mm).abs() < 1e-9,
                "{cut_mm} of {}",
                wire.length_mm
            );
        }
        let mut clock = 0.0;
        for step in &steps {
            assert!((step.clock_minutes - clock).abs() < 1e-9);
            clock += step.takes_minutes();
            let by_hand = matches!(step.kind, OperationKind::CutOff | OperationKind::Remove);
            let least = if step.kind == OperationKind::Remove {
                3.0..=3.0
            } else {
                3.0..=60.0
            };
            assert!(!by_hand || least.contains(&step.minutes), "{step:?}");
            assert_eq!(
                step.kind.is_attended(),
                by_hand || step.kind == OperationKind::Stop
            );
        }
        assert!(steps.len() > 8 && clock > 60.0);
    }
}
