//! What every plan promises, whatever the drawing.

use kerfwright::tolerance::PATH_MM;
use kerfwright::{Book, JobFile, Planner, report::json};

const JOBS: [&str; 4] = [
    "material = \"tool-steel\"\nthickness_mm = 20\nwire_mm = 0.25\npasses = 4\nassume_sides = true",
    "material = \"tool-steel\"\nthickness_mm = 40\nwire_mm = 0.1\npasses = 2\nassume_sides = true\nslug = \"coreless\"",
    "material = \"aluminium\"\nthickness_mm = 5\nwire_mm = 0.2\npasses = 1\nassume_sides = true\ntab = \"none\"\nunits = \"in\"",
    "material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.3\npasses = 3\nassume_sides = true\nstops = \"each\"",
];

/// Plans a drawing, by its length with one job or another, and holds the plan to what every plan promises. Whether it has a path.
pub(crate) fn planned(bytes: &[u8], book: &Book) -> bool {
    let job = JobFile::parse(JOBS[bytes.len() % JOBS.len()]).expect("a sound job");
    let Ok(plan) = Planner::new(book).job(&job).plan("fuzz.dxf", bytes) else {
        return false;
    };
    for path in &plan.toolpaths.loops {
        assert!(path.verified_mm <= PATH_MM);
        assert!(path.length_mm.is_finite() && path.length_mm > 0.0);
        assert!(path.engagement.iter().all(|met| met.factor.is_finite()));
    }
    for figure in plan
        .estimate
        .figures(plan.groups.iter().map(|group| &group.quality))
    {
        let band = figure.value;
        let finite = [band.low, band.expected, band.high]
            .into_iter()
            .all(f64::is_finite);
        assert!(finite, "{}: {band:?}", figure.name);
    }
    assert!(!json::plan(&plan).is_empty());
    !plan.toolpaths.loops.is_empty()
}
