//! The overload line: where a skim meets more stock than it is meant to. More of it is a broader and a darker line, so
//! that grey paper and every eye tell the steps apart.

use std::fmt::Write as _;

use svg::node::element::{Group, Title};

use super::detail::Detail;
use super::sheet::{Area, coordinate, group, path};
use super::view::View;
use crate::contour::Contour;
use crate::geometry::{Polyline, Vertex};
use crate::id::ContourId;
use crate::message::number::fixed;
use crate::message::{Lengths, Message, message, um_of_mm};
use crate::plan::Plan;
use crate::toolpath::{Engagement, Overload, WireLoop};

/// From how many times the stock meant on each step begins. Below the first a line would say nothing; from the second
/// on the check `skim-overload` speaks, as the built-in book has its limit.
pub(super) const STEPS: [f64; 3] = [1.1, 1.5, 2.5];

/// Runs and places up to which each has a hover text.
const FEW: usize = 400;

/// A stretch or a place on the overload line.
struct Met<'a> {
    step: usize,
    shape: OverloadShape<'a>,
    hover: Message,
}

enum OverloadShape<'a> {
    Run(Polyline),
    Place(&'a Overload),
}

/// Class of the lines of a step.
pub(super) fn class(step: usize) -> String {
    format!("heat heat-{}", step + 1)
}

/// Returns the highest step that any skim reaches.
pub(super) fn highest(plan: &Plan) -> Option<usize> {
    met(plan, |_| true).map(|met| met.step).max()
}

/// Draws the overload line of the whole part, the highest step on top.
pub(super) fn part(plan: &Plan, view: &View, detail: Detail, lengths: Lengths) -> Group {
    let all: Vec<Met<'_>> = met(plan, |_| true).collect();
    let mut drawn = group("engagement");
    for step in 0..STEPS.len() {
        let of_step = all.iter().filter(|met| met.step == step);
        let data = |met: &Met<'_>| match &met.shape {
            OverloadShape::Run(run) => detail.data(view, run),
            OverloadShape::Place(overload) => place(view, overload),
        };
        let level = group(&format!("engagement-{}", step + 1));
        drawn = drawn.add(if detail.is_all() && all.len() <= FEW {
            of_step.fold(level, |level, met| {
                level.add(path(&class(step), data(met), Some(met.hover.shown(lengths))))
            })
        } else {
            let data: String = of_step.map(data).collect();
            if data.is_empty() {
                level
            } else {
                level.add(path(&class(step), data, None))
            }
        });
    }
    drawn.add(Title::new("where skims meet more stock than planned"))
}

/// Draws the overload line of one contour, as far as the view shows it.
pub(super) fn inset(plan: &Plan, contour: &Contour, view: &View, lengths: Lengths) -> Group {
    let mut all: Vec<Met<'_>> = met(plan, |id| id == contour.id).collect();
    all.sort_by_key(|met| met.step);
    let data = |met: &Met<'_>| match &met.shape {
        OverloadShape::Run(run) => view.clipped(run, 1.0).map(|(data, _)| data),
        OverloadShape::Place(overload) => {
            let at = view.place(overload.at);
            // A dot at the edge of the window would reach over it.
            let inside = view.area.inset(1.3, 1.3, 1.3, 1.3);
            inside
                .contains(Area::new(at.x, at.y, 0.0, 0.0))
                .then(|| place(view, overload))
        }
    };
    all.iter().fold(Group::new(), |drawn, met| match data(met) {
        Some(data) => drawn.add(path(&class(met.step), data, Some(met.hover.shown(lengths)))),
        None => drawn,
    })
}

/// Returns a dot where a skim meets most.
fn place(view: &View, overload: &Overload) -> String {
    let at = view.place(overload.at);
    let mut data = String::new();
    let _ = write!(data, "M{} {}h0", coordinate(at.x), coordinate(at.y));
    data
}

/// What the skims of some contours meet: stretches first, then places.
fn met(plan: &Plan, of: impl Fn(ContourId) -> bool + Copy) -> impl Iterator<Item = Met<'_>> {
    let runs = plan
        .toolpaths
        .loops
        .iter()
        .filter(move |wire| !wire.pass.is_rough() && of(wire.contour))
        .flat_map(runs);
    let places = plan
        .toolpaths
        .overloads
        .iter()
        .filter(move |overload| of(overload.contour));
    let places = places.filter_map(|overload| {
        Some(Met {
            step: step(overload.met_mm / overload.meant_mm)?,
            shape: OverloadShape::Place(overload),
            hover: message!(
                "contour {}, pass {}: {} of stock met, {} planned",
                overload.contour,
                overload.pass,
                um_of_mm(overload.met_mm).at_most(1),
                um_of_mm(overload.meant_mm).at_most(1)
            ),
        })
    });
    runs.chain(places)
}

/// Returns the stretches of a path on which the same step is met.
fn runs(wire: &WireLoop) -> Vec<Met<'_>> {
    let segments = wire.polyline.segments().zip(&wire.engagement);
    let stepped: Vec<_> = segments
        .filter_map(|(segment, met)| Some((step(met.factor)?, segment, *met)))
        .collect();
    let together = |a: &(usize, crate::geometry::Segment, Engagement),
                    b: &(_, crate::geometry::Segment, _)| {
        a.0 == b.0 && a.1.to == b.1.from
    };
    stepped
        .chunk_by(together)
        .map(|run| {
            let mut vertices: Vec<Vertex> = run
                .iter()
                .map(|(_, segment, _)| Vertex {
                    at: segment.from,
                    bulge: segment.bulge,
                })
                .collect();
            vertices.extend(run.last().map(|(_, segment, _)| Vertex {
                at: segment.to,
                bulge: 0.0,
            }));
            let most = run.iter().map(|(_, _, met)| met.factor).fold(0.0, f64::max);
            Met {
                step: run[0].0,
                shape: OverloadShape::Run(Polyline {
                    vertices,
                    closed: false,
                }),
                hover: message!(
                    "contour {}, pass {}: {} times the planned stock",
                    wire.contour,
                    wire.pass,
                    fixed(most, 2)
                ),
            }
        })
        .collect()
}

fn step(times: f64) -> Option<usize> {
    STEPS.iter().rposition(|from| times >= *from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;
    use crate::id::{GroupId, PassNo};
    use crate::toolpath::Proposer;

    #[test]
    fn neighbours_of_one_step_are_one_stretch() {
        let square = Polyline::closed([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (1.0, 1.0, 0.0), (0.0, 1.0, 0.0)]);
        let times = [1.2, 1.3, 1.0, 3.0];
        let wire = WireLoop {
            contour: ContourId::FIRST,
            group: GroupId::FIRST,
            pass: PassNo::nth(2),
            length_mm: square.length(),
            verified_mm: 0.0,
            proposer: Proposer::Arcs,
            open: None,
            engagement: times
                .map(|factor| Engagement {
                    factor,
                    stock_mm: None,
                })
                .to_vec(),
            polyline: square,
        };
        let runs = runs(&wire);
        let shapes: Vec<(usize, usize)> = runs
            .iter()
            .map(|met| match &met.shape {
                OverloadShape::Run(run) => (met.step, run.segment_count()),
                OverloadShape::Place(_) => unreachable!("a path has stretches only"),
            })
            .collect();
        assert_eq!(shapes, [(0, 2), (2, 1)]);
        let OverloadShape::Run(first) = &runs[0].shape else {
            unreachable!()
        };
        assert_eq!(first.vertices[2].at, Point::new(1.0, 1.0));
        assert_eq!(step(1.09), None);
        assert_eq!(step(1.5), Some(1));
    }
}
