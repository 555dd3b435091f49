use std::collections::BTreeMap;

use super::{Check, Sink, Stage, Subject};
use crate::drawing::{CurveFact, CurveFactKind};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm};

/// Curves that are there but not seen.
pub(super) const CHECK: Check = Check {
    name: "hidden-geometry",
    title: "hidden curves",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "Curves on layers that are off or frozen, and curves marked invisible.",
    why: "What is hidden is not cut. Cut geometry is sometimes left on a hidden layer by oversight.",
    what_to_do: "Show the layer in the drawing if its curves belong to the part; delete them if they do not.",
    options: "",
    run,
};

/// Hidden curves of one layer.
struct Hidden<'a> {
    first: &'a CurveFact,
    count: usize,
    length_mm: f64,
}

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let drawing = subject.drawing;
    let mut layers: BTreeMap<u32, Hidden<'_>> = BTreeMap::new();
    for fact in &drawing.facts {
        if let CurveFactKind::Hidden(length) = fact.kind {
            let hidden = layers.entry(fact.origin.layer).or_insert(Hidden {
                first: fact,
                count: 0,
                length_mm: 0.0,
            });
            hidden.count += 1;
            hidden.length_mm += length;
        }
    }
    for (index, hidden) in layers {
        let layer = &drawing.layers[index as usize];
        let state = match (layer.frozen, layer.off) {
            (true, _) => "which is frozen",
            (_, true) => "which is off",
            _ => "hidden each by its own flag or by a block that is hidden",
        };
        let (count, length) = (hidden.count, hidden.length_mm);
        let (curves, are) = if count == 1 {
            ("curve", "is")
        } else {
            ("curves", "are")
        };
        sink.push(|| {
            let finding = Finding::new(
                CHECK.name,
                CHECK.severity,
                message!(
                    "{} {} ({}) on layer “{}”, {}, {} left out",
                    count,
                    curves,
                    mm(length).fixed(3),
                    layer.name,
                    state,
                    are
                ),
                "show them in the drawing if they belong to the part",
            );
            let first = hidden.first;
            subject
                .of_curve(finding, &first.origin)
                .at(first.at)
                .measured(Quantity::mm(length))
        });
    }
}
