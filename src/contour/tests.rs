//! Contours against closed forms, and what must not change when a drawing is turned about.

mod chains;
mod contacts;
mod invariance;
mod nesting;
mod purposes;
mod widths;

use super::*;
use crate::drawing::{Curve, Origin, Units, UnitsSource};
use crate::dxf::document::Layer;

/// A drawing of the given curves, each on a layer.
pub(crate) fn drawing(curves: impl IntoIterator<Item = (&'static str, Polyline)>) -> Drawing {
    let mut layers: Vec<Layer> = Vec::new();
    let curves = curves
        .into_iter()
        .enumerate()
        .map(|(i, (name, polyline))| {
            let layer = layers
                .iter()
                .position(|layer| layer.name == name)
                .unwrap_or_else(|| {
                    layers.push(Layer {
                        name: name.to_owned(),
                        ..Layer::default()
                    });
                    layers.len() - 1
                });
            Curve {
                length_mm: polyline.length(),
                polyline,
                fit_deviation_mm: 0.0,
                origin: Origin {
                    entity: "LINE",
                    layer: layer as u32,
                    linetype: 0,
                    color: 7,
                    handle: i as u64 + 1,
                    insert_handle: 0,
                    line: 10 * i + 1,
                },
            }
        })
        .collect();
    Drawing {
        units: Units {
            name: "mm",
            factor_to_mm: 1.0,
            source: UnitsSource::Drawing,
        },
        insunits: Some(4),
        layers,
        linetypes: vec!["Continuous".to_owned(), "CENTER2".to_owned()],
        curves,
        ignored: Vec::new(),
        texts: Vec::new(),
        points: Vec::new(),
        notices: Vec::new(),
        facts: Vec::new(),
        fit_deviation_mm: 0.0,
    }
}

fn line(x0: f64, y0: f64, x1: f64, y1: f64) -> Polyline {
    Polyline::open([(x0, y0, 0.0), (x1, y1, 0.0)])
}

/// The four sides of an upright rectangle as loose lines.
pub(crate) fn sides(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<(&'static str, Polyline)> {
    vec![
        ("0", line(x0, y0, x1, y0)),
        ("0", line(x1, y1, x1, y0)),
        ("0", line(x1, y1, x0, y1)),
        ("0", line(x0, y0, x0, y1)),
    ]
}

fn made(curves: impl IntoIterator<Item = (&'static str, Polyline)>) -> Contours {
    build(&drawing(curves), &Reading::default(), &Purposes::default())
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
}

fn moved(p: Point, angle: f64, dx: f64, dy: f64, mirror: bool) -> Point {
    let q = if mirror { Point::new(-p.x, p.y) } else { p };
    Point::default() + (q - Point::default()).turned(angle) + crate::geometry::Vector::new(dx, dy)
}
