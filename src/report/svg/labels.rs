//! Finding free room for small labels on the part, so that none covers another.

use super::sheet::{Area, Spot, spot};

/// Rectangles of the sheet that are taken.
pub(super) struct Labels {
    room: Area,
    taken: Vec<Area>,
}

impl Labels {
    /// Nothing taken yet in `room`.
    pub(super) fn within(room: Area) -> Self {
        Self {
            room,
            taken: Vec::new(),
        }
    }

    /// Takes `area` whether it is free or not.
    pub(super) fn take(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// Takes the first place of `centers` where a label of this size fits, if any.
    pub(super) fn first_free(
        &mut self,
        width: f64,
        height: f64,
        centers: impl IntoIterator<Item = Spot>,
    ) -> Option<Spot> {
        centers.into_iter().find(|center| {
            let area = Area::new(center.x - width / 2.0, center.y - height / 2.0, width, height);
            let free = self.room.contains(area) && !self.taken.iter().any(|taken| taken.overlaps(area));
            if free {
                self.taken.push(area);
            }
            free
        })
    }
}

/// Places round `at`, near ones first.
pub(super) fn around(at: Spot) -> impl Iterator<Item = Spot> {
    const DISTANCES: [f64; 5] = [4.0, 6.0, 8.5, 11.5, 15.0];
    const DIRECTIONS: u32 = 12;
    DISTANCES.into_iter().flat_map(move |distance| {
        (0..DIRECTIONS).map(move |i| {
            // Up and to the right first: that is where a reader looks for a label.
            let angle = f64::from(i) * std::f64::consts::TAU / f64::from(DIRECTIONS) - 0.8;
            spot(at.x + distance * angle.cos(), at.y + distance * angle.sin())
        })
    })
}
