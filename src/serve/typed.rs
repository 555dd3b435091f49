//! Puts what was typed on the page into a job, as the command line does, and says what was understood.

use std::collections::BTreeMap;

use super::refusal::RequestRefusal;
use crate::job::{Finish, JobFile, Key, length};
use crate::message::{message, mm, roughness_um};
use crate::report::Lengths;

/// What was understood, by key.
pub(super) type Understood = BTreeMap<&'static str, String>;

/// Sets the keys of a job to what was typed for them. A length without a unit is in the unit that is shown.
pub(super) fn set_typed(
    job: &mut JobFile,
    typed: &BTreeMap<String, String>,
    lengths: Lengths,
) -> Result<(), RequestRefusal> {
    for (name, text) in typed {
        let key = key_named(name)
            .ok_or_else(|| RequestRefusal::new("job", format!("a job has no key {name}"), ""))?;
        let in_inches = lengths == Lengths::Inch && is_length(key) && length::has_no_unit(text);
        let text = if in_inches {
            format!("{text}in")
        } else {
            text.clone()
        };
        key.set(job, text.trim()).map_err(|reason| {
            RequestRefusal::new(
                key.key,
                format!("“{}” is not understood: {reason}", shortened(&text)),
                "",
            )
        })?;
    }
    Ok(())
}

/// Says what was understood of what was typed, by key, in the unit that is shown.
pub(super) fn understood(job: &JobFile, typed: &BTreeMap<String, String>, lengths: Lengths) -> Understood {
    let values = serde_json::to_value(job).unwrap_or_default();
    let keys = typed.keys().filter_map(|name| key_named(name));
    keys.filter_map(|key| {
        let value = &values[key.key];
        let says = match (key.key, value.as_f64()) {
            ("finish", _) => Finish::parse(value.as_str()?)
                .ok()
                .map(|finish| message!("Ra {}", roughness_um(finish.ra_um).at_most(3)))?,
            (_, Some(length_mm)) if is_length(key) => message!("{}", mm(length_mm).at_most(5)),
            _ => return None,
        };
        Some((key.key, says.shown(lengths)))
    })
    .collect()
}

fn key_named(name: &str) -> Option<&'static Key<JobFile>> {
    JobFile::KEYS.iter().find(|key| key.key == name)
}

fn is_length(key: &Key<JobFile>) -> bool {
    key.without_unit().is_some()
}

/// Shortens what was typed to what a sentence can hold.
fn shortened(text: &str) -> String {
    const LONGEST: usize = 40;
    match text.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job_of(
        typed: &[(&str, &str)],
        lengths: Lengths,
    ) -> Result<(JobFile, Understood), (&'static str, String)> {
        let typed = typed
            .iter()
            .map(|(key, text)| ((*key).to_owned(), (*text).to_owned()))
            .collect();
        let mut job = JobFile::default();
        set_typed(&mut job, &typed, lengths)
            .map_err(|refused| (refused.reason().about, refused.reason().sentence.clone()))?;
        let understood = understood(&job, &typed, lengths);
        Ok((job, understood))
    }

    /// 1 in = 25.4 mm exactly: NIST Special Publication 811 (2008), appendix B. N5 is Ra 0.4 µm: ISO 1302:1978, as in `units::roughness`.
    #[test]
    fn lengths_are_read_as_on_the_command_line_and_said_back() {
        for (text, lengths, thickness_mm, says) in [
            ("3,5", Lengths::Mm, 3.5, "3.5 mm"),
            ("0.5in", Lengths::Mm, 12.7, "12.7 mm"),
            ("10thou", Lengths::Mm, 0.254, "0.254 mm"),
            ("1/2 in", Lengths::Mm, 12.7, "12.7 mm"),
            ("0.5", Lengths::Inch, 12.7, "0.5 in"),
            ("12.7 mm", Lengths::Inch, 12.7, "0.5 in"),
        ] {
            let (job, understood) = job_of(&[("thickness_mm", text)], lengths).expect("a length");
            assert_eq!(job.thickness_mm, Some(thickness_mm), "{text}");
            assert_eq!(understood["thickness_mm"], says, "{text}");
        }
        let (_, understood) = job_of(&[("finish", "N5")], Lengths::Mm).expect("a finish");
        assert_eq!(understood["finish"], "Ra 0.4 µm");
    }

    #[test]
    fn what_is_not_understood_is_told_of_its_key() {
        for (key, text) in [
            ("thickness_mm", "thick"),
            ("thickness_mm", "1,250"),
            ("quantity", "-3"),
            ("quantity", "2.5"),
            ("room_swing_k", "warm"),
        ] {
            let (about, sentence) = job_of(&[(key, text)], Lengths::Mm).expect_err("it is none");
            assert_eq!(about, key, "{text}");
            assert!(sentence.contains(text), "{sentence}");
        }
        let (about, _) = job_of(&[("no_such_key", "1")], Lengths::Mm).expect_err("there is none");
        assert_eq!(about, "job");
    }
}
