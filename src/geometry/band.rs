//! The band on both sides of an open run, as a loop of lines and arcs.

use super::{Polyline, Segment, loop_of, reversed_run};
use crate::tolerance::PATH_MM;

impl Polyline {
    /// Returns what lies within `half_mm` of an open run, counter-clockwise: round at its ends and at outside corners. `None` where the run
    /// turns so tightly that a wall of the band is lost; one that comes near itself crosses itself.
    pub(crate) fn band(&self, half_mm: f64) -> Option<Self> {
        let there: Vec<Segment> = self.segments().collect();
        let round: Vec<Segment> = there.iter().copied().chain(reversed_run(&there)).collect();
        let n = round.len();
        let parallels: Option<Vec<Segment>> = round.iter().map(|s| s.parallel(half_mm)).collect();
        let mut walls = parallels?;
        let mut corners: Vec<Option<Segment>> = Vec::with_capacity(n);
        for i in 0..n {
            let next = (i + 1) % n;
            let is_end = next == 0 || next == there.len();
            let corner = if is_end {
                Some(Segment::arc(walls[i].to, walls[next].from, 1.0))
            } else {
                Segment::around_corner(round[i], round[next], half_mm)
            };
            if corner.is_none() {
                join_inside(&mut walls, i, next)?;
            }
            corners.push(corner);
        }
        let all = walls
            .into_iter()
            .zip(corners)
            .flat_map(|(wall, corner)| [Some(wall), corner]);
        Some(loop_of(&all.flatten().collect::<Vec<_>>()))
    }
}

/// Ends a wall where it crosses the next one; `None` where it does not.
fn join_inside(walls: &mut [Segment], i: usize, next: usize) -> Option<()> {
    let (wall, after) = (walls[i], walls[next]);
    let crossings = wall.crossings(after).into_iter().flatten();
    let nearest = crossings.min_by(|a, b| a.distance(wall.to).total_cmp(&b.distance(wall.to)));
    match nearest {
        Some(at) => {
            walls[i] = wall.part(0.0, wall.share(at));
            walls[next] = after.part(after.share(at), 1.0);
        }
        // Smooth, or nearly so.
        None if wall.to.distance(after.from) <= PATH_MM => {}
        None => return None,
    }
    walls[next].from = walls[i].to;
    Some(())
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    /// Area and length of the parallel curves of a run (Steiner): 2h·L + πh², 2L + 2πh, where it has no corners; at a right angle the
    /// inside wall is 2h shorter and the outside one a quarter of a circle longer.
    #[test]
    fn a_band_has_the_area_and_length_of_its_closed_form() {
        let half = 0.7;
        let straight = Polyline::open([(1.0, 2.0, 0.0), (6.0, 2.0, 0.0)]);
        let bent = Polyline::open([(0.0, 0.0, 2.0f64.sqrt() - 1.0), (3.0, 3.0, 0.0), (3.0, 8.0, 0.0)]);
        for run in [straight, bent] {
            for run in [run.reversed(), run] {
                let band = run.band(half).expect("a band");
                let length = run.length();
                assert!((band.area() - 2.0 * half * length - PI * half * half).abs() < 1e-9);
                assert!((band.length() - 2.0 * length - 2.0 * PI * half).abs() < 1e-9);
            }
        }
        let corner = Polyline::open([(0.0, 0.0, 0.0), (5.0, 0.0, 0.0), (5.0, 5.0, 0.0)]);
        for corner in [corner.reversed(), corner] {
            let band = corner.band(half).expect("a band");
            let length = 20.0 + 2.0 * PI * half + 0.5 * PI * half - 2.0 * half;
            assert!((band.length() - length).abs() < 1e-9, "{}", band.length());
        }
        let step = Polyline::open([(0.0, 0.0, 0.0), (5.0, 0.0, 0.0), (5.0, 0.5, 0.0), (9.0, 0.5, 0.0)]);
        assert!(step.band(half).is_none());
    }
}
