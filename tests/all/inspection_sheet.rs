//! What the inspection sheet lists: sizes by the measures of the fixtures and by closed forms, points of walls by geometry that shares no
//! code with the library.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use kerfwright::contour::{Contours, Role};
use kerfwright::gauge::{GaugedSize, NotProbed, ProbeOptions, ProbePoint, SizeKind};
use kerfwright::geometry::Polyline;
use kerfwright::job::{JobFile, JobPart, Tolerance};
use kerfwright::plan::InspectionSheet;
use kerfwright::units::Feature;
use kerfwright::{Plan, Planner};

use crate::common::{assert_close, book, drawings_in, fixture, fixture_bytes, run, stderr, stdout};
use crate::walls::{Piece, Place, encloses};

const PROBE: ProbeOptions = ProbeOptions {
    spacing_mm: 3.0,
    ball_mm: 1.0,
};

fn job(passes: usize) -> JobFile {
    JobFile::new("tool-steel", 20.0).wire_mm(0.25).passes(passes)
}

fn planned(bytes: &[u8], job: &JobFile) -> Plan {
    let plan = Planner::new(book()).job(job).plan("part.dxf", bytes);
    plan.expect("a sound drawing")
}

fn sheet_of(name: &str, job: &JobFile) -> InspectionSheet {
    planned(&fixture_bytes(name), job).inspection_sheet(PROBE)
}

/// A drawing of closed polylines on layer CUT, corner by corner with the bulge of what follows.
fn drawing(lines: &[&[(f64, f64, f64)]]) -> Vec<u8> {
    let mut text =
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n".to_owned();
    for line in lines {
        let _ = write!(text, "0\nLWPOLYLINE\n8\nCUT\n90\n{}\n70\n1\n", line.len());
        for (x, y, bulge) in *line {
            let _ = write!(text, "10\n{x}\n20\n{y}\n42\n{bulge}\n");
        }
    }
    (text + "0\nENDSEC\n0\nEOF\n").into_bytes()
}

fn rectangle([x, y]: [f64; 2], [width, height]: [f64; 2]) -> [(f64, f64, f64); 4] {
    [
        (x, y, 0.0),
        (x + width, y, 0.0),
        (x + width, y + height, 0.0),
        (x, y + height, 0.0),
    ]
}

/// Kind, side, size and number of those alike, of each size.
fn told(sizes: &[GaugedSize]) -> Vec<(SizeKind, Feature, f64, usize)> {
    let rounded = |mm: f64| (mm * 1e6).round() / 1e6;
    sizes
        .iter()
        .map(|size| (size.kind, size.feature, rounded(size.nominal_mm), size.alike))
        .collect()
}

/// The measures are those that the fixtures are drawn from, `examples/draw_fixtures`.
#[test]
fn the_sizes_of_the_fixtures_are_those_they_are_drawn_from() {
    use Feature::{Hole, Shaft};
    use SizeKind::{AcrossWalls, Diameter, OverallX, OverallY, Radius};
    let of = |name: &str| told(&sheet_of(name, &job(3)).sizes);
    assert_eq!(of("shapes/circle-20.dxf"), [(Diameter, Shaft, 20.0, 1)]);
    let rectangle = [(AcrossWalls, Shaft, 40.0, 1), (AcrossWalls, Shaft, 20.0, 1)];
    assert_eq!(of("shapes/rectangle-40x20.dxf"), rectangle);
    let stadium = [
        (OverallX, Shaft, 46.0, 1),
        (AcrossWalls, Shaft, 16.0, 1),
        (Radius, Shaft, 8.0, 2),
        (Radius, Shaft, 8.0, 2),
    ];
    assert_eq!(of("shapes/stadium.dxf"), stadium);
    let keyhole = [
        (OverallX, Shaft, 16.0, 1),
        (OverallY, Shaft, 28.0, 1),
        (AcrossWalls, Shaft, 5.0, 1),
        (Radius, Shaft, 8.0, 1),
    ];
    assert_eq!(of("shapes/keyhole.dxf"), keyhole);
    let square = sheet_of("clock/ratchet.dxf", &job(3));
    let square: Vec<GaugedSize> = square
        .sizes
        .into_iter()
        .filter(|size| size.feature == Hole)
        .collect();
    let mut square = told(&square);
    square.retain(|(kind, ..)| *kind != SizeKind::WallBetween);
    for expected in [
        (AcrossWalls, Hole, 12.0, 2),
        (Radius, Hole, 0.5, 4),
        (Diameter, Hole, 5.0, 1),
    ] {
        assert!(square.contains(&expected), "{expected:?} in {square:?}");
    }
}

/// A hexagon 10 across flats has three widths; a part with a slot cut in has an inside width; material between two contours has two
/// walls where both are cut.
#[test]
fn flats_slots_and_walls_are_sizes() {
    let across: f64 = 10.0;
    let corner = |i: u32| {
        let angle = f64::from(i) * std::f64::consts::FRAC_PI_3;
        let radius = across / 3.0_f64.sqrt();
        (radius * angle.cos(), radius * angle.sin(), 0.0)
    };
    let hexagon: Vec<_> = (0..6).map(corner).collect();
    let sizes = planned(&drawing(&[&hexagon]), &job(2))
        .inspection_sheet(PROBE)
        .sizes;
    let flats: Vec<&GaugedSize> = sizes
        .iter()
        .filter(|size| size.kind == SizeKind::AcrossWalls)
        .collect();
    assert_eq!(flats.len(), 3);
    for (flat, number) in flats.iter().zip(1..) {
        assert_close("across flats", flat.nominal_mm, across, 1e-9);
        assert_eq!((flat.alike, flat.walls), (3, 2));
        assert_eq!(flat.name, format!("1 width {number}"));
    }

    let slotted = [
        (0.0, 0.0, 0.0),
        (30.0, 0.0, 0.0),
        (30.0, 20.0, 0.0),
        (18.0, 20.0, 0.0),
        (18.0, 8.0, 0.0),
        (12.0, 8.0, 0.0),
        (12.0, 20.0, 0.0),
        (0.0, 20.0, 0.0),
    ];
    let sizes = planned(&drawing(&[&slotted]), &job(2))
        .inspection_sheet(PROBE)
        .sizes;
    let slots: Vec<&GaugedSize> = sizes
        .iter()
        .filter(|size| size.feature == Feature::Hole)
        .collect();
    assert_eq!(slots.len(), 1);
    assert_close("slot", slots[0].nominal_mm, 6.0, 1e-9);
    assert!(
        sizes.iter().any(|size| (size.nominal_mm - 8.0).abs() < 1e-9),
        "the floor of 8 mm below the slot"
    );

    let (outline, window) = (
        rectangle([0.0, 0.0], [30.0, 20.0]),
        rectangle([3.0, 5.0], [12.0, 10.0]),
    );
    let sizes = planned(&drawing(&[&outline, &window]), &job(2))
        .inspection_sheet(PROBE)
        .sizes;
    let walls: Vec<&GaugedSize> = sizes
        .iter()
        .filter(|size| size.kind == SizeKind::WallBetween)
        .collect();
    assert_eq!((walls.len(), walls[0].walls), (1, 2));
    assert_close("wall", walls[0].nominal_mm, 3.0, 1e-9);
}

/// 5H8 is 0/+18 µm (ISO 286-2, 3 to 6 mm, IT8 = 18 µm), so its middle is 5.009. An aim of 4 µm makes a part of 40 mm 8 µm smaller.
#[test]
fn targets_are_in_the_middle_of_one_sided_limits() {
    let tolerance = Tolerance::parse("5H8").expect("a fit");
    let mut pivot = JobPart::new();
    pivot.tolerance = Some(tolerance.written);
    let job_of_layer = JobFile::new("tool-steel", 8.0)
        .wire_mm(0.25)
        .finish("N6")
        .layer("PIVOT", pivot);
    let sheet = sheet_of("clock/ratchet.dxf", &job_of_layer);
    let bore = sheet
        .sizes
        .iter()
        .find(|size| size.kind == SizeKind::Diameter)
        .expect("the bore");
    assert_close("target", bore.target_mm, 5.009, 1e-9);
    let [lower_mm, upper_mm] = bore.limits_mm.expect("limits");
    assert_close("lower limit", lower_mm, 5.0, 1e-9);
    assert_close("upper limit", upper_mm, 5.018, 1e-9);
    let aimed = sheet_of("shapes/rectangle-40x20.dxf", &job(3).aim_mm(0.004));
    assert_close("target", aimed.sizes[0].target_mm, 39.992, 1e-9);
    assert!(
        aimed
            .points
            .iter()
            .all(|point| (point.target_mm + 0.004).abs() < 1e-12)
    );
    let (recipe, offset_mm) = aimed.cut_with(aimed.sizes[0].contour);
    assert_eq!(
        (recipe.passes, recipe.machine.as_deref()),
        (Some(3), Some("typical"))
    );
    // 0.125 + 0.008 − 0.004.
    assert_close("offset", offset_mm.expect("a pass"), 0.129, 1e-9);
}

fn place(point: &ProbePoint) -> Place {
    [point.at.x, point.at.y]
}

/// How many edges go round a place: material lies where the number is odd, since edges lie in one another by turns.
fn is_material(contours: &Contours, p: Place) -> bool {
    let edges = contours.list.iter().filter(|contour| contour.bounds_material());
    edges.filter(|edge| encloses(&edge.polyline, p)).count() % 2 == 1
}

/// How far a place is from the line of a contour.
fn off_line(line: &Polyline, p: Place) -> f64 {
    let pieces = Piece::all_of(line);
    pieces
        .iter()
        .map(|piece| piece.distance(p))
        .fold(f64::INFINITY, f64::min)
}

/// Of every fixture: points lie on the contour to 1e-9, the normal is of length 1, square to the wall (nothing of the contour is
/// nearer to the ball's middle than its radius) and points out of the material; no two that follow one another on a wall
/// without corners lie farther apart than asked.
#[test]
fn points_lie_on_the_contours_with_their_normals_out_of_the_material() {
    const ASIDE_MM: f64 = 1e-3;
    let mut checked = 0;
    for folder in ["clock", "shapes"] {
        for drawing in drawings_in(&fixture(folder)) {
            let bytes = std::fs::read(&drawing).expect("a fixture");
            let plan = planned(&bytes, &job(3).assume_sides(true));
            let sheet = plan.inspection_sheet(PROBE);
            let contours = &plan.inspection.contours;
            for point in sheet.points.iter().step_by(7) {
                let line = &contours[point.contour].polyline;
                assert!(
                    off_line(line, place(point)) < 1e-9,
                    "{}: {point:?}",
                    drawing.display()
                );
                let [x, y] = point.normal;
                assert_close("normal", x.hypot(y), 1.0, 1e-12);
                let [at_x, at_y] = place(point);
                let aside = |way: f64| [at_x + way * x, at_y + way * y];
                assert!(
                    !is_material(contours, aside(ASIDE_MM)),
                    "{}: {point:?}",
                    drawing.display()
                );
                assert!(
                    is_material(contours, aside(-ASIDE_MM)),
                    "{}: {point:?}",
                    drawing.display()
                );
                let center = [point.center.x, point.center.y];
                let radius_mm = 0.5 * PROBE.ball_mm;
                assert_close("ball", center[0] - at_x, radius_mm * x, 1e-12);
                assert_close("ball", center[1] - at_y, radius_mm * y, 1e-12);
                assert!(
                    off_line(line, center) >= radius_mm - 2e-6,
                    "{}: {point:?}",
                    drawing.display()
                );
                checked += 1;
            }
        }
    }
    assert!(checked > 500, "{checked} points");
}

/// An opening with sharp corners, its last path at 0.133 from each wall: of a wall the wire does not reach what lies nearer to the corner
/// than that, and a ball of 1 mm touches the other wall first where it lies nearer than 0.5. Points are 0.02 mm apart: of 10 mm wall 500,
/// in the middles of equal shares.
#[test]
fn no_point_lies_in_a_corner_that_is_not_reached_or_where_the_ball_does_not_fit() {
    let (outline, window) = (
        rectangle([-10.0, -10.0], [40.0, 40.0]),
        rectangle([0.0, 0.0], [10.0, 10.0]),
    );
    let plan = planned(&drawing(&[&outline, &window]), &job(3));
    let sheet = plan.inspection_sheet(ProbeOptions {
        spacing_mm: 0.02,
        ball_mm: 1.0,
    });
    let window = plan
        .inspection
        .contours
        .list
        .iter()
        .find(|contour| contour.role == Role::Opening);
    let window = window.expect("the opening").id;
    let counts: BTreeMap<NotProbed, usize> = (sheet.left_out.iter())
        .filter(|left| left.contour == window)
        .map(|left| (left.reason, left.count))
        .collect();
    // At 0.01, 0.03, … from a corner. The path turns at 0.133 from both walls; from it a place s along the wall is √((0.133 − s)² + 0.133²)
    // away, which is more than 0.133 and twice the 0.0001 that paths are verified to up to s = 0.1257: 6 places. Up to 0.49 there are 25.
    assert_eq!(counts[&NotProbed::NotReached], 8 * 6);
    let leads = counts.get(&NotProbed::LeadWitness).copied().unwrap_or_default();
    assert_eq!(counts[&NotProbed::BallTouchesElsewhere], 8 * 19);
    let kept = sheet
        .points
        .iter()
        .filter(|point| point.contour == window)
        .count();
    assert_eq!(kept + leads, 4 * 500 - 8 * 25);
    // The lead lands in the middle of a side, far from its corners; the slug's tab is skimmed.
    assert!(leads > 0 && !counts.contains_key(&NotProbed::TabStub));
}

/// A part of 40 × 20 held on a tab: along the straight that it stands on, nothing is probed over its length and a ball's radius beyond
/// both ends, and all else is.
#[test]
fn no_point_lies_on_the_stub_of_a_tab_or_where_the_lead_lands() {
    let plan = planned(&fixture_bytes("shapes/rectangle-40x20.dxf"), &job(3));
    let sheet = plan.inspection_sheet(ProbeOptions {
        spacing_mm: 0.05,
        ball_mm: 1.0,
    });
    let tab = plan.process.separations[0].tab().expect("a tab");
    let lead = &plan.process.leads[2];
    let (ends, entry) = ([tab.run.vertices[0].at, tab.run.vertices[1].at], lead.entry);
    assert!(tab.on_straight);
    let mut left_out = 0;
    for point in &sheet.points {
        let [x, y] = place(point);
        let beside = |ends: [[f64; 2]; 2]| {
            let along = [ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]];
            let length = along[0].hypot(along[1]);
            let share = ((x - ends[0][0]) * along[0] + (y - ends[0][1]) * along[1]) / length;
            let away = ((x - ends[0][0]) * along[1] - (y - ends[0][1]) * along[0]).abs() / length;
            (-0.5..=length + 0.5).contains(&share) && away < 0.25
        };
        assert!(
            !beside(ends.map(|end| [end.x, end.y])),
            "{point:?} on the tab {tab:?}"
        );
        assert!(
            (x - entry.x).hypot(y - entry.y) > 0.5,
            "{point:?} where the lead lands"
        );
    }
    for left in &sheet.left_out {
        assert!(
            matches!(left.reason, NotProbed::TabStub | NotProbed::LeadWitness),
            "{left:?}"
        );
        left_out += left.count;
    }
    assert_eq!(sheet.points.len() + left_out, 2 * 800 + 2 * 400);
    let stub = sheet
        .left_out
        .iter()
        .find(|left| left.reason == NotProbed::TabStub)
        .expect("a stub");
    let expected = (tab.length_mm + PROBE.ball_mm) / 0.05;
    assert!(
        (stub.count as f64 - expected).abs() <= 1.0,
        "{} points, {expected}",
        stub.count
    );
}

/// The table of sizes with readings typed in is a log of readings, and so is that of points.
#[test]
fn readings_typed_into_the_tables_go_into_the_chart() {
    let room = tempfile::tempdir().expect("a folder");
    let out = room.path().to_str().expect("a path in UTF-8");
    let made = run(&[
        "inspection-sheet",
        "fixtures/clock/ratchet.dxf",
        "--thickness",
        "8",
        "--material",
        "tool-steel",
        "--wire",
        "0.25",
        "--passes",
        "3",
        "--out",
        out,
    ]);
    assert_eq!(made.status.code(), Some(0), "{}", stderr(&made));
    for (name, off_mm, excess_um) in [("inspection", 0.004, 2.0), ("inspection-points", 0.004, 4.0)] {
        let file = room.path().join(format!("ratchet-{name}.csv"));
        let table = std::fs::read_to_string(&file).expect("a table");
        let mut reader = csv_rows(&table);
        let heads = reader.remove(0);
        let at = |head: &str| heads.iter().position(|known| known == head).expect("a column");
        let mut typed = heads.join(",") + "\n";
        let mut rows = 0;
        for mut row in reader {
            let target: f64 = row[at("target_mm")].parse().expect("a number");
            let (kind, walls) = (
                row[at("kind")].clone(),
                row[at("walls")].parse::<usize>().expect("a count"),
            );
            if name == "inspection" && walls != 2 {
                continue;
            }
            let off_mm = if kind == "part" { off_mm } else { -off_mm };
            row[at("measured_mm")] = format!("{:.6}", target + off_mm);
            typed += &(row.join(",") + "\n");
            rows += 1;
        }
        assert!(rows > 5, "{rows} rows of {name}");
        std::fs::write(&file, typed).expect("written");
        let charted = run(&["drift", file.to_str().expect("UTF-8"), "--json"]);
        let value: serde_json::Value = serde_json::from_str(&stdout(&charted)).expect("JSON");
        let baseline = &value["recipes"][0]["baselines"][0];
        assert_eq!(value["recipes"][0]["recipe"]["passes"], 3);
        assert_close(
            "offset",
            baseline["offset_mm"].as_f64().expect("given"),
            0.133,
            1e-9,
        );
        let points = baseline["points"].as_array().expect("points");
        assert_eq!(points.len(), rows);
        for point in points {
            assert_close(
                "excess",
                point["excess_um"].as_f64().expect("a number"),
                excess_um,
                1e-3,
            );
        }
    }
}

/// Rows of a table whose cells hold neither commas nor quotes.
fn csv_rows(table: &str) -> Vec<Vec<String>> {
    assert!(!table.contains('"'));
    table
        .lines()
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}
