use super::path_words::{not_coreless_in_words, weighed_in_words};
use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, mm, of_unit};
use crate::process::{PieceKind, Separation};

/// Slugs so small that they may jam.
pub(super) const CHECK: Check = Check {
    name: "slug-may-jam",
    title: "slug may jam",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Slugs no larger across than `jam_mm` under `rule.slug` of the book (6 mm, from memory, not verified).",
    why: "A small slug tilts, shorts the wire, or drops into the lower nozzle and jams there.",
    what_to_do: "Clear it away coreless where it cannot be held, or stop before it drops, power off, and secure it with a shim, or a magnet (magnetic steel only).",
    options: "`--slugs coreless`",
    run,
};

const STOP_AND_SECURE: &str =
    "stop before it drops, power off, and secure it with a shim, or a magnet (magnetic steel only)";

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    const GRAMS_PER_KG: f64 = 1000.0;
    let Some(process) = subject.process else { return };
    let limit_mm = subject.rules.slug.jam_mm.value();
    for separation in process.separations.iter().filter(|s| s.may_jam) {
        sink.push(|| {
            let Separation { piece, .. } = separation;
            let mut size = message!(
                "the {} is {} across (limit {}) and weighs {}",
                if piece.kind == PieceKind::Offcut {
                    "offcut"
                } else {
                    "slug"
                },
                mm(piece.across_mm).fixed(3),
                mm(limit_mm),
                of_unit(piece.mass_kg * GRAMS_PER_KG, "g").fixed(2)
            );
            if let Some(weighed) = separation.weighed {
                size += message!("; {}", weighed_in_words(&weighed));
            }
            let (severity, message, remedy) = match (separation.coreless(), separation.not_coreless) {
                (Some(_), _) => (
                    Severity::Note,
                    size,
                    "nothing, unless you would rather secure and remove it at a stop".to_owned(),
                ),
                (None, Some(why)) => (
                    CHECK.severity,
                    message!(
                        "{}; it is not cleared away, since {}",
                        size,
                        not_coreless_in_words(why)
                    ),
                    STOP_AND_SECURE.to_owned(),
                ),
                // No rings clear away what an open cut cuts off.
                (None, None) if piece.kind == PieceKind::Offcut => {
                    (CHECK.severity, size, STOP_AND_SECURE.to_owned())
                }
                (None, None) => (CHECK.severity, size, CHECK.remedy()),
            };
            Finding::new(CHECK.name, severity, message, remedy)
                .at(piece.centroid)
                .on_contour(piece.contour)
                .measured(Quantity::mm(piece.across_mm))
                .limit(Quantity::mm(limit_mm))
        });
    }
}
