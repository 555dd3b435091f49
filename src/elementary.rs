//! Computes the elementary functions alike on every machine. The C libraries that the standard library calls differ in last digits
//! between Linux, Windows and WebAssembly, and with them numbers of reports; `libm` is the same code everywhere.

pub(crate) use libm::{
    acos, atan, atan2, cbrt, cos, exp, exp2, expm1 as exp_m1, lgamma as ln_gamma, log as ln, log1p as ln_1p,
    log10, pow as powf, sin, sincos as sin_cos, tan,
};

/// Returns √(x² + y²). Lengths on a drawing are far from what over- or underflows when squared.
pub(crate) fn hypot(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}
