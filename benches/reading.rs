//! Reading a DXF: our tag reader against a plain scan of the lines that parses every number, and against the
//! `dxf` crate. `cargo bench --bench reading`.

mod bench;

use std::time::Duration;

use bench::{dxf_of_lines, dxf_of_polyline, ms, plain_scan, shortest, sides, wavy};

fn main() {
    println!("| drawing | MB | line scan, ms | kerfwright, ms | ratio | `dxf` crate, ms | ratio |");
    println!("|---|--:|--:|--:|--:|--:|--:|");
    for segments in [10_000, 100_000, 1_000_000] {
        let points = wavy(segments);
        for (kind, text) in [
            ("lines", dxf_of_lines(sides(&points))),
            ("polyline", dxf_of_polyline(&points)),
        ] {
            let scan = shortest(|| plain_scan(&text));
            let ours =
                shortest(|| kerfwright::dxf::read(text.as_bytes()).expect("our own drawing can be read"));
            let theirs = shortest(|| {
                dxf_crate::Drawing::load(&mut text.as_bytes())
                    .expect("our own drawing can be read by the crate")
            });
            let ratio = |time: Duration| time.as_secs_f64() / scan.as_secs_f64();
            println!(
                "| {segments} segments, {kind} | {:.1} | {} | {} | {:.2} | {} | {:.1} |",
                text.len() as f64 / 1e6,
                ms(scan),
                ms(ours),
                ratio(ours),
                ms(theirs),
                ratio(theirs)
            );
        }
    }
}
