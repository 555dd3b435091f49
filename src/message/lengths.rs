/// The unit of the lengths that are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum Lengths {
    /// Millimetres, small ones in micrometres.
    #[default]
    Mm,
    /// Inches, roughness in microinches.
    Inch,
}
