//! The limits of the machine, held against what a job wants of it.

use super::blank::{RawBlank, farthest};
use super::lead::Leads;
use crate::contour::Contours;
use crate::geometry::{Bounds, Point, Polyline};
use crate::id::ContourId;
use crate::job::Side;
use crate::pass::Setting;
use crate::shop::{Machine, Material};
use crate::tolerance::PATH_MM;
use crate::toolpath::Toolpaths;

/// A limit of the machine that the job goes beyond.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BeyondMachine {
    /// Name of the machine.
    pub machine: String,
    /// Which limit, and what is wanted.
    pub limit: MachineLimit,
    /// The contour that reaches farthest, and where, for the travel.
    pub at: Option<(ContourId, Point)>,
}

/// A limit of a machine, with what is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum MachineLimit {
    /// Travel along an axis.
    Travel {
        /// `x` or `y`.
        axis: char,
        /// Extent of the wire's way, mm.
        wanted_mm: f64,
        /// Travel, mm.
        limit_mm: f64,
    },
    /// Height of the work.
    Height {
        /// Thickness, mm.
        wanted_mm: f64,
        /// Highest work, mm.
        limit_mm: f64,
    },
    /// Load of the table.
    Load {
        /// Mass of the work, kg.
        wanted_kg: f64,
        /// Heaviest work, kg.
        limit_kg: f64,
    },
    /// Wires that it runs.
    Wire {
        /// The wire, mm.
        wanted_mm: f64,
        /// Thinnest and thickest, mm.
        runs_mm: (f64, f64),
    },
    /// Passes that it has settings for.
    Passes {
        /// The passes.
        wanted: usize,
        /// Most of them.
        limit: f64,
    },
}

/// What a job wants of a machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MachineLoad {
    /// Extent of the wire's way along x and y, mm.
    pub extent_mm: [f64; 2],
    /// Thickness of the work, mm.
    pub thickness_mm: f64,
    /// Mass on the table, kg; `None` where it is not known.
    pub mass_kg: Option<f64>,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Most passes of any demand group.
    pub passes: usize,
}

impl MachineLimit {
    /// Returns its name.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Travel { axis: 'x', .. } => "travel along x",
            Self::Travel { .. } => "travel along y",
            Self::Height { .. } => "height",
            Self::Load { .. } => "table load",
            Self::Wire { .. } => "wire",
            Self::Passes { .. } => "passes",
        }
    }
}

/// Lists the limits of `machine` that a job goes beyond.
pub fn beyond_machine(machine: &Machine, load: &MachineLoad) -> Vec<BeyondMachine> {
    let [x_mm, y_mm] = load.extent_mm;
    let travel = |axis, wanted_mm: f64, limit_mm: f64| {
        (wanted_mm > limit_mm + PATH_MM).then_some(MachineLimit::Travel {
            axis,
            wanted_mm,
            limit_mm,
        })
    };
    let (wanted_mm, limit_mm) = (load.thickness_mm, machine.height_mm.value());
    let height = (wanted_mm > limit_mm).then_some(MachineLimit::Height { wanted_mm, limit_mm });
    let limit_kg = machine.table_load_kg.value();
    let heavy = load.mass_kg.filter(|kg| *kg > limit_kg);
    let runs_mm = (machine.thinnest_wire_mm.value(), machine.thickest_wire_mm.value());
    let runs = (runs_mm.0..=runs_mm.1).contains(&load.wire_mm);
    let (wanted, limit) = (load.passes, machine.most_passes.value());
    let all = [
        travel('x', x_mm, machine.travel_x_mm.value()),
        travel('y', y_mm, machine.travel_y_mm.value()),
        height,
        heavy.map(|wanted_kg| MachineLimit::Load { wanted_kg, limit_kg }),
        (!runs).then_some(MachineLimit::Wire {
            wanted_mm: load.wire_mm,
            runs_mm,
        }),
        (wanted as f64 > limit).then_some(MachineLimit::Passes { wanted, limit }),
    ];
    let beyond = |limit| BeyondMachine {
        machine: machine.name.clone(),
        limit,
        at: None,
    };
    all.into_iter().flatten().map(beyond).collect()
}

/// Computes the mass on the table, kg: that of the blank, or where that is not known of a plate as large as what is cut.
pub fn mass_on_table_kg(
    material: &Material,
    thickness_mm: f64,
    blank: Option<&RawBlank>,
    extent_mm: [f64; 2],
) -> f64 {
    let [x_mm, y_mm] = extent_mm;
    let area_mm2 = blank.map_or(x_mm * y_mm, |blank| blank.outline.area().abs());
    material.mass_kg(area_mm2 * thickness_mm)
}

/// The ways of the wire, each with its contour.
pub(super) struct WireWay<'a>(Vec<(ContourId, &'a Polyline)>);

impl<'a> WireWay<'a> {
    /// Gathers the paths with their leads, and the outlines of contours without a path.
    pub(super) fn new(contours: &'a Contours, toolpaths: &'a Toolpaths, leads: &'a [Leads]) -> Self {
        let loops = toolpaths.loops.iter().zip(leads);
        let mut ways: Vec<(ContourId, &Polyline)> = loops
            .flat_map(|(wire, run)| {
                [&wire.polyline, &run.lead_in, &run.lead_out].map(|way| (wire.contour, way))
            })
            .collect();
        ways.extend(toolpaths.left_out().filter_map(|left_out| {
            let contour = contours.get(left_out.contour)?;
            Some((contour.id, &contour.polyline))
        }));
        Self(ways)
    }

    fn bounds(&self) -> Bounds {
        let all = self.0.iter().map(|(_, way)| way.bounds());
        all.fold(Bounds::EMPTY, Bounds::union)
    }

    /// The point farthest towards a side, and its contour.
    fn farthest(&self, side: Side) -> Option<(ContourId, Point)> {
        let towards = side.direction();
        let far = |p: Point| (p - Point::default()).dot(towards);
        let points = self.0.iter().flat_map(|(contour, way)| {
            way.segments()
                .map(|segment| (*contour, farthest(segment, towards)))
        });
        points.max_by(|a, b| far(a.1).total_cmp(&far(b.1)))
    }

    /// Lists the limits of the machine that the job goes beyond.
    pub(super) fn beyond(
        &self,
        setting: &Setting<'_>,
        thickness_mm: f64,
        passes: usize,
        mass_kg: f64,
    ) -> Vec<BeyondMachine> {
        let bounds = self.bounds();
        let extent_mm = if bounds.is_empty() {
            [0.0, 0.0]
        } else {
            [bounds.width(), bounds.height()]
        };
        let load = MachineLoad {
            extent_mm,
            thickness_mm,
            mass_kg: Some(mass_kg),
            wire_mm: setting.wire.size.diameter_mm,
            passes,
        };
        let mut beyond = beyond_machine(setting.machine, &load);
        for limit in &mut beyond {
            limit.at = match limit.limit {
                MachineLimit::Travel { axis: 'x', .. } => self.farthest(Side::Right),
                MachineLimit::Travel { .. } => self.farthest(Side::Top),
                _ => None,
            };
        }
        beyond
    }
}
