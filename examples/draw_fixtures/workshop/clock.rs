//! Parts and tools for a tower clock.

use std::f64::consts::{PI, TAU};

use super::Fixture;
use super::answer::{Answer, Expected, circle, rounded_rectangle};
use super::hand::Hand;
use super::shapes::rounded_rectangle_outline;
use super::sheet::{Release, Sheet, Unit};
use super::wheel::{Crossings, Piece, Wheel, bulge};

/// The drawings of the clock.
pub(super) fn all() -> Vec<Fixture> {
    vec![
        balance_key(),
        decorative_hand(),
        escape_wheel("clock/escape-wheel", Unit::Millimetre),
        escape_wheel("clock/escape-wheel-inch", Unit::Inch),
        front_plate(),
        hand_die(),
        hand_punch(),
        ratchet(),
    ]
}

/// The opening that the hand drops through.
const HAND: Hand = Hand {
    boss: 6.0,
    boss_fillet: 2.0,
    stem: 1.5,
    neck_fillet: 1.0,
    neck: 30.0,
    shoulder: 3.0,
    flank: 40.0,
    tip: 0.18,
};

/// Punch to die, one side: common practice for soft brass sheet of 0.8 mm, no source.
const CLEARANCE_MM: f64 = 0.03;

/// The smallest part of the clock.
fn balance_key() -> Fixture {
    let mut sheet = Sheet::new(Release::R2000, Unit::Millimetre, &[("KEY", "CONTINUOUS")]);
    sheet.closed_polyline("KEY", &rounded_rectangle_outline((0.0, 0.0), 3.0, 2.0, 0.3));
    sheet.circle("KEY", (0.5, 0.0), 0.6);
    Fixture {
        name: "clock/balance-key",
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "key of the balance arbor: 3 by 2 mm with a round hole",
            contours: vec![
                rounded_rectangle("KEY", "outside", 3.0, 2.0, 0.3),
                circle("KEY", "opening", 0.6),
            ],
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

/// The largest.
fn front_plate() -> Fixture {
    let layers = [
        ("PLATE", "CONTINUOUS"),
        ("WINDOWS", "CONTINUOUS"),
        ("PIVOTS", "CONTINUOUS"),
    ];
    let mut sheet = Sheet::new(Release::R2000, Unit::Millimetre, &layers);
    let (width, height) = (960.0, 640.0);
    sheet.closed_polyline(
        "PLATE",
        &rounded_rectangle_outline((0.0, 0.0), width, height, 25.0),
    );
    for (x, y) in [(-230.0, -150.0), (230.0, -150.0), (230.0, 150.0), (-230.0, 150.0)] {
        sheet.closed_polyline("WINDOWS", &rounded_rectangle_outline((x, y), 320.0, 180.0, 12.0));
    }
    for x in [-400.0, -200.0, 0.0, 200.0, 400.0] {
        sheet.circle("PIVOTS", (x, 0.0), 20.0);
    }
    for y in [-280.0, -140.0, 140.0, 280.0] {
        for x in [-440.0, 0.0, 440.0] {
            sheet.circle("PIVOTS", (x, y), 7.5);
        }
    }
    Fixture {
        name: "clock/front-plate",
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "front plate of the movement: four windows, five bearings, twelve pillar holes",
            contours: vec![
                rounded_rectangle("PLATE", "outside", width, height, 25.0),
                Expected {
                    count: 4,
                    ..rounded_rectangle("WINDOWS", "opening", 320.0, 180.0, 12.0)
                },
                Expected {
                    count: 5,
                    ..circle("PIVOTS", "opening", 20.0)
                },
                Expected {
                    count: 12,
                    ..circle("PIVOTS", "opening", 7.5)
                },
            ],
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

fn hand_die() -> Fixture {
    let layers = [
        ("PLATE", "CONTINUOUS"),
        ("SCREWS", "CONTINUOUS"),
        ("OPENING", "CONTINUOUS"),
        ("START", "CONTINUOUS"),
        ("CENTRE", "CENTER"),
        ("NOTES", "CONTINUOUS"),
    ];
    let mut sheet = Sheet::new(Release::R2000, Unit::Millimetre, &layers);
    let (width, height, middle) = (60.0, 90.0, 23.5);
    let plate = rounded_rectangle_outline((0.0, middle), width, height, 5.0);
    sheet.closed_polyline("PLATE", &plate);
    for (x, y) in [(-22.0, -37.0), (22.0, -37.0), (22.0, 37.0), (-22.0, 37.0)] {
        sheet.circle("SCREWS", (x, y + middle), 3.3);
    }
    sheet.closed_polyline("OPENING", &HAND.outline());
    sheet.circle("START", (0.0, 0.0), 1.5);
    let (low, high) = (middle - height / 2.0 - 4.0, middle + height / 2.0 + 4.0);
    sheet.line("CENTRE", (0.0, low), (0.0, high));
    sheet.text(
        "NOTES",
        (-28.0, middle + height / 2.0 + 6.0),
        2.5,
        "SETTING DIAL HAND, DIE, 30 THICK, HARDENED",
    );
    Fixture {
        name: "clock/hand-die",
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "blanking die for a hand of the setting dial: ground plate with tapped holes, opening, start hole",
            contours: vec![
                Expected { purpose: "existing", ..rounded_rectangle("PLATE", "outside", width, height, 5.0) },
                Expected { count: 4, purpose: "existing", ..circle("SCREWS", "opening", 3.3) },
                HAND.expected("OPENING", "opening"),
                Expected { purpose: "start-hole", ..circle("START", "opening", 1.5) },
            ],
            open_length_mm: high - low,
            open_chains: 1,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

fn hand_punch() -> Fixture {
    let punch = HAND.inset(CLEARANCE_MM);
    let mut sheet = Sheet::new(Release::R2000, Unit::Millimetre, &[("PUNCH", "CONTINUOUS")]);
    sheet.closed_polyline("PUNCH", &punch.outline());
    Fixture {
        name: "clock/hand-punch",
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "the punch to that die: the same hand, 0.03 mm smaller all round",
            contours: vec![punch.expected("PUNCH", "outside")],
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

fn escape_wheel(name: &'static str, unit: Unit) -> Fixture {
    let (rise, land, fall) = (-0.02, 0.0125, 0.14);
    let wheel = Wheel {
        teeth: 30,
        tip_radius: 40.0,
        root_radius: 33.0,
        root: TAU / 30.0 - rise - land - fall,
        rise,
        land,
        fall,
        flank_radius: None,
    };
    let crossings = Crossings {
        spokes: 5,
        rim_radius: 29.0,
        hub_radius: 10.0,
        half_width: 2.0,
    };
    let mut sheet = Sheet::new(
        Release::R2000,
        unit,
        &[
            ("WHEEL", "CONTINUOUS"),
            ("CROSSINGS", "CONTINUOUS"),
            ("BORE", "CONTINUOUS"),
        ],
    );
    for piece in wheel.pieces() {
        match piece {
            Piece::Line(from, to) => sheet.line("WHEEL", from, to),
            Piece::Arc(radius, degrees) => sheet.arc("WHEEL", (0.0, 0.0), radius, degrees),
        }
    }
    for window in 0..crossings.spokes {
        sheet.closed_polyline("CROSSINGS", &crossings.window(window));
    }
    sheet.circle("BORE", (0.0, 0.0), 5.0);
    Fixture {
        name,
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "escape wheel of a dead-beat escapement: 30 undercut teeth, five crossings, bore",
            contours: vec![
                wheel.expected("WHEEL"),
                crossings.expected("CROSSINGS"),
                circle("BORE", "opening", 5.0),
            ],
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

fn ratchet() -> Fixture {
    let wheel = Wheel {
        teeth: 24,
        tip_radius: 30.0,
        root_radius: 25.0,
        root: 0.0,
        rise: 0.0,
        land: 0.0,
        fall: TAU / 24.0,
        flank_radius: None,
    };
    let layers = [
        ("RATCHET", "CONTINUOUS"),
        ("SQUARE", "CONTINUOUS"),
        ("CLICK", "CONTINUOUS"),
        ("PIVOT", "CONTINUOUS"),
    ];
    let mut sheet = Sheet::new(Release::R12, Unit::Millimetre, &layers);
    sheet.closed_polyline("RATCHET", &wheel.outline());
    sheet.closed_polyline("SQUARE", &rounded_rectangle_outline((0.0, 0.0), 12.0, 12.0, 0.5));
    // The click: a round end, and two tangents from it that meet in the beak straight above.
    let (pivot, round, reach) = ((44.0, -10.0), 6.0_f64, 28.0_f64);
    let straight = (reach * reach - round * round).sqrt();
    let beak = (straight / reach).asin();
    let touch = (round * beak.sin(), pivot.1 + round * beak.cos());
    sheet.closed_polyline(
        "CLICK",
        &[
            (pivot.0, pivot.1 + reach, 0.0),
            (pivot.0 - touch.0, touch.1, bulge(PI - beak)),
            (pivot.0, pivot.1 - round, bulge(PI - beak)),
            (pivot.0 + touch.0, touch.1, 0.0),
        ],
    );
    sheet.circle("PIVOT", pivot, 2.5);
    Fixture {
        name: "clock/ratchet",
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "ratchet wheel with its winding square, and the click beside it",
            contours: vec![
                wheel.expected("RATCHET"),
                rounded_rectangle("SQUARE", "opening", 12.0, 12.0, 0.5),
                Expected {
                    layer: "CLICK",
                    purpose: "cut",
                    role: "outside",
                    count: 1,
                    perimeter_mm: 2.0 * straight + 2.0 * round * (PI - beak),
                    area_mm2: round * straight + round * round * (PI - beak),
                    formula: "two tangents t = sqrt(c² - r²) and an arc: 2·t + 2·r·(pi - b); r·t + r²·(pi - b), \
                              b = asin(t/c)",
                },
                circle("PIVOT", "opening", 2.5),
            ],
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

fn decorative_hand() -> Fixture {
    let control = [(3.0, 0.0), (9.0, 15.0), (1.5, 30.0), (0.0, 50.0)];
    let mirrored = control.map(|(x, y)| (-x, y));
    let (semi_major, semi_minor) = (6.0, 2.2);
    let mut sheet = Sheet::new(
        Release::R2000,
        Unit::Millimetre,
        &[("HAND", "CONTINUOUS"), ("PIERCING", "CONTINUOUS")],
    );
    sheet.line("HAND", mirrored[0], control[0]);
    sheet.two_span_parabola("HAND", control);
    sheet.two_span_parabola("HAND", mirrored);
    sheet.upright_ellipse("PIERCING", (0.0, 16.0), semi_major, semi_minor);

    let middle = (
        0.5 * (control[1].0 + control[2].0),
        0.5 * (control[1].1 + control[2].1),
    );
    let spans = [[control[0], control[1], middle], [middle, control[2], control[3]]];
    let side: f64 = spans.iter().map(|&span| parabola_length(span)).sum();
    // Area to the right of x = 0 beside each span: its trapezium, plus two thirds of the triangle of its control points.
    let half_area: f64 = spans
        .iter()
        .map(|&[a, b, c]| {
            let trapezium = 0.5 * (a.0 + c.0) * (c.1 - a.1);
            let triangle = 0.5 * ((b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0));
            trapezium + 2.0 / 3.0 * triangle
        })
        .sum();
    Fixture {
        name: "clock/decorative-hand",
        dxf: sheet.into_dxf(),
        answer: Answer {
            about: "decorative hand: two splines and a base line, pierced by an ellipse",
            contours: vec![
                Expected {
                    layer: "HAND",
                    purpose: "cut",
                    role: "outside",
                    count: 1,
                    perimeter_mm: 2.0 * control[0].0 + 2.0 * side,
                    area_mm2: 2.0 * half_area,
                    formula: "base 2·x0 and four parabolas, length in closed form by asinh; trapezia and two thirds \
                              of each control triangle (Archimedes, Quadrature of the Parabola)",
                },
                Expected {
                    layer: "PIERCING",
                    purpose: "cut",
                    role: "opening",
                    count: 1,
                    perimeter_mm: ellipse_perimeter(semi_major, semi_minor),
                    area_mm2: PI * semi_major * semi_minor,
                    formula: "ellipse: 4·a·E(k) by the arithmetic-geometric mean (DLMF 19.8.6, 19.30.5); pi·a·b",
                },
            ],
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0005,
        }
        .to_json(),
    }
}

/// Length of a quadratic Bézier curve: with B'(t) = 2(a·t + b), the integral of its length is that of the square
/// root of a quadratic.
fn parabola_length([start, control, end]: [(f64, f64); 3]) -> f64 {
    let a = (
        start.0 - 2.0 * control.0 + end.0,
        start.1 - 2.0 * control.1 + end.1,
    );
    let b = (control.0 - start.0, control.1 - start.1);
    let (aa, ab, bb) = (
        a.0 * a.0 + a.1 * a.1,
        a.0 * b.0 + a.1 * b.1,
        b.0 * b.0 + b.1 * b.1,
    );
    // |a·t + b|² = aa·((t + m)² + n²)
    let m = ab / aa;
    let n = (bb / aa - m * m).sqrt();
    let integral = |u: f64| 0.5 * (u * u.hypot(n) + n * n * (u / n).asinh());
    2.0 * aa.sqrt() * (integral(1.0 + m) - integral(m))
}

/// Perimeter of an ellipse by the arithmetic-geometric mean, to the last bits of `f64`.
fn ellipse_perimeter(semi_major: f64, semi_minor: f64) -> f64 {
    let (mut a, mut g) = (semi_major, semi_minor);
    let mut weight = 0.5;
    let mut sum = semi_major * semi_major - weight * (semi_major * semi_major - semi_minor * semi_minor);
    // Seven rounds double the digits from the first one past sixteen.
    for _ in 0..7 {
        let half_difference = 0.5 * (a - g);
        (a, g) = (0.5 * (a + g), (a * g).sqrt());
        weight *= 2.0;
        sum -= weight * half_difference * half_difference;
    }
    TAU * sum / a
}
