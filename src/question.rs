//! Finds what the drawing leaves open: which closed curves are edges to be cut, and which side of them stays. Where two
//! readings are possible it asks, and nothing is planned of those contours until the question is answered.

mod chains;
mod circles;
mod consequence;
mod existing;
mod frame;
mod name_words;
mod open_cuts;
mod scene;
mod sides;

use serde::Serialize;

use self::scene::Scene;
use crate::contour::{Contours, SideFrom};
use crate::drawing::Drawing;
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::{Purpose, Purposes};
use crate::shop::Rules;

pub use frame::FrameSign;

/// What is unclear.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum QuestionKind {
    /// A rectangle around the others: the outline of a plate, or the frame of the sheet.
    FrameOrPart,
    /// Closed curves of a linetype that shows no edge.
    LineStyle,
    /// A circle through the centres of others, or across teeth.
    PitchCircle,
    /// An arc of about 270°, as a tapped hole is drawn.
    TappedHole,
    /// Concentric circles in a plate.
    Counterbore,
    /// A small circle alone in an opening, or outside every outline.
    StartHole,
    /// A closed curve across an edge that is there already.
    CrossesEdge,
    /// A closed curve on an edge that is not cut.
    OnEdge,
    /// A closed curve where nothing is left to cut.
    InOpening,
    /// A side given for many contours that lie inside one another.
    SeveralWithinOne,
    /// A side given for one contour by rules that contradict each other.
    GivenBothSides,
    /// Equal contours directly inside one outline: pieces out of it, or openings in it.
    PiecesOrOpenings,
    /// Many equal contours with nothing around them: parts, or openings in a plate that is not drawn.
    OutlineMissing,
    /// The curve around is given as one that bounds nothing.
    SideTurned,
    /// A layer's name or the title says the other side.
    NameContradicts,
    /// Straight lines that do not close.
    OpenChain,
    /// A line that does not close and runs through the material.
    OpenCut,
    /// A trim of which no side is given that stays.
    TrimSide,
}

/// What the drawing leaves open, with the ways to read it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Question {
    /// What is unclear.
    pub kind: QuestionKind,
    /// The places where it is, all alike.
    pub cases: Vec<QuestionCase>,
    /// The ways to read it, as nested first, then by how little kept material would be lost; at least two.
    pub readings: Vec<Interpretation>,
    /// It was not answered; the first reading was taken.
    pub assumed: bool,
}

/// One place where something is unclear.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct QuestionCase {
    /// Numbers of the contours whose purpose or side is unclear, the outermost first.
    pub contours: Vec<ContourId>,
    /// Numbers of the contours inside them whose side follows.
    pub inside: Vec<ContourId>,
    /// Index of the first curve of what is around them, where it hangs on that.
    pub around: Option<usize>,
    /// The word that says something else than the drawing.
    pub word: Option<String>,
}

/// One way to read what is unclear.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Interpretation {
    /// What it makes of each of the contours.
    pub purposes: Vec<(ContourId, Purpose)>,
    /// What stays of those that it makes trims of.
    pub stays: Vec<StayingPlace>,
    /// Length to be cut of these and of those inside them, mm.
    pub cut_length_mm: f64,
    /// What would be lost if another reading were right.
    pub loss: KeptLoss,
}

/// A place on the side of a trim that stays.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct StayingPlace {
    /// Number of the trim.
    pub contour: ContourId,
    /// The place, mm.
    pub at: Point,
    /// Whether the smaller of the two pieces drops.
    pub smaller_drops: bool,
}

/// Kept material that is cut away where a wrong reading is taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "KeptLossRow"))]
#[non_exhaustive]
pub struct KeptLoss {
    /// Length of wall on whose wrong side a kerf is taken, mm.
    pub kerf_along_mm: f64,
    /// Area of what drops though it should stay, mm².
    pub area_mm2: f64,
    /// Largest depth of that, mm; null where it has no closed form.
    pub depth_mm: Option<f64>,
}

/// A rectangle that encloses all other contours and looks like the frame of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct SheetFrame {
    /// Number of the contour.
    pub contour: ContourId,
    /// What gives it away.
    pub sign: FrameSign,
    /// How many contours it encloses.
    pub enclosed: usize,
}

/// What is open in a drawing.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Questions {
    /// The questions, those that others hang on first.
    pub list: Vec<Question>,
    /// Rectangles among the edges that look like frames.
    pub frames: Vec<SheetFrame>,
}

impl Questions {
    /// Returns those that are not answered.
    pub fn open(&self) -> impl Iterator<Item = &Question> {
        self.list.iter().filter(|question| !question.assumed)
    }
}

/// Finds the questions of a drawing and marks the contours that they concern. With [`Purposes::assume_sides`] each is answered by
/// its first reading. Cost is near-linear in contours.
pub fn find(drawing: &Drawing, contours: &mut Contours, uses: &Purposes, rules: &Rules) -> Questions {
    let scene = Scene::new(drawing, contours, uses, rules);
    let mut found = OpenCases::new(&scene);
    circles::line_styles(&mut found);
    circles::pitch_circles(&mut found);
    circles::tapped_holes(&mut found);
    let frames = frame::frames(&scene);
    frame::ask(&mut found, &frames);
    circles::counterbores(&mut found);
    circles::start_holes(&mut found);
    existing::crossing(&mut found);
    existing::coincident(&mut found);
    existing::inside_openings(&mut found);
    sides::given_both(&mut found);
    sides::several_within_one(&mut found);
    sides::pieces_or_openings(&mut found);
    sides::turned_round(&mut found);
    name_words::contradicting(&mut found);
    sides::outline_missing(&mut found);
    let open = open_cuts::OpenLines::new(&found);
    open.kept_sides(&mut found);
    open.open_cuts(&mut found);
    open.straight_lines(&mut found);
    let list = found.into_questions(uses.assume_sides);
    for question in &list {
        mark(contours, question);
    }
    contours.open_closed_trims();
    contours.close_blind_slots();
    log::debug!("{} questions", list.len());
    Questions { list, frames }
}

/// Marks the contours of a question: no path of them, or the first reading.
fn mark(contours: &mut Contours, question: &Question) {
    let from = if question.assumed {
        SideFrom::Assumed
    } else {
        SideFrom::Unclear
    };
    for case in &question.cases {
        for &id in case.contours.iter().chain(&case.inside) {
            contours.list[id.index()].side_from = from;
        }
    }
    // Edges stay as nested: that is the first reading. What is none, since it does not close or by its linetype, has no nesting; and a
    // trim is none any more.
    let first = question.readings.first().filter(|_| question.assumed);
    for &(id, purpose) in first.iter().flat_map(|reading| &reading.purposes) {
        let contour = &mut contours.list[id.index()];
        if !contour.bounds_material() || purpose == Purpose::Trim {
            contour.purpose = purpose;
        }
    }
    for stays in first.iter().flat_map(|reading| &reading.stays) {
        contours.list[stays.contour.index()].keep = Some(stays.at);
    }
}

/// What a reading makes of contours.
type Purposed = Vec<(ContourId, Purpose)>;

/// The cases found so far; a contour is asked about once.
struct OpenCases<'a> {
    scene: &'a Scene<'a>,
    asked: Vec<bool>,
    cases: Vec<(QuestionKind, QuestionCase, Vec<Interpretation>)>,
}

impl<'a> OpenCases<'a> {
    fn new(scene: &'a Scene<'a>) -> Self {
        Self {
            scene,
            asked: vec![false; scene.list.len()],
            cases: Vec::new(),
        }
    }

    /// Whether nothing is asked yet about a contour.
    fn is_free(&self, id: ContourId) -> bool {
        !self.asked[id.index()]
    }

    /// Asks about contours with their readings, the first as nested. What is inside them follows, where the readings differ for it.
    fn ask(&mut self, kind: QuestionKind, readings: &[Purposed]) -> &mut QuestionCase {
        let nested = readings.first().into_iter().flatten();
        let contours: Vec<ContourId> = nested.map(|(id, _)| *id).collect();
        let mut inside = self.scene.following(&contours);
        inside.retain(|id| self.is_free(*id));
        let case = QuestionCase {
            contours,
            inside,
            ..QuestionCase::default()
        };
        let readings = consequence::weigh(self.scene, &case, readings);
        self.add(kind, case, readings)
    }

    /// Asks about an open cut with its readings.
    fn ask_open(
        &mut self,
        kind: QuestionKind,
        id: ContourId,
        readings: Vec<Interpretation>,
    ) -> &mut QuestionCase {
        let case = QuestionCase {
            contours: vec![id],
            ..QuestionCase::default()
        };
        self.add(kind, case, readings)
    }

    fn add(
        &mut self,
        kind: QuestionKind,
        case: QuestionCase,
        readings: Vec<Interpretation>,
    ) -> &mut QuestionCase {
        for &id in case.contours.iter().chain(&case.inside) {
            self.asked[id.index()] = true;
        }
        self.cases.push((kind, case, readings));
        let last = self.cases.len() - 1;
        &mut self.cases[last].1
    }

    /// Joins the cases of each kind to one question.
    fn into_questions(self, assumed: bool) -> Vec<Question> {
        let mut patterns: Vec<Vec<Vec<Purpose>>> = Vec::new();
        let mut questions: Vec<Question> = Vec::new();
        for (kind, case, readings) in self.cases {
            // The first is as nested, whatever that is.
            let pattern: Vec<Vec<Purpose>> = readings.iter().skip(1).map(purposes_in_order).collect();
            let mut asked = questions.iter_mut().zip(&patterns);
            let alike = asked.find(|(question, other)| question.kind == kind && **other == pattern);
            if let Some((question, _)) = alike {
                question.cases.push(case);
                for (sum, reading) in question.readings.iter_mut().zip(readings) {
                    sum.add(reading);
                }
                continue;
            }
            questions.push(Question {
                kind,
                cases: vec![case],
                readings,
                assumed,
            });
            patterns.push(pattern);
        }
        for question in &mut questions {
            consequence::sort(&mut question.readings);
        }
        questions
    }
}

/// Returns what a reading makes of contours one after the other: readings of alike cases have it in common.
fn purposes_in_order(reading: &Interpretation) -> Vec<Purpose> {
    let mut purposes: Vec<Purpose> = reading.purposes.iter().map(|(_, purpose)| *purpose).collect();
    purposes.dedup();
    purposes
}

impl Interpretation {
    /// Returns the place of a contour that stays, where this makes a trim of it.
    pub fn staying_place(&self, id: ContourId) -> Option<Point> {
        let stays = self.stays.iter().find(|stays| stays.contour == id);
        stays.map(|stays| stays.at)
    }

    fn add(&mut self, other: Self) {
        self.purposes.extend(other.purposes);
        self.stays.extend(other.stays);
        self.cut_length_mm += other.cut_length_mm;
        self.loss.kerf_along_mm += other.loss.kerf_along_mm;
        self.loss.area_mm2 += other.loss.area_mm2;
        self.loss.depth_mm = match (self.loss.depth_mm, other.loss.depth_mm) {
            (Some(a), Some(b)) => Some(a.max(b)),
            _ => None,
        };
    }
}

#[cfg(test)]
mod tests;
