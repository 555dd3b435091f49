//! What is asked of contours made for the test; drawings of the workshop are held in `tests/all/questions.rs`.

use super::*;
use crate::contour::tests::{drawing, sides};
use crate::contour::{Role, chain};
use crate::geometry::{Point, Polyline};
use crate::job::Reading;
use crate::shop::Book;

fn read(drawing: &Drawing, uses: &Purposes) -> (Contours, Questions) {
    let mut contours = chain(drawing, &Reading::default(), uses);
    let book = Book::built_in().expect("the built-in book is sound");
    let questions = find(drawing, &mut contours, uses, &book.rules);
    (contours, questions)
}

/// Each contour's side and where it comes from, when the first one, around the others, is taken for `purpose`.
fn with_first_as(
    drawing: &Drawing,
    purpose: Purpose,
    given: &[(ContourId, Purpose)],
) -> Vec<(Role, SideFrom)> {
    let mut uses = Purposes::default();
    uses.contours.insert(ContourId::nth(1), purpose);
    uses.contours.extend(given.iter().copied());
    let (made, _) = read(drawing, &uses);
    made.list.iter().map(|c| (c.role, c.side_from)).collect()
}

/// A plate with an opening in which a core stands.
#[test]
fn a_side_is_never_turned_round_in_silence() {
    use SideFrom::{Drawn, Given, Unclear};
    let mut curves = sides(0.0, 0.0, 40.0, 40.0);
    curves.extend(sides(12.0, 12.0, 28.0, 28.0));
    curves.extend(sides(16.0, 16.0, 24.0, 24.0));
    let drawing = drawing(curves);
    let (opening, core) = (Role::Opening, Role::Outside);
    for edge in [Purpose::Cut, Purpose::Existing, Purpose::NotNow, Purpose::Part] {
        let sides = with_first_as(&drawing, edge, &[]);
        assert_eq!(sides[1..], [(opening, Drawn), (core, Drawn)], "{edge:?}");
    }
    for none in [
        Purpose::Reference,
        Purpose::Ignore,
        Purpose::Frame,
        Purpose::Blank,
    ] {
        let sides = with_first_as(&drawing, none, &[]);
        assert_eq!([sides[1].1, sides[2].1], [Unclear, Unclear], "{none:?}");
        // The way out: the side of the outer one, from which that of the inner one follows.
        let given = with_first_as(&drawing, none, &[(ContourId::nth(2), Purpose::Opening)]);
        assert_eq!(given[1..], [(opening, Given), (core, Drawn)], "{none:?}");
        let given = with_first_as(&drawing, none, &[(ContourId::nth(2), Purpose::Part)]);
        assert_eq!(given[1..], [(core, Given), (opening, Drawn)], "{none:?}");
    }
}

/// A sheet frame of A4 by ISO 5457, trimmed size 210 × 297 mm by ISO 216, is no edge where it is given as none; where it is only
/// not to be cut, it is asked for.
#[test]
fn a_frame_turns_nothing_round() {
    let around = |width: f64, height: f64| {
        let mut curves = sides(0.0, 0.0, width, height);
        for (layer, _) in &mut curves {
            *layer = "SIDES";
        }
        curves.push(("CUT", Polyline::circle(Point::new(60.0, 60.0), 20.0)));
        curves.push(("CUT", Polyline::circle(Point::new(60.0, 60.0), 5.0)));
        drawing(curves)
    };
    let as_given = |purpose| Purposes {
        layers: [("SIDES".to_owned(), purpose)].into(),
        ..Purposes::default()
    };
    let asked = |drawing: &Drawing, uses: &Purposes| -> Vec<QuestionKind> {
        let (_, questions) = read(drawing, uses);
        questions.list.iter().map(|question| question.kind).collect()
    };
    for purpose in [Purpose::Ignore, Purpose::Reference, Purpose::Frame] {
        let (made, questions) = read(&around(210.0, 297.0), &as_given(purpose));
        let part = made
            .list
            .iter()
            .find(|c| c.purpose == Purpose::Cut)
            .expect("the part");
        assert_eq!(
            (part.role, part.side_from),
            (Role::Outside, SideFrom::Drawn),
            "{purpose:?}"
        );
        assert!(questions.list.is_empty(), "{purpose:?}");
        // A rectangle of no sheet's size or proportions may be a plate.
        assert_eq!(
            asked(&around(213.0, 290.0), &as_given(purpose)),
            [QuestionKind::SideTurned],
            "{purpose:?}"
        );
    }
    let cut_layers = Purposes {
        cut_layers: vec!["CUT".to_owned()],
        ..Purposes::default()
    };
    assert_eq!(
        asked(&around(210.0, 297.0), &cut_layers),
        [QuestionKind::FrameOrPart]
    );
    // Concentric circles in a plate are asked for wherever the plate is given as one.
    assert_eq!(
        asked(&around(213.0, 290.0), &cut_layers),
        [QuestionKind::Counterbore]
    );
}
