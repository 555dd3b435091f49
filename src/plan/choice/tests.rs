use crate::estimate::{AuxiliaryWork, Order};
use crate::id::GroupId;
use crate::job::{Demand, Finish, Nozzles, OffsetBasis, Prefer, Scope, Tolerance};
use crate::plan::{
    Blank, Candidate, Constraints, DemandGroup, ParallelLength, SelectionInput, WallRequirement,
    WireAndMachine, choose, compare, evaluate, fewest_passes, with_default,
};
use crate::shop::Book;
use crate::units::{Feature, Limits};

/// A contour cut round the outside, as drawn.
fn outside(perimeter_mm: f64) -> ParallelLength {
    ParallelLength {
        length_mm: perimeter_mm,
        outsides: 1,
        ..ParallelLength::default()
    }
}

fn outline(group: GroupId, requirement: WallRequirement) -> DemandGroup {
    DemandGroup {
        roughed: outside(120.0),
        skimmed: outside(120.0),
        size_mm: 40.0,
        ..DemandGroup::new(group, requirement)
    }
}

fn input(book: &Book, demand_groups: Vec<DemandGroup>) -> SelectionInput<'_> {
    SelectionInput {
        book,
        material: "tool-steel",
        thickness_mm: 30.0,
        nozzles: Nozzles::Sealed,
        blank: Blank {
            extent_x_mm: 50.0,
            extent_y_mm: 30.0,
            mass_kg: Some(2.0),
            tapered: false,
        },
        demand_groups,
        work: AuxiliaryWork::default(),
        order: Order {
            quantity: 1,
            pieces_per_load: 1,
            drawn: 1,
        },
        pickup_mm: 45.0,
        offset_basis: OffsetBasis::Gauged,
        room_swing_k: None,
    }
}

fn finish(ra_um: f64) -> WallRequirement {
    WallRequirement {
        ra_um: Some(ra_um),
        ..WallRequirement::default()
    }
}

fn quarter() -> WireAndMachine {
    WireAndMachine {
        wire_mm: 0.25,
        wire_kind: "brass".to_owned(),
        machine: "typical".to_owned(),
    }
}

fn brass() -> Constraints {
    Constraints {
        wire_kind: Some("brass".to_owned()),
        ..Constraints::default()
    }
}

/// The one that would be computed first.
fn taken(candidates: &[Candidate]) -> &Candidate {
    let first = candidates.first().filter(|first| first.feasible);
    first.expect("one reaches what is asked")
}

/// Finish and tolerance decide the passes: by the pass table Ra 0.5 needs four passes, and ±10.5 µm on size, the
/// half-width of 25H7 (ISO 286-2), the same.
#[test]
fn the_fewest_passes_that_reach_what_is_asked() {
    let book = Book::built_in().expect("sound");
    let passes = |requirement: WallRequirement| {
        fewest_passes(
            &input(&book, vec![outline(GroupId::FIRST, requirement)]),
            &quarter(),
        )
    };
    for (ra_um, n) in [(3.0, 1), (1.6, 2), (0.9, 3), (0.5, 4), (0.4, 5), (0.1, 8)] {
        let candidate = passes(finish(ra_um));
        assert_eq!((candidate.passes, candidate.feasible), (n, true), "Ra {ra_um}");
    }
    let limits = Limits::from_um(0.0, 21.0);
    let bore = WallRequirement {
        limits: Some((limits, Scope::OnSize)),
        aim_mm: limits.aim_mm(Feature::Hole),
        ..WallRequirement::default()
    };
    assert_eq!(passes(bore).passes, 4);
}

/// A wall aimed at one limit instead of the middle has nothing left there for the uncertainty.
#[test]
fn an_aim_off_the_middle_counts_as_error() {
    let book = Book::built_in().expect("sound");
    let mut demand = Demand {
        tolerance: Some(Tolerance::parse("25H7").expect("a fit")),
        ..Demand::default()
    };
    let weighed = |demand: &Demand| {
        let requirement = WallRequirement::new(demand, Feature::Hole, 25.0).expect("in the table");
        evaluate(
            &input(&book, vec![outline(GroupId::FIRST, requirement)]),
            &quarter(),
            &[4],
        )
    };
    assert!(weighed(&demand).feasible);
    demand.clearance_mm = Some(0.02);
    assert!(
        weighed(&demand).feasible,
        "a clearance moves the size that is meant"
    );
    demand.clearance_mm = None;
    demand.aim_mm = Some(0.0);
    assert!(!weighed(&demand).feasible);
}

#[test]
fn a_tighter_demand_never_asks_for_fewer_passes() {
    let book = Book::built_in().expect("sound");
    let mut before = 0;
    for step in 0..120 {
        let ra_um = 4.0 * 0.97_f64.powi(step);
        let limits = Limits::from_um(-40.0 * 0.98_f64.powi(step), 40.0 * 0.98_f64.powi(step));
        let requirement = WallRequirement {
            ra_um: Some(ra_um),
            limits: Some((limits, Scope::OnSize)),
            ..WallRequirement::default()
        };
        let now = fewest_passes(
            &input(&book, vec![outline(GroupId::FIRST, requirement)]),
            &quarter(),
        )
        .passes;
        assert!(now >= before, "{ra_um}");
        before = now;
    }
    assert_eq!(before, 8);
}

#[test]
fn each_wall_of_a_job_gets_its_own_passes() {
    let book = Book::built_in().expect("sound");
    let outside = WallRequirement {
        passes: Some(1),
        ..WallRequirement::default()
    };
    let mut die = outline(GroupId::FIRST, finish(0.5));
    (die.roughed.outsides, die.roughed.openings) = (0, 1);
    die.skimmed = die.roughed;
    let candidates = choose(
        &input(&book, vec![die, outline(GroupId::nth(2), outside)]),
        &brass(),
        Prefer::Time,
    );
    assert_eq!(taken(&candidates).passes_by_group, [4, 1]);
}

#[test]
fn wires_that_do_not_fit_say_why() {
    let book = Book::built_in().expect("sound");
    let mut tight = outline(GroupId::FIRST, finish(1.6));
    tight.min_inside_radius_mm = Some(0.12);
    let candidates = choose(&input(&book, vec![tight.clone()]), &brass(), Prefer::Time);
    let best = taken(&candidates);
    assert!(best.wire_mm < 0.25 && best.min_inside_radius_mm.expect("cut") <= 0.12);
    let thick = candidates
        .iter()
        .find(|candidate| candidate.wire_mm == 0.25)
        .expect("weighed");
    assert!(
        !thick.feasible
            && thick
                .reasons
                .iter()
                .any(|reason| reason.to_string().contains("0.120 mm")),
        "{:?}",
        thick.reasons
    );

    tight.min_inside_radius_mm = None;
    tight.narrowest_slot_mm = Some(0.30);
    let slot = evaluate(&input(&book, vec![tight]), &quarter(), &[2]);
    assert!(slot.reasons[0].to_string().contains("slot"), "{:?}", slot.reasons);
}

#[test]
fn what_a_machine_cannot_hold_is_said() {
    let own = "[machine.small]\ntravel_x_mm = 40\ntravel_y_mm = 20\nheight_mm = 20\ntable_load_kg = 1\nthinnest_wire_mm = 0.28\n\
               most_passes = 1\n";
    let book = Book::layered(own).expect("sound");
    let mut input = input(&book, vec![outline(GroupId::FIRST, finish(1.6))]);
    input.blank.tapered = true;
    let small = WireAndMachine {
        machine: "small".to_owned(),
        ..quarter()
    };
    let reasons = evaluate(&input, &small, &[2]).reasons;
    for word in [
        "spans 50.000 mm along x, machine small travels 40 mm",
        "spans 30.000 mm along y, machine small travels 20 mm",
        "30 mm thick, machine small takes 20 mm",
        "weighs about 2.0 kg, machine small carries 1 kg",
        "0.25 mm wire is wanted, machine small runs 0.28 to 0.3 mm",
        "2 passes are wanted, machine small has settings for 1",
        "taper",
    ] {
        assert!(
            reasons.iter().any(|reason| reason.to_string().contains(word)),
            "{word}: {reasons:?}"
        );
    }
}

#[test]
fn where_nothing_reaches_the_nearest_comes_first() {
    let book = Book::built_in().expect("sound");
    let candidates = choose(
        &input(&book, vec![outline(GroupId::FIRST, finish(0.05))]),
        &brass(),
        Prefer::Time,
    );
    assert!(candidates.iter().all(|candidate| !candidate.feasible));
    assert_eq!(candidates[0].passes, 8);
    assert!(
        candidates[0].reasons[0]
            .to_string()
            .contains("0.05 µm is called for")
    );
    assert!(
        candidates
            .windows(2)
            .all(|pair| pair[0].shortfall <= pair[1].shortfall)
    );
}

#[test]
fn what_is_preferred_decides() {
    let book = Book::built_in().expect("sound");
    let input = input(&book, vec![outline(GroupId::FIRST, finish(1.6))]);
    let by = |prefer| taken(&choose(&input, &Constraints::default(), prefer)).clone();
    let (time, cost, fine, exact) = (
        by(Prefer::Time),
        by(Prefer::Cost),
        by(Prefer::Finish),
        by(Prefer::Accuracy),
    );
    let minutes = |candidate: &Candidate| candidate.totals.expect("weighed").order_minutes.expected;
    let money = |candidate: &Candidate| candidate.totals.expect("weighed").cost_order.expected;
    assert_eq!(time.passes, 2);
    assert!(minutes(&time) <= minutes(&cost) && money(&cost) <= money(&time));
    assert_eq!(fine.passes, 8);
    assert!(exact.accuracy_um <= fine.accuracy_um && exact.accuracy_um < time.accuracy_um);
}

#[test]
fn the_non_dominated_are_better_in_something() {
    let book = Book::built_in().expect("sound");
    let mut all = compare(
        &input(&book, vec![outline(GroupId::FIRST, WallRequirement::default())]),
        &Constraints::default(),
    );
    super::mark_non_dominated(&mut all, |_| true);
    assert_eq!(all.len(), book.wires().count() * 8);
    let best = |score: fn(&Candidate) -> f64| {
        all.iter()
            .filter(|c| c.possible)
            .min_by(|a, b| score(a).total_cmp(&score(b)))
            .expect("some are possible")
    };
    assert!(best(|c| c.minutes.map_or(f64::MAX, |band| band.expected)).non_dominated);
    let kept: Vec<&Candidate> = all.iter().filter(|candidate| candidate.non_dominated).collect();
    assert!(kept.len() > 1 && kept.len() < all.len());
    assert!(kept.iter().all(|candidate| candidate.possible));
}

/// Steiner's formula: the last path round a 40 × 20 rectangle is 120 + 2π·0.130 mm long.
#[test]
fn time_is_weighed_from_the_perimeter() {
    let book = Book::built_in().expect("sound");
    let input = input(&book, vec![outline(GroupId::FIRST, WallRequirement::default())]);
    let one = evaluate(&input, &quarter(), &[1])
        .minutes
        .expect("weighed")
        .expected;
    let setup = book.times.setup_min.value();
    let length_mm = 120.0 + std::f64::consts::TAU * 0.165;
    let rate = crate::pass::passes(&book, &crate::pass::PassRequest::new("tool-steel", 30.0, 0.25, 1))
        .expect("served")[0]
        .area_rate_mm2_min
        .expected;
    let cutting = length_mm * 30.0 / rate;
    let breaks = cutting / 60.0 * book.times.wire_break_min_per_hour.value();
    assert!((one - setup - cutting - breaks).abs() < 1e-9, "{one}");
}

#[test]
fn with_nothing_asked_the_usual_demand_is_said() {
    let book = Book::built_in().expect("sound");
    let (demand, words) = with_default(&Demand::default(), &book).expect("sound");
    assert_eq!(demand.finish, Some(Finish::parse("Ra 1.6").expect("a finish")));
    assert!(words.expect("assumed").contains("default requirement"));
    let requirement = Demand {
        tolerance: Some(Tolerance::parse("25g6").expect("a fit")),
        clearance_mm: Some(0.01),
        ..Demand::default()
    };
    let (demand, words) = with_default(&requirement, &book).expect("sound");
    assert_eq!((demand.finish.clone(), words), (None, None));
    let requirement = WallRequirement::new(&demand, Feature::Shaft, 25.0).expect("in the table");
    assert!((requirement.aim_mm - 0.016_75).abs() < 1e-12);
}

/// Closed form: walls at 90° around a wire at offset ρ that leaves the radius r stay ρ·√2 − r off the apex.
#[test]
fn inside_corners_are_held_against_the_tolerance() {
    let book = Book::built_in().expect("sound");
    let within = |tolerance_um: f64| WallRequirement {
        limits: Some((Limits::from_um(-tolerance_um, tolerance_um), Scope::PerSide)),
        ..WallRequirement::default()
    };
    let cornered = |requirement: WallRequirement| DemandGroup {
        sharpest_inside_corner_rad: Some(std::f64::consts::FRAC_PI_2),
        ..outline(GroupId::FIRST, requirement)
    };
    let candidate = evaluate(&input(&book, vec![cornered(within(60.0))]), &quarter(), &[4]);
    let closed_um = 130.0 * 2f64.sqrt() - 130.0;
    assert!((candidate.unreached_um.expect("a corner") - closed_um).abs() < 1e-9);
    assert!(candidate.feasible, "{:?}", candidate.reasons);

    // 0.25 mm wire stays 53.8 µm off; a thinner one stays within 45 µm.
    let tight = input(&book, vec![cornered(within(45.0))]);
    let candidate = evaluate(&tight, &quarter(), &[4]);
    assert!(candidate.possible && !candidate.feasible);
    assert!(
        candidate.reasons[0]
            .to_string()
            .starts_with("a sharp inside corner would stay 53.8 µm off"),
        "{:?}",
        candidate.reasons
    );
    let candidates = choose(&tight, &brass(), Prefer::Time);
    assert!(taken(&candidates).wire_mm < 0.25);

    // In a cusp there is no angle to reckon with: said in words, and no number made up.
    let cusp = |requirement: WallRequirement| DemandGroup {
        sharpest_inside_corner_rad: Some(0.0),
        ..outline(GroupId::FIRST, requirement)
    };
    let candidate = evaluate(&input(&book, vec![cusp(within(45.0))]), &quarter(), &[4]);
    assert!(candidate.possible && !candidate.feasible);
    assert_eq!(candidate.unreached_um, None);
    let reasons: Vec<String> = candidate.reasons.iter().map(ToString::to_string).collect();
    assert_eq!(
        reasons,
        [
            "two walls run together in a cusp, which no wire reaches to its tip, ±45.0 µm a side is called for: allow a radius \
             there or draw a relief"
        ]
    );

    // No wire stays within 12 µm: the corner does not drive the choice to the thinnest, slowest wire.
    let hopeless = choose(
        &input(&book, vec![cornered(within(12.0))]),
        &brass(),
        Prefer::Time,
    );
    let smooth = choose(
        &input(&book, vec![outline(GroupId::FIRST, within(12.0))]),
        &brass(),
        Prefer::Time,
    );
    assert!(!hopeless[0].feasible && smooth[0].feasible);
    assert_eq!(
        (hopeless[0].wire_mm, hopeless[0].passes),
        (smooth[0].wire_mm, smooth[0].passes)
    );

    // A radius that the wire misses by less than the tolerance is no obstacle.
    let rounded = |requirement: WallRequirement| DemandGroup {
        min_inside_radius_mm: Some(0.129),
        ..outline(GroupId::FIRST, requirement)
    };
    assert!(evaluate(&input(&book, vec![rounded(within(60.0))]), &quarter(), &[4]).feasible);
    assert!(
        !evaluate(
            &input(&book, vec![rounded(WallRequirement::default())]),
            &quarter(),
            &[4]
        )
        .possible
    );
}
