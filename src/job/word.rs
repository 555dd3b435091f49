//! Choices by their words, as a job file and the command line write them.

/// Why a word names no choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("it is one of {}", .0.join(", "))]
#[non_exhaustive]
pub struct UnknownWord(pub(super) &'static [&'static str]);

/// Reads a choice from its word.
macro_rules! from_words {
    ($choice:ident: $($word:literal => $variant:ident),+) => {
        impl std::str::FromStr for $choice {
            type Err = crate::job::UnknownWord;

            fn from_str(word: &str) -> Result<Self, Self::Err> {
                match word {
                    $($word => Ok(Self::$variant),)+
                    _ => Err(crate::job::word::UnknownWord(&[$($word),+])),
                }
            }
        }
    };
}

pub(super) use from_words;

#[cfg(test)]
mod tests {
    use std::fmt::Debug;
    use std::str::FromStr;

    use serde::de::DeserializeOwned;

    use super::UnknownWord;
    use crate::job::{LeadShape, Nozzles, OffsetBasis, Prefer, Side, SlugPolicy, Stops};

    /// The command line and the job file read the same word as the same choice.
    fn as_in_a_job_file<T>()
    where
        T: FromStr<Err = UnknownWord> + DeserializeOwned + PartialEq + Debug,
    {
        let unknown = T::from_str("no such word").expect_err("it is none");
        assert!(unknown.0.len() > 1);
        for word in unknown.0 {
            let by_file: T = serde_json::from_value((*word).into()).expect("a word of a job file");
            assert_eq!(T::from_str(word), Ok(by_file), "{word}");
        }
    }

    #[test]
    fn words_mean_the_same_on_the_command_line_and_in_a_job_file() {
        as_in_a_job_file::<LeadShape>();
        as_in_a_job_file::<Nozzles>();
        as_in_a_job_file::<OffsetBasis>();
        as_in_a_job_file::<Prefer>();
        as_in_a_job_file::<Side>();
        as_in_a_job_file::<SlugPolicy>();
        as_in_a_job_file::<Stops>();
    }

    #[test]
    fn an_unknown_word_gets_the_list() {
        let error = Side::from_str("front").expect_err("no side");
        assert_eq!(error.to_string(), "it is one of left, right, top, bottom");
    }
}
