//! Lists that are made while they are written: a large plan has millions of rows, and is there once already.

use serde::{Serialize, Serializer};

/// The rows that `make` makes of something, one after the other.
pub(super) struct Rows<'a, T, R> {
    of: &'a T,
    make: fn(&'a T) -> Box<dyn Iterator<Item = R> + 'a>,
}

impl<'a, T, R> Rows<'a, T, R> {
    pub(super) const fn new(of: &'a T, make: fn(&'a T) -> Box<dyn Iterator<Item = R> + 'a>) -> Self {
        Self { of, make }
    }

    /// No rows.
    pub(super) fn none(of: &'a T) -> Self
    where
        R: 'a,
    {
        Self::new(of, |_| Box::new(std::iter::empty()))
    }
}

impl<T, R: Serialize> Serialize for Rows<'_, T, R> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq((self.make)(self.of))
    }
}

#[cfg(test)]
mod schema {
    use std::borrow::Cow;

    use schemars::{JsonSchema, Schema, SchemaGenerator};

    use super::Rows;

    // A list like any other to who reads it.
    impl<T, R: JsonSchema> JsonSchema for Rows<'_, T, R> {
        fn inline_schema() -> bool {
            true
        }

        fn schema_name() -> Cow<'static, str> {
            Vec::<R>::schema_name()
        }

        fn json_schema(generator: &mut SchemaGenerator) -> Schema {
            Vec::<R>::json_schema(generator)
        }
    }
}
