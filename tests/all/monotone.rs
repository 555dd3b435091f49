//! What more or less of something must do to a plan, whatever the job. `PROPTEST_CASES` sets how many.

use kerfwright::estimate::{AccuracyInput, AuxiliaryWork, OrderRequest, accuracy};
use kerfwright::id::GroupId;
use kerfwright::job::{Nozzles, OffsetBasis, Scope};
use kerfwright::pass::{PassRequest, passes, schedule};
use kerfwright::plan::{
    Blank, Candidate, DemandGroup, ParallelLength, SelectionInput, WallRequirement, WireAndMachine, evaluate,
    fewest_passes,
};
use kerfwright::units::Limits;
use proptest::prelude::*;

use crate::common::book;

/// What rounding may take of a time.
const ROUNDING: f64 = 1.0 - 1e-9;

/// Every wire of the book, on the default machine.
fn all_means() -> Vec<WireAndMachine> {
    let on_default = |wire: kerfwright::shop::Wire<'_>| WireAndMachine {
        wire_mm: wire.size.diameter_mm,
        wire_kind: wire.kind.name.clone(),
        machine: book().default_machine.clone(),
    };
    book().wires().map(on_default).collect()
}

/// A material and a wire of the book.
fn means() -> impl Strategy<Value = (&'static str, WireAndMachine)> {
    let materials: Vec<&str> = book().materials.keys().map(String::as_str).collect();
    (prop::sample::select(materials), prop::sample::select(all_means()))
}

fn nozzles() -> impl Strategy<Value = Nozzles> {
    prop::sample::select(vec![Nozzles::Sealed, Nozzles::OneOpen, Nozzles::BothOpen])
}

/// Thickness of the work, mm.
fn thickness() -> impl Strategy<Value = f64> + Clone {
    prop_oneof![0.5..12.0, 0.5..300.0_f64]
}

fn two(of: impl Strategy<Value = f64> + Clone) -> impl Strategy<Value = [f64; 2]> {
    (of.clone(), of).prop_map(|(a, b)| [a.min(b), a.max(b)])
}

fn ask(
    material: &str,
    means: &WireAndMachine,
    thickness_mm: f64,
    passes: usize,
    nozzles: Nozzles,
) -> PassRequest {
    PassRequest {
        wire_kind: Some(means.wire_kind.clone()),
        nozzles,
        ..PassRequest::new(material, thickness_mm, means.wire_mm, passes)
    }
}

/// A contour cut round the outside, as drawn.
fn outside(perimeter_mm: f64) -> ParallelLength {
    ParallelLength {
        length_mm: perimeter_mm,
        outsides: 1,
        ..ParallelLength::default()
    }
}

fn question(
    material: &'static str,
    thickness_mm: f64,
    perimeter_mm: f64,
    requirement: WallRequirement,
) -> SelectionInput<'static> {
    SelectionInput {
        book: book(),
        material,
        thickness_mm,
        nozzles: Nozzles::Sealed,
        blank: Blank::default(),
        demand_groups: vec![DemandGroup {
            roughed: outside(perimeter_mm),
            skimmed: outside(perimeter_mm),
            size_mm: 40.0,
            ..DemandGroup::new(GroupId::FIRST, requirement)
        }],
        work: AuxiliaryWork::default(),
        order: OrderRequest::default().of(1),
        pickup_mm: 60.0,
        offset_basis: OffsetBasis::Gauged,
        room_swing_k: None,
    }
}

fn minutes(candidate: &Candidate) -> Option<f64> {
    candidate.minutes.map(|band| band.expected)
}

/// The high end of the minutes a millimetre of path, and of a whole piece, for every material, wire and number of passes: from 0.5 to
/// 300 mm, finer round the thin limit of 5 mm. All wires and passes under `tests/long`, some of them else.
#[test]
fn the_high_end_of_time_never_falls_with_thickness() {
    let whole = std::env::var_os("KERFWRIGHT_WHOLE_SWEEP").is_some();
    let (every_wire, all_passes, steps) = if whole { (1, 1, 120) } else { (6, 3, 20) };
    let coarse = (0..=steps).map(|i| 0.5 * 600_f64.powf(f64::from(i) / f64::from(steps)));
    let fine = (0..=10).map(|i| 4.0 + 0.4 * f64::from(i));
    let mut heights: Vec<f64> = coarse.chain(fine).collect();
    heights.sort_by(f64::total_cmp);
    let wires: Vec<WireAndMachine> = all_means().into_iter().step_by(every_wire).collect();
    let mut compared = 0;
    for material in book().materials.keys() {
        for means in &wires {
            for n in (1..=8).step_by(all_passes) {
                let mut before: Vec<f64> = Vec::new();
                for &thickness_mm in &heights {
                    let Ok(passes) = passes(book(), &ask(material, means, thickness_mm, n, Nozzles::Sealed))
                    else {
                        break;
                    };
                    let piece = question(material, thickness_mm, 120.0, WallRequirement::default());
                    let piece = evaluate(&piece, means, &[n]).minutes.expect("it can be cut").high;
                    let per_mm = passes.iter().map(|pass| pass.feed_mm_min.low.recip());
                    let now: Vec<f64> = per_mm.chain([piece]).collect();
                    let falls = before
                        .iter()
                        .zip(&now)
                        .any(|(before, now)| *now < before * ROUNDING);
                    assert!(
                        !falls,
                        "{material}, {means:?}, {n} passes, {thickness_mm} mm: {before:?} then {now:?}"
                    );
                    before = now;
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 1500, "{compared}");
}

proptest! {
    #[test]
    fn thicker_work_never_takes_less_time(
        (material, means) in means(), heights in two(thickness()), n in 1_usize..=8, setting in nozzles(),
    ) {
        let per_mm = |thickness_mm: f64| {
            let passes = passes(book(), &ask(material, &means, thickness_mm, n, setting)).ok()?;
            Some(passes.iter().map(|pass| pass.feed_mm_min.expected.recip()).collect::<Vec<f64>>())
        };
        // Where the thicker one is beyond the wire there is no time to compare.
        if let Some(thick) = per_mm(heights[1]) {
            let thin = per_mm(heights[0]).expect("what cuts thick work cuts thin work");
            prop_assert!(thin.iter().zip(&thick).all(|(thin, thick)| *thick >= thin * ROUNDING));
        }
        let whole = |mm| minutes(&evaluate(&question(material, mm, 120.0, WallRequirement::default()), &means, &[n]));
        if let Some(thick) = whole(heights[1]) {
            prop_assert!(thick >= whole(heights[0]).expect("as above") * ROUNDING);
        }
    }

    #[test]
    fn a_longer_contour_never_takes_less_time(
        (material, means) in means(), mm in 0.5..40.0_f64, lengths in two(1.0..5000.0_f64), n in 1_usize..=8,
    ) {
        let [short, long] = lengths.map(|length| {
            minutes(&evaluate(&question(material, mm, length, WallRequirement::default()), &means, &[n])).expect("all wires cut it")
        });
        prop_assert!(long >= short * ROUNDING);
    }

    #[test]
    fn one_pass_more_never_takes_less_time((material, means) in means(), mm in thickness(), n in 1_usize..=7) {
        let of = |n| minutes(&evaluate(&question(material, mm, 120.0, WallRequirement::default()), &means, &[n]));
        if let Some(fewer) = of(n) {
            let more = of(n + 1).expect("passes do not change what a wire can cut");
            prop_assert!(more >= fewer * ROUNDING, "{fewer} and {more} min");
        }
    }

    #[test]
    fn nozzles_leave_skims_unchanged((material, means) in means(), mm in 0.5..40.0_f64, n in 2_usize..=8) {
        let of = |setting| passes(book(), &ask(material, &means, mm, n, setting)).expect("all wires cut it");
        let (sealed, one, both) = (of(Nozzles::Sealed), of(Nozzles::OneOpen), of(Nozzles::BothOpen));
        prop_assert_eq!(&sealed[1..], &one[1..]);
        prop_assert_eq!(&sealed[1..], &both[1..]);
        let rough = |passes: &[kerfwright::pass::Pass]| passes[0].area_rate_mm2_min.expected;
        prop_assert!(rough(&sealed) > rough(&one) && rough(&one) > rough(&both));
    }

    #[test]
    fn no_skim_feeds_faster_than_its_cap((material, means) in means(), mm in thickness(), setting in nozzles()) {
        let cap = book().rules.skim.fastest_feed_mm_min.band.scaled(ROUNDING.recip());
        if let Ok(passes) = passes(book(), &ask(material, &means, mm, 8, setting)) {
            for skim in &passes[1..] {
                let feed = skim.feed_mm_min;
                prop_assert!(feed.low <= cap.low && feed.expected <= cap.expected && feed.high <= cap.high);
                prop_assert!(feed.low <= feed.expected && feed.expected <= feed.high);
            }
        }
    }

    #[test]
    fn a_tighter_demand_never_takes_fewer_passes(
        (material, means) in means(), mm in 0.5..40.0_f64, finish in two(0.05..4.0_f64), half_um in two(3.0..80.0_f64),
    ) {
        let needed = |ra_um, half_um: f64| {
            let requirement = WallRequirement {
                ra_um: Some(ra_um),
                limits: Some((Limits::from_um(-half_um, half_um), Scope::PerSide)),
                ..WallRequirement::default()
            };
            fewest_passes(&question(material, mm, 120.0, requirement), &means).passes
        };
        let loose = needed(finish[1], half_um[1]);
        prop_assert!(needed(finish[0], half_um[1]) >= loose);
        prop_assert!(needed(finish[1], half_um[0]) >= loose);
        prop_assert!(needed(finish[0], half_um[0]) >= loose);
    }

    #[test]
    fn a_longer_cut_never_drifts_less((material, means) in means(), hours in two(0.0..60.0_f64), mm in 1.0..500.0_f64) {
        let ask = ask(material, &means, 20.0, 3, Nozzles::Sealed);
        let setting = ask.setting(book()).expect("all wires cut it");
        let schedule = schedule(book(), &ask).expect("all wires cut it");
        let last = schedule.traces.last().expect("three passes");
        let [short, long] = hours.map(|hours| {
            accuracy(book(), setting, last, AccuracyInput {
                size_mm: mm,
                pickup_mm: mm,
                hours,
                offset_basis: OffsetBasis::Gauged,
                room_swing_k: None,
            })
        });
        prop_assert!(long.expanded_on_size_um.expected >= short.expanded_on_size_um.expected);
        prop_assert!(long.expanded_per_side_um.expected >= short.expanded_per_side_um.expected);
    }
}
