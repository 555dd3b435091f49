//! The test piece: its planned paths are what its algebra says, and what is read off it comes back as the offsets of the next plan.

use kerfwright::gauge::{self, Across, GaugedWall, MeasuredSize, TestPiece};
use kerfwright::geometry::Point;
use kerfwright::id::PassNo;
use kerfwright::pass::PassRequest;
use kerfwright::report;
use kerfwright::{Book, JobFile, Plan, Planner};

fn piece_of(request: &PassRequest) -> (Book, TestPiece, Plan) {
    let book = Book::built_in().expect("sound");
    let piece = TestPiece::new(&book, request).expect("sound");
    let drawing = report::dxf::test_piece(&piece).expect("memory");
    let job = piece.job("test-piece.dxf");
    let plan = Planner::new(&book).job(&job).plan("test-piece.dxf", drawing);
    (book, piece, plan.expect("it can be planned"))
}

/// The corners of the path of a wall in a pass; `None` where that pass is not run on it.
fn path_of(plan: &Plan, wall: GaugedWall, pair: PassNo, pass: PassNo) -> Option<Vec<Point>> {
    let inspection = &plan.inspection;
    let layer = TestPiece::layer_of(wall, pair);
    let mut contours = inspection.contours.list.iter();
    let contour = contours
        .find(|contour| inspection.layer_of(contour) == layer)
        .expect("it is drawn");
    let mut own = plan
        .toolpaths
        .loops
        .iter()
        .filter(|path| path.contour == contour.id && path.pass == pass);
    let path = own.next()?;
    assert!(own.next().is_none(), "a path does not split");
    Some(path.polyline.vertices.iter().map(|vertex| vertex.at).collect())
}

fn width_mm(corners: &[Point], along: fn(&Point) -> f64) -> f64 {
    let ends = corners.iter().map(along);
    ends.clone().fold(f64::MIN, f64::max) - ends.fold(f64::MAX, f64::min)
}

const ALONG: [fn(&Point) -> f64; 2] = [|at| at.x, |at| at.y];

/// Closed forms: path of the pin = pin + 2·offset_j, of the opening = pin + 4·offset_n − 2·offset_j; in the last pass both are pin + 2·offset_n.
#[test]
fn the_planned_paths_are_those_of_the_algebra() {
    let mut pairs = 0;
    for (material, thickness_mm, wire_mm, passes) in [
        ("tool-steel", 30.0, 0.25, 4),
        ("tool-steel", 60.0, 0.25, 1),
        ("tungsten-carbide", 12.0, 0.2, 3),
        ("aluminium", 5.0, 0.3, 8),
    ] {
        let request = PassRequest::new(material, thickness_mm, wire_mm, passes);
        let (_, piece, plan) = piece_of(&request);
        let offsets_mm: Vec<f64> = piece.schedule.passes.iter().map(|pass| pass.offset_mm).collect();
        let last_mm = *offsets_mm.last().expect("a pass");
        for (pair, _) in PassNo::numbered(&offsets_mm) {
            for (pass, offset_mm) in PassNo::numbered(&offsets_mm) {
                let paths =
                    [GaugedWall::Pin, GaugedWall::Opening].map(|wall| path_of(&plan, wall, pair, pass));
                let [Some(pin), Some(opening)] = &paths else {
                    // Left after its own pass.
                    assert!(pass > pair && paths.iter().all(Option::is_none), "{pair} {pass}");
                    continue;
                };
                assert!(pass <= pair);
                for (along, pin_mm) in ALONG.into_iter().zip(piece.pin_mm) {
                    let (pin, opening) = (width_mm(pin, along), width_mm(opening, along));
                    assert!((pin - (pin_mm + 2.0 * offset_mm)).abs() < 1e-9, "{pin}");
                    assert!((opening - (pin_mm + 4.0 * last_mm - 2.0 * offset_mm)).abs() < 1e-9);
                    if pass.number() == passes {
                        assert!((pin - opening).abs() < 1e-9);
                    }
                }
                pairs += 1;
            }
        }
    }
    assert_eq!(pairs, 10 + 1 + 6 + 36);
}

/// How wide an axis with lost motion runs that is sent round and round: the slide is moved by whichever flank of the play is met, so it stops short
/// by half of it on the side that it comes from.
fn reached_mm(round: &[f64], lost_mm: f64) -> f64 {
    let (mut at_mm, mut most, mut least) = (0.0_f64, f64::MIN, f64::MAX);
    // The first round takes up the play.
    for (i, sent_mm) in round.iter().chain(round).enumerate() {
        at_mm = at_mm.clamp(sent_mm - 0.5 * lost_mm, sent_mm + 0.5 * lost_mm);
        if i >= round.len() {
            (most, least) = (most.max(at_mm), least.min(at_mm));
        }
    }
    most - least
}

/// The planned paths run counter-clockwise round a pin and clockwise in an opening. Both lose the same: a width is reached from its inside
/// in either sense.
#[test]
fn lost_motion_takes_the_same_off_both_paths_in_either_sense() {
    let (_, piece, plan) = piece_of(&PassRequest::new("tool-steel", 30.0, 0.25, 4));
    let last = piece.schedule.passes.last().expect("a pass").pass;
    for wall in [GaugedWall::Pin, GaugedWall::Opening] {
        let corners = path_of(&plan, wall, last, last).expect("it is cut");
        for along in ALONG {
            let width_mm = width_mm(&corners, along);
            for lost_mm in [0.0, 0.003, 0.02] {
                let mut round: Vec<f64> = corners.iter().map(along).collect();
                let forth = reached_mm(&round, lost_mm);
                round.reverse();
                let back = reached_mm(&round, lost_mm);
                for reached in [forth, back] {
                    assert!(
                        (reached - (width_mm - lost_mm)).abs() < 1e-9,
                        "{reached} {width_mm} {lost_mm}"
                    );
                }
            }
        }
    }
}

/// The wire comes in on a corner, and tabs stand beside it: the farther half of each flat is clear of both.
#[test]
fn flats_are_clear_of_leads_and_tabs() {
    let (_, piece, plan) = piece_of(&PassRequest::new("tool-steel", 30.0, 0.25, 4));
    assert_eq!(plan.process.separations.len(), 8);
    for separation in &plan.process.separations {
        let bounds = plan.inspection.contours[separation.piece.contour].bounds;
        let tab = separation.tab().expect("each piece hangs on one");
        assert!(tab.at.x < bounds.center().x - 1.0, "{tab:?}");
    }
    for (path, leads) in plan.toolpaths.loops.iter().zip(&plan.process.leads) {
        let bounds = plan.inspection.contours[path.contour].bounds;
        let (off_x, off_y) = (leads.entry.x - bounds.min.x, leads.entry.y - bounds.min.y);
        assert!(off_x.abs() < 0.6 && off_y.abs() < 0.6, "{leads:?}");
        assert_eq!(leads.blocked, None);
    }
    assert!(
        plan.inspection
            .findings
            .iter()
            .all(|finding| finding.severity != kerfwright::finding::Severity::Error)
    );
    assert!(piece.places().len() == 3 * 2 + 2 * 3);
}

/// Fills the form in with what a made-up machine leaves: scale, lost motion, half kerfs that are not those of the model.
fn filled_in(form: &str, piece: &TestPiece, half_kerfs_mm: &[f64]) -> String {
    const SCALE: f64 = 4e-5;
    const LOST_MM: f64 = 0.003;
    let last_mm = piece.schedule.passes.last().expect("a pass").offset_mm;
    let mut lines = Vec::new();
    for line in form.lines() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        let number = cells[1].parse::<usize>().ok();
        match (cells[0].as_str(), number) {
            ("date", _) => cells[4].push_str("2026-11-29"),
            (wall @ ("pin" | "opening"), Some(number)) => {
                let pin_mm = piece.pin_mm[usize::from(cells[2] == "y")];
                let offset_mm = piece.schedule.passes[number - 1].offset_mm;
                let half_kerf_mm = half_kerfs_mm[number - 1];
                let run = |path_mm: f64| path_mm * (1.0 + SCALE) - LOST_MM;
                let size_mm = if wall == "pin" {
                    run(pin_mm + 2.0 * offset_mm) - 2.0 * half_kerf_mm
                } else {
                    run(pin_mm + 4.0 * last_mm - 2.0 * offset_mm) + 2.0 * half_kerf_mm
                };
                // Three readings a micrometre apart.
                let stray_mm = [-0.001, 0.0, 0.001][lines.len() % 3];
                cells[4] = format!("{:.9}", size_mm + stray_mm);
            }
            _ => {}
        }
        lines.push(cells.join(","));
    }
    lines.join("\n")
}

#[test]
fn what_is_gauged_comes_back_as_the_offsets_of_the_next_plan() {
    let request = PassRequest {
        wire_kind: Some("brass".to_owned()),
        machine: Some("typical".to_owned()),
        ..PassRequest::new("tool-steel", 30.0, 0.25, 4)
    };
    let (book, piece, _) = piece_of(&request);
    let form = String::from_utf8(piece.form(&book.gauging).expect("memory")).expect("text");
    let half_kerfs_mm = [0.1683, 0.1412, 0.1345, 0.1316];
    let readings =
        gauge::read_readings(&filled_in(&form, &piece, &half_kerfs_mm), &book.gauging).expect("sound");
    assert_eq!(readings.sizes.len(), 2 * 3 * (3 * 2 + 2 * 3));
    let gauged = gauge::gauging(&book, &readings).expect("sound");
    for (pass, half_kerf_mm) in gauged.passes.iter().zip(half_kerfs_mm) {
        // Scale taken as true: 67 µm × 4e-5.
        assert!(
            (pass.half_kerf.value_um - 1e3 * half_kerf_mm).abs() < 0.003,
            "{pass:?}"
        );
        for axis in &pass.by_axis {
            let path_mm = piece.pin_mm[usize::from(axis.across == Across::Y)] + 0.260;
            assert!((axis.path_off_um - 1e3 * (path_mm * 4e-5 - 0.003)).abs() < 1e-3);
        }
    }
    let last = gauged.last();
    assert!(
        (last.half_kerf.value_um - 131.6).abs() < 1e-6,
        "in the last pass the scale cancels"
    );

    let own = Book::layered(&gauged.fragment(&book)).expect("a sound book");
    let next = TestPiece::new(&own, &request).expect("sound");
    let drawing = report::dxf::test_piece(&next).expect("memory");
    let job = next.job("next.dxf");
    let plan = Planner::new(&own)
        .job(&job)
        .plan("next.dxf", drawing)
        .expect("planned");
    assert_eq!(plan.gauged_on(), Some("2026-11-29"));
    let told = report::terminal::plan(&plan, report::Coverage::Full, report::Lengths::Mm);
    assert!(
        told.contains("offset, gauged on 2026-11-29") && !told.contains("cut and gauge a test piece"),
        "{told}"
    );
    for (pass, gauged) in next.schedule.passes.iter().zip(&gauged.passes) {
        assert!((pass.offset_mm - gauged.offset_mm).abs() < 1e-9);
    }
    // Read once more off a piece that was cut so, it has come out as called for.
    assert!((next.schedule.passes[3].offset_mm - 0.1316).abs() < 1e-9);
    assert!(
        readings
            .sizes
            .iter()
            .all(|size| matches!(size.size, MeasuredSize::Read(_)))
    );
}

/// Offsets of the whole job by the built-in table, 197 and 152 µm; what the later passes are to reach is not asked of the wall before them.
#[test]
fn a_wall_that_is_left_for_later_passes_is_not_judged() {
    let book = Book::built_in().expect("sound");
    let drawing = std::fs::read("fixtures/shapes/rectangle-40x20.dxf").expect("a fixture");
    let text = |more: &str| {
        format!(
            "material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\nfinish = \"Ra 0.6\"\ntolerance = \"±0.01\"\n{more}\n\
             [contour.1]\nstop_after = 2\n"
        )
    };
    let plan = |more: &str| {
        let job = JobFile::parse(&text(more)).expect("a job");
        Planner::new(&book)
            .job(&job)
            .plan("rectangle.dxf", drawing.clone())
    };
    let stopped = plan("passes = 4").expect("planned");
    let group = &stopped.groups[0];
    let offsets_um: Vec<f64> = group
        .passes()
        .iter()
        .map(|pass| (pass.offset_mm * 1e3).round())
        .collect();
    assert_eq!(offsets_um, [197.0, 152.0]);
    assert_eq!((group.requirement.ra_um, group.requirement.limits), (None, None));
    assert!(group.verdict().is_none() && stopped.reaches_demand());
    assert_eq!(stopped.toolpaths.loops.len(), 2);
    let told = stopped.inspection.assumptions.iter();
    let told = told.filter(|words| words.contains("pass 2 is the last that is run"));
    assert_eq!(told.count(), 1);

    let error = plan("").expect_err("of how many passes?").to_string();
    assert!(
        error.contains("stop_after: give the number of passes too"),
        "{error}"
    );
    // The last of all passes is no stop.
    let job = text("passes = 2");
    let whole = Planner::new(&book)
        .job(&JobFile::parse(&job).expect("a job"))
        .plan("rectangle.dxf", drawing.clone());
    assert!(whole.expect("planned").groups[0].requirement.limits.is_some());
}
