//! Places on the sheet, and the bits every picture is made of. Sheet units are millimetres on A4, y down.

use svg::Document;
use svg::node::element::{Group, Line, Path, Rectangle, Style, Text, Title};

use super::style::style_sheet;
use super::text::{BOLD, fitted};
use crate::cancel::checkpoint;
use crate::elementary::{log10, powf};
use crate::message::number::{plain_lines, short};

/// Width of the sheet, mm (A4, ISO 216, laid on its side).
pub(super) const WIDTH: f64 = 297.0;
/// Height of the sheet, mm.
pub(super) const HEIGHT: f64 = 210.0;

/// Sizes of letters, mm: capitals of 2.5 mm in print for what is read at the machine, of 1.8 mm for the rest. Capitals are 0.7 of the size.
pub(super) const LARGE: f64 = 3.6;
pub(super) const SMALL: f64 = 2.6;

/// A place on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SheetSpot {
    pub(super) x: f64,
    pub(super) y: f64,
}

/// An upright rectangle of the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Area {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

/// Where a text stands relative to its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

pub(super) const fn spot(x: f64, y: f64) -> SheetSpot {
    SheetSpot { x, y }
}

impl Area {
    pub(super) const fn new(x: f64, y: f64, width: f64, height: f64) -> Self {
        Self { x, y, width, height }
    }

    pub(super) fn right(self) -> f64 {
        self.x + self.width
    }

    pub(super) fn bottom(self) -> f64 {
        self.y + self.height
    }

    pub(super) fn center(self) -> SheetSpot {
        spot(self.x + self.width / 2.0, self.y + self.height / 2.0)
    }

    /// Smaller by these margins.
    pub(super) fn inset(self, left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self::new(
            self.x + left,
            self.y + top,
            self.width - left - right,
            self.height - top - bottom,
        )
    }

    /// Path data of its outline.
    pub(super) fn data(self) -> String {
        let (x, y) = (coordinate(self.x), coordinate(self.y));
        let (right, bottom) = (coordinate(self.right()), coordinate(self.bottom()));
        format!("M{x} {y}L{right} {y}L{right} {bottom}L{x} {bottom}Z")
    }

    pub(super) fn overlaps(self, other: Self) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.bottom() && other.y < self.bottom()
    }

    pub(super) fn contains(self, other: Self) -> bool {
        other.x >= self.x
            && other.y >= self.y
            && other.right() <= self.right()
            && other.bottom() <= self.bottom()
    }
}

/// Returns a coordinate as written: ten-thousandths of a millimetre of the sheet.
pub(super) fn coordinate(value: f64) -> String {
    checkpoint();
    short(value, 4)
}

pub(super) fn group(id: &str) -> Group {
    Group::new().set("id", id)
}

pub(super) fn line(class: &str, from: SheetSpot, to: SheetSpot) -> Line {
    Line::new()
        .set("class", class)
        .set("x1", coordinate(from.x))
        .set("y1", coordinate(from.y))
        .set("x2", coordinate(to.x))
        .set("y2", coordinate(to.y))
}

pub(super) fn rectangle(class: &str, area: Area) -> Rectangle {
    Rectangle::new()
        .set("class", class)
        .set("x", coordinate(area.x))
        .set("y", coordinate(area.y))
        .set("width", coordinate(area.width))
        .set("height", coordinate(area.height))
}

/// Draws a path with a hover text.
pub(super) fn path(class: &str, data: String, hover: Option<String>) -> Path {
    let path = Path::new().set("class", class).set("d", data);
    match hover {
        Some(hover) => path.add(title(&hover)),
        None => path,
    }
}

/// Returns what is shown while the pointer rests on a shape: lines that may hold a stranger's names.
pub(super) fn title(hover: &str) -> Title {
    Title::new(plain_lines(hover))
}

/// How words are written.
#[derive(Clone, Copy)]
pub(super) struct Lettering<'c> {
    class: &'c str,
    /// Size of the letters, mm.
    size: f64,
    anchor: Anchor,
}

impl<'c> Lettering<'c> {
    /// From their place to the right.
    pub(super) const fn new(class: &'c str, size: f64) -> Self {
        Self::anchored(Anchor::Start, class, size)
    }

    /// To both sides of their place.
    pub(super) const fn middle(class: &'c str, size: f64) -> Self {
        Self::anchored(Anchor::Middle, class, size)
    }

    /// To the left of their place.
    pub(super) const fn end(class: &'c str, size: f64) -> Self {
        Self::anchored(Anchor::End, class, size)
    }

    pub(super) const fn anchored(anchor: Anchor, class: &'c str, size: f64) -> Self {
        Self { class, size, anchor }
    }

    /// Writes words on the line at `at`, shortened so that they are at most `room` mm wide.
    pub(super) fn write(self, at: SheetSpot, room: f64, words: &str) -> Text {
        let is_bold = self.class.contains("strong");
        let room = if is_bold { room / BOLD } else { room };
        let text = Text::new(fitted(words, self.size, room))
            .set("class", self.class)
            .set("x", coordinate(at.x))
            .set("y", coordinate(at.y))
            .set("font-size", coordinate(self.size));
        match self.anchor {
            Anchor::Start => text,
            Anchor::Middle => text.set("text-anchor", "middle"),
            Anchor::End => text.set("text-anchor", "end"),
        }
    }

    /// As [`Self::write`], with `at` half as high as its letters.
    pub(super) fn write_level(self, at: SheetSpot, room: f64, words: &str) -> Text {
        self.write(spot(at.x, at.y + self.size * 0.36), room, words)
    }
}

/// Draws a filled arrow head whose tip is at `tip`, pointing along (`dx`, `dy`), a unit vector of the sheet.
pub(super) fn arrow_head(class: &str, tip: SheetSpot, (dx, dy): (f64, f64), length: f64) -> Path {
    let half = length * 0.28;
    let (bx, by) = (tip.x - dx * length, tip.y - dy * length);
    let corner = |side: f64| {
        format!(
            "{} {}",
            coordinate(bx - dy * half * side),
            coordinate(by + dx * half * side)
        )
    };
    let tip = format!("{} {}", coordinate(tip.x), coordinate(tip.y));
    path(
        class,
        format!("M{tip} L{} L{} Z", corner(1.0), corner(-1.0)),
        None,
    )
}

/// Returns the longest of 1, 2 and 5 times a power of ten that is at most `limit`.
pub(super) fn round_length(limit: f64) -> f64 {
    let decade = powf(10f64, log10(limit).floor());
    [5.0, 2.0]
        .map(|step| step * decade)
        .into_iter()
        .find(|&length| length <= limit)
        .unwrap_or(decade)
}

/// Returns a picture that needs nothing else, as large as `room` in millimetres.
pub(super) fn picture(room: Area, name: &str, style: &str) -> Document {
    Document::new()
        .set("viewBox", view_box(room))
        .set("width", format!("{}mm", coordinate(room.width)))
        .set("height", format!("{}mm", coordinate(room.height)))
        .set("role", "img")
        .add(title(name))
        .add(Style::new(style_sheet() + style))
}

/// A picture that holds only `drawn`.
pub(super) fn alone(room: Area, drawn: Group) -> String {
    Document::new()
        .set("viewBox", view_box(room))
        .add(drawn)
        .to_string()
}

pub(super) fn view_box(room: Area) -> String {
    [room.x, room.y, room.width, room.height]
        .map(coordinate)
        .join(" ")
}
