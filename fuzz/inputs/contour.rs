//! Closed contours that miss a grid by crumbs.

use kerfwright::geometry::Polyline;

/// A closed contour, four bytes a vertex, on a grid of 1/16 mm that some vertices miss by crumbs; and an offset of up
/// to half a millimetre, mm.
pub(crate) fn contour(bytes: &[u8]) -> Option<(Polyline, f64)> {
    let (first, rest) = bytes.split_first()?;
    let vertices = rest.as_chunks::<4>().0.iter().map(|[x, y, fine, bulge]| {
        let crumb = if bulge % 7 == 0 {
            1e-4 * f64::from(*fine)
        } else {
            0.0
        };
        let bulge = if bulge % 2 == 0 {
            0.0
        } else {
            (f64::from(*bulge) - 128.0) / 100.0
        };
        (f64::from(*x) / 16.0 + crumb, f64::from(*y) / 16.0, bulge)
    });
    Some((Polyline::closed(vertices), (f64::from(*first) - 128.0) / 256.0))
}
