//! Two lanes for what is worked out: quick and long, so that a plan of a plain part never waits for that of a large drawing.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

use hyper::header::{HeaderMap, HeaderValue};
use tokio::sync::{Notify, Semaphore};

use super::VISITOR_HEADER;

/// Longest name of a visitor that is told apart, bytes.
const LONGEST_VISITOR: usize = 64;

/// A lane: what may be worked out in it at once, and the threads that each work has.
#[derive(Clone, Debug)]
pub(super) struct Lane {
    pub(super) places: Arc<Semaphore>,
    pub(super) threads: usize,
}

impl Lane {
    pub(super) fn new(places: usize, threads: usize) -> Self {
        Self {
            places: Arc::new(Semaphore::new(places)),
            threads,
        }
    }
}

/// Who asks: one window of a browser on one machine.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Visitor(IpAddr, Vec<u8>);

impl Visitor {
    /// Reads who asks from the address and the head of a request.
    pub(super) fn of(at: IpAddr, headers: &HeaderMap) -> Self {
        let name = headers.get(VISITOR_HEADER).map(HeaderValue::as_bytes);
        let name = name.unwrap_or_default().iter().take(LONGEST_VISITOR);
        Self(at, name.copied().collect())
    }
}

/// The newest long work of each visitor.
#[derive(Debug, Default)]
pub(super) struct Newest(Mutex<HashMap<Visitor, Arc<Notify>>>);

/// Long work that is its visitor's newest, until another one begins or this is dropped.
pub(super) struct NewestWork<'a> {
    newest: &'a Newest,
    visitor: Visitor,
    replaced: Arc<Notify>,
}

impl Newest {
    /// Makes new work the newest of its visitor; the one before is told.
    pub(super) fn begin(&self, visitor: Visitor) -> NewestWork<'_> {
        let replaced = Arc::new(Notify::new());
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(older) = held.insert(visitor.clone(), replaced.clone()) {
            older.notify_one();
        }
        NewestWork {
            newest: self,
            visitor,
            replaced,
        }
    }
}

impl NewestWork<'_> {
    /// Comes to its end when newer work of the same visitor begins.
    pub(super) async fn replaced(&self) {
        self.replaced.notified().await;
    }
}

impl Drop for NewestWork<'_> {
    fn drop(&mut self) {
        let mut held = self.newest.0.lock().unwrap_or_else(PoisonError::into_inner);
        if held
            .get(&self.visitor)
            .is_some_and(|newest| Arc::ptr_eq(newest, &self.replaced))
        {
            held.remove(&self.visitor);
        }
    }
}
