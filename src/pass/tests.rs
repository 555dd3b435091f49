use super::{Borrowed, Error, Nozzles, PassKind, PassRequest, Schedule, passes, schedule};
use crate::shop::{Book, MaterialError};
use crate::units::{Band, MM_PER_INCH};

fn book() -> Book {
    Book::built_in().expect("the built-in book is sound")
}

#[test]
fn four_passes_of_quarter_millimetre_wire() {
    let passes = passes(&book(), &PassRequest::new("tool-steel", 40.0, 0.25, 4)).expect("served");
    let offsets: Vec<f64> = passes.iter().map(|pass| pass.offset_mm).collect();
    assert_eq!(offsets, [0.197, 0.152, 0.137, 0.130]);
    assert_eq!(passes[0].kind, PassKind::Rough);
    assert!(passes[1..].iter().all(|pass| pass.kind == PassKind::Skim));
    assert_eq!(passes[3].stock_mm, 0.0);
    assert_eq!(passes[0].stock_mm, 0.032);
}

#[test]
fn one_pass_is_a_recipe_of_its_own() {
    let book = book();
    let one = passes(&book, &PassRequest::new("tool-steel", 60.0, 0.25, 1)).expect("served");
    let two = passes(&book, &PassRequest::new("tool-steel", 60.0, 0.25, 2)).expect("served");
    assert_eq!(one.len(), 1);
    assert_eq!(one[0].offset_mm, 0.165);
    assert_eq!(one[0].ra_um.expected, 2.5);
    assert_eq!(two[0].ra_um.expected, 3.0);
    let ratio = one[0].area_rate_mm2_min.expected / two[0].area_rate_mm2_min.expected;
    assert!((ratio - 0.85).abs() < 1e-12);
}

#[test]
fn aim_moves_every_offset_towards_the_material() {
    let book = book();
    let mut request = PassRequest::new("tool-steel", 40.0, 0.25, 4);
    request.aim_mm = 0.00525;
    let offsets: Vec<f64> = passes(&book, &request)
        .expect("served")
        .iter()
        .map(|pass| pass.offset_mm)
        .collect();
    for (offset, plain) in offsets.iter().zip([0.197, 0.152, 0.137, 0.130]) {
        assert!((plain - offset - 0.00525).abs() < 1e-15);
    }
    for aim_mm in [f64::NAN, f64::INFINITY, 0.130, -5.25] {
        request.aim_mm = aim_mm;
        assert!(
            matches!(passes(&book, &request), Err(Error::Aim { .. })),
            "{aim_mm}"
        );
    }
}

#[test]
fn thinner_wire_takes_smaller_gaps_in_the_first_two_passes_only() {
    let passes = passes(&book(), &PassRequest::new("tool-steel", 40.0, 0.10, 4)).expect("served");
    let factor = (0.10_f64 / 0.25).sqrt();
    for (pass, gap_mm) in passes.iter().zip([0.040 * factor, 0.015 * factor, 0.008, 0.005]) {
        assert!((pass.spark_gap_mm - gap_mm).abs() < 1e-15);
    }
}

/// "EDM as alternative to fir-tree profiling", MTI Magazine: nickel alloy 82 mm thick roughs at 110 mm²/min
/// with open nozzles, over 400 sealed; with two finishing passes the whole job runs at 60 mm²/min, so that the
/// two skims together run at 132.
#[test]
fn published_nickel_case_lies_inside_the_bands() {
    let book = book();
    let mut request = PassRequest::new("nickel-718", 82.0, 0.25, 3);
    let sealed = passes(&book, &request).expect("served");
    request.wire_kind = Some("diffusion-annealed".to_owned());
    let coated = passes(&book, &request).expect("served");
    request.nozzles = Nozzles::BothOpen;
    let open = passes(&book, &request).expect("served");
    assert!(coated[0].area_rate_mm2_min.high > 400.0);
    let band = open[0].area_rate_mm2_min;
    assert!(band.low < 110.0 && 110.0 < band.high, "{band:?}");
    let skims = |end: fn(&super::Pass) -> f64| (end(&sealed[1]).recip() + end(&sealed[2]).recip()).recip();
    let published = (60.0_f64.recip() - 110.0_f64.recip()).recip();
    assert!((published - 132.0).abs() < 0.5);
    assert!((skims(|pass| pass.area_rate_mm2_min.expected) - 148.0).abs() < 0.5);
    assert!(skims(|pass| pass.area_rate_mm2_min.low) < published);
    assert!(published < skims(|pass| pass.area_rate_mm2_min.high));
}

#[test]
fn nozzles_and_coating_leave_skims_alone() {
    let book = book();
    let mut request = PassRequest::new("tool-steel", 40.0, 0.25, 8);
    let sealed = passes(&book, &request).expect("served");
    request.nozzles = Nozzles::BothOpen;
    request.wire_kind = Some("diffusion-annealed".to_owned());
    let open = passes(&book, &request).expect("served");
    assert_eq!(sealed[1..], open[1..]);
    assert!(open[0].area_rate_mm2_min.expected < sealed[0].area_rate_mm2_min.expected);
}

#[test]
fn more_thickness_never_takes_less_time() {
    let book = book();
    for material in book.materials.keys() {
        for wire_mm in [0.10, 0.20, 0.25, 0.30] {
            let mut before = [0.0; 4];
            for step in 1..=600 {
                let thickness_mm = f64::from(step) * 0.5;
                let request = PassRequest::new(material, thickness_mm, wire_mm, 4);
                let Ok(passes) = passes(&book, &request) else {
                    assert!(thickness_mm > 40.0);
                    break;
                };
                for (minutes, pass) in before.iter_mut().zip(&passes) {
                    // Of a millimetre of path.
                    let now = pass.feed_mm_min.expected.recip();
                    assert!(
                        now >= *minutes * (1.0 - 1e-12),
                        "{material} {wire_mm} {thickness_mm}"
                    );
                    *minutes = now;
                }
            }
        }
    }
}

#[test]
fn skims_never_feed_faster_than_the_cap() {
    let book = book();
    for thickness_mm in [0.5, 3.0, 10.0, 20.0, 60.0, 300.0] {
        let passes =
            passes(&book, &PassRequest::new("aluminium-6061", thickness_mm, 0.25, 8)).expect("served");
        for pass in &passes[1..] {
            assert!(
                pass.feed_mm_min.expected <= 12.0 * (1.0 + 1e-12)
                    && pass.feed_mm_min.high <= 20.0 * (1.0 + 1e-12)
            );
            assert!(pass.feed_mm_min.low <= pass.feed_mm_min.expected);
        }
    }
    let thin = passes(&book, &PassRequest::new("tool-steel", 10.0, 0.25, 2)).expect("served");
    assert_eq!(thin[1].area_rate_mm2_min.expected, 120.0);
}

/// Common practice, no source: the fastest machines reach about 45 in²/h, hardened alloy steel cuts better
/// than cold-rolled, aluminium is fast but finishes worse, carbide slow but finishes better; each skim takes less
/// off than the one before; 4 to 5 µin ask for 6 to 7 skims; form error after one pass ±15 to 25 µm, two ±8 to
/// 12, three ±3 to 5, four ±2 to 3.
#[test]
fn common_practice_holds() {
    let book = book();
    let of = |material: &str, passes_: usize| {
        passes(&book, &PassRequest::new(material, 60.0, 0.25, passes_)).expect("served")
    };
    let limit = 45.0 * MM_PER_INCH * MM_PER_INCH / 60.0;
    for thickness_mm in [5.0, 30.0, 60.0, 100.0, 300.0] {
        for wire in book.wires() {
            let mut request = PassRequest::new("tool-steel", thickness_mm, wire.size.diameter_mm, 2);
            request.wire_kind = Some(wire.kind.name.clone());
            if let Ok(passes) = passes(&book, &request) {
                assert!(passes[0].area_rate_mm2_min.expected < limit);
            }
        }
    }
    let (steel, mild, alu, carbide) = (
        of("tool-steel", 4),
        of("mild-steel", 4),
        of("aluminium-6061", 4),
        of("tungsten-carbide", 4),
    );
    assert!(mild[0].area_rate_mm2_min.expected < steel[0].area_rate_mm2_min.expected);
    assert!(alu[0].area_rate_mm2_min.expected > steel[0].area_rate_mm2_min.expected);
    assert!(carbide[0].area_rate_mm2_min.expected < steel[0].area_rate_mm2_min.expected);
    for k in 0..4 {
        assert!(alu[k].ra_um.expected > steel[k].ra_um.expected);
        assert!(carbide[k].ra_um.expected < steel[k].ra_um.expected);
    }
    let taken: Vec<f64> = book
        .pass_table
        .iter()
        .filter_map(|row| row.taken_um.as_ref())
        .map(crate::shop::Number::value)
        .collect();
    assert!(taken.windows(2).all(|pair| pair[1] < pair[0]), "{taken:?}");
    let microinch_um = MM_PER_INCH * 1000.0 * 1e-6;
    let needed = |ra_um: f64| (1..=8).find(|n| of("tool-steel", *n)[n - 1].ra_um.expected <= ra_um);
    assert!(
        matches!(needed(5.0 * microinch_um).map(|n| n - 1), Some(6 | 7)),
        "{:?}",
        needed(5.0 * microinch_um)
    );
    for (n, range) in [(1, 15.0..=25.0), (2, 8.0..=12.0), (3, 3.0..=5.0), (4, 2.0..=3.0)] {
        assert!(range.contains(&of("tool-steel", n)[n - 1].form_error_um.expected));
    }
}

#[test]
fn form_error_grows_above_sixty_millimetres() {
    let book = book();
    let at = |mm: f64| {
        passes(&book, &PassRequest::new("tool-steel", mm, 0.25, 4)).expect("served")[3].form_error_um
    };
    assert_eq!(at(5.0).expected, 3.0);
    assert_eq!(at(60.0).expected, 3.0);
    assert_eq!(at(260.0).expected, 6.0);
    assert_eq!((at(60.0).low, at(60.0).high), (1.5, 6.0));
}

#[test]
fn what_cannot_be_asked_is_said() {
    let book = book();
    let said = |request: &PassRequest| passes(&book, request).expect_err("refused").to_string();
    let steel = |mm, wire, n| PassRequest::new("tool-steel", mm, wire, n);
    for mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(said(&steel(mm, 0.25, 4)).contains("above 0"), "{mm}");
    }
    assert!(said(&steel(40.0, 0.25, 0)).contains("1 to 8"));
    assert!(said(&steel(40.0, 0.25, 99)).contains("1 to 8"));
    assert!(said(&steel(40.0, 0.22, 4)).contains("0.10 mm, 0.15 mm, 0.20 mm, 0.25 mm, 0.30 mm"));
    assert!(said(&steel(41.0, 0.10, 4)).contains("up to 40 mm"));
    assert!(said(&PassRequest::new("tool-stel", 40.0, 0.25, 4)).contains("did you mean `tool-steel`"));
    assert!(said(&PassRequest::new("Magnesium", 40.0, 0.25, 4)).contains("fines burn"));
    let unknown = passes(&book, &PassRequest::new("xyzzy", 40.0, 0.25, 4)).expect_err("refused");
    assert!(matches!(
        unknown,
        Error::Material(MaterialError::Unknown { suggestion: None, .. })
    ));
    let mut kind = steel(40.0, 0.10, 4);
    kind.wire_kind = Some("zinc-coated".to_owned());
    assert!(said(&kind).contains("0.15 mm, 0.20 mm"));
    kind.wire_kind = Some("zinc".to_owned());
    assert!(said(&kind).contains("did you mean `zinc-coated`"));
    kind.machine = Some("big".to_owned());
    kind.wire_kind = None;
    assert!(said(&kind).contains("typical"));
}

#[test]
fn every_figure_of_a_schedule_is_its_formula() {
    let schedule = schedule(&book(), &PassRequest::new("titanium-6al-4v", 25.0, 0.20, 3)).expect("served");
    assert_eq!(schedule.figures().count(), 5 * 3);
    for figure in schedule
        .figures()
        .filter(|figure| figure.formula == "product of its terms")
    {
        let product: f64 = figure.terms.iter().map(|term| term.value.expected).product();
        assert!(
            (figure.value.expected / product - 1.0).abs() < 1e-12,
            "{}",
            figure.name
        );
    }
    for (pass, trace) in schedule.passes.iter().zip(&schedule.traces) {
        let band = trace.offset.value;
        assert!(band.low < pass.offset_mm && pass.offset_mm < band.high);
    }
}

/// What a recipe gives itself stands as it is for what the recipe names; what it takes from the pass table is still
/// the table's: of its material, wire and thickness.
#[test]
fn a_recipe_keeps_apart_what_is_its_own() {
    let own = "[recipe.a]\nmaterials = [\"tungsten-carbide\"]\nwire_mm = 0.20\nthickness_mm = [100, 140]\nrates_at_mm = 120\n\
               pass = [{ rate_mm2_min = 40, spark_gap_um = 30, ra_um = 2, form_error_um = 12 }, { taken_um = 15 }]\n";
    let (shop, built_in) = (Book::layered(own).expect("sound"), book());
    let request = PassRequest::new("tungsten-carbide", 120.0, 0.20, 2);
    let (ours, table) = (
        passes(&shop, &request).expect("served"),
        passes(&built_in, &request).expect("served"),
    );
    let rough = &ours[0];
    assert!((rough.area_rate_mm2_min.expected - 40.0).abs() < 1e-9);
    assert_eq!(
        (
            rough.spark_gap_mm,
            rough.ra_um.expected,
            rough.form_error_um.expected
        ),
        (0.030, 2.0, 12.0)
    );
    assert!((rough.offset_mm - 0.145).abs() < 1e-12);
    // The skim gives its stock only.
    assert_eq!(ours[1].area_rate_mm2_min, table[1].area_rate_mm2_min);
    assert_eq!(
        (ours[1].spark_gap_mm, ours[1].ra_um),
        (table[1].spark_gap_mm, table[1].ra_um)
    );
    assert_eq!(ours[1].form_error_um, table[1].form_error_um);
    // Another thickness is not named: the table's recipe.
    let thin = PassRequest::new("tungsten-carbide", 20.0, 0.20, 2);
    assert_eq!(passes(&shop, &thin), passes(&built_in, &thin));
}

fn scheduled(book: &Book, material: &str, thickness_mm: f64, passes: usize) -> Schedule {
    schedule(book, &PassRequest::new(material, thickness_mm, 0.25, passes)).expect("served")
}

/// Half the band of the last offset, µm.
fn offset_half_band_um(schedule: &Schedule) -> f64 {
    let offset = schedule.traces.last().expect("a pass").offset.value;
    (offset.high - offset.low) / 2.0 * 1000.0
}

#[test]
fn gaps_of_steel_in_another_material_are_told_and_open_the_offset() {
    let book = book();
    let steel = scheduled(&book, "tool-steel", 20.0, 4);
    assert_eq!(steel.borrowed, []);
    for material in ["mild-steel", "stainless-304"] {
        assert_eq!(scheduled(&book, material, 20.0, 4).borrowed, [], "{material}");
    }
    for material in [
        "tungsten-carbide",
        "aluminium-6061",
        "graphite",
        "copper-tungsten",
        "feni36",
    ] {
        let other = scheduled(&book, material, 20.0, 4);
        assert!(
            matches!(other.borrowed[..], [Borrowed::Gaps { .. }]),
            "{material}"
        );
        assert_eq!(
            other.passes[3].offset_mm, steel.passes[3].offset_mm,
            "{material}: steel's"
        );
        assert!(
            offset_half_band_um(&other) > offset_half_band_um(&steel),
            "{material}"
        );
    }
    // Smaller in carbide, larger in aluminium (from memory): ln 0.6 joins ln 0.6 by squares, 5 µm down to 2.4.
    let carbide = scheduled(&book, "tungsten-carbide", 20.0, 4).traces[3]
        .offset
        .value;
    let low_um = 5.0 * (-(2.0_f64).sqrt() * (1.0_f64 / 0.6).ln()).exp();
    assert!(
        (carbide.low - (0.125 + low_um / 1000.0)).abs() < 1e-9,
        "{carbide:?}"
    );
    let aluminium = scheduled(&book, "aluminium-6061", 20.0, 4).traces[3].offset.value;
    assert!(aluminium.high - aluminium.expected > 2.0 * (aluminium.expected - aluminium.low));
}

#[test]
fn a_gap_of_the_shop_is_not_told_as_that_of_steel() {
    let recipe = r#"
        [recipe.carbide]
        materials = ["tungsten-carbide"]
        pass = [{ spark_gap_um = 30, ra_um = 2.2 }, { rate_mm2_min = 150, taken_um = 15, spark_gap_um = 10 }]
    "#;
    let factor = "[material.tungsten-carbide]\ngap_factor = 0.8";
    let gauged = r#"
        [calibration.carbide]
        material = "tungsten-carbide"
        wire_mm = 0.25
        wire_kind = "brass"
        jobs = 6
        typical_error_percent = 5
        minutes_hold = ["set-up to finished"]
        rate_factor = 1.1
        fixed_min = 30
        offset_correction_um = -1
    "#;
    for own in [recipe, factor, gauged] {
        let book = Book::layered(own).expect("sound");
        assert_eq!(
            scheduled(&book, "tungsten-carbide", 20.0, 2).borrowed,
            [],
            "{own}"
        );
    }
    let book = Book::layered(factor).expect("sound");
    let last = &scheduled(&book, "tungsten-carbide", 20.0, 4).passes[3];
    assert!((last.spark_gap_mm - 0.004).abs() < 1e-12);
    // A recipe for every material leaves it open whether its gaps are those of this one.
    let any = "[recipe.any]\npass = [{ spark_gap_um = 30 }]";
    let book = Book::layered(any).expect("sound");
    assert!(!scheduled(&book, "tungsten-carbide", 20.0, 1).borrowed.is_empty());
}

/// The square root of 12/150 made a skim of diamond seven times as fast as its rough cut.
#[test]
fn skims_of_diamond_do_not_go_by_the_root_of_the_rough_rate() {
    let book = book();
    let diamond = scheduled(&book, "polycrystalline-diamond", 60.0, 3);
    let rate = diamond.passes[1].area_rate_mm2_min;
    assert!((rate.expected - 300.0 * 12.0 / 150.0).abs() < 1e-9, "{rate:?}");
    assert!(
        rate.low < 0.4 * rate.expected && rate.high > 3.0 * rate.expected,
        "{rate:?}"
    );
    assert!(matches!(
        diamond.borrowed[..],
        [Borrowed::Gaps { .. }, Borrowed::SkimRates { .. }]
    ));
    let one = scheduled(&book, "polycrystalline-diamond", 60.0, 1);
    assert!(matches!(one.borrowed[..], [Borrowed::Gaps { .. }]));
    let own = Book::layered("[material.polycrystalline-diamond]\nskim_factor = 0.1\ngap_factor = 0.9");
    assert_eq!(scheduled(&own.expect("sound"), "pcd", 60.0, 3).borrowed, []);
}

#[test]
fn work_outside_the_thicknesses_of_the_book_is_told_and_has_wider_bands() {
    let book = book();
    let spread = |thickness_mm: f64, pass: usize| {
        let rate = scheduled(&book, "tool-steel", thickness_mm, 4).passes[pass].area_rate_mm2_min;
        [rate.expected / rate.low, rate.high / rate.expected]
    };
    for thickness_mm in [5.0, 60.0, 150.0] {
        assert_eq!(scheduled(&book, "tool-steel", thickness_mm, 4).borrowed, []);
    }
    for (thickness_mm, limit_mm) in [(1.0, 5.0), (300.0, 150.0)] {
        match &scheduled(&book, "tool-steel", thickness_mm, 4).borrowed[..] {
            [Borrowed::Thickness(beyond)] => {
                assert_eq!(beyond.limit_mm, limit_mm);
                let ratio: f64 = thickness_mm / limit_mm;
                assert!((beyond.times.powi(2) - ratio.max(ratio.recip())).abs() < 1e-12);
            }
            other => panic!("{thickness_mm} mm: {other:?}"),
        }
    }
    // A thin plate may cut faster than at the limit, never slower; a thick one either way, the skims too.
    let ([low_1, high_1], [low_5, high_5]) = (spread(1.0, 0), spread(5.0, 0));
    assert!((low_1 - low_5).abs() < 1e-9 && high_1 > 1.3 * high_5);
    for pass in [0, 1] {
        let ([low_300, high_300], [low_150, high_150]) = (spread(300.0, pass), spread(150.0, pass));
        assert!(low_300 > low_150 && high_300 > high_150, "pass {}", pass + 1);
    }
    // The fastest feed of a skim is a judgement, so a capped feed has a band.
    let feed = scheduled(&book, "tool-steel", 1.0, 2).passes[1].feed_mm_min;
    assert_eq!((feed.low, feed.expected, feed.high), (8.0, 12.0, 20.0));
    // A shop that has cut it knows.
    let own = "[recipe.foil]\nthickness_mm = [0.5, 2]\npass = [{ rate_mm2_min = 20, spark_gap_um = 30 }]";
    let book = Book::layered(own).expect("sound");
    assert_eq!(scheduled(&book, "tool-steel", 1.0, 1).borrowed, []);
}

/// Single cuts of Ra 0.9 to 1.7 µm, and a form error of 5.4 µm on a part 4.9 mm thick, are reported (from memory).
#[test]
fn a_single_cut_of_thin_work_may_come_out_finer() {
    let schedule = scheduled(&book(), "tool-steel", 4.9, 1);
    let (ra, form) = (schedule.traces[0].ra.value, schedule.traces[0].form_error.value);
    assert!(ra.low <= 0.9 && ra.expected == 2.5 && ra.high < 3.3, "{ra:?}");
    assert!(
        form.low < 5.4 && form.expected == 20.0 && (form.high - 40.0).abs() < 1e-9,
        "{form:?}"
    );
    let thick = scheduled(&book(), "tool-steel", 10.0, 1).traces[0]
        .form_error
        .value;
    assert!((thick.low - 10.0).abs() < 1e-9, "{thick:?}");
}

/// Half the wire, the gap, what later passes take off, less the aim; the uncertainties of gap and stock are independent and join by
/// squares (JCGM 100:2008, 5.1.2).
#[test]
fn an_offset_and_its_band_follow_from_the_gap_and_the_stock() {
    let book = book();
    let request = PassRequest {
        aim_mm: 0.003,
        ..PassRequest::new("tool-steel", 40.0, 0.25, 4)
    };
    let schedule = schedule(&book, &request).expect("served");
    for i in 0..4 {
        let gap = book.pass_table[i].spark_gap_um.band;
        let later = book.pass_table[i + 1..4].iter();
        let taken: Vec<_> = later
            .map(|row| row.taken_um.as_ref().expect("a skim").band)
            .collect();
        let stock_um: f64 = taken.iter().map(|band| band.expected).sum();
        let expected_um = 125.0 + gap.expected + stock_um - 3.0;
        let squares = |off: fn(&Band) -> f64| {
            taken
                .iter()
                .chain([&gap])
                .map(|band| off(band).powi(2))
                .sum::<f64>()
                .sqrt()
        };
        let (pass, offset) = (&schedule.passes[i], schedule.traces[i].offset.value);
        let in_um = [
            pass.offset_mm,
            offset.low,
            offset.high,
            pass.half_kerf_mm,
            pass.stock_mm,
        ]
        .map(|mm| mm * 1000.0);
        let by_hand = [
            expected_um,
            expected_um - squares(|band| band.expected - band.low),
            expected_um + squares(|band| band.high - band.expected),
            125.0 + gap.expected,
            stock_um,
        ];
        let names: Vec<&str> = schedule.traces[i]
            .offset
            .terms
            .iter()
            .map(|term| term.name.as_str())
            .collect();
        let takers: Vec<String> = (i + 2..=4)
            .map(|pass| format!("taken off by pass {pass}"))
            .collect();
        assert_eq!(names[2..names.len() - 1], takers);
        for (got, expected) in in_um.into_iter().zip(by_hand) {
            assert!(
                (got - expected).abs() < 1e-9,
                "pass {}: {in_um:?}, not {by_hand:?}",
                i + 1
            );
        }
    }
    let [offset_mm, rate, half_kerf_mm] = super::rough_cut(&book, &request).expect("served");
    let rough = &schedule.passes[0];
    assert_eq!(
        [offset_mm, rate],
        [rough.offset_mm, rough.area_rate_mm2_min.expected]
    );
    assert!((half_kerf_mm - rough.half_kerf_mm).abs() < 1e-15);
    assert_eq!(schedule.pass(rough.pass), Some(rough));
    assert_eq!(schedule.trace(rough.pass), Some(&schedule.traces[0]));
}

/// What a test piece says of the offset shifts the gap and both ends of its band alike; no gap is less than nothing.
#[test]
fn a_gauged_correction_shifts_the_gap() {
    let own = |um: f64| {
        format!(
            "[calibration.a]\nmaterial = \"tool-steel\"\nwire_mm = 0.25\nwire_kind = \"brass\"\njobs = 6\n\
             typical_error_percent = 5\nminutes_hold = [\"machine\"]\nrate_factor = 1\noffset_correction_um = {um}\n"
        )
    };
    let plain = scheduled(&book(), "tool-steel", 20.0, 2);
    let gap = |schedule: &Schedule| schedule.traces[0].offset.terms[1].value;
    let before = gap(&plain);
    for um in [-2.0, 3.0] {
        let book = Book::layered(&own(um)).expect("sound");
        let shifted = scheduled(&book, "tool-steel", 20.0, 2);
        let after = gap(&shifted);
        for (after, before) in [
            (after.low, before.low),
            (after.expected, before.expected),
            (after.high, before.high),
        ] {
            assert!((after - before - um).abs() < 1e-12, "{after} from {before}");
        }
        assert!((shifted.passes[0].offset_mm - plain.passes[0].offset_mm - um / 1000.0).abs() < 1e-12);
    }
    let far = Book::layered(&own(-15.0)).expect("sound");
    assert_eq!(scheduled(&far, "tool-steel", 20.0, 4).passes[3].spark_gap_mm, 0.0);
}
