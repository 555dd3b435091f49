//! A plate that has gone the whole way, for the tests of the formats.

use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::JobFile;
use crate::message::{message, mm};
use crate::plan::{Inspection, Plan, Planner};
use crate::shop::Book;

/// Makes a plate of 40 × 20 mm with a round opening of radius 5 in its middle, and two texts.
pub(crate) fn plate() -> Inspection {
    let round = "0\nCIRCLE\n5\n30\n8\nCUT\n10\n20\n20\n10\n40\n5\n";
    let text = "0\nTEXT\n8\nNOTES\n10\n0\n20\n-5\n40\n2\n1\nplate\n".repeat(2);
    let drawing = drawing(&format!("{round}{text}"));
    let book = Book::built_in().expect("the built-in book is sound");
    let inspection = Planner::new(&book).inspect("plate.dxf", drawing.as_bytes());
    inspection.expect("a sound drawing")
}

/// Makes a plan of the plate with an L-shaped opening instead of the round one, 60 mm thick, four passes.
pub(crate) fn plan() -> Plan {
    let drawing = drawing(&outline(
        "30",
        &[(12, 5), (28, 5), (28, 15), (20, 15), (20, 10), (12, 10)],
    ));
    let book = Book::built_in().expect("the built-in book is sound");
    let job = JobFile::new("tool-steel", 60.0).wire_mm(0.25).passes(4_usize);
    let plan = Planner::new(&book)
        .job(&job)
        .plan("plate.dxf", drawing.as_bytes());
    plan.expect("a sound drawing")
}

/// Makes a drawing of the plate and of an opening.
pub(crate) fn drawing(opening: &str) -> String {
    let plate = outline("2F", &[(0, 0), (40, 0), (40, 20), (0, 20)]);
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n{plate}{opening}0\nENDSEC\n0\nEOF\n"
    )
}

fn outline(handle: &str, corners: &[(i32, i32)]) -> String {
    let corners: Vec<String> = corners
        .iter()
        .map(|(x, y)| format!("10\n{x}\n20\n{y}\n"))
        .collect();
    let corners = corners.concat();
    format!("0\nLWPOLYLINE\n5\n{handle}\n8\nCUT\n70\n1\n{corners}")
}

/// Makes a finding at the corner of the plate.
pub(crate) fn finding() -> Finding {
    let mut finding = Finding::new(
        "open-contour",
        Severity::Error,
        message!("the contour does not close: its ends are {} apart", mm(0.3)),
        "close the gap in the drawing",
    )
    .mended_by(vec![Mend::Join(0.3)])
    .at(Point::new(40.0, 20.0))
    .on_contour(ContourId::FIRST)
    .measured(Quantity::mm(0.3))
    .limit(Quantity::um_of_mm(0.001));
    finding.layer = Some("CUT".into());
    finding.entities = vec!["2F".into()];
    finding.line = Some(812);
    finding
}
