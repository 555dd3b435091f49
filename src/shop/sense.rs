use super::{Book, Number, RecipePass};
use crate::id::PassNo;

/// A step of a recipe that is doubtful at the machine.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Doubt {
    /// The recipe, or `pass-table` for the built-in one.
    pub recipe: String,
    /// The pass, from 1.
    pub pass: PassNo,
    /// What is doubtful, in words.
    pub reason: String,
}

impl Book {
    /// Checks every recipe for plausibility: offsets, gaps and Ra fall from pass to pass, the last offset keeps
    /// clear of the wire, each skim takes off what the pass before left. Of its form error a skim has to remove the part
    /// that it does not leave itself: the wire bows and the machine strays the same way in both, only less in the
    /// skim. Valleys (half of Rz) and recast layer go in whole. It is the worst case, so that a step that takes less is
    /// doubtful, not wrong; whether the skims after it take the rest is said.
    pub fn doubts(&self) -> Vec<Doubt> {
        let table = ("pass-table", self.pass_table.as_slice());
        let own = self
            .recipes
            .iter()
            .map(|recipe| (recipe.name.as_str(), recipe.rows.as_slice()));
        let mut doubts = Vec::new();
        for (name, rows) in std::iter::once(table).chain(own) {
            let mut doubt = |pass: PassNo, reason: String| {
                let recipe = name.to_owned();
                doubts.push(Doubt { recipe, pass, reason });
            };
            for (i, pair) in rows.windows(2).enumerate() {
                let after = PassNo::from_index(i + 1);
                let later_um = rows[i + 2..]
                    .iter()
                    .map(taken_um)
                    .fold(0.0, |sum: f64, um| sum + um);
                for reason in self.doubts_of_step(&pair[0], &pair[1], later_um) {
                    doubt(after, reason);
                }
            }
            let last = PassNo::numbered(rows).last();
            if let Some((pass, last)) = last.filter(|(_, last)| last.spark_gap_um.value() <= 0.0) {
                let gap_um = last.spark_gap_um.value();
                doubt(
                    pass,
                    format!("a spark gap of {gap_um} µm: the wire would touch the finished wall"),
                );
            }
        }
        doubts
    }

    fn doubts_of_step(&self, before: &RecipePass, after: &RecipePass, later_um: f64) -> Vec<String> {
        let mut reasons = Vec::new();
        let taken_um = taken_um(after);
        let (gap_before_um, gap_um) = (before.spark_gap_um.value(), after.spark_gap_um.value());
        let fall_um = gap_before_um - gap_um + taken_um;
        if fall_um <= 0.0 {
            reasons.push(format!(
                "its offset is {:.1} µm above that of the pass before",
                -fall_um
            ));
        }
        if gap_um > gap_before_um {
            reasons.push(format!(
                "its spark gap of {gap_um} µm is above {gap_before_um} µm of the pass before"
            ));
        }
        let (ra_before_um, ra_um) = (before.ra_um.value(), after.ra_um.value());
        if ra_um >= ra_before_um {
            reasons.push(format!(
                "its Ra of {ra_um} µm is no finer than {ra_before_um} µm of the pass before"
            ));
        }
        let rule = &self.rules.surface;
        let form_um = (before.form_error_um.value() - after.form_error_um.value()).max(0.0);
        let valleys_um = ra_before_um * rule.rz_per_ra.value() / 2.0;
        let recast_um =
            rule.recast_base_um.value() + ra_before_um.powi(2) * rule.recast_per_ra_squared.value();
        let left_um = form_um + valleys_um + recast_um;
        if taken_um < left_um {
            let short_um = left_um - taken_um;
            let rest = if short_um <= later_um {
                format!("the skims after it take the other {short_um:.1}")
            } else {
                format!(
                    "of the other {short_um:.1} the skims after it take {later_um:.1}: cut and etch a test piece"
                )
            };
            reasons.push(format!(
                "it takes {taken_um} µm off a wall that may need {left_um:.1} µm: form error {form_um:.1} above its own, \
                 valleys {valleys_um:.1}, recast layer {recast_um:.1}; {rest}"
            ));
        }
        reasons
    }
}

fn taken_um(row: &RecipePass) -> f64 {
    row.taken_um.as_ref().map_or(0.0, Number::value)
}
