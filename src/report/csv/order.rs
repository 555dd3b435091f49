//! One row a drawing: what an order of it would take and cost.

use crate::finding::Finding;
use crate::plan::Plan;
use crate::report::number::{fixed, plain};
use crate::report::totals::Totals;
use crate::shop::Figure;

const COLUMNS: [&str; 17] = [
    "file",
    "status",
    "reason",
    "perimeter_mm",
    "cut_area_mm2",
    "pass_area_mm2",
    "wire_mm",
    "passes",
    "minutes_low",
    "minutes",
    "minutes_high",
    "cost_fixed",
    "cost_each_low",
    "cost_each",
    "cost_each_high",
    "worst_finding",
    "assumptions",
];

/// A plan as a table of one row, with the line of column names above it.
pub fn order(plan: &Plan) -> String {
    super::table(&[COLUMNS.map(str::to_owned), row(plan)])
}

fn row(plan: &Plan) -> [String; COLUMNS.len()] {
    let of = |value: Option<f64>, decimals| value.map_or_else(String::new, |value| fixed(value, decimals));
    let (time, ledger) = (plan.estimate.time.as_ref(), plan.estimate.ledger.as_ref());
    let minutes = time.map(|time| time.machine_minutes.value);
    let expected = |figure: &Figure| figure.value.expected;
    let each = ledger.map(|ledger| ledger.cost_each.value);
    let (status, reason) = match time {
        Some(_) if plan.reaches_demand() => ("planned", ""),
        Some(_) => ("nearest", "nothing in the book reaches what is asked"),
        None => ("refused", "a path was refused"),
    };
    let passes: Vec<String> = plan
        .groups
        .iter()
        .map(|group| group.passes.len().to_string())
        .collect();
    [
        plain(&plan.inspection.file),
        status.into(),
        reason.into(),
        fixed(Totals::of(&plan.inspection).cut_perimeter_mm, 4),
        of(plan.cut.rough_area_mm2, 2),
        of(plan.cut.pass_area_mm2, 2),
        fixed(plan.ask.wire_mm, 3),
        passes.join("+"),
        of(minutes.map(|band| band.low), 2),
        of(minutes.map(|band| band.expected), 2),
        of(minutes.map(|band| band.high), 2),
        of(ledger.map(|ledger| expected(&ledger.cost_fixed)), 2),
        of(each.map(|band| band.low), 2),
        of(each.map(|band| band.expected), 2),
        of(each.map(|band| band.high), 2),
        worst(&plan.inspection.findings),
        plain(&plan.inspection.assumptions.join("; ")),
    ]
}

/// Severity and name; findings stand worst first.
fn worst(findings: &[Finding]) -> String {
    let words = |finding: &Finding| {
        format!(
            "{}: {}",
            crate::report::words::severity(finding.severity),
            finding.name
        )
    };
    findings.first().map_or_else(String::new, words)
}

#[cfg(test)]
mod tests {
    use crate::report::sample;

    #[test]
    fn every_column_has_its_value() {
        let plan = sample::plan();
        let text = super::order(&plan);
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let names = reader.headers().expect("names").clone();
        let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("rows");
        assert_eq!(rows.len(), 1);
        let value = |name: &str| {
            let at = names.iter().position(|column| column == name).expect("a column");
            rows[0][at].to_owned()
        };
        assert_eq!(
            (value("file"), value("status")),
            ("plate.dxf".into(), "planned".into())
        );
        // Plate 2 · (40 + 20), opening 2 · (16 + 10) mm.
        assert_eq!(value("perimeter_mm"), "172.0000");
        assert_eq!((value("wire_mm"), value("passes")), ("0.250".into(), "4".into()));
        let minutes = plan.estimate.time.as_ref().expect("paths").machine_minutes.value;
        assert_eq!(value("minutes"), format!("{:.2}", minutes.expected));
        assert!(value("worst_finding").contains(": "), "{text}");
    }
}
