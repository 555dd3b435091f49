use std::f64::consts::{FRAC_PI_2, PI};

use crate::estimate::Order;
use crate::job::{Demand, Demands, Finish, Nozzles, Prefer, Tolerance};
use crate::plan::{Constraints, DemandGroups, Inspection, Planner, choose, group_by_demand};
use crate::shop::Book;

/// A 60 × 40 plate with a Ø25 bore on layer DIE and a square window of 5 mm with radii of 1 mm at two of its corners.
fn plate() -> Inspection {
    let head = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n";
    let bore = "0\nCIRCLE\n8\nDIE\n10\n20\n20\n20\n40\n12.5\n";
    let bulge = f64::tan(FRAC_PI_2 / 4.0);
    let plate = [
        (0.0, 0.0, 0.0),
        (60.0, 0.0, 0.0),
        (60.0, 40.0, 0.0),
        (0.0, 40.0, 0.0),
    ];
    let window = [
        (45.0, 10.0, 0.0),
        (50.0, 10.0, 0.0),
        (50.0, 14.0, bulge),
        (49.0, 15.0, 0.0),
        (46.0, 15.0, bulge),
        (45.0, 14.0, 0.0),
    ];
    let loops = polyline(&plate) + &polyline(&window);
    let text = format!("{head}{bore}{loops}0\nENDSEC\n0\nEOF\n");
    let book = Book::built_in().expect("the built-in book is sound");
    Planner::new(&book)
        .inspect("plate.dxf", text.as_bytes())
        .expect("a sound drawing")
}

fn polyline(vertices: &[(f64, f64, f64)]) -> String {
    let point = |(x, y, bulge): &(f64, f64, f64)| format!("10\n{x}\n20\n{y}\n42\n{bulge}\n");
    let points = vertices.iter().map(point).collect::<Vec<_>>().concat();
    format!("0\nLWPOLYLINE\n8\nPART\n90\n{}\n70\n1\n{points}", vertices.len())
}

fn sorted(inspection: &Inspection, demands: &Demands, book: &Book) -> DemandGroups {
    let drawing = &inspection.drawing;
    let layer_of = |contour: &crate::contour::Contour| {
        let curve = &drawing.curves[contour.curves[0]];
        drawing.layers[curve.origin.layer as usize].name.as_str()
    };
    group_by_demand(&inspection.contours, layer_of, demands, book).expect("sound demands")
}

fn die_and_part() -> Demands {
    Demands {
        all: Demand {
            finish: Some(Finish::parse("Ra 3.0").expect("a finish")),
            ..Demand::default()
        },
        layers: [(
            "die".to_owned(),
            Demand {
                tolerance: Some(Tolerance::parse("25H7").expect("a fit")),
                ..Demand::default()
            },
        )]
        .into(),
        contours: [].into(),
    }
}

#[test]
fn contours_are_sorted_by_what_is_asked() {
    let book = Book::built_in().expect("sound");
    let sorted = sorted(&plate(), &die_and_part(), &book);
    assert_eq!((sorted.demand_groups.len(), sorted.extent_mm), (2, [60.0, 40.0]));
    let die = sorted
        .demand_groups
        .iter()
        .find(|outline| outline.requirement.limits.is_some())
        .expect("the bore");
    assert_eq!(
        (die.roughed.openings, die.roughed.outsides, die.size_mm),
        (1, 0, 25.0)
    );
    assert!((die.roughed.length_mm - 25.0 * PI).abs() < 1e-9);
    assert!((die.requirement.aim_mm - 0.005_25).abs() < 1e-12);
    assert_eq!(die.min_inside_radius_mm, Some(12.5));
    let part = sorted
        .demand_groups
        .iter()
        .find(|outline| outline.requirement.limits.is_none())
        .expect("the rest");
    assert_eq!((part.roughed.openings, part.roughed.outsides), (1, 1));
    assert!(
        part.min_inside_radius_mm
            .is_some_and(|mm| (mm - 1.0).abs() < 1e-9)
    );
    assert!(
        part.sharpest_inside_corner_rad
            .is_some_and(|rad| (rad - FRAC_PI_2).abs() < 1e-9)
    );
    // Four corners of the plate and two of the window are sharp; each contour is threaded once at the least, and each opening
    // is started from a hole.
    assert_eq!(
        (
            sorted.work.rough_corners,
            sorted.work.start_holes,
            sorted.work.threads
        ),
        (6, 2, 3)
    );
}

#[test]
fn a_fit_on_the_wrong_side_and_a_missing_demand_are_said() {
    let book = Book::built_in().expect("sound");
    let mut demands = die_and_part();
    demands.all.tolerance = Some(Tolerance::parse("g6").expect("a fit"));
    let words = sorted(&plate(), &demands, &book).assumptions;
    // The window is an opening, and g6 is a shaft.
    assert_eq!(words.iter().filter(|words| words.contains("g6")).count(), 1);
    let words = sorted(&plate(), &Demands::default(), &book).assumptions;
    assert_eq!(
        words
            .iter()
            .filter(|words| words.contains("default requirement"))
            .count(),
        1
    );
}

#[test]
fn a_die_and_its_plate_get_their_own_passes() {
    let book = Book::built_in().expect("sound");
    let sorted = sorted(&plate(), &die_and_part(), &book);
    let order = Order {
        quantity: 1,
        pieces_per_load: 1,
        drawn: 1,
    };
    let steel = book.material("tool-steel").expect("in the book");
    let input = crate::plan::SelectionInput::new(&sorted, &book, steel, 20.0, Nozzles::Sealed, order);
    // 60 × 40 × 20 mm at 7.7 g/cm³.
    assert!(input.blank.mass_kg.is_some_and(|kg| (kg - 0.3696).abs() < 1e-9));
    let brass = Constraints {
        wire_mm: Some(0.25),
        wire_kind: Some("brass".to_owned()),
        machine: None,
    };
    let first = choose(&input, &brass, Prefer::Time).into_iter().next();
    let taken = first.filter(|first| first.feasible).expect("one is taken");
    let by_group: Vec<(Option<f64>, usize)> = sorted
        .demand_groups
        .iter()
        .zip(&taken.passes_by_group)
        .map(|(outline, passes)| (outline.requirement.ra_um, *passes))
        .collect();
    assert!(
        by_group.contains(&(Some(3.0), 1)) && by_group.iter().any(|(_, passes)| *passes >= 3),
        "{by_group:?}"
    );
    // Geometry: 0.130 / sin 45° − 0.130 is 53.8 µm with four passes; the plate's one pass leaves more.
    assert!(
        taken
            .unreached_um
            .is_some_and(|um| (um - 165.0 * (2.0_f64.sqrt() - 1.0)).abs() < 0.01)
    );
}
