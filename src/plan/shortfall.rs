//! What a candidate misses of what is called for, with its numbers.

use thiserror::Error;

use crate::check::path_words::{incomplete_in_words, limit_in_words, refusal_in_words};
use crate::geometry::Point;
use crate::id::{ContourId, PassNo};
use crate::job::Scope;
use crate::pass;
use crate::process::BeyondMachine;
use crate::toolpath::{Incomplete, RefusalReason};
use crate::units::UM_PER_MM;

/// A reason why a candidate cannot be cut, or is not expected to reach what is called for.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Shortfall {
    /// Nothing is to be cut.
    #[error("nothing is to be cut")]
    NothingToCut,
    /// The book has no passes for it.
    #[error(transparent)]
    NoPasses(pass::Error),
    /// A path is missing, so that there is no time.
    #[error("a path is missing")]
    PathMissing,
    /// Contours that are to be cut cannot be cut as a whole.
    #[error("{contours}")]
    Incomplete {
        /// Which, and why, in words.
        contours: String,
    },
    /// More than the machine takes.
    #[error("{}", limit_in_words(_0))]
    BeyondMachine(BeyondMachine),
    /// The wire does not cut so thick.
    #[error("{wire_mm} mm wire cuts up to {thickest_mm} mm, not {thickness_mm} mm")]
    TooThick {
        /// The wire, mm.
        wire_mm: f64,
        /// Thickest that it cuts, mm.
        thickest_mm: f64,
        /// The work, mm.
        thickness_mm: f64,
    },
    /// A taper or a land is called for.
    #[error("taper or land: its time is not the time of a straight cut")]
    Tapered,
    /// An inside radius of the drawing is below the last offset.
    #[error(
        "an inside radius of {radius_mm:.3} mm needs an offset no larger; the last pass has {offset_mm:.4} mm"
    )]
    RadiusBelowOffset {
        /// The radius, mm.
        radius_mm: f64,
        /// Offset of the last pass, mm.
        offset_mm: f64,
    },
    /// The wire leaves a larger inside radius than is called for.
    #[error("an inside radius of {radius_mm:.3} mm is asked; this wire leaves {left_mm:.4} mm")]
    RadiusTooLarge {
        /// The radius called for, mm.
        radius_mm: f64,
        /// The radius that the wire leaves, mm.
        left_mm: f64,
    },
    /// A slot is narrower than the rough cut.
    #[error("a slot of {slot_mm:.3} mm is narrower than the rough cut needs, {needed_mm:.3} mm")]
    SlotTooNarrow {
        /// Its width, mm.
        slot_mm: f64,
        /// Width of the rough cut, mm.
        needed_mm: f64,
    },
    /// Two walls run together without an angle.
    #[error(
        "two walls run together in a cusp, which no wire reaches to its tip, ±{tolerance_um:.1} µm a side is asked: allow a \
         radius there or draw a relief"
    )]
    Cusp {
        /// Tolerance a side, µm.
        tolerance_um: f64,
    },
    /// A sharp inside corner keeps more than the tolerance.
    #[error(
        "a sharp inside corner would stay {off_um:.1} µm off the drawing, ±{tolerance_um:.1} µm a side is asked: allow a radius \
         there or draw a relief"
    )]
    SharpCorner {
        /// How far its wall stays off the drawing, µm.
        off_um: f64,
        /// Tolerance a side, µm.
        tolerance_um: f64,
    },
    /// Parts are loose after the rough cut.
    #[error(
        "without a tab the part of contour {} is loose after the rough cut, so it is not skimmed: allow a tab",
        listed(contours)
    )]
    NotSkimmed {
        /// Numbers of their contours.
        contours: Vec<ContourId>,
    },
    /// The finish is not reached.
    #[error("{} would leave Ra {expected_um:.2} µm, Ra {limit_um:.2} µm is asked", in_words(*passes))]
    Finish {
        /// Number of passes.
        passes: usize,
        /// Ra expected, µm.
        expected_um: f64,
        /// Ra called for, µm.
        limit_um: f64,
    },
    /// The size is not reached.
    #[error(
        "after {} the wall is expected within ±{error_um:.1} µm {}, ±{half_um:.1} µm is asked{}",
        in_words(*passes),
        side_or_size(*scope),
        remedy(largest.as_ref())
    )]
    Size {
        /// Number of passes.
        passes: usize,
        /// Error expected, µm.
        error_um: f64,
        /// On size or a side.
        scope: Scope,
        /// Half the width of the limits, µm.
        half_um: f64,
        /// Name of the largest term of the error, and what reduces it.
        largest: Option<(String, &'static str)>,
    },
    /// No real path passed the verifier.
    #[error(
        "no path could be verified for pass {pass} of contour {contour} at ({:.3}, {:.3}): {}",
        at.x,
        at.y,
        refusal_in_words(*reason)
    )]
    PathRefused {
        /// Pass, from 1.
        pass: PassNo,
        /// Number of the contour.
        contour: ContourId,
        /// Where.
        at: Point,
        /// Why.
        reason: RefusalReason,
    },
    /// The real path leaves the wall too far off.
    #[error(
        "its real path leaves the wall {:.1} µm off the drawing at ({:.3}, {:.3}), ±{:.1} µm a side is asked",
        off_mm * UM_PER_MM,
        at.x,
        at.y,
        tolerance_mm * UM_PER_MM
    )]
    PathOff {
        /// How far, mm.
        off_mm: f64,
        /// Where.
        at: Point,
        /// Tolerance a side, mm.
        tolerance_mm: f64,
    },
    /// It reaches no farther into corners than one whose real path misses.
    #[error("no nearer than {than}, whose real path misses")]
    NoNearer {
        /// That one, in words.
        than: String,
    },
}

impl Shortfall {
    /// That contours cannot be cut as a whole; `None` where all can.
    pub(super) fn of_incomplete(incomplete: &[Incomplete]) -> Option<Self> {
        let contours = incomplete_in_words(incomplete).join("; ");
        (!contours.is_empty()).then_some(Self::Incomplete { contours })
    }

    /// By how much it exceeds the finish that is asked, as a share; `None` of what is no finish.
    pub(super) fn finish_excess(&self) -> Option<f64> {
        match self {
            Self::Finish {
                expected_um,
                limit_um,
                ..
            } => Some(expected_um / limit_um - 1.0),
            _ => None,
        }
    }

    /// Whether it is a limit of the machine.
    pub(super) fn is_beyond_machine(&self) -> bool {
        matches!(self, Self::BeyondMachine(_))
    }

    /// Whether no paths can be computed, or not those that are called for.
    pub(super) fn keeps_from_planning(&self) -> bool {
        let no_passes = matches!(self, Self::NothingToCut | Self::NoPasses(_) | Self::PathMissing);
        no_passes || matches!(self, Self::TooThick { .. } | Self::Tapered)
    }

    /// Whether it keeps a candidate from being cut, whatever the requirement.
    pub(super) fn is_obstacle(&self) -> bool {
        let radius = matches!(self, Self::RadiusBelowOffset { .. } | Self::RadiusTooLarge { .. });
        radius || matches!(self, Self::Tapered) || self.leaves_no_total()
    }

    /// Whether it leaves something that is to be cut without a path, or the whole beyond the machine: then there is no total.
    pub(super) fn leaves_no_total(&self) -> bool {
        match self {
            Self::NothingToCut
            | Self::NoPasses(_)
            | Self::PathMissing
            | Self::Incomplete { .. }
            | Self::BeyondMachine(_)
            | Self::TooThick { .. }
            | Self::SlotTooNarrow { .. }
            | Self::PathRefused { .. } => true,
            Self::Tapered
            | Self::RadiusBelowOffset { .. }
            | Self::RadiusTooLarge { .. }
            | Self::Cusp { .. }
            | Self::SharpCorner { .. }
            | Self::NotSkimmed { .. }
            | Self::Finish { .. }
            | Self::Size { .. }
            | Self::PathOff { .. }
            | Self::NoNearer { .. } => false,
        }
    }
}

/// Writes a list of shortfalls as one sentence.
pub fn shortfalls_in_words(shortfalls: &[Shortfall]) -> String {
    let words: Vec<String> = shortfalls.iter().map(Shortfall::to_string).collect();
    words.join("; ")
}

fn in_words(passes: usize) -> String {
    match passes {
        1 => "1 pass".to_owned(),
        n => format!("{n} passes"),
    }
}

const fn side_or_size(scope: Scope) -> &'static str {
    match scope {
        Scope::OnSize => "on size",
        Scope::PerSide => "a side",
    }
}

/// Names the largest term of an error, and what reduces it.
fn remedy(largest: Option<&(String, &'static str)>) -> String {
    largest.map_or_else(String::new, |(name, remedy)| {
        format!("; most of it is {name}: {remedy}")
    })
}

fn listed(contours: &[ContourId]) -> String {
    let numbers: Vec<String> = contours.iter().map(ContourId::to_string).collect();
    numbers.join(", ")
}
