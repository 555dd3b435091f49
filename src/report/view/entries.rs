//! Findings and questions, as they are shown.

use crate::finding::Severity;
use crate::message::Message;

/// Findings of one name, numbered as they are marked on the sheet.
#[derive(Debug)]
pub(in crate::report) struct FindingGroup {
    pub(in crate::report) name: &'static str,
    pub(in crate::report) severity: Severity,
    /// Those that are written out.
    pub(in crate::report) entries: Vec<FindingEntry>,
    /// What is said of the others; empty where there are none.
    pub(in crate::report) rest: Message,
}

/// A finding.
#[derive(Debug)]
pub(in crate::report) struct FindingEntry {
    pub(in crate::report) number: usize,
    pub(in crate::report) says: Message,
    /// Where on the part.
    pub(in crate::report) on_part: Message,
    /// Where in the file.
    pub(in crate::report) in_file: Message,
    /// What was measured against which limit; empty where nothing was.
    pub(in crate::report) measured: Message,
    /// What to do; empty where nothing is.
    pub(in crate::report) remedy: Message,
}

/// A question with its readings, the first of which may be taken.
#[derive(Debug)]
pub(in crate::report) struct QuestionEntry {
    pub(in crate::report) number: usize,
    pub(in crate::report) asks: Message,
    pub(in crate::report) why: Message,
    pub(in crate::report) readings: Vec<ReadingEntry>,
    /// The first reading is taken.
    pub(in crate::report) is_assumed: bool,
}

/// A reading: what it says, what it means and the options that give it.
#[derive(Debug)]
pub(in crate::report) struct ReadingEntry {
    pub(in crate::report) says: Message,
    pub(in crate::report) means: Message,
    pub(in crate::report) options: Message,
}
