//! The page in a real browser, step by step. Needs Chromium (`apt-get install chromium`, or its path in
//! `KERFWRIGHT_CHROMIUM`); without it nothing is tried, and `tests/run` says so.

mod browser;
mod devtools;
mod steps;

use browser::{Page, chromium};

#[test]
fn the_page_does_in_a_browser_what_it_says() {
    let Some(chromium) = chromium() else {
        eprintln!("SKIPPED: no Chromium here");
        return;
    };
    let page = Page::open(&chromium);
    for (name, step, meant) in steps::ALL {
        eprintln!("{name}");
        step(&page);
        let complaints = page.complaints(meant);
        assert!(
            complaints.is_empty(),
            "{name}: the console complains:\n{}",
            complaints.join("\n")
        );
    }
    let elsewhere: Vec<String> = page
        .asked_for()
        .into_iter()
        .filter(|url| {
            !(url.starts_with(&page.address) || url.starts_with("blob:") || url.starts_with("about:"))
        })
        .collect();
    assert!(page.asked_for().len() > 20, "requests are seen");
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
    if let Some(file) = std::env::var_os("KERFWRIGHT_LARGE_DRAWING") {
        let (read, planned) = steps::large_drawing(&page, &file.to_string_lossy());
        println!("large drawing: shown after {read:.2} s, planned after {planned:.2} s");
    }
}
