use crate::estimate::{
    AuxiliaryWork, BlankMaterial, Confidence, CostBreakdown, Cut, CutGroup, EstimateInput, Order, PassLength,
    Presence, StartHoles, Time, arc_extra_mm, costs, cut, estimate, time,
};
use crate::id::{GroupId, PassNo};
use crate::job::OffsetBasis;
use crate::pass::{PassRequest, schedule};
use crate::shop::Book;
use crate::units::Band;

struct Planned {
    cut: Cut,
    time: Time,
}

fn length(pass: usize, mm: f64) -> PassLength {
    PassLength {
        group: GroupId::FIRST,
        pass: PassNo::nth(pass),
        path_length_mm: Some(mm),
    }
}

fn plan(book: &Book, request: &PassRequest, mm: f64, work: &AuxiliaryWork) -> Planned {
    let schedule = schedule(book, request).expect("served");
    let setting = request.setting(book).expect("served");
    let groups = [CutGroup {
        group: GroupId::FIRST,
        schedule: &schedule,
        size_mm: 40.0,
        skimmed: true,
    }];
    let lengths: Vec<PassLength> = (1..=request.passes).map(|pass| length(pass, mm)).collect();
    let cut = cut(request.thickness_mm, &groups, &lengths);
    let time = time(book, setting, request.thickness_mm, &groups, &cut, work).expect("no path is missing");
    Planned { cut, time }
}

fn order(
    book: &Book,
    request: &PassRequest,
    planned: &Planned,
    work: &AuxiliaryWork,
    quantity: usize,
    pieces_per_load: usize,
) -> CostBreakdown {
    let setting = request.setting(book).expect("served");
    let order = Order {
        quantity,
        pieces_per_load,
        drawn: 1,
    };
    costs(book, setting, &planned.time, work, order, None)
}

fn work() -> AuxiliaryWork {
    AuxiliaryWork {
        start_holes: 2,
        threads: 3,
        tabs: 1,
        slugs: 2,
        pass_changes: 6,
        rough_corners: 4,
        leads: vec![length(1, 6.0)],
        engagement: vec![length(2, 5.0)],
        ..AuxiliaryWork::default()
    }
}

#[test]
fn every_reason_for_time_stands_by_itself() {
    let book = Book::built_in().expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
    let Planned { cut, time } = plan(&book, &request, 120.0, &work());
    let of = |name: &str| {
        let term = time
            .piece
            .iter()
            .find(|term| term.minutes.name == name)
            .expect("a term of the piece");
        (term.minutes.value.expected, term.presence)
    };
    assert_eq!(
        of("cutting minutes").0,
        cut.minutes.expect("no path is missing").value.expected
    );
    let rough = schedule(&book, &request).expect("served").passes[0]
        .area_rate_mm2_min
        .expected;
    assert!((of("lead-in").0 - 6.0 * 30.0 / rough / 0.5).abs() < 1e-12);
    assert!((of("rough corners").0 - 0.4).abs() < 1e-12);
    assert_eq!(of("threading"), (3.0, Presence::Unattended));
    assert_eq!(of("tabs cut off"), (3.0, Presence::Attended));
    assert_eq!(of("slugs and parts taken out"), (6.0, Presence::Attended));
    assert_eq!(of("start holes"), (2.0 * 30.0 / 15.0, Presence::Elsewhere));
    let machine: f64 = time
        .piece
        .iter()
        .filter(|term| term.presence != Presence::Elsewhere)
        .map(|term| term.minutes.value.expected)
        .sum();
    assert!((time.machine_minutes.value.expected - machine).abs() < 1e-12);
    let whole = machine + of("start holes").0 + time.setup.value.expected;
    assert!((time.total_minutes.value.expected - whole).abs() < 1e-12);
    assert_eq!(
        time.drilling().map(|minutes| minutes.value.expected),
        Some(of("start holes").0)
    );
    let by_hand = of("tabs cut off").0 + of("slugs and parts taken out").0 + time.attendance.value.expected;
    assert!((time.attended_minutes.value.expected - by_hand).abs() < 1e-12);
    let (machine_min, attended_min) = (time.machine_minutes.value, time.attended_minutes.value);
    let hours = |end: fn(&Band) -> f64| (end(&machine_min) - end(&attended_min)) / 60.0;
    let [low, expected, high] = [
        hours(|band| band.low),
        hours(|band| band.expected),
        hours(|band| band.high),
    ];
    assert_eq!(time.unattended_hours.value, Band { low, expected, high });
    let shift_hours = book.times.shift_hours.value();
    for (got, minutes) in [
        (time.shifts.value.low, machine_min.low),
        (time.shifts.value.high, machine_min.high),
    ] {
        assert!((got - minutes / 60.0 / shift_hours).abs() < 1e-12);
    }
    // Nothing is adjusted between passes on a machine that does not need it: no empty line.
    assert!(time.piece.iter().all(|term| term.minutes.value.high > 0.0));
}

#[test]
fn holes_that_are_there_and_threads_by_hand() {
    let book = Book::layered("[machine.typical]\nthreading = \"hand\"\n").expect("sound");
    let mut work = work();
    work.start_holes_are = StartHoles::There;
    let time = plan(
        &book,
        &PassRequest::new("tool-steel", 30.0, 0.25, 4),
        120.0,
        &work,
    )
    .time;
    assert!(time.piece.iter().all(|term| term.minutes.name != "start holes"));
    assert!(time.drilling().is_none());
    let thread = time
        .piece
        .iter()
        .find(|term| term.minutes.name == "threading")
        .expect("threads");
    assert_eq!(
        (thread.minutes.value.expected, thread.presence),
        (15.0, Presence::Attended)
    );
}

#[test]
fn a_calibrated_book_changes_rates_and_set_up_alone() {
    let own = "[calibration.a]\nmaterial = \"tool-steel\"\nwire_mm = 0.25\nwire_kind = \"brass\"\nminutes_hold = [\"set-up to finished\"]\n\
               rate_factor = 1.05\nfixed_min = 21\njobs = 9\ntypical_error_percent = 6\n";
    let book = Book::layered(own).expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
    let Planned { cut, time } = plan(&book, &request, 120.0, &work());
    let plain = plan(&Book::built_in().expect("sound"), &request, 120.0, &work());
    let minutes = |cut: Cut| cut.minutes.expect("no path is missing").value.expected;
    assert!((minutes(cut) * 1.05 / minutes(plain.cut) - 1.0).abs() < 1e-12);
    assert_eq!(time.setup.value.expected, 21.0);
    // The fit took off all other terms, as they are.
    let others = |time: &Time| {
        let paced: f64 = time
            .paced
            .iter()
            .map(|part| part.minutes.max(part.least_minutes))
            .sum();
        let breaks = 1.0 + book.times.wire_break_min_per_hour.value() / 60.0;
        time.machine_minutes.value.expected - breaks * paced
    };
    assert!((others(&time) - others(&plain.time)).abs() < 1e-9 && others(&time) > 10.0);
    // Without fitted minutes the set-up of the book holds.
    let own = own
        .replace("fixed_min = 21\n", "")
        .replace("set-up to finished", "cutting");
    let book = Book::layered(&own).expect("sound");
    let Planned { time, .. } = plan(&book, &request, 120.0, &work());
    assert_eq!(time.setup.value, book.times.setup_min.band);
}

/// A skim goes no faster than its fastest feed, whatever finished jobs say: 12 mm/min × 8 mm is 96 mm²/min.
#[test]
fn no_calibration_lifts_the_fastest_feed() {
    let request = PassRequest::new("tool-steel", 8.0, 0.25, 2);
    let book = |factor: f64| {
        let own = format!(
            "[calibration.a]\nmaterial = \"tool-steel\"\nwire_mm = 0.25\nwire_kind = \"brass\"\nminutes_hold = [\"machine\"]\n\
             rate_factor = {factor}\njobs = 9\ntypical_error_percent = 6\n"
        );
        Book::layered(&own).expect("sound")
    };
    let skim = |factor: f64| {
        schedule(&book(factor), &request).expect("served").passes[1]
            .area_rate_mm2_min
            .expected
    };
    assert_eq!([skim(1.0), skim(1.25), skim(3.0)], [96.0; 3]);
    // What is slow enough goes with the jobs.
    let slow = skim(0.2);
    assert!(slow < 96.0 && (skim(0.1) / slow - 0.5).abs() < 1e-12);
    // One pass is never slower than two, whatever the factor.
    for factor in [0.1, 0.5, 1.0, 2.0] {
        let minutes = |passes: usize| {
            let request = PassRequest::new("tool-steel", 8.0, 0.25, passes);
            let schedule = schedule(&book(factor), &request).expect("served");
            schedule
                .passes
                .iter()
                .map(|pass| pass.area_rate_mm2_min.expected.recip())
                .sum::<f64>()
        };
        assert!(minutes(1) <= minutes(2) * (1.0 + 1e-12), "{factor}");
    }
}

/// Geometry: on a wall of radius R with the wire at offset ρ, the swept stock per path length is R / (R − ρ).
#[test]
fn skims_meet_more_on_inside_radii() {
    assert!((arc_extra_mm(1.0, 0.260, 0.130) - 1.0).abs() < 1e-12);
    assert!((arc_extra_mm(2.0, 1.0, 0.2) - 0.5).abs() < 1e-12);
    assert_eq!(arc_extra_mm(1.0, 0.130, 0.130), 0.0);
    // A thin ring of 10 µm on R = 1 against the path at R − 0.2: area over path length over thickness.
    let ratio = (1.0_f64.powi(2) - 0.99_f64.powi(2)) / (2.0 * 0.8) / 0.01;
    assert!((1.0 + arc_extra_mm(1.0, 1.0, 0.2) - ratio).abs() < 0.01);
}

#[test]
fn more_of_anything_never_takes_less_time() {
    let book = Book::built_in().expect("sound");
    let plain = AuxiliaryWork {
        engagement: Vec::new(),
        ..work()
    };
    let minutes = |thickness_mm: f64, passes: usize, mm: f64| {
        let request = PassRequest::new("tool-steel", thickness_mm, 0.25, passes);
        plan(&book, &request, mm, &plain)
            .time
            .total_minutes
            .value
            .expected
    };
    let mut before = 0.0;
    for half_mm in 1..=600 {
        let now = minutes(f64::from(half_mm) / 2.0, 4, 100.0);
        assert!(now >= before * (1.0 - 1e-12), "{half_mm}");
        before = now;
    }
    for passes in 1..8 {
        for thickness_mm in [0.5, 5.0, 60.0, 300.0] {
            assert!(minutes(thickness_mm, passes + 1, 100.0) >= minutes(thickness_mm, passes, 100.0));
            assert!(minutes(thickness_mm, passes, 101.0) >= minutes(thickness_mm, passes, 100.0));
        }
    }
}

#[test]
fn the_ledger_adds_up() {
    let book = Book::built_in().expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
    let planned = plan(&book, &request, 120.0, &work());
    let one = order(&book, &request, &planned, &work(), 1, 1);
    let ten = order(&book, &request, &planned, &work(), 10, 4);
    let sum =
        |figures: &[crate::shop::Figure]| figures.iter().map(|figure| figure.value.expected).sum::<f64>();
    assert!((sum(&one.fixed) - one.cost_fixed.value.expected).abs() < 1e-9);
    assert!((sum(&one.each) - one.cost_each.value.expected).abs() < 1e-9);
    let setups = |costs: &CostBreakdown| costs.fixed[1].value.expected;
    assert!((setups(&ten) - 3.0 * setups(&one)).abs() < 1e-9);
    let whole = ten.cost_fixed.value.expected + 10.0 * ten.cost_each.value.expected;
    assert!((ten.cost.value.expected - whole).abs() < 1e-9);
    let line = |name: &str| {
        one.each
            .iter()
            .find(|figure| figure.name == name)
            .expect("a line")
            .value
            .expected
    };
    let hours = planned.time.machine_minutes.value.expected / 60.0;
    assert!((line("machine") - hours * 45.0).abs() < 1e-9);
    assert!((line("wire") - planned.time.wire.kg.value.expected * 12.0).abs() < 1e-9);
    // 2 % scrap: 1 / 0.98 pieces are cut for each good one.
    let before = one.cost_each.value.expected - line("scrap allowance");
    assert!((one.cost_each.value.expected - before / 0.98).abs() < 1e-9);
    for figure in one.fixed.iter().chain(&one.each).chain([&one.cost, &one.price]) {
        let band = figure.value;
        assert!(
            band.low <= band.expected && band.expected <= band.high,
            "{}",
            figure.name
        );
    }
}

/// By hand from the book: wire runs at 10 m/min while passes, leads, overlaps, rings, engagement and corners are cut, and while a tab is
/// cut off; it does not while it is threaded. Brass of 8.45 g/cm³ (from memory, not verified).
#[test]
fn wire_runs_off_in_all_minutes_in_which_it_runs() {
    let book = Book::built_in().expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 2);
    let work = AuxiliaryWork {
        threads: 3,
        tabs: 2,
        slugs: 2,
        rough_corners: 4,
        travel_mm: 600.0,
        leads: vec![length(1, 6.0)],
        overlaps: vec![length(2, 1.0)],
        coreless: vec![length(1, 90.0)],
        engagement: vec![length(2, 5.0)],
        ..AuxiliaryWork::default()
    };
    let time = plan(&book, &request, 120.0, &work).time;
    let passes = schedule(&book, &request).expect("served").passes;
    let [rough, skim] = [0, 1].map(|i| passes[i].area_rate_mm2_min.expected / 30.0);
    let along = (120.0 + 90.0 + 6.0 / 0.5) / rough + (120.0 + 1.0 + 5.0) / skim;
    let (corners_min, tabs_min) = (4.0 * 0.1, 2.0 * 3.0);
    let travel = time
        .piece
        .iter()
        .find(|term| term.minutes.name == "travel without cutting");
    let travel_min = travel.expect("600 mm of it").minutes.value.expected;
    assert!((travel_min - 600.0 / book.times.travel_mm_min.value()).abs() < 1e-12);
    let metres = (along + corners_min + tabs_min) * 10.0;
    assert!((time.wire.metres.value.expected - metres).abs() < 1e-9 * metres);
    let kg = metres * std::f64::consts::FRAC_PI_4 * 0.25 * 0.25 * 8.45 / 1000.0;
    assert!((time.wire.kg.value.expected - kg).abs() < 1e-9 * kg);
}

/// 0.25 mm brass wire at 10 m/min is 0.2489 kg/h, and 8 kg last 32.1 h and 19.3 km: 40 pieces of one hour take 1.24 spools and one
/// change, 10 take none.
#[test]
fn spools_are_those_of_all_pieces() {
    let book = Book::layered("[wire]\nrun_speed_m_min = 10\n").expect("sound");
    let request = PassRequest::new("tool-steel", 60.0, 0.25, 1);
    let work = AuxiliaryWork::default();
    let rate = schedule(&book, &request).expect("served").passes[0]
        .area_rate_mm2_min
        .expected;
    let planned = plan(&book, &request, rate, &work);
    assert!((planned.time.wire.kg.value.expected - 0.2489).abs() < 5e-5);
    let of = |quantity, drawn| {
        let order = Order {
            quantity,
            pieces_per_load: drawn,
            drawn,
        };
        let setting = request.setting(&book).expect("served");
        costs(&book, setting, &planned.time, &work, order, None).totals
    };
    let forty = of(40, 1);
    assert!((forty.spools.value.expected - 40.0 / 32.14).abs() < 1e-3);
    assert_eq!(forty.spool_changes.value.expected, 1.0);
    let setups = 40.0 * 30.0 + 5.0;
    let right = setups + 40.0 * planned.time.machine_minutes.value.expected;
    assert!((forty.machine_minutes.value.expected - right).abs() < 1e-9 * right);
    assert_eq!(of(10, 1).spool_changes.value.expected, 0.0);
    // 40 pieces of a drawing that holds four are ten cuts.
    assert_eq!(of(40, 4).spools.value, of(10, 1).spools.value);
    let spool_km =
        book.wire.spool_kg.value() / book.wire(0.25, "brass").expect("in the book").kg_per_m() / 1000.0;
    assert!((spool_km - 19.3).abs() < 0.05, "{spool_km}");
}

/// By hand from the book: the office counts contours and pieces, the blank is weighed.
#[test]
fn the_office_and_the_material_of_an_order() {
    let own = "[money]\nprogramming_min = 20\nprogramming_min_per_contour = 2\ninspection_min = 10\n\
               inspection_min_per_feature = 0.5\ninspected_share = 0.1\n[material.tool-steel]\nprice_per_kg = 6\n";
    let book = Book::layered(own).expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 1);
    let work = AuxiliaryWork {
        contours: 8,
        blank_mm3: Some(100.0 * 60.0 * 30.0),
        ..AuxiliaryWork::default()
    };
    let planned = plan(&book, &request, 120.0, &work);
    let of = |quantity, drawn| {
        let order = Order {
            quantity,
            pieces_per_load: drawn,
            drawn,
        };
        let setting = request.setting(&book).expect("served");
        costs(&book, setting, &planned.time, &work, order, None)
    };
    let minutes = |costs: &CostBreakdown| {
        let totals = &costs.totals;
        [&totals.programming_minutes, &totals.inspection_minutes].map(|figure| figure.value.expected)
    };
    // One piece at least is measured: 8 contours of one, of 20 pieces 2; four parts of two contours are programmed once.
    assert_eq!(minutes(&of(1, 1)), [36.0, 14.0]);
    assert_eq!(minutes(&of(20, 1)), [36.0, 18.0]);
    assert_eq!(minutes(&of(400, 4)), [24.0, 50.0]);
    let costs = of(12, 4);
    let kg = 100.0 * 60.0 * 30.0 * 7.7e-6;
    let totals = &costs.totals;
    assert!((totals.blank_kg.as_ref().expect("given").value.expected - 3.0 * kg).abs() < 1e-9);
    let material = costs.each.iter().find(|line| line.name == "blank material");
    assert!((material.expect("it has a price").value.expected - 6.0 * kg).abs() < 1e-9);
    assert_eq!(totals.setup_share.value.expected, 3.0 * 30.0 / 12.0);
    assert_eq!(costs.blank, BlankMaterial::Included);
    let plain = Book::built_in().expect("sound");
    assert_eq!(
        order(&plain, &request, &planned, &work, 1, 1).blank,
        BlankMaterial::NoPrice
    );
    let unknown = AuxiliaryWork {
        blank_mm3: None,
        ..work.clone()
    };
    assert_eq!(
        order(&book, &request, &planned, &unknown, 1, 1).blank,
        BlankMaterial::NoBlank
    );
}

/// An estimate that is not calibrated is never priced from its low end.
#[test]
fn no_price_hopes() {
    let request = PassRequest::new("tool-steel", 60.0, 0.25, 4);
    let plain = Book::built_in().expect("sound");
    let planned = plan(&plain, &request, 400.0, &work());
    let costs = order(&plain, &request, &planned, &work(), 3, 1);
    let with_margin = 1.0 + plain.prices.margin_share.value();
    let (cost, price) = (costs.cost.value, costs.price.value);
    assert!(cost.low < cost.expected);
    assert!((price.low - cost.expected * with_margin).abs() < 1e-9);
    assert_eq!(price.low, price.expected);
    assert!(costs.price.formula.contains("not calibrated"));
}

#[test]
fn the_minimum_charge_and_the_words_beside_a_price() {
    let book = Book::layered("[money]\nminimum_charge = 100000\ncurrency = \"CHF\"\n").expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 1);
    let planned = plan(&book, &request, 20.0, &AuxiliaryWork::default());
    let costs = order(&book, &request, &planned, &AuxiliaryWork::default(), 1, 1);
    assert_eq!(
        (costs.price.value.low, costs.currency.as_str()),
        (100_000.0, "CHF")
    );
    assert_eq!(costs.confidence, Confidence::NotCalibrated);
    let (jobs, typical_error_percent) = (12, 8.4);
    assert_eq!(
        Confidence::of(Some((jobs, typical_error_percent))),
        Confidence::Calibrated {
            jobs,
            typical_error_percent
        }
    );
}

/// Groover, Fundamentals of Modern Manufacturing (from memory, not verified): machine cost of an hour is first cost
/// × (A/P, i, n) / hours × (1 + overhead); with (A/P, 10 %, 4) = 0.31547.
#[test]
fn an_hour_of_the_machine_by_its_structure() {
    let own = "[machine-rate]\nfirst_cost = 120000\nlife_years = 4\ninterest_share = 0.10\nhours_per_year = 2000\n\
               overhead_share = 0.5\n";
    let rate = Book::layered(own).expect("sound").machine_per_hour();
    assert!((rate.value.expected - 120_000.0 * 0.315_47 / 2000.0 * 1.5).abs() < 1e-3);
    assert_eq!(
        Book::built_in().expect("sound").machine_per_hour().value.expected,
        45.0
    );
}

/// Whatever a figure is made of is a number of the book, something asked, or another figure that is listed.
#[test]
fn every_figure_can_be_traced_to_the_end() {
    let book = Book::built_in().expect("sound");
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 4);
    let schedule = schedule(&book, &request).expect("served");
    let groups = [CutGroup {
        group: GroupId::FIRST,
        schedule: &schedule,
        size_mm: 40.0,
        skimmed: true,
    }];
    let lengths: Vec<PassLength> = (1..=4).map(|pass| length(pass, 120.0)).collect();
    let (estimate, quality) = estimate(EstimateInput {
        book: &book,
        setting: request.setting(&book).expect("served"),
        thickness_mm: 30.0,
        groups: &groups,
        lengths: &lengths,
        work: &work(),
        order: Order {
            quantity: 2,
            pieces_per_load: 1,
            drawn: 1,
        },
        pickup_mm: 45.0,
        offset_basis: OffsetBasis::Gauged,
        room_swing_k: None,
        is_whole: true,
    });
    let figures: Vec<&crate::shop::Figure> = schedule.figures().chain(estimate.figures(&quality)).collect();
    let names: std::collections::BTreeSet<&str> = figures.iter().map(|figure| figure.name.as_str()).collect();
    assert_eq!(names.len(), figures.len(), "a name twice");
    for figure in &figures {
        assert!(
            !figure.terms.is_empty() && !figure.formula.is_empty(),
            "{}",
            figure.name
        );
        for term in &figure.terms {
            assert!(!term.source.is_empty(), "{}: {}", figure.name, term.name);
            assert!(
                !term.is_figure || names.contains(term.name.as_str()),
                "{}: {}",
                figure.name,
                term.name
            );
        }
    }
}
