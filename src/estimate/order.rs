//! What is ordered.

/// What is given of an order; what is not follows from the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct OrderRequest {
    /// Pieces; as many as are drawn when `None`.
    pub quantity: Option<usize>,
    /// Pieces cut in one load; as many as are drawn when `None`.
    pub pieces_per_load: Option<usize>,
}

impl OrderRequest {
    /// Returns the order for a drawing that holds so many pieces.
    pub fn of(self, drawn: usize) -> Order {
        let drawn = drawn.max(1);
        Order {
            quantity: self.quantity.unwrap_or(drawn),
            pieces_per_load: self.pieces_per_load.unwrap_or(drawn),
            drawn,
        }
    }
}

/// What is ordered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Order {
    /// Pieces; at least 1.
    pub quantity: usize,
    /// Pieces cut in one load; at least 1.
    pub pieces_per_load: usize,
    /// Pieces that the drawing holds; at least 1.
    pub drawn: usize,
}

impl Order {
    /// Returns how often a load is set up.
    pub fn loads(&self) -> usize {
        self.quantity.max(1).div_ceil(self.pieces_per_load.max(1))
    }

    /// Returns how often all that is drawn is cut, in part at the end.
    pub fn times_drawn(&self) -> f64 {
        self.quantity.max(1) as f64 / self.drawn.max(1) as f64
    }
}
