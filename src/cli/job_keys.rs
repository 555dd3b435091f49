//! The keys of a job as options: each of them is made of its line in the table of keys.

use std::ffi::OsStr;

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Arg, ArgAction, ArgMatches, Args, Command, Error, FromArgMatches, ValueHint};

use super::old_names::old_name;
use crate::job::{Asked, JobFile, Key, KeyGroup};

/// More words than so many do not stand in the help.
const MOST_WORDS_SHOWN: usize = 5;

/// Keys of a job as the command line gives them: those that say how the drawing is read, or all others.
#[derive(Clone, Debug, Default)]
pub(super) struct KeyOptions<const READING: bool>(GivenKeys<JobFile>);

/// Keys with their values as the command line gives them. Each value was read when the line was.
#[derive(Clone, Debug)]
pub(super) struct GivenKeys<J: 'static>(pub(super) Vec<(&'static Key<J>, String)>);

impl<J> Default for GivenKeys<J> {
    /// None.
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<J> GivenKeys<J> {
    /// Lays them over a job, or over a part of one.
    pub(super) fn merge_into(&self, job: &mut J) {
        for (key, text) in &self.0 {
            key.set(job, text).expect("it was read when the command line was");
        }
    }
}

/// What stands above the options of a group.
pub(super) const fn heading(group: KeyGroup) -> &'static str {
    match group {
        KeyGroup::Job => "Job",
        KeyGroup::Shop => "Material and shop",
        KeyGroup::Holding => "Holding",
        KeyGroup::Wire => "Wire",
        KeyGroup::Drawing => "Drawing",
    }
}

/// Above the options that say what is printed and written.
pub(super) const OUTPUT: &str = "Output";

impl<const READING: bool> KeyOptions<READING> {
    fn keys() -> Vec<&'static Key<JobFile>> {
        let mut keys: Vec<_> = JobFile::KEYS.iter().collect();
        keys.retain(|key| (key.group == KeyGroup::Drawing) == READING);
        keys.sort_by_key(|key| (key.group, key.asked != Asked::Often));
        keys
    }

    /// Returns the job, overridden by the command line.
    pub(super) fn merge_into(&self, mut job: JobFile) -> JobFile {
        // A size of the blank drives out a margin, and the other way round.
        if self.gives("blank_mm") || self.gives("margin_mm") {
            (job.blank_mm, job.margin_mm) = (None, None);
        }
        self.0.merge_into(&mut job);
        job
    }

    /// Returns the option by which a key is given, if it is.
    pub(super) fn option_of(&self, key: &str) -> Option<&'static str> {
        let given = self.0.0.iter().find(|(given, _)| given.key == key);
        given.map(|(given, _)| given.option)
    }

    fn gives(&self, key: &str) -> bool {
        self.option_of(key).is_some()
    }
}

impl<const READING: bool> Args for KeyOptions<READING> {
    fn augment_args(command: Command) -> Command {
        command.args(Self::keys().into_iter().map(option))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl<const READING: bool> FromArgMatches for KeyOptions<READING> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        let given = |key: &'static Key<JobFile>| {
            let text = if key.value_name.is_empty() {
                matches.get_flag(key.key).then(|| true.to_string())
            } else {
                matches.get_one::<String>(key.key).cloned()
            };
            text.map(|text| (key, text))
        };
        Ok(Self(GivenKeys(
            Self::keys().into_iter().filter_map(given).collect(),
        )))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

fn option(key: &'static Key<JobFile>) -> Arg {
    let option = Arg::new(key.key)
        .long(key.option)
        .help(key.help)
        .help_heading(heading(key.group))
        .hide_short_help(key.asked == Asked::Seldom)
        .hide(key.asked == Asked::NotYet)
        // More than fit on a line; completions offer them all the same.
        .hide_possible_values((key.words)().len() > MOST_WORDS_SHOWN);
    let option = match key.short {
        Some(short) => option.short(short),
        None => option,
    };
    let option = match old_name(key.option) {
        Some(old) => option.alias(old),
        None => option,
    };
    let option = match key.key {
        "blank_mm" => option.conflicts_with("margin_mm"),
        _ => option,
    };
    if key.value_name.is_empty() {
        return option.action(ArgAction::SetTrue);
    }
    let signed_text = matches!(key.key, "aim_mm" | "tolerance");
    option
        .value_name(key.value_name)
        .value_hint(ValueHint::Other)
        .allow_negative_numbers(!key.is_text())
        .allow_hyphen_values(signed_text)
        .value_parser(ValueOf(key))
}

/// Reads the value of a key, and keeps its text.
#[derive(Clone)]
struct ValueOf(&'static Key<JobFile>);

impl TypedValueParser for ValueOf {
    type Value = String;

    fn parse_ref(&self, command: &Command, arg: Option<&Arg>, value: &OsStr) -> Result<String, Error> {
        let key = self.0;
        let read = move |text: String| key.set(&mut JobFile::default(), &text).map(|()| text);
        StringValueParser::new()
            .try_map(read)
            .parse_ref(command, arg, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        let words = (self.0.words)();
        (!words.is_empty()).then(|| Box::new(words.into_iter().map(PossibleValue::new)) as Box<_>)
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;
    use crate::job::Side;

    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        asked: KeyOptions<false>,
        #[command(flatten)]
        reading: KeyOptions<true>,
    }

    fn job(line: &str, job: JobFile) -> JobFile {
        let line = Line::try_parse_from(line.split(' ')).expect("a sound line");
        line.reading.merge_into(line.asked.merge_into(job))
    }

    #[test]
    fn what_is_given_here_goes_first_and_a_size_drives_out_a_margin() {
        let of_file = JobFile {
            margin_mm: Some(5.0),
            clamp: Some(Side::Left),
            tab: Some("none".to_owned()),
            passes: Some(2),
            ..JobFile::default()
        };
        let both = job(
            "k --blank 100x60 --clamp-depth 8 --tabs 2.5mm -p 4 --assume-sides",
            of_file,
        );
        assert_eq!((both.blank_mm, both.margin_mm), (Some([100.0, 60.0]), None));
        assert_eq!((both.clamp, both.clamp_depth_mm), (Some(Side::Left), Some(8.0)));
        assert_eq!((both.tab.as_deref(), both.passes), (Some("2.5"), Some(4)));
        assert_eq!(both.assume_sides, Some(true));
    }

    #[test]
    fn every_key_can_be_given_and_its_old_name_too() {
        let both = job(
            "k --units in --offset modelled --aim -0.0005in --thickness=-1",
            JobFile::default(),
        );
        assert_eq!(
            (both.units.as_deref(), both.thickness_mm),
            (Some("inch"), Some(-1.0))
        );
        assert_eq!(both.aim_mm, Some(-0.0127));
        let wrong = [
            "--clamp front",
            "--quantity x",
            "--blank 3",
            "--room-swing -1",
            "--sharp-corners 0.5",
        ];
        for line in wrong {
            assert!(
                Line::try_parse_from(format!("k {line}").split(' ')).is_err(),
                "{line}"
            );
        }
    }
}
