//! What is asked about open lines and closed ones across an edge: the readings in order with what each would mean, against closed forms,
//! and that each can be answered by option, job file and page, and then be planned.

use std::fmt::Write as _;

use kerfwright::finding::Severity;
use kerfwright::geometry::{Point, Polyline};
use kerfwright::job::{JobFile, Purpose};
use kerfwright::plan::{Plan, Planner};
use kerfwright::question::{Question, QuestionKind};
use kerfwright::report::{json, reading_job};
use serde_json::Value;

use crate::common::{book, fixture, fixture_bytes, run, stdout};
use crate::open_cuts::{Sheet, close, keyway};

/// The one question that is open.
fn asked(plan: &Plan) -> Question {
    let open: Vec<&Question> = plan.inspection.questions.open().collect();
    let [question] = open.as_slice() else {
        panic!("{open:?}")
    };
    (*question).clone()
}

fn purposes(question: &Question) -> Vec<Purpose> {
    question
        .readings
        .iter()
        .map(|reading| reading.purposes[0].1)
        .collect()
}

/// A plate of 60 × 40 that is there already, and a line across it at x = 45.
fn plate() -> Sheet {
    Sheet::default()
        .rectangle("THERE", (0.0, 0.0), (60.0, 40.0))
        .line("TRIM", &Polyline::open([(45.0, -1.0, 0.0), (45.0, 41.0, 0.0)]))
}

/// 15 × 40 mm are waste, or 45 × 40 mm, or both stay with a kerf of 40 mm in them: by how little is lost, the smaller piece first.
#[test]
fn a_trim_without_a_side_is_asked_with_what_each_would_cost() {
    let plan = plate().plan_for("passes = 2\n[layer.TRIM]\nuse = \"trim\"");
    let question = asked(&plan);
    assert_eq!(question.kind, QuestionKind::TrimSide);
    assert_eq!(purposes(&question), [Purpose::Trim, Purpose::Slit, Purpose::Trim]);
    for (reading, area_mm2, kerf_mm) in [(0, 600.0, 0.0), (1, 0.0, 40.0), (2, 1800.0, 0.0)] {
        let reading = &question.readings[reading];
        close(reading.cut_length_mm, 40.0);
        close(reading.loss.area_mm2, area_mm2);
        close(reading.loss.kerf_along_mm, kerf_mm);
    }
    assert!(question.readings[0].stays[0].at.x < 45.0 && question.readings[2].stays[0].at.x > 45.0);
    let finding = plan.inspection.findings.iter().find(|f| f.name == "side-unclear");
    let finding = finding.expect("it is told");
    assert_eq!(finding.severity, Severity::Error);
    assert!(plan.toolpaths.loops.is_empty() && plan.estimate.costs.is_none());
    // What is called for first is taken where it is ordered so, and told.
    let assumed = plate().plan_for("passes = 2\nassume_sides = true\n[layer.TRIM]\nuse = \"trim\"");
    let offcut = assumed.toolpaths.loops[0]
        .open
        .as_ref()
        .and_then(|cut| cut.offcut.as_ref());
    let rough = &assumed.groups[0].passes()[0];
    let width = 15.0 - rough.offset_mm - rough.half_kerf_mm;
    assert!((offcut.expect("a piece drops").area_mm2 - 40.0 * width).abs() < 1e-9);
    assert!(json::plan(&assumed).contains("first reading"));
}

/// A line of which nothing is given: through the material from an edge to the same edge it may be a trim; else a slit.
#[test]
fn an_open_line_through_the_material_is_asked_for_what_it_is() {
    let plan = keyway(1.0).plan();
    let question = asked(&plan);
    assert_eq!(question.kind, QuestionKind::OpenCut);
    // The wall of a bore cannot be all waste.
    assert_eq!(
        purposes(&question),
        [Purpose::Trim, Purpose::Reference, Purpose::Slit]
    );
    assert!((question.readings[0].loss.area_mm2 - 12.025_829).abs() < 1e-6);
    assert!((question.readings[0].cut_length_mm - 10.235_083).abs() < 1e-6);
    let block = || Sheet::default().rectangle("THERE", (-30.0, 0.0), (60.0, 40.0));
    let line = |points: &[(f64, f64)]| {
        let points = points.iter().map(|&(x, y)| (x, y, 0.0));
        block().line("0", &Polyline::open(points)).plan()
    };
    // Into the material and no farther.
    let question = asked(&line(&[(0.0, -1.0), (0.0, 20.0)]));
    assert_eq!(purposes(&question), [Purpose::Slit, Purpose::Reference]);
    close(question.readings[0].loss.kerf_along_mm, 20.0);
    // Bent, and beside an outline that is cut in the same job: which is to be drawn as it shall be.
    let cut = Sheet::default().rectangle("0", (-30.0, 0.0), (60.0, 40.0));
    let bent = Polyline::open([(-10.0, -1.0, 0.0), (-10.0, 5.0, 0.0), (31.0, 5.0, 0.0)]);
    let question = asked(&cut.line("0", &bent).plan());
    assert_eq!(purposes(&question), [Purpose::Slit, Purpose::Reference]);
    // Wholly in the material, or in air: no cut that anything is asked about.
    for points in [
        [(-5.0, 20.0), (5.0, 20.0), (5.0, 25.0)],
        [(-5.0, -9.0), (5.0, -9.0), (5.0, -4.0)],
    ] {
        let plan = line(&points);
        assert!(plan.inspection.questions.list.is_empty());
        let open = plan.inspection.findings.iter().find(|f| f.name == "open-contour");
        assert!(open.is_some_and(|finding| finding.severity == Severity::Error));
    }
}

/// A keyway that is drawn closed across the wall of a bore means the one drawn open from wall to wall: the same paths to the last
/// nanometre, whether that is answered, given or the first reading.
#[test]
fn a_closed_curve_across_an_edge_becomes_the_trim_that_it_means() {
    let corners = [(-2.5, 8.0), (2.5, 8.0), (2.5, 12.3), (-2.5, 12.3)].map(|(x, y)| (x, y, 0.0));
    let closed = |layer: &str| {
        Sheet::default()
            .rectangle("THERE", (-30.0, -30.0), (60.0, 60.0))
            .circle("THERE", (0.0, 0.0), 10.0)
            .line(layer, &Polyline::closed(corners))
    };
    let right = keyway(0.0).plan_for("passes = 4\n[layer.TRIM]\nuse = \"trim\"");
    let question = asked(&closed("0").plan_for("passes = 4"));
    assert_eq!(question.kind, QuestionKind::CrossesEdge);
    assert_eq!(purposes(&question), [Purpose::Trim, Purpose::Reference]);
    assert!((question.readings[0].loss.area_mm2 - 12.025_829).abs() < 1e-6);
    let Point { x, y } = question.readings[0].stays[0].at;
    let answer = format!("passes = 4\n[contour.3]\nuse = \"trim\"\nkeep = [{x}, {y}]");
    let plans = vec![
        closed("0").plan_for(&answer),
        closed("TRIM").plan_for("passes = 4\n[layer.TRIM]\nuse = \"trim\""),
        closed("0").plan_for("passes = 4\nassume_sides = true"),
    ];
    for plan in plans {
        assert!(
            plan.toolpaths.incomplete.is_empty(),
            "{:?}",
            plan.toolpaths.refusals
        );
        assert_eq!(plan.toolpaths.loops.len(), 4);
        for (wire, right) in plan.toolpaths.loops.iter().zip(&right.toolpaths.loops) {
            assert!((wire.length_mm - right.length_mm).abs() < 1e-9);
            assert!(!wire.polyline.closed);
        }
        let contour = &plan.inspection.contours.list[2];
        assert!(!contour.polyline.closed && contour.purpose == Purpose::Trim);
        assert!((contour.perimeter_mm - 10.235_083).abs() < 1e-6);
        assert!(plan.estimate.costs.is_some());
    }
    // Across the outline of a plate what lies in it may be waste, or a part out of its rim.
    let notch = [(20.0, 35.0), (30.0, 35.0), (30.0, 45.0), (20.0, 45.0)].map(|(x, y)| (x, y, 0.0));
    let plate = Sheet::default().rectangle("THERE", (0.0, 0.0), (60.0, 40.0));
    let question = asked(&plate.line("0", &Polyline::closed(notch)).plan());
    assert_eq!(
        purposes(&question),
        [Purpose::Trim, Purpose::Reference, Purpose::Trim]
    );
    close(question.readings[0].loss.area_mm2, 50.0);
    close(question.readings[2].loss.area_mm2, 2400.0 - 50.0);
    close(question.readings[0].cut_length_mm, 20.0);
}

/// A drawing of the workshop, and what is given for its layers.
struct Case {
    file: String,
    layers: Vec<(&'static str, &'static str)>,
}

/// Those that ask about an open cut.
fn asking_drawings() -> Vec<Case> {
    let case = |name: &str, layers: &[(&'static str, &'static str)]| Case {
        file: format!("questions/{name}.dxf"),
        layers: layers.to_vec(),
    };
    vec![
        case("edge-off-a-plate", &[("PLATE", "existing"), ("EDGE", "trim")]),
        case(
            "keyway-of-a-winding-arbor",
            &[("ARBOR", "existing"), ("BORE", "existing")],
        ),
        case(
            "keyway-drawn-closed",
            &[("HUB", "existing"), ("BORE", "existing")],
        ),
        case("parting-of-a-barrel-ring", &[("RING", "existing")]),
        case(
            "collet-of-a-bushing-tool",
            &[("COLLET", "existing"), ("HOLE", "ready-hole")],
        ),
    ]
}

impl Case {
    /// The text of its job, with more lines.
    fn job(&self, more: &str) -> String {
        let mut job = "material = \"tool-steel\"\nthickness_mm = 12\nwire_mm = 0.25\npasses = 2\n".to_owned();
        for (name, purpose) in &self.layers {
            let _ = write!(job, "[layer.{name}]\nuse = \"{purpose}\"\n");
        }
        job + more
    }

    fn plan(&self, more: &str) -> Plan {
        let text = self.job(more);
        let job = JobFile::parse(&text).unwrap_or_else(|error| panic!("{error}\n{text}"));
        let plan = Planner::new(book())
            .job(&job)
            .plan("part.dxf", fixture_bytes(&self.file));
        plan.expect("a sound drawing")
    }

    /// The readings of its one question, as programs get them.
    fn readings(&self, plan: &Plan) -> Vec<Value> {
        let report: Value = serde_json::from_str(&json::plan(plan)).expect("JSON");
        assert_eq!(
            report["questions"].as_array().map(Vec::len),
            Some(1),
            "{}",
            self.file
        );
        let readings = report["questions"][0]["readings"].as_array();
        readings.expect("readings").clone()
    }
}

/// Each reading is planned as it is written for a job file, and stands in the job file that is written ready for it.
#[test]
fn each_reading_can_be_given_in_a_job_file() {
    for case in asking_drawings() {
        let plan = case.plan("");
        let job = JobFile::parse(&case.job("")).expect("a job");
        let written = reading_job(&plan.inspection, &job, "part.dxf").expect("written");
        for reading in case.readings(&plan) {
            let lines = reading["job_file"].as_array().expect("lines").iter();
            let lines: Vec<&str> = lines.filter_map(Value::as_str).collect();
            let answered = case.plan(&lines.join("\n"));
            let open = answered.inspection.questions.open().count();
            assert_eq!(open, 0, "{}: {reading}", case.file);
            let is_cut = reading["cut_length_mm"].as_f64() > Some(0.0);
            assert_eq!(
                is_cut,
                !answered.toolpaths.loops.is_empty(),
                "{}: {reading}",
                case.file
            );
            let refusals = &answered.toolpaths.refusals;
            assert!(refusals.is_empty(), "{}: {refusals:?}", case.file);
            for line in &lines {
                assert!(
                    written.contains(line),
                    "{}: {line} is not in\n{written}",
                    case.file
                );
            }
        }
    }
}

/// Each reading can be given by the options that stand below it.
#[test]
fn each_reading_can_be_given_by_its_options() {
    for case in asking_drawings() {
        let path = fixture(&case.file).to_string_lossy().into_owned();
        let layers = case.layers.iter();
        let layers = layers.flat_map(|(name, purpose)| ["--layer".to_owned(), format!("{name}={purpose}")]);
        let layers: Vec<String> = layers.collect();
        for reading in case.readings(&case.plan("")) {
            let options = reading["options"].as_str().expect("options");
            let given = ["inspect", &path, "--json"].into_iter();
            let given = given
                .chain(layers.iter().map(String::as_str))
                .chain(options.split(' '));
            let seen = stdout(&run(&given.collect::<Vec<_>>()));
            let seen: Value =
                serde_json::from_str(&seen).unwrap_or_else(|error| panic!("{options}: {error}"));
            assert_eq!(
                seen["questions"].as_array().map(Vec::len),
                Some(0),
                "{}: {options}",
                case.file
            );
        }
    }
}

/// In a table of drawings the row waits for the answer and has no price.
#[test]
fn the_row_of_a_quote_is_to_be_settled() {
    let file = fixture("questions/edge-off-a-plate.dxf")
        .to_string_lossy()
        .into_owned();
    let asked = [
        "quote",
        &file,
        "--material",
        "tool-steel",
        "--thickness",
        "12",
        "--json",
    ];
    let output = run(&[&asked[..], &["--layer", "PLATE=existing", "--layer", "EDGE=trim"]].concat());
    let row: Value = serde_json::from_str(stdout(&output).lines().next().expect("a row")).expect("JSON");
    assert_eq!(row["status"], "to-be-settled");
    assert!(row["cost_each"].is_null());
    assert!(
        row["reason"]
            .as_str()
            .is_some_and(|reason| reason.contains("which side of the trim stays"))
    );
}
