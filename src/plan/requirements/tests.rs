use crate::cancel::CancelToken;
use crate::estimate::Confidence;
use crate::job::{JobFile, JobPart};
use crate::message::Message;
use crate::plan::{Error, Plan, Planner};
use crate::shop::Book;

/// A 60 × 40 plate with a Ø25 bore on layer DIE.
const PLATE: &str = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
    0\nCIRCLE\n8\nDIE\n10\n20\n20\n20\n40\n12.5\n\
    0\nLWPOLYLINE\n8\nPART\n90\n4\n70\n1\n10\n0\n20\n0\n10\n60\n20\n0\n10\n60\n20\n40\n10\n0\n20\n40\n\
    0\nENDSEC\n0\nEOF\n";

fn planned(job: &JobFile) -> Result<Plan, Error> {
    let book = Book::built_in().expect("sound");
    Planner::new(&book).job(job).plan("plate.dxf", PLATE.as_bytes())
}

fn asked(finish: &str) -> JobFile {
    JobFile::new("tool-steel", 20.0)
        .wire_mm(0.25)
        .wire_kind("brass")
        .finish(finish)
        .layer("DIE", JobPart::new().finish("Ra 0.5").tolerance("25H7"))
}

/// Common practice, no source: heat moves a length in proportion to the swing; so the book's swing moves as
/// many times as far as one of 1 K, whether the passes are given, chosen or looked at again.
#[test]
fn the_swing_of_the_room_that_a_job_gives_is_that_of_the_budget() {
    let book = Book::built_in().expect("sound");
    let moved_um = |plan: &Plan| {
        let accuracy = plan.groups[0].quality.accuracy.as_ref().expect("a budget");
        let mut terms = accuracy.terms.iter().map(|term| &term.half_width_um);
        let swing = terms.find(|figure| figure.name == "day/night swing of room temperature");
        swing.expect("it is in every budget").value.expected
    };
    for what in ["passes = 3\nwire_mm = 0.25", "finish = \"Ra 1.6\""] {
        let planned = |swing: &str| {
            let text = format!("material = \"tool-steel\"\nthickness_mm = 20\n{what}\n{swing}");
            let job = JobFile::parse(&text).expect("a sound job");
            Planner::new(&book)
                .job(&job)
                .plan("plate.dxf", PLATE.as_bytes())
                .expect("can be cut")
        };
        let (usual, steady) = (planned(""), planned("room_swing_k = 1"));
        let ratio = book.room.room_swing_k.value();
        assert!(ratio > 1.0, "{ratio}");
        assert!(
            (moved_um(&usual) / moved_um(&steady) / ratio - 1.0).abs() < 1e-9,
            "{what}"
        );
        let errors = [&usual, &steady].map(|plan| {
            let rows = plan.alternatives().expect("known words").candidates;
            let own = rows.into_iter().find(|row| row.chosen).expect("the plan's own");
            own.accuracy_um.expect("a budget")
        });
        assert!(errors[1] < errors[0], "{errors:?}, {what}");
    }
}

/// 25H7 is 0/+21 µm (ISO 286-2), mid-limit 5.25 µm a wall: with four passes of 0.25 mm wire the last path in a bore of
/// Ø25 is a circle of radius 12.5 − 0.130 + 0.00525.
#[test]
fn a_fit_is_cut_at_mid_limit_in_its_own_passes() {
    let plan = planned(&asked("Ra 3.0")).expect("can be cut");
    let die = plan
        .toolpaths
        .loops
        .iter()
        .filter(|path| path.polyline.bounds().width() < 30.0);
    let last = die.max_by_key(|path| path.pass).expect("the bore is cut");
    assert_eq!(last.pass.number(), 4);
    assert!((last.length_mm / std::f64::consts::TAU - 12.375_25).abs() < 1e-9);
    let mut passes: Vec<usize> = plan.groups.iter().map(|group| group.passes().len()).collect();
    passes.sort_unstable();
    assert_eq!(passes, [1, 4]);
    let tolerances: Vec<f64> = plan
        .groups
        .iter()
        .filter_map(|group| group.requirement.tolerance_mm())
        .collect();
    assert_eq!(tolerances, [0.021 / 4.0]);
}

#[test]
fn the_estimate_holds_every_part_of_the_job() {
    let plan = planned(&asked("Ra 3.0")).expect("can be cut");
    let estimate = &plan.estimate;
    let time = estimate.time.as_ref().expect("no path is refused");
    assert!(time.total_minutes.value.expected > estimate.cut.minutes.as_ref().expect("cut").value.expected);
    // The bore curves round the wire: its skims meet more than on a straight wall.
    assert!(
        time.piece
            .iter()
            .any(|term| term.minutes.name == "engagement of skims")
    );
    assert_eq!(plan.groups.len(), 2);
    assert!(estimate.costs.is_some() && estimate.confidence == Confidence::NotCalibrated);
    assert!(plan.candidates[0].chosen);
    assert!(
        plan.inspection
            .assumptions
            .iter()
            .any(|words| words.starts_with("chosen: brass wire"))
    );
    assert_eq!(plan.candidates[0].minutes, Some(time.total_minutes.value));
}

#[test]
fn where_nothing_reaches_the_nearest_is_planned_and_said() {
    let plan = planned(&asked("Ra 0.01")).expect("can be cut");
    assert!(!plan.candidates[0].chosen);
    assert!(
        plan.inspection
            .assumptions
            .iter()
            .any(|words| words.contains("no wire and number of passes in the shop data reaches"))
    );
    assert!(
        plan.inspection
            .assumptions
            .iter()
            .any(|words| words.contains("0.01 µm is called for"))
    );
}

#[test]
fn what_cannot_be_cut_is_refused() {
    let tapered = asked("Ra 3.0").taper_deg(1.0);
    assert!(
        matches!(planned(&tapered), Err(Error::Impossible { reasons }) if reasons[0].to_string().contains("taper"))
    );
    let thick = asked("Ra 3.0").thickness_mm(400.0);
    assert!(matches!(planned(&thick), Err(Error::Impossible { .. })));
    assert!(matches!(
        planned(&JobFile::new("magnesium", 20.0)),
        Err(Error::Pass(_))
    ));
    assert!(matches!(
        planned(&JobFile::new("tool-steel", f64::NAN)),
        Err(Error::Pass(_))
    ));
}

#[test]
fn what_nobody_waits_for_is_given_up() {
    let given_up = CancelToken::default();
    given_up.cancel();
    let book = Book::built_in().expect("sound");
    let job = asked("N6");
    let planner = Planner::new(&book).job(&job).cancel(&given_up);
    let ended = planner.plan("plate.dxf", PLATE.as_bytes());
    assert!(matches!(ended, Err(Error::Cancelled)));
}

/// A 20 × 14 opening whose corners are broken by 0.02 mm: each is two obtuse corners, of 135°, that any wire is expected to
/// come near; but the walls beside keep the wire out.
const BROKEN_CORNERS: &str = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
    0\nLWPOLYLINE\n8\nDIE\n90\n8\n70\n1\n10\n10.02\n20\n10\n10\n29.98\n20\n10\n10\n30\n20\n10.02\n\
    10\n30\n20\n23.98\n10\n29.98\n20\n24\n10\n10.02\n20\n24\n10\n10\n20\n23.98\n10\n10\n20\n10.02\n\
    0\nLWPOLYLINE\n8\nPART\n90\n4\n70\n1\n10\n0\n20\n0\n10\n40\n20\n0\n10\n40\n20\n34\n10\n0\n20\n34\n\
    0\nENDSEC\n0\nEOF\n";

fn plan_within(tolerance: &str, inside_radius_mm: Option<f64>) -> Plan {
    within_by(tolerance, inside_radius_mm, None)
}

fn within_by(tolerance: &str, inside_radius_mm: Option<f64>, wire_mm: Option<f64>) -> Plan {
    let book = Book::built_in().expect("sound");
    let mut job = JobFile::new("tool-steel", 20.0).tolerance(tolerance);
    (job.inside_radius_mm, job.wire_mm) = (inside_radius_mm, wire_mm);
    let plan = Planner::new(&book)
        .job(&job)
        .plan("broken.dxf", BROKEN_CORNERS.as_bytes());
    plan.expect("can be cut")
}

/// Closed form: a wire at offset ρ between walls at 90°, which leaves the radius r = ρ after one pass, is ρ from the walls,
/// and √(ρ² + (ρ − 0.02)²) − ρ from a corner of the break: 66.5, 54.7, 42.7 and 30.5 µm for wires of 0.30 to 0.15 mm.
#[test]
fn a_choice_whose_real_paths_miss_gives_way_to_the_next() {
    let plan = plan_within("profile 0.07", None);
    let (taken, dropped) = (&plan.candidates[0], &plan.candidates[1]);
    let weighed = &plan.candidates;
    assert!(taken.chosen && taken.feasible, "{weighed:#?}");
    assert!(!dropped.chosen && !dropped.feasible, "{weighed:#?}");
    assert_eq!((taken.wire_mm, dropped.wire_mm), (0.15, 0.3));
    // Every thicker wire says why not, those that were not tried too.
    assert!(
        weighed
            .iter()
            .all(|other| other.wire_mm <= 0.15 || !other.feasible)
    );
    assert!(weighed.iter().any(|other| {
        other
            .reasons
            .iter()
            .any(|why| why.to_string().starts_with("no nearer than"))
    }));
    let reason = dropped.reasons.last().expect("why rejected");
    assert!(
        reason
            .to_string()
            .contains("its real path leaves the wall 66.5 µm off"),
        "{reason}"
    );
    let tolerance_mm = 0.035;
    assert!(
        plan.toolpaths
            .unreached
            .iter()
            .all(|place| place.deviation_mm <= tolerance_mm)
    );
    let said = &plan.inspection.assumptions;
    assert!(
        said.iter()
            .any(|words| words.starts_with("tried before: diffusion-annealed wire of 0.3 mm")),
        "{said:?}"
    );

    // Where every candidate that is tried misses, the one that was expected to be best is planned, and says so.
    let plan = plan_within("profile 0.03", None);
    assert!(!plan.reaches_demand());
    assert!(
        plan.candidates[0]
            .reasons
            .iter()
            .any(|reason| reason.to_string().contains("real path")),
        "{:?}",
        plan.candidates[0]
    );
}

/// Where no other wire is open, the same wire takes a pass more: 66.5 µm off after one pass, less after two, whose last
/// offset is smaller; 65 µm are asked.
#[test]
fn a_wire_whose_real_path_misses_takes_a_pass_more() {
    let plan = within_by("profile 0.13", None, Some(0.3));
    let (taken, dropped) = (&plan.candidates[0], &plan.candidates[1]);
    assert!(taken.feasible && taken.chosen && !dropped.feasible, "{taken:?}");
    assert_eq!((taken.wire_mm, taken.passes, dropped.passes), (0.3, 2, 1));
    assert!(
        plan.toolpaths
            .unreached
            .iter()
            .all(|place| place.deviation_mm <= 0.065)
    );
}

/// A print that allows an inside radius allows the corner that the wire leaves.
#[test]
fn an_inside_radius_that_is_allowed_may_be_left() {
    let plan = plan_within("profile 0.07", Some(0.2));
    assert!(plan.reaches_demand());
    assert_eq!(plan.candidates[0].wire_mm, 0.3);
    assert!(
        plan.toolpaths
            .unreached
            .iter()
            .any(|place| place.deviation_mm > 0.035)
    );
    let names = plan
        .inspection
        .findings
        .iter()
        .map(|finding| (finding.name, finding.severity));
    assert!(
        names
            .clone()
            .all(|(_, severity)| severity != crate::finding::Severity::Error),
        "{:?}",
        names.collect::<Vec<_>>()
    );
}

/// EN ISO 4957 calls AISI D2 1.2379 (from memory). Passes given or chosen, a name that is not the book's own is told with what it
/// stands for.
#[test]
fn a_material_by_another_name_is_told_with_what_it_is_cut_as() {
    let book = Book::built_in().expect("sound");
    for what in ["passes = 3\nwire_mm = 0.25", "finish = \"Ra 1.6\""] {
        let told = |material: &str| {
            let job = format!("material = \"{material}\"\nthickness_mm = 20\n{what}");
            let job = JobFile::parse(&job).expect("a sound job");
            let plan = Planner::new(&book)
                .job(&job)
                .plan("plate.dxf", PLATE.as_bytes())
                .expect("a sound drawing");
            let about = |words: &&Message| words.starts_with("material ");
            let told: Vec<Message> = plan
                .inspection
                .assumptions
                .iter()
                .filter(about)
                .cloned()
                .collect();
            told
        };
        let right = "material 1.2379 (EN ISO 4957) is cut as tool-steel: hardened alloy tool steel";
        assert_eq!(told("1.2379"), [right]);
        assert_eq!(
            told("steel"),
            ["material steel is cut as tool-steel: hardened alloy tool steel"]
        );
        assert_eq!(told("tool-steel"), [""; 0]);
    }
}
