use clap::Args;

use super::input::LARGEST_FILE_MB;
use super::length::length;
use crate::job::{JobFile, JobPurpose, Purpose};
use crate::units::{Unit, unit_named, unit_names};

/// How to read the drawing and what its curves are for.
#[derive(Debug, Args)]
#[command(next_help_heading = "Reading the drawing")]
pub(super) struct ReadingArgs {
    /// Unit of the drawing, whatever the drawing says
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    units: Option<Unit>,

    /// Largest deviation of the arcs that stand in for splines and ellipses [default: 0.0005]
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    fit: Option<f64>,

    /// Ends this close are joined [default: 0.001]
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    join: Option<f64>,

    /// Replace runs of short chords by arcs that stay within this
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    refit: Option<f64>,

    /// Cut these layers only; the others still bound material, but are not cut this time
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    cut_layers: Vec<String>,

    /// Leave these layers out altogether
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    ignore_layers: Vec<String>,

    /// What a layer is for: part (the material inside stays), opening (the material outside stays), cut (as the edges around say),
    /// existing, not-now, start-hole, ready-hole, blank, frame, thread, reference or ignore
    #[arg(long, value_name = "NAME=USE", value_parser = named_use)]
    layer: Vec<(String, Purpose)>,

    /// What contours are for, by the numbers that `inspect` prints, such as `3=opening` or `3,5,8-11=reference`
    #[arg(long, value_name = "N=USE", value_parser = listed_use)]
    contour: Vec<(ContourNumbers, Purpose)>,

    /// Take the first reading of every question that the drawing leaves open
    #[arg(long)]
    assume_sides: bool,

    /// What the curves of a linetype are for
    #[arg(long, value_name = "NAME=USE", value_parser = named_use)]
    linetype: Vec<(String, Purpose)>,

    /// What the curves of a colour number are for
    #[arg(long, value_name = "N=USE", value_parser = numbered_use::<i32>)]
    line_color: Vec<(i32, Purpose)>,

    /// Largest file that is read, in MB
    #[arg(long, value_name = "MB", default_value_t = LARGEST_FILE_MB)]
    pub(super) largest_file: u64,
}

impl ReadingArgs {
    /// Returns the job, overridden by the command line.
    pub(super) fn merge_into(&self, job: JobFile) -> JobFile {
        let mut job = JobFile {
            units: self.units.clone().map(|unit| unit.name.to_owned()).or(job.units),
            fit_mm: self.fit.or(job.fit_mm),
            join_mm: self.join.or(job.join_mm),
            refit_mm: self.refit.or(job.refit_mm),
            assume_sides: self.assume_sides.then_some(true).or(job.assume_sides),
            ..job
        };
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

const USES: [(&str, Purpose); 12] = [
    ("cut", Purpose::Cut),
    ("part", Purpose::Part),
    ("opening", Purpose::Opening),
    ("existing", Purpose::Existing),
    ("not-now", Purpose::NotNow),
    ("start-hole", Purpose::StartHole),
    ("ready-hole", Purpose::ReadyHole),
    ("blank", Purpose::Blank),
    ("frame", Purpose::Frame),
    ("thread", Purpose::Thread),
    ("reference", Purpose::Reference),
    ("ignore", Purpose::Ignore),
];

fn named_use(text: &str) -> Result<(String, Purpose), String> {
    let (name, purpose) = text
        .rsplit_once('=')
        .ok_or("write it as NAME=USE, such as `FRAME=ignore`")?;
    if name.is_empty() {
        return Err("the name before `=` is missing".into());
    }
    let purpose = USES.iter().find(|(word, _)| *word == purpose).ok_or_else(|| {
        let words = USES.map(|(word, _)| word).join(", ");
        format!("`{purpose}` is no use; it is one of {words}")
    })?;
    Ok((name.into(), purpose.1))
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

fn numbered_use<N: std::str::FromStr>(text: &str) -> Result<(N, Purpose), String> {
    let (name, purpose) = named_use(text)?;
    let number = name.parse().map_err(|_| format!("`{name}` is no whole number"))?;
    Ok((number, purpose))
}

fn unit(text: &str) -> Result<Unit, String> {
    unit_named(text).ok_or_else(|| {
        let names: Vec<_> = unit_names().collect();
        format!("it is one of {}", names.join(", "))
    })
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
        let listed = |text| listed_use(text).map(|(numbers, _)| numbers.0);
        assert_eq!(listed("3,5-7,1=part"), Ok(vec![3, 5, 6, 7, 1]));
        for wrong in ["=part", "3,=part", "7-5=part", "1-999999999=part", "x=part"] {
            assert!(listed(wrong).is_err(), "{wrong}");
        }
    }
}
