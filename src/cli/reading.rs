use clap::{Args, ValueHint};

use super::input::LARGEST_FILE_MB;
use super::job_keys::{KeyOptions, heading};
use crate::job::{JobFile, JobPurpose, KeyGroup, Purpose};

/// How to read the drawing and what its curves are for.
#[derive(Debug, Args)]
#[command(next_help_heading = heading(KeyGroup::Drawing))]
pub(super) struct ReadingArgs {
    /// What a layer is for, such as `DIE=opening`
    ///
    /// part: cut, and the material inside stays; opening: cut, and the material outside stays; cut: as the edges around say; slit: an open
    /// line, the wire runs on it and material stays on both sides; trim: an open line that cuts off what lies on one side of it (which stays: `--keep`). Not
    /// cut: existing, not-now, start-hole, ready-hole, blank, frame, thread, reference, ignore
    #[arg(short, long, value_name = "NAME=USE", value_parser = named_use, value_hint = ValueHint::Other)]
    layer: Vec<(String, Purpose)>,

    /// What contours are for, by the numbers that `inspect` prints, such as `3,5,8-11=part`
    #[arg(short, long, value_name = "N=USE", value_parser = listed_use, value_hint = ValueHint::Other)]
    contour: Vec<(ContourNumbers, Purpose)>,

    /// A place on the side of a trim that stays, mm, by its contour's number, such as `3=12.5,40`
    #[arg(long, value_name = "N=X,Y", value_parser = kept_place, value_hint = ValueHint::Other, hide_short_help = true)]
    keep: Vec<(usize, [f64; 2])>,

    #[command(flatten)]
    keys: KeyOptions<true>,

    /// Cut these layers only; the others still bound material, but are not cut this time
    #[arg(long, value_name = "NAMES", value_delimiter = ',', value_hint = ValueHint::Other, hide_short_help = true)]
    cut_layers: Vec<String>,

    /// Leave these layers out altogether
    #[arg(long, value_name = "NAMES", value_delimiter = ',', value_hint = ValueHint::Other, hide_short_help = true)]
    ignore_layers: Vec<String>,

    /// What the curves of a linetype are for
    #[arg(long, value_name = "NAME=USE", value_parser = named_use, value_hint = ValueHint::Other, hide_short_help = true)]
    linetype: Vec<(String, Purpose)>,

    /// What the curves of a colour number are for
    #[arg(long, value_name = "N=USE", value_parser = numbered_use::<i32>, value_hint = ValueHint::Other, hide_short_help = true)]
    line_color: Vec<(i32, Purpose)>,

    /// Largest file that is read, in MB
    #[arg(long, value_name = "MB", default_value_t = LARGEST_FILE_MB, value_hint = ValueHint::Other, hide_short_help = true)]
    pub(super) largest_file: u64,
}

impl ReadingArgs {
    /// Returns the option by which a key is given, if it is.
    pub(super) fn option_of(&self, key: &str) -> Option<&'static str> {
        self.keys.option_of(key)
    }

    /// Returns the job, overridden by the command line.
    pub(super) fn merge_into(&self, job: JobFile) -> JobFile {
        let mut job = self.keys.merge_into(job);
        job.cut_layers.extend(self.cut_layers.iter().cloned());
        let ignored = self.ignore_layers.iter().map(|name| (name, Purpose::Ignore));
        for (name, purpose) in ignored.chain(self.layer.iter().map(|(name, purpose)| (name, *purpose))) {
            // The job file may write the layer in another case.
            job.ignore_layers
                .retain(|other| other.to_lowercase() != name.to_lowercase());
            for (other, part) in &mut job.layers {
                if other.to_lowercase() == name.to_lowercase() {
                    part.purpose = None;
                }
            }
            job.layers.entry(name.clone()).or_default().purpose = Some(purpose);
        }
        let numbered = self.contour.iter();
        for (number, purpose) in
            numbered.flat_map(|(numbers, purpose)| numbers.0.iter().map(move |n| (n, purpose)))
        {
            job.contours.entry(number.to_string()).or_default().purpose = Some(*purpose);
        }
        for (number, place) in &self.keep {
            job.contours.entry(number.to_string()).or_default().keep = Some(*place);
        }
        for (name, purpose) in &self.linetype {
            job.linetypes
                .retain(|other, _| other.to_lowercase() != name.to_lowercase());
            job.linetypes
                .insert(name.clone(), JobPurpose { purpose: *purpose });
        }
        for (number, purpose) in &self.line_color {
            job.colors
                .insert(number.to_string(), JobPurpose { purpose: *purpose });
        }
        job
    }
}

fn named_use(text: &str) -> Result<(String, Purpose), String> {
    let (name, purpose) = text
        .rsplit_once('=')
        .ok_or("write it as NAME=USE, such as `FRAME=ignore`")?;
    if name.is_empty() {
        return Err("the name before `=` is missing".into());
    }
    let read = purpose
        .parse()
        .map_err(|error| format!("`{purpose}` is no use; {error}"))?;
    Ok((name.into(), read))
}

/// The numbers of some contours.
#[derive(Clone, Debug)]
struct ContourNumbers(Vec<usize>);

fn listed_use(text: &str) -> Result<(ContourNumbers, Purpose), String> {
    /// More than this are no list that somebody wrote.
    const MOST: usize = 100_000;
    let (list, purpose) = named_use(text)?;
    let number = |name: &str| {
        name.trim()
            .parse::<usize>()
            .map_err(|_| format!("`{name}` is no whole number"))
    };
    let mut numbers = Vec::new();
    for item in list.split(',') {
        let (first, last) = match item.split_once('-') {
            Some((first, last)) => (number(first)?, number(last)?),
            None => (number(item)?, number(item)?),
        };
        if last < first || last - first >= MOST {
            return Err(format!("`{item}` is no range of contours"));
        }
        numbers.extend(first..=last);
    }
    Ok((ContourNumbers(numbers), purpose))
}

fn kept_place(text: &str) -> Result<(usize, [f64; 2]), String> {
    let wrong = || format!("`{text}`: write it as N=X,Y, such as `3=12.5,40`");
    let (number, place) = text.split_once('=').ok_or_else(wrong)?;
    let (x, y) = place.split_once(',').ok_or_else(wrong)?;
    let coordinate = |text: &str| text.trim().parse().ok().filter(|mm: &f64| mm.is_finite());
    match (number.trim().parse(), coordinate(x), coordinate(y)) {
        (Ok(number), Some(x), Some(y)) => Ok((number, [x, y])),
        _ => Err(wrong()),
    }
}

fn numbered_use<N: std::str::FromStr>(text: &str) -> Result<(N, Purpose), String> {
    let (name, purpose) = named_use(text)?;
    let number = name.parse().map_err(|_| format!("`{name}` is no whole number"))?;
    Ok((number, purpose))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layer_name_may_hold_an_equals_sign() {
        assert_eq!(named_use("a=b=cut"), Ok(("a=b".into(), Purpose::Cut)));
        assert!(named_use("cut").is_err());
        assert!(named_use("=cut").is_err());
        assert!(numbered_use::<i32>("x=cut").is_err());
        assert_eq!(kept_place("3=12.5,-40"), Ok((3, [12.5, -40.0])));
        for wrong in ["3", "x=1,2", "3=1", "3=1,nan", "3=1,2,3"] {
            assert!(kept_place(wrong).is_err(), "{wrong}");
        }
        let listed = |text| listed_use(text).map(|(numbers, _)| numbers.0);
        assert_eq!(listed("3,5-7,1=part"), Ok(vec![3, 5, 6, 7, 1]));
        for wrong in ["=part", "3,=part", "7-5=part", "1-999999999=part", "x=part"] {
            assert!(listed(wrong).is_err(), "{wrong}");
        }
    }
}
