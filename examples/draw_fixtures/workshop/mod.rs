//! A workshop that restores tower clocks, and the plain shapes that anyone can reckon by hand.

mod answer;
mod clock;
mod hand;
mod shapes;
mod sheet;
mod wheel;

/// A drawing and its right answers.
pub(crate) struct Fixture {
    /// Folder and name below `fixtures`, without suffix.
    pub(crate) name: &'static str,
    /// The drawing.
    pub(crate) dxf: String,
    /// The sidecar, JSON.
    pub(crate) answer: String,
}

/// Every drawing, in the order of their names.
pub(crate) fn all() -> Vec<Fixture> {
    let mut all = clock::all();
    all.extend(shapes::all());
    all
}
