//! Whether somebody still waits.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// How long what is asked is wanted: until somebody ends it. Clones share the end. Long work asks between its steps
/// and stops there.
#[derive(Clone, Debug, Default)]
pub struct Patience(Arc<AtomicBool>);

impl Patience {
    /// Nobody waits any more.
    pub fn end(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether it was ended.
    pub fn is_over(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}
