//! The order of cutting, move by move.
//!
//! What sits in a contour is cut before it: no part drops before its openings are cut. Within one depth the starts
//! are visited on a short way. The machine stops before each piece drops: by default for all slugs of a depth one
//! after the other, when all of them are roughed up to their tabs, and for all parts when they are skimmed; the roughing
//! and the skimming then run unattended. Where the wire is threaded by hand, somebody is there anyway, and each piece is
//! taken as soon as it hangs on its tab alone, which takes the fewest threads. A piece without a tab hangs on the last
//! stretch of its path instead; a part that does is not skimmed, since it would be loose. Open cuts of a part come when all of its
//! contours are cut and skimmed but for what holds it, for they let it spring; those of what is not cut out come last.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::lead::Leads;
use super::path_line::PathLine;
use super::piece::PieceKind;
use super::route::route;
use super::separation::Separation;
use super::start::Starts;
use super::tab::Tab;
use crate::cancel::checkpoint;
use crate::contour::Contours;
use crate::geometry::{Bounds, Point};
use crate::id::{ContourId, LoopId, PassNo};
use crate::job::{Stops, TabFace};
use crate::toolpath::WireLoop;

/// What is done in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum OperationKind {
    /// On to the next start, the wire cut.
    Travel,
    /// Back through the open kerf of a pass, without cutting.
    Return,
    /// The wire is threaded.
    Thread,
    /// From the start onto the path; later passes cross the open kerf without cutting.
    LeadIn,
    /// The slug is cleared away before the wall is cut.
    Coreless,
    /// The rough pass, up to the tab or the last stretch where a piece drops.
    Rough,
    /// A later pass along the wall.
    Skim,
    /// On past the closing point, and back to the start.
    LeadOut,
    /// The machine is adjusted for another pass.
    Adjust,
    /// The machine stops with its power off, and the operator secures the piece.
    Stop,
    /// With doors closed the tab is cut, or the last stretch of a piece that has none.
    CutOff,
    /// The face where the tab stood is skimmed.
    SkimTab,
    /// The piece is removed, the power off; the wire is cut for it.
    Remove,
}

impl OperationKind {
    /// Every kind, in the order in which they follow one another on a contour.
    pub const ALL: [Self; 13] = [
        Self::Travel,
        Self::Return,
        Self::Thread,
        Self::LeadIn,
        Self::Coreless,
        Self::Rough,
        Self::Skim,
        Self::LeadOut,
        Self::Adjust,
        Self::Stop,
        Self::CutOff,
        Self::SkimTab,
        Self::Remove,
    ];

    /// Whether the wire runs along the path of a pass meanwhile, leads left aside.
    pub const fn is_cutting(self) -> bool {
        matches!(self, Self::Coreless | Self::Rough | Self::Skim | Self::SkimTab)
    }

    /// Whether the wire moves without cutting, as fast as the machine goes.
    pub const fn is_dry(self) -> bool {
        matches!(self, Self::Travel | Self::Return)
    }

    /// Whether it comes with the wire's way onto a path or off it.
    pub const fn is_lead(self) -> bool {
        matches!(self, Self::LeadIn | Self::LeadOut)
    }

    /// Whether the operator has to be present, whatever the machine.
    pub const fn is_attended(self) -> bool {
        matches!(self, Self::Adjust | Self::Stop | Self::CutOff | Self::Remove)
    }
}

/// One move.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Operation {
    /// What is done.
    pub kind: OperationKind,
    /// Number of the loop in [`Toolpaths::loops`](crate::toolpath::Toolpaths::loops).
    pub wire_loop: LoopId,
    /// Its way, mm.
    pub length_mm: f64,
    /// What of it is cut, mm.
    pub cut_mm: f64,
    /// Where it begins.
    pub at: Point,
    /// The piece that it is about, an index into [`Process::separations`](super::Process::separations).
    pub separation: Option<usize>,
}

/// What the order of cutting goes by.
#[derive(Clone, Copy)]
pub struct OrderInput<'a> {
    /// The loops.
    pub loops: &'a [WireLoop],
    /// Where the wire is threaded.
    pub starts: &'a Starts,
    /// The way of the wire on and off each of `loops`.
    pub leads: &'a [Leads],
    /// What drops, and how.
    pub separations: &'a [Separation],
}

/// All moves, in the order of cutting. Near-linear in the loops.
pub fn operations(contours: &Contours, input: &OrderInput<'_>, stops: Stops) -> Vec<Operation> {
    let units = units(input);
    // Loops in a closed-off bay of a contour come before the one round it.
    let level = |unit: &StartGroup| {
        let contour = &contours[input.starts.list[unit.start].contour];
        (contour.depth, unit.in_bay)
    };
    let (open, closed): (Vec<StartGroup>, Vec<StartGroup>) = units.into_iter().partition(|unit| unit.is_open);
    let mut levels: BTreeMap<Reverse<(usize, bool)>, Vec<StartGroup>> = BTreeMap::new();
    for unit in closed {
        levels.entry(Reverse(level(&unit))).or_default().push(unit);
    }
    let all = input.starts.list.iter().map(|start| start.at);
    let mut writer = Writer {
        input,
        moves: Vec::with_capacity(most_moves(levels.values().flatten().chain(&open))),
        at: Bounds::of(all).min,
        threaded: None,
        begun: false,
        pass: None,
        open,
    };
    for units in levels.values() {
        let order = writer.short_way(units);
        let units: Vec<&StartGroup> = order.into_iter().map(|i| &units[i]).collect();
        writer.level(&units, stops);
    }
    writer.open_cuts(|_| true);
    writer.moves.shrink_to_fit();
    writer.moves
}

/// More moves than are made: large drawings have millions, and room for them that grows by doubling would be taken three times.
fn most_moves<'a>(units: impl IntoIterator<Item = &'a StartGroup>) -> usize {
    // Of a start and its rough pass: two ways there, an adjustment, a ring, on, along and off, a stop, cut off and taken out. Of each skim:
    // an adjustment, back, on, along and off, and the face of the tab with an adjustment and off.
    let of_unit =
        |unit: &StartGroup| 12 + 7 * unit.skims.len() + usize::from(unit.is_open) * unit.skims.len();
    units.into_iter().map(of_unit).sum()
}

/// All loops that are entered from one start.
struct StartGroup {
    start: usize,
    rough: Option<LoopId>,
    skims: Vec<LoopId>,
    separation: Option<usize>,
    in_bay: bool,
    is_open: bool,
}

fn units(input: &OrderInput<'_>) -> Vec<StartGroup> {
    let starts = input.starts;
    let around = |wire_loop: LoopId| input.loops[wire_loop.index()].polyline.area() > 0.0;
    let round_of: BTreeMap<ContourId, LoopId> = starts
        .list
        .iter()
        .filter(|start| around(start.wire_loop))
        .map(|start| (start.contour, start.wire_loop))
        .collect();
    let mut units: Vec<StartGroup> = starts
        .list
        .iter()
        .enumerate()
        .map(|(i, start)| StartGroup {
            start: i,
            rough: None,
            skims: Vec::new(),
            separation: None,
            in_bay: !around(start.wire_loop) && round_of.contains_key(&start.contour),
            is_open: input.loops[start.wire_loop.index()].open.is_some(),
        })
        .collect();
    for (id, wire) in LoopId::numbered(input.loops) {
        let unit = &mut units[starts.of_loop[id.index()]];
        if wire.pass.is_rough() {
            unit.rough = Some(id);
        } else {
            unit.skims.push(id);
        }
    }
    for (i, separation) in input.separations.iter().enumerate() {
        units[starts.of_loop[separation.piece.wire_loop.index()]].separation = Some(i);
    }
    units
}

/// How the piece of a unit drops.
enum SeparationKind<'a> {
    /// It is not held: it is cleared away, or nothing is left.
    Free,
    /// A slug on its tab, or on its last stretch, of that length.
    Slug(usize, &'a Separation, f64),
    /// A part likewise.
    Part(usize, &'a Separation, f64),
}

struct Writer<'a> {
    input: &'a OrderInput<'a>,
    moves: Vec<Operation>,
    /// Where the machine stands.
    at: Point,
    /// The start where the wire is threaded.
    threaded: Option<usize>,
    /// The machine has been somewhere.
    begun: bool,
    /// The pass cut last.
    pass: Option<PassNo>,
    /// Open cuts that are still to be made.
    open: Vec<StartGroup>,
}

impl<'a> Writer<'a> {
    fn kind(&self, unit: &StartGroup) -> SeparationKind<'a> {
        let Some(i) = unit.separation else {
            return SeparationKind::Free;
        };
        let separation = &self.input.separations[i];
        match (separation.uncut(), separation.piece.kind) {
            (None, _) => SeparationKind::Free,
            (Some(uncut), PieceKind::Slug | PieceKind::Offcut) => {
                SeparationKind::Slug(i, separation, uncut.length_mm)
            }
            (Some(uncut), PieceKind::Part) => SeparationKind::Part(i, separation, uncut.length_mm),
        }
    }

    /// The order of units on a short way from where the machine stands.
    fn short_way(&self, units: &[StartGroup]) -> Vec<usize> {
        let place = |unit: &StartGroup| self.input.starts.list[unit.start].at;
        let places: Vec<Point> = units.iter().map(place).collect();
        route(&places, self.at)
    }

    /// The open cuts in the material of an outline for which it is time, of those that are still to be made.
    fn open_cuts(&mut self, is_time: impl Fn(Option<ContourId>) -> bool) {
        let part_of = |unit: &StartGroup| {
            let wire_loop = self.input.starts.list[unit.start].wire_loop;
            self.input.loops[wire_loop.index()]
                .open
                .as_ref()
                .and_then(|cut| cut.part)
        };
        let all = std::mem::take(&mut self.open).into_iter();
        let (now, later): (Vec<StartGroup>, Vec<StartGroup>) = all.partition(|unit| is_time(part_of(unit)));
        self.open = later;
        // Slits that part the work come last, in the order for which it was found what drops.
        let parts = |unit: &StartGroup| {
            let separation = unit.separation.map(|i| &self.input.separations[i]);
            separation.is_some_and(|separation| separation.piece.kind == PieceKind::Part)
        };
        let (parting, now): (Vec<StartGroup>, Vec<StartGroup>) = now.into_iter().partition(parts);
        let order = self.short_way(&now);
        let order = order.into_iter().map(|i| &now[i]).chain(&parting);
        for unit in order {
            self.cut_to_tab(unit);
            self.separate(unit);
            self.after(unit);
        }
    }

    /// The open cuts of the parts that units cut out.
    fn open_cuts_of(&mut self, units: &[&StartGroup]) {
        if self.open.is_empty() {
            return;
        }
        let starts = &self.input.starts.list;
        let parts: Vec<ContourId> = units.iter().map(|unit| starts[unit.start].contour).collect();
        self.open_cuts(|part| part.is_some_and(|part| parts.contains(&part)));
    }

    /// All units of one depth, in the order of the way.
    fn level(&mut self, units: &[&StartGroup], stops: Stops) {
        match stops {
            Stops::Each => {
                for unit in units {
                    self.cut_to_tab(unit);
                    self.open_cuts_of(&[*unit]);
                    self.separate(unit);
                    self.after(unit);
                }
            }
            Stops::Grouped => {
                // There and back again: each round begins where the one before ended.
                for unit in units {
                    self.cut_to_tab(unit);
                }
                self.open_cuts_of(units);
                for unit in units.iter().rev() {
                    self.separate(unit);
                }
                for unit in units {
                    self.after(unit);
                }
            }
        }
    }

    /// What runs unattended before a piece is secured: of a slug the rough pass, of a part all passes. A part without
    /// a tab has none but the rough.
    fn cut_to_tab(&mut self, unit: &StartGroup) {
        match self.kind(unit) {
            SeparationKind::Free => {
                self.rough(unit, 0.0, None);
                self.skims(unit, 0.0, None);
            }
            SeparationKind::Slug(i, _, tab_mm) => self.rough(unit, tab_mm, Some(i)),
            SeparationKind::Part(i, _, tab_mm) => {
                self.rough(unit, tab_mm, Some(i));
                self.skims(unit, tab_mm, Some(i));
            }
        }
    }

    /// The stop, and what is done at it.
    fn separate(&mut self, unit: &StartGroup) {
        match self.kind(unit) {
            SeparationKind::Free => {}
            SeparationKind::Slug(i, separation, uncut_mm) | SeparationKind::Part(i, separation, uncut_mm) => {
                let Some(rough) = unit.rough else { return };
                self.go(unit);
                self.by_hand(OperationKind::Stop, rough, i);
                self.cut_off(rough, i, separation);
                if separation.piece.kind == PieceKind::Part && separation.face == TabFace::Skimmed {
                    for &skim in &unit.skims {
                        self.adjust(skim);
                        self.push(OperationKind::SkimTab, skim, uncut_mm, uncut_mm, Some(i));
                        self.off(skim);
                    }
                }
                self.remove(rough, i);
            }
        }
    }

    /// What is left when a slug is out.
    fn after(&mut self, unit: &StartGroup) {
        if let SeparationKind::Slug(..) = self.kind(unit) {
            self.skims(unit, 0.0, None);
        }
    }

    /// To the start of a unit, and the wire threaded there, if it is not yet.
    fn go(&mut self, unit: &StartGroup) {
        if self.threaded == Some(unit.start) {
            return;
        }
        let start = &self.input.starts.list[unit.start];
        let way_mm = self.at.distance(start.at);
        if self.begun && way_mm > 0.0 {
            self.push(OperationKind::Travel, start.wire_loop, way_mm, 0.0, None);
        }
        (self.at, self.begun, self.threaded) = (start.at, true, Some(unit.start));
        self.push(OperationKind::Thread, start.wire_loop, 0.0, 0.0, None);
    }

    /// The rough pass, but for what a tab keeps.
    fn rough(&mut self, unit: &StartGroup, kept_mm: f64, separation: Option<usize>) {
        let Some(rough) = unit.rough else { return };
        self.go(unit);
        self.adjust(rough);
        let about = separation.or(unit.separation);
        let coreless = about.and_then(|i| self.input.separations[i].coreless());
        if let Some(coreless) = coreless {
            self.push(
                OperationKind::Coreless,
                rough,
                coreless.length_mm,
                coreless.length_mm,
                about,
            );
            self.at = coreless.run.vertices.last().map_or(self.at, |v| v.at);
        }
        self.along(OperationKind::Rough, rough, kept_mm, separation);
    }

    /// The later passes, but for what a tab keeps.
    fn skims(&mut self, unit: &StartGroup, kept_mm: f64, separation: Option<usize>) {
        for &skim in &unit.skims {
            self.go(unit);
            self.adjust(skim);
            self.along(OperationKind::Skim, skim, kept_mm, separation);
        }
        if unit.is_open && !unit.skims.is_empty() && kept_mm == 0.0 {
            self.threaded = None;
        }
    }

    /// Onto a loop, along it, and off it. Round a part on its tab the passes run to and fro between the ends of the tab,
    /// and only the first comes in from the start.
    fn along(&mut self, kind: OperationKind, wire_loop: LoopId, kept_mm: f64, separation: Option<usize>) {
        let run = &self.input.leads[wire_loop.index()];
        let length_mm = self.input.loops[wire_loop.index()].length_mm - kept_mm;
        if let Some(back) = run.return_run.as_deref() {
            self.push(OperationKind::Return, wire_loop, back.length(), 0.0, None);
            self.at = back.vertices.last().map_or(self.at, |v| v.at);
        }
        if kept_mm == 0.0 || kind == OperationKind::Rough {
            self.push(
                OperationKind::LeadIn,
                wire_loop,
                run.lead_in.length(),
                run.lead_cut_mm,
                None,
            );
            self.at = run.entry;
        }
        self.push(kind, wire_loop, length_mm, length_mm, separation);
        if kept_mm == 0.0 {
            self.off(wire_loop);
        } else if let Some(uncut) = separation.and_then(|i| self.input.separations[i].uncut()) {
            self.at = self.end_on_tab(wire_loop, length_mm, uncut);
        }
    }

    /// Where a pass ends that leaves a tab, or the last stretch: at its other end, or where an open cut began.
    fn end_on_tab(&self, wire_loop: LoopId, length_mm: f64, uncut: &Tab) -> Point {
        let path = &self.input.loops[wire_loop.index()].polyline;
        match &self.input.loops[wire_loop.index()].open {
            Some(cut) if cut.runs_back => path.vertices.last().map_or(self.at, |v| v.at),
            Some(_) => PathLine::new(path).at(length_mm),
            None => {
                let ends = [uncut.run.vertices.first(), uncut.run.vertices.last()];
                let [begin, end] = ends.map(|v| v.map_or(self.at, |v| v.at));
                if self.at == begin { end } else { begin }
            }
        }
    }

    /// Past the closing point of a loop, and back to its start.
    fn off(&mut self, wire_loop: LoopId) {
        let run = &self.input.leads[wire_loop.index()];
        let wire = &self.input.loops[wire_loop.index()];
        if wire.open.is_some() && run.lead_out.vertices.is_empty() {
            // Through: the wire is cut where it has run out, but for the way back in the next skim.
            self.at = wire.polyline.vertices.last().map_or(self.at, |v| v.at);
            let next = self.input.loops.get(wire_loop.index() + 1);
            let next = next.filter(|next| next.contour == wire.contour);
            let goes_back = next
                .and_then(|next| next.open.as_ref())
                .is_some_and(|cut| cut.runs_back);
            if wire.pass.is_rough() && !goes_back {
                self.threaded = None;
            }
            return;
        }
        let length_mm = run.overlap_mm + run.lead_out.length();
        self.push(OperationKind::LeadOut, wire_loop, length_mm, run.overlap_mm, None);
        self.at = self.input.starts.list[run.start].at;
    }

    fn cut_off(&mut self, rough: LoopId, i: usize, separation: &Separation) {
        if let Some(uncut) = separation.uncut() {
            self.at = uncut.run.vertices.first().map_or(self.at, |v| v.at);
            self.push(
                OperationKind::CutOff,
                rough,
                uncut.length_mm,
                uncut.length_mm,
                Some(i),
            );
            self.at = uncut.run.vertices.last().map_or(self.at, |v| v.at);
        }
    }

    /// The machine is adjusted where another pass comes.
    fn adjust(&mut self, wire_loop: LoopId) {
        let pass = self.input.loops[wire_loop.index()].pass;
        if self.pass.replace(pass).is_some_and(|last| last != pass) {
            self.push(OperationKind::Adjust, wire_loop, 0.0, 0.0, None);
        }
    }

    fn by_hand(&mut self, kind: OperationKind, wire_loop: LoopId, separation: usize) {
        self.push(kind, wire_loop, 0.0, 0.0, Some(separation));
    }

    /// The wire is cut, so that the piece can be taken out.
    fn remove(&mut self, wire_loop: LoopId, separation: usize) {
        self.by_hand(OperationKind::Remove, wire_loop, separation);
        self.threaded = None;
    }

    fn push(
        &mut self,
        kind: OperationKind,
        wire_loop: LoopId,
        length_mm: f64,
        cut_mm: f64,
        separation: Option<usize>,
    ) {
        checkpoint();
        self.moves.push(Operation {
            kind,
            wire_loop,
            length_mm,
            cut_mm,
            at: self.at,
            separation,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::OperationKind::{
        self, Adjust, Coreless, CutOff, LeadIn, LeadOut, Remove, Rough, Skim, SkimTab, Stop,
    };

    #[test]
    fn each_kind_is_cut_led_or_attended() {
        let those = |are: fn(OperationKind) -> bool| {
            let kinds = OperationKind::ALL.into_iter().filter(|&kind| are(kind));
            kinds.collect::<Vec<_>>()
        };
        assert_eq!(those(OperationKind::is_cutting), [Coreless, Rough, Skim, SkimTab]);
        assert_eq!(those(OperationKind::is_lead), [LeadIn, LeadOut]);
        assert_eq!(those(OperationKind::is_attended), [Adjust, Stop, CutOff, Remove]);
    }
}
