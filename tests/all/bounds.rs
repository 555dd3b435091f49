//! What a comparison says and what a plan of the same wire, machine and passes says: the same where it is computed, no less in
//! the plan where it is estimated (branch and bound: A. H. Land and A. G. Doig, Econometrica 28, 1960, is right only if the
//! bound is one).

use std::path::PathBuf;

use kerfwright::estimate::JobTotals;
use kerfwright::job::JobFile;
use kerfwright::plan::{Candidate, Comparison, FigureBasis, Plan, Planner};
use kerfwright::units::Band;

use crate::common::{book, drawings_in, file_name, fixture, fixture_bytes, real_drawings};

/// What rounding may take of a sum.
const ROUNDING: f64 = 1.0 + 1e-9;

fn compared(name: &str, bytes: &[u8], job: &str) -> Option<Comparison> {
    let job = JobFile::parse(job).expect("a sound job");
    Planner::new(book()).job(&job).compare(name, bytes).ok()
}

/// The plan of a row of a comparison.
fn planned(name: &str, bytes: &[u8], job: &str, row: &Candidate) -> Plan {
    let mut job = JobFile::parse(job).expect("a sound job");
    job.wire_mm = Some(row.wire_mm);
    job.wire_kind = Some(row.wire_kind.clone());
    job.machine = Some(row.machine.clone());
    job.passes = Some(row.passes);
    Planner::new(book())
        .job(&job)
        .plan(name, bytes)
        .expect("what is in a row can be planned")
}

/// What every output gives of a job.
fn six(totals: JobTotals) -> [Band; 6] {
    let JobTotals {
        machine_minutes,
        piece_minutes,
        order_minutes,
        cost_piece,
        cost_order,
        price_indicative,
        ..
    } = totals;
    [
        machine_minutes,
        piece_minutes,
        order_minutes,
        cost_piece,
        cost_order,
        price_indicative,
    ]
}

/// Holds the rows of one comparison against their plans; how many were computed and estimated, and the least share of a plan
/// that an estimate came to.
fn hold(name: &str, bytes: &[u8], job: &str, every: usize) -> (usize, usize, f64) {
    let Some(comparison) = compared(name, bytes, job) else {
        return (0, 0, 1.0);
    };
    let (mut computed, mut estimated, mut least) = (0, 0, 1.0_f64);
    let rows = comparison.candidates.iter().enumerate();
    for (i, row) in rows {
        let one_number = row.passes_by_group.iter().all(|passes| *passes == row.passes);
        if row.totals.is_none() || !one_number || (i % every != 0 && row.basis == FigureBasis::Estimated) {
            continue;
        }
        let plan = planned(name, bytes, job, row);
        let place = format!(
            "{name}, {} mm {}, {} passes, {job}",
            row.wire_mm, row.wire_kind, row.passes
        );
        let in_row = six(row.totals.expect("looked at"));
        let in_plan = plan.estimate.totals().map(six);
        match row.basis {
            FigureBasis::Computed => {
                computed += 1;
                assert_eq!(Some(in_row), in_plan, "{place}");
            }
            FigureBasis::Estimated => {
                estimated += 1;
                let Some(in_plan) = in_plan else { continue };
                for (row, plan) in in_row.into_iter().zip(in_plan) {
                    assert!(
                        row.expected <= plan.expected * ROUNDING,
                        "{place}: {row:?} {plan:?}"
                    );
                    least = least.min(row.expected / plan.expected);
                }
                let accuracy = plan
                    .groups
                    .iter()
                    .filter_map(|group| group.quality.accuracy.as_ref());
                let worst = accuracy
                    .map(kerfwright::estimate::Accuracy::worst_on_size_um)
                    .reduce(f64::max);
                if let (Some(row), Some(plan)) = (row.accuracy_um, worst) {
                    assert!(row <= plan * ROUNDING, "{place}: ±{row} and ±{plan} µm");
                }
            }
            other => panic!("{other:?}"),
        }
    }
    let unsettled = |row: &&Candidate| row.non_dominated && row.basis == FigureBasis::Estimated;
    assert!(
        !comparison.candidates.iter().any(|row| unsettled(&row)),
        "{name}: {job}"
    );
    (computed, estimated, least)
}

const JOBS: [&str; 5] = [
    "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 1.6\"\ntolerance = \"±0.02\"\nassume_sides = true\n",
    "material = \"tool-steel\"\nthickness_mm = 60\nfinish = \"Ra 0.8\"\ntolerance = \"±0.01\"\nassume_sides = true\n",
    "material = \"tungsten-carbide\"\nthickness_mm = 8\ntolerance = \"±0.02\"\nquantity = 12\nassume_sides = true\n",
    "material = \"aluminium\"\nthickness_mm = 35\nfinish = \"Ra 1.6\"\ntab = \"none\"\nassume_sides = true\nslug = \"stop\"\n",
    "material = \"stainless\"\nthickness_mm = 5\ntolerance = \"±0.03\"\nfinish = \"Ra 3\"\nprefer = \"cost\"\nassume_sides = true\nslug = \"coreless\"\n",
];

fn hold_all(cases: &[(PathBuf, &str)], every: usize) {
    let (mut computed, mut estimated, mut least) = (0, 0, 1.0_f64);
    for (drawing, job) in cases {
        let bytes = std::fs::read(drawing).expect("readable");
        let held = hold(&file_name(drawing), &bytes, job, every);
        computed += held.0;
        estimated += held.1;
        least = least.min(held.2);
    }
    println!(
        "{computed} computed rows are their plans, {estimated} estimated ones at most theirs, at the least {least:.2} of it"
    );
    assert!(computed > cases.len() && estimated > cases.len());
}

#[test]
fn a_comparison_says_what_the_plan_says() {
    let drawings = [
        "clock/balance-key.dxf",
        "shapes/circle-20.dxf",
        "clock/hand-die.dxf",
        "shapes/stadium.dxf",
        "shapes/keyhole.dxf",
    ];
    let cases: Vec<(PathBuf, &str)> = drawings.iter().map(fixture).zip(JOBS).collect();
    hold_all(&cases, 9);
}

#[test]
#[ignore = "long: bash tests/long bounds"]
fn all_comparisons_say_what_their_plans_say() {
    let mut drawings = drawings_in(&fixture("clock"));
    drawings.extend(drawings_in(&fixture("shapes")));
    // Of those that others made the smaller ones: each is planned some sixty times a job.
    let small = |drawing: &PathBuf| std::fs::metadata(drawing).is_ok_and(|file| file.len() < 20_000);
    drawings.extend(real_drawings().into_iter().flatten().filter(small));
    let each = |drawing: &PathBuf| JOBS.map(|job| (drawing.clone(), job));
    let cases: Vec<(PathBuf, &str)> = drawings.iter().flat_map(each).collect();
    hold_all(&cases, 5);
}

/// A designation is told as the material of the book that it is cut as, in a comparison as in a plan.
#[test]
fn a_comparison_names_the_material_as_its_plan_does() {
    let bytes = fixture_bytes("shapes/circle-20.dxf");
    let job =
        "material = \"SKD11\"\nthickness_mm = 20\nwire_mm = 0.25\nassume_sides = true\nfinish = \"Ra 1.6\"\n";
    let comparison = compared("circle-20.dxf", &bytes, job).expect("it can be cut");
    let chosen = comparison.chosen.expect("one is chosen");
    assert_eq!(comparison.material, chosen.setup.material);
    assert_eq!(comparison.material, "tool-steel");
}
