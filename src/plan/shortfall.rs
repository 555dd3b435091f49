//! What a candidate misses of what is called for, with its numbers.

use std::fmt;

use crate::check::path_words::{incomplete_in_words, limit_in_words, refusal_in_words};
use crate::geometry::Point;
use crate::id::{ContourId, PassNo};
use crate::job::Scope;
use crate::message::{Message, message, mm, roughness_um, um, um_of_mm};
use crate::pass;
use crate::process::BeyondMachine;
use crate::toolpath::{Incomplete, RefusalReason};
use crate::units::UM_PER_MM;

/// A reason why a candidate cannot be cut, or is not expected to reach what is called for.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Shortfall {
    /// Nothing is to be cut.
    NothingToCut,
    /// The book has no passes for it.
    NoPasses(pass::Error),
    /// A path is missing, so that there is no time.
    PathMissing,
    /// Contours that are to be cut cannot be cut as a whole.
    Incomplete {
        /// Which, and why, in words.
        contours: String,
    },
    /// More than the machine takes.
    BeyondMachine(BeyondMachine),
    /// The wire does not cut so thick.
    TooThick {
        /// The wire, mm.
        wire_mm: f64,
        /// Thickest that it cuts, mm.
        thickest_mm: f64,
        /// The work, mm.
        thickness_mm: f64,
    },
    /// A taper or a land is called for.
    Tapered,
    /// An inside radius of the drawing is below the last offset.
    RadiusBelowOffset {
        /// The radius, mm.
        radius_mm: f64,
        /// Offset of the last pass, mm.
        offset_mm: f64,
    },
    /// The wire leaves a larger inside radius than is called for.
    RadiusTooLarge {
        /// The radius called for, mm.
        radius_mm: f64,
        /// The radius that the wire leaves, mm.
        left_mm: f64,
    },
    /// A slot is narrower than the rough cut.
    SlotTooNarrow {
        /// Its width, mm.
        slot_mm: f64,
        /// Width of the rough cut, mm.
        needed_mm: f64,
    },
    /// Two walls run together without an angle.
    Cusp {
        /// Tolerance a side, µm.
        tolerance_um: f64,
    },
    /// A sharp inside corner keeps more than the tolerance.
    SharpCorner {
        /// How far its wall stays off the drawing, µm.
        off_um: f64,
        /// Tolerance a side, µm.
        tolerance_um: f64,
    },
    /// Parts are loose after the rough cut.
    NotSkimmed {
        /// Numbers of their contours.
        contours: Vec<ContourId>,
    },
    /// The finish is not reached.
    Finish {
        /// Number of passes.
        passes: usize,
        /// Ra expected, µm.
        expected_um: f64,
        /// Ra called for, µm.
        limit_um: f64,
    },
    /// The size is not reached.
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
    PathOff {
        /// How far, mm.
        off_mm: f64,
        /// Where.
        at: Point,
        /// Tolerance a side, mm.
        tolerance_mm: f64,
    },
    /// It reaches no farther into corners than one whose real path misses.
    NoNearer {
        /// That one, in words.
        than: Message,
    },
}

impl Shortfall {
    /// Says it.
    pub fn message(&self) -> Message {
        match *self {
            Self::NothingToCut => "nothing is to be cut".into(),
            Self::NoPasses(ref error) => error.message(),
            Self::PathMissing => "a path is missing".into(),
            Self::Incomplete { ref contours } => contours.as_str().into(),
            Self::BeyondMachine(ref beyond) => limit_in_words(beyond),
            Self::TooThick {
                wire_mm,
                thickest_mm,
                thickness_mm,
            } => message!(
                "{} wire cuts up to {}, not {}",
                mm(wire_mm),
                mm(thickest_mm),
                mm(thickness_mm)
            ),
            Self::Tapered => "taper or land: its time is not the time of a straight cut".into(),
            Self::RadiusBelowOffset { radius_mm, offset_mm } => message!(
                "an inside radius of {} needs an offset no larger; the last pass has {}",
                mm(radius_mm).fixed(3),
                mm(offset_mm).fixed(4)
            ),
            Self::RadiusTooLarge { radius_mm, left_mm } => message!(
                "an inside radius of {} is called for; this wire leaves {}",
                mm(radius_mm).fixed(3),
                mm(left_mm).fixed(4)
            ),
            Self::SlotTooNarrow { slot_mm, needed_mm } => message!(
                "a slot of {} is narrower than the rough cut needs, {}",
                mm(slot_mm).fixed(3),
                mm(needed_mm).fixed(3)
            ),
            Self::Cusp { tolerance_um } => message!(
                "two walls run together in a cusp, which no wire reaches to its tip, {}: {}",
                asked_a_side(tolerance_um),
                RELIEF
            ),
            Self::SharpCorner { off_um, tolerance_um } => message!(
                "a sharp inside corner would stay {} off the drawing, {}: {}",
                um(off_um).fixed(1),
                asked_a_side(tolerance_um),
                RELIEF
            ),
            Self::NotSkimmed { ref contours } => message!(
                "without a tab the part of contour {} is loose after the rough cut, so it is not skimmed: allow a tab",
                listed(contours)
            ),
            Self::Finish {
                passes,
                expected_um,
                limit_um,
            } => message!(
                "{} would leave Ra {}, Ra {} is called for",
                in_words(passes),
                roughness_um(expected_um).fixed(2),
                roughness_um(limit_um).fixed(2)
            ),
            Self::Size {
                passes,
                error_um,
                scope,
                half_um,
                ref largest,
            } => size_missed(passes, error_um, scope, half_um, largest.as_ref()),
            Self::PathRefused {
                pass,
                contour,
                at,
                reason,
            } => path_refused(pass, contour, at, reason),
            Self::PathOff {
                off_mm,
                at,
                tolerance_mm,
            } => path_off(off_mm, at, tolerance_mm),
            Self::NoNearer { ref than } => message!("no nearer than {}, whose real path misses", than),
        }
    }

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
pub fn shortfalls_in_words(shortfalls: &[Shortfall]) -> Message {
    Message::joined(shortfalls.iter().map(Shortfall::message), "; ")
}

impl fmt::Display for Shortfall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.message().fmt(f)
    }
}

/// What to draw where no wire reaches.
const RELIEF: &str = "allow a radius there or draw a relief";

fn size_missed(
    passes: usize,
    error_um: f64,
    scope: Scope,
    half_um: f64,
    largest: Option<&(String, &str)>,
) -> Message {
    let remedy = largest.map(|(name, remedy)| format!("; most of it is {name}: {remedy}"));
    message!(
        "after {} the wall is expected within ±{} {}, ±{} is called for{}",
        in_words(passes),
        um(error_um).fixed(1),
        side_or_size(scope),
        um(half_um).fixed(1),
        remedy
    )
}

fn path_refused(pass: PassNo, contour: ContourId, at: Point, reason: RefusalReason) -> Message {
    message!(
        "no path could be verified for pass {} of contour {} at {}: {}",
        pass,
        contour,
        place(at),
        refusal_in_words(reason)
    )
}

fn path_off(off_mm: f64, at: Point, tolerance_mm: f64) -> Message {
    message!(
        "its real path leaves the wall {} off the drawing at {}, {}",
        um_of_mm(off_mm).fixed(1),
        place(at),
        asked_a_side(tolerance_mm * UM_PER_MM)
    )
}

fn asked_a_side(tolerance_um: f64) -> Message {
    message!("±{} a side is called for", um(tolerance_um).fixed(1))
}

fn place(at: Point) -> Message {
    message!("({}, {})", mm(at.x).fixed(3).bare(), mm(at.y).fixed(3).bare())
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

fn listed(contours: &[ContourId]) -> String {
    let numbers: Vec<String> = contours.iter().map(ContourId::to_string).collect();
    numbers.join(", ")
}
