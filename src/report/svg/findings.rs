use svg::node::element::Group;

use super::Content;
use super::sheet::{Area, Lettering, group, spot};
use super::text::{BOLD, width, wrapped};
use crate::check::{self, Stage, group_findings};
use crate::message::number::counted;
use crate::report::words;

const SIZE: f64 = 2.2;
const STEP: f64 = 2.65;

/// Returns how many checks have run: before there is a plan, those of contours.
fn checks_run(content: &Content<'_>) -> usize {
    let stage = if content.plan.is_some() {
        Stage::Path
    } else {
        Stage::Contour
    };
    check::ALL.iter().filter(|check| check.stage <= stage).count()
}

/// Lists the findings, numbered as they are marked on the part.
pub(super) fn draw(content: &Content<'_>, area: Area) -> Group {
    let mut drawn = group("findings");
    let lines = ((area.height - 3.4) / STEP).floor() as usize;
    let put = |drawn: Group, line: usize, x: f64, class: &str, words: &str| {
        let at = spot(area.x + x, area.y + 2.4 + line as f64 * STEP);
        drawn.add(Lettering::new(class, SIZE).write(at, area.width - x, words))
    };
    let groups = group_findings(&content.inspection.findings);
    if groups.is_empty() {
        let ran = counted(checks_run(content), "check");
        let heading = format!("none of {ran} found a flaw: that only means that none of these found one");
        return put(drawn, 0, 0.0, "strong", &heading);
    }
    let heading = format!("what the checks found: {}", counted(groups.len(), "finding"));
    drawn = put(drawn, 0, 0.0, "strong", &heading);
    let shown = if groups.len() > lines {
        lines.saturating_sub(1)
    } else {
        groups.len()
    };
    let widest = groups
        .iter()
        .map(|group| width(&group.number.to_string(), SIZE) * BOLD)
        .fold(0.0, f64::max);
    // A long message takes a second line where the others leave one.
    let mut spare = lines - shown - usize::from(groups.len() > shown);
    let mut at = 1;
    for group in groups.iter().take(shown) {
        let worst = &content.inspection.findings[group.placed[0]];
        let places = match group.places {
            1 => String::new(),
            places => format!(" in {places} places"),
        };
        let severity = words::severity(group.severity);
        drawn = put(drawn, at, 0.0, "strong", &group.number.to_string());
        let words = format!("{severity}{places}: {}", worst.message);
        let set = wrapped(&words, SIZE, area.width - widest - 1.5, 1 + spare.min(1));
        spare -= set.len() - 1;
        for words in set {
            drawn = put(drawn, at, widest + 1.5, "", &words);
            at += 1;
        }
    }
    if groups.len() > shown {
        let more = groups.len() - shown;
        drawn = put(
            drawn,
            at,
            0.0,
            "quiet",
            &format!("and {more} more, on the job sheet"),
        );
    }
    drawn
}
