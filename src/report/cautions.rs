//! What can hurt.

use std::borrow::Cow;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::plan::Plan;

/// What every output that can reach the machine says before a test piece is gauged; common practice.
pub(super) const IN_SHORT: [&str; 5] = [
    "Wire and table carry a voltage that can kill.",
    "Pieces drop: stop, power off, secure them.",
    "Paths are the wire's centre: machine compensation OFF.",
    "Model offsets: cut and gauge a test piece first.",
    "The machine's manual, local codes and licensed practice come first.",
];

/// Which of these is of offsets that nobody has gauged.
const OF_MODEL_OFFSETS: usize = 3;

/// Returns what every output of a plan that can reach the machine says.
pub(super) fn cautions_in_short(plan: &Plan) -> [Cow<'static, str>; 5] {
    let mut cautions = IN_SHORT.map(Cow::Borrowed);
    if let Some(date) = plan.gauged_on() {
        let words = format!("Offsets gauged on {date}: for that wire, setting and machine alone.");
        cautions[OF_MODEL_OFFSETS] = Cow::Owned(words);
    }
    cautions
}

/// The cautions in full, with the jobs that each is for.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CautionBook {
    /// Materials of the built-in book without a caution of their own.
    plain_materials: Vec<String>,
    /// Wires of the built-in book without a caution of their own.
    plain_wires: Vec<String>,
    caution: Vec<Caution>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Caution {
    words: String,
    #[serde(default)]
    materials: Vec<String>,
    #[serde(default)]
    wires: Vec<String>,
    when: Option<JobCondition>,
}

/// What a job may have that calls for care.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum JobCondition {
    /// A piece that one person should not lift.
    Lifted,
    /// A slug that may tilt or jam.
    SmallSlug,
    /// Offsets that nobody has gauged.
    ModelOffsets,
    /// Offsets that were gauged on a test piece.
    GaugedOffsets,
}

static BOOK: LazyLock<CautionBook> = LazyLock::new(|| {
    let book = toml::from_str(include_str!("../data/cautions.toml"));
    book.expect("the cautions are a sound table: a test reads them")
});

/// Returns all cautions in full, whatever the job.
pub(super) fn all_cautions() -> Vec<&'static str> {
    BOOK.caution
        .iter()
        .map(|caution| caution.words.as_str())
        .collect()
}

/// Returns the cautions in full that a job calls for.
pub(super) fn cautions_of(plan: &Plan) -> Vec<&'static str> {
    let book = &*BOOK;
    let material = plan.setup.material.as_str();
    let wire = plan.setup.wire_kind.as_deref();
    let concerns = |caution: &&Caution| {
        book.concerns(
            caution,
            |one| &one.materials,
            &book.plain_materials,
            Some(material),
        ) && book.concerns(caution, |one| &one.wires, &book.plain_wires, wire)
            && caution.when.is_none_or(|when| holds(when, plan))
    };
    let all = book.caution.iter().filter(concerns);
    all.map(|caution| caution.words.as_str()).collect()
}

impl CautionBook {
    /// Whether a caution concerns what is used; of what is not known it is not known either what it holds.
    fn concerns(
        &self,
        caution: &Caution,
        listed: fn(&Caution) -> &[String],
        plain: &[String],
        used: Option<&str>,
    ) -> bool {
        let Some(used) = used.filter(|_| !listed(caution).is_empty()) else {
            return true;
        };
        let mut known = self.caution.iter().flat_map(listed).chain(plain);
        listed(caution).iter().any(|one| one == used) || !known.any(|one| one == used)
    }
}

fn holds(condition: JobCondition, plan: &Plan) -> bool {
    let mut pieces = plan.process.separations.iter();
    match condition {
        JobCondition::Lifted => pieces.any(|piece| piece.lift_with_help),
        JobCondition::ModelOffsets => plan.gauged_on().is_none(),
        JobCondition::GaugedOffsets => plan.gauged_on().is_some(),
        JobCondition::SmallSlug => pieces.any(|piece| piece.may_jam && piece.coreless().is_none()),
    }
}

#[cfg(test)]
mod tests {
    use super::{BOOK, IN_SHORT, cautions_of};
    use crate::message::Lengths;
    use crate::report::{Coverage, dxf, html, json, sample, svg, terminal};
    use crate::shop::Book;

    #[test]
    fn whatever_reaches_the_machine_bears_the_cautions() {
        let plan = sample::plan();
        let job_sheet = html::plan(&plan, None);
        let (first, _) = job_sheet
            .split_once("id=\"job-record\"")
            .expect("what is written in comes after");
        let outputs = [
            ("terminal", terminal::plan(&plan, Coverage::Head, Lengths::Mm)),
            (
                "sheet",
                svg::tests::written(&svg::plan(&plan, Lengths::Mm), "cautions"),
            ),
            ("job sheet", first.to_owned()),
            ("JSON", json::plan(&plan)),
            (
                "paths",
                String::from_utf8(dxf::plan(&plan).expect("memory")).expect("ASCII"),
            ),
        ];
        let manual = (
            "the manual of quotes",
            include_str!("../../docs/manual.md").to_owned(),
        );
        for (output, text) in outputs.into_iter().chain([manual]) {
            for caution in IN_SHORT {
                assert!(text.contains(caution), "{output}: {caution}");
            }
        }
    }

    /// What a job's cautions say, as one text.
    fn in_full(material: &str, wire: Option<&str>) -> String {
        let mut plan = sample::plan();
        plan.setup.material = material.to_owned();
        plan.setup.wire_kind = wire.map(str::to_owned);
        cautions_of(&plan).join("\n")
    }

    #[test]
    fn the_long_form_goes_by_the_job() {
        let steel = in_full("tool-steel", Some("tungsten"));
        for (word, expected) in [
            ("kill", true),
            ("OFF", true),
            ("28881", true),
            ("implants", true),
            ("cobalt", false),
            ("hydrogen and", false),
            ("zinc", false),
        ] {
            assert_eq!(steel.contains(word), expected, "{word}: {steel}");
        }
        assert!(in_full("tungsten-carbide", Some("tungsten")).contains("cobalt"));
        assert!(in_full("titanium-6al-4v", Some("tungsten")).contains("reactive fines"));
        assert!(in_full("nickel-718", Some("tungsten")).contains("sensitises"));
        assert!(in_full("tool-steel", None).contains("zinc"));
        // Of what is the shop's own it is not known what it holds.
        let own = in_full("our-alloy", Some("our-wire"));
        for word in ["cobalt", "reactive fines", "sensitises", "zinc"] {
            assert!(own.contains(word), "{word}: {own}");
        }
    }

    #[test]
    fn lifting_and_small_slugs_are_told_where_they_are() {
        let mut plan = sample::plan();
        let told = |plan: &crate::plan::Plan| cautions_of(plan).join("\n");
        for piece in &mut plan.process.separations {
            (piece.lift_with_help, piece.may_jam) = (false, false);
        }
        assert!(!told(&plan).contains("lifting aid") && !told(&plan).contains("lower nozzle"));
        let piece = plan.process.separations.first_mut().expect("a piece drops");
        (piece.lift_with_help, piece.may_jam) = (true, true);
        assert!(told(&plan).contains("lifting aid") && told(&plan).contains("lower nozzle"));
    }

    /// Every material and wire of the built-in book has its cautions, or is named as one that needs none of its own.
    #[test]
    fn the_cautions_know_the_built_in_book() {
        let book = Book::built_in().expect("sound");
        let known = |plain: &[String], named: Vec<&String>, name: &str| {
            plain.iter().chain(named).any(|one| one == name)
        };
        for material in book.materials.values() {
            let named = BOOK
                .caution
                .iter()
                .flat_map(|caution| &caution.materials)
                .collect();
            assert!(
                known(&BOOK.plain_materials, named, &material.name),
                "{}",
                material.name
            );
        }
        for wire in book.wire_kinds.values() {
            let named = BOOK.caution.iter().flat_map(|caution| &caution.wires).collect();
            assert!(known(&BOOK.plain_wires, named, &wire.name), "{}", wire.name);
        }
    }
}
