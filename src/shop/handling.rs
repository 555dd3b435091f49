use super::Number;
use super::entry::{Entry, Limit};
use super::numbers::numbers;

numbers! {
    /// How strong the tab has to be that holds a piece until it is cut off.
    TabRule {
        /// No tab is shorter along the contour, mm.
        least_mm: "least_mm" Positive,
        /// Stress that the material bears, MPa.
        strength_mpa: "strength_mpa" Positive,
        /// The stress in the tab stays below strength over this.
        safety: "safety" Positive,
        /// Push of the flushing on the piece, N.
        flush_n: "flush_n" NotNegative,
        /// No tab is longer than this share of its contour.
        most_share: "most_share" Share,
        /// No tab that the book sizes is longer than this, mm.
        most_mm: "most_mm" Positive,
        /// A tab whose path turns by more than this goes round a corner, degrees.
        corner_deg: "corner_deg" Positive,
        /// A tab goes across a tip where the path turns by more than this over three times its length, degrees.
        tip_deg: "tip_deg" Positive,
        /// Such a tab stands on a straight instead where one is as near as this along the path, mm.
        straight_within_mm: "straight_within_mm" NotNegative,
    }
}

numbers! {
    /// How the wire runs out of an open cut.
    OpenCutRule {
        /// The path ends where its kerf has left the material by this, mm.
        run_out_mm: "run_out_mm" Positive,
    }
}

numbers! {
    /// Where the wire is threaded, and how it comes onto its path.
    StartHoleRule {
        /// Diameter of a start hole that is not drawn, mm.
        drill_mm: "drill_mm" Positive,
        /// A full circle drawn smaller than this may be one, mm.
        drawn_under_mm: "drawn_under_mm" Positive,
        /// How far its drill wanders, as a share of the thickness.
        drift_share: "drift_share" Share,
        /// What is left of the hole, seen through it, is wider than the wire by this, mm.
        thread_clear_mm: "thread_clear_mm" NotNegative,
        /// Between the edge of the hole and a wall that stays, mm.
        wall_clear_mm: "wall_clear_mm" NotNegative,
        /// Radius of the arc of a lead that arrives along its path, where there is room for it, mm.
        lead_radius_mm: "lead_radius_mm" Positive,
        /// A lead-in may take so much longer for a hole in the middle of a circle or farther from walls, min.
        extra_lead_min: "extra_lead_min" NotNegative,
        /// The wire runs this far past its closing point, mm.
        overlap_mm: "overlap_mm" NotNegative,
    }
}

numbers! {
    /// What drops, and how it is removed.
    SlugRule {
        /// A slug no larger than this across may enter the lower nozzle, mm.
        jam_mm: "jam_mm" NotNegative,
        /// A slug no larger than this across is cleared away coreless where that costs no more, mm; 0: none is.
        coreless_up_to_mm: "coreless_up_to_mm" NotNegative,
        /// A slug smaller than this across cannot be held at a stop, mm.
        hold_from_mm: "hold_from_mm" NotNegative,
        /// Step from one ring of coreless removal to the next, as a share of the kerf.
        coreless_step_share: "coreless_step_share" Share,
        /// Above this a piece is lifted with help, kg.
        lift_kg: "lift_kg" Positive,
    }
}

numbers! {
    /// How the blank is held, and what may move in it.
    HoldingRule {
        /// Between the kerf of an outside contour and the edge of the blank, mm.
        edge_margin_mm: "edge_margin_mm" NotNegative,
        /// The clamps reach this far into the blank, mm.
        clamp_depth_mm: "clamp_depth_mm" NotNegative,
        /// A part is slender when the square of its diagonal is more than this times its area.
        slender_from: "slender_from" Positive,
        /// An opening is big when it takes more than this share of what it is cut from.
        opening_share: "opening_share" Share,
    }
}

numbers! {
    /// What counts as the same piece.
    PieceRule {
        /// Parts that differ by no more than this anywhere are equal, µm.
        alike_um: "alike_um" Positive,
    }
}
