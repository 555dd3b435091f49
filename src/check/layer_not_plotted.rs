use std::collections::BTreeMap;

use super::{Check, Sink, Stage, Subject, counted};
use crate::contour::PurposeFrom;
use crate::dxf::document::Layer;
use crate::finding::{Finding, Mend, MendedName, Quantity, Severity};
use crate::job::Purpose;
use crate::message::{message, mm};

/// Help lines that would be cut.
pub(super) const CHECK: Check = Check {
    name: "layer-not-plotted",
    title: "layer not plotted",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Curves to be cut on a layer that is shown but not plotted, for which no purpose is given.",
    why: "Such layers hold construction lines: they are not on the print, and the wire would cut them.",
    what_to_do: "If they are no edges, leave the layer out; if they are, name the layer as one that is cut.",
    options: "`--ignore-layers NAME`, or `--layer NAME=cut`",
    run,
};

/// A layer of this name is not plotted, whatever its flag (common practice, no source).
const NEVER_PLOTTED: &str = "defpoints";

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let (drawing, contours) = (subject.drawing, subject.contours);
    let mut layers: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    let cut = contours
        .list
        .iter()
        .filter(|contour| contour.purpose == Purpose::Cut && contour.purpose_from == PurposeFrom::Assumed);
    for &curve in cut.flat_map(|contour| &contour.curves) {
        let layer = drawing.curves[curve].origin.layer;
        if not_plotted(&drawing.layers[layer as usize]) {
            layers.entry(layer).or_default().push(curve);
        }
    }
    for (layer, mut curves) in layers {
        curves.sort_unstable();
        curves.dedup();
        let name = &drawing.layers[layer as usize].name;
        let length_mm: f64 = curves.iter().map(|&curve| drawing.curves[curve].length_mm).sum();
        sink.push(|| {
            let message = message!(
                "{} ({}) on layer “{}”, which is not plotted, {} taken to be cut",
                counted(curves.len(), "curve"),
                mm(length_mm).fixed(3),
                name,
                if curves.len() == 1 { "is" } else { "are" }
            );
            let remedy = "if they are no edges, leave the layer out; if they are, name it as one that is cut";
            let finding = Finding::new(CHECK.name, CHECK.severity, message, remedy)
                .mended_by(vec![
                    Mend::LeaveOut(name.clone()),
                    Mend::Purpose(MendedName::Layer(name.clone()), "cut"),
                ])
                .measured(Quantity::mm(length_mm));
            let finding = subject.about_curves(finding, &curves);
            match drawing.curves[curves[0]].polyline.vertices.first() {
                Some(vertex) => finding.at(vertex.at),
                None => finding,
            }
        });
    }
}

fn not_plotted(layer: &Layer) -> bool {
    layer.not_plotted || layer.name.eq_ignore_ascii_case(NEVER_PLOTTED)
}
