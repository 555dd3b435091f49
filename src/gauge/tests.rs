use super::half_kerf::{CutWith, KnownLimits, gauged_half_kerf, half_kerf_mm};
use super::*;
use crate::estimate;
use crate::id::PassNo;
use crate::pass::{PassRequest, schedule};
use crate::shop::Book;

/// A machine and a piece that are made up: path width W, scale s, lost motion β, half kerf k of a pass, all in mm.
struct MadeUp {
    scale: f64,
    lost_mm: f64,
}

impl MadeUp {
    /// Sizes across a pin and an opening after a pass, from the widths of the wire's paths.
    fn sizes_mm(&self, pin_mm: f64, offset_mm: f64, last_mm: f64, half_kerf_mm: f64) -> [f64; 2] {
        let run = |width_mm: f64| width_mm * (1.0 + self.scale) - self.lost_mm;
        let pin_path_mm = pin_mm + 2.0 * offset_mm;
        let opening_path_mm = pin_mm + 4.0 * last_mm - 2.0 * offset_mm;
        [
            run(pin_path_mm) - 2.0 * half_kerf_mm,
            run(opening_path_mm) + 2.0 * half_kerf_mm,
        ]
    }
}

/// A sequence of numbers from 0 to 1 that is the same on every machine: the xorshift generator of G. Marsaglia, Journal of
/// Statistical Software 8 (2003) 14.
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A normal one, by G. E. P. Box and M. E. Muller, Annals of Mathematical Statistics 29 (1958) 610.
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// One between −1 and 1.
    fn either_side(&mut self) -> f64 {
        2.0 * self.unit() - 1.0
    }
}

const NO_LIMITS: KnownLimits = KnownLimits {
    outside_um: 0.0,
    inside_um: 0.0,
    inside_against_outside_um: 0.0,
    temperature_um: 0.0,
    scale: 0.0,
};

const LAST: CutWith = CutWith {
    pass: PassNo::FIRST,
    offset_mm: 0.130,
    last_offset_mm: 0.130,
    pin_mm: [10.0, 8.0],
};

fn read(wall: GaugedWall, line: usize, mm: f64) -> SizeReading {
    SizeReading {
        line,
        wall,
        pass: PassNo::FIRST,
        across: Across::X,
        height: None,
        size: MeasuredSize::Read(mm),
    }
}

/// The closed form: P = W(1 + s) − β − 2k, O = W(1 + s) − β + 2k.
#[test]
fn scale_and_lost_motion_cancel_in_the_last_pass() {
    let (mut worst_mm, mut tried) = (0.0_f64, 0);
    for scale in [-3e-4, 0.0, 1e-4, 2e-3] {
        for lost_mm in [-0.004, 0.0, 0.003, 0.02] {
            for pin_mm in [5.0, 10.0, 37.5] {
                for half_kerf in [0.128, 0.130, 0.165] {
                    let machine = MadeUp { scale, lost_mm };
                    let [pin, opening] = machine.sizes_mm(pin_mm, 0.130, 0.130, half_kerf);
                    let found = half_kerf_mm(pin, opening, 0.130, 0.130);
                    worst_mm = worst_mm.max((found - half_kerf).abs());
                    // What scale and lost motion make of the path: (O + P)/2 − W = sW − β.
                    let path_mm = pin_mm + 0.260;
                    let off = f64::midpoint(pin, opening) - path_mm;
                    assert!((off - (scale * path_mm - lost_mm)).abs() < 1e-9);
                    tried += 1;
                }
            }
        }
    }
    assert!(tried == 144 && worst_mm < 1e-9, "{worst_mm}");
}

/// In a pass before the last a scale that is taken as true leaves (offset_j − offset_n)·s: 7 nm of 67 µm at 1e-4.
#[test]
fn in_an_earlier_pass_the_scale_is_off_by_no_more_than_its_budget() {
    for scale in [-1e-4, 1e-4] {
        let machine = MadeUp {
            scale,
            lost_mm: 0.004,
        };
        let [pin, opening] = machine.sizes_mm(10.0, 0.197, 0.130, 0.165);
        let off_mm = half_kerf_mm(pin, opening, 0.197, 0.130) - 0.165;
        assert!((off_mm + scale * 0.067).abs() < 1e-9, "{off_mm}");
        assert!(off_mm.abs() < 7e-6);
    }
}

/// By hand, with offsets of 197 and 130 µm: P = pin + 2·0.197 − 2·0.165 = pin + 0.064, O = pin + 4·0.130 − 2·0.197 + 2·0.165 = pin + 0.456,
/// k = 0.392/4 + 0.067 = 0.165.
#[test]
fn the_rough_cut_of_the_book_by_hand() {
    let machine = MadeUp {
        scale: 0.0,
        lost_mm: 0.0,
    };
    let [pin, opening] = machine.sizes_mm(10.0, 0.197, 0.130, 0.165);
    assert!((pin - 10.064).abs() < 1e-12 && (opening - 10.456).abs() < 1e-12);
    assert!((half_kerf_mm(10.064, 10.456, 0.197, 0.130) - 0.165).abs() < 1e-12);
}

/// How many of `pieces` made-up pieces have their half kerf within the uncertainty that is stated, read `count` times a wall.
fn covered(count: usize, pieces: usize, limits: KnownLimits, noise_um: [f64; 2], seed: u64) -> usize {
    let mut chance = Chance(seed);
    let truth_um = 131.3;
    let machine = MadeUp {
        scale: 5e-5,
        lost_mm: 0.002,
    };
    let [pin, opening] = machine.sizes_mm(10.0, 0.130, 0.130, truth_um / 1e3);
    let is_covered = |chance: &mut Chance| {
        // One instrument errs alike in all its readings of a piece.
        let outside_um = limits.outside_um * chance.either_side();
        let inside_um =
            limits.inside_um * chance.either_side() + limits.inside_against_outside_um * chance.either_side();
        let mut sizes = Vec::new();
        for line in 0..count {
            let [p, o] = noise_um.map(|um| um * chance.normal());
            sizes.push(read(GaugedWall::Pin, line, pin + (p + outside_um) / 1e3));
            sizes.push(read(GaugedWall::Opening, line, opening + (o + inside_um) / 1e3));
        }
        let found = gauged_half_kerf(LAST, &sizes, limits)
            .expect("read often enough")
            .value;
        (found.value_um - truth_um).abs() <= found.uncertainty.expanded_um
    };
    (0..pieces).filter(|_| is_covered(&mut chance)).count()
}

/// 95 % is what JCGM 100:2008, 6.3.3, asks of an expanded uncertainty with k from the effective degrees of freedom.
#[test]
fn the_interval_covers_what_it_says() {
    const PIECES: usize = 2000;
    for (seed, count) in (11..).zip([3, 5, 10, 20, 30]) {
        for noise_um in [[1.0, 1.0], [0.8, 1.6]] {
            let share =
                covered(count, PIECES, NO_LIMITS, noise_um, seed * 0x9E37_79B9) as f64 / PIECES as f64;
            assert!(
                (0.93..=0.97).contains(&share),
                "{count} readings, noise {noise_um:?}: {share}"
            );
        }
    }
}

#[test]
fn limits_that_outweigh_the_readings_are_covered_too() {
    const PIECES: usize = 2000;
    let limits = KnownLimits {
        outside_um: 1.0,
        inside_um: 2.0,
        inside_against_outside_um: 1.0,
        ..NO_LIMITS
    };
    for (seed, count) in (5..).zip([3, 5, 10, 20, 30]) {
        let share = covered(count, PIECES, limits, [0.3, 0.5], seed * 0x9E37_79B9) as f64 / PIECES as f64;
        assert!(share >= 0.93, "{count} readings: {share}");
    }
}

/// JCGM 100:2008, 4.2.3: the standard uncertainty of a mean falls with the root of the number of readings.
#[test]
fn how_many_more_readings_would_halve_it() {
    let sizes = |mut count: usize| {
        let mut sizes = Vec::new();
        let mut off = 1.0;
        while count > 0 {
            sizes.push(read(GaugedWall::Pin, count, 10.0 + off * 1e-3));
            sizes.push(read(GaugedWall::Opening, count, 10.52 - off * 1e-3));
            off = -off;
            count -= 1;
        }
        sizes
    };
    // Forty readings have many degrees of freedom: four times as many halve it, some 120 more.
    let kerf = gauged_half_kerf(LAST, &sizes(40), NO_LIMITS).expect("read often");
    let more = kerf.more_to_halve().expect("readings alone make it up");
    assert!((112..=120).contains(&more), "{more}");
    // Four readings: t falls as well, so fewer are enough.
    let kerf = gauged_half_kerf(LAST, &sizes(4), NO_LIMITS).expect("read often enough");
    assert!(kerf.more_to_halve().expect("readings alone") < 12);
    // No number of readings helps against an instrument.
    let limits = KnownLimits {
        inside_um: 20.0,
        ..NO_LIMITS
    };
    let kerf = gauged_half_kerf(LAST, &sizes(4), limits).expect("read often enough");
    assert_eq!(kerf.more_to_halve(), None);
}

/// A pair of gauges: the middle, and limits that are rectangular (JCGM 100:2008, 4.3.7).
#[test]
fn gauges_that_go_and_do_not_go() {
    let mut sizes: Vec<SizeReading> = (0..3).map(|line| read(GaugedWall::Pin, line, 10.0)).collect();
    let between = |goes_mm, does_not_go_mm| SizeReading {
        size: MeasuredSize::Between {
            goes_mm,
            does_not_go_mm,
        },
        ..read(GaugedWall::Opening, 9, 0.0)
    };
    sizes.extend([between(10.51, 10.53), between(10.518, 10.54)]);
    let kerf = gauged_half_kerf(LAST, &sizes, NO_LIMITS).expect("sound").value;
    // Between 10.518 and 10.53: 10.524 ± 0.006; a quarter of it on half a kerf.
    assert!((kerf.value_um - 131.0).abs() < 1e-9, "{kerf:?}");
    assert!((kerf.uncertainty.standard_um - 6.0 / 3.0_f64.sqrt() / 4.0).abs() < 1e-9);
    assert!((kerf.uncertainty.k - 1.96).abs() < 1e-3);
    sizes.push(between(10.535, 10.54));
    assert!(matches!(
        gauged_half_kerf(LAST, &sizes, NO_LIMITS),
        Err(Error::Contradiction { .. })
    ));
}

#[test]
fn too_few_readings_and_half_a_pair_are_refused() {
    let two: Vec<SizeReading> = (0..2)
        .flat_map(|line| {
            [
                read(GaugedWall::Pin, line, 10.0),
                read(GaugedWall::Opening, line, 10.52),
            ]
        })
        .collect();
    assert!(matches!(
        gauged_half_kerf(LAST, &two, NO_LIMITS),
        Err(Error::TooFew { count: 2, .. })
    ));
    let pins: Vec<SizeReading> = (0..3).map(|line| read(GaugedWall::Pin, line, 10.0)).collect();
    assert!(matches!(
        gauged_half_kerf(LAST, &pins, NO_LIMITS),
        Err(Error::NotGauged {
            wall: GaugedWall::Opening,
            ..
        })
    ));
}

/// The form as filled in, with readings that are made up: two passes, cut with 185 and 140 µm. The guide walks through it by hand.
const READINGS: &str = include_str!("../../fixtures/shop/test-piece-readings.csv");

fn gauged() -> (Book, Gauging) {
    let book = Book::built_in().expect("sound");
    let readings = read_readings(READINGS, &book.gauging).expect("sound");
    let found = gauging(&book, &readings).expect("sound");
    (book, found)
}

/// By hand: k_2 = (10.565 − 10.000)/4 = 141.25 µm, k_1 = (10.517 − 10.044)/4 + 0.045 = 163.25 µm, taken = (185 − 163.25) − (140 − 141.25) = 23.
#[test]
fn a_piece_by_hand() {
    let (_, found) = gauged();
    let [rough, skim] = &found.passes[..] else {
        panic!("two passes");
    };
    assert!((rough.half_kerf.value_um - 163.25).abs() < 1e-9, "{rough:?}");
    assert!((skim.half_kerf.value_um - 141.25).abs() < 1e-9, "{skim:?}");
    assert!((found.offset_correction_um - 1.25).abs() < 1e-9);
    assert!((skim.offset_mm - 0.14125).abs() < 1e-12 && (rough.offset_mm - 0.18625).abs() < 1e-12);
    assert!((skim.taken.as_ref().expect("a skim").value_um - 23.0).abs() < 1e-9);
    let gap = skim.spark_gap.as_ref().expect("the wire was read");
    assert!((gap.value_um - 16.25).abs() < 1e-9);
    // 8 µm of size over the heights: 2 to either side of each wall.
    let form = skim.form_error.expect("three heights");
    assert!((form.half_um - 2.0).abs() < 1e-9, "{form:?}");
    assert!(rough.form_error.is_none());
    assert!((skim.ra.as_ref().expect("read").value_um - 1.6).abs() < 1e-12);
    // The readings stray by 1 µm, nine of them on three heights: 1/√9, a quarter of it.
    let read = &skim.half_kerf.terms[0];
    assert!(
        (read.standard_um - 0.25 / 3.0).abs() < 1e-9 && read.degrees == 6.0,
        "{read:?}"
    );
    let standard_um = [
        0.25 / 3.0,
        0.25 * 3.0 / 3.0_f64.sqrt(),
        0.25 / 3.0_f64.sqrt(),
        0.25 * 1.5 / 3.0_f64.sqrt(),
        0.25 / 3.0_f64.sqrt(),
    ];
    // Expansion of the book, 10.56 mm of size, 1 K.
    let warmth_um = 0.25 * 10.4 * 10.56 / 1e3 / 3.0_f64.sqrt();
    let sum: f64 = standard_um.iter().map(|um| um * um).sum::<f64>() + warmth_um * warmth_um;
    assert!(
        (skim.half_kerf.uncertainty.standard_um - sum.sqrt()).abs() < 1e-9,
        "{:?}",
        skim.half_kerf
    );
}

/// What is written is a book by which the next plan runs at the offsets that were gauged, with the uncertainty that was gauged.
#[test]
fn the_book_that_is_written_gives_the_offsets_that_were_gauged() {
    let (book, found) = gauged();
    let text = found.fragment(&book);
    let own = Book::layered(&text).unwrap_or_else(|flaws| panic!("{flaws}\n{text}"));
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 2);
    let planned = schedule(&own, &request).expect("sound");
    for (pass, gauged) in planned.passes.iter().zip(&found.passes) {
        assert!(
            (pass.offset_mm - gauged.offset_mm).abs() < 1e-9,
            "{pass:?}\n{text}"
        );
        assert!((pass.half_kerf_mm * 1e3 - gauged.half_kerf.value_um).abs() < 1e-6);
    }
    let last = planned.traces.last().expect("a pass");
    assert_eq!(last.gauged_on.as_deref(), Some("2026-11-29"));
    let expanded_um = found.last().half_kerf.uncertainty.expanded_um;
    let band = last.offset.value;
    assert!(
        ((band.high - band.low) / 2.0 * 1e3 - expanded_um).abs() < 2e-6,
        "{band:?}"
    );
    assert!((planned.passes[1].ra_um.expected - 1.6).abs() < 1e-6);

    // In the budget the gauged offset alone comes out as it went in: 2 × U/2 on a wall.
    let setting = request.setting(&own).expect("sound");
    let occasion = estimate::AccuracyInput {
        size_mm: 20.0,
        pickup_mm: 20.0,
        hours: 1.0,
        offset_basis: crate::job::OffsetBasis::Modelled,
        room_swing_k: None,
    };
    let budget = estimate::accuracy(&own, setting, last, occasion);
    let term = budget
        .terms
        .iter()
        .find(|term| term.half_width_um.name.starts_with("offset"));
    let term = term.expect("the offset is in it");
    assert_eq!(term.half_width_um.name, "offset, gauged on 2026-11-29");
    assert!((2.0 * term.per_side_um.expected - expanded_um).abs() < 2e-6);
    assert_eq!(budget.modelled[0].value, budget.expanded_per_side_um);

    // Elsewhere the book's own offsets hold: another thickness, another machine, another number of passes.
    for other in [
        PassRequest {
            thickness_mm: 60.0,
            ..request.clone()
        },
        PassRequest {
            passes: 3,
            ..request.clone()
        },
        PassRequest {
            wire_mm: 0.2,
            ..request.clone()
        },
    ] {
        let (own, built_in) = (schedule(&own, &other), schedule(&book, &other));
        assert_eq!(own, built_in, "{other:?}");
    }
    let machines = format!("{text}\n[machine.north]\ntitle = \"north\"\n");
    let own = Book::layered(&machines).unwrap_or_else(|flaws| panic!("{flaws}"));
    let north = PassRequest {
        machine: Some("north".to_owned()),
        ..request
    };
    assert!(schedule(&own, &north).expect("sound").recipe.is_none());
}

/// What finished jobs say of the offset is older than the gauging, and is not added to it; a correction of the recipe itself is.
#[test]
fn a_gauged_offset_is_corrected_by_its_own_recipe_alone() {
    let (book, found) = gauged();
    let request = PassRequest::new("tool-steel", 30.0, 0.25, 2);
    let last_mm = |text: &str| {
        let own = Book::layered(text).unwrap_or_else(|flaws| panic!("{flaws}"));
        schedule(&own, &request).expect("sound").passes[1].offset_mm
    };
    let fragment = found.fragment(&book);
    let jobs = "[calibration.log]\nmaterial = \"tool-steel\"\nwire_mm = 0.25\nwire_kind = \"brass\"\njobs = 9\n\
                typical_error_percent = 5\nminutes_hold = [\"machine\"]\nrate_factor = 1\noffset_correction_um = 4\n";
    let plain_mm = last_mm(&fragment);
    assert!((last_mm(&format!("{fragment}\n{jobs}")) - plain_mm).abs() < 1e-12);
    let corrected = fragment.replace("gauged = ", "offset_correction_um = -0.8\ngauged = ");
    assert!((last_mm(&corrected) - (plain_mm - 0.0008)).abs() < 1e-9);
}

#[test]
fn flaws_of_the_readings_come_with_their_lines() {
    let book = Book::built_in().expect("sound");
    let told = |text: &str| match read_readings(text, &book.gauging) {
        Err(error) => error.to_string(),
        Ok(readings) => gauging(&book, &readings).expect_err("a flaw").to_string(),
    };
    let with = |from: &str, to: &str| READINGS.replacen(from, to, 1);
    for (text, expected) in [
        (
            with("pin,1,x,middle,10.043", "pin,1,x,middle,10,043"),
            "line 13: give a value, or a gauge",
        ),
        (
            with("pin,1,x,middle,10.043", "pin,1,z,middle,10.043"),
            "line 13: across `z`: write x or y",
        ),
        (
            with("opening,1,x,middle,10.516", "openning,1,x,middle,10.516"),
            "line 16: `openning` is no item of a test piece; is it `opening`?",
        ),
        (
            with("pin,1,x,middle,10.043", "pin,1,x,middle,1.0043"),
            "line 13: 1.0043 mm where the pin is drawn 10 mm across x",
        ),
        (
            with("2026-11-29", "29.11.2026"),
            "the row `date` is missing or empty",
        ),
        (
            with("date,,,,2026-11-29", "date,,,,"),
            "the row `date` is missing or empty",
        ),
        (
            with("pin,1,x,middle,10.045,,\n", ""),
            "pass 1, pin across x, middle: 2 readings; at least 3",
        ),
        (with("tool-steel", "cheese"), "cheese"),
        (with("typical", "nothing"), "nothing"),
        (
            with("pin,1,x,middle,10.043", "pin,3,x,middle,10.043"),
            "line 13: pass 3: the piece has no",
        ),
        (
            with("item,pass", "thing,pass"),
            "line 1: column `item` is missing",
        ),
        (
            with("offset_mm,1,,,0.185", "offset_mm,1,,,0.13"),
            "pass 1: half the kerf is 0.1083 mm, less than half the wire",
        ),
        (
            with("ra_um,1,,,,,", "ra_um,1,,,2.4,,"),
            "pass 1: 1 readings of Ra",
        ),
    ] {
        let said = told(&text);
        assert!(said.contains(expected), "{said}\n  not: {expected}");
    }
}

#[test]
fn a_wild_reading_is_named_and_stays_in() {
    let book = Book::built_in().expect("sound");
    let wild = READINGS.replacen("pin,2,x,bottom,9.999", "pin,2,x,bottom,10.03", 1);
    let readings = read_readings(&wild, &book.gauging).expect("sound");
    let found = gauging(&book, &readings).expect("sound");
    assert_eq!(found.outlying.len(), 1, "{:?}", found.outlying);
    assert_eq!(found.outlying[0].line, 27);
    assert_eq!(found.last().readings, 10);
}
