//! A DXF file as plain text, written tag by tag. Coordinates carry 12 decimals: far below a nanometre, and
//! far enough above the last bit of a sine that every machine writes the same bytes.

use std::fmt::Write;

/// Release of the format.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Release {
    /// R12: heavy polylines, no subclass markers.
    R12,
    /// R2000: light polylines, splines, ellipses.
    R2000,
}

/// Unit of the drawing.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Unit {
    /// `$INSUNITS` 4.
    Millimetre,
    /// `$INSUNITS` 1.
    Inch,
}

/// A drawing under way. All arguments are in mm and degrees; the file is in its own unit.
pub(super) struct Sheet {
    release: Release,
    unit: Unit,
    layers: Vec<(&'static str, &'static str)>,
    entities: String,
    handle: u32,
}

impl Sheet {
    /// An empty sheet with these layers, each with the name of its linetype.
    pub(super) fn new(release: Release, unit: Unit, layers: &[(&'static str, &'static str)]) -> Self {
        Self {
            release,
            unit,
            layers: layers.to_vec(),
            entities: String::new(),
            handle: 0x40,
        }
    }

    /// A straight line.
    pub(super) fn line(&mut self, layer: &str, from: (f64, f64), to: (f64, f64)) {
        self.begin("LINE", layer, "AcDbLine");
        self.point(0, from);
        self.point(1, to);
    }

    /// A counter-clockwise arc.
    pub(super) fn arc(&mut self, layer: &str, center: (f64, f64), radius: f64, degrees: (f64, f64)) {
        self.begin("ARC", layer, "AcDbCircle");
        self.point(0, center);
        self.length(40, radius);
        if self.release == Release::R2000 {
            tag(&mut self.entities, 100, "AcDbArc");
        }
        number(&mut self.entities, 50, degrees.0);
        number(&mut self.entities, 51, degrees.1);
    }

    /// A full circle.
    pub(super) fn circle(&mut self, layer: &str, center: (f64, f64), radius: f64) {
        self.begin("CIRCLE", layer, "AcDbCircle");
        self.point(0, center);
        self.length(40, radius);
    }

    /// A closed polyline of (x, y, bulge).
    pub(super) fn closed_polyline(&mut self, layer: &str, vertices: &[(f64, f64, f64)]) {
        match self.release {
            Release::R2000 => {
                self.begin("LWPOLYLINE", layer, "AcDbPolyline");
                tag(&mut self.entities, 90, &vertices.len().to_string());
                tag(&mut self.entities, 70, "1");
                for &(x, y, bulge) in vertices {
                    self.point_2d((x, y));
                    if bulge != 0.0 {
                        number(&mut self.entities, 42, bulge);
                    }
                }
            }
            Release::R12 => {
                self.begin("POLYLINE", layer, "");
                tag(&mut self.entities, 66, "1");
                self.point(0, (0.0, 0.0));
                tag(&mut self.entities, 70, "1");
                for &(x, y, bulge) in vertices {
                    self.begin("VERTEX", layer, "");
                    self.point(0, (x, y));
                    if bulge != 0.0 {
                        number(&mut self.entities, 42, bulge);
                    }
                }
                self.begin("SEQEND", layer, "");
            }
        }
    }

    /// A whole ellipse with its major axis upright.
    pub(super) fn upright_ellipse(
        &mut self,
        layer: &str,
        center: (f64, f64),
        semi_major: f64,
        semi_minor: f64,
    ) {
        self.begin("ELLIPSE", layer, "AcDbEllipse");
        self.point(0, center);
        self.point(1, (0.0, semi_major));
        number(&mut self.entities, 40, semi_minor / semi_major);
        number(&mut self.entities, 41, 0.0);
        number(&mut self.entities, 42, std::f64::consts::TAU);
    }

    /// A clamped quadratic spline of two spans over four control points.
    pub(super) fn two_span_parabola(&mut self, layer: &str, control: [(f64, f64); 4]) {
        self.begin("SPLINE", layer, "AcDbSpline");
        for (code, count) in [(70, 8), (71, 2), (72, 7), (73, 4), (74, 0)] {
            tag(&mut self.entities, code, &count.to_string());
        }
        for knot in [0.0, 0.0, 0.0, 1.0, 2.0, 2.0, 2.0] {
            number(&mut self.entities, 40, knot);
        }
        for at in control {
            self.point(0, at);
        }
    }

    /// A note.
    pub(super) fn text(&mut self, layer: &str, at: (f64, f64), height: f64, text: &str) {
        self.begin("TEXT", layer, "AcDbText");
        self.point(0, at);
        self.length(40, height);
        tag(&mut self.entities, 1, text);
        if self.release == Release::R2000 {
            tag(&mut self.entities, 100, "AcDbText");
        }
    }

    /// The whole file.
    pub(super) fn into_dxf(self) -> String {
        let mut file = String::new();
        let version = if self.release == Release::R12 {
            "AC1009"
        } else {
            "AC1015"
        };
        let (insunits, measurement) = if self.unit == Unit::Inch {
            ("1", "0")
        } else {
            ("4", "1")
        };
        section(&mut file, "HEADER");
        for (variable, code, value) in [
            ("$ACADVER", 1, version),
            ("$DWGCODEPAGE", 3, "ANSI_1252"),
            ("$INSUNITS", 70, insunits),
            ("$MEASUREMENT", 70, measurement),
        ] {
            tag(&mut file, 9, variable);
            tag(&mut file, code, value);
        }
        tag(&mut file, 0, "ENDSEC");
        section(&mut file, "TABLES");
        self.linetypes(&mut file);
        self.layer_table(&mut file);
        tag(&mut file, 0, "ENDSEC");
        section(&mut file, "ENTITIES");
        file.push_str(&self.entities);
        tag(&mut file, 0, "ENDSEC");
        tag(&mut file, 0, "EOF");
        file
    }

    fn linetypes(&self, file: &mut String) {
        self.table(file, "LTYPE", "1", 2);
        for (handle, name, description, dashes) in [
            ("10", "CONTINUOUS", "Solid line", &[][..]),
            ("11", "CENTER", "Centre line", &[12.0, -3.0, 3.0, -3.0][..]),
        ] {
            self.record(file, "LTYPE", handle, "1", "AcDbLinetypeTableRecord", name);
            tag(file, 3, description);
            tag(file, 72, "65");
            tag(file, 73, &dashes.len().to_string());
            number(file, 40, dashes.iter().copied().map(f64::abs).sum());
            for &dash in dashes {
                number(file, 49, dash);
                if self.release == Release::R2000 {
                    tag(file, 74, "0");
                }
            }
        }
        tag(file, 0, "ENDTAB");
    }

    fn layer_table(&self, file: &mut String) {
        self.table(file, "LAYER", "2", self.layers.len() + 1);
        let zero = ("0", "CONTINUOUS");
        for (i, (name, linetype)) in std::iter::once(&zero).chain(&self.layers).enumerate() {
            self.record(
                file,
                "LAYER",
                &format!("{:X}", 0x20 + i),
                "2",
                "AcDbLayerTableRecord",
                name,
            );
            tag(file, 62, &(7 - i % 7).to_string());
            tag(file, 6, linetype);
        }
        tag(file, 0, "ENDTAB");
    }

    fn table(&self, file: &mut String, name: &str, handle: &str, count: usize) {
        tag(file, 0, "TABLE");
        tag(file, 2, name);
        if self.release == Release::R2000 {
            tag(file, 5, handle);
            tag(file, 330, "0");
            tag(file, 100, "AcDbSymbolTable");
        }
        tag(file, 70, &count.to_string());
    }

    fn record(&self, file: &mut String, kind: &str, handle: &str, owner: &str, class: &str, name: &str) {
        tag(file, 0, kind);
        if self.release == Release::R2000 {
            tag(file, 5, handle);
            tag(file, 330, owner);
            tag(file, 100, "AcDbSymbolTableRecord");
            tag(file, 100, class);
        }
        tag(file, 2, name);
        tag(file, 70, "0");
    }

    fn begin(&mut self, kind: &str, layer: &str, class: &str) {
        tag(&mut self.entities, 0, kind);
        tag(&mut self.entities, 5, &format!("{:X}", self.handle));
        self.handle += 1;
        if self.release == Release::R2000 {
            tag(&mut self.entities, 100, "AcDbEntity");
            tag(&mut self.entities, 8, layer);
            tag(&mut self.entities, 100, class);
        } else {
            tag(&mut self.entities, 8, layer);
        }
    }

    fn point(&mut self, index: u16, at: (f64, f64)) {
        self.length(10 + index, at.0);
        self.length(20 + index, at.1);
        number(&mut self.entities, 30 + index, 0.0);
    }

    fn point_2d(&mut self, at: (f64, f64)) {
        self.length(10, at.0);
        self.length(20, at.1);
    }

    fn length(&mut self, code: u16, mm: f64) {
        let per_mm = if self.unit == Unit::Inch { 1.0 / 25.4 } else { 1.0 };
        number(&mut self.entities, code, mm * per_mm);
    }
}

fn section(file: &mut String, name: &str) {
    tag(file, 0, "SECTION");
    tag(file, 2, name);
}

fn tag(file: &mut String, code: u16, value: &str) {
    writeln!(file, "{code:>3}\n{value}").expect("a string takes all that is written to it");
}

fn number(file: &mut String, code: u16, value: f64) {
    tag(file, code, &decimal(value));
}

/// Twelve decimals, without trailing zeros and without a negative zero.
pub(super) fn decimal(value: f64) -> String {
    let text = format!("{value:.12}");
    let short = text.trim_end_matches('0');
    match short.strip_suffix('.').unwrap_or(short) {
        "-0" => "0.0".to_owned(),
        whole if !whole.contains('.') => format!("{whole}.0"),
        fraction => fraction.to_owned(),
    }
}
