use kerfwright::{contour, drawing, dxf};
use kerfwright::job::{Reading, Use, Uses};
#[test]
fn one() {
    let name = std::env::var("F").unwrap();
    let bytes = std::fs::read(&name).unwrap();
    let dr = drawing::from_document(&dxf::read(&bytes).unwrap(), &Reading::default()).unwrap();
    let mut uses = Uses::default();
    for l in &dr.layers { uses.layers.insert(l.name.clone(), Use::Cut); }
    let cs = contour::build(&dr, &Reading::default(), &uses);
    for c in &cs.list { if c.branched || c.role == contour::Role::Open { println!("{} {:?} {:?} br {} per {:.4} area {:.4} {:?} curves {:?}", c.id, c.role, c.purpose, c.branched, c.perimeter_mm, c.area_mm2, c.bounds, &c.curves[..c.curves.len().min(12)]); } }
    for o in &cs.facts.overlaps { println!("{o:?}"); }
    for o in &cs.facts.branches { println!("{o:?}"); }
}
