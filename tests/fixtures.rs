//! The workshop's drawings: the committed files are what the generator draws.

#[path = "../examples/draw_fixtures/workshop/mod.rs"]
mod workshop;

use std::fs;
use std::path::{Path, PathBuf};

fn file(name: &str, suffix: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures")
        .join(format!("{name}.{suffix}"))
}

#[test]
fn committed_drawings_are_what_the_generator_draws() {
    let all = workshop::all();
    assert!(all.len() >= 13, "only {} drawings", all.len());
    for fixture in all {
        for (suffix, drawn) in [("dxf", &fixture.dxf), ("json", &fixture.answer)] {
            let file = file(fixture.name, suffix);
            let committed =
                fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
            assert!(
                committed == *drawn,
                "{} differs: run `cargo run --example draw_fixtures`",
                file.display()
            );
        }
    }
}
