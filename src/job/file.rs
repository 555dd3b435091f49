use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::{
    BlankSize, ByContour, Demand, Demands, DrawingSize, Finish, GivenName, JobFileError, LeadShape, Nozzles,
    OffsetBasis, PieceOptions, Prefer, Purpose, Reading, Side, SlugPolicy, StartFrom, StartOptions, Stops,
    TabFace, TabOptions, Tolerance, WireOptions, Workholding,
};
use crate::geometry::Point;
use crate::id::ContourId;
use crate::units::unit_named;

/// Everything that a job asks for, as kept with the order: one TOML file. What is absent is left to the book.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct JobFile {
    /// The drawing, relative to the job file.
    pub drawing: Option<String>,
    /// Name of the material.
    pub material: Option<String>,
    /// Thickness of the work, mm.
    pub thickness_mm: Option<f64>,
    /// Wire diameter, mm.
    pub wire_mm: Option<f64>,
    /// Wire kind.
    pub wire_kind: Option<String>,
    /// Machine.
    pub machine: Option<String>,
    /// How the nozzles sit.
    pub nozzles: Option<Nozzles>,
    /// What decides between plans that meet the demand.
    pub prefer: Option<Prefer>,
    /// Pieces ordered; as many as are drawn when not given.
    pub quantity: Option<usize>,
    /// Pieces cut in one load; as many as are drawn when not given.
    pub pieces_per_load: Option<usize>,
    /// Distance from the farthest feature to its pick-up, mm.
    pub pickup_mm: Option<f64>,
    /// How well the offset is known: gauged on a test piece, or as the model has it.
    pub offset: Option<OffsetBasis>,
    /// Temperature of the room from day to night, K, where it is not the book's.
    pub room_swing_k: Option<f64>,
    /// Taper asked for, degrees: not planned for, said so.
    pub taper_deg: Option<f64>,
    /// Land asked for, mm: not planned for, said so.
    pub land_mm: Option<f64>,
    /// Width and height of the blank, mm, where the drawing does not show it.
    pub blank_mm: Option<[f64; 2]>,
    /// The blank reaches this far beyond what bounds material, mm.
    pub margin_mm: Option<f64>,
    /// The side of the blank that is clamped.
    pub clamp: Option<Side>,
    /// How far the clamps reach into it, mm.
    pub clamp_depth_mm: Option<f64>,
    /// Tab of each piece: `none`, or its length in mm.
    pub tab: Option<String>,
    /// What is done with slugs.
    pub slug: Option<SlugPolicy>,
    /// What becomes of the face where the tab of a part stood.
    pub tab_face: Option<TabFace>,
    /// How the wire comes onto its path.
    pub lead: Option<LeadShape>,
    /// How far it runs past its closing point, mm.
    pub overlap_mm: Option<f64>,
    /// Middles of start holes that the drawing does not show, mm.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub start_holes_mm: Vec<[f64; 2]>,
    /// Diameter of start holes that are proposed, mm.
    pub drill_mm: Option<f64>,
    /// Where the wire comes from outside a part: from a hole, or from the edge of the blank.
    pub start: Option<StartFrom>,
    /// Full circles to be cut that are smaller across than this are start holes, mm.
    pub start_holes_under_mm: Option<f64>,
    /// Outside corners run sharp up to this many offsets from the corner of the contour.
    pub sharp_corners: Option<f64>,
    /// When the machine stops for pieces that come free.
    pub stops: Option<Stops>,
    /// Unit of the drawing, where it has to be overridden.
    pub units: Option<String>,
    /// Largest deviation of arcs that stand in for curves, mm.
    pub fit_mm: Option<f64>,
    /// Ends this close are one vertex, mm.
    pub join_mm: Option<f64>,
    /// Runs of short chords are replaced by arcs that stay within this, mm.
    pub refit_mm: Option<f64>,
    /// Layers that are cut; what is on all others is there, but not cut this time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cut_layers: Vec<String>,
    /// What the drawing leaves open is answered by the first reading of each question.
    pub assume_sides: Option<bool>,
    /// Layers that are left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ignore_layers: Vec<String>,
    /// Finish, such as `Ra 0.4`.
    pub finish: Option<String>,
    /// Tolerance, such as `25H7`.
    pub tolerance: Option<String>,
    /// Number of passes.
    pub passes: Option<usize>,
    /// Smallest inside radius that has to come out, mm.
    pub inside_radius_mm: Option<f64>,
    /// Clearance, mm per side.
    pub clearance_mm: Option<f64>,
    /// Signed shift of the wall into the material, mm.
    pub aim_mm: Option<f64>,
    /// What is asked of a layer.
    #[serde(default, rename = "layer", skip_serializing_if = "BTreeMap::is_empty")]
    pub layers: BTreeMap<String, JobPart>,
    /// What is asked of a contour, by number.
    #[serde(default, rename = "contour", skip_serializing_if = "BTreeMap::is_empty")]
    pub contours: BTreeMap<String, JobPart>,
    /// What the curves of a linetype are for.
    #[serde(default, rename = "linetype", skip_serializing_if = "BTreeMap::is_empty")]
    pub linetypes: BTreeMap<String, JobPurpose>,
    /// What the curves of a colour are for, by number.
    #[serde(default, rename = "color", skip_serializing_if = "BTreeMap::is_empty")]
    pub colors: BTreeMap<String, JobPurpose>,
    /// Names in it that are given for several drawings at once, so that one of these may be without them. No key of the
    /// file.
    #[serde(skip)]
    pub may_miss: BTreeSet<GivenName>,
    /// Largest drawing that is taken; no key of the file.
    #[serde(skip)]
    pub largest: DrawingSize,
}

/// What the curves of a linetype or colour are for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "JobUse"))]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct JobPurpose {
    /// What they are for.
    #[serde(rename = "use")]
    pub purpose: Purpose,
}

/// A layer or contour of the job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct JobPart {
    /// What it is for.
    #[serde(rename = "use")]
    pub purpose: Option<Purpose>,
    /// Whether its wire comes from a hole, or from the edge of the blank.
    pub start: Option<StartFrom>,
    /// Where its wire starts, mm.
    pub start_mm: Option<[f64; 2]>,
    /// Where the wire comes onto the path: at the point of it nearest to this, mm.
    pub entry_mm: Option<[f64; 2]>,
    /// How it comes onto it.
    pub lead: Option<LeadShape>,
    /// How far it runs past its closing point, mm.
    pub overlap_mm: Option<f64>,
    /// Tab of its piece: `none`, or its length in mm.
    pub tab: Option<String>,
    /// Where the middle of that tab stands, mm.
    pub tab_at_mm: Option<[f64; 2]>,
    /// What is done with its slug.
    pub slug: Option<SlugPolicy>,
    /// What becomes of the face where the tab of a part stood.
    pub tab_face: Option<TabFace>,
    /// Finish, such as `Ra 0.4`.
    pub finish: Option<String>,
    /// Tolerance, such as `25H7`.
    pub tolerance: Option<String>,
    /// Number of passes.
    pub passes: Option<usize>,
    /// Smallest inside radius that has to come out, mm.
    pub inside_radius_mm: Option<f64>,
    /// Clearance, mm per side.
    pub clearance_mm: Option<f64>,
    /// Signed shift of the wall into the material, mm.
    pub aim_mm: Option<f64>,
}

impl JobFile {
    /// Reads the text of a job file.
    ///
    /// # Errors
    /// Where the text is no TOML, a key is unknown, or a value cannot be understood.
    pub fn parse(text: &str) -> Result<Self, JobFileError> {
        let file: Self = toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start);
            JobFileError::Text {
                line: 1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count(),
                reason: error.message().trim().to_owned(),
            }
        })?;
        file.demands()?;
        file.uses()?;
        file.reading()?;
        file.holding()?;
        file.running()?;
        Ok(file)
    }

    /// Writes the text of this job file.
    ///
    /// # Errors
    /// Where a value cannot be written as TOML.
    pub fn to_text(&self) -> Result<String, JobFileError> {
        toml::to_string(self).map_err(|error| JobFileError::Text {
            line: 0,
            reason: error.to_string(),
        })
    }

    /// Returns the requirements of the whole job, in the words of the print.
    fn whole(&self) -> JobPart {
        JobPart {
            finish: self.finish.clone(),
            tolerance: self.tolerance.clone(),
            passes: self.passes,
            inside_radius_mm: self.inside_radius_mm,
            clearance_mm: self.clearance_mm,
            aim_mm: self.aim_mm,
            ..JobPart::default()
        }
    }

    /// Reads the requirements of the whole job, its layers and its contours.
    pub fn demands(&self) -> Result<Demands, JobFileError> {
        let mut demands = self.by_contour(&self.whole(), JobPart::read)?;
        // A part that only says what something is for asks nothing of it.
        let asks = |demand: &Demand| *demand != Demand::default();
        demands.layers.retain(|_, demand| asks(demand));
        demands.contours.retain(|_, demand| asks(demand));
        Ok(demands)
    }

    /// Returns how to read the drawing.
    pub fn reading(&self) -> Result<Reading, JobFileError> {
        let standard = Reading::default();
        let units = match &self.units {
            None => None,
            Some(name) => Some(unit_named(name).ok_or_else(|| JobFileError::Units(name.clone()))?),
        };
        Ok(Reading {
            units,
            fit_mm: self.fit_mm.unwrap_or(standard.fit_mm),
            join_mm: self.join_mm.unwrap_or(standard.join_mm),
            refit_mm: self.refit_mm.or(standard.refit_mm),
            names: self.names(),
            may_miss: self.may_miss.clone(),
            largest: self.largest,
            ..standard
        })
    }

    /// Returns how the work is held, with the options of its pieces.
    pub fn holding(&self) -> Result<Workholding, JobFileError> {
        let blank = match (self.blank_mm, self.margin_mm) {
            (None, None) => None,
            (Some(size_mm), None) => Some(BlankSize::Size(size_mm)),
            (None, Some(margin_mm)) => Some(BlankSize::Margin(margin_mm)),
            (Some(_), Some(_)) => return Err(JobFileError::BlankTwice),
        };
        let whole = JobPart {
            tab: self.tab.clone(),
            slug: self.slug,
            tab_face: self.tab_face,
            ..JobPart::default()
        };
        Ok(Workholding {
            blank,
            clamp: self.clamp,
            clamp_depth_mm: self.clamp_depth_mm,
            pieces: self.by_contour(&whole, JobPart::piece)?,
        })
    }

    /// Returns how the wire runs.
    pub fn running(&self) -> Result<WireOptions, JobFileError> {
        let point = |[x, y]: [f64; 2]| Point::new(x, y);
        let start = |part: &JobPart| StartOptions {
            at: part.start_mm.map(point),
            from: part.start,
            entry: part.entry_mm.map(point),
            lead: part.lead,
            overlap_mm: part.overlap_mm,
        };
        let whole = JobPart {
            start: self.start,
            lead: self.lead,
            overlap_mm: self.overlap_mm,
            ..JobPart::default()
        };
        Ok(WireOptions {
            sharp_corners: self.sharp_corners,
            stops: self.stops,
            drill_mm: self.drill_mm,
            holes: self.start_holes_mm.iter().copied().map(point).collect(),
            starts: self.by_contour(&whole, |part| Ok(start(part)))?,
        })
    }

    /// Reads what is given by `whole`, by the parts of the layers and by those of the contours.
    fn by_contour<T>(
        &self,
        whole: &JobPart,
        read: impl Fn(&JobPart) -> Result<T, JobFileError>,
    ) -> Result<ByContour<T>, JobFileError> {
        let all = read(whole)?;
        let of_layer = |(name, part): (&String, &JobPart)| Ok((name.clone(), read(part)?));
        Ok(ByContour {
            all,
            layers: self
                .layers
                .iter()
                .map(of_layer)
                .collect::<Result<_, JobFileError>>()?,
            contours: self.of_contours(read)?,
        })
    }

    /// Reads the parts of the contours, by their numbers. No contour has the number 0, so what is said of it concerns none; as a
    /// name it is missing in every drawing.
    pub(super) fn of_contours<T>(
        &self,
        read: impl Fn(&JobPart) -> Result<T, JobFileError>,
    ) -> Result<BTreeMap<ContourId, T>, JobFileError> {
        let mut parts = BTreeMap::new();
        for (name, part) in &self.contours {
            let number = name.parse().map_err(|_| JobFileError::Contour(name.clone()))?;
            let given = read(part)?;
            if let Some(id) = ContourId::new(number) {
                parts.insert(id, given);
            }
        }
        Ok(parts)
    }

    /// Whether the print calls for a taper or a land.
    pub fn tapered(&self) -> bool {
        let asked = |value: Option<f64>| value.is_some_and(|value| value != 0.0);
        asked(self.taper_deg) || asked(self.land_mm)
    }

    /// Refuses impossible numbers.
    pub fn validate(&self) -> Result<(), JobFileError> {
        let parts = || self.layers.values().chain(self.contours.values());
        let lengths = [
            ("inside_radius_mm", self.inside_radius_mm),
            ("clearance_mm", self.clearance_mm),
            ("pickup_mm", self.pickup_mm),
            ("room_swing_k", self.room_swing_k),
            ("fit_mm", self.fit_mm),
            ("join_mm", self.join_mm),
            ("refit_mm", self.refit_mm),
            ("blank_mm", self.blank_mm.map(|[width, _]| width)),
            ("blank_mm", self.blank_mm.map(|[_, height]| height)),
            ("margin_mm", self.margin_mm),
            ("clamp_depth_mm", self.clamp_depth_mm),
            ("start_holes_under_mm", self.start_holes_under_mm),
            ("drill_mm", self.drill_mm),
        ];
        let of_parts = parts().flat_map(|part| {
            [
                ("inside_radius_mm", part.inside_radius_mm),
                ("clearance_mm", part.clearance_mm),
            ]
        });
        let wrong = |value: f64| !(value.is_finite() && value > 0.0);
        for (key, value) in lengths.into_iter().chain(of_parts) {
            if value.is_some_and(wrong) {
                return Err(JobFileError::NotAboveZero(key));
            }
        }
        let aims = parts().map(|part| part.aim_mm).chain([self.aim_mm]);
        if aims.flatten().any(|mm| !mm.is_finite()) {
            return Err(JobFileError::NotFinite("aim_mm"));
        }
        for part in parts() {
            let places = [
                ("tab_at_mm", part.tab_at_mm),
                ("start_mm", part.start_mm),
                ("entry_mm", part.entry_mm),
            ];
            for (key, place) in places {
                if place.is_some_and(|place| place.iter().any(|mm| !mm.is_finite())) {
                    return Err(JobFileError::NotFinite(key));
                }
            }
        }
        if self.start_holes_mm.iter().flatten().any(|mm| !mm.is_finite()) {
            return Err(JobFileError::NotFinite("start_holes_mm"));
        }
        let overlaps = parts().map(|part| part.overlap_mm).chain([self.overlap_mm]);
        if overlaps.flatten().any(|mm| !(mm.is_finite() && mm >= 0.0)) {
            return Err(JobFileError::Overlap);
        }
        if let Some(limit) = self
            .sharp_corners
            .filter(|limit| !(limit.is_finite() && *limit >= 1.0))
        {
            return Err(JobFileError::SharpCorners(limit));
        }
        let counts = [
            ("quantity", self.quantity),
            ("pieces_per_load", self.pieces_per_load),
        ];
        for (key, count) in counts {
            if count == Some(0) {
                return Err(JobFileError::NotAboveZero(key));
            }
        }
        self.within_limits()
    }
}

impl JobPart {
    /// Returns the options of its piece.
    fn piece(&self) -> Result<PieceOptions, JobFileError> {
        let length =
            |text: &String| TabOptions::length_of(text).ok_or_else(|| JobFileError::Tab(text.clone()));
        Ok(PieceOptions {
            tab: TabOptions {
                length_mm: self.tab.as_ref().map(length).transpose()?,
                at: self.tab_at_mm.map(|[x, y]| Point::new(x, y)),
            },
            slug: self.slug,
            face: self.tab_face,
        })
    }

    fn read(&self) -> Result<Demand, JobFileError> {
        Ok(Demand {
            finish: self.finish.as_deref().map(Finish::parse).transpose()?,
            tolerance: self.tolerance.as_deref().map(Tolerance::parse).transpose()?,
            passes: self.passes,
            inside_radius_mm: self.inside_radius_mm,
            clearance_mm: self.clearance_mm,
            aim_mm: self.aim_mm,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
drawing = "hand-die.dxf"
material = "tool-steel"
thickness_mm = 30
finish = "Ra 1.6"
prefer = "cost"
quantity = 4
cut_layers = ["DIE", "OUTLINE"]
ignore_layers = ["FRAME"]

[layer.DIE]
use = "cut"
finish = "N5"
tolerance = "25H7"

[contour.3]
passes = 1
start_mm = [4.0, 2.5]

[linetype.CENTER]
use = "reference"

[color.3]
use = "ignore"
"#;

    #[test]
    fn a_job_comes_back_as_it_was_kept() {
        let job = JobFile::parse(TEXT).expect("sound");
        assert_eq!(JobFile::parse(&job.to_text().expect("written")), Ok(job.clone()));
        let demands = job.demands().expect("sound");
        let die = demands.on(ContourId::nth(1), "die");
        assert_eq!(die.finish.map(|finish| finish.ra_um), Some(0.4));
        assert_eq!(demands.on(ContourId::nth(3), "0").passes, Some(1));
        assert_eq!(
            demands
                .on(ContourId::nth(2), "0")
                .finish
                .map(|finish| finish.ra_um),
            Some(1.6)
        );
        let uses = job.uses().expect("sound");
        assert_eq!(uses.layers.get("frame"), Some(&Purpose::Ignore));
        assert_eq!(uses.linetypes.get("center"), Some(&Purpose::Reference));
        assert_eq!(uses.colors.get(&3), Some(&Purpose::Ignore));
        assert_eq!(
            (job.prefer, job.contours["3"].start_mm),
            (Some(Prefer::Cost), Some([4.0, 2.5]))
        );
    }

    #[test]
    fn flaws_are_told_with_their_line() {
        let line = |text: &str| match JobFile::parse(text) {
            Err(JobFileError::Text { line, .. }) => line,
            other => panic!("{other:?}"),
        };
        assert_eq!(line("material = \"tool-steel\"\nthickness_mm = \"thick\"\n"), 2);
        assert_eq!(line("\n\nmaterial = \n"), 3);
        assert_eq!(line("material = \"x\"\nfinish = 3\n"), 2);
        assert_eq!(line("material = \"x\"\n[layer.A]\n\nstart_mm = 3\n"), 4);
        assert!(matches!(
            JobFile::parse("thickness = 3"),
            Err(JobFileError::Text { .. })
        ));
        assert!(matches!(
            JobFile::parse("finish = \"Rz 4\""),
            Err(JobFileError::Demand(_))
        ));
        assert!(matches!(
            JobFile::parse("[contour.a]\npasses = 1"),
            Err(JobFileError::Contour(_))
        ));
        assert!(matches!(
            JobFile::parse("[color.red]\nuse = \"ignore\""),
            Err(JobFileError::Color(_))
        ));
        assert!(matches!(
            JobFile::parse("[layer.A]\ndepth = 1"),
            Err(JobFileError::Text { .. })
        ));
    }
}
