//! Pieces that get no tab. Over all drawings of the workshop: nothing is cut free before the attended stop, what is cut
//! after it is as long as the tab would have been, nothing loose is skimmed, and nothing is charged that is not cut.

use kerfwright::finding::Severity;
use kerfwright::job::{JobFile, Purpose};
use kerfwright::plan::{OperationKind, Plan, Planner, TimedOperation, shortfalls_in_words};
use kerfwright::process::PieceKind;
use kerfwright::shop::Book;
use serde_json::Value;

use crate::fixtures::workshop;

/// What the layers of a drawing are for, as its sidecar has it.
fn layers(answer: &str) -> String {
    let sidecar: Value = serde_json::from_str(answer).expect("the sidecar is JSON");
    let rows = sidecar["contours"].as_array().expect("a list of contours");
    let mut layers = std::collections::BTreeMap::new();
    for row in rows {
        let purpose: Purpose = serde_json::from_value(row["use"].clone()).expect("a use");
        if purpose != Purpose::Cut {
            let layer = row["layer"].as_str().expect("a layer");
            layers.insert(layer.to_owned(), row["use"].as_str().expect("a use").to_owned());
        }
    }
    let lines = layers
        .iter()
        .map(|(layer, purpose)| format!("[layer.\"{layer}\"]\nuse = \"{purpose}\"\n"));
    lines.collect()
}

fn planned(name: &str, dxf: &[u8], more: &str) -> Plan {
    let book = Book::built_in().expect("the built-in book is sound");
    let job = format!("material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\n{more}");
    let job = JobFile::parse(&job).expect("a sound job");
    Planner::new(&book)
        .job(&job)
        .plan(name, dxf)
        .unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Each drawing planned with tabs and without; every slug hangs until a stop.
fn each_pair(passes: usize, stops: &str, mut check: impl FnMut(&str, &Plan, &Plan)) {
    let mut drawings = 0;
    for fixture in workshop::all() {
        let job = |tab: &str| {
            let uses = layers(&fixture.answer);
            let job = format!("passes = {passes}\nslug = \"stop\"\nstops = \"{stops}\"\n{tab}{uses}");
            planned(fixture.name, fixture.dxf.as_bytes(), &job)
        };
        let (with, without) = (job(""), job("tab = \"none\"\n"));
        check(fixture.name, &with, &without);
        drawings += 1;
    }
    assert!(drawings >= 13, "only {drawings} drawings");
}

fn cuts(kind: OperationKind) -> bool {
    matches!(
        kind,
        OperationKind::Rough | OperationKind::Skim | OperationKind::CutOff | OperationKind::SkimTab
    )
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9 * (1.0 + a.abs().max(b.abs()))
}

#[test]
fn nothing_is_cut_free_before_the_attended_stop() {
    use OperationKind::{CutOff, Remove, Rough, Stop};
    let (mut slugs, mut parts, mut elsewhere) = (0, 0, 0);
    for (passes, stops) in [(4, "grouped"), (4, "each"), (1, "grouped")] {
        each_pair(passes, stops, |name, with, without| {
            let steps = without.sequence();
            let pieces = with.process.separations.iter().zip(&without.process.separations);
            assert_eq!(with.process.separations.len(), without.process.separations.len());
            for (i, (tabbed, loose)) in pieces.enumerate() {
                let contour = loose.piece.contour;
                assert_eq!(
                    (tabbed.piece.contour, tabbed.piece.kind),
                    (contour, loose.piece.kind)
                );
                let what = format!("{name}, contour {contour}, {passes} passes, stops {stops}");
                let about = |step: &&TimedOperation| step.separation == Some(i);
                let own: Vec<&TimedOperation> = steps.iter().filter(about).collect();
                let kinds: Vec<OperationKind> = own.iter().map(|step| step.kind).collect();
                assert_eq!(kinds, [Rough, Stop, CutOff, Remove], "{what}");
                assert!(own[1..].iter().all(|step| step.attended), "{what}");
                // The stretch is as long as a tab there would be, and all else is cut before the stop. A tab that would go across
                // a tip stands elsewhere, and is as long as its own place asks.
                let (tabbed, stretch) = (
                    tabbed.tab().expect("a tab"),
                    loose.last_stretch().expect("a stretch"),
                );
                let tab = stretch.length_mm;
                if (tabbed.from_mm - stretch.from_mm).abs() < 1e-6 {
                    assert!(close(tabbed.length_mm, tab), "{what}");
                } else {
                    assert!(tabbed.on_straight, "{what}");
                    elsewhere += 1;
                }
                let whole = without.toolpaths.loops[loose.piece.wire_loop.index()].length_mm;
                assert!(
                    close(own[2].length_mm, tab),
                    "{what}: {} not {tab}",
                    own[2].length_mm
                );
                assert!(close(own[0].length_mm, whole - tab), "{what}");
                assert!(loose.tab().is_none(), "{what}: it gets no tab");
                match loose.piece.kind {
                    PieceKind::Slug => slugs += 1,
                    PieceKind::Part => parts += 1,
                    other => panic!("{other:?}"),
                }
            }
        });
    }
    // A third of them each time.
    assert!(slugs > 90 && parts > 30, "{slugs} slugs and {parts} parts");
    assert!(
        (3..30).contains(&elsewhere),
        "{elsewhere} tabs moved to a straight"
    );
}

#[test]
fn what_is_loose_is_not_skimmed_and_a_finding_says_so() {
    let (mut slugs, mut parts) = (0, 0);
    each_pair(4, "grouped", |name, _, without| {
        let steps = without.sequence();
        for (i, separation) in without.process.separations.iter().enumerate() {
            let contour = separation.piece.contour;
            let off =
                |step: &TimedOperation| step.separation == Some(i) && step.kind == OperationKind::CutOff;
            let off = steps.iter().position(off).expect("it is cut off");
            let of_contour = |(k, step): (usize, &TimedOperation)| {
                (step.contour == contour && matches!(step.kind, OperationKind::Skim | OperationKind::SkimTab))
                    .then_some(k)
            };
            let skims: Vec<usize> = steps.iter().enumerate().filter_map(of_contour).collect();
            let found = without.inspection.findings.iter();
            let found = found.filter(|f| f.name == "skims-on-loose-part" && f.contour == Some(contour));
            let found: Vec<_> = found.collect();
            match separation.piece.kind {
                PieceKind::Slug => {
                    assert!(
                        !skims.is_empty() && skims.iter().all(|k| *k > off),
                        "{name}, {contour}"
                    );
                    assert!(found.is_empty(), "{name}, {contour}");
                    slugs += 1;
                }
                PieceKind::Part => {
                    assert!(skims.is_empty(), "{name}, {contour} is skimmed loose");
                    let own = without
                        .toolpaths
                        .loops
                        .iter()
                        .filter(|wire| wire.contour == contour);
                    assert!(
                        own.into_iter().all(|wire| wire.pass.is_rough()),
                        "{name}, {contour}"
                    );
                    assert!(
                        found.len() == 1 && found[0].severity == Severity::Error && found[0].at.is_some(),
                        "{name}, {contour}: {found:?}"
                    );
                    parts += 1;
                }
                other => panic!("{other:?}"),
            }
        }
    });
    assert!(slugs > 30 && parts > 10, "{slugs} slugs and {parts} parts");
}

#[test]
fn a_part_that_is_only_roughed_needs_no_tab() {
    each_pair(1, "grouped", |name, _, without| {
        let found = without.inspection.findings.iter();
        assert_eq!(
            found.filter(|f| f.name == "skims-on-loose-part").count(),
            0,
            "{name}"
        );
    });
}

/// Every loop is cut whole in the end, what the estimate charges is what the steps cut, and the clock ends with its time.
#[test]
fn the_estimate_charges_what_is_cut_and_no_more() {
    for stops in ["grouped", "each"] {
        each_pair(4, stops, |name, _, without| {
            let steps = without.sequence();
            for row in &without.estimate.cut.rows {
                let of_pass = |step: &&TimedOperation| step.pass == row.pass && cuts(step.kind);
                let cut_mm: f64 = steps.iter().filter(of_pass).map(|step| step.length_mm).sum();
                let loops = without
                    .toolpaths
                    .loops
                    .iter()
                    .filter(|wire| wire.pass == row.pass);
                let loops_mm: f64 = loops.map(|wire| wire.length_mm).sum();
                let charged_mm = row.path_length_mm.expect("every path is there");
                assert!(
                    close(cut_mm, loops_mm),
                    "{name}, pass {}: {cut_mm} of {loops_mm}",
                    row.pass
                );
                assert!(
                    close(charged_mm, cut_mm),
                    "{name}, pass {}: {charged_mm} for {cut_mm}",
                    row.pass
                );
            }
            let end = steps
                .last()
                .map_or(0.0, |step| step.clock_minutes + step.takes_minutes());
            let Some(time) = &without.estimate.time else {
                // The front plate of a tower clock.
                assert!(!without.process.beyond_machine.is_empty(), "{name}");
                return;
            };
            let machine = time.machine_minutes.value.expected;
            assert!(
                (end - machine).abs() < 1e-6 * machine,
                "{name}: {end} and {machine}"
            );
        });
    }
}

/// A wall that is only roughed has the finish of the rough cut, and nothing is said of its size.
#[test]
fn nothing_is_claimed_of_a_wall_that_is_not_skimmed() {
    each_pair(4, "grouped", |name, with, without| {
        let kinds = without.process.separations.iter().map(|s| s.piece.kind);
        let has_part = kinds.into_iter().any(|kind| kind == PieceKind::Part);
        let (skimmed, left) = (&with.groups[0].quality, &without.groups[0].quality);
        let ra = |quality: &kerfwright::estimate::GroupQuality| quality.surface.ra_um.expected;
        assert_eq!(left.accuracy.is_none(), has_part, "{name}");
        assert_eq!(ra(left) > ra(skimmed), has_part, "{name}");
    });
    let fixture = workshop::all()
        .into_iter()
        .find(|f| f.name.ends_with("hand-punch"));
    let fixture = fixture.expect("it is drawn");
    let asked = |tab: &str| {
        let job = format!(
            "finish = \"Ra 0.8\"\ntolerance = \"0.02\"\n{tab}{}",
            layers(&fixture.answer)
        );
        planned(fixture.name, fixture.dxf.as_bytes(), &job)
    };
    let (with, without) = (asked(""), asked("tab = \"none\"\n"));
    assert!(with.reaches_demand() && !without.reaches_demand());
    let reasons = shortfalls_in_words(&without.candidates[0].reasons);
    assert!(reasons.contains("allow a tab"), "{reasons}");
    assert!(without.groups[0].verdict().is_none());
}
