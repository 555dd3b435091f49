//! Lays out the working day of one piece: set-up, cutting, attended stops, and what has to wait for the next shift.

use super::{OperationKind, Plan};
use crate::estimate::Presence;
use crate::id::{ContourId, PassNo};
use crate::pass::PassKind;
use crate::units::{HOURS_PER_DAY, MIN_PER_HOUR};

/// The day, minute by minute from the beginning of a shift.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// Length of a shift, minutes. Outside it nobody is there.
    pub shift_minutes: f64,
    /// What happens, in order and without gaps.
    pub blocks: Vec<DayBlock>,
}

/// A stretch of the day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayBlock {
    /// What the machine or the operator does.
    pub doing: Activity,
    /// The contour that it is about.
    pub contour: Option<ContourId>,
    /// Minutes from the beginning.
    pub from_minutes: f64,
    /// Minutes from the beginning.
    pub to_minutes: f64,
    /// Somebody has to be there.
    pub attended: bool,
}

/// What the machine or the operator does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Activity {
    /// The work is set up.
    SetUp,
    /// On to the next start.
    Travelling,
    /// The wire is threaded.
    Threading,
    /// The wire runs along the path of a pass, from 1. What engagement, corners and wire breaks cost is in it, in
    /// proportion.
    Cutting(PassNo, PassKind),
    /// A piece is secured, cut off or removed, or the machine is adjusted between passes.
    Separating,
    /// Nobody is there for what comes next.
    Waiting,
}

impl DayBlock {
    /// Returns the duration, min.
    pub fn minutes(&self) -> f64 {
        self.to_minutes - self.from_minutes
    }
}

impl Day {
    /// Returns when the piece is done, minutes from the beginning.
    pub fn end_minutes(&self) -> f64 {
        self.blocks.last().map_or(0.0, |block| block.to_minutes)
    }

    fn push(&mut self, doing: Activity, contour: Option<ContourId>, minutes: f64, presence: Presence) {
        const DAY: f64 = HOURS_PER_DAY * MIN_PER_HOUR;
        if minutes <= 0.0 {
            return;
        }
        let mut from_minutes = self.end_minutes();
        let of_day = from_minutes % DAY;
        let attended = presence == Presence::Attended;
        if attended && of_day >= self.shift_minutes {
            let morning = from_minutes - of_day + DAY;
            self.blocks.push(DayBlock {
                doing: Activity::Waiting,
                contour,
                from_minutes,
                to_minutes: morning,
                attended: false,
            });
            from_minutes = morning;
        }
        // What goes on without a change is one block.
        if let Some(last) = self.blocks.last_mut()
            && (last.doing, last.contour, last.attended) == (doing, contour, attended)
        {
            last.to_minutes += minutes;
            return;
        }
        self.blocks.push(DayBlock {
            doing,
            contour,
            from_minutes,
            to_minutes: from_minutes + minutes,
            attended,
        });
    }
}

/// The working day of one piece in the expected times; `None` where there are no totals.
pub fn day(plan: &Plan) -> Option<Day> {
    let time = plan.estimate.time.as_ref()?;
    let mut day = Day {
        shift_minutes: plan.book.times.shift_hours.value() * MIN_PER_HOUR,
        blocks: Vec::new(),
    };
    day.push(
        Activity::SetUp,
        None,
        time.setup.value.expected,
        Presence::Attended,
    );
    for step in plan.sequence() {
        let doing = match step.kind {
            OperationKind::Travel => Activity::Travelling,
            OperationKind::Thread => Activity::Threading,
            OperationKind::Skim | OperationKind::SkimTab => Activity::Cutting(step.pass, PassKind::Skim),
            OperationKind::LeadIn | OperationKind::LeadOut if !step.pass.is_rough() => {
                Activity::Cutting(step.pass, PassKind::Skim)
            }
            OperationKind::LeadIn
            | OperationKind::LeadOut
            | OperationKind::Coreless
            | OperationKind::Rough => Activity::Cutting(step.pass, PassKind::Rough),
            OperationKind::Adjust | OperationKind::Stop | OperationKind::CutOff | OperationKind::Remove => {
                Activity::Separating
            }
        };
        let presence = if step.attended {
            Presence::Attended
        } else {
            Presence::Unattended
        };
        day.push(doing, Some(step.contour), step.takes_minutes(), presence);
    }
    Some(day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::shop::Book;

    #[test]
    fn the_blocks_follow_each_other_and_add_up_to_set_up_and_machine_time() {
        let book = Book::built_in().expect("the built-in book is sound");
        let job = "material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 3";
        let job = JobFile::parse(job).expect("a sound job");
        let drawing = include_bytes!("../../fixtures/clock/ratchet.dxf");
        let plan = super::super::plan_job("ratchet.dxf", drawing, &job, &book).expect("a sound drawing");
        let day = day(&plan).expect("every path is there");
        let time = plan.estimate.time.as_ref().expect("every path is there");
        let right = time.setup.value.expected + time.machine_minutes.value.expected;
        let waiting = day.blocks.iter().filter(|block| block.doing == Activity::Waiting);
        let waiting: f64 = waiting.map(DayBlock::minutes).sum();
        assert!((day.end_minutes() - waiting - right).abs() < 1e-9 * right);
        assert_eq!(day.blocks[0].doing, Activity::SetUp);
        for pair in day.blocks.windows(2) {
            assert_eq!(pair[0].to_minutes, pair[1].from_minutes);
        }
        let cuts = day
            .blocks
            .iter()
            .filter(|block| matches!(block.doing, Activity::Cutting(..)));
        assert_eq!(cuts.count(), plan.toolpaths.loops.len());
    }

    #[test]
    fn what_needs_somebody_waits_for_the_next_shift() {
        let mut day = Day {
            shift_minutes: 480.0,
            blocks: Vec::new(),
        };
        day.push(Activity::SetUp, None, 30.0, Presence::Attended);
        day.push(
            Activity::Cutting(PassNo::FIRST, PassKind::Rough),
            Some(ContourId::nth(1)),
            600.0,
            Presence::Unattended,
        );
        day.push(
            Activity::Separating,
            Some(ContourId::nth(1)),
            6.0,
            Presence::Attended,
        );
        // 10.5 h after the beginning nobody is there; the next shift begins after 24 h.
        assert_eq!(day.blocks[2].doing, Activity::Waiting);
        assert_eq!((day.blocks[3].from_minutes, day.end_minutes()), (1440.0, 1446.0));
        day.push(
            Activity::Cutting(PassNo::FIRST, PassKind::Rough),
            Some(ContourId::nth(2)),
            473.0,
            Presence::Unattended,
        );
        day.push(
            Activity::Separating,
            Some(ContourId::nth(2)),
            6.0,
            Presence::Attended,
        );
        // One minute before its end the shift is still there.
        assert_eq!(day.end_minutes(), 1440.0 + 485.0);
    }
}
