//! Plans a drawing as a program of one's own would: with the library alone, none of its features. From the top:
//!
//! ```sh
//! cargo run --no-default-features --example own_program
//! ```

use std::error::Error;
use std::fs;
use std::path::Path;

use kerfwright::types::Severity;
use kerfwright::{Book, JobFile, Planner};

fn main() -> Result<(), Box<dyn Error>> {
    let drawing = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/clock/ratchet.dxf");
    let book = Book::built_in()?;
    let job = JobFile::new("tool-steel", 8.0).finish("Ra 0.8").quantity(4_usize);
    let plan = Planner::new(&book)
        .job(&job)
        .plan("ratchet.dxf", fs::read(drawing)?)?;

    let state = if plan.reaches_demand() {
        "expected to reach what is asked; prove it by measuring"
    } else {
        "nothing in the book reaches what is asked: this comes nearest"
    };
    println!("state    {state}");
    let errors = plan.inspection.findings.iter();
    for finding in errors.filter(|finding| finding.severity == Severity::Error) {
        println!("error    {}", finding.message);
    }
    for group in &plan.groups {
        for (i, pass) in group.passes().iter().enumerate() {
            println!("offset   {:6.1} µm, pass {}", pass.offset_mm * 1e3, i + 1);
        }
    }
    // Without totals something has no path, or a question is open.
    let Some(totals) = plan.estimate.totals() else {
        println!("no total {}", plan.reasons_without_totals().join("; "));
        return Ok(());
    };
    let (minutes, cost) = (totals.order_minutes, totals.cost_order);
    println!(
        "minutes  {:.0} ({:.0} to {:.0})",
        minutes.expected, minutes.low, minutes.high
    );
    println!(
        "cost     {:.0} ({:.0} to {:.0}) {}",
        cost.expected, cost.low, cost.high, book.currency
    );
    Ok(())
}
