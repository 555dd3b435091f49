use super::Number;
use super::entry::{Entry, Limit};
use super::rule::numbers;

numbers! {
    /// Time beside the cut itself.
    Times {
        /// Set-up of a load, min.
        setup_min: "setup_min" NotNegative,
        /// Threading by the machine, min.
        thread_automatic_min: "thread_automatic_min" NotNegative,
        /// Threading by hand, min.
        thread_by_hand_min: "thread_by_hand_min" NotNegative,
        /// Cutting off one tab, min.
        tab_cut_off_min: "tab_cut_off_min" NotNegative,
        /// Taking out one slug or part, min.
        slug_handling_min: "slug_handling_min" NotNegative,
        /// Adjustment between two passes, min.
        adjust_between_passes_min: "adjust_between_passes_min" NotNegative,
        /// Lost in the rough cut at a corner sharper than 135°, min.
        corner_min: "corner_min" NotNegative,
        /// Feed of a lead-in as a share of the roughing feed.
        lead_feed_share: "lead_feed_share" Positive,
        /// Allowance for wire breaks, min in an hour of cutting.
        wire_break_min_per_hour: "wire_break_min_per_hour" NotNegative,
        /// Share of the cutting hours that somebody stands by.
        attended_share: "attended_share" Share,
        /// Length of a shift, h.
        shift_hours: "shift_hours" Positive,
    }
}

numbers! {
    /// Prices, in the currency of the book.
    Prices {
        /// An hour of the machine.
        machine_per_hour: "machine_per_hour" NotNegative,
        /// An hour of labour.
        labour_per_hour: "labour_per_hour" NotNegative,
        /// Filters and resin, an hour of cutting.
        filters_and_resin_per_hour: "filters_and_resin_per_hour" NotNegative,
        /// A start hole, beside its time.
        start_hole_each: "start_hole_each" NotNegative,
        /// Programming an order, min.
        programming_min: "programming_min" NotNegative,
        /// Inspecting an order, min.
        inspection_min: "inspection_min" NotNegative,
        /// Least that an order is charged.
        minimum_charge: "minimum_charge" NotNegative,
        /// Share of pieces lost.
        scrap_share: "scrap_share" Share,
        /// Margin as a share of the cost.
        margin_share: "margin_share" NotNegative,
    }
}

numbers! {
    /// The room and the dielectric.
    Room {
        /// Set-point of the dielectric, °C.
        dielectric_c: "dielectric_c" Finite,
        /// It keeps it within plus or minus, K.
        dielectric_band_k: "dielectric_band_k" NotNegative,
        /// Swing of the room from night to day, K.
        room_swing_k: "room_swing_k" NotNegative,
        /// Share of that which reaches the part.
        share_reaching_part: "share_reaching_part" Share,
    }
}
