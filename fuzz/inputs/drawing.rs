//! Drawings of lines and arcs on a coarse grid.

use std::fmt::Write;

/// A drawing in mm: six bytes a curve, on a grid of half millimetres that some curves miss by a micrometre.
pub(crate) fn drawing(bytes: &[u8]) -> String {
    let mut text =
        String::from("0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    for curve in bytes.as_chunks::<6>().0 {
        let [kind, a, b, c, d, fine] = curve.map(f64::from);
        let grid = |n: f64| (n - 128.0) / 2.0;
        let x = grid(a) + if fine as u8 & 1 == 1 { 1e-6 * fine } else { 0.0 };
        let y = grid(b);
        let _ = match kind as u8 % 4 {
            0 | 1 => writeln!(
                text,
                "0\nLINE\n8\n0\n10\n{x}\n20\n{y}\n11\n{}\n21\n{}",
                grid(c),
                grid(d)
            ),
            2 => writeln!(
                text,
                "0\nARC\n8\n0\n10\n{x}\n20\n{y}\n40\n{}\n50\n{}\n51\n{}",
                c / 2.0,
                d * 45.0,
                fine * 15.0
            ),
            _ => writeln!(text, "0\nCIRCLE\n8\n0\n10\n{x}\n20\n{y}\n40\n{}", c / 4.0),
        };
    }
    text + "0\nENDSEC\n0\nEOF\n"
}
