//! Curves to contours: chaining, nesting, crossings and local widths on drawings that grow.
//! `cargo bench --bench contours`.

mod bench;

use kerfwright::contour;
use kerfwright::drawing::{Curve, Drawing, Origin, Units, UnitsSource};
use kerfwright::dxf::document::Layer;
use kerfwright::geometry::{Point, Polyline};
use kerfwright::job::{Purposes, Reading};

use bench::{ms, shortest, wavy};

fn main() {
    println!("| drawing | curves | segments | contours | ms | µs a segment |");
    println!("|---|--:|--:|--:|--:|--:|");
    for count in [30_000, 300_000] {
        row(
            "one wavy loop in lines, shuffled",
            shuffled(lines_of(&wavy(count))),
        );
        row("circles in quarter arcs, shuffled", shuffled(quarters(count / 4)));
        row("loose lines", loose_lines(count));
    }
    for count in [10_000, 100_000, 1_000_000] {
        row("comb in one polyline", vec![comb(count)]);
    }
    row("3000 loops of 100 lines", loops_of_lines(3_000));
    for holes in [1_000, 10_000, 100_000] {
        row("plate with holes", plate(holes));
    }
}

fn row(name: &str, polylines: Vec<Polyline>) {
    let drawing = drawing(polylines);
    let segments: usize = drawing.curves.iter().map(|c| c.polyline.segment_count()).sum();
    let made = contour::build(&drawing, &Reading::default(), &Purposes::default());
    let time = shortest(|| contour::build(&drawing, &Reading::default(), &Purposes::default()));
    println!(
        "| {name} | {} | {segments} | {} | {} | {:.2} |",
        drawing.curves.len(),
        made.list.len(),
        ms(time),
        time.as_secs_f64() * 1e6 / segments as f64
    );
}

fn lines_of(points: &[(f64, f64)]) -> Vec<Polyline> {
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .map(|(a, b)| Polyline::open([(a.0, a.1, 0.0), (b.0, b.1, 0.0)]))
        .collect()
}

/// Circles of 1 mm radius on a grid of 3 mm, each as four arcs.
fn quarters(circles: usize) -> Vec<Polyline> {
    let bulge = (std::f64::consts::PI / 8.0).tan();
    let side = (circles as f64).sqrt().ceil() as usize;
    (0..circles)
        .flat_map(|i| {
            let center = Point::new(3.0 * (i % side) as f64, 3.0 * (i / side) as f64);
            let corners = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)];
            (0..4).map(move |k| {
                let at = |k: usize| (center.x + corners[k].0, center.y + corners[k].1);
                Polyline::open([(at(k).0, at(k).1, bulge), (at(k + 1).0, at(k + 1).1, 0.0)])
            })
        })
        .collect()
}

/// Short lines that join nowhere, as many to a square millimetre whatever their number.
fn loose_lines(count: usize) -> Vec<Polyline> {
    let side = (count as f64).sqrt();
    let mut random = Random(7);
    (0..count)
        .map(|_| {
            let (x, y) = (side * random.next(), side * random.next());
            Polyline::open([(x, y, 0.0), (x + random.next(), y + random.next(), 0.0)])
        })
        .collect()
}

/// Teeth 0.5 mm wide, 0.3 mm apart.
fn comb(segments: usize) -> Polyline {
    let teeth = segments / 4;
    let mut corners = vec![(0.0, -5.0, 0.0), (teeth as f64 * 0.8 - 0.3, -5.0, 0.0)];
    for tooth in (0..teeth).rev() {
        let x = tooth as f64 * 0.8;
        corners.extend([
            (x + 0.5, 0.0, 0.0),
            (x + 0.5, 4.0, 0.0),
            (x, 4.0, 0.0),
            (x, 0.0, 0.0),
        ]);
    }
    corners.dedup();
    Polyline::closed(corners)
}

fn plate(holes: usize) -> Vec<Polyline> {
    let side = (holes as f64).sqrt().ceil();
    let edge = 3.0 * side;
    let mut all = vec![Polyline::closed([
        (-3.0, -3.0, 0.0),
        (edge, -3.0, 0.0),
        (edge, edge, 0.0),
        (-3.0, edge, 0.0),
    ])];
    all.extend((0..holes).map(|i| {
        let (column, line) = (i as f64 % side, (i as f64 / side).floor());
        Polyline::circle(Point::new(3.0 * column, 3.0 * line), 1.0)
    }));
    all
}

/// Ragged loops of about 10 mm radius, 100 lines each, on a grid.
fn loops_of_lines(loops: usize) -> Vec<Polyline> {
    let side = (loops as f64).sqrt().ceil();
    let mut random = Random(3);
    (0..loops)
        .map(|i| {
            let (x, y) = (25.0 * (i as f64 % side), 25.0 * (i as f64 / side).floor());
            Polyline::closed((0..100).map(|k| {
                let (angle, radius) = (
                    std::f64::consts::TAU * f64::from(k) / 100.0,
                    9.0 + 2.0 * random.next(),
                );
                (x + radius * angle.cos(), y + radius * angle.sin(), 0.0)
            }))
        })
        .collect()
}

fn shuffled(mut list: Vec<Polyline>) -> Vec<Polyline> {
    let mut random = Random(1);
    for i in (1..list.len()).rev() {
        let j = (random.next() * (i + 1) as f64) as usize;
        list.swap(i, j);
        if random.next() < 0.5 {
            list[i] = list[i].reversed();
        }
    }
    list
}

/// Numbers that look random and are the same each time (D. Knuth's 64-bit linear congruence).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn drawing(polylines: Vec<Polyline>) -> Drawing {
    let curves = polylines
        .into_iter()
        .map(|polyline| Curve {
            length_mm: polyline.length(),
            polyline,
            fit_deviation_mm: 0.0,
            origin: Origin {
                entity: "LINE",
                layer: 0,
                linetype: 0,
                color: 7,
                handle: 0,
                insert_handle: 0,
                line: 1,
            },
        })
        .collect();
    Drawing {
        units: Units {
            name: "mm",
            factor_to_mm: 1.0,
            source: UnitsSource::Drawing,
        },
        insunits: Some(4),
        layers: vec![Layer::default()],
        linetypes: vec!["Continuous".to_owned()],
        curves,
        ignored: Vec::new(),
        texts: Vec::new(),
        points: Vec::new(),
        notices: Vec::new(),
        facts: Vec::new(),
        fit_deviation_mm: 0.0,
    }
}
