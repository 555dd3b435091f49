//! The blank, its edge and its clamps against measures worked by hand.
