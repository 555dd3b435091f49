//! Our drawings measured by general-purpose reference libraries, whose answers are committed with the scripts that make
//! them: ezdxf (`reference/lengths.py`) and shapely on GEOS (`reference/buffers.py`). `tests/run` makes them anew.

use std::fs;

use kerfwright::contour::Contour;
use kerfwright::geometry::Polyline;
use kerfwright::plan::{Inspection, Planner};
use kerfwright::toolpath;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;

use crate::common::{assert_close, book, fixture_bytes, root};

/// A file of frozen answers, by drawing.
#[derive(Deserialize)]
struct Frozen<T> {
    source: String,
    answers: BTreeMap<String, T>,
}

fn frozen<T: DeserializeOwned>(name: &str) -> Frozen<T> {
    let file = root().join("tests/reference").join(name);
    let json = fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    serde_json::from_str(&json).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
}

fn inspect(drawing: &str) -> Inspection {
    let bytes = fixture_bytes(format!("{drawing}.dxf"));
    Planner::new(book())
        .inspect(drawing, &bytes)
        .unwrap_or_else(|error| panic!("{drawing}: {error}"))
}

fn layer<'a>(seen: &'a Inspection, contour: &Contour) -> &'a str {
    let origin = &seen.drawing.curves[contour.curves[0]].origin;
    &seen.drawing.layers[origin.layer as usize].name
}

#[derive(Deserialize)]
struct Lengths {
    curve_length_mm: f64,
    open_lengths_mm: Vec<f64>,
    loops: Vec<Loop>,
}

#[derive(Deserialize)]
struct Loop {
    layer: String,
    length_mm: f64,
    area_mm2: f64,
}

/// Source: ezdxf, `tests/reference/lengths.json`.
#[test]
fn lengths_and_loops_are_those_of_another_dxf_library() {
    let frozen: Frozen<Lengths> = frozen("lengths.json");
    let mut compared = 0;
    for (drawing, expected) in &frozen.answers {
        let seen = inspect(drawing);
        let what = |kind: &str| format!("{drawing}: {kind} ({})", frozen.source);
        let drawn: f64 = seen.drawing.curves.iter().map(|curve| curve.length_mm).sum();
        assert_close(
            &what("length"),
            drawn,
            expected.curve_length_mm,
            1e-9 * expected.curve_length_mm,
        );

        let (closed, open): (Vec<_>, Vec<_>) = seen.contours.list.iter().partition(|c| c.polyline.closed);
        assert_eq!(
            open.len(),
            expected.open_lengths_mm.len(),
            "{}",
            what("open chains")
        );
        assert_eq!(closed.len(), expected.loops.len(), "{}", what("loops"));
        // Both in the same order: by layer, largest first.
        let mut closed: Vec<&Contour> = closed;
        closed.sort_by(|a, b| {
            let by_layer = layer(&seen, a).cmp(layer(&seen, b));
            by_layer.then(b.area_mm2.total_cmp(&a.area_mm2))
        });
        // Arcs within `fit` of a spline or ellipse: same area but for a band of that width (see tests/all/fixtures.rs).
        let fit_mm = seen.drawing.fit_deviation_mm;
        for (contour, expected) in closed.iter().zip(&expected.loops) {
            assert_eq!(layer(&seen, contour), expected.layer, "{}", what("layers"));
            let length_slack = 1e-9 * expected.length_mm + std::f64::consts::TAU * fit_mm;
            let area_slack = 1e-9 * expected.area_mm2 + fit_mm * expected.length_mm;
            assert_close(
                &what("perimeter"),
                contour.perimeter_mm,
                expected.length_mm,
                length_slack,
            );
            assert_close(&what("area"), contour.area_mm2, expected.area_mm2, area_slack);
            compared += 1;
        }
    }
    assert!(compared >= 200, "only {compared} loops were compared");
}

#[derive(Deserialize)]
struct Buffered {
    layer: String,
    area_mm2: f64,
    outward: Vec<Buffer>,
    inward: Vec<Buffer>,
}

#[derive(Deserialize)]
struct Buffer {
    offset_mm: f64,
    loops: usize,
    area_mm2: f64,
    area_accuracy_mm2: f64,
    length_mm: f64,
    length_accuracy_mm: f64,
}

/// Source: shapely on GEOS, `tests/reference/buffers.json`, each figure to the accuracy that stands beside it there.
#[test]
fn paths_enclose_what_another_polygon_library_finds() {
    let frozen: Frozen<Vec<Buffered>> = frozen("buffers.json");
    let mut compared = 0;
    for (drawing, rows) in &frozen.answers {
        let seen = inspect(drawing);
        for row in rows {
            let contour = seen
                .contours
                .list
                .iter()
                .find(|c| {
                    c.polyline.closed
                        && layer(&seen, c) == row.layer
                        && (c.area_mm2 - row.area_mm2).abs() < 1e-6 * row.area_mm2
                })
                .unwrap_or_else(|| panic!("{drawing}: no contour of {} mm² on {}", row.area_mm2, row.layer));
            for (side, buffers) in [(1.0, &row.outward), (-1.0, &row.inward)] {
                for expected in buffers {
                    let offset_mm = side * expected.offset_mm;
                    let what = format!("{drawing}, {} at {offset_mm} mm ({})", row.layer, frozen.source);
                    let found = toolpath::offset(&contour.polyline, offset_mm)
                        .unwrap_or_else(|refused| panic!("{what}: {:?}", refused.reason));
                    assert_eq!(found.loops.len(), expected.loops, "{what}: loops");
                    let area: f64 = found.loops.iter().map(|path| path.area().abs()).sum();
                    let length: f64 = found.loops.iter().map(Polyline::length).sum();
                    // Where two walls meet in a corner, flattened arcs meet a nanometre or so elsewhere, which no
                    // extrapolation takes away; where nothing is flattened, rounding is left.
                    let corners_mm = 1e-6 * contour.polyline.segment_count() as f64;
                    let area_slack = expected.area_accuracy_mm2 + 1e-9 * expected.area_mm2;
                    let length_slack = expected.length_accuracy_mm + 1e-9 * expected.length_mm + corners_mm;
                    assert_close(&format!("{what}: area"), area, expected.area_mm2, area_slack);
                    assert_close(
                        &format!("{what}: length"),
                        length,
                        expected.length_mm,
                        length_slack,
                    );
                    compared += 1;
                }
            }
        }
    }
    assert!(compared >= 180, "only {compared} paths were compared");
}
