//! Where the wire runs in each step of the order of cutting.

use super::{OperationKind, Plan, TimedOperation};
use crate::geometry::{Point, Polyline};
use crate::process::{Leads, PathLine, Tab};
use crate::toolpath::OpenCut;

/// A stretch of the wire's way.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum WireStretch {
    /// Along the loop of the step.
    Along {
        /// From here, along the loop from its first vertex, mm.
        from_mm: f64,
        /// So far, mm; negative: against its direction.
        length_mm: f64,
    },
    /// Away from it: a lead, a ring, or on to the next start.
    Beside(Polyline),
}

impl WireStretch {
    /// Returns the length of it, mm.
    pub fn length_mm(&self) -> f64 {
        match self {
            Self::Along { length_mm, .. } => length_mm.abs(),
            Self::Beside(way) => way.length(),
        }
    }
}

impl Plan {
    /// Returns the way of the wire in a step; nothing where it stands.
    pub fn wire_way(&self, step: &TimedOperation) -> Vec<WireStretch> {
        let (process, wire) = (&self.process, &self.toolpaths[step.wire_loop]);
        let leads = &process.leads[step.wire_loop.index()];
        let separation = step.separation.and_then(|i| process.separations.get(i));
        let uncut = separation.and_then(|separation| separation.uncut());
        let line = || PathLine::new(&wire.polyline);
        let whole = || along(leads.entry_mm, wire.length_mm);
        let stretches = match step.kind {
            OperationKind::Travel => vec![WireStretch::Beside(straight(
                step.at,
                process.starts.list[leads.start].at,
            ))],
            OperationKind::Return => {
                let back = leads.return_run.as_deref().cloned();
                back.map(WireStretch::Beside).into_iter().collect()
            }
            OperationKind::LeadIn => vec![WireStretch::Beside(leads.lead_in.clone())],
            OperationKind::LeadOut => vec![
                along(leads.entry_mm, leads.overlap_mm),
                WireStretch::Beside(leads.lead_out.clone()),
            ],
            OperationKind::Coreless => separation
                .and_then(|separation| separation.coreless())
                .map(|coreless| WireStretch::Beside(coreless.run.clone()))
                .into_iter()
                .collect(),
            OperationKind::Rough => {
                uncut.map_or_else(|| vec![whole()], |tab| around(leads, wire.length_mm, tab))
            }
            OperationKind::CutOff => uncut
                .map(|tab| along(tab.from_mm, tab.length_mm))
                .into_iter()
                .collect(),
            OperationKind::Skim => match (uncut, &wire.open) {
                (None, _) => vec![whole()],
                (Some(tab), None) => vec![to_or_fro(&line(), step, tab)],
                (Some(_), Some(cut)) => vec![but_for_tab(cut, wire.length_mm, step.length_mm)],
            },
            OperationKind::SkimTab => match (uncut, &wire.open) {
                (None, _) => Vec::new(),
                (Some(tab), None) => vec![between_ends(&line(), tab)],
                (Some(_), Some(cut)) => vec![tab_of_open(cut, wire.length_mm, step.length_mm)],
            },
            OperationKind::Thread | OperationKind::Adjust | OperationKind::Stop | OperationKind::Remove => {
                Vec::new()
            }
        };
        // An open cut that begins in air has no lead.
        let is_way = |stretch: &WireStretch| match stretch {
            WireStretch::Along { .. } => true,
            WireStretch::Beside(way) => !way.vertices.is_empty(),
        };
        stretches.into_iter().filter(is_way).collect()
    }
}

const fn along(from_mm: f64, length_mm: f64) -> WireStretch {
    WireStretch::Along { from_mm, length_mm }
}

fn straight(from: Point, to: Point) -> Polyline {
    Polyline::open([(from.x, from.y, 0.0), (to.x, to.y, 0.0)])
}

/// From the entry round to it again, but for the tab.
fn around(leads: &Leads, length_mm: f64, tab: &Tab) -> Vec<WireStretch> {
    let before_mm = (tab.from_mm - leads.entry_mm).rem_euclid(length_mm);
    let after_mm = length_mm - tab.length_mm - before_mm;
    let behind = tab.from_mm + tab.length_mm;
    let mut stretches = vec![along(leads.entry_mm, before_mm)];
    // The tab ends where the path is entered, unless it was given a place of its own.
    if after_mm > crate::tolerance::SAME_POINT_MM {
        stretches.push(along(behind, after_mm));
    }
    stretches
}

/// Round a part between the ends of its tab, in the direction that leads away from it.
fn to_or_fro(line: &PathLine<'_>, step: &TimedOperation, tab: &Tab) -> WireStretch {
    let [begin, end] = ends(tab, step.at);
    let from_mm = line.position(step.at);
    if step.at.distance(end) <= step.at.distance(begin) {
        along(from_mm, step.length_mm)
    } else {
        along(from_mm, -step.length_mm)
    }
}

/// Along an open cut up to the tab at the end of its rough path, or from there back.
const fn but_for_tab(cut: &OpenCut, path_mm: f64, length_mm: f64) -> WireStretch {
    along(if cut.runs_back { path_mm - length_mm } else { 0.0 }, length_mm)
}

/// Along that tab.
const fn tab_of_open(cut: &OpenCut, path_mm: f64, length_mm: f64) -> WireStretch {
    along(if cut.runs_back { 0.0 } else { path_mm - length_mm }, length_mm)
}

fn between_ends(line: &PathLine<'_>, tab: &Tab) -> WireStretch {
    let [begin, _] = ends(tab, tab.at);
    along(line.position(begin), tab.length_mm)
}

fn ends(tab: &Tab, otherwise: Point) -> [Point; 2] {
    [tab.run.vertices.first(), tab.run.vertices.last()]
        .map(|vertex| vertex.map_or(otherwise, |vertex| vertex.at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::plan::Planner;
    use crate::shop::Book;

    fn plan(drawing: &[u8], job: &str) -> Plan {
        let book = Book::built_in().expect("the built-in book is sound");
        let job = format!("material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\npasses = 3\n{job}");
        let job = JobFile::parse(&job).expect("a sound job");
        Planner::new(&book)
            .job(&job)
            .plan("part.dxf", drawing)
            .expect("a sound drawing")
    }

    /// The stretches of each step are as long as the order of cutting says, and the wire never jumps but over a tab.
    #[test]
    fn the_wire_runs_as_far_as_the_order_says_without_a_jump() {
        let die = include_bytes!("../../fixtures/clock/hand-die.dxf").as_slice();
        let uses = "[layer.PLATE]\nuse = \"existing\"\n[layer.SCREWS]\nuse = \"existing\"\n[layer.START]\nuse = \"start-hole\"";
        let ratchet = include_bytes!("../../fixtures/clock/ratchet.dxf").as_slice();
        let ring = include_bytes!("../../fixtures/checks/slug-may-jam-fires.dxf").as_slice();
        let slit = include_bytes!("../../fixtures/checks/slit-may-spring-fires.dxf").as_slice();
        let trim = include_bytes!("../../fixtures/checks/ends-in-material-clean.dxf").as_slice();
        // A bar of 60 × 40 with a line across at x = 45.
        let corner = |x: i32, y: i32| format!("0\nVERTEX\n8\nTHERE\n10\n{x}\n20\n{y}\n");
        let outline: String = [(0, 0), (60, 0), (60, 40), (0, 40)]
            .map(|(x, y)| corner(x, y))
            .concat();
        let line = "0\nLINE\n8\nTRIM\n10\n45\n20\n-1\n11\n45\n21\n41\n";
        let bar = format!(
            "0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n8\nTHERE\n66\n1\n70\n1\n{outline}0\nSEQEND\n{line}0\nENDSEC\n0\nEOF\n"
        );
        let kept = "units = \"mm\"\n[layer.THERE]\nuse = \"existing\"\n[layer.TRIM]\nuse = \"trim\"\nkeep = [55, 10]";
        let one_way = format!("open_skims = \"one-way\"\n{}", kept.replace("55", "10"));
        let stub = format!("tab_face = \"skimmed\"\n{kept}");
        for (drawing, job) in [
            (
                slit,
                "[layer.THERE]\nuse = \"existing\"\n[layer.SLIT]\nuse = \"slit\"",
            ),
            (
                trim,
                "[layer.THERE]\nuse = \"existing\"\n[layer.TRIM]\nuse = \"trim\"",
            ),
            (bar.as_bytes(), kept),
            (bar.as_bytes(), &one_way),
            (bar.as_bytes(), &stub),
            (die, uses),
            (ratchet, ""),
            (ratchet, "tab_face = \"skimmed\""),
            (ratchet, "tab = \"none\""),
            (ring, "slug = \"coreless\""),
        ] {
            let plan = plan(drawing, job);
            let mut at: Option<Point> = None;
            let mut moved = 0;
            for step in plan.steps() {
                let stretches = plan.wire_way(&step);
                let length_mm: f64 = stretches.iter().map(WireStretch::length_mm).sum();
                assert!((length_mm - step.length_mm).abs() < 1e-6, "{step:?}: {length_mm}");
                let line = PathLine::new(&plan.toolpaths[step.wire_loop].polyline);
                for stretch in stretches {
                    let [from, to] = match &stretch {
                        WireStretch::Along { from_mm, length_mm } => {
                            [line.at(*from_mm), line.at(from_mm + length_mm)]
                        }
                        WireStretch::Beside(way) => {
                            [way.vertices[0].at, way.vertices[way.vertices.len() - 1].at]
                        }
                    };
                    // What a piece hangs on is passed over, and skimmed from end to end where the stub stands off the path.
                    let tab = step.separation.and_then(|i| plan.process.separations[i].uncut());
                    let apart_mm = match step.kind {
                        OperationKind::Skim => 0.5,
                        OperationKind::Rough => tab.map_or(1e-3, |tab| tab.length_mm + 1e-3),
                        _ => 1e-3,
                    };
                    // To a tab the wire comes through the open kerf: a way that takes no time.
                    let comes_dry = [OperationKind::CutOff, OperationKind::SkimTab].contains(&step.kind);
                    if let Some(at) = at.filter(|_| !comes_dry && step.kind != OperationKind::Travel) {
                        assert!(at.distance(from) < apart_mm, "{step:?}: {at:?} {from:?}");
                    }
                    at = Some(to);
                    moved += 1;
                }
                if step.kind == OperationKind::Remove {
                    at = None;
                }
            }
            assert!(moved > 3);
        }
    }
}
