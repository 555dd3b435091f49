//! Computes the passes of a request from the book.

use super::borrowed::Borrowed;
use super::rate::{Rates, feed, form_error_factor};
use super::{Error, Pass, PassKind, PassRequest, Setting};
use crate::elementary::powf;
use crate::id::PassNo;
use crate::shop::{Book, Case, Figure, Number, Recipe, RecipePass, Term};
use crate::units::{Band, UM_PER_MM};

/// The passes of one demand, and how each of their figures came about.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Schedule {
    /// The passes, rough first.
    pub passes: Vec<Pass>,
    /// How each pass's figures came about, in the same order.
    pub traces: Vec<PassTrace>,
    /// Name of the own recipe it follows; `None` for the built-in table.
    pub recipe: Option<String>,
    /// Numbers in it that were made for other work.
    pub borrowed: Vec<Borrowed>,
    /// Jobs and typical error (percent) of the calibration behind it.
    pub calibration: Option<(usize, f64)>,
}

impl Schedule {
    /// Returns a pass by its number; `None` where the schedule has no such pass.
    pub fn pass(&self, pass: PassNo) -> Option<&Pass> {
        self.passes.get(pass.index())
    }

    /// Returns how the figures of a pass came about; `None` where the schedule has no such pass.
    pub fn trace(&self, pass: PassNo) -> Option<&PassTrace> {
        self.traces.get(pass.index())
    }

    /// How the figures of the pass came about that leaves the wall: the last, or the first where the wall is not skimmed.
    pub fn left_by(&self, skimmed: bool) -> &PassTrace {
        let trace = if skimmed {
            self.traces.last()
        } else {
            self.traces.first()
        };
        trace.expect("a schedule has a pass")
    }
}

/// How the figures of one pass came about.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct PassTrace {
    /// Area rate, mm²/min.
    pub rate: Figure,
    /// What the fastest feed of a skim allows, mm²/min; `None` for a rough cut.
    pub fastest_mm2_min: Option<f64>,
    /// The expected area rate without the fastest feed, mm²/min.
    pub unlimited_mm2_min: f64,
    /// Feed, mm/min.
    pub feed: Figure,
    /// Offset, mm; its band is what the gaps and stock of the book leave open.
    pub offset: Figure,
    /// Ra, µm.
    pub ra: Figure,
    /// Form error per side, µm.
    pub form_error: Figure,
    /// The day on which its offset was gauged on a test piece, year-month-day; `None` where it was not.
    pub gauged_on: Option<String>,
}

impl Schedule {
    /// Returns every figure with its terms, pass by pass.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        self.traces
            .iter()
            .flat_map(|t| [&t.rate, &t.feed, &t.offset, &t.ra, &t.form_error])
    }
}

/// Computes the passes of a request, rough first.
pub fn passes(book: &Book, request: &PassRequest) -> Result<Vec<Pass>, Error> {
    schedule(book, request).map(|schedule| schedule.passes)
}

/// The rows of the recipe for a request, with all that their figures depend on.
struct BookRows<'a> {
    rates: Rates<'a>,
    list: &'a [RecipePass],
}

impl<'a> BookRows<'a> {
    fn of(book: &'a Book, request: &'a PassRequest) -> Result<Self, Error> {
        let setting = request.setting(book)?;
        let (name, kind) = (setting.material.name.as_str(), setting.wire.kind.name.as_str());
        let wire_mm = setting.wire.size.diameter_mm;
        let recipe = book.recipe(&Case {
            material: name,
            wire_mm,
            wire_kind: kind,
            thickness_mm: request.thickness_mm,
            passes: request.passes,
            machine: &setting.machine.name,
        });
        let list = match recipe {
            Some(recipe) => recipe.rows.as_slice(),
            None => book.pass_table.get(..request.passes).ok_or(Error::Passes {
                asked: request.passes,
                most: book.pass_table.len(),
            })?,
        };
        let rates = Rates {
            book,
            request,
            setting,
            recipe,
            calibration: book.calibration(name, wire_mm, kind, &setting.machine.name),
        };
        Ok(Self { rates, list })
    }

    fn gap_um(&self, i: usize) -> Band {
        self.rates.spark_gap_um(&self.list[i], PassNo::from_index(i))
    }

    /// The spark gap of a row as a term of its offset.
    fn gap(&self, i: usize) -> Term {
        let row = &self.list[i];
        let mut gap = Term::of(
            format!("spark gap of pass {}", PassNo::from_index(i)),
            &row.spark_gap_um,
            "µm",
        );
        gap.value = self.gap_um(i);
        for factor in self.rates.gap_factors(row) {
            gap.source = format!("{}; {}: {}", gap.source, factor.name, factor.source);
            gap.basis = gap.basis.max(factor.basis);
        }
        gap
    }
}

/// Returns the spark gaps of the first and of the last pass, mm.
pub(super) fn outer_gaps_mm(book: &Book, request: &PassRequest) -> Result<[f64; 2], Error> {
    let rows = BookRows::of(book, request)?;
    Ok([0, rows.list.len() - 1].map(|i| rows.gap_um(i).expected / UM_PER_MM))
}

/// Computes the offset, mm, and the area rate, mm²/min, of the rough pass of a request, as expected, and half of its kerf, mm.
pub(crate) fn rough_cut(book: &Book, request: &PassRequest) -> Result<[f64; 3], Error> {
    let rows = BookRows::of(book, request)?;
    let half_kerf_mm = 0.5 * rows.rates.setting.wire.size.diameter_mm + rows.gap_um(0).expected / UM_PER_MM;
    let offset_mm = half_kerf_mm + stock_um(rows.list, 0) / UM_PER_MM - request.aim_mm;
    let rate = rows.rates.rough(&rows.list[0]);
    Ok([offset_mm, rate.value.expected, half_kerf_mm])
}

/// Computes the passes of a request with their bands, and the trace of every figure.
pub fn schedule(book: &Book, request: &PassRequest) -> Result<Schedule, Error> {
    let rows = BookRows::of(book, request)?;
    let Rates {
        setting,
        recipe,
        calibration,
        ..
    } = rows.rates;
    let wire_mm = setting.wire.size.diameter_mm;
    let last = rows.list.len() - 1;
    let limit_mm = offset(rows.list, last, rows.gap(last), wire_mm, 0.0)
        .value
        .expected;
    if request.aim_mm.is_nan() || request.aim_mm.abs() >= limit_mm {
        let aim_mm = request.aim_mm;
        return Err(Error::Aim { aim_mm, limit_mm });
    }
    let mut result = Schedule {
        passes: Vec::with_capacity(rows.list.len()),
        traces: Vec::with_capacity(rows.list.len()),
        recipe: recipe.map(|recipe| recipe.name.clone()),
        borrowed: rows.rates.borrowed(rows.list),
        calibration: calibration.map(|c| (c.jobs, c.typical_error_percent)),
    };
    for (i, row) in rows.list.iter().enumerate() {
        let pass = PassNo::from_index(i);
        let skim = row.rate_mm2_min.as_ref().filter(|_| !pass.is_rough());
        let unlimited = match skim {
            Some(rate) => rows.rates.skim(pass, row, rate),
            None => rows.rates.rough(row),
        };
        let unlimited_mm2_min = unlimited.value.expected;
        let rate = match skim {
            Some(_) => rows.rates.capped(unlimited),
            None => unlimited,
        };
        let feed = feed(pass, &rate, request.thickness_mm);
        let gap_um = rows.gap_um(i);
        let offset = offset(rows.list, i, rows.gap(i), wire_mm, request.aim_mm);
        let ra = surface(book, recipe, setting, row, pass, request.passes);
        let form_error = form_error(book, recipe, row, pass, request.thickness_mm);
        result.passes.push(Pass {
            pass,
            kind: if pass.is_rough() {
                PassKind::Rough
            } else {
                PassKind::Skim
            },
            offset_mm: offset.value.expected,
            half_kerf_mm: 0.5 * wire_mm + gap_um.expected / UM_PER_MM,
            spark_gap_mm: gap_um.expected / UM_PER_MM,
            stock_mm: stock_um(rows.list, i) / UM_PER_MM,
            area_rate_mm2_min: rate.value,
            feed_mm_min: feed.value,
            ra_um: ra.value,
            form_error_um: form_error.value,
        });
        result.traces.push(PassTrace {
            rate,
            fastest_mm2_min: skim.map(|_| rows.rates.fastest_skim_mm2_min()),
            unlimited_mm2_min,
            feed,
            offset,
            ra,
            form_error,
            gauged_on: recipe.and_then(|recipe| recipe.gauged.clone()),
        });
    }
    let run = request.stop_after.unwrap_or(rows.list.len());
    result.passes.truncate(run);
    result.traces.truncate(run);
    Ok(result)
}

/// Computes the stock left on the wall after row `i`, µm.
fn stock_um(rows: &[RecipePass], i: usize) -> f64 {
    rows[i + 1..]
        .iter()
        .filter_map(|row| row.taken_um.as_ref())
        .map(Number::value)
        .sum()
}

impl Rates<'_> {
    /// Computes the spark gap of a row for this wire and work: the first passes follow the wire, the finer ones the pulse. A
    /// gauged correction is added: only the offset can be gauged, and it is counted as gap.
    fn spark_gap_um(&self, row: &RecipePass, pass: PassNo) -> Band {
        let rule = &self.book.rules.spark_gap;
        let own = row.own.spark_gap && self.recipe.is_some_and(|recipe| recipe.wire_mm.is_some());
        let table = row.spark_gap_um.band;
        let gap_um = if own || pass.number() as f64 > rule.scaled_passes.value() {
            table
        } else {
            let reference_mm = self.book.rules.wire_diameter.reference_mm.value();
            let ratio = self.setting.wire.size.diameter_mm / reference_mm;
            table.scaled(powf(ratio, rule.exponent.value()))
        };
        let factors = self.gap_factors(row);
        let gap_um = if factors.is_empty() {
            gap_um
        } else {
            let factors = factors.iter().map(|factor| factor.value);
            Band::product(&std::iter::once(gap_um).chain(factors).collect::<Vec<_>>())
        };
        self.offset_correction_um().map_or(gap_um, |correction| {
            let shifted = |gap_um: f64| (gap_um + correction.value()).max(0.0);
            Band {
                low: shifted(gap_um.low),
                expected: shifted(gap_um.expected),
                high: shifted(gap_um.high),
            }
        })
    }
}

/// Sums in micrometres, so that the figures of the table come out exactly. The uncertainties of gap and stock are independent:
/// they are added in quadrature.
fn offset(rows: &[RecipePass], i: usize, gap: Term, wire_mm: f64, aim_mm: f64) -> Figure {
    let pass = PassNo::from_index(i);
    let gap_um = gap.value;
    let stock_um = stock_um(rows, i);
    let radius_um = wire_mm * UM_PER_MM / 2.0;
    let expected_um = radius_um + (gap_um.expected + stock_um) - aim_mm * UM_PER_MM;
    let later = || rows[i + 1..].iter().filter_map(|row| row.taken_um.as_ref());
    let spread_um = |end: fn(&Band) -> f64| {
        let own = (end(&gap_um) - gap_um.expected).powi(2);
        later()
            .fold(own, |sum, taken| sum + (end(&taken.band) - taken.value()).powi(2))
            .sqrt()
    };
    let value = Band {
        low: (expected_um - spread_um(|band| band.low)) / UM_PER_MM,
        expected: expected_um / UM_PER_MM,
        high: (expected_um + spread_um(|band| band.high)) / UM_PER_MM,
    };
    let mut terms = vec![Term::given("wire diameter", wire_mm, "mm", "given"), gap];
    terms.extend(
        later()
            .enumerate()
            .map(|(j, taken)| (PassNo::from_index(i + 1 + j), taken))
            .map(|(later, taken)| Term::of(format!("taken off by pass {later}"), taken, "µm")),
    );
    terms.push(Term::given("aim", aim_mm, "mm", "given"));
    Figure::new(
        format!("offset of pass {pass}"),
        value,
        "mm",
        "wire diameter / 2 + spark gap + what later passes take off - aim",
        terms,
    )
}

fn surface(
    book: &Book,
    recipe: Option<&Recipe>,
    setting: Setting<'_>,
    row: &RecipePass,
    pass: PassNo,
    passes: usize,
) -> Figure {
    let ra = if passes == 1 && !row.own.ra {
        &book.single_cut.ra_um
    } else {
        &row.ra_um
    };
    let mut terms = vec![Term::of(format!("Ra of pass {pass}"), ra, "µm")];
    if !(row.own.ra && recipe.is_some_and(|recipe| !recipe.materials.is_empty())) {
        let material = setting.material;
        terms.push(Term::of(
            format!("Ra factor of {}", material.name),
            &material.ra_factor,
            "",
        ));
    }
    product(format!("Ra after pass {pass}"), "µm", terms)
}

fn form_error(
    book: &Book,
    recipe: Option<&Recipe>,
    row: &RecipePass,
    pass: PassNo,
    thickness_mm: f64,
) -> Figure {
    let mut terms = vec![Term::of(
        format!("form error of pass {pass}"),
        &row.form_error_um,
        "µm",
    )];
    if !(row.own.form_error && recipe.is_some_and(|recipe| recipe.thickness_mm.is_some())) {
        terms.push(form_error_factor(book, thickness_mm));
    }
    product(format!("form error per side after pass {pass}"), "µm", terms)
}

fn product(name: String, unit: &'static str, terms: Vec<Term>) -> Figure {
    let bands: Vec<Band> = terms.iter().map(|term| term.value).collect();
    Figure::new(name, Band::product(&bands), unit, "product of its terms", terms)
}
