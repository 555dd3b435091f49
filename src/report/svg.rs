//! The drawing sheet: a paper-white A4 page with the part first and the title block beside or below it; on further pages magnified insets,
//! the wall section, and whatever else finds no room. Fixed decimals: the same input gives the same bytes.

mod arrangement;
mod repeats;
mod budget;
mod chart;
mod clip;
mod control_chart;
mod detail;
mod dimension;
mod findings;
mod flow;
mod overload;
mod holding;
mod style;
mod inset;
mod labels;
mod legend;
mod marks;
mod overlay;
mod paper;
mod part;
mod plot;
mod register;
mod room_chart;
mod sheet;
mod size_marks;
mod signs;
mod shift_strip;
mod starts;
mod tables;
mod text;
mod title_block;
mod view;
mod wall_section;

use std::io::{self, Write};

use svg::Document;
use svg::node::element::Group;

use crate::cancel::checkpoint;
use crate::message::Lengths;
use crate::message::number::plain;
use crate::plan::{Inspection, Plan};
use crate::report::view::{Pair, contour_table};
use arrangement::Arrangement;
pub use budget::accuracy_budget;
pub use chart::{chart, comparison, finished_jobs, trade_off};
pub use control_chart::{control_chart, control_charts, control_charts_alone};
use flow::Flow;
pub use overlay::{overlay, page_style, part_alone, wall_section};
use paper::{PORTRAIT, Paper};
use part::DrawnPart;
pub use room_chart::part_in_room;
use sheet::{Area, LARGE, Lettering, SMALL, group, picture, rectangle, spot};
pub use shift_strip::{shift_strip, working_day};
pub use size_marks::inspection_sheet;
use tables::TableStyle;
use view::View;

/// What stands on a sheet.
#[derive(Clone, Copy)]
struct Content<'a> {
    inspection: &'a Inspection,
    plan: Option<&'a Plan>,
    /// The unit of the lengths on it.
    lengths: Lengths,
}

/// The sheets of a drawing, all on the same paper.
pub struct DrawingSheets {
    name: String,
    paper: Paper,
    sheets: Vec<Group>,
}

/// Writes the sheets of an inspected drawing, without passes, one below the other.
pub fn inspection(inspection: &Inspection, lengths: Lengths) -> String {
    text_of(|out| write_inspection(inspection, lengths, out))
}

/// As [`inspection`], bit by bit.
///
/// # Errors
/// Those of `out`.
pub fn write_inspection(inspection: &Inspection, lengths: Lengths, out: &mut dyn Write) -> io::Result<()> {
    let content = Content {
        inspection,
        plan: None,
        lengths,
    };
    writeln!(AskingWriter(out), "{}", content.draw().file())
}

/// Writes the sheets of a plan, one below the other.
pub fn plan(plan: &Plan, lengths: Lengths) -> String {
    text_of(|out| write_plan(plan, lengths, out))
}

/// As [`plan`], bit by bit.
///
/// # Errors
/// Those of `out`.
pub fn write_plan(plan: &Plan, lengths: Lengths, out: &mut dyn Write) -> io::Result<()> {
    writeln!(AskingWriter(out), "{}", DrawingSheets::of(plan, lengths).file())
}

impl DrawingSheets {
    /// Draws the sheets of a plan.
    pub fn of(plan: &Plan, lengths: Lengths) -> Self {
        let content = Content {
            inspection: &plan.inspection,
            plan: Some(plan),
            lengths,
        };
        content.draw()
    }

    /// Whether the paper stands upright.
    pub fn is_portrait(&self) -> bool {
        self.paper == PORTRAIT
    }

    /// Writes each sheet as a picture of its own, between these.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn write_each(self, (before, after): (&str, &str), out: &mut dyn Write) -> io::Result<()> {
        for (i, sheet) in self.sheets.into_iter().enumerate() {
            let name = format!("{}, sheet {}", self.name, i + 1);
            let drawn = picture(self.paper.area(i), &name, "").add(sheet);
            writeln!(AskingWriter(out), "{before}{drawn}{after}")?;
        }
        Ok(())
    }

    /// One file of all sheets, one below the other: a browser prints each on a page of its own.
    fn file(self) -> Document {
        let Paper { width, height } = self.paper;
        let all = Area::new(0.0, 0.0, width, height * self.sheets.len() as f64);
        let page = format!("@page{{size:{width}mm {height}mm;margin:0}}\n");
        self.sheets
            .into_iter()
            .fold(picture(all, &self.name, &page), Document::add)
    }
}

fn text_of(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> String {
    let mut bytes = Vec::new();
    write(&mut bytes).expect("memory takes what is written to it");
    String::from_utf8(bytes).expect("what is written is text")
}

fn document_text(document: &Document) -> String {
    text_of(|out| write!(AskingWriter(out), "{document}"))
}

/// Asks whether anybody still waits for what is written.
struct AskingWriter<'o>(&'o mut dyn Write);

impl Write for AskingWriter<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        checkpoint();
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

impl Content<'_> {
    fn draw(&self) -> DrawingSheets {
        let arrangement = Arrangement::of(part::bounds(self).1);
        let places = self.plan.map_or_else(Vec::new, inset::places);
        let part = part::draw(self, &places, arrangement.part, View::holding);
        let words = self.words(&arrangement, &part, &places);
        let count = words.len();
        let paper = arrangement.paper;
        let number = |sheet: usize| format!("sheet {sheet} of {count}");
        let mut drawn = Some(part.drawn);
        let sheets = words.into_iter().enumerate().map(|(i, words)| {
            let sheet = group(&format!("sheet-{}", i + 1))
                .add(rectangle("paper", paper.area(i)))
                .add(rectangle("frame", paper.frame(i)));
            match drawn.take() {
                Some(part) => {
                    let area = part::number_room(arrangement.part);
                    let at = spot(area.right(), area.y + LARGE - 0.4);
                    let number = Lettering::end("", LARGE).write(at, area.width, &number(1));
                    sheet
                        .add(part)
                        .add(number)
                        .add(rectangle("edge", arrangement.block))
                }
                None => sheet.add(self.head(paper.head(i), i + 1, &number(i + 1))),
            }
            .add(words)
        });
        DrawingSheets {
            name: format!("Drawing sheet of {}", plain(&self.inspection.file)),
            paper,
            sheets: sheets.collect(),
        }
    }

    /// Sets what is written and magnified, sheet by sheet.
    fn words(
        &self,
        arrangement: &Arrangement,
        part: &DrawnPart<'_>,
        places: &[inset::InsetPlace<'_>],
    ) -> Vec<Group> {
        let mut columns = arrangement.columns();
        let cautions = self.plan.and_then(|plan| {
            let (drawn, rest) = title_block::cautions(plan, columns.pop()?);
            columns.push(rest);
            Some(drawn)
        });
        let mut flow = Flow::new(arrangement.paper, columns);
        flow.put_alone(cautions);
        let mut of_sheet = vec![Pair::new("scale", part.scale_words.clone())];
        of_sheet.extend(part.left_out.clone().map(|words| Pair::new("left out", words)));
        title_block::fields(self, of_sheet, &mut flow);
        title_block::offsets(self, &mut flow);
        legend::draw(self, &mut flow);
        findings::draw(self, &mut flow);
        part.register.draw(self.lengths, &mut flow);
        if let Some(plan) = self.plan {
            inset::draw(plan, places, self.lengths, &mut flow);
            wall_section::rows(plan, self.lengths, &mut flow);
        } else {
            let style = TableStyle {
                name: "contour-table",
                size: SMALL,
                lengths: self.lengths,
                label: None,
            };
            flow.gap(2.0);
            tables::draw(&style, &contour_table(self.inspection), &mut flow);
        }
        flow.finish()
    }

    /// The line on top of a further sheet.
    fn head(&self, area: Area, sheet: usize, words: &str) -> Group {
        let room = text::width(words, LARGE) + 2.0;
        let file = format!("{} · cautions: sheet 1", self.inspection.file);
        let at = |x: f64| spot(x, area.y + LARGE - 0.6);
        group(&format!("sheet-{sheet}-head"))
            .add(Lettering::new("strong", LARGE).write(at(area.x), area.width - room, &file))
            .add(Lettering::end("", LARGE).write(at(area.right()), room, words))
    }
}

#[cfg(test)]
pub(super) mod tests;
