//! Lays out the working day of one piece: set-up, cutting, attended stops, and what has to wait for the next shift.

use std::collections::HashMap;

use super::{OperationKind, Plan};
use crate::estimate::Presence;
use crate::id::{ContourId, PassNo};
use crate::pass::PassKind;
use crate::units::{DAYS_PER_WEEK, HOURS_PER_DAY, MIN_PER_HOUR};

const DAY_MINUTES: f64 = HOURS_PER_DAY * MIN_PER_HOUR;

/// The day, minute by minute from the beginning of a shift.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Day {
    /// Length of a shift, minutes. Outside it nobody is there.
    pub shift_minutes: f64,
    /// What happens, in order and without gaps.
    pub blocks: Vec<DayBlock>,
    /// When each step of the order of cutting begins, minutes from the beginning.
    pub steps_from_minutes: Vec<f64>,
}

/// A stretch of the day.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
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
#[non_exhaustive]
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

    /// Returns how long the machine stands still because nobody is there, minutes.
    pub fn waiting_minutes(&self) -> f64 {
        let waiting = self
            .blocks
            .iter()
            .filter(|block| block.doing == Activity::Waiting);
        waiting.map(DayBlock::minutes).sum()
    }

    fn push(&mut self, doing: Activity, contour: Option<ContourId>, minutes: f64, presence: Presence) {
        if minutes <= 0.0 {
            return;
        }
        let mut from_minutes = self.end_minutes();
        let of_day = from_minutes % DAY_MINUTES;
        let attended = presence == Presence::Attended;
        // Who has begun finishes what follows at once: no cut-off piece is left lying till the morning.
        let goes_on = doing != Activity::SetUp && self.blocks.last().is_some_and(|last| last.attended);
        if attended && !goes_on && of_day >= self.shift_minutes {
            let morning = from_minutes - of_day + DAY_MINUTES;
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
        steps_from_minutes: Vec::new(),
    };
    day.push(
        Activity::SetUp,
        None,
        time.setup.value.expected,
        Presence::Attended,
    );
    for step in plan.steps() {
        let doing = match step.kind {
            OperationKind::Travel | OperationKind::Return => Activity::Travelling,
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
        day.push(doing, Some(step.contour), step.takes_minutes(), step.presence());
        day.steps_from_minutes
            .push(day.end_minutes() - step.takes_minutes());
    }
    Some(day)
}

/// How many days an order takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OrderDays {
    /// Days with a shift, the first and the last counted.
    pub work_days: u64,
    /// The same with the days of a week that have none; the order begins with the first day of a week. That the machine may run on through
    /// days without a shift is not credited.
    pub calendar_days: u64,
}

/// Lays out all loads of an order one after the other in the expected times: what needs somebody waits for the next shift. `None` where
/// there are no totals. Spools are changed at set-ups.
pub fn order_days(plan: &Plan) -> Option<OrderDays> {
    let (time, costs) = (plan.estimate.time.as_ref()?, plan.estimate.costs.as_ref()?);
    let (order, times) = (plan.order, &plan.book.times);
    let spools = costs.totals.spool_minutes.value.expected / order.loads() as f64;
    let work = LoadWork {
        setup_minutes: time.setup.value.expected + spools,
        stretches: stretches(plan),
    };
    let mut clock = ShopClock {
        shift_minutes: times.shift_hours.value() * MIN_PER_HOUR,
        day: 0,
        of_day_minutes: 0.0,
        attended: false,
    };
    let times_drawn = |pieces: usize| pieces as f64 / order.drawn as f64;
    let full = (order.quantity / order.pieces_per_load) as u64;
    clock.repeat(full, &|clock| {
        clock.load(&work, times_drawn(order.pieces_per_load));
    });
    let rest = order.quantity % order.pieces_per_load;
    if rest > 0 {
        clock.load(&work, times_drawn(rest));
    }
    let work_days = clock.day + u64::from(clock.of_day_minutes > 0.0);
    let per_week = times.work_days_per_week.value();
    let weeks = (work_days.saturating_sub(1) as f64 / per_week).floor();
    Some(OrderDays {
        work_days,
        calendar_days: work_days + (weeks * (DAYS_PER_WEEK - per_week).max(0.0)).round() as u64,
    })
}

/// What a load takes, minutes.
struct LoadWork {
    setup_minutes: f64,
    /// What is drawn, cut once.
    stretches: Vec<(f64, Presence)>,
}

/// The steps of what is drawn, cut once; those with the same presence in one.
fn stretches(plan: &Plan) -> Vec<(f64, Presence)> {
    let mut stretches: Vec<(f64, Presence)> = Vec::new();
    for step in plan.steps() {
        let minutes = step.takes_minutes();
        match stretches.last_mut() {
            Some((sum, presence)) if *presence == step.presence() => *sum += minutes,
            _ if minutes > 0.0 => stretches.push((minutes, step.presence())),
            _ => {}
        }
    }
    stretches
}

/// The time of a shop that has a shift a day: a day and the minutes since its shift began.
struct ShopClock {
    shift_minutes: f64,
    day: u64,
    of_day_minutes: f64,
    /// Somebody is there from what was done last in this load.
    attended: bool,
}

impl ShopClock {
    fn load(&mut self, work: &LoadWork, times_drawn: f64) {
        self.attended = false;
        self.pass(work.setup_minutes, Presence::Attended);
        self.repeat(times_drawn.floor() as u64, &|clock| {
            clock.cut(&work.stretches, 1.0);
        });
        self.cut(&work.stretches, times_drawn.fract());
    }

    fn cut(&mut self, stretches: &[(f64, Presence)], share: f64) {
        for (minutes, presence) in stretches {
            self.pass(minutes * share, *presence);
        }
    }

    fn pass(&mut self, minutes: f64, presence: Presence) {
        if minutes <= 0.0 {
            return;
        }
        let attended = presence == Presence::Attended;
        if attended && !self.attended && self.of_day_minutes >= self.shift_minutes {
            self.day += 1;
            self.of_day_minutes = 0.0;
        }
        self.attended = attended;
        let end = self.of_day_minutes + minutes;
        self.day += (end / DAY_MINUTES) as u64;
        self.of_day_minutes = end % DAY_MINUTES;
    }

    /// What decides how the next thing ends, but for the day.
    fn state(&self) -> (u64, bool) {
        (self.of_day_minutes.to_bits(), self.attended)
    }

    /// Does something so many times. What begins at the same time of a day ends at the same one, so that from there on it goes round.
    fn repeat(&mut self, times: u64, once: &dyn Fn(&mut Self)) {
        let mut begun: HashMap<(u64, bool), (u64, u64)> = HashMap::new();
        let mut done = 0;
        while done < times {
            if let Some((before, day)) = begun.insert(self.state(), (done, self.day)) {
                let rounds = (times - done) / (done - before);
                self.day += rounds * (self.day - day);
                done += rounds * (done - before);
                begun.clear();
                if done == times {
                    return;
                }
            }
            once(self);
            done += 1;
        }
    }
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
        let plan = super::super::Planner::new(&book)
            .job(&job)
            .plan("ratchet.dxf", drawing)
            .expect("a sound drawing");
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
            steps_from_minutes: Vec::new(),
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
        // One minute before its end the shift is still there, and stays till the piece is out; the next load waits.
        assert_eq!(day.end_minutes(), 1440.0 + 485.0);
        day.push(
            Activity::Separating,
            Some(ContourId::nth(3)),
            3.0,
            Presence::Attended,
        );
        assert_eq!(day.end_minutes(), 1440.0 + 488.0);
        day.push(Activity::SetUp, None, 30.0, Presence::Attended);
        assert_eq!(day.end_minutes(), 2880.0 + 30.0);
    }

    /// The clock of an order that goes round, against every step of every load by itself.
    #[test]
    fn an_order_takes_the_days_that_its_loads_take_one_by_one() {
        let work = LoadWork {
            setup_minutes: 30.0,
            stretches: vec![
                (250.0, Presence::Unattended),
                (6.0, Presence::Attended),
                (90.5, Presence::Unattended),
                (3.0, Presence::Attended),
            ],
        };
        for (loads, pieces) in [(1, 1.0), (7, 1.0), (200, 1.0), (61, 2.5), (3, 40.0), (40, 0.125)] {
            let mut clock = ShopClock {
                shift_minutes: 480.0,
                day: 0,
                of_day_minutes: 0.0,
                attended: false,
            };
            clock.repeat(loads, &|clock| clock.load(&work, pieces));
            let mut day = Day {
                shift_minutes: 480.0,
                blocks: Vec::new(),
                steps_from_minutes: Vec::new(),
            };
            let mut contour = 0;
            for _ in 0..loads {
                day.push(Activity::SetUp, None, 30.0, Presence::Attended);
                let mut left = pieces;
                while left > 0.0 {
                    for (minutes, presence) in &work.stretches {
                        // Another contour each, so that what waits is never taken for what goes on.
                        contour += 1;
                        let contour = Some(ContourId::nth(contour));
                        day.push(
                            Activity::Separating,
                            contour,
                            minutes * f64::min(left, 1.0),
                            *presence,
                        );
                    }
                    left -= 1.0;
                }
            }
            let minutes = clock.day as f64 * DAY_MINUTES + clock.of_day_minutes;
            assert!(
                (minutes - day.end_minutes()).abs() < 1e-6 * minutes,
                "{loads} × {pieces}"
            );
        }
    }

    /// One piece whose set-up and machine time fit into a shift: as many as a day holds, five days a week.
    #[test]
    fn weeks_have_days_without_a_shift() {
        let book = Book::layered("[time]\nsetup_min = 480\n[wire]\nspool_kg = 1e9\n").expect("sound");
        let drawing = include_bytes!("../../fixtures/checks/slug-may-jam-clean.dxf");
        let days = |quantity: usize| {
            let job = format!(
                "material = \"tool-steel\"\nthickness_mm = 10\nwire_mm = 0.25\npasses = 1\nquantity = {quantity}"
            );
            let job = JobFile::parse(&job).expect("a sound job");
            let plan = super::super::Planner::new(&book)
                .job(&job)
                .plan("plate.dxf", drawing)
                .expect("a sound drawing");
            order_days(&plan).expect("every path is there")
        };
        // Its set-up takes the whole shift: each piece is secured in the next one.
        let one = days(1);
        assert_eq!((one.work_days, one.calendar_days), (2, 2));
        let many = days(1_000_000);
        assert!(many.work_days >= 1_000_000, "{many:?}");
        assert_eq!(
            many.calendar_days,
            many.work_days + 2 * ((many.work_days - 1) / 5)
        );
    }
}
