//! Numbers of contours, demand groups, passes and paths. They are printed from 1 and index lists from 0: the step between the
//! two is taken here and nowhere else, and a number of one kind is no number of another.

use std::fmt;
use std::num::NonZeroU32;

use serde::{Deserialize, Serialize};

/// Defines a kind of number, from 1.
macro_rules! numbers {
    ($($(#[$doc:meta])+ $name:ident;)+) => {$(
        $(#[$doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(NonZeroU32);

        impl $name {
            /// The first one.
            pub const FIRST: Self = Self(NonZeroU32::MIN);

            /// Returns the one that is printed as `number`; `None` for 0, which is none, and for more than four billion.
            pub const fn new(number: usize) -> Option<Self> {
                match NonZeroU32::new(number as u32) {
                    Some(small) if small.get() as usize == number => Some(Self(small)),
                    _ => None,
                }
            }

            /// Returns the one of what stands at `index` in the list, from 0.
            pub const fn from_index(index: usize) -> Self {
                match Self::new(index.saturating_add(1)) {
                    Some(id) => id,
                    None => Self(NonZeroU32::MAX),
                }
            }

            /// Returns the one that is printed as `number`.
            #[cfg(test)]
            pub(crate) const fn nth(number: usize) -> Self {
                Self::new(number).expect("numbers begin at 1")
            }

            /// Pairs what stands in a list with its numbers.
            pub fn numbered<T>(list: impl IntoIterator<Item = T>) -> impl Iterator<Item = (Self, T)> {
                let items = list.into_iter().enumerate();
                items.map(|(index, item)| (Self::from_index(index), item))
            }

            /// Returns where in the list it stands, from 0.
            pub const fn index(self) -> usize {
                self.number() - 1
            }

            /// Returns the number as printed, from 1.
            pub const fn number(self) -> usize {
                self.0.get() as usize
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        /// As any count is described: what tells it from others is said where it stands.
        #[cfg(test)]
        impl schemars::JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }

            fn schema_name() -> std::borrow::Cow<'static, str> {
                usize::schema_name()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                usize::json_schema(generator)
            }
        }
    )+};
}

numbers! {
    /// The number of a contour, in the order of the contours' first curves in the drawing.
    ContourId;
    /// The number of a demand group: contours that are cut with the same passes.
    GroupId;
    /// The number of a pass: 1 is the rough cut, the others are skims.
    PassNo;
    /// The number of a path among all of a job, in the order in which they were computed.
    LoopId;
}

impl PassNo {
    /// Whether it is the rough cut.
    pub fn is_rough(self) -> bool {
        self == Self::FIRST
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_printed_from_1_and_indexes_from_0() {
        let list = ["a", "b", "c"];
        let third = ContourId::from_index(2);
        assert_eq!((third.to_string().as_str(), list[third.index()]), ("3", "c"));
        assert_eq!((ContourId::new(3), ContourId::new(0)), (Some(third), None));
        assert_eq!(ContourId::FIRST, ContourId::from_index(0));
        assert!(ContourId::from_index(9) > third);
        assert_eq!(format!("{third:>4}"), "   3");
    }

    #[test]
    fn it_is_a_plain_number_where_it_is_kept() {
        let json = serde_json::to_string(&(PassNo::FIRST, Some(GroupId::nth(7)))).expect("written");
        assert_eq!(json, "[1,7]");
        assert_eq!(serde_json::from_str::<LoopId>("4").ok(), Some(LoopId::nth(4)));
        assert!(serde_json::from_str::<LoopId>("0").is_err());
        assert_eq!(schemars::schema_for!(ContourId), schemars::schema_for!(usize));
    }

    #[test]
    fn none_costs_no_room() {
        assert_eq!(size_of::<Option<ContourId>>(), size_of::<u32>());
    }

    #[test]
    fn what_is_no_number_of_a_list_is_none() {
        let most = u32::MAX as usize;
        assert_eq!(ContourId::new(most).map(ContourId::number), Some(most));
        assert_eq!(
            (ContourId::new(most + 1), ContourId::new(usize::MAX)),
            (None, None)
        );
        assert_eq!(ContourId::from_index(most - 1).index(), most - 1);
    }
}
