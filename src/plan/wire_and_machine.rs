//! A wire on a machine, and which of them are left open.

use crate::message::{Message, message, mm};
use crate::shop::{Book, same_wire};

/// A wire on a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct WireAndMachine {
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// Machine.
    pub machine: String,
}

impl WireAndMachine {
    /// Names both.
    pub fn message(&self) -> Message {
        message!(
            "{} wire of {} on machine {}",
            self.wire_kind,
            mm(self.wire_mm),
            self.machine
        )
    }
}

/// Limits of the choice; what is `None` is left open.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Constraints {
    /// Wire diameter, mm.
    pub wire_mm: Option<f64>,
    /// Wire kind.
    pub wire_kind: Option<String>,
    /// Machine.
    pub machine: Option<String>,
}

impl Constraints {
    /// Returns every wire on every machine of the book that is left open, finest wire first.
    pub fn setup(&self, book: &Book) -> Vec<WireAndMachine> {
        let mut setup = Vec::new();
        for wire in book.wires() {
            let size = self.wire_mm.is_none_or(|mm| same_wire(wire.size.diameter_mm, mm));
            let kind = self
                .wire_kind
                .as_deref()
                .is_none_or(|kind| kind == wire.kind.name);
            if !(size && kind) {
                continue;
            }
            let machines = book.machines.keys();
            for machine in machines.filter(|name| {
                self.machine
                    .as_ref()
                    .is_none_or(|requirement| requirement == *name)
            }) {
                setup.push(WireAndMachine {
                    wire_mm: wire.size.diameter_mm,
                    wire_kind: wire.kind.name.clone(),
                    machine: machine.clone(),
                });
            }
        }
        setup
    }
}
