//! Line styles and colours. Passes are told apart by dash and weight first; the colours are quiet, keep their
//! order of lightness in grey, and stay apart for the colour-blind.

use std::fmt::Write as _;

use crate::id::PassNo;
use crate::message::number::short;
use crate::report::inks;

/// Most passes that have a style of their own.
const STYLES: usize = inks::PASSES.len();

struct Pen {
    /// Dash and gap lengths, mm; empty for an unbroken line.
    dashes: &'static [f64],
    /// Width, mm.
    weight: f64,
}

const PENS: [Pen; STYLES] = [
    Pen {
        dashes: &[4.0, 1.0],
        weight: 0.34,
    },
    Pen {
        dashes: &[1.8, 0.7],
        weight: 0.30,
    },
    Pen {
        dashes: &[0.8, 0.6],
        weight: 0.27,
    },
    Pen {
        dashes: &[3.0, 0.6, 0.6, 0.6],
        weight: 0.24,
    },
    Pen {
        dashes: &[1.8, 0.5, 0.5, 0.5],
        weight: 0.22,
    },
    Pen {
        dashes: &[3.0, 0.5, 0.5, 0.5, 0.5, 0.5],
        weight: 0.21,
    },
    Pen {
        dashes: &[0.4, 0.5],
        weight: 0.20,
    },
    Pen {
        dashes: &[2.4, 0.5, 1.0, 0.5],
        weight: 0.19,
    },
    Pen {
        dashes: &[5.0, 0.5],
        weight: 0.18,
    },
];

/// Weight of the last pass, always an unbroken line.
const LAST_WEIGHT: f64 = 0.22;

/// Dashes of what is already machined, and of what is only for reference, mm.
const DASHED: [(&str, &[f64]); 2] = [
    // Long dashes with two dots, narrow, for what is there beside the part (ISO 128-2, line type 05.1): no arc of it can be taken for the
    // three quarters of a circle that stand for a thread (ISO 6410-1).
    ("existing", &[2.4, 0.5, 0.3, 0.5, 0.3, 0.5]),
    ("reference", &[3.0, 0.8, 0.5, 0.8]),
];
const EXISTING: &str = "#5a5c60";
const EXISTING_WEIGHT: f64 = 0.2;

/// Weights of the overload line, mm; its colours darken in the same order.
const HEAT: [(f64, &str); 3] = [(0.9, "#e8bf6a"), (1.5, "#c98a2b"), (2.2, "#8a5312")];

/// Weight of all lines where contours are small.
const FINE_WEIGHT: f64 = 0.09;

/// CSS pixels in a millimetre (96 an inch; CSS Values and Units, level 3, section 6.2).
const PX_PER_MM: f64 = 96.0 / crate::units::MM_PER_INCH;

/// Class names of the lines of a pass.
pub(super) fn pass_class(pass: PassNo, passes: usize) -> String {
    let style = pass.index() % STYLES + 1;
    let last = if pass.number() == passes { " last" } else { "" };
    format!("wire pass-{style}{last}")
}

/// Returns the style sheet of the drawing.
pub(super) fn style_sheet() -> String {
    let mut css = String::from(BASE);
    for (i, ink) in inks::PASSES.iter().enumerate() {
        let _ = writeln!(css, ".pass-{}{{stroke:{}}}", i + 1, ink.css);
    }
    let _ = writeln!(
        css,
        ".contour{{fill:none;stroke:{};stroke-linejoin:round}}\n.existing{{stroke:{}}}\n.reference{{stroke:{}}}\n\
         .open{{stroke:#ad2f22}}\n.blank{{fill:#f4f3f0;stroke:{};stroke-linejoin:round}}\n\
         .start{{fill:{start};fill-opacity:0.6}}\n.start-hole{{fill:#fdfcf8;fill-opacity:0.7;stroke:{start}}}\n\
         .lead{{fill:none;stroke:{start};stroke-linecap:round;stroke-linejoin:round}}\n\
         .tab{{fill:none;stroke:{};stroke-linecap:butt}}\n.coreless{{fill:none;stroke:{};stroke-linejoin:round}}\n\
         .unreached{{fill:none;stroke:{unreached}}}\n.unreached-dots{{fill:none;stroke:{unreached};stroke-linecap:round}}\n\
         .left-over{{fill:{unreached};fill-opacity:0.55;stroke:none}}",
        inks::CONTOUR.css,
        EXISTING,
        inks::BLANK.css,
        inks::BLANK.css,
        inks::TAB.css,
        inks::CORELESS.css,
        start = inks::START.css,
        unreached = inks::UNREACHED.css,
    );
    css.push_str(&lines("", 1.0, ""));
    // A browser can zoom into the part: its lines then stay thin, so that the passes come apart. Programs
    // that draw paper do not know the property and keep to millimetres.
    css.push_str("@supports (vector-effect:non-scaling-stroke){\n");
    css.push_str("#part .wire,#part .contour,#part .heat,#part .unreached,#part .unreached-dots,#part .tab,#part .coreless,#part .blank,#part .lead,#part .start-hole,#part .travel{vector-effect:non-scaling-stroke}\n");
    css.push_str(&lines("#part ", PX_PER_MM, "px"));
    css.push_str("}\n");
    css
}

/// Weights and dashes of the lines within some element, in a unit that goes `per_mm` times into a millimetre.
fn lines(within: &str, per_mm: f64, unit: &str) -> String {
    let mut css = String::new();
    let weight = |mm: f64| format!("{}{unit}", short(mm * per_mm, 2));
    let _ = writeln!(
        css,
        "{within}.contour{{stroke-width:{}}}\n{within}.existing{{stroke-width:{}}}",
        weight(CONTOUR_WEIGHT),
        weight(EXISTING_WEIGHT)
    );
    for (name, dashes) in DASHED {
        let _ = writeln!(
            css,
            "{within}.{name}{{stroke-dasharray:{}}}",
            dash_array(dashes, per_mm)
        );
    }
    for (i, pen) in PENS.iter().enumerate() {
        let _ = writeln!(
            css,
            "{within}.pass-{}{{stroke-width:{};stroke-dasharray:{}}}",
            i + 1,
            weight(pen.weight),
            dash_array(pen.dashes, per_mm)
        );
    }
    let _ = writeln!(
        css,
        "{within}.last{{stroke-dasharray:none;stroke-width:{}}}",
        weight(LAST_WEIGHT)
    );
    for (i, (mm, colour)) in HEAT.iter().enumerate() {
        let _ = writeln!(
            css,
            "{within}.heat-{}{{stroke:{colour};stroke-width:{}}}",
            i + 1,
            weight(*mm)
        );
    }
    let _ = writeln!(
        css,
        "{within}.unreached{{stroke-width:{}}}\n{within}.unreached-dots{{stroke-width:{}}}\n\
         {within}.tab{{stroke-width:{}}}\n{within}.coreless{{stroke-width:{}}}\n{within}.blank{{stroke-width:{}}}\n{within}.lead,{within}.start-hole{{stroke-width:{}}}\n\
         {within}.travel{{stroke-width:{};stroke-dasharray:{}}}",
        weight(0.4),
        weight(0.7),
        weight(1.3),
        weight(0.13),
        weight(0.25),
        weight(0.22),
        weight(0.16),
        dash_array(&[0.3, 0.9], per_mm)
    );
    let fine = weight(FINE_WEIGHT);
    let _ = writeln!(
        css,
        ".fine {within}.contour,.fine {within}.wire{{stroke-width:{fine}}}"
    );
    css
}

fn dash_array(dashes: &[f64], factor: f64) -> String {
    let lengths: Vec<String> = dashes.iter().map(|mm| short(mm * factor, 2)).collect();
    lengths.join(" ")
}

const CONTOUR_WEIGHT: f64 = 0.4;

const BASE: &str = "
text{font-family:'DejaVu Sans',Verdana,'Segoe UI',Helvetica,Arial,sans-serif;fill:#1d1f23}
.quiet{fill:#5a5c60}
.strong{font-weight:bold}
.number{paint-order:stroke;stroke:#fdfcf8;stroke-width:0.7}
.paper{fill:#fdfcf8}
.frame{fill:none;stroke:#1d1f23;stroke-width:0.35}
.window{fill:#fdfcf8;stroke:#1d1f23;stroke-width:0.25}
.edge{fill:none;stroke:#1d1f23;stroke-width:0.25}
.rule{fill:none;stroke:#8b8c8f;stroke-width:0.13}
.dimension{fill:none;stroke:#5a5c60;stroke-width:0.13}
.dimension-arrow{fill:#5a5c60}
.kept{fill:#e6e0d2;fill-rule:evenodd;stroke:none}
.clamps{fill:#8b8c8f;fill-opacity:0.22;stroke:none}
.clamps-hatch{fill:none;stroke:#5a5c60;stroke-width:0.18}
.left-stock{fill:#e8bf6a;stroke:#8b6a1f;stroke-width:0.1}
.wire-body{fill:#eceef0;stroke:#5a5c60;stroke-width:0.13}
.kerf{fill:none;stroke:#b9c3c9;stroke-opacity:0.45;stroke-linejoin:round}
.travel{fill:none;stroke:#366b40;stroke-linecap:round;stroke-linejoin:round}
.order{fill:#366b40;font-weight:bold}
.order-frame{fill:#fdfcf8;stroke:#366b40;stroke-width:0.2}
.order-leader{fill:none;stroke:#366b40;stroke-width:0.15}
.wire{fill:none;stroke-linejoin:round}
.heat{fill:none;stroke-linecap:round;stroke-linejoin:round}
#insets .heat{stroke-opacity:0.5}
.inset-place{fill:none;stroke:#1d1f23;stroke-width:0.2;stroke-dasharray:0.6 0.4}
.mark{fill:#fdfcf8;stroke:#1d1f23;stroke-width:0.25}
.mark-error{fill:#1d1f23;stroke:#1d1f23;stroke-width:0.25}
.mark-leader{fill:none;stroke:#1d1f23;stroke-width:0.18}
.mark-point{fill:#1d1f23}
text.on-dark{fill:#fdfcf8}
.bar{fill:none;stroke:#1d1f23;stroke-width:0.3}
";
