use std::fmt::Write as _;

use super::table::table;
use super::{ERROR, HEADING, QUIET, WARNING, style};
use crate::message::{Lengths, Message};
use crate::report::view::{
    AlikeFindings, FindingEntry, Outlet, Pair, QuestionEntry, Section, SectionPart, Tone,
};
use crate::report::words;

/// Writes sections one below the other, without those that say nothing.
pub(super) fn sections(sections: &[Section], lengths: Lengths) -> String {
    let writer = SectionWriter { lengths };
    // What has nothing but pictures and rows for paper has no heading either.
    let is_shown = |section: &&Section| {
        let has_part = section.parts(Outlet::TERMINAL).next().is_some();
        !section.is_empty() && (has_part || !section.note.is_empty())
    };
    let shown = sections.iter().filter(is_shown);
    let written: Vec<String> = shown.map(|section| writer.section(section)).collect();
    written.join("\n")
}

struct SectionWriter {
    lengths: Lengths,
}

impl SectionWriter {
    fn section(&self, section: &Section) -> String {
        let note = match &*section.note {
            "" => String::new(),
            _ => format!(": {}", self.words(&section.note)),
        };
        let mut text = format!("{HEADING}{}{HEADING:#}{note}\n", self.words(&section.title));
        for part in section.parts(Outlet::TERMINAL) {
            text.push_str(&self.part(part));
        }
        text
    }

    fn words(&self, message: &Message) -> String {
        message.shown(self.lengths)
    }

    fn part(&self, part: &SectionPart) -> String {
        match part {
            SectionPart::Heading(words) => format!("\n{HEADING}{}{HEADING:#}\n", self.words(words)),
            SectionPart::Words(tone, words) => {
                let (style, words) = (of_tone(*tone), self.words(words));
                format!("  {style}{words}{style:#}\n")
            }
            SectionPart::Pairs(pairs) => self.pairs(pairs),
            SectionPart::List(items) => items.iter().fold(String::new(), |mut text, item| {
                let _ = writeln!(text, "  - {}", self.words(item));
                text
            }),
            SectionPart::Table(rows) => table(rows, self.lengths),
            SectionPart::Findings(groups) => groups.iter().map(|group| self.found(group)).collect(),
            SectionPart::Questions(entries) => entries.iter().map(|entry| self.question(entry)).collect(),
            // Pictures have files of their own, and nobody writes on a screen.
            SectionPart::Picture(_) | SectionPart::DrawingSheet | SectionPart::Blanks(_) => String::new(),
            SectionPart::Folded(_, parts) => parts.iter().map(|part| self.part(part)).collect(),
        }
    }

    fn pairs(&self, pairs: &[Pair]) -> String {
        let names: Vec<String> = pairs.iter().map(|pair| self.words(&pair.name)).collect();
        let width = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
        let mut text = String::new();
        for (name, pair) in names.iter().zip(pairs) {
            let _ = writeln!(text, "  {name:<width$}  {}", self.words(&pair.value));
        }
        text
    }

    fn found(&self, group: &AlikeFindings) -> String {
        let (word, style) = (words::severity(group.severity), style(group.severity));
        let mut text = format!(
            "({}) {style}{word}{style:#}  {HEADING}{}{HEADING:#}, {}\n",
            group.number,
            group.names,
            self.words(&group.places)
        );
        for entry in &group.entries {
            text.push_str(&self.finding(entry));
        }
        text.push_str(&self.under_finding("others: ", &group.others));
        text.push('\n');
        text
    }

    fn finding(&self, entry: &FindingEntry) -> String {
        [
            ("", &entry.says),
            ("do: ", &entry.remedy),
            ("option: ", &entry.option),
            ("drawing: ", &entry.in_file),
        ]
        .map(|(name, words)| self.under_finding(name, words))
        .concat()
    }

    /// A line of a finding; nothing of no words.
    fn under_finding(&self, name: &str, words: &Message) -> String {
        if words.is_empty() {
            return String::new();
        }
        format!("    {QUIET}{name}{QUIET:#}{}\n", self.words(words))
    }

    fn question(&self, entry: &QuestionEntry) -> String {
        let style = if entry.is_assumed { HEADING } else { ERROR };
        let mut text = format!(
            "  {style}{}. {}{style:#}\n",
            entry.number,
            self.words(&entry.asks)
        );
        let _ = writeln!(text, "     {QUIET}{}{QUIET:#}", self.words(&entry.why));
        for (i, reading) in entry.readings.iter().enumerate() {
            let taken = if entry.is_assumed && i == 0 {
                " (taken)"
            } else {
                ""
            };
            let _ = writeln!(text, "     - {}{taken}", self.words(&reading.says));
            let _ = writeln!(text, "       {}", self.words(&reading.means));
            let _ = writeln!(text, "       {QUIET}{}{QUIET:#}", self.words(&reading.options));
        }
        text
    }
}

const fn of_tone(tone: Tone) -> anstyle::Style {
    match tone {
        Tone::Plain => anstyle::Style::new(),
        Tone::Quiet => QUIET,
        Tone::Strong => WARNING,
        Tone::Alarm => ERROR,
    }
}
