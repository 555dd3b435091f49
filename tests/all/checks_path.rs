//! Every check of the paths: silent on a drawing without its flaw, and speaking up with a place and a measure on a
//! drawing with it. Four passes of a 0.25 mm wire through 60 mm of tool steel, as the built-in book has them.

use kerfwright::check::{self, Check, Stage};
use kerfwright::finding::{Finding, Severity};
use kerfwright::job::JobFile;
use kerfwright::plan::Planner;

use crate::common::{book, fixture_bytes};
use crate::messages::assert_keeps_quantities;

fn findings(name: &str, kind: &str) -> Vec<Finding> {
    let drawing = format!("checks/{name}-{kind}");
    match (name, kind) {
        ("gaps-from-steel", "fires") => findings_of(&drawing, name, "tungsten-carbide", 60.0, ""),
        ("skim-rates-guessed", "fires") => findings_of(&drawing, name, "pcd", 60.0, ""),
        ("thickness-beyond-book", "fires") => findings_in(&drawing, name, 300.0),
        ("one-sided-limits", _) => findings_of(&drawing, name, "tool-steel", 60.0, "tolerance = \"h6\"\n"),
        _ => findings_in(&drawing, name, 60.0),
    }
}

/// The findings called `name` in a drawing, cut from a plate of tool steel of that thickness.
fn findings_in(drawing: &str, name: &str, thickness_mm: f64) -> Vec<Finding> {
    findings_of(drawing, name, "tool-steel", thickness_mm, "")
}

/// The findings called `name` in a drawing, cut from a plate of that material and thickness, with what `more` asks for.
fn findings_of(drawing: &str, name: &str, material: &str, thickness_mm: f64, more: &str) -> Vec<Finding> {
    let path = format!("{drawing}.dxf");
    let bytes = fixture_bytes(&path);
    // What a drawing says of a blank counts; every blank is clamped at its left.
    let mut job = JobFile::parse(&format!(
        "material = \"{material}\"\nthickness_mm = {thickness_mm}\nwire_mm = 0.25\npasses = 4\nclamp = \"left\"\nassume_sides = true\n{more}\
         [layer.BLANK]\nuse = \"blank\"\n[layer.START]\nuse = \"start-hole\"\n\
         [layer.LOOSE]\ntab = \"none\"\n[layer.SLIT]\nuse = \"slit\"\n[layer.TRIM]\nuse = \"trim\"\n[layer.THERE]\nuse = \"existing\"\n\
         [layer.NARROW]\nuse = \"slit\"\nwidth_mm = 0.3\n[layer.SLOT]\nuse = \"slit\"\nwidth_mm = 0.4\n"
    ))
    .expect("a sound job");
    job.may_miss = job.names();
    let plan = Planner::new(book())
        .job(&job)
        .plan(name, &bytes)
        .unwrap_or_else(|error| panic!("{path}: {error}"));
    assert_keeps_quantities(&plan.inspection);
    plan.inspection
        .findings
        .into_iter()
        .filter(|finding| finding.name == name)
        .collect()
}

fn messages(name: &str) -> Vec<String> {
    findings(name, "fires")
        .into_iter()
        .map(|finding| finding.message.to_string())
        .collect()
}

#[test]
fn every_check_of_the_paths_fires_and_keeps_silent() {
    let of_paths: Vec<&&Check> = check::ALL
        .iter()
        .filter(|check| check.stage == Stage::Path)
        .collect();
    assert!(of_paths.len() >= 7);
    for check in of_paths {
        assert_eq!(
            findings(check.name, "clean"),
            [],
            "{} on a clean drawing",
            check.name
        );
        let fired = findings(check.name, "fires");
        assert!(!fired.is_empty(), "{} keeps silent", check.name);
        for finding in fired {
            assert!(
                finding.severity >= check.severity,
                "{} is worse than it says",
                check.name
            );
            assert!(
                finding.at.is_some() && finding.contour.is_some(),
                "{}: no place",
                finding.message
            );
            assert!(
                !finding.message.ends_with('.') && !finding.remedy.is_empty(),
                "{}",
                finding.message
            );
        }
    }
}

#[test]
fn the_measures_are_those_of_the_geometry() {
    // 0.414 of the last offset, (1 − π/4)·0.130²; no tolerance is asked, so it is a note.
    let corners = findings("unreached-beyond-tolerance", "fires");
    assert_eq!(corners.len(), 4);
    assert_eq!(corners[0].severity, Severity::Note);
    assert_eq!(
        corners[0].message,
        "the wire does not reach into this inside corner: the wall stays up to 53.8 µm off the drawing (0.0036 mm² left)"
    );
    // An inside radius of 0.160 under a rough offset of 0.197.
    assert_eq!(
        messages("skim-overload")[0],
        "skim 1 (pass 2) takes 35.3 µm of stock here; planned 20.0 µm, limit 30.0 µm"
    );
    assert_eq!(
        messages("path-splits"),
        [
            "the path falls apart into 2 loops in passes 1, 2, 3, 4: a neck is 200.0 µm wide, the wire needs 394.0 µm"
        ]
    );
    // Two plates 0.2 apart; the rough runs at 0.197 and reaches 0.165 farther.
    assert_eq!(
        messages("wire-hits-neighbour"),
        [
            "pass 1 round contour 1 cuts 162.0 µm across contour 2",
            "pass 1 round contour 2 cuts 162.0 µm across contour 1"
        ]
    );
    assert!(messages("slot-vanishes")[0].contains("200.0 µm wide at most, the wire needs 394.0 µm"));
    assert!(messages("wall-cut-through")[0].contains("between contours 2 and 3"));
    // Ø4 less twice 0.197 + 0.165: π/4 · 3.276² · 60 · 7.7 mg. The part reaches from x 30 to 65 on a blank of 60.
    assert!(messages("slug-may-jam")[0].contains("3.276 mm across (limit 6 mm) and weighs 3.89 g"));
    // The rough runs at 0.197 and reaches 0.165: 32 µm are left for the skims.
    assert_eq!(
        messages("skims-on-loose-part"),
        [
            "without a tab the part is loose when its rough cut closes: its 3 skims are not run, and 32.0 µm of stock stay on \
             its wall"
        ]
    );
    assert_eq!(
        messages("reaches-out-of-blank"),
        ["the contour reaches 5.000 mm out of the blank"]
    );
    // The part ends 2 mm from the edge; the kerf reaches 0.197 + 0.165 farther.
    assert_eq!(
        messages("thin-blank-edge"),
        ["only 1.638 mm of the blank are left between the kerf and its edge (limit 3 mm)"]
    );
    // The part begins at 8, the clamps reach to 10.
    assert_eq!(
        messages("wire-hits-clamp"),
        ["the kerf runs 2.362 mm under the clamps, which reach 10 mm in from the left"]
    );
    // (80² + 5²) / (80 · 5).
    assert_eq!(
        messages("may-move-when-cut"),
        ["a slender part: its diagonal squared is 16.1 times its area (limit 12.0)"]
    );
    assert!(messages("path-refused")[0].contains("the contour crosses itself"));
    // 0.3 from the wall; half of 1, 0.005 of 60 and the book's 0.2 are needed.
    assert_eq!(
        messages("start-hole-cuts-wall"),
        [
            "the start hole of 1.000 mm overlaps the wall: its middle is 0.300 mm from it (needed 1.000 mm, with 0.300 mm of drift)"
        ]
    );
    assert_eq!(
        messages("start-hole-wider-than-slot"),
        [
            "a start hole of 1.000 mm asks for a width of 2.000 mm; the opening is 0.900 mm wide at its roomiest place"
        ]
    );
    // 0.25 of wire, 0.3 to thread, 0.3 of drift.
    assert_eq!(
        messages("start-hole-too-thin"),
        ["the start hole is 0.500 mm across; the wire threads from 0.850 mm, with 0.300 mm of drift"]
    );
    assert_eq!(
        messages("start-hole-misplaced"),
        ["the start hole at (33.000, 15.000) lies in material that contour 1 keeps"]
    );
    // The rough runs at 0.197, the hole is 0.1 from the wall.
    assert_eq!(
        messages("lead-cuts-wall")[0],
        "pass 1: the way from the start onto the path comes 0.097 mm nearer to a wall than the path may"
    );
}

#[test]
fn open_cuts_say_what_they_open_and_why_they_have_no_path() {
    // From the wall of a bore of Ø12 at x 20 to the edge at x 40.
    assert_eq!(
        messages("slit-may-spring"),
        ["the part may spring when 20.000 mm of it are slit: its other contours come before"]
    );
    // Beyond the edge of a slot of 0.8 mm the wire asks for 0.665 mm and half a kerf of 0.165 mm.
    assert_eq!(
        messages("run-out-cuts-wall"),
        ["pass 1 has no path: on its way out of the material the wire would cut into contour 3"]
    );
    assert_eq!(
        messages("ends-in-material"),
        ["pass 1 has no path: the trim ends in the material"]
    );
    assert!(messages("parts-nothing")[0].contains("nothing drops"));
    // Half a kerf of 0.165 mm on each side of a web of 0.6 mm; the wall of a keyway 0.2 mm beside a hole of Ø4.
    let webs = messages("thin-web");
    assert_eq!(webs.len(), 2);
    assert!(
        webs[0].starts_with("a web of 0.2000 mm stays between contours 3 and 6"),
        "{webs:?}"
    );
    assert!(
        webs[1].starts_with("a web of 0.2700 mm stays between contours 4 and 5"),
        "{webs:?}"
    );
    // Twice the offset of the rough cut of four passes, 0.197 mm.
    assert_eq!(
        messages("slit-narrower-than-kerf"),
        ["pass 1 has no path: the slit is 0.300 mm wide, and its passes need 0.394 mm"]
    );
}

#[test]
fn a_corner_beside_an_arc_is_no_slot() {
    // Tooth roots and the corners of crossings: a straight flank meets an arc round the centre at an angle.
    for drawing in ["clock/escape-wheel", "shapes/gear-24"] {
        assert_eq!(findings_in(drawing, "slot-vanishes", 6.0), [], "{drawing}");
        let left = findings_in(drawing, "unreached-beyond-tolerance", 6.0);
        assert!(!left.is_empty(), "{drawing}: its corners keep material");
    }
}

/// The toolmaker looks for the place in the drawing: layer, line and handle of the wall stand beside it.
#[test]
fn what_is_found_at_a_wall_names_the_entity_that_draws_it() {
    for name in [
        "unreached-beyond-tolerance",
        "slot-vanishes",
        "wire-hits-neighbour",
        "skim-overload",
        "path-refused",
    ] {
        for finding in findings(name, "fires") {
            // Not all of these drawings have handles.
            assert!(
                finding.layer.is_some() && finding.line.is_some(),
                "{name}: {finding:?}"
            );
        }
    }
}

/// The spark gaps are told with what they open, in the words of the machine; each figure by hand from the book: 5 µm × / ÷ the
/// band of gap and factor, joined by squares of their logarithms.
#[test]
fn what_was_made_for_other_work_is_told_with_its_band() {
    let told = messages("gaps-from-steel");
    let right = "gaps are those of steel; in tungsten carbide, 94WC-6Co 0.60 to 1.10 of them: last offset 127.4 to 132.1 µm";
    assert_eq!(told, [right]);
    let told = messages("skim-rates-guessed");
    assert!(
        told[0].contains("0.08 of those of steel, 0.03 to 0.28"),
        "{told:?}"
    );
    let told = messages("thickness-beyond-book");
    assert!(
        told[0].starts_with("300 mm is above the 150 mm that rates are made for: rates and gaps maybe off by more, by 1.4 times"),
        "{told:?}"
    );
    let thin = findings_in("checks/gaps-from-steel-clean", "thickness-beyond-book", 1.0);
    let right = "1 mm is below the 5 mm that rates are made for: maybe faster by 2.2 times";
    assert!(thin[0].message.starts_with(right), "{thin:?}");
}

/// ISO 286-2: h6 from 18 to 30 mm is 0 to −13 µm. Mid-limit takes 3.25 µm off every wall: 30 mm and 40 mm come out 6.5 µm smaller, the
/// slot of 8 mm that runs in from the top 6.5 µm larger.
#[test]
fn one_sided_limits_say_what_they_do_to_outside_and_inside_sizes() {
    let told = findings("one-sided-limits", "fires");
    assert_eq!(told.len(), 1);
    assert_eq!(
        told[0].message,
        "limits -13 to +0 µm: outside sizes come out 6.50 µm smaller than drawn, the slot of 8.000 mm here 6.50 µm larger"
    );
    let at = told[0].at.expect("a place");
    assert!(
        (18.0..=30.0).contains(&at.y) && ((at.x - 16.0).abs() < 1e-9 || (at.x - 24.0).abs() < 1e-9),
        "{at:?}"
    );
    // Even limits aim at the drawn line; the other side of the drawing has a tongue.
    let even = |more| {
        findings_of(
            "checks/one-sided-limits-fires",
            "one-sided-limits",
            "tool-steel",
            60.0,
            more,
        )
    };
    assert_eq!(even("tolerance = \"0.01\"\n"), []);
    let opening = even("tolerance = \"H6\"\n[layer.0]\nuse = \"opening\"\n");
    assert!(
        opening[0]
            .message
            .contains("inside sizes come out 6.50 µm larger than drawn, the tongue of 8.000 mm"),
        "{opening:?}"
    );
}

/// A stop that takes no time, in a book whose hours cost nothing: no ratio can be told, and none is; nothing is cleared away for it.
#[test]
fn a_slug_is_weighed_in_a_book_where_stops_take_no_time() {
    let own = "[money]\nmachine_per_hour = 0\nlabour_per_hour = 0\nfilters_and_resin_per_hour = 0\n\
               [time]\ntab_cut_off_min = 0\nslug_handling_min = 0\nthread_automatic_min = 0\n";
    let book = kerfwright::shop::Book::layered(own).expect("sound");
    let job = "material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 4\nassume_sides = true";
    let job = JobFile::parse(job).expect("a sound job");
    let bytes = fixture_bytes("checks/slug-may-jam-fires.dxf");
    let plan = Planner::new(&book)
        .job(&job)
        .plan("bore", &bytes)
        .expect("a sound drawing");
    let slugs = plan.inspection.findings.iter();
    let told: Vec<_> = slugs.filter(|finding| finding.name == "slug-may-jam").collect();
    let message = &told[0].message;
    assert!(
        message.contains("stop, since coreless would take ")
            && message.ends_with("where a stop takes no time"),
        "{message}"
    );
}
