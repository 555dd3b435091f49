//! Reads TOML and collects every flaw with its line, instead of stopping at the first.

use std::cell::RefCell;
use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Basis, Flaw, FlawSource, Flaws, Number, nearest};
use crate::units::Band;

/// The range of a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Limit {
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// From 0 to 1.
    Share,
    /// From 0 to 0.9: what loses more has no price.
    Loss,
    /// Any finite number.
    Finite,
}

impl Limit {
    fn holds(self, value: f64) -> bool {
        value.is_finite()
            && match self {
                Self::Positive => value > 0.0,
                Self::NotNegative => value >= 0.0,
                Self::Share => (0.0..=1.0).contains(&value),
                Self::Loss => (0.0..=0.9).contains(&value),
                Self::Finite => true,
            }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Positive => "a number above 0",
            Self::NotNegative => "a number of 0 or above",
            Self::Share => "a number from 0 to 1",
            Self::Loss => "a number from 0 to 0.9",
            Self::Finite => "a finite number",
        }
    }
}

/// The text being read and the flaws found so far.
pub(super) struct BookText<'a> {
    text: &'a str,
    origin: FlawSource,
    flaws: RefCell<Vec<Flaw>>,
}

impl<'a> BookText<'a> {
    pub(super) fn new(text: &'a str, origin: FlawSource) -> Self {
        Self {
            text,
            origin,
            flaws: RefCell::default(),
        }
    }

    fn line(&self, at: usize) -> usize {
        1 + self.text.bytes().take(at).filter(|byte| *byte == b'\n').count()
    }

    pub(super) fn flaw(&self, at: usize, entry: String, reason: String) {
        let line = self.line(at);
        let origin = self.origin;
        self.flaws.borrow_mut().push(Flaw {
            origin,
            line,
            entry,
            reason,
        });
    }

    /// Parses the whole text as a table; errors of TOML itself become flaws.
    pub(super) fn parse(&self) -> DeTable<'a> {
        let (table, errors) = DeTable::parse_recoverable(self.text);
        for error in errors {
            let at = error.span().map_or(0, |span| span.start);
            self.flaw(at, String::new(), error.message().trim().to_owned());
        }
        table.into_inner()
    }

    pub(super) fn finish(self) -> Result<(), Flaws> {
        let mut flaws = self.flaws.into_inner();
        flaws.sort_by_key(|flaw| flaw.line);
        if flaws.is_empty() {
            Ok(())
        } else {
            Err(Flaws(flaws))
        }
    }
}

/// A table of the text, with its place.
pub(super) struct Entry<'t, 'a> {
    sheet: &'t BookText<'a>,
    table: &'t DeTable<'a>,
    path: String,
    at: usize,
    known: RefCell<BTreeSet<String>>,
}

impl<'t, 'a> Entry<'t, 'a> {
    pub(super) fn root(sheet: &'t BookText<'a>, table: &'t DeTable<'a>) -> Self {
        Self::new(sheet, table, String::new(), 0)
    }

    fn new(sheet: &'t BookText<'a>, table: &'t DeTable<'a>, path: String, at: usize) -> Self {
        Self {
            sheet,
            table,
            path,
            at,
            known: RefCell::default(),
        }
    }

    fn name_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    fn get(&self, key: &str) -> Option<&'t Spanned<DeValue<'a>>> {
        self.known.borrow_mut().insert(key.to_owned());
        self.table.get(key)
    }

    /// Records a flaw of this table as a whole.
    pub(super) fn flaw(&self, reason: impl Into<String>) {
        self.sheet.flaw(self.at, self.path.clone(), reason.into());
    }

    /// Records a flaw of one value of this table.
    pub(super) fn flaw_at(&self, key: &str, reason: impl Into<String>) {
        let at = self.table.get(key).map_or(self.at, |value| value.span().start);
        self.sheet.flaw(at, self.name_of(key), reason.into());
    }

    fn missing<T>(&self, key: &str, what: &str) -> Option<T> {
        self.flaw(format!("`{key}` is missing: {what}"));
        None
    }

    /// Reads a number with its band and source, or returns `old` where the text has none; a flaw where neither has one.
    pub(super) fn number(&self, key: &str, old: Option<&Number>, limit: Limit) -> Option<Number> {
        self.number_if(key, old, limit).or_else(|| {
            if self.has(key) {
                None
            } else {
                self.missing(key, limit.words())
            }
        })
    }

    /// Reads a number that may be absent.
    pub(super) fn number_if(&self, key: &str, old: Option<&Number>, limit: Limit) -> Option<Number> {
        let Some(value) = self.get(key) else {
            return old.cloned();
        };
        let number = if let Some(table) = value.get_ref().as_table() {
            let inner = Self::new(self.sheet, table, self.name_of(key), value.span().start);
            let number = inner.written_out(limit);
            inner.finish();
            number
        } else {
            let plain = self.plain(key, value, limit)?;
            if self.sheet.origin == FlawSource::BuiltIn {
                self.flaw_at(key, "a number without source and basis");
            }
            Some(Number {
                band: Band::exact(plain),
                basis: Basis::Shop,
                source: "the shop's own book".to_owned(),
            })
        };
        number.filter(|number| self.band_holds(key, number, limit))
    }

    fn band_holds(&self, key: &str, number: &Number, limit: Limit) -> bool {
        let Band { low, expected, high } = number.band;
        let right =
            low <= expected && expected <= high && [low, expected, high].iter().all(|v| limit.holds(*v));
        if !right {
            let reason = format!(
                "low {low}, value {expected}, high {high}: give them in this order, each {}",
                limit.words()
            );
            self.flaw_at(key, reason);
        }
        right
    }

    /// `{ value, low, high | percent | times, basis, source }`.
    fn written_out(&self, limit: Limit) -> Option<Number> {
        let of = |key: &str| self.get(key).map(|value| self.plain(key, value, Limit::Finite));
        let value = match of("value") {
            Some(value) => value?,
            None => return self.missing("value", limit.words()),
        };
        let (low, high, percent, times) = (of("low"), of("high"), of("percent"), of("times"));
        let band = if let Some(percent) = percent {
            let share = percent? / 100.0;
            Band {
                low: value * (1.0 - share),
                expected: value,
                high: value * (1.0 + share),
            }
        } else if let Some(times) = times {
            let times = times?;
            Band {
                low: value / times,
                expected: value,
                high: value * times,
            }
        } else {
            Band {
                low: low.unwrap_or(Some(value))?,
                expected: value,
                high: high.unwrap_or(Some(value))?,
            }
        };
        let own = self.sheet.origin == FlawSource::Own;
        let basis = match self.text_if("basis") {
            Some(word) => Basis::from_word(&word).or_else(|| {
                self.flaw_at(
                    "basis",
                    format!("`{word}`: use published, memory, practice, default or shop"),
                );
                None
            })?,
            None if own => Basis::Shop,
            None => return self.missing("basis", "published, memory, practice, default or shop"),
        };
        let source = match self.text_if("source") {
            Some(source) => source,
            None if own => "the shop's own book".to_owned(),
            None => return self.missing("source", "where the number comes from"),
        };
        Some(Number { band, basis, source })
    }

    fn plain(&self, key: &str, value: &Spanned<DeValue<'a>>, limit: Limit) -> Option<f64> {
        let value = value.get_ref();
        let number = if let Some(integer) = value.as_integer() {
            i64::from_str_radix(integer.as_str(), integer.radix())
                .ok()
                .map(|n| n as f64)
        } else {
            value.as_float().and_then(|float| float.as_str().parse().ok())
        };
        if let Some(number) = number.filter(|number| limit.holds(*number)) {
            return Some(number);
        }
        let found = number.map_or_else(|| format!("a {}", value.type_str()), |number| number.to_string());
        self.flaw_at(key, format!("{found} where {} is needed", limit.words()));
        None
    }

    /// Reads a plain number without band or source.
    pub(super) fn plain_if(&self, key: &str, limit: Limit) -> Option<f64> {
        self.get(key).and_then(|value| self.plain(key, value, limit))
    }

    /// Reads plain numbers, such as the diameters a wire is made in.
    pub(super) fn plain_list(&self, key: &str, limit: Limit) -> Option<Vec<f64>> {
        let value = self.get(key)?;
        let Some(list) = value.get_ref().as_array() else {
            self.flaw_at(key, "a list of numbers is needed, such as [0.20, 0.25]");
            return None;
        };
        list.iter().map(|item| self.plain(key, item, limit)).collect()
    }

    pub(super) fn text(&self, key: &str, old: Option<&str>) -> Option<String> {
        let new = self.text_if(key);
        if self.has(key) {
            return new;
        }
        old.map(str::to_owned).or_else(|| self.missing(key, "some text"))
    }

    pub(super) fn text_if(&self, key: &str) -> Option<String> {
        let value = self.get(key)?;
        let text = value.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            self.flaw_at(
                key,
                format!("a {} where text in quotes is needed", value.get_ref().type_str()),
            );
        }
        text
    }

    pub(super) fn text_list(&self, key: &str) -> Option<Vec<String>> {
        let value = self.get(key)?;
        let list = value.get_ref().as_array().and_then(|list| {
            list.iter()
                .map(|item| item.get_ref().as_str().map(str::to_owned))
                .collect()
        });
        if list.is_none() {
            self.flaw_at(key, "a list of texts is needed, such as [\"brass\"]");
        }
        list
    }

    /// Returns the keys of the table, in their order.
    pub(super) fn keys(&self) -> Vec<String> {
        self.table.keys().map(|key| key.get_ref().to_string()).collect()
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    fn entry_of(&self, key: &str, value: &'t Spanned<DeValue<'a>>) -> Option<Self> {
        let table = value.get_ref().as_table();
        if table.is_none() {
            self.flaw_at(
                key,
                format!("a {} where a table is needed", value.get_ref().type_str()),
            );
        }
        table.map(|table| Self::new(self.sheet, table, self.name_of(key), value.span().start))
    }

    /// Returns the table under `key`, if there is one.
    pub(super) fn child(&self, key: &str) -> Option<Self> {
        let value = self.get(key)?;
        self.entry_of(key, value)
    }

    /// Returns the named tables under `key`, in order of their names.
    pub(super) fn children(&self, key: &str) -> Vec<(String, Self)> {
        let Some(parent) = self.child(key) else {
            return Vec::new();
        };
        parent
            .table
            .iter()
            .filter_map(|(name, value)| {
                let name = name.get_ref().to_string();
                parent.entry_of(&name, value).map(|entry| (name, entry))
            })
            .collect()
    }

    /// Returns the tables of the list under `key`.
    pub(super) fn list(&self, key: &str) -> Vec<Self> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let Some(list) = value.get_ref().as_array() else {
            self.flaw_at(key, "a list of tables is needed");
            return Vec::new();
        };
        list.iter()
            .enumerate()
            .filter_map(|(i, item)| {
                let name = format!("{key}[{}]", i + 1);
                let table = item.get_ref().as_table();
                if table.is_none() {
                    self.sheet.flaw(
                        item.span().start,
                        self.name_of(&name),
                        "a table is needed".to_owned(),
                    );
                }
                table.map(|table| Self::new(self.sheet, table, self.name_of(&name), item.span().start))
            })
            .collect()
    }

    /// Reports every name that was not read.
    pub(super) fn finish(&self) {
        let known = self.known.borrow();
        for name in self.table.keys() {
            if known.contains(name.get_ref().as_ref()) {
                continue;
            }
            let hint = nearest(name.get_ref(), known.iter().map(String::as_str))
                .map_or_else(String::new, |word| format!("; did you mean `{word}`?"));
            let entry = self.name_of(name.get_ref());
            self.sheet.flaw(
                name.span().start,
                entry,
                format!("not a name the book knows{hint}"),
            );
        }
    }
}
