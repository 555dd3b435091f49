//! Lines become contours with numbers.

use rayon::prelude::*;

use super::draft::DraftContour;
use super::{Contour, Role, SideFrom, purposes};
use crate::id::ContourId;
use crate::job::{Purpose, Purposes};

/// The contours of all lines, not yet nested.
pub(super) struct Numbered {
    /// In the order of their numbers.
    pub list: Vec<Contour>,
    /// Number by the place among the lines drawn as cut; `None` where the user has more cut than those.
    pub places: Option<Vec<ContourId>>,
}

/// Numbers lines, each with its purpose and its place among those of that purpose, in the order of the drawing, and makes each
/// what the user says that it is.
pub(super) fn number(mut lines: Vec<(Purpose, usize, DraftContour)>, uses: &Purposes) -> Numbered {
    lines
        .sort_unstable_by_key(|(purpose, place, line)| (line.curves.iter().min().copied(), *purpose, *place));
    // What repeats another loop is listed and measured, but not cut again.
    let drawn = |purpose: Purpose, line: &DraftContour| match purpose {
        _ if line.double => Purpose::Ignore,
        Purpose::Cut if purposes::is_start_hole(&line.polyline, uses) => Purpose::StartHole,
        purpose => purpose,
    };
    let said = |id: ContourId, drawn: Purpose| uses.contours.get(&id).copied().unwrap_or(drawn);
    let mut places = Vec::new();
    let mut made_cut = false;
    for (i, (purpose, place, line)) in lines.iter().enumerate() {
        let (id, drawn) = (ContourId::from_index(i), drawn(*purpose, line));
        if *purpose == Purpose::Cut {
            places.push((*place, id));
        }
        made_cut |= drawn != Purpose::Cut && cut_side(said(id, drawn)).0 == Purpose::Cut;
    }
    places.sort_unstable();
    let places = places.into_iter().map(|(_, id)| id);
    let numbered = lines.into_par_iter().enumerate();
    let list = numbered.map(|(i, (purpose, _, line))| {
        let id = ContourId::from_index(i);
        let (purpose, side) = cut_side(said(id, drawn(purpose, &line)));
        contour(id, purpose, side, line)
    });
    Numbered {
        list: list.collect(),
        places: (!made_cut).then(|| places.collect()),
    }
}

/// What is cut, with its side where one is given.
fn cut_side(purpose: Purpose) -> (Purpose, Option<Role>) {
    match purpose {
        Purpose::Part => (Purpose::Cut, Some(Role::Outside)),
        Purpose::Opening => (Purpose::Cut, Some(Role::Opening)),
        other => (other, None),
    }
}

/// Makes a contour of a line, counter-clockwise and not yet nested.
fn contour(id: ContourId, purpose: Purpose, side: Option<Role>, line: DraftContour) -> Contour {
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
        side_from: match side {
            Some(_) => SideFrom::Given,
            None => SideFrom::Drawn,
        },
        purpose,
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
