use kerfwright::contour::Role;
use kerfwright::job::{Reading, Use, Uses};
use kerfwright::{contour, drawing, dxf};
use std::collections::HashMap;
#[test]
fn dump() {
    let folder = std::path::PathBuf::from("/work/shared/drawings/real");
    let rows: Vec<serde_json::Value> =
        serde_json::from_str(&std::fs::read_to_string(folder.with_file_name("real-reference.json")).unwrap())
            .unwrap();
    for row in &rows {
        let name = row["file"].as_str().unwrap();
        if row.get("untrusted").is_some() || row.get("error").is_some() {
            continue;
        }
        let bytes = std::fs::read(folder.join(name)).unwrap();
        let doc = match dxf::read(&bytes) {
            Ok(d) => d,
            Err(e) => {
                println!("{name}: read {e}");
                continue;
            }
        };
        let dr = match drawing::from_document(&doc, &Reading::default()) {
            Ok(d) => d,
            Err(e) => {
                println!("{name}: draw {e}");
                continue;
            }
        };
        let t = std::time::Instant::now();
        let mut uses = Uses::default();
        for l in &dr.layers {
            uses.layers.insert(l.name.clone(), Use::Cut);
        }
        let cs = contour::build(&dr, &Reading::default(), &uses);
        let t = t.elapsed();
        let loops = cs
            .list
            .iter()
            .filter(|c| c.role != Role::Open && !c.branched)
            .count();
        let open = cs
            .list
            .iter()
            .filter(|c| c.role == Role::Open && !c.branched)
            .count();
        // branched comps
        let mut parent: HashMap<usize, usize> = HashMap::new();
        fn find(p: &mut HashMap<usize, usize>, x: usize) -> usize {
            let q = *p.entry(x).or_insert(x);
            if q == x {
                x
            } else {
                let r = find(p, q);
                p.insert(x, r);
                r
            }
        }
        for b in &cs.facts.branches {
            let ids: Vec<usize> = b.curves.iter().filter_map(|&c| cs.of_curve(c)).collect();
            for w in ids.windows(2) {
                let (a, b) = (find(&mut parent, w[0]), find(&mut parent, w[1]));
                parent.insert(a, b);
            }
            if let Some(&i) = ids.first() {
                find(&mut parent, i);
            }
        }
        let keys: Vec<usize> = parent.keys().copied().collect();
        let mut roots: Vec<usize> = keys.iter().map(|&k| find(&mut parent, k)).collect();
        roots.sort();
        roots.dedup();
        let (rl, ro, rb) = (
            row["loops"].as_u64().unwrap() as usize,
            row["open_chains"].as_u64().unwrap() as usize,
            row["branched"].as_u64().unwrap() as usize,
        );
        let cd = contour::build(&dr, &Reading::default(), &Uses::default());
        let naive = cd.list.iter().filter(|c| c.role != Role::Open).count();
        println!(
            "{} {name} {naive}/{rl}",
            if naive == rl { "NOK" } else { "NDIFF" }
        );
        let ok = loops == rl && open == ro && rb == roots.len();
        println!(
            "{} {name}: loops {loops}/{rl} open {open}/{ro} branched {}/{rb} dupcurve {} dupcont {} overlap {} cross {} crumbs {} {:?}",
            if ok { "ok  " } else { "DIFF" },
            roots.len(),
            cs.facts.duplicate_curves.len(),
            cs.facts.duplicate_contours.len(),
            cs.facts.overlaps.len(),
            cs.facts.crossings.len(),
            cs.facts.crumbs.iter().map(|c| c.count).sum::<usize>(),
            t
        );
    }
}
