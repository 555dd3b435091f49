//! Words, rows and small pictures one below the other: down the columns of the title block, then down those of as many further sheets as
//! it takes. Nothing is left out for want of room.

use std::collections::VecDeque;
use std::mem;

use svg::Node;
use svg::node::element::Group;

use super::paper::Paper;
use super::sheet::{Area, Lettering, group, spot};
use super::text::{BOLD, line_of, width, wrapped};
use crate::message::number::plain;

/// Height of a line, as a share of the size of its letters.
const LINE: f64 = 1.32;

/// So many lines are not torn apart.
const WHOLE: usize = 8;

/// Columns that are being filled.
pub(super) struct Flow {
    paper: Paper,
    /// Those of the sheet that is being filled, the current one first.
    columns: VecDeque<Area>,
    /// How far the current one is filled.
    y: f64,
    /// The sheets that are full.
    full: Vec<Group>,
    sheet: Group,
    /// What is being written: its name, how many sheets it began on before, and what of it stands on this one.
    section: Option<(String, usize, Group)>,
}

/// Returns the height of a line of letters of some size.
pub(super) fn line_height(size: f64) -> f64 {
    size * LINE
}

impl Flow {
    /// Begins in the columns of the first sheet; there is one at least.
    pub(super) fn new(paper: Paper, columns: Vec<Area>) -> Self {
        Self {
            paper,
            y: columns[0].y,
            columns: columns.into(),
            full: Vec::new(),
            sheet: Group::new(),
            section: None,
        }
    }

    fn column(&self) -> Area {
        self.columns[0]
    }

    pub(super) fn width(&self) -> f64 {
        self.column().width
    }

    /// Returns the height that is left in the column.
    pub(super) fn left(&self) -> f64 {
        self.column().bottom() - self.y
    }

    fn is_fresh(&self) -> bool {
        self.y <= self.column().y
    }

    /// Goes on in the next column where less than this is left.
    pub(super) fn keep(&mut self, height: f64) {
        if self.left() < height && !self.is_fresh() {
            self.next_column();
        }
    }

    /// Goes on at the top of the next column, of a new sheet if need be.
    fn next_column(&mut self) {
        self.columns.pop_front();
        if self.columns.is_empty() {
            let section = self.section.take();
            if let Some((name, part, drawn)) = section {
                self.sheet.append(drawn);
                self.section = Some(Self::begun(name, part + 1));
            }
            self.full.push(mem::replace(&mut self.sheet, Group::new()));
            self.columns = self.paper.columns(self.full.len()).into();
        }
        self.y = self.column().y;
    }

    /// Takes a stretch of the column.
    pub(super) fn room(&mut self, height: f64) -> Area {
        self.keep(height);
        let column = self.column();
        let area = Area::new(column.x, self.y, column.width, height);
        self.y += height;
        area
    }

    /// Leaves a gap, but not on top of a column.
    pub(super) fn gap(&mut self, height: f64) {
        if !self.is_fresh() {
            self.y += height;
        }
    }

    fn begun(name: String, part: usize) -> (String, usize, Group) {
        let id = if part == 0 {
            name.clone()
        } else {
            format!("{name}-{}", part + 1)
        };
        let drawn = group(&id);
        (name, part, drawn)
    }

    /// Begins what has a name.
    pub(super) fn begin(&mut self, name: &str) {
        self.end();
        self.section = Some(Self::begun(name.to_owned(), 0));
    }

    fn end(&mut self) {
        if let Some((.., drawn)) = self.section.take() {
            self.sheet.append(drawn);
        }
    }

    pub(super) fn put<T: Into<Box<dyn Node>>>(&mut self, node: T) {
        match &mut self.section {
            Some((.., drawn)) => drawn.append(node),
            None => self.sheet.append(node),
        }
    }

    /// Puts what has its place already on the sheet that is being filled.
    pub(super) fn put_alone(&mut self, drawn: Option<Group>) {
        self.end();
        if let Some(drawn) = drawn {
            self.sheet.append(drawn);
        }
    }

    /// Writes words in as many lines as it takes, `indent` from the left.
    pub(super) fn words(&mut self, class: &str, size: f64, indent: f64, words: &str) {
        self.lines(None, (class, size), indent, words);
    }

    /// As [`Self::words`], where these stand for so many labels of a kind.
    pub(super) fn labelled(&mut self, label: (&str, usize), letters: (&str, f64), indent: f64, words: &str) {
        self.lines(Some(label), letters, indent, words);
    }

    fn lines(
        &mut self,
        mut label: Option<(&str, usize)>,
        (class, size): (&str, f64),
        indent: f64,
        words: &str,
    ) {
        let words = plain(words);
        let mut rest = words.trim();
        let wider = if class.contains("strong") { BOLD } else { 1.0 };
        let lines = wrapped(rest, size, (self.width() - indent) / wider).len();
        self.keep(lines.min(WHOLE) as f64 * line_height(size));
        while !rest.is_empty() {
            let area = self.room(line_height(size));
            let room = area.width - indent;
            let (line, after) = line_of(rest, size, room / wider);
            let at = spot(area.x + indent, area.y + size);
            let text = Lettering::new(class, size).write(at, room, line);
            self.put(match label.take() {
                Some((kind, count)) => text.set("data-label", kind).set("data-count", count),
                None => text,
            });
            rest = after;
        }
    }

    /// Writes a name and, beside it, what it is.
    pub(super) fn named(&mut self, name: (&str, f64), size: f64, class: &str, words: &str) {
        let words = if words.trim().is_empty() { "–" } else { words };
        self.name(name, size, class, words);
        self.lines(None, ("", size), name.1, words);
    }

    /// Writes a number in bold and, beside it, what stands for so many labels of a kind.
    pub(super) fn labelled_row(&mut self, label: (&str, usize), number: (&str, f64), size: f64, words: &str) {
        self.name(number, size, "strong", words);
        self.lines(Some(label), ("", size), number.1, words);
    }

    fn name(&mut self, (name, room): (&str, f64), size: f64, class: &str, words: &str) {
        let lines = wrapped(words, size, self.width() - room).len().max(1);
        self.keep(lines.min(WHOLE) as f64 * line_height(size));
        let at = spot(self.column().x, self.y + size);
        self.put(Lettering::new(class, size).write(at, room, name));
    }

    /// Returns what stands on each sheet.
    pub(super) fn finish(mut self) -> Vec<Group> {
        self.end();
        self.full.push(self.sheet);
        self.full
    }
}

/// Returns the room that the widest of some names takes, with a gap after it.
pub(super) fn indent_of<'a>(names: impl Iterator<Item = &'a str>, size: f64) -> f64 {
    names.map(|name| BOLD * width(name, size)).fold(0.0, f64::max) + 0.4 * size
}
