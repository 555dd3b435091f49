//! A sidecar: the right answers of a drawing, with the formulas in words.

use std::fmt::Write;

use super::sheet::decimal;

/// The right answers of one drawing.
pub(super) struct Answer {
    /// What it shows.
    pub(super) about: &'static str,
    /// Its contours; equal ones share a row.
    pub(super) contours: Vec<Expected>,
    /// Length of what is drawn but closes no loop, mm.
    pub(super) open_length_mm: f64,
    /// Number of open chains.
    pub(super) open_chains: usize,
    /// How far the arcs that stand in for a spline or ellipse may lie from it, mm; 0 where all is exact.
    pub(super) fit_mm: f64,
}

/// One contour, or several equal ones.
pub(super) struct Expected {
    /// Layer.
    pub(super) layer: &'static str,
    /// What it is for, in the words of `--layer NAME=USE`.
    pub(super) purpose: &'static str,
    /// `outside` (material kept inside) or `opening`, by nesting among what is cut or existing.
    pub(super) role: &'static str,
    /// How many of them.
    pub(super) count: usize,
    /// Length of one, mm.
    pub(super) perimeter_mm: f64,
    /// Enclosed area of one, mm².
    pub(super) area_mm2: f64,
    /// Where the two come from.
    pub(super) formula: &'static str,
}

impl Answer {
    /// The sidecar as JSON, one contour a line.
    pub(super) fn to_json(&self) -> String {
        let mut json = String::from("{\n");
        let mut field = |name: &str, value: &str| {
            writeln!(json, "  \"{name}\": {value},").expect("a string takes all that is written to it");
        };
        let closed: usize = self.contours.iter().map(|c| c.count).sum();
        let length: f64 = self
            .contours
            .iter()
            .map(|c| c.count as f64 * c.perimeter_mm)
            .sum();
        field("about", &format!("\"{}\"", self.about));
        field("closed_contours", &closed.to_string());
        field("open_chains", &self.open_chains.to_string());
        field("curve_length_mm", &decimal(length + self.open_length_mm));
        field("fit_mm", &decimal(self.fit_mm));
        json.push_str("  \"contours\": [\n");
        let rows: Vec<String> = self.contours.iter().map(Expected::to_json).collect();
        json.push_str(&rows.join(",\n"));
        json.push_str("\n  ]\n}\n");
        json
    }
}

impl Expected {
    fn to_json(&self) -> String {
        format!(
            "    {{ \"layer\": \"{}\", \"use\": \"{}\", \"role\": \"{}\", \"count\": {}, \"perimeter_mm\": {}, \"area_mm2\": {},\n      \
             \"formula\": \"{}\" }}",
            self.layer,
            self.purpose,
            self.role,
            self.count,
            decimal(self.perimeter_mm),
            decimal(self.area_mm2),
            self.formula
        )
    }
}

/// A circle.
pub(super) fn circle(layer: &'static str, role: &'static str, radius: f64) -> Expected {
    Expected {
        layer,
        purpose: "cut",
        role,
        count: 1,
        perimeter_mm: std::f64::consts::TAU * radius,
        area_mm2: std::f64::consts::PI * radius * radius,
        formula: "circle: 2·pi·r; pi·r²",
    }
}

/// A rectangle with its four corners rounded.
pub(super) fn rounded_rectangle(
    layer: &'static str,
    role: &'static str,
    width: f64,
    height: f64,
    radius: f64,
) -> Expected {
    use std::f64::consts::{PI, TAU};
    Expected {
        layer,
        purpose: "cut",
        role,
        count: 1,
        perimeter_mm: 2.0 * (width + height) - 8.0 * radius + TAU * radius,
        area_mm2: width * height - (4.0 - PI) * radius * radius,
        formula: "rounded rectangle: 2·(w + h) - 8·r + 2·pi·r; w·h - (4 - pi)·r²",
    }
}
