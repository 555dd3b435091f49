//! Options of holding the work and of removing what drops.

use super::word::words;
use super::{ByContour, FillFrom};
use crate::geometry::{Point, Vector};
use crate::tolerance::{LONGEST_GIVEN_MM, SHORTEST_GIVEN_MM};

/// A side of the blank, as drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[non_exhaustive]
pub enum Side {
    /// Towards lesser x.
    Left,
    /// Towards greater x.
    Right,
    /// Towards greater y.
    Top,
    /// Towards lesser y.
    Bottom,
}

words!(Side: "left" => Left, "right" => Right, "top" => Top, "bottom" => Bottom);

impl Side {
    /// Returns the unit direction from the middle of the blank.
    pub const fn direction(self) -> Vector {
        let (x, y) = match self {
            Self::Left => (-1.0, 0.0),
            Self::Right => (1.0, 0.0),
            Self::Top => (0.0, 1.0),
            Self::Bottom => (0.0, -1.0),
        };
        Vector { x, y }
    }
}

/// How large the blank is, where the drawing does not show it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum BlankSize {
    /// Width and height, mm, about the middle of all that bounds material.
    Size([f64; 2]),
    /// This much beyond all that bounds material, mm.
    Margin(f64),
}

/// What is done with a slug.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(
    test,
    derive(schemars::JsonSchema),
    schemars(rename = "SlugAsk", rename_all = "kebab-case")
)]
#[non_exhaustive]
pub enum SlugPolicy {
    /// The cheaper of both for a small one, coreless for one that nothing holds; else a stop.
    #[default]
    Book,
    /// The machine stops; it is secured, cut free and removed.
    Stop,
    /// It is cleared away.
    Coreless,
}

words!(SlugPolicy: "book" => Book, "stop" => Stop, "coreless" => Coreless);

/// What becomes of the face where the tab of a part stood.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[non_exhaustive]
pub enum TabFace {
    /// It is stoned or ground by hand.
    #[default]
    Stoned,
    /// It is skimmed: the part is said to stay clamped and grounded.
    Skimmed,
}

words!(TabFace: "stoned" => Stoned, "skimmed" => Skimmed);

/// Options of a tab.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TabOptions {
    /// Length along the contour, mm; 0: no tab. As the book makes it when `None`.
    pub length_mm: Option<f64>,
    /// Where its middle stands; chosen when `None`.
    pub at: Option<Point>,
}

impl TabOptions {
    /// Whether no tab is left.
    pub fn is_left_out(&self) -> bool {
        self.length_mm == Some(0.0)
    }

    /// Reads a length: `none`, or millimetres.
    pub fn length_of(text: &str) -> Option<f64> {
        if text == "none" {
            return Some(0.0);
        }
        let mm: Option<f64> = text.parse().ok();
        mm.filter(|mm| (SHORTEST_GIVEN_MM..=LONGEST_GIVEN_MM).contains(mm))
    }
}

/// Options of the piece of a contour; what is absent is as for the whole job.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PieceOptions {
    /// Its tab.
    pub tab: TabOptions,
    /// What is done with a slug.
    pub slug: Option<SlugPolicy>,
    /// The face of the tab.
    pub face: Option<TabFace>,
}

impl FillFrom for PieceOptions {
    fn or(&self, whole: &Self) -> Self {
        Self {
            tab: TabOptions {
                length_mm: self.tab.length_mm.or(whole.tab.length_mm),
                at: self.tab.at.or(whole.tab.at),
            },
            slug: self.slug.or(whole.slug),
            face: self.face.or(whole.face),
        }
    }
}

/// How the work is held, with the options of its pieces.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Workholding {
    /// The blank, where the drawing does not show it.
    pub blank: Option<BlankSize>,
    /// The side where it is clamped.
    pub clamp: Option<Side>,
    /// How far the clamps reach into it, mm; from the book when `None`.
    pub clamp_depth_mm: Option<f64>,
    /// Options of the pieces.
    pub pieces: ByContour<PieceOptions>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::ContourId;
    use crate::job::{JobFile, JobFileError};

    #[test]
    fn a_contour_goes_before_its_layer_and_that_before_the_whole() {
        let text = "tab = \"2.5\"\nslug = \"stop\"\nclamp = \"top\"\nmargin_mm = 4\n[layer.DIE]\nslug = \"coreless\"\n\
                    [contour.3]\ntab = \"none\"\ntab_at_mm = [1, 2]\ntab_face = \"skimmed\"\n";
        let job = JobFile::parse(text).expect("a sound job");
        assert_eq!(JobFile::parse(&job.to_text().expect("written")), Ok(job.clone()));
        let holding = job.holding().expect("a sound job");
        assert_eq!(
            (holding.blank, holding.clamp),
            (Some(BlankSize::Margin(4.0)), Some(Side::Top))
        );
        let whole = holding.pieces.on(ContourId::nth(1), "0");
        assert_eq!(
            (whole.tab.length_mm, whole.slug, whole.face),
            (Some(2.5), Some(SlugPolicy::Stop), None)
        );
        assert_eq!(
            holding.pieces.on(ContourId::nth(2), "die").slug,
            Some(SlugPolicy::Coreless)
        );
        let third = holding.pieces.on(ContourId::nth(3), "die");
        assert_eq!(
            (third.tab.length_mm, third.tab.at),
            (Some(0.0), Some(Point::new(1.0, 2.0)))
        );
        assert_eq!(
            (third.slug, third.face),
            (Some(SlugPolicy::Coreless), Some(TabFace::Skimmed))
        );
    }

    #[test]
    fn nonsense_is_refused_with_its_reason() {
        let reason = |text: &str| {
            let parsed = JobFile::parse(text).and_then(|job| job.validate().map(|()| job));
            parsed.expect_err(text).to_string()
        };
        for tab in ["", "-1", "0", "wide", "inf"] {
            let text = format!("[contour.1]\ntab = \"{tab}\"");
            assert!(
                reason(&text).contains("`none` or a length above 0 in mm"),
                "{tab}"
            );
        }
        assert!(reason("blank_mm = [10, 20]\nmargin_mm = 3").contains("the one or the other"));
        assert!(reason("blank_mm = [10, 0]").contains("blank_mm"));
        assert!(reason("clamp_depth_mm = -4").contains("clamp_depth_mm"));
        assert!(reason("[contour.1]\ntab_at_mm = [nan, 2]").contains("tab_at_mm"));
        assert!(matches!(
            JobFile::parse("clamp = \"north\""),
            Err(JobFileError::Text { .. })
        ));
    }
}
