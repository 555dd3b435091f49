use super::{Check, Sink, Stage, Subject};
use crate::contour::{KnownNames, MissingName};
use crate::finding::{Finding, Severity};
use crate::job::NameKind;

/// How many names of the drawing are listed where none is like the one given.
const LISTED: usize = 8;

/// A name given for several drawings that this one does not have.
pub(super) const CHECK: Check = Check {
    name: "name-not-in-drawing",
    title: "name that is not in the drawing",
    stage: Stage::Contour,
    severity: Severity::Warning,
    looks_for: "Layers, contours, linetypes and colours that are named for several drawings at once and stand for nothing in this \
                one. Named for one drawing alone, or found in none of them, they are refused.",
    why: "A mistyped layer keeps its contours among those to be cut: the outline of a plate that is there already is then cut and \
          paid for.",
    what_to_do: "Correct the name, or give this drawing a job file of its own.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for missing in &subject.contours.facts.names_missing {
        sink.push(|| {
            let message = format!("{}; {}", missing_in_words(missing), known_in_words(missing));
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
        });
    }
}

/// Writes a list of missing names as one sentence.
pub fn names_in_words(names: &[MissingName]) -> String {
    let words: Vec<String> = names.iter().map(missing_in_words).collect();
    words.join("; ")
}

/// Names one that is missing, and the likely one.
fn missing_in_words(missing: &MissingName) -> String {
    let meant = match (&missing.nearest, missing.name.kind) {
        (None, _) => String::new(),
        (Some(nearest), NameKind::Layer | NameKind::Linetype) => format!(": did you mean `{nearest}`?"),
        (Some(nearest), NameKind::Contour | NameKind::Color) => format!(": the nearest is {nearest}"),
    };
    format!("{} stands for nothing in the drawing{meant}", missing.name)
}

/// Says what the drawing has instead of a name that is missing.
pub fn known_in_words(missing: &MissingName) -> String {
    let kind = missing.name.kind.word();
    let (first, count): (Vec<String>, usize) = match &missing.known {
        KnownNames::Contours(0) => (Vec::new(), 0),
        KnownNames::Contours(1) => return format!("the drawing has {kind}s 1"),
        KnownNames::Contours(count) => return format!("the drawing has {kind}s 1 to {count}"),
        KnownNames::Names(names) => {
            let quoted = names.iter().take(LISTED).map(|name| format!("“{name}”"));
            (quoted.collect(), names.len())
        }
        KnownNames::Numbers(numbers) => {
            let written = numbers.iter().take(LISTED).map(ToString::to_string);
            (written.collect(), numbers.len())
        }
    };
    let more = if count > LISTED { " …" } else { "" };
    match &first[..] {
        [] => format!("the drawing has no {kind}"),
        [one] => format!("the drawing has the {kind} {one} only"),
        several => format!("the drawing has {kind}s {}{more}", several.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::GivenName;

    #[test]
    fn what_the_drawing_has_is_listed_by_its_kind() {
        let said = |kind, known| {
            let written = "9".to_owned();
            known_in_words(&MissingName {
                name: GivenName { kind, written },
                nearest: None,
                known,
            })
        };
        let layers = |count: usize| KnownNames::Names((1..=count).map(|n| format!("L{n}")).collect());
        for (kind, known, sentence) in [
            (
                NameKind::Contour,
                KnownNames::Contours(0),
                "the drawing has no contour",
            ),
            (
                NameKind::Contour,
                KnownNames::Contours(1),
                "the drawing has contours 1",
            ),
            (
                NameKind::Contour,
                KnownNames::Contours(12),
                "the drawing has contours 1 to 12",
            ),
            (NameKind::Layer, layers(0), "the drawing has no layer"),
            (NameKind::Layer, layers(1), "the drawing has the layer “L1” only"),
            (
                NameKind::Layer,
                layers(8),
                "the drawing has layers “L1”, “L2”, “L3”, “L4”, “L5”, “L6”, “L7”, “L8”",
            ),
            (
                NameKind::Layer,
                layers(9),
                "the drawing has layers “L1”, “L2”, “L3”, “L4”, “L5”, “L6”, “L7”, “L8” …",
            ),
            (
                NameKind::Color,
                KnownNames::Numbers(vec![1, 7]),
                "the drawing has colours 1, 7",
            ),
        ] {
            assert_eq!(said(kind, known), sentence);
        }
    }
}
