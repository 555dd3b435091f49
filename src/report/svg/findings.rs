use svg::node::element::Group;

use super::Content;
use super::sheet::{Area, Lettering, group, spot};
use super::text::{BOLD, width, wrapped};
use crate::check::{self, Stage};
use crate::finding::Finding;
use crate::message::number::counted;
use crate::report::{same_name, words};

const SIZE: f64 = 2.2;
const STEP: f64 = 2.65;

/// Returns the names of the checks that have run: before there is a plan, those of contours.
fn checks_run(content: &Content<'_>) -> Vec<&'static str> {
    let stage = if content.plan.is_some() {
        Stage::Path
    } else {
        Stage::Contour
    };
    let ran = check::ALL.iter().filter(|check| check.stage <= stage);
    ran.map(|check| check.name).collect()
}

/// Lists the findings, numbered as they are marked on the part, or the checks that found nothing.
pub(super) fn draw(content: &Content<'_>, area: Area) -> Group {
    let mut drawn = group("findings");
    let lines = ((area.height - 3.4) / STEP).floor() as usize;
    let put = |drawn: Group, line: usize, x: f64, class: &str, words: &str| {
        let at = spot(area.x + x, area.y + 2.4 + line as f64 * STEP);
        drawn.add(Lettering::new(class, SIZE).write(at, area.width - x, words))
    };
    if content.inspection.findings.is_empty() {
        let ran = checks_run(content);
        let heading = format!("none of these {} found a flaw", counted(ran.len(), "check"));
        drawn = put(drawn, 0, 0.0, "strong", &heading);
        for (i, words) in wrapped(&ran.join(", "), SIZE, area.width, lines)
            .iter()
            .enumerate()
        {
            drawn = put(drawn, i + 1, 0.0, "quiet", words);
        }
        return drawn;
    }
    let heading = format!(
        "what the checks found: {}",
        counted(content.inspection.findings.len(), "finding")
    );
    drawn = put(drawn, 0, 0.0, "strong", &heading);
    let runs: Vec<&[Finding]> = same_name(&content.inspection.findings).collect();
    let shown = if runs.len() > lines {
        lines.saturating_sub(1)
    } else {
        runs.len()
    };
    let mut first = 1;
    let mut numbered = Vec::new();
    for run in runs.iter().take(shown) {
        let last = first + run.len() - 1;
        let numbers = if run.len() == 1 {
            first.to_string()
        } else {
            format!("{first}–{last}")
        };
        numbered.push((numbers, run));
        first = last + 1;
    }
    let widest = numbered
        .iter()
        .map(|(numbers, _)| width(numbers, SIZE) * BOLD)
        .fold(0.0, f64::max);
    // A long message takes a second line where the others leave one.
    let mut spare = lines - shown - usize::from(runs.len() > shown);
    let mut at = 1;
    for (numbers, run) in &numbered {
        let finding = &run[0];
        let places = if run.len() == 1 {
            String::new()
        } else {
            format!(" in {} places", run.len())
        };
        let severity = words::severity(finding.severity);
        drawn = put(drawn, at, 0.0, "strong", numbers);
        let words = format!("{severity}, {}{places}: {}", finding.name, finding.message);
        let set = wrapped(&words, SIZE, area.width - widest - 1.5, 1 + spare.min(1));
        spare -= set.len() - 1;
        for words in set {
            drawn = put(drawn, at, widest + 1.5, "", &words);
            at += 1;
        }
    }
    if runs.len() > shown {
        let more = content.inspection.findings.len() + 1 - first;
        drawn = put(
            drawn,
            at,
            0.0,
            "quiet",
            &format!("and {more} more, listed by the command"),
        );
    }
    drawn
}
