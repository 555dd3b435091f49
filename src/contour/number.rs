//! Lines become contours with numbers.

use rayon::prelude::*;

use super::draft::DraftContour;
use super::purposes::PurposeRules;
use super::{Contour, PurposeFrom, Role, SideFrom, purposes};
use crate::cancel::{asking, checkpoint};
use crate::drawing::Drawing;
use crate::id::ContourId;
use crate::job::{Purpose, Purposes};

/// The contours of all lines, not yet nested.
pub(super) struct Numbered {
    /// In the order of their numbers.
    pub list: Vec<Contour>,
    /// Number by the place among the lines drawn as cut; `None` where the user has more cut than those.
    pub places: Option<Vec<ContourId>>,
}

/// What a line is for.
#[derive(Clone, Copy)]
pub(super) struct LinePurpose {
    /// A side, where one is given.
    purpose: Purpose,
    from: PurposeFrom,
    /// Another of its curves is given the other side.
    contradicted: bool,
    /// The side given for a line that repeats another.
    repeats: Option<Purpose>,
}

impl LinePurpose {
    const fn of(purpose: Purpose, from: PurposeFrom) -> Self {
        Self {
            purpose,
            from,
            contradicted: false,
            repeats: None,
        }
    }

    fn is_cut(self) -> bool {
        self.purpose == Purpose::Cut || self.purpose.is_side()
    }

    fn side(self) -> Option<Role> {
        side_of(self.purpose)
    }
}

fn side_of(purpose: Purpose) -> Option<Role> {
    match purpose {
        Purpose::Part => Some(Role::Outside),
        Purpose::Opening => Some(Role::Opening),
        _ => None,
    }
}

/// Numbers lines, each with its purpose and its place among those of that purpose, in the order of the drawing, and makes each
/// what the user says that it is.
pub(super) fn number(
    mut lines: Vec<(Purpose, usize, DraftContour)>,
    drawing: &Drawing,
    rules: &PurposeRules<'_>,
    uses: &Purposes,
) -> Numbered {
    let first = |line: &(Purpose, usize, DraftContour)| (line.2.curves.iter().min().copied(), line.0, line.1);
    lines.sort_unstable_by(asking(|a, b| first(a).cmp(&first(b))));
    // What repeats another loop is listed and measured, but not cut again.
    let drawn = |purpose: Purpose, line: &DraftContour| {
        checkpoint();
        let (_, from) = rules.purpose_of(&drawing.curves[line.curves[0]]);
        match purpose {
            _ if line.double => LinePurpose {
                repeats: rules.side_of(drawing, &line.curves).map(|(side, ..)| side),
                ..LinePurpose::of(Purpose::Ignore, PurposeFrom::Repeats)
            },
            Purpose::Cut => match rules.side_of(drawing, &line.curves) {
                Some((purpose, from, contradicted)) => LinePurpose {
                    purpose,
                    from,
                    contradicted,
                    repeats: None,
                },
                None if purposes::is_start_hole(&line.polyline, uses) => {
                    LinePurpose::of(Purpose::StartHole, PurposeFrom::Size)
                }
                None => LinePurpose::of(purpose, from),
            },
            _ => LinePurpose::of(purpose, from),
        }
    };
    let given = |id: ContourId, drawn: LinePurpose| match uses.contours.get(&id) {
        Some(&purpose) => LinePurpose::of(purpose, PurposeFrom::Contour),
        None => drawn,
    };
    let mut places = Vec::new();
    let mut made_cut = false;
    for (i, (purpose, place, line)) in lines.iter().enumerate() {
        let (id, drawn) = (ContourId::from_index(i), drawn(*purpose, line));
        if *purpose == Purpose::Cut {
            places.push((*place, id));
        }
        made_cut |= !drawn.is_cut() && given(id, drawn).is_cut();
    }
    places.sort_unstable_by(asking(Ord::cmp));
    let places = places.into_iter().map(|(_, id)| id);
    let numbered = lines.into_par_iter().enumerate();
    let list = numbered.map(|(i, (purpose, _, line))| {
        let id = ContourId::from_index(i);
        let purpose = given(id, drawn(purpose, &line));
        contour(id, purpose, line)
    });
    Numbered {
        list: list.collect(),
        places: (!made_cut).then(|| places.collect()),
    }
}

/// Makes a contour of a line, counter-clockwise and not yet nested.
fn contour(id: ContourId, purpose: LinePurpose, line: DraftContour) -> Contour {
    let side = purpose.side();
    let mut polyline = line.polyline;
    let mut sources = line.sources;
    let area = polyline.area();
    if area < 0.0 {
        polyline = polyline.reversed();
        // Vertex 0 stays, so the last segment becomes the first.
        sources.reverse();
    }
    Contour {
        id,
        curves: line.curves,
        sources,
        role: side.filter(|_| polyline.closed).unwrap_or(Role::Open),
        keep: None,
        width_mm: None,
        side_from: match side {
            Some(_) if purpose.contradicted => SideFrom::Unclear,
            Some(_) => SideFrom::Given,
            None => SideFrom::Drawn,
        },
        ruled_side: (purpose.repeats.and_then(side_of))
            .or(side)
            .filter(|_| purpose.from != PurposeFrom::Contour),
        purpose: if purpose.is_cut() {
            Purpose::Cut
        } else {
            purpose.purpose
        },
        purpose_from: purpose.from,
        depth: 0,
        parent: None,
        perimeter_mm: polyline.length(),
        area_mm2: area.abs(),
        bounds: polyline.bounds(),
        min_inside_radius_mm: None,
        min_inside_radius_at: None,
        sharp_inside_corners: Vec::new(),
        narrowest_slot: None,
        thinnest_wall: None,
        branched: line.branched,
        polyline,
    }
}
