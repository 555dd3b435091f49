//! The blank, its edge and its clamps against measures worked by hand.

use crate::contour::{self, Contours};
use crate::geometry::{Point, Polyline};
use crate::id::{ContourId, GroupId, PassNo};
use crate::job::{BlankSize, Purpose, Purposes, Reading, Side, Workholding};
use crate::process::{BlankFaults, BlankOrigin, RawBlank};
use crate::shop::{Book, HoldingRule};
use crate::toolpath::{Proposer, WireLoop};

fn rule() -> HoldingRule {
    Book::built_in()
        .expect("the built-in book is sound")
        .rules
        .holding
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Polyline {
    Polyline::closed([
        (x, y, 0.0),
        (x + width, y, 0.0),
        (x + width, y + height, 0.0),
        (x, y + height, 0.0),
    ])
}

fn contours(curves: Vec<(&'static str, Polyline)>) -> Contours {
    let uses = Purposes {
        layers: [("blank".to_owned(), Purpose::Blank)].into(),
        ..Purposes::default()
    };
    contour::build(&contour::tests::drawing(curves), &Reading::default(), &uses)
}

fn bounds(blank: &RawBlank) -> (f64, f64, f64, f64) {
    let b = blank.outline.bounds();
    (b.min.x, b.min.y, b.max.x, b.max.y)
}

#[test]
fn the_drawn_blank_goes_before_one_that_is_given() {
    let list = contours(vec![
        ("blank", rectangle(0.0, 0.0, 60.0, 40.0)),
        ("cut", rectangle(20.0, 10.0, 30.0, 20.0)),
    ]);
    let given = |blank| Workholding {
        blank,
        ..Workholding::default()
    };
    let drawn = RawBlank::new(&list, &given(Some(BlankSize::Margin(5.0))), &rule()).expect("it is drawn");
    assert_eq!(
        (drawn.origin, bounds(&drawn)),
        (BlankOrigin::Drawn, (0.0, 0.0, 60.0, 40.0))
    );
    let list = contours(vec![("cut", rectangle(20.0, 10.0, 30.0, 20.0))]);
    assert!(RawBlank::new(&list, &Workholding::default(), &rule()).is_none());
    let sized =
        RawBlank::new(&list, &given(Some(BlankSize::Size([50.0, 30.0]))), &rule()).expect("it is given");
    assert_eq!(
        (sized.origin, bounds(&sized)),
        (BlankOrigin::Sized, (10.0, 5.0, 60.0, 35.0))
    );
    let margin = RawBlank::new(&list, &given(Some(BlankSize::Margin(5.0))), &rule()).expect("it is given");
    assert_eq!(
        (margin.origin, bounds(&margin)),
        (BlankOrigin::Margin, (15.0, 5.0, 55.0, 35.0))
    );
}

/// A blank does not turn what lies in it round: a part in it stays a part, its opening an opening.
#[test]
fn a_blank_does_not_count_when_contours_are_nested() {
    let part = || rectangle(20.0, 10.0, 30.0, 20.0);
    let opening = || Polyline::circle(Point::new(35.0, 20.0), 5.0);
    let alone = contours(vec![("cut", part()), ("cut", opening())]);
    let held = contours(vec![
        ("blank", rectangle(0.0, 0.0, 60.0, 40.0)),
        ("cut", part()),
        ("cut", opening()),
    ]);
    let roles = |list: &Contours| -> Vec<_> {
        let cut = list.list.iter().filter(|c| c.purpose == Purpose::Cut);
        cut.map(|c| (c.role, c.depth)).collect()
    };
    assert_eq!(roles(&alone), roles(&held));
    assert_eq!(roles(&held).len(), 2);
}

const REACH: f64 = 0.165;

/// What is wrong with one loop round or in a contour, on a blank of 60 × 40 clamped 10 mm deep at `side`.
fn faults(part: Polyline, path: Polyline, side: Side) -> BlankFaults {
    let list = contours(vec![("blank", rectangle(0.0, 0.0, 60.0, 40.0)), ("cut", part)]);
    let holding = Workholding {
        clamp: Some(side),
        clamp_depth_mm: Some(10.0),
        ..Workholding::default()
    };
    let blank = RawBlank::new(&list, &holding, &rule()).expect("it is drawn");
    let loops = [WireLoop {
        contour: ContourId::nth(2),
        group: GroupId::FIRST,
        pass: PassNo::FIRST,
        length_mm: path.length(),
        polyline: path,
        verified_mm: 0.0,
        proposer: Proposer::Arcs,
        engagement: Vec::new(),
        open: None,
    }];
    blank.faults(&list, &loops, &[], REACH, 3.0)
}

#[test]
fn each_clamped_side_takes_its_own_strip() {
    let part = || rectangle(12.0, 12.0, 36.0, 16.0);
    for side in [Side::Left, Side::Right, Side::Top, Side::Bottom] {
        assert_eq!(faults(part(), part(), side), BlankFaults::default(), "{side:?}");
    }
    // A round part of radius 12 about (30, 20): 8 from bottom and top, 18 from the others.
    let round = || Polyline::circle(Point::new(30.0, 20.0), 12.0);
    for (side, expected) in [
        (Side::Left, None),
        (Side::Right, None),
        (Side::Top, Some(Point::new(30.0, 32.0))),
        (Side::Bottom, Some(Point::new(30.0, 8.0))),
    ] {
        let found = faults(round(), round(), side).clamped;
        let at = found.first().map(|fault| fault.at);
        assert_eq!(at.is_some(), expected.is_some(), "{side:?}");
        if let (Some(at), Some(expected)) = (at, expected) {
            assert!(at.distance(expected) < 1e-9, "{side:?}: {at:?}");
            assert!((found[0].found_mm - (2.0 + REACH)).abs() < 1e-9);
        }
    }
}

#[test]
fn what_reaches_out_is_told_at_its_worst_place() {
    // A half disc stands on y = 32: its top is at 44, its ends lie within.
    let dome = || Polyline::closed([(18.0, 32.0, 0.0), (42.0, 32.0, 1.0)]);
    let found = faults(dome(), dome(), Side::Left).outside;
    assert_eq!(found.len(), 1);
    assert!((found[0].found_mm - 4.0).abs() < 1e-9 && found[0].at.distance(Point::new(30.0, 44.0)) < 1e-9);
    // A hole round the middle of the blank lies within, though no edge is near its middle.
    let inner = rectangle(20.0, 10.0, 20.0, 20.0);
    assert_eq!(faults(inner.clone(), inner, Side::Left), BlankFaults::default());
}

#[test]
fn the_edge_is_measured_from_the_kerf() {
    // The path runs at x = 56: its kerf reaches to 56.165, so 3.835 are left of 60; at 57.5 it is 2.335.
    let far = rectangle(20.0, 10.0, 36.0, 20.0);
    assert_eq!(faults(far.clone(), far, Side::Left).near_edge, []);
    let near = rectangle(20.0, 10.0, 37.5, 20.0);
    let found = faults(near.clone(), near, Side::Left).near_edge;
    assert_eq!(found.len(), 1);
    assert!((found[0].found_mm - (2.5 - REACH)).abs() < 1e-9);
}
