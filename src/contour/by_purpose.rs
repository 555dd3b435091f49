//! Curves become lines, purpose by purpose.

use super::assemble::{Assembled, assemble};
use super::contacts::{Contacts, ContourView, contacts};
use super::draft::DraftContour;
use super::facts::{Facts, Overlap};
use super::gaps::gaps;
use super::overlap::{Stretches, stretches};
use crate::drawing::Drawing;
use crate::job::{Purpose, Reading};

/// The purposes whose curves are chained, in this order; [`Purpose::Ignore`] is left out altogether.
const CHAINED: [Purpose; 11] = [
    Purpose::Cut,
    Purpose::Slit,
    Purpose::Trim,
    Purpose::Existing,
    Purpose::NotNow,
    Purpose::StartHole,
    Purpose::ReadyHole,
    Purpose::Blank,
    Purpose::Frame,
    Purpose::Thread,
    Purpose::Reference,
];

/// The lines of all purposes, and what was found while making them.
#[derive(Default)]
pub(super) struct Chained {
    /// Each with its purpose and its place among those of that purpose.
    pub lines: Vec<(Purpose, usize, DraftContour)>,
    /// What the search among those to be cut found.
    pub contacts: Searched,
    /// What was found and what was repaired.
    pub facts: Facts,
    /// What was found among the lines for orientation only, which has no flaws worth telling unless one of them is
    /// to be cut after all.
    pub for_reference: Facts,
}

/// What was found between lines to be cut.
#[derive(Default)]
pub(super) struct Searched {
    /// Named by the places of the lines; `None` where lines were cut up since they were searched.
    pub contacts: Option<Contacts>,
    /// Overlaps of which one side was given up.
    pub overlaps: Vec<Overlap>,
}

/// Chains the curves of each purpose.
pub(super) fn chained(drawing: &Drawing, reading: &Reading, use_of: &[Purpose]) -> Chained {
    let mut chained = Chained::default();
    for purpose in CHAINED {
        let members = members(use_of, purpose);
        let made = match purpose {
            Purpose::Cut => {
                let (made, searched) = searched(drawing, reading, &members);
                chained.contacts = searched;
                made
            }
            // Its ends are meant to be open.
            Purpose::Slit | Purpose::Trim => assemble(&drawing.curves, &members, &Stretches::new(), reading),
            _ => with_gaps(drawing, reading, &members, &Stretches::new()),
        };
        let facts = match purpose {
            Purpose::NotNow | Purpose::Frame | Purpose::Thread | Purpose::Reference => {
                &mut chained.for_reference
            }
            _ => &mut chained.facts,
        };
        facts.append(made.facts);
        let lines = made.lines.into_iter().enumerate();
        chained.lines.extend(lines.map(|(i, line)| (purpose, i, line)));
    }
    chained
}

/// Lists the curves of a purpose.
pub(super) fn members(use_of: &[Purpose], purpose: Purpose) -> Vec<usize> {
    (0..use_of.len()).filter(|&i| use_of[i] == purpose).collect()
}

/// Makes the lines of `members`, less `stretches`, and looks for their gaps.
fn with_gaps(drawing: &Drawing, reading: &Reading, members: &[usize], stretches: &Stretches) -> Assembled {
    let mut made = assemble(&drawing.curves, members, stretches, reading);
    made.facts.gaps = gaps(&made.loose, reading.gap_search_mm);
    made
}

/// Makes the lines of `members` and searches them for contacts; where two run together and one of them can give way, it is cut
/// up.
fn searched(drawing: &Drawing, reading: &Reading, members: &[usize]) -> (Assembled, Searched) {
    let mut made = assemble(&drawing.curves, members, &Stretches::new(), reading);
    let views: Vec<ContourView<'_>> = made.lines.iter().map(DraftContour::view).collect();
    let (between, mut found) = rayon::join(
        || gaps(&made.loose, reading.gap_search_mm),
        || contacts(&views, &made.facts.branches, reading.join_mm),
    );
    drop(views);
    log::debug!("gaps, crossings and touches looked for");
    let stretches = stretches(&made.lines, &mut found.overlaps, reading.join_mm);
    if stretches.is_empty() {
        made.facts.gaps = between;
        let contacts = Some(found);
        let overlaps = Vec::new();
        return (made, Searched { contacts, overlaps });
    }
    let mended = found.overlaps.into_iter().map(|along| along.overlap);
    let searched = Searched {
        contacts: None,
        overlaps: mended.filter(|overlap| overlap.repaired).collect(),
    };
    (with_gaps(drawing, reading, members, &stretches), searched)
}
