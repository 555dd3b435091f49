//! How the paths are cut: where the wire is threaded, how it comes onto each path and off it, what drops and what holds
//! it, how the blank lies, and the order of it all. Knows nothing of money.

mod path_line;
mod widest;
mod holes;
mod blank;
mod coreless;
mod tab;
mod piece;
mod not_skimmed;
mod separation;
mod distortion;
mod entry;
mod start;
mod surroundings;
mod proposal;
mod lead;
mod start_finder;
mod route;
mod order;
mod limits;
mod assumptions;
mod arrange;

pub use arrange::{ProcessInput, arrange};
pub use assumptions::ProcessAssumption;
pub use blank::{BlankFault, BlankFaults, BlankOrigin, ClampZone, RawBlank};
pub use coreless::{Coreless, NotCoreless, coreless};
pub use distortion::{DistortionReason, DistortionRisk, distortion_risks};
pub use holes::started_undrilled;
pub use lead::Leads;
pub use limits::{BeyondMachine, MachineLimit, MachineLoad, beyond_machine, mass_on_table_kg};
pub use not_skimmed::{NotSkimmed, loose_parts};
pub use order::{Operation, OperationKind, OrderInput, operations};
pub use path_line::PathLine;
pub use piece::{Piece, PieceKind, Plate, pieces};
pub use separation::{Handling, Removal, Separation, SlugReason, SlugWork, WeighedSlug, separations};
pub use start::{ShorterStart, Start, StartOrigin, Starting, Starts, UnusedHole};
pub use start_finder::StartFinder;
pub use tab::{SeveralTabs, Tab, tab_length_mm};

/// How the paths of a job are cut.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Process {
    /// Where the wire is threaded.
    pub starts: Starts,
    /// The way of the wire on and off each loop, in the order of the loops.
    pub leads: Vec<Leads>,
    /// Every move of the machine, in the order of cutting.
    pub operations: Vec<Operation>,
    /// What drops, and how.
    pub separations: Vec<Separation>,
    /// What is taken for granted.
    pub assumptions: Vec<ProcessAssumption>,
    /// Parts that are not skimmed.
    pub not_skimmed: Vec<NotSkimmed>,
    /// The blank, where it is known.
    pub blank: Option<RawBlank>,
    /// What is wrong between the cut and the blank.
    pub blank_faults: BlankFaults,
    /// Limits of the machine that it goes beyond.
    pub beyond_machine: Vec<BeyondMachine>,
    /// What may move when it is cut.
    pub distortion_risks: Vec<DistortionRisk>,
}
