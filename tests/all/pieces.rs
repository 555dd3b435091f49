//! Equal parts are counted, mirrored ones apart, and an order is counted in them.

use std::fmt::Write as _;
use std::fs;

use kerfwright::geometry::{Point, Polyline, Vector};
use kerfwright::job::{Demands, JobFile};
use kerfwright::plan::{DrawnParts, Planner};
use proptest::prelude::*;

use crate::common::{book, fixture, fixture_bytes};
use crate::random::{cases, loops};

/// The job of a row of the table.
fn job_of(options: &str) -> JobFile {
    let mut text = String::new();
    for option in options.split("; ").filter(|option| *option != "-") {
        let (kind, given) = option.split_once(' ').expect("an option and what it gives");
        match kind {
            "layer" => {
                let (name, word) = given.rsplit_once('=').expect("a layer and its purpose");
                let _ = writeln!(text, "[layer.\"{name}\"]\nuse = \"{word}\"");
            }
            "job" => {
                return JobFile::parse(&fs::read_to_string(fixture("questions").join(given)).expect("there"))
                    .expect("sound");
            }
            other => panic!("{other}"),
        }
    }
    JobFile::parse(&text).expect("a sound job")
}

fn parts(bytes: &[u8], job: &JobFile) -> DrawnParts {
    let inspection = Planner::new(book())
        .job(job)
        .inspect("drawing.dxf", bytes)
        .expect("a sound drawing");
    let groups = inspection
        .group_by_demand(&Demands::default(), book())
        .expect("sound demands");
    groups.parts
}

/// Counts of the kinds, the largest first: `3+1`.
fn counts(parts: &DrawnParts) -> String {
    let mut counts: Vec<usize> = parts
        .kinds
        .iter()
        .map(kerfwright::plan::EqualParts::count)
        .collect();
    counts.sort_unstable_by(|a, b| b.cmp(a));
    counts.iter().map(usize::to_string).collect::<Vec<_>>().join("+")
}

/// The drawings were made with known numbers of copies (`fixtures/questions/make.py`).
#[test]
fn equal_parts_are_counted_as_they_were_drawn() {
    let table = fs::read_to_string(fixture("questions/expected.tsv")).expect("the table is there");
    let mut rows = 0;
    for line in table
        .lines()
        .filter(|line| !line.starts_with('#') && !line.starts_with("drawing\t"))
    {
        let cells: Vec<&str> = line.split('\t').collect();
        let (drawing, options, wanted) = (cells[0], cells[1], cells[6]);
        if wanted == "-" {
            continue;
        }
        rows += 1;
        let found = parts(&fixture_bytes(format!("questions/{drawing}")), &job_of(options));
        assert_eq!(counts(&found), wanted, "{drawing} {options}");
    }
    assert_eq!(rows, 8);
}

/// Left and right hand are images of one another; openings without an outline are in one part.
#[test]
fn hands_are_told_apart_and_openings_are_no_pieces() {
    let hands = parts(
        &fixture_bytes("questions/left-and-right-clicks.dxf"),
        &job_of("-"),
    );
    let mirrored: Vec<Option<usize>> = hands.kinds.iter().map(|kind| kind.mirror_of).collect();
    assert_eq!(
        (mirrored, hands.pieces(), hands.count()),
        (vec![None, Some(0)], 3, 6)
    );
    let others = parts(
        &fixture_bytes("questions/clicks-with-and-without-a-hole.dxf"),
        &job_of("-"),
    );
    assert_eq!((others.pieces(), others.kinds[1].mirror_of), (1, None));
    let openings = parts(
        &fixture_bytes("questions/clicks-side-by-side.dxf"),
        &job_of("layer CLICKS=opening"),
    );
    assert_eq!(
        (counts(&openings), openings.kinds[0].outlines.clone()),
        ("1".into(), vec![None])
    );
    let windows = parts(
        &fixture_bytes("questions/holes-in-a-ring.dxf"),
        &job_of("layer RING=existing"),
    );
    assert_eq!(counts(&windows), "1");
}

/// What is cut otherwise is another part: the first of six clicks finer than the others.
#[test]
fn parts_with_other_demands_are_others() {
    let job = JobFile::parse("[contour.1]\nfinish = \"Ra 0.4\"\n").expect("sound");
    let bytes = fixture_bytes("questions/six-clicks.dxf");
    let inspection = Planner::new(book())
        .job(&job)
        .inspect("six.dxf", &bytes)
        .expect("a sound drawing");
    let groups = inspection
        .group_by_demand(&job.demands().expect("sound"), book())
        .expect("sound demands");
    assert_eq!(counts(&groups.parts), "5+1");
}

/// A drawing in R12 of closed polylines, coordinates to 4 decimals, all on layer 0.
fn drawing(lines: &[Polyline]) -> Vec<u8> {
    let mut text = String::from("0\nSECTION\n2\nENTITIES\n");
    for line in lines {
        text.push_str("0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n");
        for v in &line.vertices {
            let _ = write!(
                text,
                "0\nVERTEX\n8\n0\n10\n{:.4}\n20\n{:.4}\n42\n{:.7}\n",
                v.at.x, v.at.y, v.bulge
            );
        }
        text.push_str("0\nSEQEND\n");
    }
    text.push_str("0\nENDSEC\n0\nEOF\n");
    text.into_bytes()
}

fn placed(line: &Polyline, mirror: bool, angle: f64, by: Vector) -> Polyline {
    let mut line = line.clone();
    for v in &mut line.vertices {
        let x = if mirror { -v.at.x } else { v.at.x };
        v.at = Point::default() + Vector::new(x, v.at.y).turned(angle) + by;
        v.bulge = if mirror { -v.bulge } else { v.bulge };
    }
    line
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases(64)))]

    /// Random outlines turned, mirrored and rounded as drawings are: all that are drawn are counted, each with its hand. Star-shaped
    /// loops of random corners are no mirror images of themselves; a triangle may be nearly so and is left out.
    #[test]
    fn copies_are_counted_however_they_lie(
        outline in loops().prop_filter("too plain or too small to tell its hand", |outline| outline.vertices.len() > 4 && outline.area() > 20.0),
        left in 1..5usize, right in 1..5usize, turns in prop::collection::vec(-4.0..4.0f64, 10),
    ) {
        let center = outline.centroid();
        let outline = placed(&outline, false, 0.0, Point::default() - center);
        let size = outline.bounds().diagonal();
        let copies: Vec<Polyline> = (0..left + right).map(|i| {
            placed(&outline, i >= left, turns[i], Vector::new(2.0 * size * i as f64, -3.0 * i as f64))
        }).collect();
        let job = JobFile::parse("[layer.0]\nuse = \"part\"").expect("a sound job");
        let found = parts(&drawing(&copies), &job);
        let mut wanted = [left, right];
        wanted.sort_unstable_by(|a, b| b.cmp(a));
        prop_assert_eq!(counts(&found), format!("{}+{}", wanted[0], wanted[1]));
        prop_assert_eq!(found.kinds[1].mirror_of, Some(0));
    }
}

/// The cost of one part is the sixth part of that of the plate, and an order of twelve is two loads of six.
#[test]
fn an_order_is_counted_in_pieces() {
    let bytes = fixture_bytes("questions/six-clicks.dxf");
    let plan = |more: &str| {
        let job =
            JobFile::parse(&format!("material = \"tool-steel\"\nthickness_mm = 6\n{more}")).expect("sound");
        Planner::new(book())
            .job(&job)
            .plan("six-clicks.dxf", &bytes)
            .expect("a sound drawing")
    };
    let one = plan("");
    let costs = one.estimate.costs.as_ref().expect("all is cut");
    let (each, piece) = (costs.cost_each.value.expected, costs.cost_piece.value.expected);
    assert!((each - 6.0 * piece).abs() < 1e-9 * each, "{each} {piece}");
    assert_eq!(
        (
            costs.order.quantity,
            costs.order.pieces_per_load,
            costs.order.loads()
        ),
        (6, 6, 1)
    );
    let setups = |plan: &kerfwright::plan::Plan| {
        let costs = plan.estimate.costs.as_ref().expect("all is cut");
        let line = costs
            .fixed
            .iter()
            .find(|line| line.name == "set-ups")
            .expect("set-ups");
        (
            costs.cost.value.expected,
            costs.cost_fixed.value.expected,
            line.value.expected,
        )
    };
    let (twelve, thirteen, by_four) = (
        plan("quantity = 12"),
        plan("quantity = 13"),
        plan("quantity = 12\npieces_per_load = 4"),
    );
    let load = setups(&one).2;
    for (plan, quantity, loads) in [
        (&one, 6.0, 1.0),
        (&twelve, 12.0, 2.0),
        (&thirteen, 13.0, 3.0),
        (&by_four, 12.0, 3.0),
    ] {
        let (cost, fixed, setups) = setups(plan);
        assert!((setups - loads * load).abs() < 1e-9 * setups);
        assert!((cost - fixed - quantity * piece).abs() < 1e-9 * cost);
    }
}

/// Discs with a bore each that all differ, though outlines and bores are as large: none is taken for another, and that takes no time
/// to speak of.
#[test]
fn parts_that_all_differ_are_told_apart_quickly() {
    let disc = |i: i32| {
        let at = Point::new(f64::from(i % 50) * 12.0, f64::from(i / 50) * 12.0);
        let bore = 0.4 + 0.012 * f64::from(i % 250);
        let radius = 0.5 + 0.02 * f64::from(i / 250);
        [
            Polyline::circle(at, 5.0),
            Polyline::circle(at + Vector::new(bore, 0.0).turned(f64::from(i)), radius),
        ]
    };
    let lines: Vec<Polyline> = (0..1000).flat_map(disc).collect();
    let bytes = drawing(&lines);
    let inspection = Planner::new(book())
        .job(&JobFile::default())
        .inspect("many.dxf", &bytes)
        .expect("a sound drawing");
    let begun = std::time::Instant::now();
    let groups = inspection
        .group_by_demand(&Demands::default(), book())
        .expect("sound demands");
    let took = begun.elapsed();
    assert_eq!(groups.parts.kinds.len(), 1000);
    assert!(took.as_secs_f64() < 10.0, "{took:?}");
}

/// 10 000 equal discs, each with a bore to one side and turned its own way: counted in seconds, without optimisation too.
#[test]
fn many_equal_parts_are_counted_quickly() {
    let disc = |i: i32| {
        let at = Point::new(f64::from(i % 100) * 12.0, f64::from(i / 100) * 12.0);
        [
            Polyline::circle(at, 5.0),
            Polyline::circle(at + Vector::new(2.0, 0.0).turned(f64::from(i)), 1.0),
        ]
    };
    let lines: Vec<Polyline> = (0..10_000).flat_map(disc).collect();
    let job = JobFile::default();
    let bytes = drawing(&lines);
    let inspection = Planner::new(book())
        .job(&job)
        .inspect("many.dxf", &bytes)
        .expect("a sound drawing");
    let begun = std::time::Instant::now();
    let groups = inspection
        .group_by_demand(&Demands::default(), book())
        .expect("sound demands");
    let took = begun.elapsed();
    assert_eq!(counts(&groups.parts), "10000");
    assert!(took.as_secs_f64() < 10.0, "{took:?}");
}
