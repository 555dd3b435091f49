//! What a candidate misses of what is called for, with its numbers.

use std::fmt;

use crate::geometry::Point;
use crate::job::Scope;
use crate::pass;
use crate::process::BeyondMachine;
use crate::toolpath::{Incomplete, incomplete_in_words};
use crate::units::UM_PER_MM;

/// A reason why a candidate cannot be cut, or is not expected to reach what is called for.
#[derive(Clone, Debug, PartialEq)]
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
        contours: Vec<usize>,
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
        pass: usize,
        /// Number of the contour.
        contour: usize,
        /// Where.
        at: Point,
        /// Why, in words.
        reason: String,
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
        than: String,
    },
}

impl fmt::Display for Shortfall {
    #[expect(clippy::too_many_lines, reason = "one sentence for each shortfall")]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NothingToCut => write!(f, "nothing is to be cut"),
            Self::NoPasses(error) => write!(f, "{error}"),
            Self::PathMissing => write!(f, "a path is missing"),
            Self::Incomplete { contours } => write!(f, "{contours}"),
            Self::BeyondMachine(beyond) => write!(f, "{beyond}"),
            Self::TooThick {
                wire_mm,
                thickest_mm,
                thickness_mm,
            } => write!(
                f,
                "{wire_mm} mm wire cuts up to {thickest_mm} mm, not {thickness_mm} mm"
            ),
            Self::Tapered => write!(f, "taper or land: its time is not the time of a straight cut"),
            Self::RadiusBelowOffset { radius_mm, offset_mm } => write!(
                f,
                "an inside radius of {radius_mm:.3} mm needs an offset no larger; the last pass has {offset_mm:.4} mm"
            ),
            Self::RadiusTooLarge { radius_mm, left_mm } => write!(
                f,
                "an inside radius of {radius_mm:.3} mm is asked; this wire leaves {left_mm:.4} mm"
            ),
            Self::SlotTooNarrow { slot_mm, needed_mm } => write!(
                f,
                "a slot of {slot_mm:.3} mm is narrower than the rough cut needs, {needed_mm:.3} mm"
            ),
            Self::Cusp { tolerance_um } => write!(
                f,
                "two walls run together in a cusp, which no wire reaches to its tip, ±{tolerance_um:.1} µm a side is \
                 asked: allow a radius there or draw a relief"
            ),
            Self::SharpCorner { off_um, tolerance_um } => write!(
                f,
                "a sharp inside corner would stay {off_um:.1} µm off the drawing, ±{tolerance_um:.1} µm a side is \
                 asked: allow a radius there or draw a relief"
            ),
            Self::NotSkimmed { contours } => {
                let contours: Vec<String> = contours.iter().map(usize::to_string).collect();
                write!(
                    f,
                    "without a tab the part of contour {} is loose after the rough cut, so it is not skimmed: allow a tab",
                    contours.join(", ")
                )
            }
            Self::Finish {
                passes,
                expected_um,
                limit_um,
            } => write!(
                f,
                "{} would leave Ra {expected_um:.2} µm, Ra {limit_um:.2} µm is asked",
                in_words(*passes)
            ),
            Self::Size {
                passes,
                error_um,
                scope,
                half_um,
                largest,
            } => {
                let what = match scope {
                    Scope::OnSize => "on size",
                    Scope::PerSide => "a side",
                };
                write!(
                    f,
                    "after {} the wall is expected within ±{error_um:.1} µm {what}, ±{half_um:.1} µm is asked",
                    in_words(*passes)
                )?;
                match largest {
                    Some((name, remedy)) => write!(f, "; most of it is {name}: {remedy}"),
                    None => Ok(()),
                }
            }
            Self::PathRefused {
                pass,
                contour,
                at,
                reason,
            } => write!(
                f,
                "no path could be verified for pass {pass} of contour {contour} at ({:.3}, {:.3}): {reason}",
                at.x, at.y
            ),
            Self::PathOff {
                off_mm,
                at,
                tolerance_mm,
            } => write!(
                f,
                "its real path leaves the wall {:.1} µm off the drawing at ({:.3}, {:.3}), ±{:.1} µm a side is asked",
                off_mm * UM_PER_MM,
                at.x,
                at.y,
                tolerance_mm * UM_PER_MM
            ),
            Self::NoNearer { than } => write!(f, "no nearer than {than}, whose real path misses"),
        }
    }
}

impl Shortfall {
    /// That contours cannot be cut as a whole; `None` where all can.
    pub(super) fn of_incomplete(incomplete: &[Incomplete]) -> Option<Self> {
        let contours = incomplete_in_words(incomplete).join("; ");
        (!contours.is_empty()).then_some(Self::Incomplete { contours })
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
