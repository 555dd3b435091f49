//! Every closed contour of a folder of drawings that others made, at four offsets, both sides: each path is
//! verified, or refused with its place. The folder is named by `KERFWRIGHT_REAL_DRAWINGS`; without it this is
//! said and nothing is measured.

use std::collections::BTreeMap;
use std::fs;

use kerfwright::plan::Planner;
use kerfwright::toolpath::offset;

use crate::common::{book, file_name, real_drawings};

#[test]
fn every_real_contour_is_verified_or_refused_with_a_place() {
    let Some(files) = real_drawings() else {
        return;
    };
    let (mut drawings, mut contours, mut verified, mut empty) = (0, 0, 0usize, 0usize);
    let mut worst = 0.0f64;
    let mut refused: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for file in &files {
        let name = file_name(file);
        let bytes = fs::read(file).expect("readable");
        let Ok(seen) = Planner::new(book()).inspect(&name, &bytes) else {
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
                                "contour {} ({} segments) at {signed}: {:?} at {:.4}, {:.4}",
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
    assert!(contours > 0, "no closed contour");
    assert!(
        refusals * 100 < verified,
        "more than one in a hundred was refused"
    );
}
