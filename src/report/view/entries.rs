//! Findings and questions, as they are shown.

use crate::finding::{Mend, Severity};
use crate::message::Message;

/// Findings that are alike, numbered as they are marked on the sheet.
#[derive(Debug)]
pub(in crate::report) struct AlikeFindings {
    pub(in crate::report) number: usize,
    pub(in crate::report) severity: Severity,
    /// As `explain` takes them.
    pub(in crate::report) names: String,
    /// In a toolmaker's words.
    pub(in crate::report) title: String,
    /// Why each of its checks is made, and what to do.
    pub(in crate::report) explained: Vec<[&'static str; 2]>,
    /// In how many places.
    pub(in crate::report) places: Message,
    /// Those that are written out.
    pub(in crate::report) entries: Vec<FindingEntry>,
    /// Where the others are; empty where there are none.
    pub(in crate::report) others: Message,
}

/// A finding.
#[derive(Debug)]
pub(in crate::report) struct FindingEntry {
    /// Where it stands among all findings, from 0.
    pub(in crate::report) index: usize,
    /// What was found, and where on the part.
    pub(in crate::report) says: Message,
    /// What to do; empty where nothing is.
    pub(in crate::report) remedy: Message,
    /// What to type to do it; empty where nothing is.
    pub(in crate::report) option: Message,
    /// Changes of the job that may settle it.
    pub(in crate::report) mends: Vec<Mend>,
    /// Where in the file.
    pub(in crate::report) in_file: Message,
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
