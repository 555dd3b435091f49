//! Where the wire is threaded, how it comes onto its paths and off them, and in which order: against closed forms of plain
//! drawings. A 0.25 mm wire in two passes through 60 mm of tool steel, unless it says otherwise; the built-in book drills
//! 1 mm, lets the drill drift by 0.005 of the thickness and keeps 0.2 mm off the wall, so a hole asks for 1.0 mm of room.

use std::f64::consts::{PI, SQRT_2};
use std::fmt::Write as _;

use kerfwright::finding::{Finding, Severity};
use kerfwright::geometry::{Point, Polyline};
use kerfwright::id::ContourId;
use kerfwright::job::JobFile;
use kerfwright::plan::{OperationKind, Plan, Planner, TimedOperation};
use kerfwright::process::{Leads, Operation, Separation, Start, StartOrigin};

use crate::common::book;

/// A lead-in takes 60 / (150 · 0.5) = 0.8 min a millimetre there, and for a better place the hole may take 2 min longer.
const EXTRA_MM: f64 = 2.0 / 0.8;

/// Room that a hole of 1 mm asks for at 60 mm.
const NEEDED_MM: f64 = 0.5 + 0.005 * 60.0 + 0.2;

/// A drawing in mm.
#[derive(Default)]
struct Sheet(String);

impl Sheet {
    fn loop_of(mut self, layer: &str, corners: &[(f64, f64)]) -> Self {
        let _ = write!(self.0, "0\nPOLYLINE\n8\n{layer}\n66\n1\n70\n1\n");
        for (x, y) in corners {
            let _ = write!(self.0, "0\nVERTEX\n8\n{layer}\n10\n{x}\n20\n{y}\n");
        }
        let _ = write!(self.0, "0\nSEQEND\n8\n{layer}\n");
        self
    }

    fn rectangle(self, (x, y): (f64, f64), (width, height): (f64, f64)) -> Self {
        let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
        self.loop_of("0", &corners)
    }

    fn circle(mut self, layer: &str, (x, y): (f64, f64), diameter: f64) -> Self {
        let radius = 0.5 * diameter;
        let _ = write!(self.0, "0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n{y}\n40\n{radius}\n");
        self
    }

    fn point(mut self, layer: &str, (x, y): (f64, f64)) -> Self {
        let _ = write!(self.0, "0\nPOINT\n8\n{layer}\n10\n{x}\n20\n{y}\n");
        self
    }

    fn bytes(&self) -> Vec<u8> {
        let head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n";
        format!("{head}0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n", self.0).into_bytes()
    }

    /// Planned in two passes through 60 mm, with more in the job.
    fn plan(&self, more: &str) -> Plan {
        self.plan_through(60.0, more)
    }

    fn plan_through(&self, thickness_mm: f64, more: &str) -> Plan {
        let job = format!(
            "material = \"tool-steel\"\nthickness_mm = {thickness_mm}\nwire_mm = 0.25\npasses = 2\n{more}\n\
             [layer.START]\nuse = \"start-hole\"\n"
        );
        let mut job = JobFile::parse(&job).expect("a sound job");
        // Not every sheet draws a start hole.
        job.may_miss = job.names();
        Planner::new(book())
            .job(&job)
            .plan("sheet.dxf", self.bytes())
            .expect("a sound drawing")
    }
}

/// A plate of 60 × 40 with a round opening of 24 in its middle.
fn bored() -> Sheet {
    Sheet::default()
        .rectangle((0.0, 0.0), (60.0, 40.0))
        .circle("0", (30.0, 20.0), 24.0)
}

/// A plate of 60 × 40 with an opening of 30 × 20 in its middle.
fn windowed() -> Sheet {
    Sheet::default()
        .rectangle((0.0, 0.0), (60.0, 40.0))
        .rectangle((15.0, 10.0), (30.0, 20.0))
}

/// The start of a contour.
fn start(plan: &Plan, contour: usize) -> &Start {
    let starts = &plan.process.starts.list;
    starts
        .iter()
        .find(|start| start.contour.number() == contour)
        .expect("it has a start")
}

/// The runs of a contour, pass by pass.
fn runs(plan: &Plan, contour: usize) -> Vec<&Leads> {
    let all = plan.toolpaths.loops.iter().zip(&plan.process.leads);
    all.filter(|(wire, _)| wire.contour.number() == contour)
        .map(|(_, run)| run)
        .collect()
}

/// The wire-centre path of a contour and pass.
fn path(plan: &Plan, contour: usize, pass: usize) -> &Polyline {
    let mut loops = plan.toolpaths.loops.iter();
    let found = loops.find(|wire| (wire.contour.number(), wire.pass.number()) == (contour, pass));
    &found.expect("it has a path").polyline
}

fn named<'a>(plan: &'a Plan, name: &str) -> Vec<&'a Finding> {
    plan.inspection
        .findings
        .iter()
        .filter(|finding| finding.name == name)
        .collect()
}

fn near(a: Point, b: Point) -> bool {
    a.distance(b) < 1e-9
}

fn at(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

#[test]
fn a_circle_or_a_point_on_a_layer_of_start_holes_is_taken() {
    let circle = bored().circle("START", (33.0, 20.0), 1.5).plan("");
    let found = start(&circle, 2);
    assert_eq!((found.origin, found.hole_mm), (StartOrigin::Drawn, Some(1.5)));
    assert!(near(found.at, at(33.0, 20.0)));
    // A point says where, and the book how wide.
    let point = bored().point("START", (33.0, 20.0)).plan("");
    let found = start(&point, 2);
    assert_eq!((found.origin, found.hole_mm), (StartOrigin::Drawn, Some(1.0)));
    assert!(near(found.at, at(33.0, 20.0)));
    // It is not a contour to be cut.
    assert!(
        circle
            .toolpaths
            .loops
            .iter()
            .all(|wire| wire.contour.number() != 3)
    );
}

#[test]
fn a_small_circle_is_a_start_hole_where_that_is_said() {
    let sheet = bored().circle("0", (25.0, 20.0), 1.2);
    let plan = sheet.plan("start_holes_under_mm = 1.5");
    let found = start(&plan, 2);
    assert_eq!(found.origin, StartOrigin::Drawn);
    assert!((found.hole_mm.unwrap_or_default() - 1.2).abs() < 1e-12);
    assert!(near(found.at, at(25.0, 20.0)));
    assert!(sheet.plan("start_holes_under_mm = 1.2").process.starts.list.len() > 2);
}

#[test]
fn of_two_drawn_holes_the_roomier_is_taken_and_the_other_is_told() {
    let sheet = bored()
        .circle("START", (38.0, 20.0), 1.0)
        .circle("START", (30.0, 21.0), 1.0);
    let plan = sheet.plan("");
    assert!(near(start(&plan, 2).at, at(30.0, 21.0)));
    let unused = named(&plan, "start-hole-unused");
    assert_eq!(unused.len(), 1);
    let contour = unused[0].contour.map(ContourId::number);
    assert_eq!((contour, unused[0].severity), (Some(3), Severity::Note));
}

#[test]
fn a_given_start_goes_before_a_drawn_one() {
    let sheet = bored().circle("START", (33.0, 20.0), 1.5);
    let plan = sheet.plan("[contour.2]\nstart_mm = [27, 20]");
    let found = start(&plan, 2);
    assert_eq!((found.origin, found.hole_mm), (StartOrigin::Given, Some(1.0)));
    assert!(near(found.at, at(27.0, 20.0)));
    // Given where a hole is drawn: that hole.
    let plan = sheet.plan("[contour.2]\nstart_mm = [33, 20]");
    assert_eq!(start(&plan, 2).hole_mm, Some(1.5));
    assert_eq!(named(&plan, "start-hole-unused").len(), 0);
    // A hole that names no contour is found by the region it lies in.
    let plan = bored().plan("start_holes_mm = [[28, 21]]");
    let found = start(&plan, 2);
    assert_eq!(found.origin, StartOrigin::Given);
    assert!(near(found.at, at(28.0, 21.0)));
}

#[test]
fn a_given_start_on_the_wrong_side_is_told() {
    let kept = bored().plan("[contour.2]\nstart_mm = [50, 5]");
    assert_eq!(named(&kept, "start-hole-misplaced").len(), 1);
    let outside = bored().plan("[contour.1]\nstart_mm = [30, 20]");
    assert_eq!(named(&outside, "start-hole-misplaced").len(), 1);
    let right = bored().plan("[contour.1]\nstart_mm = [30, -3]\n[contour.2]\nstart_mm = [30, 20]");
    assert!(named(&right, "start-hole-misplaced").is_empty());
    assert!(near(start(&right, 1).at, at(30.0, -3.0)));
}

/// In an opening the hole stands square to the middle of a longest straight, as far from the wall as 2 min of lead-in allow.
#[test]
fn a_hole_is_proposed_beside_the_middle_of_a_long_straight() {
    let plan = windowed().plan("");
    let found = start(&plan, 2);
    assert_eq!(
        (found.origin, found.hole_mm),
        (StartOrigin::BesideWall, Some(1.0))
    );
    assert!((found.at.x - 30.0).abs() < 1e-9);
    let from_wall = (found.at.y - 10.0).min(30.0 - found.at.y);
    assert!((from_wall - NEEDED_MM - EXTRA_MM).abs() < 1e-9, "{from_wall}");
    assert!((found.required_clearance_mm - NEEDED_MM).abs() < 1e-9 && !found.lacks_room());
    // On the clamped side, where one is named.
    let clamped = windowed().plan("clamp = \"right\"\nmargin_mm = 10\nclamp_depth_mm = 4");
    assert!(near(start(&clamped, 2).at, at(45.0 - NEEDED_MM - EXTRA_MM, 20.0)));
}

/// A circle has its most room in its middle; a slot of 3 × 5 all along its middle line, on a whole tenth.
#[test]
fn a_small_opening_is_entered_where_there_is_most_room() {
    let plan = Sheet::default()
        .rectangle((0.0, 0.0), (60.0, 40.0))
        .circle("0", (30.0, 20.0), 3.0)
        .plan("");
    let found = start(&plan, 2);
    assert_eq!(found.origin, StartOrigin::Center);
    assert!(near(found.at, at(30.0, 20.0)));
    let plan = Sheet::default()
        .rectangle((0.0, 0.0), (60.0, 40.0))
        .rectangle((30.02, 20.0), (3.0, 3.9))
        .plan("");
    let found = start(&plan, 2);
    assert_eq!(found.origin, StartOrigin::Roomiest);
    assert!(
        (found.at.x - 31.5).abs() < 1e-9 && is_tenth(found.at.y),
        "{:?}",
        found.at
    );
    assert!(found.at.y > 21.4 && found.at.y < 22.5);
}

fn is_tenth(mm: f64) -> bool {
    (10.0 * mm - (10.0 * mm).round()).abs() < 1e-9
}

/// The middle of a circle costs R − offset of lead-in, a hole beside its wall 1.0 − offset: 2.5 mm more are allowed, so the middle is
/// taken up to Ø 7. In 6 mm, where the feed is higher, Ø 18 is entered from its middle too: the lead is R − offset long.
#[test]
fn a_circle_is_started_in_its_centre_where_that_costs_little() {
    let plate = |diameter: f64| {
        Sheet::default()
            .rectangle((0.0, 0.0), (60.0, 40.0))
            .circle("0", (30.03, 20.0), diameter)
    };
    for (diameter, origin) in [(6.98, StartOrigin::Center), (7.02, StartOrigin::BesideWall)] {
        let plan = plate(diameter).plan("slug = \"stop\"");
        let found = start(&plan, 2);
        assert_eq!(found.origin, origin, "Ø {diameter}");
        if origin == StartOrigin::Center {
            assert!(near(found.at, at(30.03, 20.0)));
        } else {
            assert!(is_tenth(found.at.x) && is_tenth(found.at.y), "{:?}", found.at);
        }
    }
    let plan = plate(18.0).plan_through(6.0, "lead = \"straight\"");
    let found = start(&plan, 2);
    assert!(found.origin == StartOrigin::Center && near(found.at, at(30.03, 20.0)));
    let offset_mm = plan.groups[0].passes()[0].offset_mm;
    assert!((runs(&plan, 2)[0].lead_in.length() - (9.0 - offset_mm)).abs() < 1e-9);
}

/// However the opening lies, a proposed hole keeps its room and stands on whole tenths where these have it.
#[test]
fn proposed_holes_stand_on_whole_tenths() {
    for (dx, dy) in [(0.037, 0.061), (0.05, 0.05), (0.499, 0.0), (0.0, 0.123)] {
        let plan = Sheet::default()
            .rectangle((0.0, 0.0), (60.0, 40.0))
            .rectangle((15.0 + dx, 10.0 + dy), (30.0, 20.0))
            .plan("");
        for contour in [1, 2] {
            let found = start(&plan, contour);
            assert!(is_tenth(found.at.x) && is_tenth(found.at.y), "{:?}", found.at);
            assert!(!found.lacks_room());
            let [run, _] = runs(&plan, contour)[..] else {
                panic!("two passes")
            };
            let (entry, along) = found.entry();
            assert!(
                (entry - found.at).dot(along).abs() < 1e-9,
                "not square to the path"
            );
            let farthest = NEEDED_MM + EXTRA_MM - plan.groups[0].passes()[0].offset_mm;
            assert!(run.lead_in.length() <= farthest + 1e-9);
            assert!(run.lead_in.length() > farthest - 0.15);
        }
    }
}

/// What is there goes before what is drawn, costs nothing, and is no flaw; a hole that is drawn costs its minutes on its own
/// machine and its price.
#[test]
fn what_is_there_goes_first_and_costs_nothing() {
    let ready = "[layer.READY]\nuse = \"ready-hole\"\n[layer.BORE]\nuse = \"existing\"";
    let lines = |plan: &Plan| -> f64 {
        let costs = plan.estimate.costs.as_ref().expect("all is cut");
        let drilling = costs.each.iter().filter(|line| line.name.contains("start hole"));
        drilling.map(|line| line.value.expected).sum()
    };
    let minutes = |plan: &Plan| {
        let time = plan.estimate.time.as_ref().expect("all is cut");
        time.drilling().map_or(0.0, |minutes| minutes.value.expected)
    };
    // The plate is started from its edge: no hole of its own.
    let more = format!("{ready}\n[contour.1]\nstart = \"edge\"");
    let margin = |more: &str| format!("margin_mm = 8\n{more}");
    let drawn = bored().circle("START", (30.0, 20.0), 1.5).plan(&margin(&more));
    let book = book();
    let feed = book
        .material("tool-steel")
        .expect("it has it")
        .drill_mm_min
        .value();
    assert_eq!(
        (start(&drawn, 2).origin, start(&drawn, 2).drilled),
        (StartOrigin::Drawn, true)
    );
    assert!((minutes(&drawn) - 60.0 / feed).abs() < 1e-9);
    let prices = &book.prices;
    let right = 60.0 / feed / 60.0 * prices.drill_per_hour.value() + prices.start_hole_each.value();
    assert!(
        (lines(&drawn) - right).abs() < 1e-9,
        "{} is not {right}",
        lines(&drawn)
    );

    let there = bored().circle("READY", (30.0, 20.0), 1.5).plan(&margin(&more));
    let found = start(&there, 2);
    assert_eq!(
        (found.origin, found.hole_mm, found.drilled),
        (StartOrigin::Ready, Some(1.5), false)
    );
    assert_eq!((minutes(&there), lines(&there)), (0.0, 0.0));
    let point = bored().point("READY", (30.0, 20.0)).plan(&margin(&more));
    assert_eq!(
        (start(&point, 2).origin, minutes(&point)),
        (StartOrigin::Ready, 0.0)
    );

    // Though the drawn hole has more room.
    let both = bored()
        .circle("READY", (36.0, 20.0), 1.5)
        .circle("START", (30.0, 20.0), 1.5)
        .plan(&margin(&more));
    assert!(start(&both, 2).origin == StartOrigin::Ready && near(start(&both, 2).at, at(36.0, 20.0)));
    assert_eq!(
        (minutes(&both), named(&both, "start-hole-unused").len()),
        (0.0, 1)
    );
}

/// A hole costs its minutes on the drill at the drill's rate and a part of its own, reckoned from the book; a place in an opening that is
/// machined already or beside the blank is air, wherever the start in it comes from, and costs nothing.
#[test]
fn nothing_is_drilled_in_air() {
    let paid = |sheet: &Sheet, more: &str| {
        let more = format!("margin_mm = 8\n[layer.BORE]\nuse = \"existing\"\n{more}");
        let plan = sheet.plan(&more);
        let costs = plan.estimate.costs.as_ref().expect("all is cut");
        let lines = costs.each.iter().filter(|line| line.name.contains("start hole"));
        let paid: f64 = lines.map(|line| line.value.expected).sum();
        let drilled = plan
            .process
            .starts
            .list
            .iter()
            .filter(|start| start.drilled)
            .count();
        let told = named(&plan, "start-hole-misplaced").len();
        (paid, drilled, told)
    };
    let prices = &book().prices;
    let feed = book()
        .material("tool-steel")
        .expect("it has it")
        .drill_mm_min
        .value();
    let each = 60.0 / feed / 60.0 * prices.drill_per_hour.value() + prices.start_hole_each.value();
    let sheet = || bored().circle("BORE", (34.0, 20.0), 6.0);
    let (edge, hole) = (
        "[contour.1]\nstart = \"edge\"\n",
        "[contour.1]\nstart_mm = [30, -3]\n",
    );
    let near_each = |(paid, drilled, told): (f64, usize, usize), holes: usize| {
        assert!(
            (paid - holes as f64 * each).abs() < 1e-9 && drilled == holes && told == 0,
            "{holes}: {paid} {drilled} {told}"
        );
    };
    near_each(paid(&bored(), hole), 2);
    near_each(paid(&sheet(), hole), 1);
    near_each(paid(&sheet(), edge), 0);
    // Given beside the middle of the bore, and drawn there.
    near_each(
        paid(&sheet(), &format!("{edge}[contour.2]\nstart_mm = [33, 20.5]")),
        0,
    );
    near_each(paid(&sheet().circle("START", (35.5, 20.0), 1.0), edge), 0);
    near_each(paid(&sheet(), "[contour.1]\nstart_mm = [30, -12]"), 0);
}

/// What is said of start holes holds for those that are there too, and no candidate is charged for drilling them.
#[test]
fn ready_holes_are_held_against_walls_and_wire() {
    let ready = "[layer.READY]\nuse = \"ready-hole\"";
    // 0.5 mm from the wall, where 0.75 + 0.3 + 0.2 are needed.
    let near_wall = bored().circle("READY", (41.5, 20.0), 1.5).plan(ready);
    assert_eq!(start(&near_wall, 2).origin, StartOrigin::Ready);
    assert_eq!(named(&near_wall, "start-hole-cuts-wall").len(), 1);
    let thin = bored()
        .circle("READY", (30.0, 20.0), 1.2)
        .plan_through(200.0, ready);
    assert_eq!(named(&thin, "start-hole-too-thin").len(), 1);
    let spare = bored()
        .circle("READY", (30.0, 20.0), 1.5)
        .circle("READY", (36.0, 20.0), 1.5)
        .plan(ready);
    assert_eq!(named(&spare, "start-hole-unused").len(), 1);

    let weighed = |layer: &str| {
        let plan = bored().circle(layer, (30.0, 20.0), 1.5).plan(ready);
        let candidates = plan.alternatives().expect("weighed").candidates;
        let chosen = candidates
            .iter()
            .find(|candidate| candidate.chosen)
            .expect("that of the plan");
        chosen.minutes.expect("it can be cut").expected
    };
    let feed = book()
        .material("tool-steel")
        .expect("it has it")
        .drill_mm_min
        .value();
    assert!((weighed("START") - weighed("READY") - 60.0 / feed).abs() < 1e-9);
}

/// A finished bore in the waste is a start: of its lead all is cut but what lies in the bore.
#[test]
fn a_finished_bore_in_the_waste_serves_as_start() {
    let more = "lead = \"straight\"\n[layer.BORE]\nuse = \"existing\"";
    let plan = bored()
        .circle("BORE", (34.0, 20.0), 6.0)
        .circle("START", (26.0, 20.0), 1.5)
        .plan(more);
    let found = start(&plan, 2);
    assert_eq!(
        (found.origin, found.drilled),
        (StartOrigin::ExistingOpening, false)
    );
    assert!(near(found.at, at(34.0, 20.0)) && (found.hole_mm.unwrap_or_default() - 6.0).abs() < 1e-9);
    let run = runs(&plan, 2)[0];
    let offset_mm = plan.groups[0].passes()[0].offset_mm;
    assert!((run.lead_in.length() - (8.0 - offset_mm)).abs() < 1e-9);
    assert!((run.lead_cut_mm - (5.0 - offset_mm)).abs() < 1e-9);
    for name in [
        "start-hole-misplaced",
        "start-hole-cuts-wall",
        "start-hole-too-thin",
        "lead-cuts-wall",
    ] {
        assert!(named(&plan, name).is_empty(), "{name}");
    }
    // Two segments out of a finished ring: its bore is nearest to both, and nothing is drilled.
    let segments = Sheet::default()
        .circle("RING", (0.0, 0.0), 100.0)
        .circle("RING", (0.0, 0.0), 60.0)
        .loop_of(
            "SEGMENTS",
            &[(33.0, -6.0), (46.0, -6.0), (46.0, 6.0), (33.0, 6.0)],
        )
        .loop_of(
            "SEGMENTS",
            &[(-33.0, -6.0), (-33.0, 6.0), (-46.0, 6.0), (-46.0, -6.0)],
        )
        .plan("[layer.RING]\nuse = \"existing\"\n[layer.SEGMENTS]\nuse = \"part\"");
    for contour in [3, 4] {
        let found = start(&segments, contour);
        assert_eq!(
            (found.origin, found.drilled),
            (StartOrigin::ExistingOpening, false)
        );
        assert!(near(found.at, at(0.0, 0.0)));
    }
    assert!(named(&segments, "lead-cuts-wall").is_empty());
}

/// From the edge only where that is given: never for an opening, and not where nobody knows the edge. From 0.5 mm outside the
/// edge the wire cuts 8 mm less the offset; from a hole it would cut 0.5 mm less the offset: 7.5 mm at 0.8 min are saved.
#[test]
fn a_part_is_started_from_the_edge_where_that_is_given() {
    let plan = bored().plan("margin_mm = 8\n[contour.1]\nstart = \"edge\"");
    let found = start(&plan, 1);
    assert_eq!(
        (found.origin, found.hole_mm, found.drilled),
        (StartOrigin::BlankEdge, None, false)
    );
    assert!(named(&plan, "frame-opened").is_empty());
    let offset_mm = plan.groups[0].passes()[0].offset_mm;
    assert!((runs(&plan, 1)[0].lead_cut_mm - (8.0 - offset_mm)).abs() < 1e-9);
    let shorter = found.shorter.expect("a hole is nearer");
    assert!((shorter.minutes - 6.0).abs() < 1e-9, "{}", shorter.minutes);
    // The opening has its hole whatever holds for all.
    let all = bored().plan("margin_mm = 8\nstart = \"edge\"");
    assert_eq!(start(&all, 1).origin, StartOrigin::BlankEdge);
    assert_eq!(start(&all, 2).origin, StartOrigin::BesideWall);
    let refused = |more: &str| {
        let job = format!("material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 2\n{more}");
        let job = JobFile::parse(&job).expect("a sound job");
        Planner::new(book())
            .job(&job)
            .plan("sheet.dxf", bored().bytes())
            .expect_err(more)
            .to_string()
    };
    assert!(refused("margin_mm = 8\n[contour.2]\nstart = \"edge\"").contains("is an opening"));
    assert!(refused("start = \"edge\"").contains("the edge of the blank"));
}

#[test]
fn no_room_for_a_hole_opens_the_frame_and_is_told() {
    let plan = bored().plan("margin_mm = 1.5");
    assert!(start(&plan, 1).opens_frame);
    assert_eq!(named(&plan, "frame-opened").len(), 1);
    let given = bored().plan("margin_mm = 1.5\nstart = \"edge\"");
    assert!(named(&given, "frame-opened").is_empty());
}

#[test]
fn a_given_drill_is_used_for_proposed_holes() {
    let plan = windowed().plan("drill_mm = 2");
    let found = start(&plan, 2);
    assert_eq!(found.hole_mm, Some(2.0));
    assert!((found.required_clearance_mm - (1.0 + 0.3 + 0.2)).abs() < 1e-9);
}

/// Outside, the hole stands beside the part and within the blank; where the blank leaves no room for a hole, the wire comes
/// in from its edge.
#[test]
fn outside_the_start_lies_in_the_blank_clear_of_the_part() {
    let plan = bored().plan("margin_mm = 8");
    let found = start(&plan, 1);
    assert_eq!(found.origin, StartOrigin::BesideWall);
    let beside = (-found.at.x)
        .max(found.at.x - 60.0)
        .max((-found.at.y).max(found.at.y - 40.0));
    assert!(
        (beside - NEEDED_MM - EXTRA_MM).abs() < 1e-9,
        "{beside} mm beside the part"
    );
    let from_edge = 8.0 - beside;
    assert!(from_edge >= beside);
    // Where the blank reaches less far, midway between its edge and the part: 2.0 of 4.0.
    let narrow = start(&bored().plan("margin_mm = 4"), 1).at;
    let beside = (-narrow.x)
        .max(narrow.x - 60.0)
        .max((-narrow.y).max(narrow.y - 40.0));
    assert!((beside - 2.0).abs() < 1e-9, "{beside} mm beside the part");
    // The hole and its drift ask for 1.0 to the part and 0.8 to the edge of the blank: less than that stands beside a
    // straight with 1.8, and off a corner with 0.8 + 1.0 / √2.
    let tight = bored().plan("margin_mm = 1.5");
    let found = start(&tight, 1);
    assert_eq!((found.origin, found.hole_mm), (StartOrigin::BlankEdge, None));
    let corner = bored().plan("margin_mm = 1.79");
    let found = start(&corner, 1).at;
    let off = |mm: f64, far: f64| (-mm).max(mm - far);
    // 1.0 / √2 = 0.707 each way off the corner; the next tenths that keep 1.0 are 0.7 and 0.8.
    let mut offs = [off(found.x, 60.0), off(found.y, 40.0)];
    offs.sort_by(f64::total_cmp);
    assert!(
        offs[0] >= NEEDED_MM / SQRT_2 - 0.01 && offs[1] <= 0.8 + 1e-9,
        "{offs:?}"
    );
    let roomy = bored().plan("margin_mm = 1.81");
    let found = start(&roomy, 1).at;
    assert!((off(found.x, 60.0).max(off(found.y, 40.0)) - NEEDED_MM).abs() < 1e-9);
    // From the edge of the blank no hole is drilled.
    let holes = |plan: &Plan| {
        let starts = plan.process.starts.list.iter();
        starts.filter(|start| start.drilled).count()
    };
    assert_eq!((holes(&tight), holes(&roomy)), (1, 2));
}

/// What is seen through a hole that wandered has to pass the wire: 0.25 + 0.3 of clearance + 0.005 of the thickness.
#[test]
fn a_thick_plate_asks_for_wider_holes() {
    let plan = bored().plan_through(200.0, "");
    let found = start(&plan, 2);
    assert!((found.drift_mm - 1.0).abs() < 1e-9);
    assert!((found.threads_from_mm - 1.55).abs() < 1e-9);
    assert!((found.hole_mm.unwrap_or_default() - 1.55).abs() < 1e-9);
    assert!((found.required_clearance_mm - (0.775 + 1.0 + 0.2)).abs() < 1e-9);
    let drawn = bored().circle("START", (30.0, 20.0), 1.2).plan_through(200.0, "");
    let thin = named(&drawn, "start-hole-too-thin");
    assert_eq!(thin.len(), 1);
    assert_eq!(
        thin[0].message,
        "the start hole is 1.200 mm across; the wire threads from 1.550 mm, with 1.000 mm of drift"
    );
}

#[test]
fn a_lead_arrives_square_to_the_middle_of_a_straight() {
    let plan = windowed().plan("");
    let [first, second] = runs(&plan, 2)[..] else {
        panic!("two passes")
    };
    let (entry, along) = start(&plan, 2).entry();
    assert!(near(first.entry, entry) && (entry.x - 30.0).abs() < 1e-9);
    assert_eq!(first.lead_in.segment_count(), 1);
    let lead = first.lead_in.segment(0);
    assert!(
        (lead.to - lead.from).dot(along).abs() < 1e-9,
        "not square to the path"
    );
    assert!(near(lead.from, start(&plan, 2).at));
    // The skim enters at the same place of its own wall, farther out by what the passes differ.
    assert!((second.entry.x - 30.0).abs() < 1e-9);
    let deeper = second.lead_in.length() - first.lead_in.length();
    let offsets: Vec<f64> = plan.groups[0]
        .passes()
        .iter()
        .map(|pass| pass.offset_mm)
        .collect();
    assert!((deeper - (offsets[0] - offsets[1])).abs() < 1e-9);
    // Of the first lead all is cut but what lies in the hole; the skim crosses the open kerf.
    assert!((first.lead_cut_mm - (first.lead_in.length() - 0.5)).abs() < 1e-9);
    assert_eq!(second.lead_cut_mm, 0.0);
}

#[test]
fn an_arc_lead_arrives_along_a_circle() {
    let plan = bored().plan("[contour.2]\nstart_mm = [30, 20]");
    for run in runs(&plan, 2) {
        let last = run.lead_in.segment(run.lead_in.segment_count() - 1);
        assert!(last.is_arc() && (last.radius() - 1.0).abs() < 1e-9);
        let from_middle = run.entry - at(30.0, 20.0);
        assert!(
            last.direction(1.0).dot(from_middle).abs() < 1e-9,
            "not along the circle"
        );
        // Off again as it came.
        let first = run.lead_out.segment(0);
        assert!(first.is_arc() && (first.radius() - 1.0).abs() < 1e-9);
        assert!(near(
            run.lead_out.vertices[run.lead_out.vertices.len() - 1].at,
            at(30.0, 20.0)
        ));
    }
    let straight = bored().plan("lead = \"straight\"");
    for run in runs(&straight, 2) {
        assert!(run.lead_in.segments().all(|segment| !segment.is_arc()));
    }
}

/// Round a rolled right angle the entry lies on the bisector, the offset from the corner.
#[test]
fn an_outside_corner_can_hide_the_witness() {
    let plan = bored().plan("lead = \"corner\"");
    let offset_mm = plan.groups[0].passes()[0].offset_mm;
    let (entry, along) = start(&plan, 1).entry();
    let corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)].map(|(x, y)| at(x, y));
    let corner = corners.into_iter().find(|corner| entry.distance(*corner) < 1.0);
    let away = entry - corner.expect("at a corner");
    assert!((away.length() - offset_mm).abs() < 1e-9);
    assert!((away.x.abs() - away.y.abs()).abs() < 1e-9, "not on the bisector");
    assert!(away.dot(along).abs() < 1e-9);
    let run = runs(&plan, 1)[0];
    let lead = run.lead_in.segment(0);
    assert!(
        (lead.to - lead.from).cross(away).abs() < 1e-9,
        "not along the bisector"
    );
}

#[test]
fn the_wire_runs_past_its_closing_point_as_far_as_asked() {
    let usual = windowed().plan("");
    for run in runs(&usual, 2) {
        assert!((run.overlap_mm - 0.2).abs() < 1e-12);
        let (from, to) = (run.entry, run.lead_out.vertices[0].at);
        assert!((from.distance(to) - 0.2).abs() < 1e-9);
    }
    let asked = windowed().plan("overlap_mm = 0.5\n[contour.2]\noverlap_mm = 0");
    assert!(runs(&asked, 1).iter().all(|run| run.overlap_mm == 0.5));
    for run in runs(&asked, 2) {
        assert_eq!(run.overlap_mm, 0.0);
        assert!(near(run.entry, run.lead_out.vertices[0].at));
    }
}

#[test]
fn a_path_is_entered_where_asked() {
    let plan = windowed().plan("[contour.2]\nentry_mm = [44, 15]");
    let offset_mm = plan.groups[0].passes()[0].offset_mm;
    let (entry, _) = start(&plan, 2).entry();
    assert!(near(entry, at(45.0 - offset_mm, 15.0)));
    assert!(near(start(&plan, 2).at, at(45.0 - NEEDED_MM - EXTRA_MM, 15.0)));
}

/// The wire may not be led in under the clamps: no proposal goes there, and a given start that does is told.
#[test]
fn leads_keep_out_of_the_clamps() {
    let clamped = "margin_mm = 12\nclamp = \"bottom\"\nclamp_depth_mm = 9";
    let plan = bored().plan(clamped);
    let found = start(&plan, 1);
    let zone_top = -12.0 + 9.0;
    assert!(found.at.y > zone_top + 0.5, "{:?}", found.at);
    assert!(named(&plan, "wire-hits-clamp").is_empty());
    let under = bored().plan(&format!("{clamped}\n[contour.1]\nstart_mm = [30, -6]"));
    let told = named(&under, "wire-hits-clamp");
    assert_eq!(told.len(), 1);
    // From the edge of the clamps at −3 to the start at −6, and half a kerf on.
    let half_kerf_mm = under.groups[0].passes()[0].half_kerf_mm;
    assert!(
        told[0]
            .message
            .starts_with(&format!("the kerf runs {:.3} mm under", 3.0 + half_kerf_mm)),
        "{}",
        told[0].message
    );
}

#[test]
fn a_lead_through_a_wall_is_told_with_its_depth() {
    let plan = bored().plan("[contour.2]\nstart_mm = [41.9, 20]");
    let told = named(&plan, "lead-cuts-wall");
    let offset_mm = plan.groups[0].passes()[0].offset_mm;
    assert!(!told.is_empty());
    let deep = told[0].measured.as_ref().expect("a measure").value;
    assert!((deep - (offset_mm - 0.1)).abs() < 1e-6, "{deep}");
}

fn of_kind(steps: &[TimedOperation], kind: OperationKind) -> Vec<&TimedOperation> {
    steps.iter().filter(|step| step.kind == kind).collect()
}

/// Two plates beside one another, each with two openings.
fn two_plates() -> Sheet {
    let plate = |sheet: Sheet, x: f64| {
        sheet
            .rectangle((x, 0.0), (60.0, 40.0))
            .rectangle((x + 6.0, 10.0), (18.0, 20.0))
            .rectangle((x + 36.0, 10.0), (18.0, 20.0))
    };
    plate(plate(Sheet::default(), 0.0), 80.0)
}

#[test]
fn no_part_comes_free_before_its_openings_are_cut() {
    let plan = two_plates().plan("");
    let steps = plan.sequence();
    for (part, openings) in [(1, [2, 3]), (4, [5, 6])] {
        let off = |step: &TimedOperation| step.contour.number() == part && step.kind == OperationKind::CutOff;
        let off = steps.iter().position(off).expect("it is cut off");
        for opening in openings {
            let last = steps.iter().rposition(|step| step.contour.number() == opening);
            assert!(last.expect("it is cut") < off, "{opening} after {part}");
        }
    }
}

#[test]
fn stops_stand_together_or_each_by_itself() {
    let sheet = two_plates();
    let rounds = |stops: &str| {
        let steps = sheet.plan(&format!("stops = \"{stops}\"")).sequence();
        let told: Vec<&TimedOperation> = steps.iter().filter(|step| busy(step) || by_hand(step)).collect();
        let calls = told
            .windows(2)
            .filter(|pair| busy(pair[0]) && by_hand(pair[1]))
            .count();
        (calls, of_kind(&steps, OperationKind::Thread).len())
    };
    // Each by itself: a slug takes two threads, for the rough and, when it is out, for the skims; a part takes one. Grouped:
    // four for the rough, three to come back to their tabs (at the last the wire still stands), four for the skims; two for
    // the parts and one to come back.
    assert_eq!(rounds("each"), (6, 4 * 2 + 2));
    assert_eq!(rounds("grouped"), (2, 4 + 3 + 4 + 2 + 1));
}

/// The moves of each piece, one after the other, are those of its kind: a slug is cut to its tab, secured, cut off and taken out, and then the wall
/// is skimmed; round a part the skim runs back along what the rough pass cut, and the face of the tab is skimmed at the stop or not at all. Each is
/// as long as the path, the tab, or the lead that it runs along.
#[test]
fn the_moves_of_a_piece_follow_one_another() {
    use OperationKind::{CutOff, LeadIn, LeadOut, Remove, Rough, Skim, SkimTab, Stop};
    let slug = [LeadIn, Rough, Stop, CutOff, Remove, LeadIn, Skim, LeadOut];
    let left = [LeadIn, Rough, Skim, Stop, CutOff, Remove];
    let skimmed = [LeadIn, Rough, Skim, Stop, CutOff, SkimTab, LeadOut, Remove];
    for (more, part) in [
        ("stops = \"each\"", &left[..]),
        ("stops = \"grouped\"\ntab_face = \"skimmed\"", &skimmed[..]),
    ] {
        let plan = two_plates().plan(more);
        let (loops, process) = (&plan.toolpaths.loops, &plan.process);
        assert_eq!(process.operations[0].kind, OperationKind::Thread);
        for contour in 1..=6 {
            let of_it = |op: &&Operation| loops[op.wire_loop.index()].contour.number() == contour;
            let told = process.operations.iter().filter(of_it).filter(|op| {
                use OperationKind::{Adjust, Thread, Travel};
                !matches!(op.kind, Travel | Thread | Adjust)
            });
            let told: Vec<&Operation> = told.collect();
            let is_part = [1, 4].contains(&contour);
            let kinds: Vec<OperationKind> = told.iter().map(|op| op.kind).collect();
            assert_eq!(kinds, if is_part { part } else { &slug[..] }, "contour {contour}");
            let of_piece = |s: &&Separation| loops[s.piece.wire_loop.index()].contour.number() == contour;
            let separation = process.separations.iter().find(of_piece).expect("a piece");
            let uncut = separation.uncut().expect("held");
            let ends = [0, uncut.run.vertices.len() - 1].map(|i| uncut.run.vertices[i].at);
            for op in &told {
                let (lead, whole_mm) = (
                    &process.leads[op.wire_loop.index()],
                    loops[op.wire_loop.index()].length_mm,
                );
                let (length_mm, cut_mm) = match op.kind {
                    LeadIn => (lead.lead_in.length(), lead.lead_cut_mm),
                    LeadOut => (lead.overlap_mm + lead.lead_out.length(), lead.overlap_mm),
                    Skim if !is_part => (whole_mm, whole_mm),
                    Rough | Skim => (whole_mm - uncut.length_mm, whole_mm - uncut.length_mm),
                    CutOff | SkimTab => (uncut.length_mm, uncut.length_mm),
                    _ => (0.0, 0.0),
                };
                assert!((op.length_mm - length_mm).abs() < 1e-9, "{op:?}, not {length_mm}");
                assert!((op.cut_mm - cut_mm).abs() < 1e-9, "{op:?}, not {cut_mm}");
            }
            // To and fro between the ends of the tab.
            if is_part {
                let at = [told[1].at, told[2].at];
                assert!(
                    near(at[0], process.leads[told[1].wire_loop.index()].entry),
                    "{at:?}"
                );
                assert!(
                    ends.iter().all(|&end| at.iter().any(|&p| near(p, end))),
                    "{at:?}, {ends:?}"
                );
            }
        }
    }
}

/// Nothing is cut in a pass for which the machine was not adjusted, nor is it adjusted in vain; it travels from where it stood to where the wire is
/// threaded next.
#[test]
fn the_machine_is_adjusted_and_moved_where_it_has_to_be() {
    for stops in ["each", "grouped"] {
        let plan = two_plates().plan(&format!("stops = \"{stops}\""));
        let moves = &plan.process.operations;
        let (mut pass, mut adjusted) = (None, 0);
        for (i, op) in moves.iter().enumerate() {
            let own = Some(plan.toolpaths.loops[op.wire_loop.index()].pass);
            match op.kind {
                OperationKind::Adjust => {
                    assert!(pass.is_some() && own != pass, "{stops} {i}");
                    (pass, adjusted) = (own, adjusted + 1);
                }
                kind if kind.is_cutting() => {
                    assert!(pass.is_none() || own == pass, "{stops} {i}");
                    pass = own;
                }
                OperationKind::Travel => {
                    let next = &moves[i + 1];
                    assert_eq!(next.kind, OperationKind::Thread);
                    let way_mm = op.at.distance(next.at);
                    assert!(way_mm > 0.0 && (op.length_mm - way_mm).abs() < 1e-12);
                    assert_eq!(op.cut_mm, 0.0);
                }
                OperationKind::Thread => {
                    let stands = i.checked_sub(1).map(|i| moves[i].kind);
                    let moved = stands == Some(OperationKind::Travel);
                    let afresh = moved || stands.is_none_or(|_| near(moves[i - 1].at, op.at));
                    assert!(afresh, "{stops} {i}");
                }
                _ => {}
            }
        }
        assert!(adjusted > 2);
    }
}

/// A bay behind a mouth that the wire does not pass is cut before the contour round it comes free.
#[test]
fn a_bay_is_cut_before_what_is_round_it() {
    let around = [
        (0.0, 40.0),
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 40.0),
        (30.1, 40.0),
        (30.1, 30.0),
        (40.0, 30.0),
        (40.0, 15.0),
        (20.0, 15.0),
        (20.0, 30.0),
        (29.9, 30.0),
        (29.9, 40.0),
    ];
    let plan = Sheet::default().loop_of("0", &around).plan("");
    let loops = &plan.toolpaths.loops;
    let places = |round: bool| {
        let moves = plan.process.operations.iter().enumerate();
        let of_it =
            move |(_, op): &(usize, &Operation)| (loops[op.wire_loop.index()].polyline.area() > 0.0) == round;
        moves.filter(of_it).map(|(i, _)| i)
    };
    let (bay, round) = (places(false).max(), places(true).min());
    assert!(bay.is_some() && bay < round, "{bay:?} {round:?}");
}

/// Whether somebody is at the machine for a piece.
fn by_hand(step: &TimedOperation) -> bool {
    matches!(
        step.kind,
        OperationKind::Stop | OperationKind::CutOff | OperationKind::Remove
    )
}

/// Whether the wire runs along a path by itself.
fn busy(step: &TimedOperation) -> bool {
    matches!(step.kind, OperationKind::Rough | OperationKind::Skim)
}

#[test]
fn every_step_begins_when_the_one_before_ends() {
    let plan = two_plates().plan("");
    let steps = plan.sequence();
    let mut clock = 0.0;
    for step in &steps {
        assert!((step.clock_minutes - clock).abs() < 1e-9);
        clock += step.takes_minutes();
    }
    let time = plan.estimate.time.as_ref().expect("every path is there");
    let machine = time.machine_minutes.value.expected;
    assert!((clock - machine).abs() < 1e-6 * machine, "{clock} and {machine}");
}

#[test]
fn skims_cross_the_open_kerf_without_cutting_time() {
    let steps = windowed().plan("").sequence();
    let leads = of_kind(&steps, OperationKind::LeadIn);
    assert!(leads.iter().any(|step| !step.pass.is_rough()));
    for step in leads {
        assert_eq!(step.minutes == 0.0, !step.pass.is_rough(), "{step:?}");
    }
}

/// From hole to hole on a grid no way is shorter than a pitch a step.
#[test]
fn the_way_through_a_grid_of_holes_is_short() {
    let pitch = 6.0;
    let (columns, rows) = (20u32, 10u32);
    let mut sheet = Sheet::default().rectangle((-6.0, -6.0), (132.0, 72.0));
    for i in 0..columns * rows {
        let (column, row) = (f64::from(i * 7 % columns), f64::from(i / columns));
        sheet = sheet.circle("0", (column * pitch, row * pitch), 3.0);
    }
    let plan = sheet.plan("");
    let threads: Vec<Point> = plan
        .sequence()
        .iter()
        .filter(|step| step.kind == OperationKind::Thread && step.contour.number() != 1)
        .map(|step| step.at)
        .collect();
    assert_eq!(threads.len(), 200);
    let way: f64 = threads.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let shortest = pitch * f64::from(columns * rows - 1);
    assert!(
        way > 0.99 * shortest && way < 1.1 * shortest,
        "{way} of {shortest}"
    );
}

/// A rolled corner of a square turns π/2 at the offset; a sharp one takes twice the offset.
#[test]
fn outside_corners_run_sharp_where_asked() {
    let sheet = Sheet::default().rectangle((0.0, 0.0), (60.0, 40.0));
    let (rolled, sharp) = (sheet.plan(""), sheet.plan("sharp_corners = 1.42"));
    let offset_mm = rolled.groups[0].passes()[0].offset_mm;
    let length = |plan: &Plan| path(plan, 1, 1).length();
    assert!((length(&rolled) - (200.0 + 4.0 * offset_mm * PI / 2.0)).abs() < 1e-9);
    assert!((length(&sharp) - (200.0 + 8.0 * offset_mm)).abs() < 1e-9);
    // The sharp corner stands √2 offsets off: a lower limit keeps the roll.
    let low = sheet.plan("sharp_corners = 1.41");
    assert!((length(&low) - length(&rolled)).abs() < 1e-12);
    assert!(
        sharp
            .inspection
            .assumptions
            .iter()
            .any(|words| words.contains("run sharp"))
    );
}

/// Nine plates 1 mm apart: beside the one in the middle no hole of 1 mm finds the room that it needs, and that is told.
#[test]
fn a_part_without_room_beside_it_is_told() {
    let mut sheet = Sheet::default();
    for i in 0..9u32 {
        let (column, row) = (f64::from(i % 3), f64::from(i / 3));
        sheet = sheet.rectangle((11.0 * column, 11.0 * row), (10.0, 10.0));
    }
    let plan = sheet.plan("");
    let told: Vec<Option<usize>> = plan
        .inspection
        .findings
        .iter()
        .filter(|finding| finding.name.starts_with("start-hole-"))
        .map(|finding| finding.contour.map(ContourId::number))
        .collect();
    assert_eq!(told, [Some(5)]);
    assert!(named(&plan, "wire-hits-neighbour").is_empty());
}
