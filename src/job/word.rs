//! Choices by their words, as every front writes them.

/// Why a word names no choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("it is one of {}", .0.join(", "))]
#[non_exhaustive]
pub struct UnknownWord(pub(super) &'static [&'static str]);

/// A choice that is written as one of a few words.
pub trait JobWord: Copy + PartialEq + std::str::FromStr<Err = UnknownWord> + 'static {
    /// All choices, each with its word.
    const CHOICES: &'static [(&'static str, Self)];
    /// Their words.
    const WORDS: &'static [&'static str];
}

/// Makes the table of the words of a choice, and of it all that reads and writes them.
macro_rules! words {
    ($choice:ident: $($word:literal => $variant:ident),+) => {
        impl crate::job::JobWord for $choice {
            const CHOICES: &'static [(&'static str, Self)] = &[$(($word, Self::$variant)),+];
            const WORDS: &'static [&'static str] = &[$($word),+];
        }

        impl $choice {
            /// Returns its word.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word),+
                }
            }
        }

        impl std::str::FromStr for $choice {
            type Err = crate::job::UnknownWord;

            fn from_str(word: &str) -> Result<Self, Self::Err> {
                match word {
                    $($word => Ok(Self::$variant),)+
                    _ => Err(crate::job::word::UnknownWord(<Self as crate::job::JobWord>::WORDS)),
                }
            }
        }

        impl serde::Serialize for $choice {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.word())
            }
        }

        impl<'de> serde::Deserialize<'de> for $choice {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let word = String::deserialize(from)?;
                let words = <Self as crate::job::JobWord>::WORDS;
                word.parse().map_err(|_| serde::de::Error::unknown_variant(&word, words))
            }
        }
    };
}

pub(super) use words;

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fmt::Debug;

    use serde::Serialize;
    use serde::de::DeserializeOwned;

    use super::JobWord;
    use crate::job::{
        LeadShape, Nozzles, OffsetBasis, OpenSkims, Prefer, Purpose, Side, SlugPolicy, StartFrom, Stops,
        TabFace,
    };

    /// Every front reads and writes the same word as the same choice, and the schema of a job file has just these.
    fn is_one_table<T>()
    where
        T: JobWord + Serialize + DeserializeOwned + Debug + schemars::JsonSchema,
    {
        assert!(T::WORDS.len() > 1);
        for (word, choice) in T::CHOICES {
            assert_eq!(word.parse::<T>(), Ok(*choice), "{word}");
            let by_file: T = serde_json::from_value((*word).into()).expect("a word of a job file");
            assert_eq!(by_file, *choice, "{word}");
            assert_eq!(serde_json::to_value(choice).expect("a word"), *word);
        }
        assert!("no such word".parse::<T>().is_err());
        let schema = schemars::schema_for!(T).to_value().to_string();
        let written: BTreeSet<&str> = T::WORDS.iter().copied().collect();
        let of_schema: BTreeSet<&str> = schema
            .split("\"const\":\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        assert_eq!(written, of_schema, "{schema}");
    }

    #[test]
    fn each_choice_has_one_table_of_words() {
        is_one_table::<LeadShape>();
        is_one_table::<Nozzles>();
        is_one_table::<OffsetBasis>();
        is_one_table::<OpenSkims>();
        is_one_table::<Prefer>();
        is_one_table::<Purpose>();
        is_one_table::<Side>();
        is_one_table::<SlugPolicy>();
        is_one_table::<StartFrom>();
        is_one_table::<Stops>();
        is_one_table::<TabFace>();
    }

    #[test]
    fn an_unknown_word_gets_the_list() {
        let error = "front".parse::<Side>().expect_err("no side");
        assert_eq!(error.to_string(), "it is one of left, right, top, bottom");
    }
}
