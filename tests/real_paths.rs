//! Every closed contour of a folder of drawings that others made, at four offsets, both sides: each path is
//! verified, or refused with its place. The folder is named by `KERFWRIGHT_REAL_DRAWINGS`; without it this is
//! said and nothing is measured.

use std::collections::BTreeMap;
use std::fs;

use kerfwright::job::{Reading, Uses};
use kerfwright::path::offset;
use kerfwright::plan;

#[test]
fn every_real_contour_is_verified_or_refused_with_a_place() {
    let Ok(folder) = std::env::var("KERFWRIGHT_REAL_DRAWINGS") else {
        println!("SKIPPED: KERFWRIGHT_REAL_DRAWINGS is not set");
        return;
    };
    let mut files: Vec<_> = fs::read_dir(&folder)
        .expect("folder of drawings")
        .map(|entry| entry.expect("entry").path())
        .filter(|path| path.extension().is_some_and(|e| e.eq_ignore_ascii_case("dxf")))
        .collect();
    files.sort();
    let (mut drawings, mut contours, mut verified, mut empty) = (0, 0, 0usize, 0usize);
    let mut worst = 0.0f64;
    let mut refused: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let book = kerfwright::shop::Book::built_in().expect("the built-in book is sound");
    for file in &files {
        let name = file
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let bytes = fs::read(file).expect("readable");
        let Ok(seen) = plan::inspect(&name, &bytes, &Reading::default(), &Uses::default(), &book) else {
            continue;
        };
        drawings += 1;
        for contour in seen.contours.list.iter().filter(|c| c.polyline.closed) {
            contours += 1;
            for distance in [0.05, 0.13, 0.197, 0.35] {
                for signed in [distance, -distance] {
                    match offset(&contour.polyline, signed) {
                        Ok(found) => {
                            verified += 1;
                            worst = worst.max(found.verified_mm);
                            empty += usize::from(found.loops.is_empty());
                        }
                        Err(no) => {
                            assert!(no.at.is_finite(), "{name}: refused without a place");
                            let line = format!(
                                "contour {} ({} segments) at {signed}: {} at {:.4}, {:.4}",
                                contour.id,
                                contour.polyline.segment_count(),
                                no.reason,
                                no.at.x,
                                no.at.y
                            );
                            refused.entry(name.clone()).or_default().push(line);
                        }
                    }
                }
            }
        }
    }
    let refusals: usize = refused.values().map(Vec::len).sum();
    for (name, lines) in &refused {
        println!("{name}: {} refused", lines.len());
        lines.iter().take(8).for_each(|line| println!("    {line}"));
    }
    println!(
        "{drawings} drawings, {contours} closed contours, {} offsets: {verified} verified (worst {worst:.1e} mm, \
         {empty} without room), {refusals} refused in {} drawings",
        verified + refusals,
        refused.len()
    );
    assert!(contours > 0, "no closed contour in {folder}");
    assert!(
        refusals * 100 < verified,
        "more than one in a hundred was refused"
    );
}
