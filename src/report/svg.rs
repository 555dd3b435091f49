//! The drawing sheet: a paper-white A4 page with the part first, magnified insets, the wall section, the pass
//! table and what the checks found. Fixed decimals: the same input gives the same bytes.

mod repeats;
mod budget;
mod chart;
mod clip;
mod detail;
mod dimension;
mod findings;
mod overload;
mod holding;
mod style;
mod inset;
mod labels;
mod marks;
mod overlay;
mod part;
mod plot;
mod sheet;
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
use crate::plan::{Inspection, Plan};
use crate::report::cautions::IN_SHORT;
use crate::report::view::contour_table;
pub use budget::accuracy_budget;
pub use chart::{chart, comparison, finished_jobs, trade_off};
pub use overlay::{overlay, page_style, part_alone, wall_section};
use sheet::{Area, HEIGHT, Lettering, WIDTH, group, picture, rectangle, spot};
pub use shift_strip::{shift_strip, working_day};

/// What stands on a sheet.
struct Content<'a> {
    inspection: &'a Inspection,
    plan: Option<&'a Plan>,
}

const PART: Area = Area::new(8.0, 8.0, 183.0, 122.0);
const PART_ALONE: Area = Area::new(8.0, 8.0, 183.0, 154.0);
const FINDINGS_ALONE: Area = Area::new(8.0, 165.0, 183.0, 37.0);
const INSETS: Area = Area::new(194.0, 8.0, 95.0, 122.0);
const WALL_SECTION: Area = Area::new(8.0, 133.0, 183.0, 46.0);
const FINDINGS: Area = Area::new(8.0, 182.0, 183.0, 20.0);
const CONTOURS_ALONE: Area = Area::new(194.0, 8.0, 95.0, 156.0);
const TITLE_BLOCK_ALONE: Area = Area::new(194.0, 167.0, 95.0, 35.0);
const TITLE_BLOCK: Area = Area::new(194.0, 133.0, 95.0, 69.0);

/// Writes the sheet of an inspected drawing, without passes.
pub fn inspection(inspection: &Inspection) -> String {
    document_text(&inspected(inspection)) + "\n"
}

/// As [`inspection`], bit by bit.
///
/// # Errors
/// Those of `out`.
pub fn write_inspection(inspection: &Inspection, out: &mut dyn Write) -> io::Result<()> {
    writeln!(AskingWriter(out), "{}", inspected(inspection))
}

/// Writes the sheet of a plan.
pub fn plan(plan: &Plan) -> String {
    document_text(&planned(plan)) + "\n"
}

/// As [`plan`], bit by bit.
///
/// # Errors
/// Those of `out`.
pub fn write_plan(plan: &Plan, out: &mut dyn Write) -> io::Result<()> {
    writeln!(AskingWriter(out), "{}", planned(plan))
}

fn document_text(document: &Document) -> String {
    let mut bytes = Vec::new();
    write!(AskingWriter(&mut bytes), "{document}").expect("memory takes what is written to it");
    String::from_utf8(bytes).expect("what is written is text")
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

fn inspected(inspection: &Inspection) -> Document {
    Content {
        inspection,
        plan: None,
    }
    .draw()
}

fn planned(plan: &Plan) -> Document {
    Content {
        inspection: &plan.inspection,
        plan: Some(plan),
    }
    .draw()
}

impl Content<'_> {
    fn draw(&self) -> Document {
        let all = Area::new(0.0, 0.0, WIDTH, HEIGHT);
        let border = all.inset(5.0, 5.0, 5.0, 5.0);
        let (part_area, title_area) = if self.plan.is_some() {
            (PART, TITLE_BLOCK)
        } else {
            (PART_ALONE, TITLE_BLOCK_ALONE)
        };
        let places = self.plan.map_or_else(Vec::new, inset::places);
        let part = part::draw(self, &places, part_area);
        let name = format!("Drawing sheet of {}", self.inspection.file);
        let document = picture(all, &name, "")
            .add(
                group("sheet")
                    .add(rectangle("paper", all))
                    .add(rectangle("frame", border)),
            )
            .add(part.drawn)
            .add(title_block::draw(self, title_area, &part.scale_words));
        if let Some(plan) = self.plan {
            document
                .add(cautions())
                .add(inset::draw(plan, &places, INSETS))
                .add(wall_section::draw(plan, WALL_SECTION))
                .add(findings::draw(self, FINDINGS))
        } else {
            document
                .add(tables::draw(
                    "contour-table",
                    &contour_table(self.inspection),
                    CONTOURS_ALONE,
                ))
                .add(findings::draw(self, FINDINGS_ALONE))
        }
    }
}

/// The cautions in short, along the lower edge of the frame.
fn cautions() -> Group {
    let at = spot(PART.x, HEIGHT - 6.0);
    let words = IN_SHORT.join(" ");
    group("cautions").add(Lettering::new("", 1.75).write(at, WIDTH - 2.0 * PART.x, &words))
}

#[cfg(test)]
mod tests;
