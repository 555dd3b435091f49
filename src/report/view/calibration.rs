//! What a log of finished jobs has taught.

use super::frames::{ColumnOf, Outlet, Pair, Section, SectionPart, Tone, ViewTable};
use crate::calibrate::{Calibrated, JobOutcome, RateFit, WELL_TOLD_PERCENT};
use crate::message::number::{counted, fixed};
use crate::message::{Message, QuantityValue, UnitSymbol, message, of_unit};
use crate::report::words;
use crate::shop::MinutesHold;
use crate::units::Band;

/// Returns what was learned, estimate against actual of every job, worst first, and what to know of the log.
pub(in crate::report) fn learned(learned: &Calibrated, picture: Option<String>) -> Vec<Section> {
    let mut sections: Vec<Section> = (1..)
        .zip(&learned.fits)
        .map(|(number, fit)| fitted(number, fit))
        .collect();
    sections.push(jobs(learned, picture));
    let told = words::told_of_log(learned);
    sections.push(Section::new("left-out", "what to know of the log").with(SectionPart::List(told)));
    sections
}

fn fitted(number: usize, fit: &RateFit) -> Section {
    let factor = |band: Band, symbol| QuantityValue::new(band, UnitSymbol::Same(symbol)).four(0);
    let percent = |value: f64| of_unit(value, "%").fixed(1);
    let mut pairs = vec![
        Pair::new(
            "typical error of an estimate",
            message!(
                "{} before, {} after (each job left out in turn)",
                percent(fit.error_before_percent),
                percent(fit.error_after_percent)
            ),
        ),
        Pair::new("area rates", message!("× {}", factor(fit.rate_factor, ""))),
        Pair::new("the log tells them to", told_within(fit)),
        Pair::new(
            "set-up",
            message!("{}{}", factor(fit.fixed_min, "min"), setup_source(fit)),
        ),
    ];
    pairs.extend(fit.ra_ratio.map(|(ratio, count)| {
        Pair::new(
            "Ra",
            message!("× {} on {}", factor(ratio, ""), counted(count, "job")),
        )
    }));
    pairs.extend(fit.offset_correction_um.map(|(correction_um, count)| {
        let correction = QuantityValue::new(correction_um, UnitSymbol::Um).four(0);
        Pair::new(
            "offset correction",
            message!("{} on {}", correction, counted(count, "job")),
        )
    }));
    if !fit.wild_lines.is_empty() {
        let lines: Vec<String> = fit.wild_lines.iter().map(ToString::to_string).collect();
        pairs.push(Pair::new(
            "far off, without weight",
            format!("line {}", lines.join(", ")),
        ));
    }
    Section::new(format!("learned-{number}"), words::fitted_work(fit))
        .note(message!(
            "{}, minutes hold {}",
            counted(fit.jobs, "job"),
            words::minutes_hold(&fit.minutes_hold)
        ))
        .with(SectionPart::Pairs(pairs))
}

/// How well the log tells the rates; what would help where it does not.
fn told_within(fit: &RateFit) -> Message {
    let told = fixed(fit.rate_told_within_percent, 1);
    if fit.is_pooled && fit.machine.is_none() {
        // No number of jobs tells a machine that has none.
        message!("± {} % (95 %), since machines differ", told)
    } else if fit.is_well_told() {
        message!("± {} % (95 %)", told)
    } else {
        message!(
            "no better than {} % (95 %): log more jobs, short and long; about {} like these would tell them to {} %",
            told,
            fit.jobs_to_be_well_told(),
            fixed(WELL_TOLD_PERCENT, 0)
        )
    }
}

fn setup_source(fit: &RateFit) -> &'static str {
    match (
        fit.fixed_is_fitted,
        fit.minutes_hold.contains(&MinutesHold::SetUpToFinished),
    ) {
        (true, _) => "",
        (false, true) => ", the book's: the jobs are too alike to fit it",
        (false, false) => ", the book's: the minutes do not hold it",
    }
}

fn jobs(learned: &Calibrated, picture: Option<String>) -> Section {
    use UnitSymbol::Same;
    const ALL: (usize, usize) = (usize::MAX, usize::MAX);
    type Row = JobOutcome;
    let columns = vec![
        ColumnOf::name("line", |row: &&Row| message!("{}", row.line)),
        ColumnOf::words("work", |row: &&Row| {
            words::work(&row.material, row.wire_mm, &row.wire_kind)
        }),
        ColumnOf::words("machine", |row: &&Row| row.machine.as_deref()),
        ColumnOf::words("minutes hold", |row: &&Row| row.minutes_hold.to_string()),
        ColumnOf::number("estimated", Same("min"), |row: &&Row| {
            of_unit(row.expected_min, "min").fixed(0)
        }),
        ColumnOf::number("actual", Same("min"), |row: &&Row| {
            of_unit(row.real_min, "min").fixed(0)
        }),
        ColumnOf::number("actual is off", Same(""), |row: &&Row| {
            words::signed_percent(row.off_percent())
        }),
        ColumnOf::words("", |row: &&Row| {
            if row.is_wild {
                "far off: without weight"
            } else {
                ""
            }
        }),
    ];
    let section = Section::new("compared", "estimate against actual, worst first").with_on(
        Outlet::JOB_SHEET,
        SectionPart::Words(
            Tone::Quiet,
            "In brackets where 95 % of such jobs lie. Minutes hold what the log says of each job.".into(),
        ),
    );
    let section = section.with_picture(picture);
    section.with_on(
        Outlet::JOB_SHEET,
        SectionPart::Table(ViewTable::new(columns, &learned.jobs, ALL)),
    )
}
