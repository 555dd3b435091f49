use std::fmt::Write as _;

use super::{HEADING, WARNING};
use crate::calibrate::{Calibrated, RateFit, WELL_TOLD_PERCENT};
use crate::message::number::{band, counted, fixed};
use crate::report::words;
use crate::shop::MinutesHold;

/// What a log has taught, with the error before and after.
pub fn calibration(learned: &Calibrated) -> String {
    let mut text = String::new();
    for fit in &learned.fits {
        text.push_str(&learned_of(fit));
    }
    for told in words::told_of_log(learned) {
        let (kind, rest) = told.split_once(": ").unwrap_or(("", &told));
        let _ = writeln!(text, "{WARNING}{kind}{WARNING:#}: {rest}");
    }
    text
}

fn learned_of(fit: &RateFit) -> String {
    let mut text = format!(
        "{HEADING}{}{HEADING:#}: {}, minutes hold {}\n",
        words::fitted_work(fit),
        counted(fit.jobs, "job"),
        words::minutes_hold(&fit.minutes_hold)
    );
    let _ = writeln!(
        text,
        "  typical error of an estimate  {} % before, {} % after (each job left out in turn)",
        fixed(fit.error_before_percent, 1),
        fixed(fit.error_after_percent, 1)
    );
    let _ = writeln!(
        text,
        "  area rates                    × {}",
        band(fit.rate_factor)
    );
    let told = fixed(fit.rate_told_within_percent, 1);
    let _ = if fit.is_pooled && fit.machine.is_none() {
        // No number of jobs tells a machine that has none.
        writeln!(
            text,
            "  {:<30}± {told} % (95 %), since machines differ",
            "the log tells them to"
        )
    } else if fit.is_well_told() {
        writeln!(text, "  {:<30}± {told} % (95 %)", "the log tells them to")
    } else {
        writeln!(
            text,
            "  {WARNING}the log cannot tell them to better than {told} % (95 %): log more jobs, short and long; about {} like these \
             would tell them to {} %{WARNING:#}",
            fit.jobs_to_be_well_told(),
            fixed(WELL_TOLD_PERCENT, 0)
        )
    };
    let held = match (
        fit.fixed_is_fitted,
        fit.minutes_hold.contains(&MinutesHold::SetUpToFinished),
    ) {
        (true, _) => "",
        (false, true) => ", the book's: the jobs are too alike to fit it",
        (false, false) => ", the book's: the minutes do not hold it",
    };
    let _ = writeln!(
        text,
        "  set-up                        {} min{held}",
        band(fit.fixed_min)
    );
    if let Some((ratio, count)) = fit.ra_ratio {
        let on = counted(count, "job");
        let _ = writeln!(text, "  Ra                            × {} on {on}", band(ratio));
    }
    if let Some((correction, count)) = fit.offset_correction_um {
        let on = counted(count, "job");
        let _ = writeln!(
            text,
            "  offset correction             {} µm on {on}",
            band(correction)
        );
    }
    if !fit.wild_lines.is_empty() {
        let lines: Vec<String> = fit.wild_lines.iter().map(ToString::to_string).collect();
        let _ = writeln!(text, "  far off, without weight       line {}", lines.join(", "));
    }
    text
}
