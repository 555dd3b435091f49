//! The test piece: for each pass a pin and an opening, side by side in one plate, that are left after that pass. In the last pass the wire's
//! centre runs round both on rectangles of the same width, so that scale and lost motion of the machine are the same in both sizes.

use std::io;

use super::readings::{Across, FEWEST_READINGS, GaugedHeight, GaugedWall, HEADINGS};
use crate::elementary::tan;
use crate::geometry::{Point, Polyline, Vertex};
use crate::id::PassNo;
use crate::job::{JobFile, JobPart, LeadShape, Purpose};
use crate::pass::{self, PassRequest, Schedule, schedule};
use crate::shop::{Book, GaugingErrors, TestPieceSizes};
use crate::units::UM_PER_MM;

/// The layer of the plate's outline.
const BLANK: &str = "BLANK";

/// A test piece.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct TestPiece {
    /// What it is cut with.
    pub request: PassRequest,
    /// Its passes.
    pub schedule: Schedule,
    /// Size of its pins, across x and y, mm.
    pub pin_mm: [f64; 2],
    /// What is drawn: the plate, and of each pass a pin and an opening.
    pub outlines: Vec<PieceOutline>,
}

/// A closed line of the drawing.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct PieceOutline {
    /// Its layer.
    pub layer: String,
    /// The line, counter-clockwise, mm.
    pub polyline: Polyline,
    /// Which wall it is, and the last pass that it is cut with; `None` of the plate.
    pub wall: Option<(GaugedWall, PassNo)>,
    /// Where the wire comes onto its path: at a corner that is not gauged, mm.
    pub entry: Point,
}

/// A height at which a wall is gauged across both pairs of flats.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct GaugingPlace {
    /// The pass that left it.
    pub pass: PassNo,
    /// Which wall.
    pub wall: GaugedWall,
    /// At which height.
    pub height: GaugedHeight,
    /// What the model expects across x and y, mm.
    pub expected_mm: [f64; 2],
}

impl TestPiece {
    /// How often each place is to be read at least.
    pub const READINGS: usize = FEWEST_READINGS;

    /// Makes the test piece of a request.
    ///
    /// # Errors
    /// Where the book has no passes for it.
    pub fn new(book: &Book, request: &PassRequest) -> Result<Self, pass::Error> {
        let schedule = schedule(book, request)?;
        let sizes = &book.test_piece;
        let pin_mm = [sizes.pin_x_mm.value(), sizes.pin_y_mm.value()];
        let last_mm = schedule.left_by(true).offset.value.expected;
        let outlines = outlines(sizes, pin_mm, last_mm, schedule.passes.len());
        Ok(Self {
            request: request.clone(),
            schedule,
            pin_mm,
            outlines,
        })
    }

    /// Returns the job that cuts it out of the drawing of this name: each pair is left after its pass, and the wire comes onto each path
    /// on a corner that is not gauged.
    pub fn job(&self, drawing: &str) -> JobFile {
        let mut job = JobFile {
            drawing: Some(drawing.to_owned()),
            ..self.request.job()
        };
        job.aim_mm = None;
        let count = self.schedule.passes.len();
        for outline in &self.outlines {
            let Some((wall, pass)) = outline.wall else {
                let blank = JobPart {
                    purpose: Some(Purpose::Blank),
                    ..JobPart::default()
                };
                job.layers.insert(outline.layer.clone(), blank);
                continue;
            };
            let part = JobPart {
                purpose: Some(match wall {
                    GaugedWall::Pin => Purpose::Part,
                    GaugedWall::Opening => Purpose::Opening,
                }),
                entry_mm: Some([outline.entry.x, outline.entry.y]),
                lead: (wall == GaugedWall::Pin).then_some(LeadShape::Corner),
                stop_after: (pass.number() < count).then_some(pass.number()),
                ..JobPart::default()
            };
            job.layers.insert(outline.layer.clone(), part);
        }
        job
    }

    /// Returns the layer on which a wall is drawn.
    pub fn layer_of(wall: GaugedWall, pass: PassNo) -> String {
        format!("{}-{pass}", wall.to_string().to_uppercase())
    }

    /// Returns the places to be gauged: each pair across both flats in the middle, that of the last pass at the top and bottom too.
    pub fn places(&self) -> Vec<GaugingPlace> {
        let count = self.schedule.passes.len();
        let last_mm = self.schedule.left_by(true).offset.value.expected;
        let mut places = Vec::new();
        for made in &self.schedule.passes {
            let heights: &[GaugedHeight] = if made.pass.number() == count {
                &GaugedHeight::ALL
            } else {
                &[GaugedHeight::Middle]
            };
            for wall in [GaugedWall::Pin, GaugedWall::Opening] {
                // What the pass leaves beside the line that is drawn.
                let left_mm = made.offset_mm - made.half_kerf_mm;
                let expected_mm = self.pin_mm.map(|pin_mm| match wall {
                    GaugedWall::Pin => pin_mm + 2.0 * left_mm,
                    GaugedWall::Opening => pin_mm + 4.0 * last_mm - 2.0 * left_mm,
                });
                places.extend(heights.iter().map(|&height| GaugingPlace {
                    pass: made.pass,
                    wall,
                    height,
                    expected_mm,
                }));
            }
        }
        places
    }

    /// Writes the file to be filled in, as CSV: what is known of the piece, and a row for each reading.
    ///
    /// # Errors
    /// What the writer says; writing to memory gives it no cause.
    pub fn form(&self, usual: &GaugingErrors) -> io::Result<Vec<u8>> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(HEADINGS.into_iter().chain(["expected_mm"]))?;
        let mut fact = |item: &str, pass: Option<PassNo>, value: &str| {
            let pass = pass.map_or_else(String::new, |pass| pass.to_string());
            writer.write_record([item, &pass, "", "", value, "", "", ""])
        };
        let PassRequest {
            material,
            thickness_mm,
            wire_mm,
            ..
        } = &self.request;
        fact("date", None, "")?;
        fact("material", None, material)?;
        fact("thickness_mm", None, &thickness_mm.to_string())?;
        fact("wire_mm", None, &wire_mm.to_string())?;
        fact(
            "wire_kind",
            None,
            self.request.wire_kind.as_deref().unwrap_or_default(),
        )?;
        fact(
            "machine",
            None,
            self.request.machine.as_deref().unwrap_or_default(),
        )?;
        for (item, value) in ["pin_x_mm", "pin_y_mm"].into_iter().zip(self.pin_mm) {
            fact(item, None, &value.to_string())?;
        }
        for made in &self.schedule.passes {
            fact("offset_mm", Some(made.pass), &format!("{:.6}", made.offset_mm))?;
        }
        for (item, number) in [
            ("outside_um", &usual.outside_um),
            ("inside_um", &usual.inside_um),
            ("inside_against_outside_um", &usual.inside_against_outside_um),
            ("temperature_k", &usual.temperature_k),
        ] {
            fact(item, None, &number.value().to_string())?;
        }
        for place in self.places() {
            for (across, expected_mm) in Across::ALL.into_iter().zip(place.expected_mm) {
                let words = [
                    place.wall.to_string(),
                    place.pass.to_string(),
                    across.to_string(),
                    place.height.to_string(),
                ];
                let expected = format!("{expected_mm:.4}");
                for _ in 0..Self::READINGS {
                    writer.write_record(words.iter().map(String::as_str).chain(["", "", "", &expected]))?;
                }
            }
        }
        let expected = |value: f64| format!("{value:.4}");
        for _ in 0..Self::READINGS {
            writer.write_record(["wire_read_mm", "", "", "", "", "", "", &expected(*wire_mm)])?;
        }
        for made in &self.schedule.passes {
            for _ in 0..Self::READINGS {
                writer.write_record(["ra_um", &made.pass.to_string(), "", "", "", "", "", ""])?;
            }
        }
        writer
            .into_inner()
            .map_err(|error| io::Error::other(error.to_string()))
    }
}

/// The plate and its pairs: a row of pin and opening for each pass, that of the last pass on top. All corners of the openings are rounded
/// but one of the last pass.
fn outlines(sizes: &TestPieceSizes, pin_mm: [f64; 2], last_mm: f64, passes: usize) -> Vec<PieceOutline> {
    let (web_mm, radius_mm) = (sizes.web_mm.value(), sizes.inside_radius_mm.value());
    let opening_mm = pin_mm.map(|mm| mm + 4.0 * last_mm);
    let row_mm = opening_mm[1] + web_mm;
    let plate_mm = [
        pin_mm[0] + opening_mm[0] + 3.0 * web_mm,
        passes as f64 * row_mm + web_mm,
    ];
    let mut outlines = vec![PieceOutline {
        layer: BLANK.to_owned(),
        polyline: rectangle(Point::default(), plate_mm, [0.0; 4]),
        wall: None,
        entry: Point::default(),
    }];
    for i in (0..passes).rev() {
        let pass = PassNo::from_index(i);
        let middle_mm = web_mm + i as f64 * row_mm + 0.5 * opening_mm[1];
        let mut add = |wall: GaugedWall, x_mm: f64, size_mm: [f64; 2], radii_mm: [f64; 4]| {
            let corner = Point::new(x_mm, middle_mm - 0.5 * size_mm[1]);
            outlines.push(PieceOutline {
                layer: TestPiece::layer_of(wall, pass),
                polyline: rectangle(corner, size_mm, radii_mm),
                wall: Some((wall, pass)),
                entry: middle_of_corner(corner, radii_mm[0]),
            });
        };
        let mut radii_mm = [radius_mm; 4];
        if i + 1 == passes {
            radii_mm[2] = 0.0;
        }
        add(GaugedWall::Pin, web_mm, pin_mm, [0.0; 4]);
        add(
            GaugedWall::Opening,
            pin_mm[0] + 2.0 * web_mm,
            opening_mm,
            radii_mm,
        );
    }
    outlines
}

/// A rectangle, counter-clockwise from its lower left corner; each corner may be rounded.
fn rectangle(corner: Point, [width_mm, height_mm]: [f64; 2], radii_mm: [f64; 4]) -> Polyline {
    let quarter = tan(std::f64::consts::FRAC_PI_8);
    let corners = [
        (0.0, 0.0),
        (width_mm, 0.0),
        (width_mm, height_mm),
        (0.0, height_mm),
    ];
    // Where the line comes from at each corner, and where it goes.
    let ways = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
    let mut vertices = Vec::new();
    for (i, ((x_mm, y_mm), radius_mm)) in corners.into_iter().zip(radii_mm).enumerate() {
        let at = |(x, y): (f64, f64), by_mm: f64| {
            Point::new(corner.x + x_mm + x * by_mm, corner.y + y_mm + y * by_mm)
        };
        if radius_mm > 0.0 {
            vertices.push(Vertex {
                at: at(ways[i], -radius_mm),
                bulge: quarter,
            });
        }
        vertices.push(Vertex {
            at: at(ways[i + 1], radius_mm),
            bulge: 0.0,
        });
    }
    Polyline {
        vertices,
        closed: true,
    }
}

/// The middle of a lower left corner that may be rounded, as a job file is given it.
fn middle_of_corner(corner: Point, radius_mm: f64) -> Point {
    let in_mm = radius_mm * (1.0 - std::f64::consts::FRAC_1_SQRT_2);
    let written = |mm: f64| (mm * UM_PER_MM).round() / UM_PER_MM;
    Point::new(written(corner.x + in_mm), written(corner.y + in_mm))
}
