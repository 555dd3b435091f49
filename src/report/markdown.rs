use std::fmt::Write as _;

use crate::check::{self, Stage};
use crate::report::words;

/// Writes the page of all checks in Markdown, made from their own words.
pub fn checks_markdown() -> String {
    let mut page = String::from(
        "# What is checked\n\nMade from the checks themselves; `kerfwright explain NAME` prints the same words. A \
         clean result means that none of these checks found a flaw, nothing more.\n",
    );
    for (stage, heading) in [
        (Stage::Drawing, "In the drawing"),
        (Stage::Contour, "In its contours"),
        (Stage::Path, "In the wire's paths"),
    ] {
        let _ = writeln!(page, "\n## {heading}");
        for check in check::ALL.iter().filter(|check| check.stage == stage) {
            let severity = words::severity(check.severity);
            let _ = writeln!(
                page,
                "\n### `{}`: {}\n\n{severity}. {}\n",
                check.name, check.title, check.looks_for
            );
            let _ = writeln!(
                page,
                "- **Why it matters.** {}\n- **What to do.** {}",
                check.why, check.what_to_do
            );
            if !check.options.is_empty() {
                let _ = writeln!(page, "- **What to type.** {}", check.options);
            }
        }
    }
    page
}
