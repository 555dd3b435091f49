use super::entry::{Entry, Limit};
use super::{Number, is_date};
use crate::id::PassNo;

/// The figures of one pass. Gaps, stock, finish and form error are those of the wall behind it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct RecipePass {
    /// Area rate at the reference thickness, mm²/min; `None` for a rough cut that follows the material's rate.
    pub rate_mm2_min: Option<Number>,
    /// Spark gap, one side, µm.
    pub spark_gap_um: Number,
    /// Taken off the wall, a side, µm; `None` for a rough cut.
    pub taken_um: Option<Number>,
    /// Ra if this is the last pass, µm, in the reference material.
    pub ra_um: Number,
    /// Form error if this is the last pass, plus or minus, µm per side.
    pub form_error_um: Number,
    /// Which of these a recipe of the shop gives itself. Those that it takes from the pass table keep the table's
    /// meaning, whatever material and wire the recipe is for.
    pub own: OwnValues,
}

/// Which values of a row the shop's own recipe gives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct OwnValues {
    /// The area rate.
    pub rate: bool,
    /// The spark gap.
    pub spark_gap: bool,
    /// The Ra.
    pub ra: bool,
    /// The form error.
    pub form_error: bool,
}

/// Changes for a job of a single cut.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct SingleCut {
    /// Rate against a rough cut.
    pub rate_factor: Number,
    /// Ra, µm.
    pub ra_um: Number,
}

/// The shop's own recipe for a number of passes; without material, wire or thickness it applies to all of them.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Recipe {
    /// Its name in the book.
    pub name: String,
    /// Materials it is for; empty for all. When it names materials its rates and Ra are theirs as they stand.
    pub materials: Vec<String>,
    /// Wire diameter it is for, mm.
    pub wire_mm: Option<f64>,
    /// Wire kind it is for.
    pub wire_kind: Option<String>,
    /// Machine it is for.
    pub machine: Option<String>,
    /// The day on which its spark gaps were gauged on a test piece, year-month-day; `None` where they were not.
    pub gauged: Option<String>,
    /// What its offsets were off by since, away from the wall, µm.
    pub offset_correction_um: Option<Number>,
    /// Thinnest and thickest work it is for, mm.
    pub thickness_mm: Option<(f64, f64)>,
    /// Thickness at which its rates hold, mm; elsewhere they follow the thickness rule.
    pub rates_at_mm: Option<f64>,
    /// Its passes, rough first.
    pub rows: Vec<RecipePass>,
}

/// The case that a recipe is chosen for.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Case<'a> {
    /// Name of the material.
    pub material: &'a str,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: &'a str,
    /// Thickness of the work, mm.
    pub thickness_mm: f64,
    /// Number of passes.
    pub passes: usize,
    /// Machine.
    pub machine: &'a str,
}

impl RecipePass {
    /// Reads a row, number `pass`, over `old`.
    pub(super) fn read(
        entry: &Entry<'_, '_>,
        pass: PassNo,
        old: Option<&Self>,
        rate_key: &str,
    ) -> Option<Self> {
        let rate_mm2_min = entry.number_if(
            rate_key,
            old.and_then(|r| r.rate_mm2_min.as_ref()),
            Limit::Positive,
        );
        let taken_um = entry.number_if(
            "taken_um",
            old.and_then(|r| r.taken_um.as_ref()),
            Limit::NotNegative,
        );
        if pass.is_rough() && entry.has("taken_um") {
            entry.flaw_at(
                "taken_um",
                "the rough cut is a full slot: it takes no stock off a wall",
            );
        }
        if !pass.is_rough() {
            for (key, absent) in [
                (rate_key, rate_mm2_min.is_none()),
                ("taken_um", taken_um.is_none()),
            ] {
                if absent && !entry.has(key) {
                    entry.flaw(format!("`{key}` is missing: a skim needs it"));
                }
            }
        }
        let spark_gap_um = entry.number("spark_gap_um", old.map(|r| &r.spark_gap_um), Limit::NotNegative);
        let ra_um = entry.number("ra_um", old.map(|r| &r.ra_um), Limit::Positive);
        let form_error_um = entry.number("form_error_um", old.map(|r| &r.form_error_um), Limit::Positive);
        entry.finish();
        let row = Self {
            rate_mm2_min,
            spark_gap_um: spark_gap_um?,
            taken_um,
            ra_um: ra_um?,
            form_error_um: form_error_um?,
            own: OwnValues::default(),
        };
        (pass.is_rough() || (row.rate_mm2_min.is_some() && row.taken_um.is_some())).then_some(row)
    }
}

impl SingleCut {
    /// Reads `[single-cut]`.
    pub(super) fn read(entry: &Entry<'_, '_>, old: Option<&Self>) -> Option<Self> {
        let rate_factor = entry.number("rate_factor", old.map(|s| &s.rate_factor), Limit::Positive);
        let ra_um = entry.number("ra_um", old.map(|s| &s.ra_um), Limit::Positive);
        entry.finish();
        Some(Self {
            rate_factor: rate_factor?,
            ra_um: ra_um?,
        })
    }
}

impl Recipe {
    /// Reads `[recipe.NAME]`; what a pass leaves out is taken from the same row of the pass table.
    pub(super) fn read(entry: &Entry<'_, '_>, name: &str, table: &[RecipePass]) -> Option<Self> {
        let materials = entry.text_list("materials").unwrap_or_default();
        let wire_mm = entry.plain_if("wire_mm", Limit::Positive);
        let wire_kind = entry.text_if("wire_kind");
        let machine = entry.text_if("machine");
        let gauged = gauged_on(entry);
        let offset_correction_um = entry.number_if("offset_correction_um", None, Limit::Finite);
        let rates_at_mm = entry.plain_if("rates_at_mm", Limit::Positive);
        let thickness_mm = match entry.plain_list("thickness_mm", Limit::NotNegative).as_deref() {
            Some([from, to]) if from < to => Some((*from, *to)),
            Some(_) => {
                entry.flaw_at("thickness_mm", "thinnest and thickest, such as [20, 60]");
                None
            }
            None => None,
        };
        let list = entry.list("pass");
        let count = list.len();
        let read = |(pass, entry): (PassNo, &Entry<'_, '_>)| {
            let row = RecipePass::read(entry, pass, table.get(pass.index()), "rate_mm2_min")?;
            let own = OwnValues {
                rate: entry.has("rate_mm2_min"),
                spark_gap: entry.has("spark_gap_um"),
                ra: entry.has("ra_um"),
                form_error: entry.has("form_error_um"),
            };
            Some(RecipePass { own, ..row })
        };
        let rows: Vec<RecipePass> = PassNo::numbered(&list).filter_map(read).collect();
        if count == 0 {
            entry.flaw("`pass` is missing: a list of passes, rough first");
        }
        if gauged.is_some() && !rows.iter().all(|row| row.own.spark_gap) {
            entry.flaw_at(
                "gauged",
                "a recipe that was gauged has a `spark_gap_um` in each pass",
            );
        }
        entry.finish();
        (count > 0 && rows.len() == count).then_some(Self {
            name: name.to_owned(),
            materials,
            wire_mm,
            wire_kind,
            machine,
            gauged,
            offset_correction_um,
            thickness_mm,
            rates_at_mm,
            rows,
        })
    }

    /// Whether it applies to this case.
    pub fn suits(&self, case: &Case<'_>) -> bool {
        self.rows.len() == case.passes
            && (self.materials.is_empty() || self.materials.iter().any(|name| name == case.material))
            && self.wire_mm.is_none_or(|mm| super::same_wire(mm, case.wire_mm))
            && self
                .wire_kind
                .as_deref()
                .is_none_or(|kind| kind == case.wire_kind)
            && self.machine.as_deref().is_none_or(|own| own == case.machine)
            && self
                .thickness_mm
                .is_none_or(|(from, to)| (from..=to).contains(&case.thickness_mm))
    }

    /// Returns how specific it is: the most specific recipe is taken.
    pub(super) fn says(&self) -> usize {
        usize::from(!self.materials.is_empty())
            + usize::from(self.wire_mm.is_some())
            + usize::from(self.wire_kind.is_some())
            + usize::from(self.machine.is_some())
            + usize::from(self.thickness_mm.is_some())
    }
}

/// Reads the day on which a recipe was gauged.
fn gauged_on(entry: &Entry<'_, '_>) -> Option<String> {
    let date = entry.text_if("gauged")?;
    if !is_date(&date) {
        entry.flaw_at(
            "gauged",
            "the day of the gauging as year-month-day, such as \"2026-11-29\"",
        );
    }
    Some(date)
}
