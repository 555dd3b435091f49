//! How small and how large the numbers of a job may be. No trade limit: a number beyond them is a slip of the pen, and would leave
//! the range in which sums and quotients of `f64` still say something.

use super::{JobFile, JobFileError, JobPart};
use crate::tolerance::{FARTHEST_MM, LONGEST_GIVEN_MM, SAME_POINT_MM, SHORTEST_GIVEN_MM};

/// Ends of curves are not joined, nor curves replaced, over more than 10 mm.
const FARTHEST_READ_MM: f64 = 10.0;
/// No shop swings by more, K.
const LARGEST_SWING_K: f64 = 100.0;
/// Beyond it a corner is run as if there were no limit.
const MOST_OFFSETS: f64 = 1000.0;
/// More than a machine makes in its life.
const MOST_PIECES: f64 = 1_000_000.0;
/// A wall is at most square to the sheet.
const STEEPEST_DEG: f64 = 90.0;

/// Least and largest value of a length of the work, mm.
const LENGTH_MM: [f64; 2] = [SHORTEST_GIVEN_MM, LONGEST_GIVEN_MM];
/// The same of what says how the drawing is read, mm.
const READ_MM: [f64; 2] = [SAME_POINT_MM, FARTHEST_READ_MM];

impl JobFile {
    /// Refuses a number that is not within the least and the largest one of its key.
    pub(super) fn within_limits(&self) -> Result<(), JobFileError> {
        let parts = || self.layers.values().chain(self.contours.values());
        let count = |count: Option<usize>| count.map(|count| count as f64);
        // What is no length at all is refused where the passes are looked up.
        let is_positive = |mm: &f64| *mm > 0.0;
        let signed = |most: f64| [-most, most];
        let limited = [
            ("thickness_mm", self.thickness_mm.filter(is_positive), LENGTH_MM),
            ("wire_mm", self.wire_mm.filter(is_positive), LENGTH_MM),
            ("quantity", count(self.quantity), [1.0, MOST_PIECES]),
            ("pieces_per_load", count(self.pieces_per_load), [1.0, MOST_PIECES]),
            ("pickup_mm", self.pickup_mm, LENGTH_MM),
            (
                "room_swing_k",
                self.room_swing_k,
                [SHORTEST_GIVEN_MM, LARGEST_SWING_K],
            ),
            ("taper_deg", self.taper_deg, signed(STEEPEST_DEG)),
            ("land_mm", self.land_mm, [0.0, LONGEST_GIVEN_MM]),
            ("blank_mm", self.blank_mm.map(|[width, _]| width), LENGTH_MM),
            ("blank_mm", self.blank_mm.map(|[_, height]| height), LENGTH_MM),
            ("margin_mm", self.margin_mm, LENGTH_MM),
            ("clamp_depth_mm", self.clamp_depth_mm, LENGTH_MM),
            ("overlap_mm", self.overlap_mm, [0.0, LONGEST_GIVEN_MM]),
            ("drill_mm", self.drill_mm, LENGTH_MM),
            ("start_holes_under_mm", self.start_holes_under_mm, LENGTH_MM),
            ("sharp_corners", self.sharp_corners, [1.0, MOST_OFFSETS]),
            ("fit_mm", self.fit_mm, READ_MM),
            ("join_mm", self.join_mm, READ_MM),
            ("refit_mm", self.refit_mm, READ_MM),
        ];
        let whole = JobPart {
            inside_radius_mm: self.inside_radius_mm,
            clearance_mm: self.clearance_mm,
            aim_mm: self.aim_mm,
            ..JobPart::default()
        };
        let of_parts = parts().chain([&whole]).flat_map(|part| {
            [
                ("inside_radius_mm", part.inside_radius_mm, LENGTH_MM),
                ("clearance_mm", part.clearance_mm, LENGTH_MM),
                ("aim_mm", part.aim_mm, signed(LONGEST_GIVEN_MM)),
                ("overlap_mm", part.overlap_mm, [0.0, LONGEST_GIVEN_MM]),
            ]
        });
        let places = parts().flat_map(|part| {
            [
                ("tab_at_mm", part.tab_at_mm),
                ("start_mm", part.start_mm),
                ("entry_mm", part.entry_mm),
            ]
        });
        let holes = self.start_holes_mm.iter().map(|&at| ("start_holes_mm", Some(at)));
        let coordinates = places.chain(holes).flat_map(|(key, at)| {
            let of = move |i: usize| (key, at.map(|at| at[i]), signed(FARTHEST_MM));
            [of(0), of(1)]
        });
        for (key, value, [least, most]) in limited.into_iter().chain(of_parts).chain(coordinates) {
            if let Some(value) = value.filter(|value| !(least..=most).contains(value)) {
                return Err(JobFileError::Beyond {
                    key,
                    value,
                    least,
                    most,
                });
            }
        }
        Ok(())
    }
}
