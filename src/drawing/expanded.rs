//! What model space holds, part by part.

use super::ignored::Account;
use super::levels::Levels;
use super::{Curve, CurveFact, PlacedPoint, PlacedText};

/// All that model space holds, or a part of it.
#[derive(Default)]
pub(super) struct Expanded {
    pub(super) curves: Vec<Curve>,
    pub(super) account: Account,
    pub(super) texts: Vec<PlacedText>,
    pub(super) points: Vec<PlacedPoint>,
    pub(super) facts: Vec<CurveFact>,
    pub(super) levels: Levels,
}

impl Expanded {
    /// Takes what follows in the file.
    pub(super) fn append(&mut self, mut later: Self) {
        self.levels.append(later.levels, self.curves.len());
        self.curves.append(&mut later.curves);
        self.account.append(later.account);
        self.texts.append(&mut later.texts);
        self.points.append(&mut later.points);
        self.facts.append(&mut later.facts);
    }
}
