//! The keys of a job, each with all that a front needs to ask for it.

use super::JobFileError;

/// What a key is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum KeyGroup {
    /// What is asked of the cut.
    Job,
    /// What is cut, and what cuts it.
    Shop,
    /// How the work is held.
    Holding,
    /// How the wire runs.
    Wire,
    /// How the drawing is read.
    Drawing,
}

/// How often a key is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Asked {
    /// By everybody.
    Often,
    /// Now and then.
    Seldom,
    /// By nobody yet: it is refused.
    NotYet,
}

/// A key of a job file, or of a part of it, that is one word or number.
#[non_exhaustive]
pub struct Key<J: 'static> {
    /// As job files, the columns of tables and the page name it.
    pub key: &'static str,
    /// As the command line names it.
    pub option: &'static str,
    /// Its short form there.
    pub short: Option<char>,
    /// What it is about.
    pub group: KeyGroup,
    /// How often it is asked for.
    pub asked: Asked,
    /// What it says.
    pub help: &'static str,
    /// What stands for its value in help; empty: it is yes where it is given.
    pub value_name: &'static str,
    /// The words that it may be, where there are no others.
    pub words: fn() -> Vec<&'static str>,
    pub(super) set: fn(&mut J, &str) -> Result<(), String>,
    pub(super) check: fn(&J) -> Result<(), JobFileError>,
}

impl<J> std::fmt::Debug for Key<J> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.key)
    }
}

impl<J> Key<J> {
    /// Sets it in a job to what a text says.
    ///
    /// # Errors
    ///
    /// Says what the text would have to be.
    pub fn set(&self, job: &mut J, text: &str) -> Result<(), String> {
        (self.set)(job, text)
    }

    /// Whether its value is any text: a name, or what stands on the print.
    pub fn is_text(&self) -> bool {
        matches!(self.value_name, "NAME" | "TEXT")
    }

    /// Returns its name with a decimal unit of its own left out, as a column may be named whose cells carry a unit; `None` where it is
    /// no length.
    pub fn without_unit(&self) -> Option<&'static str> {
        self.key.strip_suffix("_mm")
    }
}

/// A value that may be absent: what its setter takes.
pub trait Absent {
    /// The value where it is there.
    type Value;
}

impl<T> Absent for Option<T> {
    type Value = T;
}

/// Makes a record of a job, the list of those of its fields that are a key, and their setters: one line each. The sentence of a key is its documentation and
/// its help.
macro_rules! keyed {
    (
        $(#[$of_all:meta])*
        pub struct $job:ident, $list:ident {
            $(
                $(#[$meta:meta])*
                $field:ident: $type:ty
                    $(= $kind:expr, $option:literal, $short:expr, $group:ident, $asked:ident, $help:literal)?
            ;)+
        }
    ) => {
        $(#[$of_all])*
        pub struct $job {
            $(
                $(#[doc = $help])?
                $(#[$meta])*
                pub $field: $type,
            )+
        }

        impl $job {
            $($(
                #[doc = concat!("Sets: ", $help)]
                pub fn $field(mut self, $field: impl Into<<$type as Absent>::Value>) -> Self {
                    self.$field = Some($field.into());
                    self
                }
            )?)+

            /// Its keys that are one word or number.
            pub const $list: &'static [Key<Self>] = &[
                $($(
                    Key {
                        key: stringify!($field),
                        option: $option,
                        short: $short,
                        group: KeyGroup::$group,
                        asked: Asked::$asked,
                        help: $help,
                        value_name: $kind.value_name,
                        words: $kind.words,
                        set: |job, text| {
                            job.$field = Some(($kind.read)(text)?);
                            Ok(())
                        },
                        check: |job| match &job.$field {
                            Some(value) => ($kind.check)(stringify!($field), value),
                            None => Ok(()),
                        },
                    },
                )?)+
            ];
        }
    };
}

pub(super) use keyed;
