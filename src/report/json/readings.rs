use std::collections::BTreeMap;

use serde::Serialize;

use super::SCHEMA;
use super::sections::{SectionRow, section_rows};
use crate::gauge::{Drift, Gauging};
use crate::report::{Lengths, svg, view};

/// What the page shows of readings.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct ReadingsDocument {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    /// What they say, set.
    sections: Vec<SectionRow>,
    /// Pictures by name, SVG.
    pictures: BTreeMap<&'static str, String>,
    /// What goes into the shop's book, TOML; null where nothing does.
    book: Option<String>,
}

impl ReadingsDocument {
    pub(super) fn of_test_piece(gauging: &Gauging, book: String, lengths: Lengths) -> Self {
        Self {
            schema: SCHEMA,
            sections: section_rows(&view::gauged(gauging), lengths),
            pictures: BTreeMap::new(),
            book: Some(book),
        }
    }

    pub(super) fn of_walls(drift: &Drift, lengths: Lengths) -> Self {
        Self {
            schema: SCHEMA,
            sections: section_rows(&view::drifting(drift, |_| None), lengths),
            pictures: BTreeMap::from([("control_charts", svg::control_charts_alone(drift))]),
            book: None,
        }
    }
}
