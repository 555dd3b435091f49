//! Random parts through plan, comparison and quote: no panic, no path beyond its bound, no number that is none, no time beyond a bound.
//! `PROPTEST_CASES` sets how many.

#[path = "../../fuzz/inputs/part.rs"]
mod part;
#[path = "../../fuzz/inputs/planned.rs"]
mod planned;
#[path = "../../fuzz/inputs/tags.rs"]
mod tags;

use std::cell::Cell;
use std::fs;

use kerfwright::job::{JobFile, SlugPolicy};
use kerfwright::plan::{Plan, Planner};
use kerfwright::report::quote::QuoteRow;
use kerfwright::report::{Lengths, csv, json, terminal};
use kerfwright::tolerance::PATH_MM;
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

use self::part::Part;
use crate::common::{book, drawings_in, file_name, fixture};
use crate::plain_numbers::unsound;
use crate::random::config_of;

/// Segments of path times those of its contour that are measured one by one.
const MOST_PAIRS: usize = 400_000;

/// Seconds of processor time that this process has taken, by Linux in hundredths.
fn processor_s() -> Option<f64> {
    let stat = fs::read_to_string("/proc/self/stat").ok()?;
    let fields: Vec<&str> = stat.rsplit(')').next()?.split_whitespace().collect();
    Some((fields.get(11)?.parse::<f64>().ok()? + fields.get(12)?.parse::<f64>().ok()?) / 100.0)
}

/// No point of a path is nearer to its contour than the offset, nor farther: at five places of each of its segments, by the distances to all
/// segments of the contour, without the index and the bounds of the verifier.
fn hold_paths(plan: &Plan, text: &str) {
    for path in &plan.toolpaths.loops {
        let contour = &plan.inspection.contours[path.contour];
        let group = plan
            .groups
            .iter()
            .find(|group| group.group == path.group)
            .expect("its group");
        let pass = &group.passes()[path.pass.index()];
        assert!(
            path.verified_mm <= PATH_MM && path.length_mm.is_finite() && path.length_mm > 0.0,
            "{text}"
        );
        let pairs = path.polyline.segment_count() * contour.polyline.segment_count();
        if !contour.polyline.closed || pairs > MOST_PAIRS {
            continue;
        }
        for segment in path.polyline.segments() {
            for t in [0.0, 0.21, 0.5, 0.77, 1.0] {
                let at = segment.at(t);
                let distances = contour.polyline.segments().map(|wall| wall.distance(at));
                let off = distances.fold(f64::INFINITY, f64::min) - pass.offset_mm;
                // Round corners that run sharp the wire is farther from the contour than the offset.
                let off = if plan.job.sharp_corners.is_some() {
                    -off
                } else {
                    off.abs()
                };
                assert!(
                    off <= PATH_MM,
                    "{off} mm off at {at:?}, contour {}:\n{text}",
                    path.contour
                );
            }
        }
    }
}

/// Whether all is tried, as `tests/long` does with the build for release.
fn whole_sweep() -> bool {
    std::env::var_os("KERFWRIGHT_WHOLE_SWEEP").is_some()
}

/// A part through everything; whether it has a path. The bound of time, 0.2 s and 20 µs · n · log₂ n for n segments, is that of
/// the release build and of at most four passes of a given wire.
fn hold(part: &Part) -> bool {
    if !whole_sweep() && part.drawing.len() > 6000 {
        return true;
    }
    let text = format!("{}\n{}", part.job, part.drawing);
    let job = JobFile::parse(&part.job).unwrap_or_else(|error| panic!("{error}\n{text}"));
    let before = processor_s();
    let planned = Planner::new(book())
        .job(&job)
        .plan("part.dxf", part.drawing.as_bytes());
    let after = processor_s();
    let has_paths = planned.as_ref().is_ok_and(|plan| {
        hold_paths(plan, &text);
        let contours = plan.inspection.contours.list.iter();
        let n: usize = contours.map(|contour| contour.polyline.segment_count()).sum();
        let bound_s = 0.2 + 20e-6 * n as f64 * (n.max(2) as f64).log2();
        // Rings that clear a slug away are paths of their own.
        let bounded = !cfg!(debug_assertions)
            && job.wire_mm.is_some()
            && job.passes.is_some()
            && job.slug != Some(SlugPolicy::Coreless);
        if let (true, Some(before), Some(after)) = (bounded, before, after) {
            let took_s = after - before;
            assert!(
                took_s <= bound_s,
                "{took_s} s of processor time for {n} segments, at most {bound_s}:\n{text}"
            );
        }
        !plan.toolpaths.loops.is_empty()
    });
    let mut made = Vec::new();
    let row = match &planned {
        Ok(plan) => {
            made.extend([terminal::figures(plan), json::plan(plan)]);
            QuoteRow::of_plan("part.dxf", plan, String::new())
        }
        Err(error) => QuoteRow::not_planned(
            "part.dxf",
            error,
            part.drawing.as_bytes(),
            &job,
            book(),
            String::new(),
        ),
    };
    made.push(row.csv(Lengths::Mm));
    // Some sixty plans: too long for every run of the tests.
    if whole_sweep()
        && let Ok(comparison) = Planner::new(book())
            .job(&job)
            .compare("part.dxf", part.drawing.as_bytes())
    {
        made.push(csv::comparison(&comparison));
    }
    let found = made.iter().find_map(|text| unsound(text));
    assert!(found.is_none(), "{found:?}\n{text}");
    has_paths
}

/// Tries so many cases unless told otherwise, always the same.
fn runner(usual: u32) -> TestRunner {
    TestRunner::new_with_rng(config_of(usual), TestRng::deterministic_rng(RngAlgorithm::ChaCha))
}

/// Most of them have paths, so that what comes after reading is tried too.
#[test]
fn random_parts_are_planned_compared_and_quoted() {
    let (tried, with_paths) = (Cell::new(0_u32), Cell::new(0_u32));
    let strategy = prop::collection::vec(any::<u8>(), 24..160);
    runner(6)
        .run(&strategy, |bytes| {
            tried.set(tried.get() + 1);
            with_paths.set(with_paths.get() + u32::from(hold(&part::part(&bytes))));
            Ok(())
        })
        .unwrap_or_else(|failed| panic!("{failed}"));
    println!("{} of {} parts have paths", with_paths.get(), tried.get());
    assert!(2 * with_paths.get() > tried.get());
}

/// Drawings of `fixtures` changed entity by entity, as the fuzzer does: most still have paths.
#[test]
fn changed_drawings_are_planned_or_refused() {
    let folders = ["shapes", "clock", "cases", "checks"].into_iter();
    let mut drawings: Vec<_> = folders.flat_map(|folder| drawings_in(&fixture(folder))).collect();
    let most = if whole_sweep() { 40_000 } else { 4_000 };
    drawings.retain(|drawing| fs::metadata(drawing).is_ok_and(|file| file.len() < most));
    let texts = drawings
        .iter()
        .filter_map(|drawing| Some((file_name(drawing), fs::read_to_string(drawing).ok()?)));
    let texts: Vec<(String, String)> = texts.collect();
    let (tried, with_paths) = (Cell::new(0_u32), Cell::new(0_u32));
    runner(40)
        .run(&(0..texts.len(), any::<u32>(), 1_u32..6), |(i, seed, rounds)| {
            let (name, text) = &texts[i];
            let changed = (0..rounds).fold(text.clone(), |text, round| {
                tags::changed(&text, seed.wrapping_add(round)).unwrap_or(text)
            });
            let held = std::panic::catch_unwind(|| planned::planned(changed.as_bytes(), book()));
            let Ok(has_paths) = held else {
                panic!("{name}, seed {seed}, {rounds} rounds:\n{changed}")
            };
            tried.set(tried.get() + 1);
            with_paths.set(with_paths.get() + u32::from(has_paths));
            Ok(())
        })
        .unwrap_or_else(|failed| panic!("{failed}"));
    println!(
        "{} of {} changed drawings have paths",
        with_paths.get(),
        tried.get()
    );
    assert!(texts.len() > 20 && 4 * with_paths.get() > tried.get());
}
