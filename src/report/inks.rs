//! The colours that tell lines apart: of the sheet, and of the layers of the DXF that hold the same lines.

/// A colour of the sheet, and the number of the nearest colour of a layer. Nearest by distance in Oklab; the colours of the numbers are
/// those that ezdxf 1.4.5 lists (`DXF_DEFAULT_COLORS`).
pub(super) struct Ink {
    pub(super) css: &'static str,
    #[cfg_attr(
        not(feature = "dxf-out"),
        expect(dead_code, reason = "only the file of the paths has layers")
    )]
    pub(super) dxf: u8,
}

const fn ink(css: &'static str, dxf: u8) -> Ink {
    Ink { css, dxf }
}

/// Of the passes, the first one first. Quiet, dark enough to print in grey, and apart for the colour-blind.
pub(super) const PASSES: [Ink; 9] = [
    ink("#0b5c7d", 144),
    ink("#b3590a", 32),
    ink("#6b3f8f", 205),
    ink("#44703b", 95),
    ink("#97395c", 235),
    ink("#3a5f95", 155),
    ink("#7c6f30", 45),
    ink("#484e54", 137),
    ink("#1b6b5a", 124),
];

/// Contours. Layers of number 7 are black on paper and white on a black screen.
pub(super) const CONTOUR: Ink = ink("#1d1f23", 7);
pub(super) const BLANK: Ink = ink("#8b8c8f", 8);
/// Start holes.
pub(super) const START: Ink = ink("#0b5c7d", 144);
/// Tabs and last stretches.
pub(super) const TAB: Ink = ink("#7a1248", 234);
pub(super) const CORELESS: Ink = ink("#0b5c7d", 144);
pub(super) const UNREACHED: Ink = ink("#c0182b", 242);

#[cfg(test)]
mod tests {
    use super::*;

    /// The colours of the numbers that are used. Source: `ezdxf.colors.DXF_DEFAULT_COLORS` of ezdxf 1.4.5.
    const LISTED: [(u8, u32); 13] = [
        (8, 0x80_8080),
        (32, 0xa5_5200),
        (45, 0x7f_6f3f),
        (95, 0x3f_7f3f),
        (124, 0x00_7f5f),
        (137, 0x26_4c4c),
        (144, 0x00_5f7f),
        (155, 0x3f_5f7f),
        (205, 0x6f_3f7f),
        (234, 0x7f_003f),
        (235, 0x7f_3f5f),
        (242, 0xa5_0029),
        (7, 0x00_0000),
    ];

    fn parts(rgb: u32) -> [i32; 3] {
        [rgb >> 16, rgb >> 8 & 0xff, rgb & 0xff].map(|part| i32::try_from(part).expect("a byte"))
    }

    #[test]
    fn a_layer_looks_as_its_line_on_the_sheet() {
        let alone = [CONTOUR, BLANK, START, TAB, CORELESS, UNREACHED];
        for ink in PASSES.iter().chain(&alone) {
            let css = u32::from_str_radix(&ink.css[1..], 16).expect("a colour");
            let (_, listed) = LISTED
                .iter()
                .find(|(number, _)| *number == ink.dxf)
                .expect("a listed number");
            // Of 255 colours none is ever much nearer than a sixth of the range of each part.
            for (a, b) in parts(css).into_iter().zip(parts(*listed)) {
                assert!((a - b).abs() <= 43, "{} and number {}", ink.css, ink.dxf);
            }
        }
    }
}
