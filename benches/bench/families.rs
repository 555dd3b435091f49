//! Drawings that are hard for their size, family by family: the same kind of place again and again, or all of it in one place.

use std::f64::consts::{PI, TAU};
use std::fmt::Write;

use super::{comb, dxf, dxf_of_lines, dxf_of_polyline, line, sides, wavy};

/// How the command has to end on a family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ending {
    /// All of it is examined.
    Done,
    /// There is more to find than is listed; that it is so is a finding.
    Bounded,
    /// It is too deep or too much, which the error says.
    Refused,
}

/// Drawings of one kind, of any size.
pub(crate) struct Family {
    /// Its name in tables.
    pub(crate) name: &'static str,
    /// How the command has to end on a large one.
    pub(crate) ending: Ending,
    /// Makes one of about so many segments.
    pub(crate) make: fn(usize) -> String,
}

/// Every family.
pub(crate) const ALL: [Family; 16] = [
    family("touching circles", Ending::Done, touching_circles),
    family("doubled lines", Ending::Done, doubled_lines),
    family("comb", Ending::Done, |n| dxf_of_polyline(&comb(n))),
    family("star", Ending::Done, |n| dxf_of_polyline(&star(n))),
    family("spiral", Ending::Done, |n| dxf_of_polyline(&spiral(n))),
    family("shuffled lines", Ending::Done, shuffled_lines),
    family("polyline there and back", Ending::Done, there_and_back),
    family("polyline to and fro", Ending::Bounded, to_and_fro),
    family("overlapping circles", Ending::Bounded, overlapping_circles),
    family("random polygon", Ending::Bounded, random_polygon),
    family("triangles round a point", Ending::Bounded, triangles),
    family("star half as deep as wide", Ending::Bounded, |n| {
        dxf_of_polyline(&deep_star(n))
    }),
    family("concentric circles", Ending::Refused, concentric_circles),
    family("plate of holes", Ending::Done, plate),
    family("one array of a line", Ending::Done, array),
    family("scaled copies of a polyline", Ending::Done, scaled_copies),
];

const fn family(name: &'static str, ending: Ending, make: fn(usize) -> String) -> Family {
    Family { name, ending, make }
}

fn circles(centers_and_radii: impl Iterator<Item = (f64, f64, f64)>) -> String {
    let mut entities = String::new();
    for (x, y, radius) in centers_and_radii {
        write!(
            entities,
            "0\nCIRCLE\n100\nAcDbEntity\n8\n0\n100\nAcDbCircle\n10\n{x:.6}\n20\n{y:.6}\n40\n{radius:.6}\n"
        )
        .expect("a string takes all that is written to it");
    }
    dxf(&entities)
}

/// Circles on a square grid, each of which touches its four neighbours.
fn touching_circles(segments: usize) -> String {
    let count = segments / 2;
    let side = (count as f64).sqrt().ceil() as usize;
    circles((0..count).map(|i| (2.0 * (i % side) as f64, 2.0 * (i / side) as f64, 1.0)))
}

/// A wavy contour of lines, each drawn twice.
fn doubled_lines(segments: usize) -> String {
    let points = wavy(segments / 2);
    let lines = sides(&points);
    dxf_of_lines(lines.clone().chain(lines.map(|(a, b)| (b, a))))
}

/// The lines of a wavy contour in no order.
fn shuffled_lines(segments: usize) -> String {
    let points = wavy(segments);
    let mut order: Vec<usize> = (0..segments).collect();
    let mut random = Random(7);
    for i in (1..segments).rev() {
        order.swap(i, (random.next() * (i + 1) as f64) as usize);
    }
    dxf_of_lines(order.into_iter().map(|i| (points[i], points[(i + 1) % segments])))
}

/// Spikes 5 mm high, their tips 2 mm apart, round a circle.
fn star(segments: usize) -> Vec<(f64, f64)> {
    let outer = 5.0 + segments as f64 / TAU;
    ring(segments, move |i| outer - if i % 2 == 0 { 0.0 } else { 5.0 })
}

/// Spikes round a circle that reach half-way to its middle, however many: their tips 2 mm apart.
fn deep_star(segments: usize) -> Vec<(f64, f64)> {
    let outer = segments as f64 / TAU;
    ring(segments, move |i| outer * if i % 2 == 0 { 1.0 } else { 0.5 })
}

fn ring(count: usize, radius: impl Fn(usize) -> f64) -> Vec<(f64, f64)> {
    let at = |i: usize| {
        let (sin, cos) = (TAU * i as f64 / count as f64).sin_cos();
        (radius(i) * cos, radius(i) * sin)
    };
    (0..count).map(at).collect()
}

/// A band 1 mm wide that winds out from the middle with 1 mm between its turns, in chords of half a millimetre.
fn spiral(segments: usize) -> Vec<(f64, f64)> {
    let half = segments / 2;
    let at = |i: usize, out: f64| {
        // Arc length along r = φ/π, whose pitch is 2 mm.
        let angle = (TAU * (0.5 * i as f64 + 20.0)).sqrt();
        let radius = angle / PI + out;
        (radius * angle.cos(), radius * angle.sin())
    };
    (0..half)
        .map(|i| at(i, 0.0))
        .chain((0..half).rev().map(|i| at(i, 1.0)))
        .collect()
}

/// A polyline that goes along a wave and back the same way.
fn there_and_back(segments: usize) -> String {
    let half = segments / 2;
    let at = |i: usize| (i as f64, 3.0 * (0.1 * i as f64).sin());
    let points: Vec<(f64, f64)> = (0..=half).chain((1..half).rev()).map(at).collect();
    dxf_of_polyline(&points)
}

/// A polyline that goes from one point to another and back, again and again.
fn to_and_fro(segments: usize) -> String {
    let points: Vec<(f64, f64)> = (0..segments).map(|i| (100.0 * (i % 2) as f64, 0.0)).collect();
    dxf_of_polyline(&points)
}

/// Circles of 10 mm that all cross one another.
fn overlapping_circles(segments: usize) -> String {
    let mut random = Random(3);
    circles((0..segments / 2).map(|_| (10.0 * random.next(), 10.0 * random.next(), 10.0)))
}

fn random_polygon(segments: usize) -> String {
    let mut random = Random(5);
    let points: Vec<(f64, f64)> = (0..segments)
        .map(|_| (100.0 * random.next(), 100.0 * random.next()))
        .collect();
    dxf_of_polyline(&points)
}

/// Triangles of 50 mm round one point, each turned a little further.
fn triangles(segments: usize) -> String {
    let count = segments / 3;
    let mut entities = String::new();
    for i in 0..count {
        entities.push_str("0\nLWPOLYLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n3\n70\n1\n");
        for corner in 0..3 {
            let angle = TAU / 3.0 * (f64::from(corner) + i as f64 / count as f64);
            let (x, y) = (50.0 * angle.cos(), 50.0 * angle.sin());
            write!(entities, "10\n{x:.9}\n20\n{y:.9}\n").expect("a string takes all that is written to it");
        }
    }
    dxf(&entities)
}

/// Circles round one point, 1 mm apart.
fn concentric_circles(segments: usize) -> String {
    circles((1..=segments / 2).map(|i| (0.0, 0.0, i as f64)))
}

/// A square plate of round holes of 1 mm, 3 mm apart.
fn plate(segments: usize) -> String {
    let count = segments / 2;
    let side = (count as f64).sqrt().ceil() as usize;
    let holes = (0..count).map(|i| (3.0 * (i % side) as f64, 3.0 * (i / side) as f64, 0.5));
    let far = 3.0 * side as f64;
    let corners = [(-3.0, -3.0), (far, -3.0), (far, far), (-3.0, far)];
    let lines: String = sides(&corners).map(|(a, b)| line(a, b)).collect();
    circles(holes).replacen("ENTITIES\n", &format!("ENTITIES\n{lines}"), 1)
}

/// A block of one line, inserted once with as many columns.
fn array(segments: usize) -> String {
    let block = line((0.0, 0.0), (1.0, 1.0));
    let insert = format!(
        "0\nINSERT\n100\nAcDbEntity\n8\n0\n100\nAcDbBlockReference\n2\nB\n10\n0.0\n20\n0.0\n70\n{segments}\n71\n1\n44\n3.0\n45\n0.0\n"
    );
    with_block(&block, &insert)
}

/// A polyline of 100 chords and 100 arcs inserted again and again, half as wide as high.
fn scaled_copies(segments: usize) -> String {
    let mut block = "0\nLWPOLYLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n200\n70\n1\n".to_owned();
    for (i, (x, y)) in ring(200, |_| 30.0).into_iter().enumerate() {
        let bulge = if i % 2 == 0 { 0.0 } else { 0.3 };
        write!(block, "10\n{x:.9}\n20\n{y:.9}\n42\n{bulge}\n")
            .expect("a string takes all that is written to it");
    }
    let mut inserts = String::new();
    for i in 0..segments.div_ceil(1000) {
        let (x, y) = (100.0 * (i % 100) as f64, 100.0 * (i / 100) as f64);
        write!(
            inserts,
            "0\nINSERT\n100\nAcDbEntity\n8\n0\n100\nAcDbBlockReference\n2\nB\n10\n{x}\n20\n{y}\n41\n0.5\n42\n1.0\n"
        )
        .expect("a string takes all that is written to it");
    }
    with_block(&block, &inserts)
}

fn with_block(block: &str, entities: &str) -> String {
    let blocks = format!(
        "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n100\nAcDbEntity\n8\n0\n100\nAcDbBlockBegin\n2\nB\n70\n0\n10\n0.0\n20\n0.0\n\
         {block}0\nENDBLK\n100\nAcDbEntity\n8\n0\n100\nAcDbBlockEnd\n0\nENDSEC\n"
    );
    dxf(entities).replacen(
        "0\nSECTION\n2\nENTITIES",
        &format!("{blocks}0\nSECTION\n2\nENTITIES"),
        1,
    )
}

/// Evenly spread numbers, the same every time (SplitMix64).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) as f64 / 2f64.powi(64)
    }
}
