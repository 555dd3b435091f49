//! The page in a real browser, step by step. Needs Chromium (`apt-get install chromium`, or its path in
//! `KERFWRIGHT_CHROMIUM`); without it nothing is tried, and `tests/run` says so.

mod browser;
mod devtools;
mod firefox;
mod sheet_steps;
mod steps;

use std::panic::{self, AssertUnwindSafe};

use browser::{Page, chromium};

#[test]
fn the_page_does_in_a_browser_what_it_says() {
    let Some(chromium) = chromium() else {
        eprintln!("SKIPPED: no Chromium here");
        return;
    };
    let page = Page::open(&chromium);
    // `KERFWRIGHT_STEP` names a part of one step that is tried alone.
    let wanted = std::env::var("KERFWRIGHT_STEP").unwrap_or_default();
    let mut failed: Vec<String> = Vec::new();
    let all = steps::ALL.into_iter().chain(sheet_steps::ALL);
    for (name, step, meant) in all.filter(|(name, ..)| name.contains(&wanted)) {
        eprintln!("{name}");
        // One step that fails does not hide another.
        let done = panic::catch_unwind(AssertUnwindSafe(|| step(&page)));
        let complaints = page.complaints(meant);
        if done.is_err() || !complaints.is_empty() {
            failed.push(format!("{name}: {}", complaints.join("; ")));
        }
    }
    assert!(
        failed.is_empty(),
        "failed, or the console complains:\n{}",
        failed.join("\n")
    );
    let elsewhere: Vec<String> = page
        .asked_for()
        .into_iter()
        .filter(|url| {
            !(url.starts_with(&page.address) || url.starts_with("blob:") || url.starts_with("about:"))
        })
        .collect();
    assert!(page.asked_for().len() > 10, "requests are seen");
    assert!(elsewhere.is_empty(), "requests leave the machine: {elsewhere:?}");
}

/// For the figures of `docs/benchmarks.md`: `cargo test --release --test page -- --ignored --nocapture`.
#[test]
#[ignore = "a measurement, not a check"]
fn how_soon_a_change_is_on_screen() {
    let page = Page::open(&chromium().expect("Chromium is here"));
    let mut times = steps::change_to_picture(&page);
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize];
    println!(
        "change to picture, ms, {} changes: least {:.0}, p10 {:.0}, median {:.0}, p90 {:.0}, most {:.0}",
        times.len(),
        at(0.0),
        at(0.1),
        at(0.5),
        at(0.9),
        at(1.0)
    );
    println!("moving wire: median {:.1} ms a frame", steps::frame_ms(&page));
    if let Some(file) = std::env::var_os("KERFWRIGHT_LARGE_DRAWING") {
        let (read, planned) = steps::large_drawing(&page, &file.to_string_lossy());
        println!("large drawing: shown after {read:.2} s, planned after {planned:.2} s");
    }
}
