use super::{CutGroup, PassLength, cut};
use crate::id::{GroupId, PassNo};
use crate::pass::{PassRequest, Schedule, passes, schedule};
use crate::shop::Book;
use crate::units::{Band, MM_PER_INCH};

fn book() -> Book {
    Book::built_in().expect("the built-in book is sound")
}

fn planned(book: &Book, passes: usize) -> Schedule {
    schedule(book, &PassRequest::new("tool-steel", 30.0, 0.25, passes)).expect("an ask that the book serves")
}

fn group(schedule: &Schedule) -> [CutGroup<'_>; 1] {
    [CutGroup {
        group: GroupId::FIRST,
        schedule,
        size_mm: 20.0,
        skimmed: true,
    }]
}

fn lengths(mm: &[f64]) -> Vec<PassLength> {
    let length = |(pass, mm): (PassNo, &f64)| PassLength {
        group: GroupId::FIRST,
        pass,
        path_length_mm: Some(*mm),
    };
    PassNo::numbered(mm).map(length).collect()
}

#[test]
fn minutes_are_length_times_thickness_over_rate() {
    let book = book();
    let schedule = planned(&book, 4);
    let cut = cut(30.0, &group(&schedule), &lengths(&[121.2, 121.0, 120.9, 120.8]));
    for (row, pass) in cut.rows.iter().zip(&schedule.passes) {
        let length_mm = row.path_length_mm.expect("given");
        let minutes = row.minutes.expect("has a length");
        assert_eq!(
            minutes.expected,
            length_mm * 30.0 / pass.area_rate_mm2_min.expected
        );
        assert_eq!(minutes.low, length_mm * 30.0 / pass.area_rate_mm2_min.high);
        assert_eq!(row.cut_area_mm2, Some(length_mm * 30.0));
    }
    let sum: f64 = cut
        .rows
        .iter()
        .filter_map(|row| row.minutes)
        .map(|band| band.expected)
        .sum();
    assert_eq!(cut.minutes.expect("all lengths are given").value.expected, sum);
    assert_eq!(cut.rough_area_mm2, Some(121.2 * 30.0));
}

#[test]
fn a_refused_path_leaves_the_totals_empty() {
    let book = book();
    let schedule = planned(&book, 2);
    let mut lengths = lengths(&[100.0, 100.0]);
    lengths[1].path_length_mm = None;
    let refused = cut(30.0, &group(&schedule), &lengths);
    assert_eq!(refused.rough_area_mm2, Some(3000.0));
    assert_eq!(refused.pass_area_mm2, None);
    assert!(refused.minutes.is_none());
    let absent = cut(30.0, &group(&schedule), &lengths[..1]);
    assert!(absent.minutes.is_none());
}

#[test]
fn every_figure_names_figures_that_exist_or_sources() {
    let book = book();
    let schedule = planned(&book, 3);
    let cut = cut(30.0, &group(&schedule), &lengths(&[100.0, 99.0, 98.0]));
    assert_eq!(cut.figures.len(), 3 + 2 + 1);
    for figure in &cut.figures {
        assert!(!figure.terms.is_empty() && !figure.formula.is_empty());
        assert!(figure.value.low <= figure.value.expected && figure.value.expected <= figure.value.high);
        assert!(
            figure.terms.iter().all(|term| !term.source.is_empty()),
            "{}",
            figure.name
        );
    }
}

/// Groover, Fundamentals of Modern Manufacturing, problems on wire EDM (from memory, not verified): feed is removal
/// rate / (height · kerf). C1080 7 mm thick, Ø0.125 wire, overcut 0.02: kerf 0.165 mm, 49.4 mm³/min give 42.8 mm/min;
/// aluminium 0.75 in, kerf 0.007 in, 0.005685 in³/min give 1.083 in/min.
#[test]
fn feed_is_removal_rate_over_height_and_kerf() {
    let cubic_inch = MM_PER_INCH.powi(3);
    let cases = [
        ("mild-steel", 7.0, 0.165, 49.4, 42.8, 0.05),
        (
            "aluminium-6061",
            0.75 * MM_PER_INCH,
            0.007 * MM_PER_INCH,
            0.005_685 * cubic_inch,
            1.083 * MM_PER_INCH,
            0.01,
        ),
    ];
    for (material, thickness_mm, kerf_mm, removal_mm3_min, feed_mm_min, slack) in cases {
        let (gap_um, wire_mm) = (20.0, kerf_mm - 0.040);
        let own = format!(
            "[wire-size.\"{wire_mm}\"]\nthickest_mm = 100\n[wire-kind.brass]\nsizes_mm = [{wire_mm}, 0.25]\n\
             [recipe.a]\nmaterials = [\"{material}\"]\nwire_mm = {wire_mm}\nrates_at_mm = {thickness_mm}\n\
             pass = [{{ rate_mm2_min = {}, spark_gap_um = {gap_um} }}]\n",
            removal_mm3_min / kerf_mm
        );
        let book = Book::layered(&own).expect("sound");
        let pass = &passes(&book, &PassRequest::new(material, thickness_mm, wire_mm, 1)).expect("served")[0];
        assert!((2.0 * pass.offset_mm - kerf_mm).abs() < 1e-9);
        assert!(
            (pass.feed_mm_min.expected - feed_mm_min).abs() < slack,
            "{:?}",
            pass.feed_mm_min
        );
    }
}

/// Kalpakjian & Schmid, Manufacturing Engineering and Technology, ch. 27 (from memory, not verified):
/// 18 000 mm²/h in tool steel 50 mm thick is 6 mm/min, 45 000 mm²/h in aluminium 150 mm thick is 5 mm/min.
#[test]
fn two_textbook_rates_lie_inside_the_bands() {
    let book = book();
    let cases = [
        ("tool-steel", 18_000.0, 50.0, 6.0),
        ("aluminium-6061", 45_000.0, 150.0, 5.0),
    ];
    for (material, mm2_per_hour, thickness_mm, feed_mm_min) in cases {
        let rate = mm2_per_hour / 60.0;
        assert_eq!(Band::exact(rate).scaled(1.0 / thickness_mm).expected, feed_mm_min);
        let rough = passes(&book, &PassRequest::new(material, thickness_mm, 0.25, 2)).expect("served")[0]
            .area_rate_mm2_min;
        assert!(rough.low < rate && rate < rough.high, "{rate} against {rough:?}");
    }
}

/// 150 mm²/min is 13.95 in²/h (1 in = 25.4 mm, exact); from memory, not verified in a document.
#[test]
fn area_rate_in_square_inches_an_hour() {
    let in2_per_hour = 150.0 * 60.0 / (MM_PER_INCH * MM_PER_INCH);
    assert!((in2_per_hour - 13.95).abs() < 5e-3);
}
