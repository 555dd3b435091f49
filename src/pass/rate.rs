//! Computes area rates. Each is a product of factors; each factor is a term that can be traced.

use super::{Nozzles, PassRequest, Setting};
use crate::elementary::{exp, ln, powf};
use crate::id::PassNo;
use crate::shop::{
    Basis, Book, Calibration, Figure, FlushingRule, Number, Recipe, RecipePass, Term, ThicknessRule,
    WireDiameterRule,
};
use crate::units::Band;

/// All that a rate depends on.
pub(super) struct Rates<'a> {
    pub(super) book: &'a Book,
    pub(super) request: &'a PassRequest,
    pub(super) setting: Setting<'a>,
    pub(super) recipe: Option<&'a Recipe>,
    pub(super) calibration: Option<&'a Calibration>,
}

const MM2_MIN: &str = "mm²/min";
const CAPPED: &str = "product of its terms, at most fastest feed × thickness";

impl Rates<'_> {
    /// Computes the rate of the rough cut, mm²/min.
    pub(super) fn rough(&self, row: &RecipePass) -> Figure {
        self.calibrated(self.rough_as_in_the_book(row))
    }

    fn rough_as_in_the_book(&self, row: &RecipePass) -> Figure {
        let Setting {
            material,
            wire,
            machine,
        } = self.setting;
        let rules = &self.book.rules;
        // A rate of the shop's own stands for all that its recipe names.
        let own = self.recipe.filter(|_| row.own.rate);
        let names = |says: fn(&Recipe) -> bool| own.is_some_and(says);
        let mut terms = Vec::new();
        match (&row.rate_mm2_min, own) {
            (Some(rate), Some(recipe)) => {
                terms.push(Term::of(format!("rate of recipe {}", recipe.name), rate, MM2_MIN));
                if recipe.materials.is_empty() {
                    terms.push(self.material_factor(1.0));
                }
            }
            _ => terms.push(Term::of(
                format!("rate of {}", material.name),
                &material.rate_mm2_min,
                MM2_MIN,
            )),
        }
        if !names(|recipe| recipe.wire_mm.is_some()) {
            terms.push(diameter_factor(&rules.wire_diameter, wire.size.diameter_mm));
        }
        terms.push(self.thickness_factor(own));
        terms.extend(self.thickness_doubt(own));
        if !names(|recipe| recipe.wire_kind.is_some()) {
            terms.push(Term::of(
                format!("wire kind {}", wire.kind.name),
                &wire.kind.rate_factor,
                "",
            ));
        }
        terms.push(flushing_factor(&rules.flushing, self.request.nozzles));
        terms.push(Term::of(
            format!("machine {}", machine.name),
            &machine.rate_factor,
            "",
        ));
        if self.request.passes == 1 && own.is_none() {
            let factor = self.single_cut(&terms);
            terms.push(factor);
        }
        let rate = product(PassNo::FIRST, terms);
        // What a single cut loses hangs on the thickness too.
        let is_thin = self.request.thickness_mm <= rules.thickness.thin_below_mm.value();
        if is_thin || self.request.passes > 1 && self.feeds_slower_than_thin(own) {
            return rate;
        }
        self.slower_than_thin(rate, |thin| thin.rough_as_in_the_book(row))
    }

    /// Whether the low end of a feed cannot lie above that at the rule's thin limit, whatever the other factors: the expected feed has
    /// fallen by more than the doubt about the best thickness can be there.
    fn feeds_slower_than_thin(&self, own: Option<&Recipe>) -> bool {
        let rule = &self.book.rules.thickness;
        let (thin_mm, at_mm) = (rule.thin_below_mm.value(), self.request.thickness_mm);
        let [thin, here] = [thin_mm, at_mm].map(|mm| thickness_band(rule, own, mm));
        at_mm <= thin_mm || here.expected / at_mm <= thin.low / thin_mm
    }

    /// Takes the low end of a rate down to the feed that `same` has at the rule's thin limit: the doubt about the best thickness grows
    /// towards thin work, and would let the high end of time fall with the thickness.
    fn slower_than_thin(&self, mut rate: Figure, same: impl Fn(&Rates<'_>) -> Figure) -> Figure {
        let thin_mm = self.book.rules.thickness.thin_below_mm.value();
        let request = PassRequest {
            thickness_mm: thin_mm,
            ..self.request.clone()
        };
        let thin = same(&Rates {
            request: &request,
            ..*self
        });
        let here = thin.value.low * self.request.thickness_mm / thin_mm;
        rate.value.low = rate.value.low.min(here);
        rate
    }

    /// Computes what a single cut loses against a rough cut of `terms`: no more than a skim would take, since nobody
    /// takes one pass where two are no slower.
    fn single_cut(&self, terms: &[Term]) -> Term {
        let number = &self.book.single_cut.rate_factor;
        let mut term = Term::of("single cut", number, "");
        let fitted = self
            .calibration
            .map_or(1.0, |calibration| calibration.rate_factor.value());
        let rough = fitted * terms.iter().map(|term| term.value.expected).product::<f64>();
        let mut rows = PassNo::numbered(&self.book.pass_table);
        let skim = rows
            .nth(1)
            .and_then(|(pass, row)| Some(self.capped(self.skim(pass, row, row.rate_mm2_min.as_ref()?))));
        let as_two = skim.map_or(0.0, |skim| skim.value.expected / (skim.value.expected + rough));
        if as_two > number.value() {
            term.name = String::from("single cut, no slower than a rough cut and a skim");
            // As doubtful as the factor that it stands for.
            term.value = number.band.scaled(as_two / number.value());
        }
        term
    }

    /// Computes the rate of a skim, mm²/min, before its feed is [`capped`](Self::capped): nozzles and coating do not touch it.
    pub(super) fn skim(&self, pass: PassNo, row: &RecipePass, rate: &Number) -> Figure {
        self.calibrated(self.skim_as_in_the_book(pass, row, rate))
    }

    fn skim_as_in_the_book(&self, pass: PassNo, row: &RecipePass, rate: &Number) -> Figure {
        let own = self.recipe.filter(|_| row.own.rate);
        let mut terms = vec![Term::of(format!("table rate of pass {pass}"), rate, MM2_MIN)];
        if own.is_none_or(|recipe| recipe.materials.is_empty()) {
            let material = self.setting.material;
            terms.push(match &material.skim_factor {
                Some(factor) => Term::of(
                    format!("skims of {} against the table's", material.name),
                    factor,
                    "",
                ),
                None => self.material_factor(self.book.rules.skim.exponent.value()),
            });
        }
        terms.push(self.thickness_factor(own));
        terms.extend(self.thickness_doubt(own));
        let figure = product(pass, terms);
        if self.feeds_slower_than_thin(own) {
            return figure;
        }
        self.slower_than_thin(figure, |thin| thin.skim_as_in_the_book(pass, row, rate))
    }

    /// Returns what the fastest feed of a skim allows, mm²/min.
    pub(super) fn fastest_skim_mm2_min(&self) -> f64 {
        self.book.rules.skim.fastest_feed_mm_min.value() * self.request.thickness_mm
    }

    /// Caps the rate of a skim: the machine feeds no faster, whatever finished jobs say.
    pub(super) fn capped(&self, mut figure: Figure) -> Figure {
        let cap = &self.book.rules.skim.fastest_feed_mm_min;
        let cap_rate = cap.band.scaled(self.request.thickness_mm);
        if figure.value.high > cap_rate.low {
            figure.value = Band {
                low: figure.value.low.min(cap_rate.low),
                expected: figure.value.expected.min(cap_rate.expected),
                high: figure.value.high.min(cap_rate.high),
            };
            figure.formula = CAPPED;
            figure
                .terms
                .push(Term::of("fastest feed of a skim", cap, "mm/min"));
            figure
                .terms
                .push(Term::given("thickness", self.request.thickness_mm, "mm", "given"));
        }
        figure
    }

    /// Applies the calibration from finished jobs. The scatter of the fit covers the uncertainty of all factors.
    fn calibrated(&self, mut figure: Figure) -> Figure {
        let Some(calibration) = self.calibration else {
            return figure;
        };
        let fitted = &calibration.rate_factor;
        figure.value = fitted.band.scaled(figure.value.expected);
        figure.terms.push(Term::of(
            format!("calibration on {} jobs", calibration.jobs),
            fitted,
            "",
        ));
        figure
    }

    /// (rate of the material / rate of the table's material)^exponent. Its own doubt is in the band of the
    /// rate it multiplies.
    fn material_factor(&self, exponent: f64) -> Term {
        let material = self.setting.material;
        let skim = &self.book.rules.skim;
        let ratio = material.rate_mm2_min.value() / skim.reference_rate_mm2_min.value();
        Term {
            name: format!("{} against the table's material", material.name),
            value: Band::exact(powf(ratio, exponent)),
            unit: "",
            source: format!(
                "(rate / {} mm²/min)^{exponent}; {}",
                skim.reference_rate_mm2_min.value(),
                skim.exponent.source
            ),
            basis: skim.exponent.basis.max(material.rate_mm2_min.basis),
            is_figure: false,
        }
    }

    /// `own` is the recipe whose own rate it is for.
    fn thickness_factor(&self, own: Option<&Recipe>) -> Term {
        let rule = &self.book.rules.thickness;
        let thickness_mm = self.request.thickness_mm;
        Term {
            name: format!("thickness {thickness_mm} mm"),
            value: thickness_band(rule, own, thickness_mm),
            unit: "",
            source: format!(
                "exp(-1/2 · (ln(H / {}) / {})²); {}",
                rule.best_mm.value(),
                rule.spread.value(),
                rule.best_mm.source
            ),
            basis: rule.spread.basis.max(rule.best_mm.basis),
            is_figure: false,
        }
    }
}

fn product(pass: PassNo, terms: Vec<Term>) -> Figure {
    let bands: Vec<Band> = terms.iter().map(|term| term.value).collect();
    let name = format!("area rate of pass {pass}");
    Figure::new(
        name,
        Band::product(&bands),
        MM2_MIN,
        "product of its terms",
        terms,
    )
}

/// Computes the factor of the area rate at `thickness_mm`, with what the doubt about the best thickness makes of it; against the
/// thickness that the rates of the recipe `own` are for, where it names one.
fn thickness_band(rule: &ThicknessRule, own: Option<&Recipe>, thickness_mm: f64) -> Band {
    let base = own.and_then(|recipe| recipe.rates_at_mm);
    let relative = |best_mm: f64| {
        let at_base = base.map_or(1.0, |at_mm| factor_of_thickness(rule, best_mm, at_mm));
        factor_of_thickness(rule, best_mm, thickness_mm) / at_base
    };
    let Band { low, expected, high } = rule.best_mm.band;
    // Where the best thickness may be that of the work, its factor there is greatest.
    let at = [low, thickness_mm.clamp(low, high), high].map(relative);
    let at_expected = relative(expected);
    Band {
        low: at.into_iter().fold(at_expected, f64::min),
        expected: at_expected,
        high: at.into_iter().fold(at_expected, f64::max),
    }
}

/// Computes the factor of the area rate at `thickness_mm` when the best rate is at `best_mm`. Below the rule's thin limit
/// the feed, rate over thickness, stays as it is there.
fn factor_of_thickness(rule: &ThicknessRule, best_mm: f64, thickness_mm: f64) -> f64 {
    let thin_mm = rule.thin_below_mm.value();
    let at_mm = thickness_mm.max(thin_mm);
    let bell = exp(-0.5 * (ln(at_mm / best_mm) / rule.spread.value()).powi(2));
    bell * (thickness_mm / thin_mm).min(1.0)
}

fn diameter_factor(rule: &WireDiameterRule, diameter_mm: f64) -> Term {
    let from_mm = rule.linear_from_mm.value();
    let (factor, number) = if diameter_mm < from_mm {
        let factor = rule.thin_factor.value() * powf(diameter_mm / from_mm, rule.thin_exponent.value());
        (factor, &rule.thin_exponent)
    } else if diameter_mm < rule.plateau_from_mm.value() {
        (diameter_mm / rule.reference_mm.value(), &rule.linear_from_mm)
    } else {
        (rule.plateau_factor.value(), &rule.plateau_factor)
    };
    Term {
        name: format!("wire diameter {diameter_mm} mm"),
        value: Band::exact(factor),
        unit: "",
        source: number.source.clone(),
        basis: number.basis,
        is_figure: false,
    }
}

fn flushing_factor(rule: &FlushingRule, nozzles: Nozzles) -> Term {
    let (words, number) = match nozzles {
        Nozzles::Sealed => ("both nozzles on the work", &rule.sealed),
        Nozzles::OneOpen => ("one nozzle off the work", &rule.one_open),
        Nozzles::BothOpen => ("both nozzles off the work", &rule.both_open),
    };
    Term::of(words, number, "")
}

/// Computes the feed of a pass, mm/min: area rate over thickness.
pub(super) fn feed(pass: PassNo, rate: &Figure, thickness_mm: f64) -> Figure {
    Figure::new(
        format!("feed of pass {pass}"),
        rate.value.scaled(thickness_mm.recip()),
        "mm/min",
        "area rate / thickness",
        vec![rate.term(), Term::given("thickness", thickness_mm, "mm", "given")],
    )
}

/// Computes the factor by which form error grows in thick work, or what is open of it in thin work.
pub(super) fn form_error_factor(book: &Book, thickness_mm: f64) -> Term {
    let rule = &book.rules.form_error;
    if thickness_mm < rule.thin_below_mm.value() {
        return Term::of(format!("thickness {thickness_mm} mm"), &rule.thin_factor, "");
    }
    let over_mm = (thickness_mm - rule.from_mm.value()).max(0.0);
    Term {
        name: format!("thickness {thickness_mm} mm"),
        value: Band::exact(1.0 + over_mm / rule.per_mm.value()),
        unit: "",
        source: format!(
            "1 + (H - {}) / {} above; {}",
            rule.from_mm.value(),
            rule.per_mm.value(),
            rule.per_mm.source
        ),
        basis: rule.per_mm.basis.max(Basis::Given),
        is_figure: false,
    }
}
