//! Makes findings from the typed facts of the rooms below: the only maker of findings. One file a check, one table.

mod almost_tangent_joint;
mod beyond_machine;
mod block_not_placed;
mod block_repeated;
mod branching_node;
mod breaks_left_out;
mod clipping_ignored;
mod contours_cross;
mod contours_touch;
mod count_differs;
mod crumb_segments;
mod curve_not_flat;
mod duplicate_contour;
mod duplicate_curve;
mod ends_joined;
mod ends_in_material;
mod external_reference;
mod faceted_curve;
mod file_end_missing;
mod frame_around_drawing;
mod frame_opened;
mod gap_closed;
mod gap_in_contour;
mod gaps_from_steel;
mod groups;
mod handle_unusable;
mod height_differs;
mod hidden_geometry;
mod ignored_entities;
mod inside_radius_small;
mod layer_not_plotted;
mod lead_cuts_wall;
mod line_style_not_cut;
mod may_move_when_cut;
mod model_space_in_block;
mod name_not_in_drawing;
mod narrow_slot;
mod nothing_to_cut;
mod one_sided_limits;
mod open_contour;
mod outline_assumed_cut;
mod overlapping_curves;
mod parts_nothing;
mod path_refused;
mod path_splits;
pub mod path_words;
mod purpose_unclear;
pub mod question_words;
mod reaches_out_of_blank;
mod run_out_cuts_wall;
mod self_crossing;
mod sharp_inside_corner;
mod side_unclear;
mod skim_rates_guessed;
mod sink;
mod skim_overload;
mod skims_on_loose_part;
mod slit_may_spring;
mod slit_narrower_than_kerf;
mod slot_vanishes;
mod slug_may_jam;
mod spline_guessed;
mod start_hole_cuts_wall;
mod start_hole_misplaced;
mod start_hole_too_thin;
mod start_hole_unused;
mod start_hole_wider_than_slot;
mod structure_repaired;
mod tab_cannot_hold;
mod text_misread;
mod taper_in_text;
mod text_on_cut_layer;
mod thickness_beyond_book;
mod thin_blank_edge;
mod thin_wall;
mod thin_web;
mod units_implausible;
mod units_missing;
mod unreached_beyond_tolerance;
mod wall_cut_through;
mod wire_hits_clamp;
mod wire_hits_neighbour;
mod zero_length_curve;

use std::collections::BTreeSet;

use crate::contour::{Contour, Contours, PurposeFrom, Role, SideFrom};
use crate::drawing::{Drawing, Origin};
use crate::dxf::document::NoticeKind;
use crate::finding::{Finding, Severity};
use crate::geometry::Bounds;
use crate::id::ContourId;
use crate::job::{Purpose, Scope};
use crate::message::{Message, message};
use crate::pass::{Borrowed, Schedule, WireReach};
use crate::process::Process;
use crate::question::Questions;
use crate::shop::Rules;
use crate::tolerance::AT_WALL_MM;
use crate::toolpath::{RefusalReason, Toolpaths};
use crate::units::Limits;

use self::path_words::{refusal_in_words, refusal_remedy};

pub use groups::{FindingGroup, group_findings, is_remark};
pub use name_not_in_drawing::{known_in_words, names_in_words};
pub use sink::Sink;

/// How far down the pipeline a check has to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Stage {
    /// The drawing alone.
    Drawing,
    /// Its contours.
    Contour,
    /// The wire's paths.
    Path,
}

/// One check: its file holds this, built as a constant.
#[non_exhaustive]
pub struct Check {
    /// Name of the findings it makes, kebab-case.
    pub name: &'static str,
    /// What they are called on paper and on the page: a toolmaker's words.
    pub title: &'static str,
    /// How far it looks.
    pub stage: Stage,
    /// How bad its findings are at worst.
    pub severity: Severity,
    /// What it looks for, one or two sentences.
    pub looks_for: &'static str,
    /// Why it matters at the machine.
    pub why: &'static str,
    /// What to do about it.
    pub what_to_do: &'static str,
    /// What to type on the command line, or to write into job file or book, to do it; empty where nothing is.
    pub options: &'static str,
    /// Looks, and puts what it finds into the sink.
    pub run: fn(&Subject<'_>, &mut Sink),
}

impl Check {
    /// Returns what to do as the remedy of a finding: without the capital and the full stop.
    fn remedy(&self) -> String {
        let mut letters = self.what_to_do.trim_end_matches('.').chars();
        let first = letters.next().map(|letter| letter.to_lowercase().to_string());
        first.unwrap_or_default() + letters.as_str()
    }
}

/// The wire that most shops keep on the machine, mm (common practice, no source).
const USUAL_WIRE_MM: f64 = 0.25;

/// The facts that a check may use.
pub struct Subject<'a> {
    /// The drawing.
    pub drawing: &'a Drawing,
    /// Its contours, and the facts found while making them.
    pub contours: &'a Contours,
    /// What the drawing leaves open.
    pub questions: &'a Questions,
    /// The wire's paths, when planned.
    pub toolpaths: Option<&'a Toolpaths>,
    /// How they are cut, when planned.
    pub process: Option<&'a Process>,
    /// What is cut alike, when planned.
    pub groups: Vec<CheckedGroup<'a>>,
    /// What the wires of the book can do, thinnest first.
    pub wires: &'a [WireReach],
    /// The rules of the book.
    pub rules: &'a Rules,
}

/// Contours that are cut alike.
#[derive(Clone, Copy, Debug)]
pub struct CheckedGroup<'a> {
    /// Their numbers.
    pub contours: &'a [ContourId],
    /// Their passes, and how each figure came about.
    pub schedule: &'a Schedule,
    /// Signed shift of their walls into the material, mm.
    pub aim_mm: f64,
    /// Limits called for, and whether they are of a size or of a wall.
    pub limits: Option<(Limits, Scope)>,
}

impl Subject<'_> {
    /// Reports for each group each of its borrowed numbers for which `message` has words, at its first contour.
    fn report_borrowed<M: Into<Message>>(
        &self,
        check: &Check,
        sink: &mut Sink,
        message: impl Fn(&CheckedGroup<'_>, &Borrowed) -> Option<M>,
    ) {
        for group in &self.groups {
            let mut contours = group.contours.iter().filter_map(|id| self.contours.get(*id));
            let Some(first) = contours.next() else { continue };
            for borrowed in &group.schedule.borrowed {
                if let Some(message) = message(group, borrowed) {
                    sink.push(|| {
                        let mut finding = Finding::new(check.name, check.severity, message, check.remedy());
                        finding.at = first.polyline.vertices.first().map(|vertex| vertex.at);
                        finding.on_contour(first.id)
                    });
                }
            }
        }
    }

    /// Computes the bounds of all curves, mm.
    fn curve_bounds(&self) -> Bounds {
        let each = self.drawing.curves.iter().map(|curve| curve.polyline.bounds());
        each.fold(Bounds::EMPTY, Bounds::union)
    }

    /// Adds the layer, the handles and the line of its entity to `finding`.
    fn of_curve(&self, mut finding: Finding, origin: &Origin) -> Finding {
        finding.layer = Some(self.drawing.layers[origin.layer as usize].name.clone());
        finding.entities = handles([origin.handle, origin.insert_handle]);
        finding.line = Some(origin.line);
        finding
    }

    /// Adds the layer, line and contour of the first of `curves` (by index) and the handles of all to `finding`.
    fn about_curves(&self, finding: Finding, curves: &[usize]) -> Finding {
        let Some(&first) = curves.first() else {
            return finding;
        };
        let mut finding = self.of_curve(finding, &self.drawing.curves[first].origin);
        let origins = curves.iter().map(|&curve| self.drawing.curves[curve].origin);
        finding.entities = handles(origins.flat_map(|origin| [origin.handle, origin.insert_handle]));
        finding.entities.dedup();
        finding.contour = finding.contour.or(self.contours.of_curve(first));
        finding
    }

    /// Adds the entity that draws the wall at its place to `finding`, which a path gave a place and a contour.
    fn with_wall(&self, finding: Finding) -> Finding {
        let (None, Some(at), Some(id)) = (finding.line, finding.at, finding.contour) else {
            return finding;
        };
        let Some(contour) = self.contours.get(id) else {
            return finding;
        };
        let walls = contour.polyline.segments().enumerate();
        let nearest = walls
            .map(|(i, wall)| (wall.distance(at), i))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match nearest {
            Some((mm, i)) if mm <= AT_WALL_MM => self.about_curves(finding, &[contour.curve_of(i)]),
            _ => finding,
        }
    }

    /// Returns the pairs of contours, lower number first, of which one is cut across the other, an edge that is not cut, and that is asked
    /// about or was given for that contour.
    fn known_crossings(&self) -> BTreeSet<(ContourId, ContourId)> {
        let is_known = |id: ContourId| {
            let contour = self.contours.get(id);
            let cut = contour.filter(|contour| contour.purpose == Purpose::Cut);
            cut.is_some_and(|c| c.side_from == SideFrom::Unclear || c.purpose_from == PurposeFrom::Contour)
        };
        let pairs = self
            .contours
            .facts
            .edge_crossings
            .iter()
            .map(|crossing| crossing.contours);
        let known = pairs.filter(|&(a, b)| is_known(a) || is_known(b));
        known.map(|(a, b)| (a.min(b), a.max(b))).collect()
    }

    /// Returns the closed contours to be cut.
    fn loops_to_cut(&self) -> impl Iterator<Item = &Contour> {
        let list = self.contours.list.iter();
        list.filter(|contour| contour.purpose == Purpose::Cut && contour.role != Role::Open)
    }

    /// Returns the wire of the book nearest to the usual one; `None` in a book without wires.
    fn usual_wire(&self) -> Option<WireReach> {
        self.wires.iter().copied().min_by(|a, b| {
            let off = |wire: &WireReach| (wire.wire_mm - USUAL_WIRE_MM).abs();
            off(a).total_cmp(&off(b))
        })
    }

    /// Reports the passes without a path for one of some reasons.
    fn report_refusals(&self, check: &Check, sink: &mut Sink, is_told: fn(RefusalReason) -> bool) {
        let refusals = self
            .toolpaths
            .into_iter()
            .flat_map(|toolpaths| &toolpaths.refusals);
        for refusal in refusals.filter(|refusal| is_told(refusal.reason)) {
            sink.push(|| {
                let why = refusal_in_words(refusal.reason);
                let message = message!("pass {} has no path: {}", refusal.pass, why);
                let remedy = refusal_remedy(refusal.reason);
                Finding::new(check.name, check.severity, message, remedy)
                    .at(refusal.at)
                    .on_contour(refusal.contour)
            });
        }
    }

    /// Reports each notice of the reader for which `message` has words.
    fn report_notices(
        &self,
        check: &Check,
        sink: &mut Sink,
        message: impl Fn(&NoticeKind) -> Option<String>,
    ) {
        for notice in &self.drawing.notices {
            if let Some(message) = message(&notice.kind) {
                sink.push(|| {
                    let mut finding = Finding::new(
                        check.name,
                        check.severity,
                        format!("line {}: {message}", notice.line),
                        check.remedy(),
                    );
                    finding.line = Some(notice.line);
                    finding.entities = handles([notice.handle]);
                    finding
                });
            }
        }
    }
}

/// Counts in words: `1 curve`, `2 curves`.
fn counted(count: usize, noun: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {noun}{plural}")
}

/// Quotes a text of the drawing, shortened where it is long.
fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    let mut quoted: String = text.chars().take(LONGEST).collect();
    if text.chars().count() > LONGEST {
        quoted.push('…');
    }
    quoted
}

/// Writes handles as a drawing does: hexadecimal; 0 is none.
fn handles(handles: impl IntoIterator<Item = u64>) -> Vec<String> {
    let real = handles.into_iter().filter(|&handle| handle != 0);
    real.map(|handle| format!("{handle:X}")).collect()
}

/// Every check, in the order of the pipeline.
pub const ALL: &[&Check] = &[
    &units_missing::CHECK,
    &units_implausible::CHECK,
    &file_end_missing::CHECK,
    &structure_repaired::CHECK,
    &count_differs::CHECK,
    &block_repeated::CHECK,
    &external_reference::CHECK,
    &model_space_in_block::CHECK,
    &handle_unusable::CHECK,
    &text_misread::CHECK,
    &clipping_ignored::CHECK,
    &block_not_placed::CHECK,
    &hidden_geometry::CHECK,
    &curve_not_flat::CHECK,
    &height_differs::CHECK,
    &zero_length_curve::CHECK,
    &spline_guessed::CHECK,
    &breaks_left_out::CHECK,
    &ignored_entities::CHECK,
    &taper_in_text::CHECK,
    &text_on_cut_layer::CHECK,
    &open_contour::CHECK,
    &gap_in_contour::CHECK,
    &gap_closed::CHECK,
    &ends_joined::CHECK,
    &branching_node::CHECK,
    &self_crossing::CHECK,
    &contours_cross::CHECK,
    &contours_touch::CHECK,
    &duplicate_curve::CHECK,
    &duplicate_contour::CHECK,
    &overlapping_curves::CHECK,
    &crumb_segments::CHECK,
    &almost_tangent_joint::CHECK,
    &faceted_curve::CHECK,
    &sharp_inside_corner::CHECK,
    &inside_radius_small::CHECK,
    &narrow_slot::CHECK,
    &thin_wall::CHECK,
    &name_not_in_drawing::CHECK,
    &side_unclear::CHECK,
    &purpose_unclear::CHECK,
    &frame_around_drawing::CHECK,
    &outline_assumed_cut::CHECK,
    &line_style_not_cut::CHECK,
    &layer_not_plotted::CHECK,
    &nothing_to_cut::CHECK,
    &beyond_machine::CHECK,
    &gaps_from_steel::CHECK,
    &skim_rates_guessed::CHECK,
    &thickness_beyond_book::CHECK,
    &one_sided_limits::CHECK,
    &path_refused::CHECK,
    &ends_in_material::CHECK,
    &parts_nothing::CHECK,
    &slit_may_spring::CHECK,
    &thin_web::CHECK,
    &slit_narrower_than_kerf::CHECK,
    &slot_vanishes::CHECK,
    &path_splits::CHECK,
    &unreached_beyond_tolerance::CHECK,
    &skim_overload::CHECK,
    &wire_hits_neighbour::CHECK,
    &wall_cut_through::CHECK,
    &start_hole_misplaced::CHECK,
    &start_hole_cuts_wall::CHECK,
    &start_hole_wider_than_slot::CHECK,
    &start_hole_too_thin::CHECK,
    &start_hole_unused::CHECK,
    &lead_cuts_wall::CHECK,
    &reaches_out_of_blank::CHECK,
    &run_out_cuts_wall::CHECK,
    &thin_blank_edge::CHECK,
    &frame_opened::CHECK,
    &wire_hits_clamp::CHECK,
    &slug_may_jam::CHECK,
    &tab_cannot_hold::CHECK,
    &skims_on_loose_part::CHECK,
    &may_move_when_cut::CHECK,
];

/// Runs every check up to `stage`; findings come back worst first, of each name no more than 50;
/// where there are more, the first counts them.
pub fn run(subject: &Subject<'_>, stage: Stage) -> Vec<Finding> {
    let mut findings = Vec::new();
    for check in ALL.iter().filter(|check| check.stage <= stage) {
        let mut sink = Sink::default();
        (check.run)(subject, &mut sink);
        findings.extend(
            sink.finish()
                .into_iter()
                .map(|finding| subject.with_wall(with_options(check, finding))),
        );
    }
    findings.sort_by_key(|finding| finding.severity);
    findings
}

/// Adds what to type in general, where a finding does not say it with its values.
fn with_options(check: &Check, mut finding: Finding) -> Finding {
    if finding.option.is_none() && !check.options.is_empty() {
        finding.option = Some(check.options.replace('`', ""));
    }
    finding
}

/// Whether findings of this name report open questions.
pub fn is_question(name: &str) -> bool {
    [side_unclear::CHECK.name, purpose_unclear::CHECK.name].contains(&name)
}

/// Returns the check of that name.
pub fn find(name: &str) -> Option<&'static Check> {
    ALL.iter().copied().find(|check| check.name == name)
}
