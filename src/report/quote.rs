//! One row a drawing: what an order of it would take and cost. As a line of CSV (RFC 4180, fixed decimals) or as a line of
//! JSON in full precision.

mod columns;
mod earlier;
mod key;
mod sums;

use serde::{Deserialize, Serialize};

use super::csv;
use super::json::{SCHEMA, one_line};
use super::words;
use crate::check::path_words::refusal_in_words;
use crate::check::question_words::in_words;
use crate::estimate::JobTotals;
use crate::finding::{Finding, Severity};
use crate::job::JobFile;
use crate::message::Lengths;
use crate::message::number::counted;
use crate::message::{Message, message, mm};
use crate::plan::{self, Inspection, Plan, Planner, shortfalls_in_words};
use crate::shop::Book;
use crate::toolpath::IncompleteReason;

use columns::quote_columns;
pub use earlier::{Columns, from_json};
pub use key::{FIGURES, Keys};
pub use sums::Sums;

/// How far a drawing came.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Status {
    /// Planned, and expected to reach what is asked.
    Planned,
    /// Planned; no wire and number of passes in the shop data reaches the requirement, this comes nearest.
    Nearest,
    /// The drawing leaves open what is cut, or which side stays: the questions stand beside it. Neither time nor cost until they are
    /// answered.
    ToBeSettled,
    /// Not planned, or planned without a price: the reason stands beside it.
    #[default]
    Refused,
}

impl Status {
    const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Nearest => "nearest",
            Self::ToBeSettled => "to-be-settled",
            Self::Refused => "refused",
        }
    }
}

/// A drawing of a quote. What is not known is null, or empty where it is a text.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct QuoteRow {
    /// The drawing, or the job file, as it was named.
    pub file: String,
    /// How far it came.
    pub status: Status,
    /// Why it is refused or only the nearest, or what is to be settled; empty where it is planned.
    pub reason: Message,
    /// Perimeter of all that is cut, mm.
    pub perimeter_mm: Option<f64>,
    /// Path of the rough cut × thickness, mm².
    pub cut_area_mm2: Option<f64>,
    /// Paths of all passes × thickness, mm².
    pub pass_area_mm2: Option<f64>,
    /// Wire diameter, mm.
    pub wire_mm: Option<f64>,
    /// Number of passes, of each demand group where there are several: `4+1`.
    pub passes: String,
    /// Old, the same as `machine_minutes`: minutes that all that is drawn, cut once, takes the machine, low end.
    pub minutes_low: Option<f64>,
    /// The same, as expected.
    pub minutes: Option<f64>,
    /// The same, high end.
    pub minutes_high: Option<f64>,
    /// Cost of the order beside its pieces, as expected.
    pub cost_fixed: Option<f64>,
    /// Old: cost of all that is drawn, cut once, beside the fixed part, low end.
    pub cost_each_low: Option<f64>,
    /// The same, as expected.
    pub cost_each: Option<f64>,
    /// The same, high end.
    pub cost_each_high: Option<f64>,
    /// Severity and name of the worst finding; empty where there is none.
    pub worst_finding: String,
    /// What was taken for granted, above all what is cut.
    pub assumptions: String,
    /// Thickness, mm.
    pub thickness_mm: Option<f64>,
    /// Material, as the book names it.
    pub material: String,
    /// Pieces ordered, or as many as are drawn.
    pub quantity: Option<usize>,
    /// Currency of the costs.
    pub currency: String,
    /// How far the cost can be trusted.
    pub confidence: String,
    /// Stands for the drawing, all that is asked, the book and the figures that this program finds: rows with equal keys
    /// are equal, whatever their files are called.
    pub key: String,
    /// Numbers of equal parts, `6` or `3+1`, mirror images apart; empty where they are not known.
    pub parts: String,
    /// Pieces in the drawing: parts where all are equal, else sets of them.
    pub pieces_drawn: Option<usize>,
    /// Cost of one piece, as expected, beside the fixed part.
    pub cost_piece: Option<f64>,
    /// Minutes that all that is drawn, cut once, takes the machine, as expected; set-up is left aside.
    pub machine_minutes: Option<f64>,
    /// The same for one piece.
    pub piece_minutes: Option<f64>,
    /// Minutes that the order takes the machine, all pieces, set-ups and changes of spools, low end.
    pub order_minutes_low: Option<f64>,
    /// The same, as expected.
    pub order_minutes: Option<f64>,
    /// The same, high end.
    pub order_minutes_high: Option<f64>,
    /// Cost of the order, the fixed part and all pieces, low end.
    pub cost_order_low: Option<f64>,
    /// The same, as expected.
    pub cost_order: Option<f64>,
    /// The same, high end.
    pub cost_order_high: Option<f64>,
    /// Price of the order with margin, at least the minimum charge, low end; to be checked before it is offered.
    pub price_indicative_low: Option<f64>,
    /// The same, as expected.
    pub price_indicative: Option<f64>,
    /// The same, high end.
    pub price_indicative_high: Option<f64>,
}

/// A row as JSON has it.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct QuoteLine<'a> {
    /// Number of this shape: 1.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    schema: u32,
    #[serde(flatten)]
    row: &'a QuoteRow,
}

impl QuoteRow {
    /// Makes the row of a plan.
    pub fn of_plan(file: &str, plan: &Plan, key: String) -> Self {
        let (time, costs) = (plan.estimate.time.as_ref(), plan.estimate.costs.as_ref());
        let totals = plan.estimate.totals();
        let of = |figure: fn(JobTotals) -> f64| totals.map(figure);
        let minutes = time.map(|time| time.machine_minutes.value);
        let each = costs.map(|costs| costs.cost_each.value);
        let (status, reason) = match (time, words::no_totals(plan)) {
            (Some(_), None) if plan.reaches_demand() => (Status::Planned, Message::default()),
            (Some(_), None) => (Status::Nearest, unreached(plan)),
            (_, Some(why)) => (Status::Refused, refused_because(plan, why)),
            (None, None) => (Status::Refused, "no contour is cut".into()),
        };
        let passes: Vec<String> = plan
            .groups
            .iter()
            .map(|group| group.passes().len().to_string())
            .collect();
        let counts: Vec<String> = plan
            .parts
            .kinds
            .iter()
            .map(|kind| kind.count().to_string())
            .collect();
        Self {
            file: file.to_owned(),
            status,
            reason,
            perimeter_mm: Some(plan.inspection.totals().cut_perimeter_mm),
            cut_area_mm2: plan.estimate.cut.rough_area_mm2,
            pass_area_mm2: plan.estimate.cut.pass_area_mm2,
            wire_mm: Some(plan.setup.wire_mm),
            passes: passes.join("+"),
            minutes_low: minutes.map(|band| band.low),
            minutes: minutes.map(|band| band.expected),
            minutes_high: minutes.map(|band| band.high),
            cost_fixed: costs.map(|costs| costs.cost_fixed.value.expected),
            cost_each_low: each.map(|band| band.low),
            cost_each: each.map(|band| band.expected),
            cost_each_high: each.map(|band| band.high),
            worst_finding: worst(&plan.inspection.findings),
            assumptions: plan.inspection.assumptions.join("; "),
            thickness_mm: Some(plan.setup.thickness_mm),
            material: plan.setup.material.clone(),
            quantity: Some(plan.order.quantity),
            currency: costs.map_or_else(String::new, |costs| costs.currency.clone()),
            confidence: costs.map_or_else(String::new, |costs| words::confidence(costs.confidence)),
            key,
            parts: counts.join("+"),
            pieces_drawn: Some(plan.order.drawn),
            cost_piece: of(|totals| totals.cost_piece.expected),
            machine_minutes: of(|totals| totals.machine_minutes.expected),
            piece_minutes: of(|totals| totals.piece_minutes.expected),
            order_minutes_low: of(|totals| totals.order_minutes.low),
            order_minutes: of(|totals| totals.order_minutes.expected),
            order_minutes_high: of(|totals| totals.order_minutes.high),
            cost_order_low: of(|totals| totals.cost_order.low),
            cost_order: of(|totals| totals.cost_order.expected),
            cost_order_high: of(|totals| totals.cost_order.high),
            price_indicative_low: of(|totals| totals.price_indicative.low),
            price_indicative: of(|totals| totals.price_indicative.expected),
            price_indicative_high: of(|totals| totals.price_indicative.high),
        }
        .without_errors(&plan.inspection)
        .settled(&plan.inspection)
    }

    /// Returns the row without time and cost, with the worst finding as its reason, where it is planned and that is an error; else as it
    /// is.
    fn without_errors(self, inspection: &Inspection) -> Self {
        let worst = inspection.findings.first();
        match worst.filter(|finding| finding.severity == Severity::Error) {
            Some(error) if self.status == Status::Planned => {
                self.without_figures(Status::Refused, message!("{}: {}", error.name, error.message))
            }
            _ => self,
        }
    }

    /// Returns the row without time and cost, with the questions as its reason, where the drawing leaves something open; else as it
    /// is.
    fn settled(self, inspection: &Inspection) -> Self {
        match open_questions(inspection) {
            Some(reason) => self.without_figures(Status::ToBeSettled, reason),
            None => self,
        }
    }

    fn without_figures(self, status: Status, reason: Message) -> Self {
        Self {
            file: self.file,
            status,
            reason,
            perimeter_mm: self.perimeter_mm,
            wire_mm: self.wire_mm,
            passes: self.passes,
            worst_finding: self.worst_finding,
            assumptions: self.assumptions,
            thickness_mm: self.thickness_mm,
            material: self.material,
            quantity: self.quantity,
            key: self.key,
            ..Self::default()
        }
    }

    /// Makes the row of a drawing that cannot be planned, with what is asked of it.
    pub fn refused(file: &str, reason: impl Into<Message>, job: &JobFile, key: String) -> Self {
        Self {
            file: file.to_owned(),
            reason: reason.into(),
            thickness_mm: job.thickness_mm.filter(|mm| mm.is_finite()),
            material: job.material.clone().unwrap_or_default(),
            quantity: job.quantity,
            key,
            ..Self::default()
        }
    }

    /// Makes the row of a drawing that was not planned, with what can be read of it all the same.
    pub fn not_planned(
        file: &str,
        error: &plan::Error,
        bytes: &[u8],
        job: &JobFile,
        book: &Book,
        key: String,
    ) -> Self {
        let row = Self::refused(file, error.message(), job, key);
        // Where it cannot be read, the error has said so.
        let Ok(inspection) = Planner::new(book).job(job).inspect(file, bytes) else {
            return row;
        };
        let row = Self {
            perimeter_mm: Some(inspection.totals().cut_perimeter_mm),
            worst_finding: worst(&inspection.findings),
            assumptions: inspection.assumptions.join("; "),
            ..row
        };
        match error {
            // What could be cut once the questions are answered.
            plan::Error::Impossible { .. } => row.settled(&inspection),
            _ => row,
        }
    }

    /// As a line of CSV, ended by CR LF. No number has three decimals: where the point parts thousands, a spreadsheet would
    /// take it for a whole one.
    pub fn csv(&self, lengths: Lengths) -> String {
        csv::row(&quote_columns(), self, lengths)
    }

    /// As a line of JSON, ended by a line feed.
    pub fn json(&self) -> String {
        one_line(&QuoteLine {
            schema: SCHEMA,
            row: self,
        })
    }
}

/// Writes the names of the columns, as the first line of a table in CSV.
pub fn columns(lengths: Lengths) -> String {
    let names = names();
    match lengths {
        Lengths::Mm => csv::line(names),
        Lengths::Inch => csv::line(names.map(|name| name.replace("_mm", "_in"))),
    }
}

/// Returns the names of the columns, lengths in mm.
fn names() -> [&'static str; 37] {
    quote_columns().map(|column| column.name)
}

/// Why a plan has no price: of the first path that was refused the place and the reason too.
fn refused_because(plan: &Plan, why: Message) -> Message {
    let open = |contour| {
        let incomplete = plan.toolpaths.incomplete(contour);
        incomplete.is_some_and(|incomplete| incomplete.reason == IncompleteReason::Open)
    };
    let mut refusals = plan.toolpaths.refusals.iter();
    match refusals.find(|refusal| !open(refusal.contour)) {
        None => why,
        Some(refusal) => message!(
            "{}; contour {}, pass {}, x {} y {}: {}",
            why,
            refusal.contour,
            refusal.pass,
            mm(refusal.at.x).fixed(3).bare(),
            mm(refusal.at.y).fixed(3),
            refusal_in_words(refusal.reason)
        ),
    }
}

/// Returns the questions that are open, in words; `None` where none is.
fn open_questions(inspection: &Inspection) -> Option<Message> {
    const NAMED: usize = 3;
    let Inspection {
        drawing,
        contours,
        questions,
        ..
    } = inspection;
    let asked = questions
        .open()
        .map(|question| in_words(question, drawing, contours, questions).asks);
    let mut asked: Vec<Message> = asked.collect();
    let count = asked.len();
    asked.truncate(NAMED);
    if count > NAMED {
        asked.push(format!("and {} more", counted(count - NAMED, "question")).into());
    }
    (count > 0).then(|| Message::joined(asked, "; "))
}

/// What stands against the plan that comes nearest.
fn unreached(plan: &Plan) -> Message {
    let reasons = plan
        .candidates
        .first()
        .map(|taken| shortfalls_in_words(&taken.reasons));
    match reasons {
        Some(reasons) if !reasons.is_empty() => reasons,
        _ => "no wire and number of passes in the shop data reaches the requirement".into(),
    }
}

/// Severity and name; findings stand worst first.
fn worst(findings: &[Finding]) -> String {
    let words = |finding: &Finding| format!("{}: {}", words::severity(finding.severity), finding.name);
    findings.first().map_or_else(String::new, words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn every_column_has_its_value() {
        let plan = sample::plan();
        let row = QuoteRow::of_plan("plate.dxf", &plan, "1".into());
        let text = columns(Lengths::Mm) + &row.csv(Lengths::Mm);
        let mut reader = ::csv::Reader::from_reader(text.as_bytes());
        let names = reader.headers().expect("names").clone();
        let rows: Vec<::csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("rows");
        assert_eq!(rows.len(), 1);
        let value = |name: &str| {
            let at = names.iter().position(|column| column == name).expect("a column");
            rows[0][at].to_owned()
        };
        assert_eq!(
            (value("file"), value("status")),
            ("plate.dxf".into(), "planned".into())
        );
        // Plate 2 · (40 + 20), opening 2 · (16 + 10) mm.
        assert_eq!(value("perimeter_mm"), "172.0000");
        assert_eq!((value("wire_mm"), value("passes")), ("0.2500".into(), "4".into()));
        let minutes = plan.estimate.time.as_ref().expect("paths").machine_minutes.value;
        assert_eq!(value("minutes"), format!("{:.2}", minutes.expected));
        assert!(value("worst_finding").contains(": "), "{text}");
        assert_eq!(
            (value("material"), value("quantity"), value("key")),
            (plan.setup.material.clone(), "1".into(), "1".into())
        );
    }

    /// Whoever reads a table by the places of its columns reads the next one too.
    #[test]
    fn columns_stand_where_they_stood() {
        let first = "file,status,reason,perimeter_mm,cut_area_mm2,pass_area_mm2,wire_mm,passes,minutes_low,minutes,minutes_high,\
                     cost_fixed,cost_each_low,cost_each,cost_each_high,worst_finding,assumptions,thickness_mm,material,quantity,\
                     currency,confidence,key";
        assert!(
            columns(Lengths::Mm).starts_with(first),
            "{}",
            columns(Lengths::Mm)
        );
    }

    /// 1 in = 25.4 mm exactly: NIST Special Publication 811 (2008), appendix B.
    #[test]
    fn inches_have_columns_of_their_own() {
        let row = QuoteRow {
            perimeter_mm: Some(254.0),
            cut_area_mm2: Some(6451.6),
            wire_mm: Some(0.254),
            ..QuoteRow::refused("a.dxf", "", &JobFile::default(), String::new())
        };
        let head = columns(Lengths::Inch);
        assert!(
            head.contains(",perimeter_in,cut_area_in2,pass_area_in2,wire_in,") && !head.contains("mm"),
            "{head}"
        );
        let line = row.csv(Lengths::Inch);
        assert!(line.contains(",10.000000,10.00000,,0.010000,"), "{line}");
    }
}
