//! Offsetting by half a wire: ours with its verifier, against two polygon libraries without one, both at 0.1 µm of
//! chord error; and what the library that proposes our paths takes of it. `cargo bench --bench offsetting`.
//!
//! `geo` 0.33 (its buffer is that of `i_overlay`) and `clipper2-rust` 1.2 (integers, 0.1 nm a step).

mod bench;

use std::fs;
use std::time::Duration;

use bench::{CancelToken, comb, shortest, wavy};
use cavalier_contours::polyline::{
    PlineCreation, PlineOffsetOptions, PlineSource, PlineSourceMut, Polyline as LibraryLoop,
};
use clipper2_rust::{EndType, JoinType, PathD, PointD, inflate_paths_d};
use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
use geo::{Coord, CoordsIter, LineString, Polygon};
use kerfwright::geometry::Polyline;
use kerfwright::shop::Book;
use kerfwright::{Planner, toolpath};

type Proposal = LibraryLoop<f64>;

const OFFSET_MM: f64 = 0.125;
const CHORD_ERROR_MM: f64 = 1e-4;

fn main() {
    println!(
        "| contours | kerfwright, ms | nodes | of it cavalier_contours, ms | nodes | geo, ms | nodes | clipper2-rust, ms | nodes |"
    );
    println!("|---|--:|--:|--:|--:|--:|--:|--:|--:|");
    row(
        "gear of 24 teeth",
        &drawing("shapes/gear-24"),
        &mut [CancelToken::new(), CancelToken::new()],
    );
    row(
        "plate with 200 holes",
        &drawing("shapes/plate-200-holes"),
        &mut [CancelToken::new(), CancelToken::new()],
    );
    for (kind, shape) in [("comb", comb as fn(usize) -> Vec<(f64, f64)>), ("waves", wavy)] {
        let mut cancel = [CancelToken::new(), CancelToken::new()];
        for segments in [10_000, 100_000, 1_000_000] {
            let contour = Polyline::closed(shape(segments).into_iter().map(|(x, y)| (x, y, 0.0)));
            row(
                &format!("{kind}, {segments} segments"),
                &[(contour, OFFSET_MM)],
                &mut cancel,
            );
        }
    }
}

/// The contours of one of our drawings, each with the side that the wire runs on.
fn drawing(name: &str) -> Vec<(Polyline, f64)> {
    let file = format!("{}/fixtures/{name}.dxf", env!("CARGO_MANIFEST_DIR"));
    let bytes = fs::read(&file).expect("our own drawing is here");
    let book = Book::built_in().expect("the built-in book is sound");
    let seen = Planner::new(&book).inspect(name, &bytes);
    let seen = seen.expect("our own drawing can be read");
    let side = |depth: usize| {
        if depth.is_multiple_of(2) {
            OFFSET_MM
        } else {
            -OFFSET_MM
        }
    };
    seen.contours
        .list
        .into_iter()
        .map(|c| (c.polyline, side(c.depth)))
        .collect()
}

fn row(name: &str, contours: &[(Polyline, f64)], cancel: &mut [CancelToken; 2]) {
    let polygons: Vec<(Vec<(f64, f64)>, f64)> = contours
        .iter()
        .map(|(contour, offset_mm)| (flattened(contour), *offset_mm))
        .collect();
    let mut cells = vec![measured(|| ours(contours)), measured(|| proposed(contours))];
    for (library, cancel) in [geo as fn(&[(Vec<(f64, f64)>, f64)]) -> usize, clipper]
        .iter()
        .zip(cancel)
    {
        cells.push(
            cancel
                .ask(|| measured(|| library(&polygons)))
                .unwrap_or_else(|| "not tried | ".to_owned()),
        );
    }
    println!("| {name} | {} |", cells.join(" | "));
}

/// Milliseconds and nodes, two cells of the table.
fn measured(mut job: impl FnMut() -> usize) -> String {
    let mut nodes = 0;
    let time: Duration = shortest(|| nodes = job());
    format!("{:.2} | {nodes}", time.as_secs_f64() * 1e3)
}

fn ours(contours: &[(Polyline, f64)]) -> usize {
    let nodes = contours.iter().map(|(contour, offset_mm)| {
        let found = toolpath::offset(contour, *offset_mm).expect("a path passes the verifier");
        found.loops.iter().map(Polyline::segment_count).sum::<usize>()
    });
    nodes.sum()
}

/// The library that proposes our paths, alone.
fn proposed(contours: &[(Polyline, f64)]) -> usize {
    let nodes = contours.iter().map(|(contour, offset_mm)| {
        let mut source = Proposal::with_capacity(contour.vertices.len(), true);
        for v in &contour.vertices {
            source.add(v.at.x, v.at.y, v.bulge);
        }
        // Positive is to the left there: inside, for a counter-clockwise loop.
        let found = source.parallel_offset_opt(-offset_mm, &PlineOffsetOptions::new());
        found.iter().map(Proposal::vertex_count).sum::<usize>()
    });
    nodes.sum()
}

fn step_rad(radius_mm: f64) -> f64 {
    2.0 * (1.0 - CHORD_ERROR_MM / radius_mm).acos()
}

fn flattened(contour: &Polyline) -> Vec<(f64, f64)> {
    let chords = contour.segments().flat_map(|segment| {
        let count = if segment.is_arc() {
            (segment.sweep().abs() / step_rad(segment.radius()))
                .ceil()
                .max(1.0)
        } else {
            1.0
        };
        (0..count as usize).map(move |i| segment.at(i as f64 / count))
    });
    chords.map(|p| (p.x, p.y)).collect()
}

fn geo(contours: &[(Vec<(f64, f64)>, f64)]) -> usize {
    let nodes = contours.iter().map(|(points, offset_mm)| {
        let ring: LineString = points.iter().map(|&(x, y)| Coord { x, y }).collect();
        let style = BufferStyle::new(*offset_mm).line_join(LineJoin::Round(step_rad(OFFSET_MM)));
        Polygon::new(ring, Vec::new())
            .buffer_with_style(style)
            .coords_count()
    });
    nodes.sum()
}

fn clipper(contours: &[(Vec<(f64, f64)>, f64)]) -> usize {
    let nodes = contours.iter().map(|(points, offset_mm)| {
        let ring: PathD = points.iter().map(|&(x, y)| PointD::new(x, y)).collect();
        let found = inflate_paths_d(
            &vec![ring],
            *offset_mm,
            JoinType::Round,
            EndType::Polygon,
            2.0,
            7,
            CHORD_ERROR_MM,
        );
        found.iter().map(Vec::len).sum::<usize>()
    });
    nodes.sum()
}
