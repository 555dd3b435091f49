//! Changes of a job that may settle a finding.

use crate::message::{Message, message, um_of_mm};
use crate::units::UM_PER_MM;

/// A change of the job. Lengths are mm.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Mend {
    /// Ends this close are joined.
    Join(f64),
    /// Runs of chords are replaced by arcs that stay within this.
    Refit(f64),
    /// The drawing is read in a unit of that name.
    Unit(&'static str),
    /// A layer is left out.
    LeaveOut(String),
    /// What curves of that name are for.
    Purpose(MendedName, &'static str),
    /// A finer wire is taken: which, the alternatives of a plan say.
    FinerWire,
}

/// Which curves a purpose is given for.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum MendedName {
    /// Those of a layer.
    Layer(String),
    /// Those of a contour, by its number.
    Contour(String),
    /// Those of a linetype.
    Linetype(String),
}

impl MendedName {
    /// Returns the key of a job file under which it stands, and the name there.
    pub fn key_and_name(&self) -> (&'static str, &str) {
        match self {
            Self::Layer(name) => ("layer", name),
            Self::Contour(name) => ("contour", name),
            Self::Linetype(name) => ("linetype", name),
        }
    }
}

impl Mend {
    /// Makes a length to join ends that lie so far apart: a little larger, in whole tenths of a micrometre.
    pub fn joining(gap_mm: f64) -> Self {
        Self::Join(just_above(gap_mm))
    }

    /// Makes a length within which arcs replace chords that are so far off.
    pub fn refitting(chord_error_mm: f64) -> Self {
        Self::Refit(just_above(chord_error_mm))
    }

    /// Returns what to type on the command line; `None` where that depends on the alternatives.
    pub fn option(&self) -> Option<String> {
        Some(match self {
            Self::Join(within_mm) => format!("--join {within_mm:.4}"),
            Self::Refit(within_mm) => format!("--refit {within_mm:.4}"),
            Self::Unit(name) => format!("--drawing-unit {name}"),
            Self::LeaveOut(layer) => format!("--ignore-layers \"{layer}\""),
            Self::Purpose(of, purpose) => match of {
                MendedName::Contour(number) => format!("--contour {number}={purpose}"),
                MendedName::Layer(name) => format!("--layer \"{name}={purpose}\""),
                MendedName::Linetype(name) => format!("--linetype \"{name}={purpose}\""),
            },
            Self::FinerWire => return None,
        })
    }

    /// Returns the key of a job file that it changes, the name under it, and what is put there; `None` where that depends
    /// on the alternatives.
    pub fn assignment(&self) -> Option<(&'static str, Option<&str>, String)> {
        Some(match self {
            Self::Join(within_mm) => ("join_mm", None, format!("{within_mm:.4}mm")),
            Self::Refit(within_mm) => ("refit_mm", None, format!("{within_mm:.4}mm")),
            Self::Unit(name) => ("units", None, (*name).to_owned()),
            Self::LeaveOut(layer) => ("ignore_layers", None, layer.clone()),
            Self::Purpose(of, purpose) => {
                let (key, name) = of.key_and_name();
                (key, Some(name), (*purpose).to_owned())
            }
            Self::FinerWire => return None,
        })
    }

    /// Says it as an order.
    pub fn says(&self) -> Message {
        match self {
            Self::Join(within_mm) => message!("join ends up to {} apart", um_of_mm(*within_mm).at_most(1)),
            Self::Refit(within_mm) => message!(
                "replace the chords by arcs within {}",
                um_of_mm(*within_mm).at_most(1)
            ),
            Self::Unit(name) => message!("read the drawing in {}", name),
            Self::LeaveOut(layer) => message!("leave layer “{}” out", layer),
            Self::Purpose(of, purpose) => {
                let (kind, name) = of.key_and_name();
                let name = match of {
                    MendedName::Contour(_) => name.to_owned(),
                    MendedName::Layer(_) | MendedName::Linetype(_) => format!("“{name}”"),
                };
                let taken = match *purpose {
                    "existing" => "machined already",
                    "ignore" => "left out",
                    other => other,
                };
                message!("take {} {} as {}", kind, name, taken)
            }
            Self::FinerWire => "take a finer wire".into(),
        }
    }
}

fn just_above(length_mm: f64) -> f64 {
    const TENTHS_PER_MM: f64 = 10.0 * UM_PER_MM;
    ((length_mm * TENTHS_PER_MM).floor() + 1.0) / TENTHS_PER_MM
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_and_what_a_job_file_says_are_one_change() {
        let join = Mend::joining(0.03);
        assert_eq!(join.option().as_deref(), Some("--join 0.0301"));
        assert_eq!(join.assignment(), Some(("join_mm", None, "0.0301mm".into())));
        assert_eq!(join.says().to_string(), "join ends up to 30.1 µm apart");
        let layer = Mend::Purpose(MendedName::Layer("HOLES A".into()), "cut");
        assert_eq!(layer.option().as_deref(), Some("--layer \"HOLES A=cut\""));
        assert_eq!(layer.assignment(), Some(("layer", Some("HOLES A"), "cut".into())));
        assert_eq!(Mend::FinerWire.option(), None);
        assert_eq!(Mend::FinerWire.assignment(), None);
    }
}
