//! What the benches share: drawings of any size, a stopwatch, and the growth exponent.

#![expect(dead_code, reason = "each bench takes what it needs")]

pub(crate) mod families;

use std::f64::consts::TAU;
use std::fmt::Write;
use std::hint::black_box;
use std::time::{Duration, Instant};

/// The least that any reader must do: split lines, parse the codes, and parse the values that are numbers.
pub(crate) fn plain_scan(text: &str) -> f64 {
    let mut sum = 0.0;
    let mut lines = text.lines();
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        if let Ok(10..=59) = code.trim().parse::<i32>() {
            sum += value.trim().parse::<f64>().expect("a number");
        }
    }
    sum
}

/// A closed contour of many short chords, as (x, y): a circle with 40 waves.
pub(crate) fn wavy(segments: usize) -> Vec<(f64, f64)> {
    (0..segments)
        .map(|i| {
            let angle = TAU * i as f64 / segments as f64;
            // The same chord length whatever the number of chords.
            let radius = (60.0 + 3.0 * (40.0 * angle).sin()) * segments as f64 / 1e4;
            (radius * angle.cos(), radius * angle.sin())
        })
        .collect()
}

/// A DXF of single lines, each from one point to another.
pub(crate) fn dxf_of_lines(lines: impl Iterator<Item = ((f64, f64), (f64, f64))>) -> String {
    let mut entities = String::new();
    for (a, b) in lines {
        entities.push_str(&line(a, b));
    }
    dxf(&entities)
}

/// The lines of a closed contour.
pub(crate) fn sides(points: &[(f64, f64)]) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + Clone {
    let next = points.iter().cycle().skip(1);
    points.iter().copied().zip(next.copied())
}

fn line((x0, y0): (f64, f64), (x1, y1): (f64, f64)) -> String {
    format!(
        "0\nLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbLine\n10\n{x0:.9}\n20\n{y0:.9}\n30\n0.0\n11\n{x1:.9}\n21\n{y1:.9}\n31\n0.0\n"
    )
}

/// The contour as a DXF of one polyline.
pub(crate) fn dxf_of_polyline(points: &[(f64, f64)]) -> String {
    let mut entity = format!(
        "0\nLWPOLYLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n{}\n70\n1\n",
        points.len()
    );
    for (x, y) in points {
        write!(entity, "10\n{x:.9}\n20\n{y:.9}\n").expect("a string takes all that is written to it");
    }
    dxf(&entity)
}

fn dxf(entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

/// The shortest of several runs: three, more while they fit into a second, fewer when they take long.
pub(crate) fn shortest<T>(mut job: impl FnMut() -> T) -> Duration {
    let begun = Instant::now();
    let mut best = Duration::MAX;
    let mut runs = 0;
    while runs == 0 || runs < most_runs(begun.elapsed()) {
        let start = Instant::now();
        black_box(job());
        best = best.min(start.elapsed());
        runs += 1;
    }
    best
}

fn most_runs(spent: Duration) -> usize {
    match spent.as_secs() {
        0 => 50,
        1..4 => 3,
        _ => 1,
    }
}

/// Milliseconds, for a table.
pub(crate) fn ms(time: Duration) -> String {
    format!("{:.3}", time.as_secs_f64() * 1e3)
}

/// Gives up on a library once it has taken so long that ten times as much would not be worth waiting for.
pub(crate) struct CancelToken(Duration);

impl CancelToken {
    /// Not tried yet.
    pub(crate) fn new() -> Self {
        Self(Duration::ZERO)
    }

    /// Runs the job, unless the one before took more than three seconds in all.
    pub(crate) fn ask<T>(&mut self, job: impl FnOnce() -> T) -> Option<T> {
        if self.0 > Duration::from_secs(3) {
            return None;
        }
        let start = Instant::now();
        let done = job();
        self.0 = start.elapsed();
        Some(done)
    }
}

/// A comb of square teeth, 1 mm wide and 2 mm apart, four segments a tooth.
pub(crate) fn comb(segments: usize) -> Vec<(f64, f64)> {
    let teeth = segments / 4;
    let mut points = vec![(0.0, -2.0)];
    points.push((2.0 * teeth as f64 - 1.0, -2.0));
    for tooth in (0..teeth).rev() {
        let x = 2.0 * tooth as f64;
        points.extend([(x + 1.0, 3.0), (x, 3.0)]);
        if tooth > 0 {
            points.extend([(x, 0.0), (x - 1.0, 0.0)]);
        }
    }
    points
}
