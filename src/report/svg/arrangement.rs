//! How the first sheet is divided: landscape or portrait, the title block beside the part or below it, whichever shows the part largest.

use super::paper::{BETWEEN, COLUMN, LANDSCAPE, PORTRAIT, Paper, columns};
use super::part;
use super::sheet::Area;
use super::view::View;
use crate::geometry::Bounds;

/// A division of the first sheet.
pub(super) struct Arrangement {
    pub(super) paper: Paper,
    pub(super) part: Area,
    /// The title block.
    pub(super) block: Area,
}

impl Arrangement {
    /// Shows `bounds` at the largest scale; of equal ones, upright what is higher than wide.
    pub(super) fn of(bounds: Bounds) -> Self {
        const SIDE: f64 = 108.0;
        let [beside, below, long, tall] = [
            Self::beside(LANDSCAPE, SIDE),
            Self::below(PORTRAIT, 118.0),
            Self::below(LANDSCAPE, 88.0),
            Self::beside(PORTRAIT, COLUMN + 2.0 * Self::PADDING),
        ];
        let ranked = if bounds.height() > bounds.width() {
            [below, beside, tall, long]
        } else {
            [beside, below, long, tall]
        };
        let scale = |one: &Self| View::holding(bounds, part::room(one.part)).scale;
        // `max_by` would take the last of equals.
        ranked
            .into_iter()
            .reduce(|best, other| if scale(&other) > scale(&best) { other } else { best })
            .expect("there are four")
            .lowered(bounds)
    }

    /// Gives the title block what the part below which it lies does not need.
    fn lowered(mut self, bounds: Bounds) -> Self {
        /// Left for labels round the part, mm.
        const LABELS: f64 = 30.0;
        if self.block.y < self.part.bottom() {
            return self;
        }
        let room = part::room(self.part);
        let needed = View::holding(bounds, room).scale * bounds.height() + LABELS;
        let spare = (room.height - needed).max(0.0);
        self.part.height -= spare;
        self.block.y -= spare;
        self.block.height += spare;
        self
    }

    fn beside(paper: Paper, width: f64) -> Self {
        let all = paper.content(0);
        Self {
            paper,
            part: all.inset(0.0, 0.0, width + BETWEEN, 0.0),
            block: Area::new(all.right() - width, all.y, width, all.height),
        }
    }

    fn below(paper: Paper, height: f64) -> Self {
        let all = paper.content(0);
        Self {
            paper,
            part: all.inset(0.0, 0.0, 0.0, height + BETWEEN),
            block: Area::new(all.x, all.bottom() - height, all.width, height),
        }
    }

    const PADDING: f64 = 2.0;

    /// The columns of the title block.
    pub(super) fn columns(&self) -> Vec<Area> {
        let padding = Self::PADDING;
        columns(self.block.inset(padding, padding, padding, padding))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    #[test]
    fn the_paper_lies_as_the_part_does() {
        let arranged = |width: f64, height: f64| {
            let bounds = Bounds {
                min: Point::default(),
                max: Point::new(width, height),
            };
            let arrangement = Arrangement::of(bounds);
            let scale = View::holding(bounds, part::room(arrangement.part)).scale;
            (arrangement.paper, scale)
        };
        assert_eq!(arranged(60.0, 90.0), (PORTRAIT, 1.0));
        assert_eq!(arranged(90.0, 60.0), (LANDSCAPE, 1.0));
        // At the full width or height of the paper, beside or below the block.
        assert_eq!(arranged(250.0, 30.0), (LANDSCAPE, 1.0));
        assert_eq!(arranged(30.0, 250.0), (PORTRAIT, 1.0));
    }
}
