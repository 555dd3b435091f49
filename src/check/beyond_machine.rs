use super::path_words::limit_in_words;
use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::process::MachineLimit;

/// More than the machine takes.
pub(super) const CHECK: Check = Check {
    name: "beyond-machine",
    title: "beyond the machine",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Jobs beyond a limit of the machine: travel along x and y, height of the work, load of the table, wires that it \
                runs, number of passes that it has settings for.",
    why: "It cannot be cut on this machine, however it was chosen, so that no time, cost or price of the order is given.",
    what_to_do: "Take a machine that can, or correct its limits in the book where they are wrong.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for beyond in &process.beyond_machine {
        let (wanted, limit, remedy) = match beyond.limit {
            MachineLimit::Travel {
                wanted_mm, limit_mm, ..
            } => (
                Quantity::mm(wanted_mm),
                Quantity::mm(limit_mm),
                "turn the work, cut it in two settings, or take a machine that travels farther",
            ),
            MachineLimit::Height { wanted_mm, limit_mm } => (
                Quantity::mm(wanted_mm),
                Quantity::mm(limit_mm),
                "take less thickness, or a machine for thicker work",
            ),
            MachineLimit::Load { wanted_kg, limit_kg } => (
                Quantity::kg(wanted_kg),
                Quantity::kg(limit_kg),
                "make the blank smaller, or take a machine that carries more",
            ),
            MachineLimit::Wire {
                wanted_mm,
                runs_mm: (thinnest_mm, thickest_mm),
            } => (
                Quantity::mm(wanted_mm),
                Quantity::mm(wanted_mm.clamp(thinnest_mm, thickest_mm)),
                "take a wire that this machine runs, or a machine for this wire",
            ),
            MachineLimit::Passes { wanted, limit } => (
                Quantity::count(wanted),
                Quantity {
                    value: limit,
                    unit: "",
                },
                "take fewer passes, or a machine with settings for more",
            ),
        };
        sink.push(|| {
            let mut finding = Finding::new(CHECK.name, CHECK.severity, limit_in_words(beyond), remedy)
                .measured(wanted)
                .limit(limit);
            if let Some((contour, at)) = beyond.at {
                finding = finding.at(at).on_contour(contour);
            }
            finding
        });
    }
}
