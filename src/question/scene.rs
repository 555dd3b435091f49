//! Looks up what the questions hang on: circles, what lies directly inside what, names.

use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::{PI, TAU};

use crate::contour::{
    ClosedLine, Contour, Contours, Enclosing, Facts, NestView, PurposeFrom, Role, SideFrom,
};
use crate::drawing::{Drawing, Origin};
use crate::geometry::{Bounds, BoxIndex, Point};
use crate::id::ContourId;
use crate::job::{Purpose, Purposes};
use crate::shop::Rules;
use crate::tolerance::{CONCENTRIC_MM, LOOKS_ROUND_SHARE};

/// A contour that is a full circle.
#[derive(Clone, Copy, Debug)]
pub(super) struct FullCircle {
    pub center: Point,
    pub radius_mm: f64,
}

impl FullCircle {
    pub(super) fn of(line: NestView<'_>) -> Option<Self> {
        let (length, area) = (line.polyline.length(), line.area_mm2);
        // Nothing else encloses as much with its length.
        let round = line.polyline.closed && 4.0 * PI * area >= (1.0 - LOOKS_ROUND_SHARE) * length * length;
        round.then(|| Self {
            center: line.bounds.center(),
            radius_mm: length / TAU,
        })
    }

    pub(super) fn is_concentric(self, other: Self) -> bool {
        self.center.distance(other.center) <= CONCENTRIC_MM
    }
}

/// A drawing with its contours.
pub(super) struct Scene<'a> {
    pub drawing: &'a Drawing,
    pub contours: &'a Contours,
    pub list: &'a [Contour],
    /// Closed lines that are left out altogether.
    pub left_out: &'a [ClosedLine],
    pub facts: &'a Facts,
    pub uses: &'a Purposes,
    pub rules: &'a Rules,
    /// Numbers of the edges directly inside each edge, by number.
    inside: Vec<Vec<ContourId>>,
    circles: Vec<Option<FullCircle>>,
    /// The edges, to be found by the middle of their bounds.
    pub centered: Vec<ContourId>,
    pub centers: BoxIndex,
    /// The smallest edge around each loop that is none for its linetype alone.
    around_styled: BTreeMap<ContourId, ContourId>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(
        drawing: &'a Drawing,
        contours: &'a Contours,
        uses: &'a Purposes,
        rules: &'a Rules,
    ) -> Self {
        let list = &contours.list[..];
        let mut inside = vec![Vec::new(); list.len()];
        for contour in list.iter().filter(|contour| contour.bounds_material()) {
            if let Some(parent) = contour.parent {
                inside[parent.index()].push(contour.id);
            }
        }
        let edges = list.iter().filter(|contour| contour.bounds_material());
        let (centered, centers): (Vec<ContourId>, Vec<Bounds>) = edges
            .map(|edge| (edge.id, Bounds::of([edge.bounds.center()])))
            .unzip();
        Self {
            drawing,
            contours,
            list,
            centers: BoxIndex::new(centers.into_iter()),
            centered,
            around_styled: around_styled(list),
            left_out: &contours.left_out,
            facts: &contours.facts,
            uses,
            rules,
            inside,
            circles: list
                .iter()
                .map(|contour| FullCircle::of(NestView::of(contour)))
                .collect(),
        }
    }

    pub(super) fn contour(&self, id: ContourId) -> &'a Contour {
        &self.list[id.index()]
    }

    pub(super) fn circle(&self, id: ContourId) -> Option<FullCircle> {
        self.circles[id.index()]
    }

    /// Returns the numbers of the edges directly inside an edge.
    pub(super) fn directly_inside(&self, id: ContourId) -> &[ContourId] {
        &self.inside[id.index()]
    }

    /// Lists the edges, whether they are cut or not.
    pub(super) fn edges(&self) -> impl Iterator<Item = &'a Contour> + use<'a> {
        self.list.iter().filter(|contour| contour.bounds_material())
    }

    /// Lists the loops to be cut.
    pub(super) fn cut(&self) -> impl Iterator<Item = &'a Contour> + use<'a> {
        self.edges().filter(|contour| contour.purpose == Purpose::Cut)
    }

    /// Returns the edge directly around another.
    pub(super) fn around(&self, contour: &Contour) -> Option<&'a Contour> {
        contour.parent.map(|id| self.contour(id))
    }

    /// Returns the numbers of the contours to be cut inside some contours whose side follows from theirs.
    pub(super) fn following(&self, contours: &[ContourId]) -> Vec<ContourId> {
        let mut following = Vec::new();
        let concerned: BTreeSet<ContourId> = contours.iter().copied().collect();
        let mut open: Vec<ContourId> = contours.to_vec();
        while let Some(id) = open.pop() {
            for &inner in self.directly_inside(id) {
                let inner = self.contour(inner);
                if concerned.contains(&inner.id) || inner.side_from == SideFrom::Given {
                    continue;
                }
                open.push(inner.id);
                if inner.purpose == Purpose::Cut {
                    following.push(inner.id);
                }
            }
        }
        following.sort_unstable();
        following
    }

    /// Returns the smallest edge around an edge, or around a loop that is none for its linetype alone.
    pub(super) fn edge_around(&self, contour: &Contour) -> Option<ContourId> {
        if contour.bounds_material() {
            return contour.parent;
        }
        self.around_styled.get(&contour.id).copied()
    }

    pub(super) fn origin(&self, contour: &Contour) -> &'a Origin {
        &self.drawing.curves[contour.curves[0]].origin
    }

    /// Returns the name of a contour's layer: that of its first curve.
    pub(super) fn layer(&self, contour: &Contour) -> &'a str {
        self.layer_of(contour.curves[0])
    }

    pub(super) fn layer_of(&self, curve: usize) -> &'a str {
        let layer = self.drawing.curves[curve].origin.layer as usize;
        self.drawing.layers.get(layer).map_or("", |layer| &layer.name)
    }

    /// Returns the name of its linetype.
    pub(super) fn linetype(&self, contour: &Contour) -> &'a str {
        self.linetype_of(contour.curves[0])
    }

    pub(super) fn linetype_of(&self, curve: usize) -> &'a str {
        let linetype = self.drawing.curves[curve].origin.linetype as usize;
        self.drawing.linetypes.get(linetype).map_or("", |name| name)
    }
}

/// Finds the smallest edge around each loop that is none for its linetype alone.
fn around_styled(list: &[Contour]) -> BTreeMap<ContourId, ContourId> {
    let is_styled = |c: &&Contour| c.purpose_from == PurposeFrom::LineStyle && c.polyline.closed;
    if !list.iter().any(|contour| is_styled(&contour)) {
        return BTreeMap::new();
    }
    let edges: Vec<&Contour> = list.iter().filter(|contour| contour.bounds_material()).collect();
    let mut enclosing = Enclosing::new(edges.iter().map(|edge| NestView::of(edge)).collect());
    let around = list.iter().filter(is_styled).filter_map(|contour| {
        let around = enclosing.of(NestView::of(contour)).into_iter().map(|i| edges[i]);
        let nearest = around.min_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2))?;
        Some((contour.id, nearest.id))
    });
    around.collect()
}

/// Whether the purpose of a contour was given by other words than that it, or its layer, is to be cut.
pub(super) fn is_purpose_given(contour: &Contour) -> bool {
    match contour.purpose_from {
        PurposeFrom::Contour => true,
        PurposeFrom::Layer | PurposeFrom::Linetype | PurposeFrom::Color => {
            contour.purpose != Purpose::Cut || contour.ruled_side.is_some()
        }
        _ => false,
    }
}

/// Whether it was given for the contour itself.
pub(super) fn is_settled(contour: &Contour) -> bool {
    contour.purpose_from == PurposeFrom::Contour
}

/// Returns what a contour is when nested: its side where it is cut.
pub(super) fn as_nested(contour: &Contour) -> (ContourId, Purpose) {
    let purpose = match (contour.purpose, contour.role) {
        (Purpose::Cut, Role::Outside) => Purpose::Part,
        (Purpose::Cut, Role::Opening) => Purpose::Opening,
        (purpose, _) => purpose,
    };
    (contour.id, purpose)
}

/// Returns it with the other side.
pub(super) fn turned(contour: &Contour) -> (ContourId, Purpose) {
    let purpose = match as_nested(contour).1 {
        Purpose::Part => Purpose::Opening,
        Purpose::Opening => Purpose::Part,
        other => other,
    };
    (contour.id, purpose)
}
