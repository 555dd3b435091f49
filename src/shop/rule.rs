use super::Number;
use super::entry::{Entry, Limit};
use super::handling::{HoldingRule, OpenCutRule, PieceRule, SlugRule, StartHoleRule, TabRule};
use super::numbers::numbers;

numbers! {
    /// How the rough rate goes with wire diameter.
    WireDiameterRule {
        /// The wire the pass table is made for, mm.
        reference_mm: "reference_mm" Positive,
        /// The factor is diameter over reference from here, mm.
        linear_from_mm: "linear_from_mm" Positive,
        /// The factor rises no more from here, mm.
        plateau_from_mm: "plateau_from_mm" Positive,
        /// The factor there.
        plateau_factor: "plateau_factor" Positive,
        /// Factor where the linear rise begins.
        thin_factor: "thin_factor" Positive,
        /// Exponent of the fall below that.
        thin_exponent: "thin_exponent" Positive,
    }
}

numbers! {
    /// How rates go with thickness: a bell over the logarithm of thickness.
    ThicknessRule {
        /// Thickness of the best area rate, mm.
        best_mm: "best_mm" Positive,
        /// Standard width of the bell, in ln(thickness).
        spread: "spread" Positive,
        /// Below this the feed stays as it is here, mm.
        thin_below_mm: "thin_below_mm" Positive,
        /// Thickest work that the numbers are made for, mm.
        made_to_mm: "made_to_mm" Positive,
        /// Outside of these two the band widens by the thickness over the nearer one, to this power.
        doubt_exponent: "doubt_exponent" NotNegative,
    }
}

numbers! {
    /// How the rough rate goes with the nozzles.
    FlushingRule {
        /// Both nozzles on the work.
        sealed: "sealed" Positive,
        /// One off the work.
        one_open: "one-open" Positive,
        /// Both off the work.
        both_open: "both-open" Positive,
    }
}

numbers! {
    /// How skim rates go with the material, and their fastest feed.
    SkimRule {
        /// Rough rate of the material the table is made for, mm²/min.
        reference_rate_mm2_min: "reference_rate_mm2_min" Positive,
        /// Exponent of rate over reference.
        exponent: "exponent" Finite,
        /// Fastest feed of a skim, mm/min.
        fastest_feed_mm_min: "fastest_feed_mm_min" Positive,
        /// A skim may meet this many times the stock it is meant to take.
        overload_limit: "overload_limit" Positive,
    }
}

numbers! {
    /// How the gaps of the first passes go with wire diameter.
    SparkGapRule {
        /// Exponent of diameter over reference.
        exponent: "exponent" Finite,
        /// How many passes follow the wire.
        scaled_passes: "scaled_passes" NotNegative,
        /// Gaps of materials without a factor of their own against those of the pass table.
        other_material: "other_material" Positive,
    }
}

numbers! {
    /// How form error grows in thick work: 1 + (thickness − from) / per; and what is open of it in thin work.
    FormErrorRule {
        /// Grows from here, mm.
        from_mm: "from_mm" Positive,
        /// Doubles over this much more, mm.
        per_mm: "per_mm" Positive,
        /// Below this thickness another factor comes in, mm.
        thin_below_mm: "thin_below_mm" Positive,
        /// That factor.
        thin_factor: "thin_factor" Positive,
    }
}

numbers! {
    /// What goes with a roughness.
    SurfaceRule {
        /// Rz over Ra.
        rz_per_ra: "rz_per_ra" Positive,
        /// Recast layer of a very fine surface, µm.
        recast_base_um: "recast_base_um" NotNegative,
        /// Recast layer more for each µm² of Ra squared, µm.
        recast_per_ra_squared: "recast_per_ra_squared" NotNegative,
    }
}

numbers! {
    /// What finished jobs are read by.
    CalibrationRule {
        /// Lead-in of a contour of a job without a drawing, mm.
        lead_mm: "lead_mm" NotNegative,
        /// How much machines differ in rate at least, one standard deviation, as a share.
        machine_spread_share: "machine_spread_share" Positive,
    }
}

/// All rules of the book.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Rules {
    /// Rough rate by wire diameter.
    pub wire_diameter: WireDiameterRule,
    /// Rates by thickness.
    pub thickness: ThicknessRule,
    /// Rough rate by nozzles.
    pub flushing: FlushingRule,
    /// Skim rates by material; fastest feed.
    pub skim: SkimRule,
    /// Gaps by wire diameter.
    pub spark_gap: SparkGapRule,
    /// Form error by thickness.
    pub form_error: FormErrorRule,
    /// Rz and recast by Ra.
    pub surface: SurfaceRule,
    /// Ends of open cuts.
    pub open_cut: OpenCutRule,
    /// Start holes, and the closing point of a path.
    pub start_hole: StartHoleRule,
    /// Tabs that hold a piece.
    pub tab: TabRule,
    /// Slugs and parts that drop.
    pub slug: SlugRule,
    /// Blank, clamps, and what may move.
    pub holding: HoldingRule,
    /// Which parts are equal.
    pub piece: PieceRule,
    /// Finished jobs.
    pub calibration: CalibrationRule,
}

impl Rules {
    /// Returns the numbers of each rule by their names in the book.
    pub fn numbers(&self) -> Vec<(&'static str, Vec<(&'static str, &Number)>)> {
        vec![
            ("wire-diameter", self.wire_diameter.numbers()),
            ("thickness", self.thickness.numbers()),
            ("flushing", self.flushing.numbers()),
            ("skim", self.skim.numbers()),
            ("spark-gap", self.spark_gap.numbers()),
            ("form-error", self.form_error.numbers()),
            ("surface", self.surface.numbers()),
            ("open-cut", self.open_cut.numbers()),
            ("start-hole", self.start_hole.numbers()),
            ("tab", self.tab.numbers()),
            ("slug", self.slug.numbers()),
            ("holding", self.holding.numbers()),
            ("piece", self.piece.numbers()),
            ("calibration", self.calibration.numbers()),
        ]
    }

    /// Reads `[rule.…]`; a rule that the text does not name stays as it was.
    pub(super) fn read(entry: &Entry<'_, '_>, old: Option<&Self>) -> Option<Self> {
        macro_rules! rule {
            ($key:literal, $field:ident, $kind:ident) => {
                match entry.child($key) {
                    Some(child) => $kind::read(&child, old.map(|o| &o.$field)),
                    None => old.map(|o| o.$field.clone()),
                }
            };
        }
        let wire_diameter = rule!("wire-diameter", wire_diameter, WireDiameterRule);
        let thickness = rule!("thickness", thickness, ThicknessRule);
        let flushing = rule!("flushing", flushing, FlushingRule);
        let skim = rule!("skim", skim, SkimRule);
        let spark_gap = rule!("spark-gap", spark_gap, SparkGapRule);
        let form_error = rule!("form-error", form_error, FormErrorRule);
        let surface = rule!("surface", surface, SurfaceRule);
        let open_cut = rule!("open-cut", open_cut, OpenCutRule);
        let start_hole = rule!("start-hole", start_hole, StartHoleRule);
        let tab = rule!("tab", tab, TabRule);
        let slug = rule!("slug", slug, SlugRule);
        let holding = rule!("holding", holding, HoldingRule);
        let piece = rule!("piece", piece, PieceRule);
        let calibration = rule!("calibration", calibration, CalibrationRule);
        entry.finish();
        Some(Self {
            wire_diameter: wire_diameter?,
            thickness: thickness?,
            flushing: flushing?,
            skim: skim?,
            spark_gap: spark_gap?,
            form_error: form_error?,
            surface: surface?,
            open_cut: open_cut?,
            start_hole: start_hole?,
            tab: tab?,
            slug: slug?,
            holding: holding?,
            piece: piece?,
            calibration: calibration?,
        })
    }
}
