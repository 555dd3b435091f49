use crate::estimate::{Accuracy, AccuracyInput, Verdict, accuracy, share_of_swing};
use crate::job::{OffsetBasis, Scope, Tolerance};
use crate::pass::{PassRequest, Schedule, schedule};
use crate::shop::Book;
use crate::units::{Band, Feature, Limits};

fn occasion(size_mm: f64, hours: f64) -> AccuracyInput {
    AccuracyInput {
        size_mm,
        pickup_mm: size_mm,
        hours,
        offset_basis: OffsetBasis::Gauged,
        room_swing_k: None,
    }
}

fn budget(book: &Book, request: &PassRequest, occasion: AccuracyInput) -> (Schedule, Accuracy) {
    let schedule = schedule(book, request).expect("served");
    let setting = request.setting(book).expect("served");
    let last = schedule.traces.last().expect("has passes");
    let accuracy = accuracy(book, setting, last, occasion);
    (schedule, accuracy)
}

fn alone(own: &str, material: &str, length_mm: f64, hours: f64) -> Accuracy {
    let still =
        "[machine.typical]\npositioning_um = 0\nrepeatability_um = 0\nscale_expansion_um_per_m_k = 0\n";
    let book = Book::layered(&format!("{still}{own}")).expect("sound");
    budget(
        &book,
        &PassRequest::new(material, 30.0, 0.25, 4),
        occasion(length_mm, hours),
    )
    .1
}

fn half_width_um(accuracy: &Accuracy, name: &str) -> f64 {
    let term = accuracy
        .terms
        .iter()
        .find(|term| term.half_width_um.name == name)
        .expect("a term of the budget");
    term.half_width_um.value.expected
}

/// Callister, Materials Science and Engineering, table B.6 (4140 12.3, 6061 23.6) and ASM (94WC-6Co 4.3, in
/// 10⁻⁶/K): ΔL = α·L·ΔT.
#[test]
fn heat_moves_lengths_as_the_handbooks_say() {
    let cases = [
        ("tool-steel", 100.0, 1.0, 1.23),
        ("aluminium-6061", 200.0, 3.0, 14.16),
        ("tungsten-carbide", 100.0, 2.0, 0.86),
    ];
    for (material, length_mm, kelvin, micrometres) in cases {
        let own = format!(
            "[room]\ndielectric_c = {}\ndielectric_band_k = {kelvin}\n[material.tool-steel]\nexpansion_um_per_m_k = 12.3\n",
            20.0 + kelvin
        );
        let accuracy = alone(&own, material, length_mm, 1.0);
        assert!(
            (half_width_um(&accuracy, "dielectric") - micrometres).abs() < 5e-3,
            "{material}"
        );
        // The part was warm and long when cut: at 20 °C it is too short by as much.
        assert!(
            (accuracy.bias_on_size_um.value.expected + micrometres).abs() < 5e-3,
            "{material}"
        );
    }
}

/// Common practice, no source: a 1 m workpiece over a 10 K day-to-night swing moves about 0.1 mm.
#[test]
fn a_metre_of_steel_over_a_day() {
    let own = "[room]\nroom_swing_k = 10\nshare_reaching_part = 1\n";
    let moved = half_width_um(
        &alone(own, "tool-steel", 1000.0, 12.0),
        "day/night swing of room temperature",
    );
    assert!((moved / 100.0 - 1.0).abs() < 0.25, "{moved}");
}

#[test]
fn a_longer_cut_sees_more_of_the_swing() {
    let shares: Vec<f64> = (0..=60)
        .map(|half_hours| share_of_swing(f64::from(half_hours) / 2.0))
        .collect();
    assert!(shares.windows(2).all(|pair| pair[1] >= pair[0]));
    assert_eq!((shares[0], shares[24], shares[60]), (0.0, 1.0, 1.0));
    assert!((share_of_swing(4.0) - 0.5).abs() < 1e-12);
    let book = Book::built_in().expect("sound");
    let expanded = |hours| {
        let request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
        budget(&book, &request, occasion(300.0, hours))
            .1
            .expanded_on_size_um
            .expected
    };
    assert!(expanded(1.0) < expanded(3.0) && expanded(3.0) < expanded(12.0));
}

/// JCGM 100: rectangular limits ± a have the standard uncertainty a/√3; uncorrelated ones join by squares; k = 2.
/// An error of 1 µm of the offset is 2 µm on the diameter.
#[test]
fn an_error_of_the_offset_counts_twice_on_a_size() {
    let own = "[room]\ndielectric_band_k = 0\nroom_swing_k = 0\ngauging_um = 1\n\
               [pass-table.4]\nform_error_um = 3\n";
    let accuracy = alone(own, "tool-steel", 25.0, 1.0);
    let side = 2.0 * f64::sqrt((1.0 + 9.0) / 3.0);
    assert!((accuracy.expanded_per_side_um.expected - side).abs() < 1e-12);
    assert!((accuracy.expanded_on_size_um.expected - 2.0 * side).abs() < 1e-12);
    assert_eq!(accuracy.terms[0].half_width_um.name, "form error");
    let term = |name: &str| {
        accuracy
            .terms
            .iter()
            .filter(|term| term.half_width_um.name.contains(name))
            .count()
    };
    // The belly of the wire is in the form error: no term of its own.
    assert_eq!((term("form error"), term("bow"), term("belly")), (1, 0, 0));
}

#[test]
fn an_offset_that_was_not_gauged_is_less_sure() {
    let book = Book::built_in().expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
    let mut modelled = occasion(25.0, 1.0);
    modelled.offset_basis = OffsetBasis::Modelled;
    let (_, gauged) = budget(&book, &request, occasion(25.0, 1.0));
    let (schedule, modelled) = budget(&book, &request, modelled);
    assert!(modelled.worst_on_size_um() > gauged.worst_on_size_um());
    assert!((gauged.worst_on_size_modelled_um() - modelled.worst_on_size_um()).abs() < 1e-12);
    // Half of its band.
    let offset = schedule.traces[3].offset.value;
    let half_um = (offset.high - offset.low) * 500.0;
    assert!((half_width_um(&modelled, "offset, as modelled") - half_um).abs() < 1e-9);
    for scope in [Scope::OnSize, Scope::PerSide] {
        let ranked = modelled.ranked(scope);
        let um: Vec<f64> = ranked
            .iter()
            .map(|term| term.standard_um(scope).expected)
            .collect();
        assert_eq!(um.len(), modelled.terms.len());
        assert!(um.is_sorted_by(|a, b| a >= b), "{um:?}");
    }
}

#[test]
fn screws_for_scales_add_their_warmth() {
    let book = Book::layered("[machine.typical]\ndrive = \"rotary-encoder\"\n").expect("sound");
    let (_, screws) = budget(
        &book,
        &PassRequest::new("tool-steel", 30.0, 0.25, 4),
        occasion(200.0, 1.0),
    );
    let built_in = Book::built_in().expect("sound");
    let (_, scales) = budget(
        &built_in,
        &PassRequest::new("tool-steel", 30.0, 0.25, 4),
        occasion(200.0, 1.0),
    );
    assert_eq!(screws.terms.len(), scales.terms.len() + 1);
    assert!(screws.worst_per_side_um() > scales.worst_per_side_um());
}

/// 25H7 is 0/+21 µm (ISO 286-2): mid-limit needs 5.25 µm a wall, and the wire's last path in a bore of Ø25 has a
/// radius of 12.5 − 0.130 + 0.00525 mm.
#[test]
fn a_bore_at_mid_limit() {
    let book = Book::built_in().expect("sound");
    let tolerance = Tolerance::parse("25H7").expect("a fit");
    let (limits, scope) = tolerance.limits(25.0).expect("in the table");
    let mut request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
    request.aim_mm = limits.aim_mm(Feature::Hole);
    let (schedule, accuracy) = budget(&book, &request, occasion(25.0, 2.0));
    let radius_mm = 12.5 - schedule.passes[3].offset_mm;
    assert!((radius_mm - 12.375_25).abs() < 1e-12, "{radius_mm}");
    assert_eq!(accuracy.against(limits, scope, 0.0), Verdict::ExpectedInside);
}

/// ISO 14253-1: inside only when the tolerance less the expanded uncertainty holds it, outside only beyond both.
#[test]
fn the_decision_keeps_clear_of_the_limits() {
    let book = Book::built_in().expect("sound");
    let (_, mut accuracy) = budget(
        &book,
        &PassRequest::new("tool-steel", 30.0, 0.25, 4),
        occasion(25.0, 1.0),
    );
    accuracy.expanded_on_size_um = Band::exact(4.0);
    accuracy.bias_on_size_um.value = Band::exact(-3.0);
    let verdict = |accuracy: &Accuracy, half_um: f64| {
        accuracy.against(Limits::from_um(-half_um, half_um), Scope::OnSize, 0.0)
    };
    assert_eq!(verdict(&accuracy, 7.0), Verdict::ExpectedInside);
    assert_eq!(verdict(&accuracy, 6.9), Verdict::Undecided);
    accuracy.bias_on_size_um.value = Band::exact(9.0);
    assert_eq!(verdict(&accuracy, 5.0), Verdict::Undecided);
    assert_eq!(verdict(&accuracy, 4.9), Verdict::ExpectedOutside);
    // A wall aimed 1 µm beside the middle is 2 µm on size.
    accuracy.bias_on_size_um.value = Band::exact(-3.0);
    let beside = |half_um: f64, off_mm: f64| {
        accuracy.against(Limits::from_um(-half_um, half_um), Scope::OnSize, off_mm)
    };
    assert_eq!(beside(9.0, 0.001), Verdict::ExpectedInside);
    assert_eq!(beside(8.9, -0.001), Verdict::Undecided);
    assert_eq!(beside(4.0, 0.006), Verdict::ExpectedOutside);
    // A shift of 3 may take 12 beside the middle back to 9: 5 with the uncertainty.
    assert_eq!(beside(5.0, 0.006), Verdict::Undecided);
}
