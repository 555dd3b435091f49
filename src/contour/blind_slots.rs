//! Makes slits of a width that end in the material at both ends the openings that they are.

use super::{Contour, Contours, KeptMaterial, Role, SideFrom};
use crate::geometry::Polyline;
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::PATH_MM;

/// The outline of a slot and the part that it lies in.
struct BlindSlot {
    id: ContourId,
    outline: Polyline,
    part: Option<ContourId>,
}

impl Contours {
    /// Makes openings of the slits of a width that lie in the material with both ends and come near no edge: their walls go all round.
    pub(crate) fn close_blind_slots(&mut self) {
        let is_wide = |c: &&Contour| c.purpose == Purpose::Slit && c.width_mm.is_some() && !c.polyline.closed;
        if !self.list.iter().any(|c| is_wide(&c)) {
            return;
        }
        let kept = KeptMaterial::new(self);
        if kept.unsettled().is_some() {
            return;
        }
        let wide = self.list.iter().filter(is_wide);
        let slots: Vec<BlindSlot> = wide.filter_map(|c| blind_slot(&kept, c)).collect();
        for BlindSlot { id, outline, part } in slots {
            let depth = part.map_or(0, |part| self[part].depth + 1);
            let contour = &mut self.list[id.index()];
            contour.become_line(outline, Role::Opening);
            (contour.purpose, contour.side_from) = (Purpose::Cut, SideFrom::Given);
            (contour.parent, contour.depth) = (part, depth);
        }
    }
}

fn blind_slot(kept: &KeptMaterial<'_>, contour: &Contour) -> Option<BlindSlot> {
    let half_mm = 0.5 * contour.width_mm?;
    let line = &contour.polyline;
    let first = line.vertices.first()?.at;
    let reach_mm = half_mm + PATH_MM;
    let is_inside = kept.keeps(first) && line.segments().all(|s| kept.nearest_edge(s, reach_mm).is_none());
    Some(BlindSlot {
        id: contour.id,
        outline: line.band(half_mm).filter(|_| is_inside)?,
        part: kept.outline_at(first),
    })
}
