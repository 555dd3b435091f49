//! Finding free room for small labels on the part, so that none covers another, nor a line where there is room beside it.

use super::sheet::{Area, SheetSpot, spot};
use super::view::View;
use crate::elementary::{cos, sin};
use crate::geometry::Polyline;

/// Rectangles of the sheet that are taken, and where lines run.
pub(super) struct Labels {
    room: Area,
    taken: Vec<Area>,
    /// Cells of the room that a line crosses, row by row.
    lined: Vec<bool>,
}

/// Width of a cell, mm: fine enough that a label passes between two lines where a reader sees a gap.
const CELL: f64 = 0.5;

impl Labels {
    /// Nothing taken yet in `room`.
    pub(super) fn within(room: Area) -> Self {
        Self {
            room,
            taken: Vec::new(),
            lined: vec![false; columns(room) * rows(room)],
        }
    }

    /// Notes where a line runs.
    pub(super) fn draw(&mut self, view: &View, polyline: &Polyline) {
        for segment in polyline.segments() {
            let steps = (segment.length() * view.scale / CELL).ceil().max(1.0) as usize;
            for step in 0..=steps {
                let at = view.place(segment.at(step as f64 / steps as f64));
                if let Some(cell) = self.cell(at) {
                    self.lined[cell] = true;
                }
            }
        }
    }

    fn cell(&self, at: SheetSpot) -> Option<usize> {
        self.room.contains(Area::new(at.x, at.y, 0.0, 0.0)).then(|| {
            let column = ((at.x - self.room.x) / CELL) as usize;
            let row = ((at.y - self.room.y) / CELL) as usize;
            row * columns(self.room) + column
        })
    }

    /// Whether a line runs through a part of the room.
    fn is_lined(&self, area: Area) -> bool {
        let across = (area.width / CELL).ceil() as usize;
        let down = (area.height / CELL).ceil() as usize;
        let place = |column: usize, row: usize| {
            let x = (area.x + column as f64 * CELL).min(area.right());
            spot(x, (area.y + row as f64 * CELL).min(area.bottom()))
        };
        (0..=down)
            .flat_map(|row| (0..=across).map(move |column| (column, row)))
            .filter_map(|(column, row)| self.cell(place(column, row)))
            .any(|cell| self.lined[cell])
    }

    /// Takes `area` whether it is free or not.
    pub(super) fn take(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// Takes the first place of `centers` where a label of this size fits beside all lines, or else the first where it
    /// covers no other label, if any.
    pub(super) fn first_free(
        &mut self,
        width: f64,
        height: f64,
        centers: impl IntoIterator<Item = SheetSpot>,
    ) -> Option<SheetSpot> {
        let round =
            |center: SheetSpot| Area::new(center.x - width / 2.0, center.y - height / 2.0, width, height);
        let free = |center: &SheetSpot| {
            let area = round(*center);
            self.room.contains(area) && !self.taken.iter().any(|taken| taken.overlaps(area))
        };
        let mut first = None;
        let clear = centers
            .into_iter()
            .filter(free)
            .inspect(|center| first = first.or(Some(*center)))
            .find(|center| !self.is_lined(round(*center)));
        let center = clear.or(first)?;
        self.taken.push(round(center));
        Some(center)
    }
}

fn columns(room: Area) -> usize {
    (room.width / CELL).floor() as usize + 1
}

fn rows(room: Area) -> usize {
    (room.height / CELL).floor() as usize + 1
}

/// Places round `at`, near ones first.
pub(super) fn around(at: SheetSpot) -> impl Iterator<Item = SheetSpot> {
    const DISTANCES: [f64; 5] = [4.0, 6.0, 8.5, 11.5, 15.0];
    const DIRECTIONS: u32 = 12;
    DISTANCES.into_iter().flat_map(move |distance| {
        (0..DIRECTIONS).map(move |i| {
            // Up and to the right first: that is where a reader looks for a label.
            let angle = f64::from(i) * std::f64::consts::TAU / f64::from(DIRECTIONS) - 0.8;
            spot(at.x + distance * cos(angle), at.y + distance * sin(angle))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Bounds, Point, Vertex};

    const ROOM: Area = Area::new(10.0, 20.0, 80.0, 60.0);

    /// A view at 1 : 1 whose middle, the point 0, lies at the middle of the room.
    fn view() -> View {
        let corner = Point::new(40.0, 30.0);
        let bounds = Bounds {
            min: Point::new(-corner.x, -corner.y),
            max: corner,
        };
        View::holding(bounds, ROOM)
    }

    fn level_line(y_mm: f64) -> Polyline {
        let vertex = |x: f64| Vertex {
            at: Point::new(x, y_mm),
            bulge: 0.0,
        };
        Polyline {
            vertices: vec![vertex(-35.0), vertex(35.0)],
            closed: false,
        }
    }

    #[test]
    fn a_label_moves_beside_a_line_and_covers_it_only_where_nothing_else_is_left() {
        let (middle, below) = (ROOM.center(), spot(ROOM.center().x, ROOM.center().y + 6.0));
        let mut labels = Labels::within(ROOM);
        labels.draw(&view(), &level_line(0.0));
        assert_eq!(labels.first_free(12.0, 2.6, [middle, below]), Some(below));
        assert_eq!(labels.first_free(12.0, 2.6, [middle]), Some(middle));
        assert_eq!(
            labels.first_free(12.0, 2.6, [middle, below]),
            None,
            "both are taken"
        );
    }

    #[test]
    fn a_line_is_seen_wherever_it_runs_and_only_there() {
        let view = view();
        for tenth in -250..=250 {
            let y_mm = f64::from(tenth) / 10.0;
            let mut labels = Labels::within(ROOM);
            labels.draw(&view, &level_line(y_mm));
            let on_line = view.place(Point::new(0.0, y_mm)).y;
            let at = |y: f64| Area::new(ROOM.center().x - 5.0, y - 1.0, 10.0, 2.0);
            assert!(labels.is_lined(at(on_line)), "{y_mm}");
            assert!(!labels.is_lined(at(on_line + 1.0 + CELL + 1e-9)), "{y_mm}");
            assert!(!labels.is_lined(at(on_line - 1.0 - CELL - 1e-9)), "{y_mm}");
        }
    }
}
