use super::{GroupPlan, Plan};

impl GroupPlan {
    /// Returns the day on which its offsets were gauged on a test piece, year-month-day; `None` where they were not.
    pub fn gauged_on(&self) -> Option<&str> {
        self.schedule.traces.last()?.gauged_on.as_deref()
    }
}

impl Plan {
    /// Returns the day on which all its offsets were gauged on a test piece, the earliest of several; `None` where one was not.
    pub fn gauged_on(&self) -> Option<&str> {
        let days: Option<Vec<&str>> = self.groups.iter().map(GroupPlan::gauged_on).collect();
        days?.into_iter().min()
    }
}
