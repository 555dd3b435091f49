//! Plain shapes whose length and area anyone can reckon by hand.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::Fixture;
use super::answer::{Answer, Expected, circle, rounded_rectangle};
use super::sheet::{Release, Sheet, Unit};
use super::wheel::{Wheel, bulge};

const LAYER: &str = "PROFILE";

/// The plain shapes.
pub(super) fn all() -> Vec<Fixture> {
    vec![
        circle_20(),
        gear_24(),
        keyhole(),
        plate_200_holes(),
        rectangle_40x20(),
        stadium(),
        star(),
    ]
}

/// Vertices with bulges, counter-clockwise, about `center`.
pub(super) fn rounded_rectangle_outline(
    center: (f64, f64),
    width: f64,
    height: f64,
    radius: f64,
) -> Vec<(f64, f64, f64)> {
    let (x, y) = (0.5 * width, 0.5 * height);
    let quarter = bulge(FRAC_PI_2);
    [
        (-x + radius, -y, 0.0),
        (x - radius, -y, quarter),
        (x, -y + radius, 0.0),
        (x, y - radius, quarter),
        (x - radius, y, 0.0),
        (-x + radius, y, quarter),
        (-x, y - radius, 0.0),
        (-x, -y + radius, quarter),
    ]
    .map(|(dx, dy, bulge)| (center.0 + dx, center.1 + dy, bulge))
    .to_vec()
}

fn sheet() -> Sheet {
    Sheet::new(Release::R2000, Unit::Millimetre, &[(LAYER, "CONTINUOUS")])
}

fn fixture(name: &'static str, about: &'static str, sheet: Sheet, contours: Vec<Expected>) -> Fixture {
    Fixture {
        name,
        dxf: sheet.into_dxf(),
        answer: Answer {
            about,
            contours,
            open_length_mm: 0.0,
            open_chains: 0,
            fit_mm: 0.0,
        }
        .to_json(),
    }
}

fn rectangle_40x20() -> Fixture {
    let mut sheet = sheet();
    let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)];
    for i in 0..4 {
        sheet.line(LAYER, corners[i], corners[(i + 1) % 4]);
    }
    let expected = Expected {
        layer: LAYER,
        purpose: "cut",
        role: "outside",
        count: 1,
        perimeter_mm: 120.0,
        area_mm2: 800.0,
        formula: "2·(40 + 20); 40·20",
    };
    fixture(
        "shapes/rectangle-40x20",
        "rectangle of four lines",
        sheet,
        vec![expected],
    )
}

fn circle_20() -> Fixture {
    let mut sheet = sheet();
    sheet.circle(LAYER, (0.0, 0.0), 10.0);
    let expected = circle(LAYER, "outside", 10.0);
    fixture(
        "shapes/circle-20",
        "circle of 20 mm diameter",
        sheet,
        vec![expected],
    )
}

fn stadium() -> Fixture {
    let (radius, straight) = (8.0, 30.0);
    let mut sheet = sheet();
    sheet.line(LAYER, (0.0, -radius), (straight, -radius));
    sheet.arc(LAYER, (straight, 0.0), radius, (270.0, 90.0));
    // Drawn the other way round: chaining has to turn it.
    sheet.line(LAYER, (0.0, radius), (straight, radius));
    sheet.arc(LAYER, (0.0, 0.0), radius, (90.0, 270.0));
    let expected = Expected {
        layer: LAYER,
        purpose: "cut",
        role: "outside",
        count: 1,
        perimeter_mm: 2.0 * straight + TAU * radius,
        area_mm2: 2.0 * radius * straight + PI * radius * radius,
        formula: "2·s + 2·pi·r; 2·r·s + pi·r²",
    };
    fixture(
        "shapes/stadium",
        "two half circles of radius 8 and two lines of 30",
        sheet,
        vec![expected],
    )
}

fn keyhole() -> Fixture {
    let (radius, half, depth) = (8.0_f64, 2.5_f64, 20.0);
    let joint = (radius * radius - half * half).sqrt();
    let angle = (half / radius).asin();
    let mut sheet = sheet();
    sheet.closed_polyline(
        LAYER,
        &[
            (-half, -depth, 0.0),
            (half, -depth, 0.0),
            // In two halves: more than a half turn each would be a bulge above 1.
            (half, -joint, bulge(PI - angle)),
            (0.0, radius, bulge(PI - angle)),
            (-half, -joint, 0.0),
        ],
    );
    let expected = Expected {
        layer: LAYER,
        purpose: "cut",
        role: "outside",
        count: 1,
        perimeter_mm: radius * (TAU - 2.0 * angle) + 2.0 * (depth - joint) + 2.0 * half,
        area_mm2: radius * radius * (PI - angle) + half * joint + 2.0 * half * (depth - joint),
        formula: "R·(2·pi - 2·a) + 2·(t - j) + 2·h; R²·(pi - a) + h·j + 2·h·(t - j), a = asin(h/R), j = sqrt(R² - h²)",
    };
    fixture(
        "shapes/keyhole",
        "circle of radius 8 with a slot of 5 down to 20 below its centre",
        sheet,
        vec![expected],
    )
}

fn star() -> Fixture {
    let star = Wheel {
        teeth: 5,
        tip_radius: 20.0,
        root_radius: 8.0,
        root: 0.0,
        rise: PI / 5.0,
        land: 0.0,
        fall: PI / 5.0,
        flank_radius: None,
    };
    let mut sheet = sheet();
    sheet.closed_polyline(LAYER, &star.outline());
    fixture(
        "shapes/star",
        "star of five points, radii 20 and 8",
        sheet,
        vec![star.expected(LAYER)],
    )
}

fn gear_24() -> Fixture {
    let (flank, land) = (0.045, 0.05);
    let gear = Wheel {
        teeth: 24,
        tip_radius: 26.0,
        root_radius: 21.5,
        root: TAU / 24.0 - land - 2.0 * flank,
        rise: flank,
        land,
        fall: flank,
        flank_radius: Some(9.0),
    };
    let mut sheet = sheet();
    sheet.closed_polyline(LAYER, &gear.outline());
    fixture(
        "shapes/gear-24",
        "gear of module 2 with 24 teeth, flanks as arcs",
        sheet,
        vec![gear.expected(LAYER)],
    )
}

fn plate_200_holes() -> Fixture {
    let mut sheet = sheet();
    sheet.closed_polyline(
        LAYER,
        &rounded_rectangle_outline((150.0, 75.0), 320.0, 170.0, 8.0),
    );
    for column in 0..20 {
        for row in 0..10 {
            let center = (7.5 + 15.0 * f64::from(column), 7.5 + 15.0 * f64::from(row));
            sheet.circle(LAYER, center, 3.0);
        }
    }
    let holes = Expected {
        count: 200,
        ..circle(LAYER, "opening", 3.0)
    };
    let plate = rounded_rectangle(LAYER, "outside", 320.0, 170.0, 8.0);
    fixture(
        "shapes/plate-200-holes",
        "plate with 200 holes of 6 mm",
        sheet,
        vec![plate, holes],
    )
}
