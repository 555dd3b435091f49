use maud::{Markup, PreEscaped, html};

use super::SHEET;
use crate::finding::Severity;
use crate::message::{Lengths, Message};
use crate::report::view::{
    AlikeFindings, CellKind, FindingEntry, Outlet, Pair, QuestionEntry, Section, SectionLayout, SectionPart,
    Tone, ViewCell, ViewColumn, ViewRow, ViewTable,
};
use crate::report::words;

/// The unit of the lengths on it.
pub(super) const PAPER: Lengths = Lengths::Mm;

/// Writes sections one below the other, without those that say nothing.
pub(super) fn sections(sections: &[Section]) -> Markup {
    let is_office = |section: &Section| section.layout == SectionLayout::Office;
    let shown: Vec<&Section> = sections.iter().filter(|section| !section.is_empty()).collect();
    let together = shown.chunk_by(|a, b| is_office(a) && is_office(b));
    html! {
        @for sections in together {
            @if is_office(sections[0]) {
                div.job-office { @for shown in sections { (section(shown)) } }
            } @else {
                @for shown in sections { (section(shown)) }
            }
        }
    }
}

fn section(section: &Section) -> Markup {
    let id = format!("job-{}", section.id);
    let title = words::capitalised(&text_of(&section.title));
    let class = match section.layout {
        SectionLayout::Flowing | SectionLayout::Office => None,
        SectionLayout::PageTop => Some("job-page-top"),
        SectionLayout::Whole => Some("job-whole"),
        SectionLayout::Compact => Some("job-compact"),
        SectionLayout::Across => Some("job-across"),
    };
    let wide = section.layout == SectionLayout::Across;
    html! {
        section class=[class] aria-labelledby=(id) {
            h2 id=(id) { (title) }
            @if !section.note.is_empty() { p.job-quiet { (words::capitalised(&text_of(&section.note))) "." } }
            @for one in section.parts(Outlet::JOB_SHEET) { (part(one, &title, wide)) }
        }
    }
}

fn text_of(message: &Message) -> String {
    message.shown(PAPER)
}

fn part(part: &SectionPart, label: &str, is_wide: bool) -> Markup {
    match part {
        SectionPart::Heading(words) => html! { h3 { (words::capitalised(&text_of(words))) } },
        SectionPart::Words(tone, words) => {
            let class = match tone {
                Tone::Plain => None,
                Tone::Quiet => Some("job-quiet"),
                Tone::Strong | Tone::Alarm => Some("job-caution"),
            };
            html! { p class=[class] { (words::capitalised(&text_of(words))) } }
        }
        SectionPart::Pairs(list) => pairs(list),
        SectionPart::List(items) => html! { ul { @for item in items { li { (text_of(item)) } } } },
        SectionPart::Blanks(names) => html! {
            dl.job-blanks { @for name in names { dt { (words::capitalised(&text_of(name))) } dd {} } }
        },
        SectionPart::Table(rows) => table(rows, label),
        SectionPart::Findings(groups) => html! { @for group in groups { (findings(group)) } },
        SectionPart::Questions(entries) => html! { @for entry in entries { (question(entry)) } },
        SectionPart::Picture(svg) if is_wide => html! { div.job-chart.job-wide { (PreEscaped(svg)) } },
        SectionPart::Picture(svg) => html! { div.job-chart.job-strip { (PreEscaped(svg)) } },
        SectionPart::DrawingSheet => drawing_sheet(),
        SectionPart::Folded(what, parts) => html! {
            details {
                summary { (text_of(what)) }
                @for one in parts { (self::part(one, label, false)) }
            }
        },
    }
}

fn pairs(pairs: &[Pair]) -> Markup {
    html! {
        dl.job-pairs {
            @for pair in pairs { dt { (words::capitalised(&text_of(&pair.name))) } dd { (text_of(&pair.value)) } }
        }
    }
}

/// Writes a table that can be moved sideways where the page is narrow, with the keyboard too.
fn table(table: &ViewTable, label: &str) -> Markup {
    let columns = table.columns(Outlet::JOB_SHEET);
    let shown = table.rows(Outlet::JOB_SHEET);
    html! {
        div.job-table role="group" aria-label=(label) tabindex="0" {
            table {
                thead { tr { @for (_, column) in &columns { (head(column)) } } }
                tbody { @for one in shown { (row(one, &columns)) } }
            }
        }
        @if let Some(rest) = table.rest(shown.len()) { p { (rest) } }
    }
}

/// Writes the head of a column; a number with what it may be has three.
fn head(column: &ViewColumn) -> Markup {
    let name = words::capitalised(&column.head(PAPER));
    match column.kind {
        CellKind::Band => {
            html! { @for end in ["Low", "Expected", "High"] { th.job-number scope="col" { (end) } } }
        }
        CellKind::Number => html! { th.job-number scope="col" { (name) } },
        CellKind::Name | CellKind::Words => html! { th scope="col" { (name) } },
    }
}

fn row(row: &ViewRow, columns: &[(usize, &ViewColumn)]) -> Markup {
    html! {
        tr class=[row.is_sum.then_some("job-sum")] {
            @for (at, column) in columns { (cell(&row.cells[*at], column.kind)) }
        }
    }
}

fn cell(cell: &ViewCell, kind: CellKind) -> Markup {
    if let (ViewCell::Quantity(value), CellKind::Band) = (cell, kind) {
        let ends = value.cells(PAPER);
        return html! { @for end in &ends { td.job-number { (end.as_deref().unwrap_or("–")) } } };
    }
    let text = cell.text(PAPER);
    match kind {
        CellKind::Name => html! { th scope="row" { (text) } },
        CellKind::Number | CellKind::Band => html! { td.job-number { (text) } },
        CellKind::Words => html! { td.job-words { (text) } },
    }
}

fn findings(group: &AlikeFindings) -> Markup {
    let class = match group.severity {
        Severity::Error => "job-error",
        Severity::Warning => "job-warning",
        Severity::Note => "job-note",
    };
    html! {
        ol.job-findings start=(group.number) {
            li class=(class) {
                p { strong { (words::severity(group.severity)) ": " (group.title) } ", " (text_of(&group.places)) }
                @for entry in &group.entries { (finding(entry)) }
                @if !group.others.is_empty() { p.job-quiet { "Others: " (text_of(&group.others)) } }
            }
        }
    }
}

fn finding(entry: &FindingEntry) -> Markup {
    html! {
        p { (text_of(&entry.says)) }
        @if !entry.remedy.is_empty() { p.job-quiet { "Do: " (text_of(&entry.remedy)) } }
    }
}

fn question(entry: &QuestionEntry) -> Markup {
    html! {
        p { strong { (entry.number) ". " (text_of(&entry.asks)) } " " (text_of(&entry.why)) }
        ul { @for reading in &entry.readings { li { (text_of(&reading.says)) ": " (text_of(&reading.means)) } } }
    }
}

fn drawing_sheet() -> Markup {
    html! {
        // Shown by the script: without it there is nothing to move.
        p.job-tools hidden {
            button type="button" data-zoom="1.5" { "Larger" }
            button type="button" data-zoom="0.6667" { "Smaller" }
            button type="button" data-zoom="0" { "Whole sheet" }
            span { "Click, then drag to move and turn the wheel to zoom. With the keyboard: arrow keys, + and −, 0 for the whole sheet; 1 to 9 \
                 show and hide a pass, M the marks." }
        }
        div.job-sheet role="group" aria-label="Drawing sheet" { (PreEscaped(SHEET)) }
    }
}
