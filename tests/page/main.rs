//! The page in a real browser, step by step. Needs Chromium (`apt-get install chromium`, or its path in
//! `KERFWRIGHT_CHROMIUM`); without it nothing is tried, and `tests/run` says so. The page that is one file takes the same steps
//! where `KERFWRIGHT_ONE_FILE` names it.

mod browser;
mod carrier;
mod devtools;
mod firefox;
mod sheet_steps;
mod steps;

use std::panic::{self, AssertUnwindSafe};

use browser::{Page, chromium};
use carrier::Carrier;

#[test]
fn the_page_does_in_a_browser_what_it_says() {
    all_steps(Carrier::server());
}

#[test]
fn the_one_file_page_does_in_a_browser_what_it_says() {
    let Some(carrier) = Carrier::one_file() else {
        eprintln!("SKIPPED: no one-file page is named");
        return;
    };
    all_steps(carrier);
}

fn all_steps(carrier: Carrier) {
    let Some(chromium) = chromium() else {
        eprintln!("SKIPPED: no Chromium here");
        return;
    };
    let page = Page::open(&chromium, carrier);
    // `KERFWRIGHT_STEP` names a part of one step that is tried alone.
    let wanted = std::env::var("KERFWRIGHT_STEP").unwrap_or_default();
    let mut failed: Vec<String> = Vec::new();
    let of_server = page.carrier.is_server().then_some(sheet_steps::OF_A_SERVER);
    let all = steps::ALL.into_iter().chain(sheet_steps::ALL).chain(of_server);
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
    let asked_for = page.asked_for();
    let mut elsewhere = asked_for.iter().filter(|url| !page.carrier.may_ask_for(url));
    assert!(asked_for.len() > 10, "requests are seen");
    assert_eq!(elsewhere.next(), None, "no request leaves the machine");
}

/// Several, and a job for them, as when they are dropped onto the program.
#[test]
fn what_it_was_started_with_is_open() {
    let Some(chromium) = chromium() else {
        eprintln!("SKIPPED: no Chromium here");
        return;
    };
    let room = tempfile::tempdir().expect("a folder");
    let job = room.path().join("Größe.toml");
    std::fs::write(&job, "material = \"tool-steel\"\nthickness_mm = 8\n").expect("written");
    let job = job.to_str().expect("a path");
    let drawings = ["fixtures/clock/ratchet.dxf", "fixtures/clock/hand-punch.dxf"];
    let carrier = Carrier::server_of(&[drawings[0], job, drawings[1]]);
    let page = Page::open(&chromium, carrier);
    page.go("");
    page.until(
        "the first is shown",
        "document.querySelector('#part-name').textContent === 'ratchet.dxf' && !!document.querySelector('#overlay svg')",
    );
    page.until(
        "both are planned for the job",
        "document.querySelectorAll('#several-table tbody td:nth-child(6)').length === 2",
    );
    let whole = "location.search === '' && document.querySelector('#start').hidden";
    assert_eq!(page.js(whole), true, "the token has left the address");
    let complaints = page.complaints("");
    assert!(complaints.is_empty(), "{complaints:?}");
}

/// For the figures of `docs/benchmarks.md`: `cargo test --release --test page -- --ignored --nocapture`.
#[test]
#[ignore = "a measurement, not a check"]
fn how_soon_a_change_is_on_screen() {
    let page = Page::open(
        &chromium().expect("Chromium is here"),
        Carrier::one_file().unwrap_or_else(Carrier::server),
    );
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
    // In the one file no script has an address of its own to be asked by.
    if page.carrier.is_server() {
        println!("moving wire: median {:.1} ms a frame", steps::frame_ms(&page));
    }
    if let Some(file) = std::env::var_os("KERFWRIGHT_LARGE_DRAWING") {
        let (read, planned) = steps::large_drawing(&page, &file.to_string_lossy());
        println!("large drawing: shown after {read:.2} s, planned after {planned:.2} s");
    }
}
