//! Reads the job of a request from its header.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::ASK_HEADER;
use super::head::RequestHead;
use super::refusal::RequestRefusal;
use super::typed::set_typed;
use crate::job::{DrawingSize, JobFile};
use crate::report::Lengths;

/// Longest name of a drawing that is kept, characters.
const LONGEST_NAME: usize = 120;

/// Longest text of the job, bytes.
pub(super) const LONGEST_ASK: usize = 64 << 10;

/// Largest drawing that the page takes, once its blocks are expanded.
const LARGEST_DRAWN: DrawingSize = DrawingSize {
    segments: 1_000_000,
    contours: 100_000,
};

/// The name of the drawing in the body of a request, and its job.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PageRequest {
    /// Name of the drawing, for the reports; never a path.
    #[serde(default)]
    pub(super) file: String,
    /// The job, with the keys of a job file.
    #[serde(default)]
    pub(super) job: JobFile,
    /// What was typed for keys of the job, to be read as on the command line; a length without a unit is in the unit shown.
    #[serde(default)]
    pub(super) typed: BTreeMap<String, String>,
    /// The job is for several drawings, so that one of them may lack what it names.
    #[serde(default)]
    several: bool,
    /// What is shown is in inches.
    #[serde(default)]
    inch: bool,
}

impl PageRequest {
    /// Reads the header.
    pub(super) fn of(head: RequestHead<'_>) -> Result<Self, RequestRefusal> {
        let header = head
            .headers
            .get(ASK_HEADER)
            .ok_or_else(RequestRefusal::nothing_asked)?;
        if header.len() > LONGEST_ASK {
            return Err(RequestRefusal::asked_too_much(LONGEST_ASK));
        }
        let mut ask: Self = serde_json::from_slice(header.as_bytes())
            .map_err(|error| RequestRefusal::ask_unreadable(&error.to_string()))?;
        let lengths = ask.lengths();
        set_typed(&mut ask.job, &ask.typed, lengths)?;
        ask.job.largest = LARGEST_DRAWN;
        ask.file = base_name(&ask.file);
        if ask.several {
            ask.job.may_miss = ask.job.names();
        }
        Ok(ask)
    }

    /// Returns the unit of what is shown.
    pub(super) const fn lengths(&self) -> Lengths {
        if self.inch { Lengths::Inch } else { Lengths::Mm }
    }
}

/// Returns the last part of a name, without what could steer a terminal or break a line.
fn base_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last
        .chars()
        .filter(|c| !c.is_control())
        .take(LONGEST_NAME)
        .collect();
    let plain = plain.trim();
    if plain.is_empty() {
        "drawing.dxf".into()
    } else {
        plain.into()
    }
}

#[cfg(test)]
mod tests {
    use http::Request;

    use super::*;
    use crate::plan::{Error, Planner};
    use crate::shop::Book;

    #[test]
    fn a_drawing_has_a_largest_size() {
        let asked = Request::builder()
            .header(ASK_HEADER, "{}")
            .body(())
            .expect("a request");
        let asked = PageRequest::of((&asked).into()).expect("it asks nothing");
        assert_eq!(
            (asked.job.largest.segments, asked.job.largest.contours),
            (1_000_000, 100_000)
        );
        // A plate of 201 loops: 4 lines, and circles of 2 arcs each.
        let plate = include_bytes!("../../fixtures/shapes/plate-200-holes.dxf");
        let book = Book::built_in().expect("the built-in book is sound");
        let inspected = |segments, contours| {
            let largest = DrawingSize { segments, contours };
            let job = JobFile {
                largest,
                ..JobFile::default()
            };
            Planner::new(&book).job(&job).inspect("plate.dxf", plate)
        };
        assert!(inspected(408, 201).is_ok());
        for (segments, contours, what) in [(407, 201, "408 segments"), (408, 200, "201 contours")] {
            let refused = inspected(segments, contours).expect_err("it is too large");
            assert!(matches!(refused, Error::TooLarge { .. }));
            assert!(refused.to_string().contains(what), "{refused}");
        }
    }

    #[test]
    fn a_name_is_never_a_path() {
        assert_eq!(base_name("../../etc/passwd"), "passwd");
        assert_eq!(base_name("C:\\shop\\die.dxf"), "die.dxf");
        assert_eq!(base_name("die\u{1b}[2J.dxf"), "die[2J.dxf");
        assert_eq!(base_name("shop/"), "drawing.dxf");
        assert_eq!(base_name(&"x".repeat(1000)).len(), LONGEST_NAME);
    }
}
