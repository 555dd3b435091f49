//! Draws the drawings under `fixtures/clock` and `fixtures/shapes`, each with a sidecar that holds its
//! perimeters and areas in closed form.
//!
//! `cargo run --example draw_fixtures` rewrites them. Nothing here uses the library: its answers are checked
//! against these.

mod workshop;

use std::path::Path;

fn main() -> std::io::Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    for fixture in workshop::all() {
        for (suffix, text) in [("dxf", fixture.dxf), ("json", fixture.answer)] {
            let file = folder.join(format!("{}.{suffix}", fixture.name));
            if let Some(parent) = file.parent() {
                std::fs::create_dir_all(parent)?;
            }
            std::fs::write(&file, text)?;
        }
        println!("fixtures/{}.dxf", fixture.name);
    }
    Ok(())
}
