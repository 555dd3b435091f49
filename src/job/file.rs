use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::key::{Absent, Asked, Key, KeyGroup, keyed};
use super::kind::{
    DEGREES, KELVINS, LAND, LENGTH, LOOKED_UP, NAME, OFFSETS, OVERLAP, PASSES, PIECES, PLACE, PRINT, READING,
    SHIFT, SIZE, TAB, UNIT, YES, one_of,
};
use super::{
    BlankSize, ByContour, Demand, Demands, DrawingSize, Finish, GivenName, JobFileError, LeadShape, Nozzles,
    OffsetBasis, OpenSkims, PieceOptions, Prefer, Purpose, Reading, Side, SlugPolicy, StartFrom,
    StartOptions, Stops, TabFace, TabOptions, Tolerance, WireOptions, Workholding,
};
use crate::geometry::Point;
use crate::id::ContourId;
use crate::units::unit_named;

keyed! {
    /// Everything that a job asks for, as kept with the order: one TOML file. What is absent is left to the book.
    #[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
    #[cfg_attr(test, derive(schemars::JsonSchema))]
    #[serde(deny_unknown_fields)]
    #[non_exhaustive]
    pub struct JobFile, KEYS {
        /// The drawing, relative to the job file.
        drawing: Option<String>;
        material: Option<String> = NAME, "material", Some('m'), Shop, Often, "Name of the material in the book";
        thickness_mm: Option<f64> = LOOKED_UP, "thickness", Some('t'), Job, Often, "Thickness of the work; any length is in mm, or has its unit behind it: `30`, `1.25in`, `10thou`, `250um`";
        wire_mm: Option<f64> = LOOKED_UP, "wire", Some('w'), Wire, Often, "Diameter of the wire [default: chosen]";
        wire_kind: Option<String> = NAME, "wire-kind", None, Wire, Seldom, "Kind of wire in the book";
        machine: Option<String> = NAME, "machine", None, Shop, Often, "Name of the machine in the book";
        nozzles: Option<Nozzles> = one_of::<Nozzles>("HOW"), "nozzles", None, Holding, Seldom, "How the nozzles sit on the work [default: sealed]";
        prefer: Option<Prefer> = one_of::<Prefer>("WHAT"), "prefer", None, Job, Often, "What decides between plans that reach all this [default: time]";
        quantity: Option<usize> = PIECES, "quantity", Some('q'), Job, Often, "Pieces ordered: equal parts of the drawing [default: as many as are drawn]";
        pieces_per_load: Option<usize> = PIECES, "pieces-per-load", None, Job, Seldom, "Pieces cut in one load [default: as many as are drawn]";
        pickup_mm: Option<f64> = LENGTH, "pickup", None, Job, Seldom, "Distance from the farthest feature to its pick-up [default: across all that is cut]";
        offset: Option<OffsetBasis> = one_of::<OffsetBasis>("HOW"), "offset-basis", None, Shop, Seldom, "How well the offset is known: gauged, by a test piece cut and measured first, or modelled [default: gauged]";
        room_swing_k: Option<f64> = KELVINS, "room-swing", None, Shop, Seldom, "How far the room swings from day to night [default: the book's]";
        taper_deg: Option<f64> = DEGREES, "taper", None, Job, NotYet, "Taper that the print asks for, degrees: refused, since its time is not the time of a straight cut";
        land_mm: Option<f64> = LAND, "land", None, Job, NotYet, "Land that the print asks for above a taper: refused likewise";
        blank_mm: Option<[f64; 2]> = SIZE, "blank", None, Holding, Often, "Width and height of the blank, such as 100x60, about the middle of the drawing";
        margin_mm: Option<f64> = LENGTH, "margin", None, Holding, Seldom, "The blank reaches this far beyond the drawing";
        clamp: Option<Side> = one_of::<Side>("SIDE"), "clamp", None, Holding, Often, "The side of the blank that is clamped";
        clamp_depth_mm: Option<f64> = LENGTH, "clamp-depth", None, Holding, Seldom, "How far the clamps reach into the blank [default: the book's]";
        tab: Option<String> = TAB, "tabs", None, Holding, Often, "Length of the tab that holds each piece, or none: a part without a tab is not skimmed [default: by its weight]";
        slug: Option<SlugPolicy> = one_of::<SlugPolicy>("HOW"), "slugs", None, Holding, Seldom, "What is done with slugs: stop to secure and remove them, coreless to cut them away in rings, book the cheaper for small ones [default: book]";
        tab_face: Option<TabFace> = one_of::<TabFace>("HOW"), "tab-face", None, Holding, Seldom, "What becomes of the face where the tab of a part stood [default: stoned]";
        lead: Option<LeadShape> = one_of::<LeadShape>("HOW"), "lead", None, Wire, Seldom, "How the wire comes onto its path; corner: at an outside one [default: straight onto a straight, by an arc onto an arc]";
        overlap_mm: Option<f64> = OVERLAP, "overlap", None, Wire, Seldom, "How far the wire runs past the closing point [default: the book's]";
        /// Middles of start holes that the drawing does not show, mm.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        start_holes_mm: Vec<[f64; 2]>;
        drill_mm: Option<f64> = LENGTH, "drill", None, Wire, Seldom, "Diameter of the start holes that are proposed [default: the book's]";
        start: Option<StartFrom> = one_of::<StartFrom>("FROM"), "start-from", None, Wire, Seldom, "Where the wire comes from outside a part: from a hole, or from the edge of the blank";
        start_holes_under_mm: Option<f64> = LENGTH, "start-holes-under", None, Wire, Seldom, "Full circles smaller across than this are start holes";
        sharp_corners: Option<f64> = OFFSETS, "sharp-corners", None, Wire, Seldom, "Run sharp round outside corners, up to this many offsets from the corner (1.42 takes in right angles) [default: rolled]";
        open_skims: Option<OpenSkims> = one_of::<OpenSkims>("HOW"), "open-skims", None, Wire, Seldom, "How the skims of slits and trims follow one another; one-way: all in the direction of the rough, with a dry return [default: to-and-fro]";
        stops: Option<Stops> = one_of::<Stops>("WHEN"), "stops", None, Wire, Seldom, "When the machine stops for pieces that drop: for all together, or for each [default: grouped where the machine threads the wire unattended]";
        units: Option<String> = UNIT, "drawing-unit", None, Drawing, Often, "Unit of the drawing, whatever the drawing says";
        fit_mm: Option<f64> = READING, "fit", None, Drawing, Seldom, "Largest deviation of the arcs that stand in for splines and ellipses [default: half a µm]";
        join_mm: Option<f64> = READING, "join", None, Drawing, Seldom, "Ends this close are joined [default: 1 µm]";
        refit_mm: Option<f64> = READING, "refit", None, Drawing, Seldom, "Replace runs of short chords by arcs that stay within this";
        /// Layers that are cut; what is on all others is there, but not cut this time.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cut_layers: Vec<String>;
        assume_sides: Option<bool> = YES, "assume-sides", None, Drawing, Often, "Take the first reading of every question that the drawing leaves open";
        /// Layers that are left out.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        ignore_layers: Vec<String>;
        finish: Option<String> = PRINT, "finish", Some('f'), Job, Often, "Finish as the print asks for it: `Ra 0.4`, `16 µin`, `N5` or `VDI 12`";
        tolerance: Option<String> = PRINT, "tolerance", Some('T'), Job, Often, "Tolerance as the print asks for it: `±0.01`, `+0.02/-0.01`, `profile 0.02`, `IT6`, `25H7` or `ISO 2768-m`";
        passes: Option<usize> = PASSES, "passes", Some('p'), Job, Often, "Number of passes: the rough cut and its skims [default: chosen]";
        inside_radius_mm: Option<f64> = LENGTH, "inside-radius", None, Job, Seldom, "Smallest inside radius that has to come out";
        clearance_mm: Option<f64> = LENGTH, "clearance", None, Job, Seldom, "Clearance that the wall gives, per side";
        aim_mm: Option<f64> = SHIFT, "aim", None, Job, Seldom, "Shift of the finished wall into the material (negative: out of it) [default: to mid-limit]";
        /// What is asked of a layer.
        #[serde(default, rename = "layer", skip_serializing_if = "BTreeMap::is_empty")]
        layers: BTreeMap<String, JobPart>;
        /// What is asked of a contour, by number.
        #[serde(default, rename = "contour", skip_serializing_if = "BTreeMap::is_empty")]
        contours: BTreeMap<String, JobPart>;
        /// What the curves of a linetype are for.
        #[serde(default, rename = "linetype", skip_serializing_if = "BTreeMap::is_empty")]
        linetypes: BTreeMap<String, JobPurpose>;
        /// What the curves of a colour are for, by number.
        #[serde(default, rename = "color", skip_serializing_if = "BTreeMap::is_empty")]
        colors: BTreeMap<String, JobPurpose>;
        /// Names in it that are given for several drawings at once, so that one of these may be without them. No key of the
        /// file.
        #[serde(skip)]
        may_miss: BTreeSet<GivenName>;
        /// Largest drawing that is taken; no key of the file.
        #[serde(skip)]
        largest: DrawingSize;
    }
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

keyed! {
    /// A layer or contour of the job.
    #[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
    #[cfg_attr(test, derive(schemars::JsonSchema))]
    #[serde(deny_unknown_fields)]
    #[non_exhaustive]
    pub struct JobPart, KEYS {
        /// What it is for.
        #[serde(rename = "use")]
        purpose: Option<Purpose>;
        keep: Option<[f64; 2]> = PLACE, "keep", None, Drawing, Often, "A place on the side that stays, of a trim, mm";
        width_mm: Option<f64> = LENGTH, "width", None, Drawing, Often, "Width of a slit, mm; one kerf where none is given";
        start: Option<StartFrom> = one_of::<StartFrom>("FROM"), "start-from", None, Wire, Seldom, "Whether its wire comes from a hole, or from the edge of the blank";
        start_mm: Option<[f64; 2]> = PLACE, "start", None, Wire, Seldom, "Where its wire starts, mm";
        entry_mm: Option<[f64; 2]> = PLACE, "entry", None, Wire, Seldom, "Where the wire comes onto the path: at the point of it nearest to this, mm";
        lead: Option<LeadShape> = one_of::<LeadShape>("HOW"), "lead", None, Wire, Seldom, "How it comes onto it";
        overlap_mm: Option<f64> = OVERLAP, "overlap", None, Wire, Seldom, "How far it runs past its closing point, mm";
        tab: Option<String> = TAB, "tab", None, Holding, Seldom, "Tab of its piece: `none`, or its length in mm";
        tab_at_mm: Option<[f64; 2]> = PLACE, "tab-at", None, Holding, Seldom, "Where the middle of that tab stands, mm";
        slug: Option<SlugPolicy> = one_of::<SlugPolicy>("HOW"), "slug", None, Holding, Seldom, "What is done with its slug";
        tab_face: Option<TabFace> = one_of::<TabFace>("HOW"), "tab-face", None, Holding, Seldom, "What becomes of the face where the tab of a part stood";
        finish: Option<String> = PRINT, "finish", None, Job, Often, "Finish, such as `Ra 0.4`";
        tolerance: Option<String> = PRINT, "tolerance", None, Job, Often, "Tolerance, such as `25H7`";
        passes: Option<usize> = PASSES, "passes", None, Job, Often, "Number of passes";
        stop_after: Option<usize> = PIECES, "stop-after", None, Job, Seldom, "The last of its passes that is run: what the later ones take off stays on";
        inside_radius_mm: Option<f64> = LENGTH, "inside-radius", None, Job, Often, "Smallest inside radius that has to come out, mm";
        clearance_mm: Option<f64> = LENGTH, "clearance", None, Job, Often, "Clearance, mm per side";
        aim_mm: Option<f64> = SHIFT, "aim", None, Job, Often, "Signed shift of the wall into the material, mm";
    }
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
            open_skims: self.open_skims.unwrap_or_default(),
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
        Self::KEYS.iter().try_for_each(|key| (key.check)(self))?;
        for part in self.layers.values().chain(self.contours.values()) {
            JobPart::KEYS.iter().try_for_each(|key| (key.check)(part))?;
        }
        let each = |at| (PLACE.check)("start_holes_mm", at);
        self.start_holes_mm.iter().try_for_each(each)
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
            stop_after: self.stop_after,
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
