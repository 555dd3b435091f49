use super::Content;
use super::flow::{Flow, indent_of, line_height};
use super::sheet::SMALL;
use crate::check::{self, Stage, group_findings};
use crate::message::message;
use crate::message::number::counted;
use crate::report::words;

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
pub(super) fn draw(content: &Content<'_>, flow: &mut Flow) {
    let findings = &content.inspection.findings;
    let groups = group_findings(findings);
    flow.gap(2.0);
    flow.begin("findings");
    if groups.is_empty() {
        let ran = counted(checks_run(content), "check");
        let heading = format!("none of {ran} found a flaw: that only means that none of these found one");
        flow.words("strong", SMALL, 0.0, &heading);
        return;
    }
    flow.keep(3.0 * line_height(SMALL));
    let heading = format!("what the checks found: {}", counted(groups.len(), "finding"));
    flow.words("strong", SMALL, 0.0, &heading);
    let numbers: Vec<String> = groups.iter().map(|group| group.number.to_string()).collect();
    let indent = indent_of(numbers.iter().map(String::as_str), SMALL);
    for (number, group) in numbers.iter().zip(&groups) {
        let places = words::many_places(group).map(|places| format!(" in {places}"));
        let worst = &findings[group.placed[0]].message;
        let words = message!("{}{}: {}", words::severity(group.severity), places, worst);
        let label = ("finding", group.findings.len());
        flow.labelled_row(label, (number, indent), SMALL, &words.shown(content.lengths));
    }
}
