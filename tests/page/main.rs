//! The page in a real browser, step by step. Needs Chromium (`apt-get install chromium`, or its path in
//! `KERFWRIGHT_CHROMIUM`); without it nothing is tried, and `tests/run` says so.

mod browser;
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
