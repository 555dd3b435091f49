//! Finds the purpose of each curve by layer, linetype and colour.

use std::f64::consts::PI;

use super::PurposeFrom;
use crate::cancel::{asked, checkpoint_each};
use crate::drawing::{Curve, Drawing};
use crate::geometry::{Point, Polyline};
use crate::job::{Purpose, Purposes};
use crate::tolerance::ROUND_SHARE;

/// Names of linetypes that by drawing practice show something else than an edge to be cut: axes, hidden and
/// phantom edges, borders (ISO 128-2; names as in the DXF linetype files in common use, English and German,
/// and the ISO patterns, all of which are broken lines). A name that begins with one of these is not cut
/// unless the user says so.
const NOT_CUT: &[&str] = &[
    "CENTER", "CENTRE", "HIDDEN", "PHANTOM", "DASH", "DOT", "DIVIDE", "BORDER", "CHAIN", "ACAD_ISO", "ISO_",
    "JIS_", "MITTE", "VERDECKT", "STRICH", "PUNKT", "GETRENNT", "RAND",
];

/// Curves left out of the cut because of their linetype alone.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct StyleNotCut {
    /// Index of the linetype in the drawing.
    pub linetype: u32,
    /// How many curves.
    pub curves: usize,
    /// Their length as drawn, mm.
    pub length_mm: f64,
    /// The first of them.
    pub first: usize,
}

/// Returns the purpose by which each curve is chained, and what was left out for its linetype alone.
pub(super) fn of_curves(drawing: &Drawing, rules: &PurposeRules<'_>) -> (Vec<Purpose>, Vec<StyleNotCut>) {
    let mut styles: Vec<StyleNotCut> = Vec::new();
    let of = drawing
        .curves
        .iter()
        .enumerate()
        .map(|(i, curve)| {
            checkpoint_each(i);
            let (purpose, from) = rules.purpose_of(curve);
            if from == PurposeFrom::LineStyle {
                match styles
                    .iter_mut()
                    .find(|style| style.linetype == curve.origin.linetype)
                {
                    Some(style) => {
                        style.curves += 1;
                        style.length_mm += curve.length_mm;
                    }
                    None => styles.push(StyleNotCut {
                        linetype: curve.origin.linetype,
                        curves: 1,
                        length_mm: curve.length_mm,
                        first: i,
                    }),
                }
            }
            // Outlines and holes may share a curve's layer: lines of a given side are chained with all that are cut.
            if purpose.is_side() { Purpose::Cut } else { purpose }
        })
        .collect();
    (of, styles)
}

/// Returns the points of the drawing on layers of a purpose.
pub(super) fn points(drawing: &Drawing, rules: &PurposeRules<'_>, purpose: Purpose) -> Vec<Point> {
    let marks = |layer: u32| {
        rules
            .layers
            .get(layer as usize)
            .is_some_and(|(given, _)| *given == Some(purpose))
    };
    let points = drawing.points.iter().filter(|point| marks(point.layer));
    points.map(|point| point.at).collect()
}

/// Whether a curve is a full circle, smaller across than the limit for start holes.
pub(super) fn is_start_hole(polyline: &Polyline, uses: &Purposes) -> bool {
    let Some(under_mm) = uses.start_holes_under_mm else {
        return false;
    };
    let (length, area) = (polyline.length(), polyline.area().abs());
    // Nothing else encloses as much with its length.
    let round = polyline.closed && 4.0 * PI * area >= (1.0 - ROUND_SHARE) * length * length;
    round && length / PI < under_mm
}

/// The user's rules, looked up once for each layer and linetype.
pub(super) struct PurposeRules<'a> {
    /// The purpose given to each layer, and whether it is left out because others are to be cut.
    layers: Vec<(Option<Purpose>, bool)>,
    linetypes: Vec<Option<Purpose>>,
    style_not_cut: Vec<bool>,
    uses: &'a Purposes,
}

impl<'a> PurposeRules<'a> {
    pub(super) fn new(drawing: &Drawing, uses: &'a Purposes) -> Self {
        let by_name = |list: &std::collections::BTreeMap<String, Purpose>, name: &str| {
            list.iter()
                .find(|(key, _)| same_name(key, name))
                .map(|(_, &purpose)| purpose)
        };
        let layers = asked(drawing.layers.iter())
            .map(|layer| {
                let cut = uses.cut_layers.is_empty()
                    || uses.cut_layers.iter().any(|name| same_name(name, &layer.name));
                (by_name(&uses.layers, &layer.name), !cut)
            })
            .collect();
        Self {
            layers,
            linetypes: drawing
                .linetypes
                .iter()
                .map(|name| by_name(&uses.linetypes, name))
                .collect(),
            style_not_cut: drawing.linetypes.iter().map(|name| style_not_cut(name)).collect(),
            uses,
        }
    }

    /// Returns the purpose of a curve by its layer, linetype and colour, and which of these gives it.
    pub(super) fn purpose_of(&self, curve: &Curve) -> (Purpose, PurposeFrom) {
        let origin = &curve.origin;
        let (of_layer, left_out) = self
            .layers
            .get(origin.layer as usize)
            .copied()
            .unwrap_or_default();
        if let Some(purpose) = of_layer {
            return (purpose, PurposeFrom::Layer);
        }
        let of_linetype = self.linetypes.get(origin.linetype as usize).copied().flatten();
        let of_linetype = of_linetype.map(|purpose| (purpose, PurposeFrom::Linetype));
        let of_color = || Some((*self.uses.colors.get(&origin.color)?, PurposeFrom::Color));
        let of_style = of_linetype.or_else(of_color);
        let broken = self.style_not_cut.get(origin.linetype as usize) == Some(&true);
        match of_style {
            Some((purpose, from)) if !left_out || purpose != Purpose::Cut => (purpose, from),
            _ if broken => (Purpose::Reference, PurposeFrom::LineStyle),
            _ if left_out => (Purpose::NotNow, PurposeFrom::CutLayers),
            _ => (Purpose::Cut, PurposeFrom::Assumed),
        }
    }

    /// Returns the side that the rules give to a line of these curves: the first; with `true` where another of them contradicts.
    pub(super) fn side_of(
        &self,
        drawing: &Drawing,
        curves: &[usize],
    ) -> Option<(Purpose, PurposeFrom, bool)> {
        let sides = curves
            .iter()
            .map(|&curve| self.purpose_of(&drawing.curves[curve]));
        let mut sides = sides.filter(|(purpose, _)| purpose.is_side());
        let (purpose, from) = sides.next()?;
        Some((purpose, from, sides.any(|(other, _)| other != purpose)))
    }
}

/// Whether the linetype of a curve shows that it is no edge.
pub(crate) fn shows_no_edge(drawing: &Drawing, curve: usize) -> bool {
    let linetype = drawing.curves[curve].origin.linetype as usize;
    drawing
        .linetypes
        .get(linetype)
        .is_some_and(|name| style_not_cut(name))
}

pub(super) fn same_name(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

fn style_not_cut(linetype: &str) -> bool {
    let name = linetype.to_uppercase();
    NOT_CUT.iter().any(|prefix| name.starts_with(prefix))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_full_circles_below_the_limit_are_start_holes() {
        let under = |mm: f64| Purposes {
            start_holes_under_mm: Some(mm),
            ..Purposes::default()
        };
        let hole = Polyline::circle(Point::new(3.0, 4.0), 0.5);
        assert!(is_start_hole(&hole, &under(1.01)) && !is_start_hole(&hole, &under(1.0)));
        assert!(!is_start_hole(&hole, &Purposes::default()));
        let square = Polyline::closed([(0.0, 0.0, 0.0), (0.5, 0.0, 0.0), (0.5, 0.5, 0.0), (0.0, 0.5, 0.0)]);
        assert!(!is_start_hole(&square, &under(5.0)));
    }

    #[test]
    fn broken_lines_are_not_cut_and_full_lines_are() {
        for name in [
            "CENTER",
            "Center2",
            "hiddenx2",
            "PHANTOM",
            "DASHDOT",
            "ACAD_ISO10W100",
            "Mitte",
        ] {
            assert!(style_not_cut(name), "{name}");
        }
        for name in ["Continuous", "ByLayer", "", "SOLID", "CUT", "FENCELINE1"] {
            assert!(!style_not_cut(name), "{name}");
        }
    }
}
