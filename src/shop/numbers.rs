//! Tables of numbers of the book.

/// Declares a table of numbers of the book together with its reader, so that name, limit and doc stand once.
macro_rules! numbers {
    ($(#[$meta:meta])* $name:ident { $($(#[$doc:meta])* $field:ident : $key:literal $limit:ident),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq)]
        #[non_exhaustive]
        pub struct $name {
            $($(#[$doc])* pub $field: Number,)+
        }

        impl $name {
            pub(super) fn read(entry: &Entry<'_, '_>, old: Option<&Self>) -> Option<Self> {
                $(let $field = entry.number($key, old.map(|o| &o.$field), Limit::$limit);)+
                entry.finish();
                Some(Self { $($field: $field?,)+ })
            }

            /// Its numbers by the names they have in the book.
            pub fn numbers(&self) -> Vec<(&'static str, &Number)> {
                vec![$(($key, &self.$field),)+]
            }
        }
    };
}
pub(super) use numbers;
