use svg::node::element::Group;

use super::Content;
use super::sheet::{Anchor, Area, group, spot, text};
use super::text::{width, wrapped};
use crate::check::{self, Stage};
use crate::report::number::counted;
use crate::report::words;

const SIZE: f64 = 2.2;
const STEP: f64 = 3.1;

/// Lists the findings, numbered as they are marked on the part, or the checks that found nothing.
pub(super) fn draw(content: &Content<'_>, area: Area) -> Group {
    let mut drawn = group("findings");
    let lines = ((area.height - 3.4) / STEP).floor() as usize;
    let put = |drawn: Group, line: usize, x: f64, class: &str, words: &str| {
        let at = spot(area.x + x, area.y + 2.4 + line as f64 * STEP);
        drawn.add(text(class, at, Anchor::Start, SIZE, area.width - x, words))
    };
    if content.inspection.findings.is_empty() {
        let stage = if content.plan.is_some() {
            Stage::Path
        } else {
            Stage::Contour
        };
        let ran: Vec<&str> = check::ALL
            .iter()
            .filter(|check| check.stage <= stage)
            .map(|check| check.name)
            .collect();
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
    let all = content.inspection.findings.len();
    let shown = if all > lines { lines.saturating_sub(1) } else { all };
    let number_room = width(&all.to_string(), SIZE) + 1.5;
    for (i, finding) in content.inspection.findings.iter().take(shown).enumerate() {
        let severity = words::severity(finding.severity);
        drawn = put(drawn, i + 1, 0.0, "strong", &(i + 1).to_string());
        let words = format!("{severity}, {}: {}", finding.name, finding.message);
        drawn = put(drawn, i + 1, number_room, "", &words);
    }
    if all > shown {
        let words = format!("and {} more, listed by the command", all - shown);
        drawn = put(drawn, shown + 1, number_room, "quiet", &words);
    }
    drawn
}
