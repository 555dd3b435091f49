//! How the work is held and what comes free is taken away, on the command line.

use clap::Args;

use super::length::{length, size};
use crate::job::{JobFile, Side, SlugPolicy};

/// How the work is held.
#[derive(Debug, Args)]
#[command(next_help_heading = "How it is held")]
pub(super) struct WorkholdingArgs {
    /// Width and height of the blank, such as `100x60`, about the middle of the drawing
    #[arg(long, value_name = "WxH", value_parser = size, conflicts_with = "margin")]
    blank: Option<[f64; 2]>,

    /// The blank reaches this far beyond the drawing
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    margin: Option<f64>,

    /// The side of the blank that is clamped: left, right, top or bottom
    #[arg(long, value_name = "SIDE")]
    clamp: Option<Side>,

    /// How far the clamps reach into the blank [default: the book's]
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    clamp_depth: Option<f64>,

    /// Length of the tab that holds each piece, or `none`: a part without a tab is not skimmed [default: by its weight]
    #[arg(long, value_name = "LENGTH", value_parser = tab)]
    tabs: Option<String>,

    /// What is done with slugs: `stop` to secure and remove them, `coreless` to cut them away in rings, `book` the cheaper
    /// for small ones [default: book]
    #[arg(long, value_name = "HOW")]
    slugs: Option<SlugPolicy>,
}

impl WorkholdingArgs {
    /// Returns the job, overridden by the command line.
    pub(super) fn merge_into(&self, job: JobFile) -> JobFile {
        let given = self.blank.is_some() || self.margin.is_some();
        JobFile {
            blank_mm: if given { self.blank } else { job.blank_mm },
            margin_mm: if given { self.margin } else { job.margin_mm },
            clamp: self.clamp.or(job.clamp),
            clamp_depth_mm: self.clamp_depth.or(job.clamp_depth_mm),
            tab: self.tabs.clone().or(job.tab),
            slug: self.slugs.or(job.slug),
            ..job
        }
    }
}

fn tab(text: &str) -> Result<String, String> {
    match text {
        "none" => Ok(text.to_owned()),
        _ => length(text)
            .map(|mm| mm.to_string())
            .map_err(|reason| format!("it is `none` or a length: {reason}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_given_here_goes_first_and_a_size_drives_out_a_margin() {
        let job = JobFile {
            margin_mm: Some(5.0),
            clamp: Some(Side::Left),
            tab: Some("none".to_owned()),
            ..JobFile::default()
        };
        let given = WorkholdingArgs {
            blank: Some([100.0, 60.0]),
            margin: None,
            clamp: None,
            clamp_depth: Some(8.0),
            tabs: Some("2.5".to_owned()),
            slugs: Some(SlugPolicy::Stop),
        };
        let both = given.merge_into(job);
        assert_eq!((both.blank_mm, both.margin_mm), (Some([100.0, 60.0]), None));
        assert_eq!((both.clamp, both.clamp_depth_mm), (Some(Side::Left), Some(8.0)));
        assert_eq!(
            (both.tab.as_deref(), both.slug),
            (Some("2.5"), Some(SlugPolicy::Stop))
        );
        assert!(both.holding().is_ok());
    }
}
