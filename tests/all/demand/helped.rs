//! `plan --what-helps`: what would make the expected error smaller, tried; and the word that stands beside every "reached".

use std::collections::BTreeSet;

use kerfwright::job::{JobFile, Scope};
use kerfwright::plan::{Plan, Planner, RemedyKind};
use kerfwright::shop::Book;

use crate::common::{book, fixture_bytes, run, stdout};

const STADIUM: &str = "fixtures/shapes/stadium.dxf";

fn planned(book: &Book, job: &str) -> Plan {
    let job = JobFile::parse(job).expect("a sound job");
    Planner::new(book)
        .job(&job)
        .plan("stadium.dxf", fixture_bytes("shapes/stadium.dxf"))
        .expect("a sound drawing")
}

const ASKED: &str = "material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 3\n";

/// Each remedy is what the plan with it gives: planned again by hand with the change in its job.
#[test]
fn what_a_remedy_brings_is_what_the_plan_with_it_gives() {
    let own = "[machine.fine]\npositioning_um = 1\nrepeatability_um = 0.5\n";
    let book = Book::layered(own).expect("sound");
    let cost = |plan: &Plan| plan.estimate.totals().expect("totals").cost_order.expected;
    let mut kinds = BTreeSet::new();
    for (scope, asked) in [
        (Scope::OnSize, "tolerance = \"±0.006\"\noffset = \"modelled\"\n"),
        (Scope::PerSide, "tolerance = \"profile 0.006\"\npickup_mm = 900\n"),
    ] {
        let job = format!("{ASKED}{asked}");
        let error_um = |plan: &Plan| {
            let accuracy = plan.groups[0].quality.accuracy.as_ref().expect("a budget");
            match scope {
                Scope::OnSize => accuracy.worst_on_size_um(),
                _ => accuracy.worst_per_side_um(),
            }
        };
        let plan = planned(&book, &job);
        let found = plan.remedies().expect("a plan");
        assert!(
            found
                .windows(2)
                .all(|pair| pair[0].brings_um >= pair[1].brings_um)
        );
        assert!(
            found.len() <= 5 && found.iter().all(|remedy| remedy.brings_um >= 0.5),
            "{found:?}"
        );
        for remedy in &found {
            let change = match &remedy.kind {
                RemedyKind::OnePassMore { passes } => format!("passes = {}\n", passes[0]),
                RemedyKind::ShorterPickup { pickup_mm } => format!("pickup_mm = {pickup_mm}\n"),
                RemedyKind::OtherMachine { machine } => format!("machine = \"{machine}\"\n"),
                RemedyKind::GaugedOffset => "offset = \"gauged\"\n".to_owned(),
                RemedyKind::SteadierRoom { swing_k } => format!("room_swing_k = {swing_k}\n"),
                other => panic!("{other:?}"),
            };
            let key = change.split(' ').next().expect("a key");
            kinds.insert(key.to_owned());
            let kept: Vec<&str> = job.lines().filter(|line| !line.starts_with(key)).collect();
            let with = planned(&book, &format!("{}\n{change}", kept.join("\n")));
            assert!((remedy.error_um - error_um(&with)).abs() < 1e-9, "{remedy:?}");
            assert!(
                (remedy.brings_um - (error_um(&plan) - error_um(&with))).abs() < 1e-9,
                "{remedy:?}"
            );
            assert!(
                (remedy.cost_more - (cost(&with) - cost(&plan))).abs() < 1e-9,
                "{remedy:?}"
            );
        }
    }
    assert!(kinds.len() >= 3, "{kinds:?}");
}

#[test]
fn remedies_are_printed_where_they_are_asked_for() {
    let asked = [
        "plan",
        STADIUM,
        "--thickness",
        "60",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "3",
        "--tolerance",
        "±0.006",
    ];
    let plain = stdout(&run(&asked));
    let helped = stdout(&run(&[&asked[..], &["--what-helps"]].concat()));
    assert!(
        !plain.contains("tried on this plan") && helped.contains("tried on this plan"),
        "{helped}"
    );
    assert!(helped.contains("one pass more: passes 4"), "{helped}");
}

/// What limits one wall is not what limits a size: an error of the offset stands on both walls of a size.
#[test]
fn what_limits_a_side_is_ranked_by_the_side() {
    let of = |tolerance: &str| {
        let plan = planned(
            book(),
            &format!("{ASKED}tolerance = \"{tolerance}\"\npickup_mm = 900\n"),
        );
        let (_, scope) = plan.groups[0].requirement.limits.expect("limits");
        let accuracy = plan.groups[0].quality.accuracy.as_ref().expect("a budget");
        accuracy.ranked(scope)[0].half_width_um.name.clone()
    };
    assert_eq!(of("±0.02"), "form error");
    assert_ne!(
        of("profile 0.04"),
        "form error",
        "heat over 900 mm moves a wall farther"
    );
}

/// Nothing is told as reached without the word: the offset of the model is not that of a test piece.
#[test]
fn what_is_expected_to_be_reached_is_reached_gauged() {
    let asked = [
        "--thickness",
        "20",
        "--material",
        "tool-steel",
        "--finish",
        "Ra 0.8",
        "--tolerance",
        "±0.02",
    ];
    for command in ["plan", "compare"] {
        let told = stdout(&run(&[&[command, STADIUM], &asked[..]].concat()));
        let lines: Vec<&str> = told
            .lines()
            .filter(|line| {
                line.contains("expected to reach") || line.contains("inside the limits by the model")
            })
            .collect();
        assert!(!lines.is_empty(), "{command}: {told}");
        assert!(
            lines.iter().all(|line| line.contains("gaug")),
            "{command}: {lines:?}"
        );
    }
    let plan = planned(book(), &format!("{ASKED}tolerance = \"±0.02\"\n"));
    let accuracy = plan.groups[0].quality.accuracy.as_ref().expect("a budget");
    let modelled_um = accuracy.worst_on_size_modelled_um();
    assert!(modelled_um > accuracy.worst_on_size_um() + 1.0, "{modelled_um}");
    let told = planned(
        book(),
        &format!("{ASKED}tolerance = \"±0.02\"\noffset = \"modelled\"\n"),
    );
    let told = told.groups[0].quality.accuracy.as_ref().expect("a budget");
    assert!((told.worst_on_size_um() - modelled_um).abs() < 1e-9);
}
