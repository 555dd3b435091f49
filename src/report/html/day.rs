use maud::{Markup, PreEscaped, html};

use crate::message::number::fixed;
use crate::plan::{Activity, Day, Plan};
use crate::report::{svg, words};
use crate::units::MIN_PER_HOUR;

/// How the time of a piece falls on the working day; nothing where there is no total.
pub(super) fn section(plan: &Plan, day: Option<&Day>) -> Markup {
    let Some(day) = day else {
        return html! {};
    };
    let hours = |minutes: f64| fixed(minutes / MIN_PER_HOUR, 1);
    let waiting = day.blocks.iter().filter(|block| block.doing == Activity::Waiting);
    let waiting_min: f64 = waiting.map(crate::plan::DayBlock::minutes).sum();
    html! {
        section.job-whole aria-labelledby="job-day" {
            h2 id="job-day" { "Working day" }
            p.job-quiet {
                (words::capitalised(&words::drawn(plan))) " in the expected times, begun with a shift of " (hours(day.shift_minutes)) " h: done after "
                (hours(day.end_minutes())) " h"
                @if waiting_min > 0.0 {
                    ", of which the machine stands still for " (hours(waiting_min)) " h because nobody is there"
                }
                "."
            }
            div.job-chart.job-strip { (PreEscaped(svg::working_day(day))) }
        }
    }
}
