//! From paths to how they are cut, step by step.

use super::Process;
use super::assumptions::assumptions;
use super::blank::{BlankFaults, RawBlank};
use super::distortion::distortion_risks;
use super::lead::Leads;
use super::limits::{BeyondMachine, WireWay, mass_on_table_kg};
use super::not_skimmed::not_skimmed;
use super::order::{OrderInput, operations};
use super::piece::Plate;
use super::separation::{Handling, Separation, SlugWork, separations};
use super::start::{Starting, Starts};
use super::start_finder::StartFinder;
use crate::contour::{Contour, Contours};
use crate::geometry::{Bounds, Polyline};
use crate::id::{ContourId, GroupId};
use crate::job::{PieceOptions, StartOptions, Stops, WireOptions, Workholding};
use crate::pass::{Group, Setting};
use crate::shop::{self, Rules};
use crate::toolpath::Toolpaths;

/// What cutting goes by.
pub struct ProcessInput<'a> {
    /// All contours of the drawing.
    pub contours: &'a Contours,
    /// Which contours are cut with which passes.
    pub groups: &'a [Group],
    /// The rules of the book.
    pub rules: &'a Rules,
    /// Material, wire and machine.
    pub setting: &'a Setting<'a>,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Feed of a lead-in as a share of the roughing feed.
    pub lead_feed_share: f64,
    /// Minutes of a stop for a slug.
    pub slug_stop_min: f64,
    /// What a minute of clearing a slug away costs against one of a stop.
    pub coreless_minute_worth: f64,
    /// How the work is held.
    pub holding: &'a Workholding,
    /// How the wire runs.
    pub running: &'a WireOptions,
    /// The layer of a contour.
    pub layer_of: &'a dyn Fn(&Contour) -> &'a str,
}

/// Arranges how paths are cut: where the start holes are and how the wire runs on and off, what drops, how the blank lies,
/// what may move, and the order of it all.
pub fn arrange(input: &ProcessInput<'_>, toolpaths: &Toolpaths) -> Process {
    let blank = RawBlank::new(input.contours, input.holding, &input.rules.holding);
    let lead_min_per_mm = |group: GroupId| input.lead_min_per_mm(group);
    let threading = input.threading(blank.as_ref(), &lead_min_per_mm);
    let starts = threading.starts(&toolpaths.loops, |contour| input.start_options(contour));
    let separations = input.separations(toolpaths, &starts);
    let leads = threading.leads(&toolpaths.loops, &separations, &starts, input.groups, |contour| {
        input.start_options(contour)
    });
    drop(threading);
    let order = OrderInput {
        loops: &toolpaths.loops,
        starts: &starts,
        leads: &leads,
        separations: &separations,
    };
    let operations = operations(input.contours, &order, input.stops());
    let blank_faults = input.blank_faults(toolpaths, blank.as_ref(), &separations, &leads);
    let holding = &input.rules.holding;
    let beyond_machine = input.beyond_machine(toolpaths, blank.as_ref(), &leads);
    Process {
        beyond_machine,
        assumptions: assumptions(input.running, input.groups),
        not_skimmed: not_skimmed(input.contours, input.groups, toolpaths),
        distortion_risks: distortion_risks(input.contours, &separations, blank.as_ref(), holding),
        starts,
        leads,
        operations,
        separations,
        blank,
        blank_faults,
    }
}

impl ProcessInput<'_> {
    /// All that stands on the drawing, ready to be searched for starts and leads.
    fn threading<'t>(
        &'t self,
        blank: Option<&'t RawBlank>,
        lead_min_per_mm: &'t dyn Fn(GroupId) -> f64,
    ) -> StartFinder<'t> {
        let starting = Starting {
            rule: &self.rules.start_hole,
            thickness_mm: self.thickness_mm,
            wire_mm: self.setting.wire.size.diameter_mm,
            clamp: self.holding.clamp,
            blank,
            holes: &self.running.holes,
            drill_mm: self.running.drill_mm,
            lead_min_per_mm,
        };
        StartFinder::new(self.contours, &starting)
    }

    /// Minutes that a millimetre takes the rough pass of a group: thickness / area rate.
    fn rough_min_per_mm(&self, group: GroupId) -> f64 {
        let rough = self.groups.iter().find(|known| known.group == group);
        let rough = rough.and_then(|group| group.passes.first());
        rough.map_or(0.0, |pass| self.thickness_mm / pass.area_rate_mm2_min.expected)
    }

    /// Minutes that a millimetre of lead-in takes, at its share of the feed.
    fn lead_min_per_mm(&self, group: GroupId) -> f64 {
        self.rough_min_per_mm(group) / self.lead_feed_share
    }

    fn start_options(&self, contour: &Contour) -> StartOptions {
        self.running.starts.on(contour.id, (self.layer_of)(contour))
    }

    fn piece_options(&self, contour: &Contour) -> PieceOptions {
        self.holding.pieces.on(contour.id, (self.layer_of)(contour))
    }

    /// Returns what drops, and how.
    fn separations(&self, toolpaths: &Toolpaths, starts: &Starts) -> Vec<Separation> {
        let handling = Handling {
            rules: self.rules,
            plate: Plate {
                material: self.setting.material,
                thickness_mm: self.thickness_mm,
            },
            clamp: self.holding.clamp,
            slug_work: SlugWork {
                ring_min_per_mm: &|group| self.rough_min_per_mm(group),
                stop_min: self.slug_stop_min,
                minute_worth: self.coreless_minute_worth,
            },
        };
        separations(
            self.contours,
            &toolpaths.loops,
            self.groups,
            &handling,
            |contour| self.piece_options(contour),
            |wire_loop| starts.place_of(wire_loop),
        )
    }

    /// The stops as asked for, else as the machine threads.
    fn stops(&self) -> Stops {
        self.running
            .stops
            .unwrap_or(match self.setting.machine.threading {
                shop::Threading::Automatic => Stops::Grouped,
                shop::Threading::Hand => Stops::Each,
            })
    }

    /// Which limits of the machine it goes beyond.
    fn beyond_machine(
        &self,
        toolpaths: &Toolpaths,
        blank: Option<&RawBlank>,
        leads: &[Leads],
    ) -> Vec<BeyondMachine> {
        let cut = self.groups.iter().flat_map(|group| &group.contours);
        let cut = cut.filter_map(|id| self.contours.get(*id));
        let cut = cut
            .map(|contour| contour.bounds)
            .fold(Bounds::EMPTY, Bounds::union);
        let extent_mm = if cut.is_empty() {
            [0.0, 0.0]
        } else {
            [cut.width(), cut.height()]
        };
        let mass_kg = mass_on_table_kg(self.setting.material, self.thickness_mm, blank, extent_mm);
        let passes = self.groups.iter().map(|group| group.passes.len()).max();
        WireWay::new(self.contours, toolpaths, leads).beyond(
            self.setting,
            self.thickness_mm,
            passes.unwrap_or_default(),
            mass_kg,
        )
    }

    /// What the widest kerf and the ways beside the loops meet of the blank's edge and of the clamps.
    fn blank_faults(
        &self,
        toolpaths: &Toolpaths,
        blank: Option<&RawBlank>,
        separations: &[Separation],
        leads: &[Leads],
    ) -> BlankFaults {
        let Some(blank) = blank else {
            return BlankFaults::default();
        };
        let rough = self.groups.iter().filter_map(|group| group.passes.first());
        let half_kerf_mm = rough.map(|pass| pass.half_kerf_mm).fold(0.0, f64::max);
        let cleared = separations
            .iter()
            .filter_map(|s| Some((s.piece.contour, &s.coreless()?.run)));
        let on_and_off = toolpaths
            .loops
            .iter()
            .zip(leads)
            .flat_map(|(wire, leads)| [&leads.lead_in, &leads.lead_out].map(|lead| (wire.contour, lead)));
        let beside: Vec<(ContourId, &Polyline)> = cleared.chain(on_and_off).collect();
        let margin_mm = self.rules.holding.edge_margin_mm.value();
        blank.faults(self.contours, &toolpaths.loops, &beside, half_kerf_mm, margin_mm)
    }
}
