use super::{Book, Number, PassRow};

/// A step of a recipe that does not make sense at the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// The recipe, or `pass-table` for the built-in one.
    pub recipe: String,
    /// The pass, from 1.
    pub pass: usize,
    /// What is doubtful, in words.
    pub reason: String,
}

impl Book {
    /// Every recipe held against common sense: offsets, gaps and Ra fall from pass to pass, the last offset keeps
    /// clear of the wire, each skim takes off the form error, the valleys and the recast layer of the pass before.
    pub fn doubts(&self) -> Vec<Doubt> {
        let table = ("pass-table", self.pass_table.as_slice());
        let own = self
            .recipes
            .iter()
            .map(|recipe| (recipe.name.as_str(), recipe.rows.as_slice()));
        let mut doubts = Vec::new();
        for (name, rows) in std::iter::once(table).chain(own) {
            let mut doubt = |pass: usize, reason: String| {
                let recipe = name.to_owned();
                doubts.push(Doubt { recipe, pass, reason });
            };
            for (i, pair) in rows.windows(2).enumerate() {
                for reason in self.doubts_of_step(&pair[0], &pair[1]) {
                    doubt(i + 2, reason);
                }
            }
            if let Some(last) = rows.last().filter(|last| last.spark_gap_um.value() <= 0.0) {
                let gap_um = last.spark_gap_um.value();
                doubt(
                    rows.len(),
                    format!("a spark gap of {gap_um} µm: the wire would touch the finished wall"),
                );
            }
        }
        doubts
    }

    fn doubts_of_step(&self, before: &PassRow, after: &PassRow) -> Vec<String> {
        let mut reasons = Vec::new();
        let taken_um = after.taken_um.as_ref().map_or(0.0, Number::value);
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
        let form_um = before.form_error_um.value();
        let valleys_um = ra_before_um * rule.rz_per_ra.value() / 2.0;
        let recast_um = rule.recast_base_um.value() + ra_before_um * rule.recast_per_ra.value();
        let left_um = form_um + valleys_um + recast_um;
        if taken_um < left_um {
            reasons.push(format!(
                "it takes {taken_um} µm off a wall that may need {left_um:.1} µm: form error {form_um}, valleys \
                 {valleys_um:.1}, recast layer {recast_um:.1}"
            ));
        }
        reasons
    }
}
