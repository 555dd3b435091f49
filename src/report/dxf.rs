//! The wire's paths as DXF, in the unit of the drawing: polylines with bulges, closed but for those of open cuts, each kind of thing on a
//! layer that says in plain words what it is.

use std::io::{self, Write};

use chrono::{DateTime, Local, TimeZone};
use dxf_crate::entities::{Circle, Entity, EntityType, LwPolyline, ModelPoint, Text};
use dxf_crate::enums::{AcadVersion, Units};
use dxf_crate::tables::Layer;
use dxf_crate::{Color, Drawing, LwPolylineVertex, Point};

use crate::cancel::checkpoint;
use crate::drawing::ignored::CAUTION_LAYER;
use crate::gauge::TestPiece;
use crate::geometry::{self, Bounds, Polyline};
use crate::id::PassNo;
use crate::job::Purpose;
use crate::plan::Plan;
use crate::process::{BlankOrigin, StartOrigin};
use crate::report::cautions::cautions_in_short;
use crate::report::inks;
use crate::tolerance::WRITTEN_AS_ZERO;

/// So many entities and vertices are in memory at once: the crate takes some 4 kB to write an entity and 500 bytes a vertex.
const AT_ONCE: usize = 2048;

/// Whether the cautions stand beside the paths, as texts on a layer of their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CautionText {
    /// Below everything that is drawn.
    Written,
    /// For a reader that takes no texts.
    LeftOut,
}

/// Returns a plan's paths as an ASCII DXF file (R2000). The same plan gives the same bytes.
///
/// # Errors
/// What the writer says; writing to memory gives it no cause.
pub fn plan(plan: &Plan) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    write_plan(plan, CautionText::Written, &mut bytes)?;
    Ok(bytes)
}

/// As [`plan`], so many entities at a time.
///
/// # Errors
/// Those of `out`, and what the writer says.
pub fn write_plan(plan: &Plan, caution: CautionText, out: &mut dyn Write) -> io::Result<()> {
    write_in_parts(plan, caution, AT_ONCE, out)
}

/// Returns the drawing of a test piece as an ASCII DXF file (R2000), in millimetres. The same piece gives the same bytes.
///
/// # Errors
/// What the writer says; writing to memory gives it no cause.
pub fn test_piece(piece: &TestPiece) -> io::Result<Vec<u8>> {
    let mut sheet = DxfSheet {
        drawing: empty(Units::Millimeters),
        held: 0,
        at_once: usize::MAX,
        out: &mut io::sink(),
        after: 0,
        per_mm: 1.0,
    };
    for outline in &piece.outlines {
        let colour = outline
            .wall
            .map_or(inks::BLANK.dxf, |(_, pass)| pass_colour(pass));
        sheet.layer(&outline.layer, colour);
        sheet.polyline(&outline.layer, &outline.polyline)?;
    }
    saved(&sheet.drawing)
}

/// The crate writes whole files, and takes ten times their size for it. So the file is first made without its entities, to have what stands
/// around them, and they are taken from files of `at_once` each.
fn write_in_parts(plan: &Plan, caution: CautionText, at_once: usize, out: &mut dyn Write) -> io::Result<()> {
    let frame = saved(
        &DxfSheet::new(plan, 0, &mut io::sink(), 0)
            .drawn(plan, caution)?
            .drawing,
    )?;
    let begin = begin_of_entities(&frame)?;
    out.write_all(&frame[..begin])?;
    let after = &frame[begin..];
    DxfSheet::new(plan, at_once, out, after.len())
        .drawn(plan, caution)?
        .write_entities()?;
    out.write_all(after)
}

fn saved(drawing: &Drawing) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let done = drawing.save(&mut bytes);
    done.map_err(|error| io::Error::other(error.to_string()))?;
    Ok(bytes)
}

fn begin_of_entities(file: &[u8]) -> io::Result<usize> {
    const HEAD: &[u8] = b"\r\n  2\r\nENTITIES\r\n";
    let found = file.windows(HEAD.len()).position(|part| part == HEAD);
    found
        .map(|at| at + HEAD.len())
        .ok_or_else(|| io::Error::other("the writer has made no section of entities"))
}

/// A drawing with nothing in it.
fn empty(units: Units) -> Drawing {
    let mut drawing = Drawing::new();
    let header = &mut drawing.header;
    header.version = AcadVersion::R2000;
    // The crate puts the clock and chance into these six.
    // The local midnight that the writer counts from is the same number in every time zone.
    let no_date = Local
        .with_ymd_and_hms(1900, 1, 1, 0, 0, 0)
        .earliest()
        .unwrap_or_default();
    header.creation_date = no_date;
    header.creation_date_universal = DateTime::default();
    header.update_date = no_date;
    header.update_date_universal = DateTime::default();
    // The nil identifier: the type's crate is not ours to name.
    header.fingerprint_guid = <_>::default();
    header.version_guid = <_>::default();
    header.default_drawing_units = units;
    drawing
}

/// Returns the drawing's unit where the format has a code for it that readers know, else millimetres.
fn units(plan: &Plan) -> (Units, f64) {
    let units = &plan.inspection.drawing.units;
    let known = match units.name {
        "inch" => Units::Inches,
        "foot" => Units::Feet,
        "cm" => Units::Centimeters,
        "m" => Units::Meters,
        "um" => Units::Microns,
        "mil" => Units::Mils,
        _ => return (Units::Millimeters, 1.0),
    };
    (known, units.factor_to_mm)
}

/// A drawing being filled: its layers, and the entities that are not written yet.
struct DxfSheet<'o> {
    drawing: Drawing,
    /// Entities and vertices in it.
    held: usize,
    /// How many are written at a time; 0: entities are only counted.
    at_once: usize,
    /// Where they are written.
    out: &'o mut dyn Write,
    /// Length of what stands after them in a file.
    after: usize,
    /// Drawing units in a millimetre.
    per_mm: f64,
}

impl<'o> DxfSheet<'o> {
    fn new(plan: &Plan, at_once: usize, out: &'o mut dyn Write, after: usize) -> Self {
        Self {
            drawing: empty(units(plan).0),
            held: 0,
            at_once,
            out,
            after,
            per_mm: 1.0 / units(plan).1,
        }
    }

    fn drawn(mut self, plan: &Plan, caution: CautionText) -> io::Result<Self> {
        self.contours(plan)?;
        self.wires(plan)?;
        self.starts(plan)?;
        self.handling(plan)?;
        self.unreached(plan)?;
        if caution == CautionText::Written {
            self.cautions(plan)?;
        }
        Ok(self)
    }

    /// Writes the entities that are held. Their layers stay, and the handles go on.
    fn write_entities(&mut self) -> io::Result<()> {
        let file = saved(&self.drawing)?;
        self.out
            .write_all(&file[begin_of_entities(&file)?..file.len() - self.after])?;
        for i in (0..self.drawing.entities().count()).rev() {
            self.drawing.remove_entity(i);
        }
        self.held = 0;
        Ok(())
    }

    /// Everything that bounds material, and start holes, as drawn.
    fn contours(&mut self, plan: &Plan) -> io::Result<()> {
        for contour in &plan.inspection.contours.list {
            let (layer, colour) = match contour.purpose {
                Purpose::Cut | Purpose::Part | Purpose::Opening | Purpose::Slit | Purpose::Trim => {
                    ("contour to be cut", inks::CONTOUR.dxf)
                }
                Purpose::Existing => ("contour already machined", inks::CONTOUR.dxf),
                Purpose::NotNow => ("contour not cut this time", inks::CONTOUR.dxf),
                Purpose::StartHole | Purpose::ReadyHole => ("start hole", inks::START.dxf),
                Purpose::Blank => ("outline of the blank", inks::BLANK.dxf),
                Purpose::Frame | Purpose::Thread | Purpose::Reference | Purpose::Ignore => continue,
            };
            self.layer(layer, colour);
            self.polyline(layer, &contour.polyline)?;
        }
        Ok(())
    }

    /// The wire's centre, one layer a pass.
    fn wires(&mut self, plan: &Plan) -> io::Result<()> {
        for wire in &plan.toolpaths.loops {
            let group = if plan.groups.len() > 1 {
                format!("group {} ", wire.group)
            } else {
                String::new()
            };
            let layer = format!("wire centre {group}pass {} - machine compensation off", wire.pass);
            self.layer(&layer, pass_colour(wire.pass));
            self.polyline(&layer, &wire.polyline)?;
        }
        Ok(())
    }

    /// Start holes, and the ways of the wire on and off each pass.
    fn starts(&mut self, plan: &Plan) -> io::Result<()> {
        const HOLE: &str = "start hole - drill it and thread the wire here";
        const EDGE: &str = "start at the edge of the blank - thread the wire here";
        const AIR: &str = "start in air - thread the wire here";
        for start in &plan.process.starts.list {
            let at = self.point(start.at);
            let center = Point::new(at.x, at.y, 0.0);
            if let Some(hole_mm) = start.hole_mm {
                self.layer(HOLE, inks::START.dxf);
                self.add(
                    HOLE,
                    EntityType::Circle(Circle::new(center, 0.5 * hole_mm * self.per_mm)),
                )?;
            } else {
                let layer = if start.origin == StartOrigin::Air {
                    AIR
                } else {
                    EDGE
                };
                self.layer(layer, inks::START.dxf);
                self.add(layer, EntityType::ModelPoint(ModelPoint::new(center)))?;
            }
        }
        for (wire, run) in plan.toolpaths.loops.iter().zip(&plan.process.leads) {
            for (doing, lead) in [("lead-in", &run.lead_in), ("lead-out", &run.lead_out)] {
                // An open cut that begins and ends in air has none.
                if lead.vertices.is_empty() {
                    continue;
                }
                let layer = format!(
                    "{doing} of pass {} - wire centre - machine compensation off",
                    wire.pass
                );
                self.layer(&layer, pass_colour(wire.pass));
                self.polyline(&layer, lead)?;
            }
        }
        Ok(())
    }

    /// The blank where the drawing does not show it, tabs and last stretches, and the ways by which slugs are cleared away.
    fn handling(&mut self, plan: &Plan) -> io::Result<()> {
        const BLANK: &str = "outline of the blank";
        const TAB: &str = "tab - uncut until the attended stop";
        const LAST_STRETCH: &str = "last stretch - uncut until the attended stop";
        const CORELESS: &str = "coreless removal - wire centre - machine compensation off";
        let process = &plan.process;
        if let Some(blank) = process
            .blank
            .as_ref()
            .filter(|blank| blank.origin != BlankOrigin::Drawn)
        {
            self.layer(BLANK, inks::BLANK.dxf);
            self.polyline(BLANK, &blank.outline)?;
        }
        for separation in &process.separations {
            if let Some(uncut) = separation.uncut() {
                let layer = if separation.tab().is_some() {
                    TAB
                } else {
                    LAST_STRETCH
                };
                self.layer(layer, inks::TAB.dxf);
                self.polyline(layer, &uncut.run)?;
            }
            if let Some(coreless) = separation
                .coreless()
                .filter(|coreless| !coreless.rings.is_empty())
            {
                self.layer(CORELESS, inks::CORELESS.dxf);
                self.polyline(CORELESS, &coreless.run)?;
            }
        }
        Ok(())
    }

    fn unreached(&mut self, plan: &Plan) -> io::Result<()> {
        const LAYER: &str = "place that the wire does not reach";
        for place in &plan.toolpaths.unreached {
            self.layer(LAYER, inks::UNREACHED.dxf);
            let at = self.point(place.at);
            self.add(
                LAYER,
                EntityType::ModelPoint(ModelPoint::new(Point::new(at.x, at.y, 0.0))),
            )?;
        }
        Ok(())
    }

    /// The cautions in short, below everything else and clear of it.
    fn cautions(&mut self, plan: &Plan) -> io::Result<()> {
        const SHARE_OF_SIZE: f64 = 0.02;
        const LEAST_MM: f64 = 1.0;
        const LINE: f64 = 1.8;
        let bounds = drawn_bounds(plan);
        if bounds.is_empty() {
            return Ok(());
        }
        let height_mm = (SHARE_OF_SIZE * bounds.width().max(bounds.height())).max(LEAST_MM);
        self.layer(CAUTION_LAYER, 1);
        for (line, words) in (2..).zip(cautions_in_short(plan)) {
            let below_mm = f64::from(line) * LINE * height_mm;
            let at = self.point(geometry::Point::new(bounds.min.x, bounds.min.y - below_mm));
            let text = Text {
                location: Point::new(at.x, at.y, 0.0),
                text_height: written(height_mm * self.per_mm),
                value: words.into_owned(),
                ..Text::default()
            };
            self.add(CAUTION_LAYER, EntityType::Text(text))?;
        }
        Ok(())
    }

    fn layer(&mut self, name: &str, colour: u8) {
        if self.drawing.layers().all(|layer| layer.name != name) {
            let color = Color::from_index(colour);
            self.drawing.add_layer(Layer {
                name: name.into(),
                color,
                ..Layer::default()
            });
        }
    }

    fn polyline(&mut self, layer: &str, polyline: &Polyline) -> io::Result<()> {
        if self.at_once == 0 {
            self.count();
            return Ok(());
        }
        self.held += polyline.vertices.len();
        let vertices = polyline.vertices.iter().map(|vertex| {
            let at = self.point(vertex.at);
            LwPolylineVertex {
                x: at.x,
                y: at.y,
                bulge: written(vertex.bulge),
                ..LwPolylineVertex::default()
            }
        });
        let mut drawn = LwPolyline {
            vertices: vertices.collect(),
            ..LwPolyline::default()
        };
        drawn.set_is_closed(polyline.closed);
        self.add(layer, EntityType::LwPolyline(drawn))
    }

    fn point(&self, at: geometry::Point) -> geometry::Point {
        geometry::Point::new(written(at.x * self.per_mm), written(at.y * self.per_mm))
    }

    /// Counts an entity as the crate does, for its number.
    const fn count(&mut self) {
        self.drawing.header.next_available_handle.0 += 1;
    }

    fn add(&mut self, layer: &str, specific: EntityType) -> io::Result<()> {
        if self.at_once == 0 {
            self.count();
            return Ok(());
        }
        checkpoint();
        let mut entity = Entity::new(specific);
        entity.common.layer = layer.into();
        self.drawing.add_entity(entity);
        self.held += 1;
        if self.held >= self.at_once {
            self.write_entities()?;
        }
        Ok(())
    }
}

/// Computes the bounds of all that is drawn, mm.
fn drawn_bounds(plan: &Plan) -> Bounds {
    let contours = plan.inspection.contours.list.iter().map(|contour| contour.bounds);
    let wires = plan.toolpaths.loops.iter().map(|wire| wire.polyline.bounds());
    let leads = plan.process.leads.iter();
    let leads = leads.flat_map(|leads| [leads.lead_in.bounds(), leads.lead_out.bounds()]);
    let blank = plan.process.blank.iter().map(|blank| blank.outline.bounds());
    let all = contours.chain(wires).chain(leads).chain(blank);
    all.filter(|bounds| !bounds.is_empty())
        .fold(Bounds::EMPTY, Bounds::union)
}

/// Returns the colour of the layers of a pass: that of its line on the sheet, as near as a layer can have it.
fn pass_colour(pass: PassNo) -> u8 {
    inks::PASSES[pass.index() % inks::PASSES.len()].dxf
}

/// What is written as zero is zero, without a sign.
fn written(value: f64) -> f64 {
    if value.abs() < WRITTEN_AS_ZERO { 0.0 } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Reading;
    use crate::message::Lengths;
    use crate::plan::Planner;
    use crate::report::{sample, svg};
    use crate::{drawing, dxf};

    /// Length of everything on each wire layer, as our own reader has it.
    fn read_back(bytes: &[u8]) -> Vec<(String, f64)> {
        let document = dxf::read(bytes).expect("our own file");
        let drawing = drawing::from_document(&document, &Reading::default()).expect("our own file");
        let mut lengths: Vec<(String, f64)> = drawing
            .layers
            .iter()
            .map(|layer| (layer.name.clone(), 0.0))
            .collect();
        for curve in &drawing.curves {
            lengths[curve.origin.layer as usize].1 += curve.length_mm;
        }
        lengths
    }

    /// Length of a closed polyline from what another reader has of it: an arc of sweep θ is its chord times
    /// (θ/2) / sin(θ/2), and its bulge is tan(θ/4).
    fn length_of_vertices(line: &LwPolyline) -> f64 {
        let next = line.vertices.iter().cycle().skip(1);
        let length = |(from, to): (&LwPolylineVertex, &LwPolylineVertex)| {
            let chord = (to.x - from.x).hypot(to.y - from.y);
            let half_sweep = 2.0 * from.bulge.abs().atan();
            if half_sweep == 0.0 {
                chord
            } else {
                chord * half_sweep / half_sweep.sin()
            }
        };
        line.vertices.iter().zip(next).map(length).sum()
    }

    #[test]
    fn two_readers_find_the_lengths_that_were_written() {
        let plan = sample::plan();
        let bytes = super::plan(&plan).unwrap();
        let lengths = read_back(&bytes);
        let other = Drawing::load(&mut bytes.as_slice()).expect("the writer reads its own");
        for pass in 1..=4 {
            let of_pass = plan
                .toolpaths
                .loops
                .iter()
                .filter(|wire| wire.pass.number() == pass);
            let expected: f64 = of_pass.clone().map(|wire| wire.length_mm).sum();
            let layer = format!("wire centre pass {pass} - machine compensation off");
            let (_, found) = lengths
                .iter()
                .find(|(name, _)| *name == layer)
                .expect("the layer");
            assert!(
                (found - expected).abs() < 1e-9 * expected,
                "{layer}: {found} is not {expected}"
            );
            let closed: Vec<&LwPolyline> = other
                .entities()
                .filter(|entity| entity.common.layer == layer)
                .filter_map(|entity| match &entity.specific {
                    EntityType::LwPolyline(line) if line.is_closed() => Some(line),
                    _ => None,
                })
                .collect();
            assert_eq!(closed.len(), of_pass.count(), "{layer}");
            let found: f64 = closed.into_iter().map(length_of_vertices).sum();
            assert!(
                (found - expected).abs() < 1e-9 * expected,
                "{layer}: the writer's own reader finds {found}, not {expected}"
            );
        }
        assert_eq!(bytes, super::plan(&plan).unwrap(), "same input, same bytes");
        for at_once in [1, 2, 3, usize::MAX] {
            let mut parts = Vec::new();
            write_in_parts(&plan, CautionText::Written, at_once, &mut parts).unwrap();
            assert!(parts == bytes, "{at_once} at once");
        }
    }

    /// The caution is in the file as another reader has it, below everything that is drawn; our own reader passes it over, and it can be left out.
    #[test]
    fn the_cautions_stand_clear_of_every_path_and_are_no_part_of_the_drawing() {
        let plan = sample::plan();
        let bytes = super::plan(&plan).unwrap();
        let other = Drawing::load(&mut bytes.as_slice()).expect("the writer reads its own");
        let texts: Vec<&Text> = other
            .entities()
            .filter(|entity| entity.common.layer == CAUTION_LAYER)
            .filter_map(|entity| match &entity.specific {
                EntityType::Text(text) => Some(text),
                _ => None,
            })
            .collect();
        let words: Vec<&str> = texts.iter().map(|text| text.value.as_str()).collect();
        assert_eq!(words, crate::report::cautions::IN_SHORT);
        let lowest = drawn_bounds(&plan).min.y;
        assert!(
            texts
                .iter()
                .all(|text| text.location.y + text.text_height < lowest)
        );
        let ours = dxf::read(&bytes).expect("our own file");
        let ours = drawing::from_document(&ours, &Reading::default()).expect("our own file");
        assert!(
            ours.texts.is_empty() && ours.ignored.iter().all(|one| one.kind != "TEXT"),
            "{:?}",
            ours.ignored
        );
        let mut without = Vec::new();
        write_plan(&plan, CautionText::LeftOut, &mut without).unwrap();
        assert!(!String::from_utf8(without).unwrap().contains(CAUTION_LAYER));
    }

    #[test]
    fn blank_tabs_and_rings_have_layers_of_their_own() {
        let book = crate::shop::Book::built_in().expect("the built-in book is sound");
        let job = "material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 2\nmargin_mm = 5\nslug = \"coreless\"";
        let job = crate::job::JobFile::parse(job).expect("a sound job");
        let drawing = include_bytes!("../../fixtures/checks/slug-may-jam-fires.dxf");
        let plan = Planner::new(&book)
            .job(&job)
            .plan("plate.dxf", drawing)
            .expect("a sound drawing");
        let lengths = read_back(&super::plan(&plan).unwrap());
        let on = |layer: &str| {
            let held = lengths.iter().find(|(name, _)| name == layer);
            held.expect("the layer").1
        };
        // A plate of 40 × 30 with 5 round it.
        assert!((on("outline of the blank") - 180.0).abs() < 1e-9);
        let pieces = || plan.process.separations.iter();
        let tabs: f64 = pieces().filter_map(|s| s.tab()).map(|tab| tab.length_mm).sum();
        let rings: f64 = pieces()
            .filter_map(|s| s.coreless())
            .map(|found| found.length_mm)
            .sum();
        assert!(tabs > 1.0 && (on("tab - uncut until the attended stop") - tabs).abs() < 1e-9);
        let layer = "coreless removal - wire centre - machine compensation off";
        assert!(rings > 30.0 && (on(layer) - rings).abs() < 1e-9 * rings);
    }

    #[test]
    fn a_last_stretch_has_a_layer_of_its_own_and_a_loose_part_no_skims() {
        let book = crate::shop::Book::built_in().expect("the built-in book is sound");
        let job = "material = \"tool-steel\"\nthickness_mm = 60\nwire_mm = 0.25\npasses = 2\ntab = \"none\"";
        let job = crate::job::JobFile::parse(job).expect("a sound job");
        let drawing = include_bytes!("../../fixtures/clock/hand-punch.dxf");
        let plan = Planner::new(&book)
            .job(&job)
            .plan("punch.dxf", drawing)
            .expect("a sound drawing");
        let lengths = read_back(&super::plan(&plan).unwrap());
        let stretch = plan.process.separations[0]
            .last_stretch()
            .expect("it gets no tab");
        let on = |words: &str| -> Vec<f64> {
            let named = lengths.iter().filter(|(name, _)| name.contains(words));
            named.map(|row| row.1).collect()
        };
        let drawn: f64 = on("last stretch - uncut until the attended stop").iter().sum();
        assert!(stretch.length_mm >= 1.0 && (drawn - stretch.length_mm).abs() < 1e-9);
        assert_eq!(
            (on("tab - uncut").len(), on("pass 2").len()),
            (0, 0),
            "{lengths:?}"
        );
        assert!(!on("pass 1").is_empty(), "{lengths:?}");
    }

    /// Of the opening the start hole is the book's, Ø1; each pass comes on and off by ways of its own.
    #[test]
    fn start_holes_and_leads_have_layers_of_their_own() {
        let plan = sample::plan();
        let lengths = read_back(&super::plan(&plan).unwrap());
        let on = |layer: &str| {
            let held = lengths.iter().find(|(name, _)| name == layer);
            held.map_or(0.0, |row| row.1)
        };
        let holes = plan.process.starts.list.iter().filter_map(|start| start.hole_mm);
        let around: f64 = holes.map(|mm| std::f64::consts::PI * mm).sum();
        assert!(around > 3.0 && (on("start hole - drill it and thread the wire here") - around).abs() < 1e-9);
        for pass in 1..=4 {
            let of_pass = plan.toolpaths.loops.iter().zip(&plan.process.leads);
            let runs: Vec<_> = of_pass
                .filter(|(wire, _)| wire.pass.number() == pass)
                .map(|(_, run)| run)
                .collect();
            let ons: f64 = runs.iter().map(|run| run.lead_in.length()).sum();
            let offs: f64 = runs.iter().map(|run| run.lead_out.length()).sum();
            let tail = format!("of pass {pass} - wire centre - machine compensation off");
            assert!(ons > 0.5 && (on(&format!("lead-in {tail}")) - ons).abs() < 1e-9);
            assert!(offs > 0.5 && (on(&format!("lead-out {tail}")) - offs).abs() < 1e-9);
        }
    }

    #[test]
    fn a_drawing_in_inches_comes_back_in_inches() {
        let drawing = sample::drawing("").replace("$INSUNITS\n70\n4", "$INSUNITS\n70\n1");
        let book = crate::shop::Book::built_in().unwrap();
        let ask = crate::pass::PassRequest::new("tool-steel", 60.0, 0.25, 1);
        let plan = Planner::new(&book)
            .job(&ask.job())
            .plan("inch.dxf", drawing.as_bytes())
            .unwrap();
        let bytes = super::plan(&plan).unwrap();
        let document = dxf::read(&bytes).unwrap();
        assert_eq!(document.header.insunits, Some(1));
        let found: f64 = read_back(&bytes)
            .iter()
            .filter(|(name, _)| name.starts_with("wire"))
            .map(|row| row.1)
            .sum();
        let expected = plan.toolpaths.loops[0].length_mm;
        assert!((found - expected).abs() < 1e-9 * expected);
    }

    #[test]
    fn sheet_and_file_take_their_colours_from_one_table() {
        let plan = sample::plan();
        let sheet = svg::plan(&plan, Lengths::Mm);
        let file = super::plan(&plan).expect("memory takes it");
        let file = Drawing::load(&mut file.as_slice()).expect("the writer reads its own");
        let number = |layer: &str| {
            let found = file.layers().find(|other| other.name.starts_with(layer));
            found
                .and_then(|layer| layer.color.index())
                .unwrap_or_else(|| panic!("no layer {layer}"))
        };
        for (pass, ink) in (1..=4).zip(&inks::PASSES) {
            assert!(sheet.contains(&format!(".pass-{pass}{{stroke:{}}}", ink.css)));
            assert_eq!(number(&format!("wire centre pass {pass} ")), ink.dxf);
            assert_eq!(number(&format!("lead-in of pass {pass} ")), ink.dxf);
        }
        assert_eq!(number("contour to be cut"), inks::CONTOUR.dxf);
        assert!(sheet.contains(&format!(".contour{{fill:none;stroke:{}", inks::CONTOUR.css)));
        assert_eq!(number("start hole"), inks::START.dxf);
        assert!(sheet.contains(&format!(
            ".start-hole{{fill:#fdfcf8;fill-opacity:0.7;stroke:{}",
            inks::START.css
        )));
    }
}
