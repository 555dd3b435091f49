//! The account of what is not taken as cut geometry.

use std::collections::BTreeMap;

use super::Ignored;

/// The layer of the cautions that stand beside exported paths: no part of a drawing.
pub const CAUTION_LAYER: &str = "caution - do not cut";

/// Text.
pub const TEXT: &str = "text is not cut";
/// Dimensions, leaders, tables.
pub const ANNOTATION: &str = "an annotation is not cut";
/// Hatches, solids.
pub const FILLING: &str = "a filled area has no cut line of its own";
/// Viewports, images.
pub const VIEW: &str = "a picture or view is not cut";
/// Rays and the like.
pub const ENDLESS: &str = "a construction line has no end";
/// Bodies, meshes and surfaces.
pub const BODY: &str = "a body or surface is no flat line";
/// Points.
pub const POINT: &str = "a point has no length";
/// Types that are not known.
pub const UNKNOWN: &str = "this type is not read";
/// On a layer that is off.
pub const OFF: &str = "its layer is off";
/// On a layer that is frozen.
pub const FROZEN: &str = "its layer is frozen";
/// Invisible by its own flag.
pub const INVISIBLE: &str = "it is marked invisible";
/// On a layout.
pub const PAPER_SPACE: &str = "it is on a paper-space layout";
/// Zero length or radius.
pub const NO_LENGTH: &str = "it has no length";
/// Not flat.
pub const NOT_FLAT: &str = "it does not lie flat";
/// An INSERT that cannot be followed.
pub const NOT_PLACED: &str = "its block cannot be placed";
/// A hidden spline that makes no sense.
pub const UNREADABLE: &str = "it is hidden, and makes no curve";

/// Counts what is left out, by type and reason.
#[derive(Default)]
pub(super) struct Account {
    rows: BTreeMap<String, BTreeMap<&'static str, IgnoredRow>>,
}

struct IgnoredRow {
    count: usize,
    first_line: usize,
}

impl Account {
    /// Counts one entity of type `kind` that begins at `line`.
    pub(super) fn add(&mut self, kind: &str, reason: &'static str, line: usize) {
        if !self.rows.contains_key(kind) {
            self.rows.insert(kind.to_owned(), BTreeMap::new());
        }
        if let Some(reasons) = self.rows.get_mut(kind) {
            let row = reasons.entry(reason).or_insert(IgnoredRow {
                count: 0,
                first_line: line,
            });
            row.count += 1;
            row.first_line = row.first_line.min(line);
        }
    }

    /// Takes the rows of another account.
    pub(super) fn append(&mut self, other: Self) {
        for (kind, reasons) in other.rows {
            let rows = self.rows.entry(kind).or_default();
            for (reason, more) in reasons {
                let row = rows.entry(reason).or_insert(IgnoredRow { count: 0, ..more });
                row.count += more.count;
                row.first_line = row.first_line.min(more.first_line);
            }
        }
    }

    /// Returns the rows, ordered by type and reason.
    pub(super) fn into_rows(self) -> Vec<Ignored> {
        let of_kind = |(kind, reasons): (String, BTreeMap<&'static str, IgnoredRow>)| {
            reasons.into_iter().map(move |(reason, row)| Ignored {
                kind: kind.clone(),
                count: row.count,
                reason: reason.to_owned(),
                first_line: row.first_line,
            })
        };
        self.rows.into_iter().flat_map(of_kind).collect()
    }
}

/// Why an entity of a type that holds no curve for us is left out.
pub(super) fn reason_of_type(kind: &str) -> &'static str {
    match kind {
        "TEXT" | "MTEXT" | "ATTRIB" | "ATTDEF" | "RTEXT" | "ARCALIGNEDTEXT" => TEXT,
        "DIMENSION"
        | "LARGE_RADIAL_DIMENSION"
        | "ARC_DIMENSION"
        | "LEADER"
        | "MULTILEADER"
        | "MLEADER"
        | "TOLERANCE"
        | "ACAD_TABLE" => ANNOTATION,
        "HATCH" | "MPOLYGON" | "SOLID" | "TRACE" | "WIPEOUT" => FILLING,
        "VIEWPORT" | "IMAGE" | "OLEFRAME" | "OLE2FRAME" | "PDFUNDERLAY" | "DWFUNDERLAY" | "DGNUNDERLAY"
        | "LIGHT" | "CAMERA" | "SUN" | "SECTION" | "GEOPOSITIONMARKER" | "POINTCLOUD" => VIEW,
        "XLINE" | "RAY" => ENDLESS,
        "3DFACE" | "3DSOLID" | "BODY" | "REGION" | "SURFACE" | "EXTRUDEDSURFACE" | "LOFTEDSURFACE"
        | "REVOLVEDSURFACE" | "SWEPTSURFACE" | "PLANESURFACE" | "NURBSURFACE" | "MESH" | "HELIX" => BODY,
        _ => UNKNOWN,
    }
}
