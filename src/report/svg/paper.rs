//! The paper: its size, its frame and its columns.

use super::sheet::Area;

/// A4, ISO 216, on its side or upright.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Paper {
    pub(super) width: f64,
    pub(super) height: f64,
}

pub(super) const LANDSCAPE: Paper = Paper {
    width: 297.0,
    height: 210.0,
};
pub(super) const PORTRAIT: Paper = Paper {
    width: 210.0,
    height: 297.0,
};

/// From the edge of the paper to the frame, mm, and from there to what it holds.
const EDGE: f64 = 5.0;
const PADDING: f64 = 2.0;
/// Between areas, mm.
pub(super) const BETWEEN: f64 = 3.0;
/// Height of the line on top of a second sheet, mm.
const HEAD: f64 = 6.0;
/// Narrowest column that holds the table of passes, mm.
pub(super) const COLUMN: f64 = 90.0;

impl Paper {
    /// All of a sheet; the sheets of a file lie one below the other.
    pub(super) fn area(self, sheet: usize) -> Area {
        Area::new(0.0, self.height * sheet as f64, self.width, self.height)
    }

    pub(super) fn frame(self, sheet: usize) -> Area {
        self.area(sheet).inset(EDGE, EDGE, EDGE, EDGE)
    }

    /// What lies within the frame.
    pub(super) fn content(self, sheet: usize) -> Area {
        self.frame(sheet).inset(PADDING, PADDING, PADDING, PADDING)
    }

    /// Where the line on top of a second sheet stands.
    pub(super) fn head(self, sheet: usize) -> Area {
        let area = self.content(sheet);
        Area::new(area.x, area.y, area.width, HEAD)
    }

    /// The columns of a second sheet.
    pub(super) fn columns(self, sheet: usize) -> Vec<Area> {
        columns(self.content(sheet).inset(0.0, HEAD, 0.0, 0.0))
    }
}

/// Divides an area into as many columns as are wide enough.
pub(super) fn columns(area: Area) -> Vec<Area> {
    let count = ((area.width + BETWEEN) / (COLUMN + BETWEEN)).floor().max(1.0);
    let width = (area.width - BETWEEN * (count - 1.0)) / count;
    let column = |i: usize| Area::new(area.x + i as f64 * (width + BETWEEN), area.y, width, area.height);
    (0..count as usize).map(column).collect()
}
