use crate::job::{JobFile, Nozzles};
use crate::message::{Message, message, mm, of_unit};
use crate::shop::{Book, Machine, MachineError, Material, MaterialError, Wire, WireError};

/// A request for passes.
#[derive(Clone, Debug, PartialEq)]
pub struct PassRequest {
    /// Name or alias of the material.
    pub material: String,
    /// Thickness of the work, mm.
    pub thickness_mm: f64,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind; the book's default when `None`.
    pub wire_kind: Option<String>,
    /// Number of passes.
    pub passes: usize,
    /// Signed shift of the finished wall into the material, mm.
    pub aim_mm: f64,
    /// How the nozzles sit.
    pub nozzles: Nozzles,
    /// Machine; the book's default when `None`.
    pub machine: Option<String>,
    /// The last pass that is run, where the later ones are left for another time; all when `None`.
    pub stop_after: Option<usize>,
}

/// Why there are no passes for a request.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", self.message())]
#[non_exhaustive]
pub enum Error {
    /// See [`MaterialError`].
    #[error(transparent)]
    Material(#[from] MaterialError),
    /// See [`WireError`].
    #[error(transparent)]
    Wire(#[from] WireError),
    /// See [`MachineError`].
    #[error(transparent)]
    Machine(#[from] MachineError),
    /// The thickness is no length.
    Thickness(f64),
    /// The wire does not cut that thick.
    TooThick {
        /// As given, mm.
        thickness_mm: f64,
        /// Wire, mm.
        wire_mm: f64,
        /// Its limit, mm.
        thickest_mm: f64,
    },
    /// No recipe of that many passes.
    Passes {
        /// As given.
        asked: usize,
        /// Most that the book has.
        most: usize,
    },
    /// The aim is no length, or larger either way than the offset itself (micrometres given for millimetres?).
    Aim {
        /// As given, mm.
        aim_mm: f64,
        /// Offset of the last pass without aim, mm.
        limit_mm: f64,
    },
}

impl Error {
    /// Says it.
    pub fn message(&self) -> Message {
        match *self {
            Self::Material(ref error) => error.to_string().into(),
            Self::Wire(ref error) => error.message(),
            Self::Machine(ref error) => error.to_string().into(),
            Self::Thickness(thickness_mm) => message!(
                "a thickness of {}: it has to be a number of millimetres above 0",
                mm(thickness_mm)
            ),
            Self::TooThick {
                thickness_mm,
                wire_mm,
                thickest_mm,
            } => message!(
                "{} is too thick for {} wire, which cuts up to {}; take a thicker wire or put the limit of your machine in \
                 the book",
                mm(thickness_mm),
                mm(wire_mm),
                mm(thickest_mm)
            ),
            Self::Passes { asked, most } => {
                message!("{} passes: the book has recipes of 1 to {} passes", asked, most)
            }
            Self::Aim { aim_mm, limit_mm } => message!(
                "an aim of {} a wall: it has to be a number of millimetres smaller than {}, the offset of the last pass",
                mm(aim_mm),
                of_unit(limit_mm, "").fixed(4)
            ),
        }
    }

    /// Returns the key of a job whose value is refused.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Material(_) => "material",
            Self::Wire(WireError::Kind { .. }) => "wire_kind",
            Self::Wire(WireError::Size { .. } | WireError::NotMade { .. }) => "wire_mm",
            Self::Machine(_) => "machine",
            Self::Thickness(_) | Self::TooThick { .. } => "thickness_mm",
            Self::Passes { .. } => "passes",
            Self::Aim { .. } => "aim_mm",
        }
    }
}

/// The entries of the book for a request.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Setting<'a> {
    /// The material.
    pub material: &'a Material,
    /// The wire.
    pub wire: Wire<'a>,
    /// The machine.
    pub machine: &'a Machine,
}

impl PassRequest {
    /// Makes a request with sealed nozzles, the default wire kind and machine, and no aim.
    pub fn new(material: impl Into<String>, thickness_mm: f64, wire_mm: f64, passes: usize) -> Self {
        Self {
            material: material.into(),
            thickness_mm,
            wire_mm,
            wire_kind: None,
            passes,
            aim_mm: 0.0,
            nozzles: Nozzles::default(),
            machine: None,
            stop_after: None,
        }
    }

    /// Returns the job that asks for these passes and nothing else.
    pub fn job(&self) -> JobFile {
        JobFile {
            wire_mm: Some(self.wire_mm),
            wire_kind: self.wire_kind.clone(),
            machine: self.machine.clone(),
            nozzles: Some(self.nozzles),
            passes: Some(self.passes),
            aim_mm: Some(self.aim_mm),
            ..JobFile::new(&self.material, self.thickness_mm)
        }
    }

    /// Looks up every entry and checks it against the limits of the book.
    pub fn setting<'a>(&self, book: &'a Book) -> Result<Setting<'a>, Error> {
        let material = book.material(&self.material)?;
        if !(self.thickness_mm.is_finite() && self.thickness_mm > 0.0) {
            return Err(Error::Thickness(self.thickness_mm));
        }
        let wire = book.wire(self.wire_mm, self.wire_kind.as_deref().unwrap_or(&book.wire.kind))?;
        let thickest_mm = wire.size.thickest_mm.value();
        if self.thickness_mm > thickest_mm {
            return Err(Error::TooThick {
                thickness_mm: self.thickness_mm,
                wire_mm: wire.size.diameter_mm,
                thickest_mm,
            });
        }
        let most = book.most_passes();
        if !(1..=most).contains(&self.passes) {
            return Err(Error::Passes {
                asked: self.passes,
                most,
            });
        }
        let machine = book.machine(self.machine.as_deref())?;
        Ok(Setting {
            material,
            wire,
            machine,
        })
    }
}
