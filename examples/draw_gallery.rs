//! Draws the pictures of `docs/gallery.md`: parts of the tower clock, small, middle and large, as the tool sees them.
//!
//! `cargo run --example draw_gallery` rewrites them; `tests/all/gallery.rs` holds that they are what the tool makes now.

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use kerfwright::job::{JobFile, JobPart, Purpose};
use kerfwright::pass::PassRequest;
use kerfwright::plan::{self, Plan, Planner};
use kerfwright::report::{Lengths, json, svg};
use kerfwright::shop::Book;

/// A picture of the gallery.
pub(crate) struct Picture {
    /// Name of its file in `docs/gallery`.
    pub(crate) file: &'static str,
    /// What it shows.
    pub(crate) title: &'static str,
    /// What to look at.
    pub(crate) words: &'static str,
    /// The picture.
    pub(crate) svg: String,
}

#[allow(dead_code, reason = "the test that takes this file in has a main of its own")]
fn main() -> Result<(), Box<dyn Error>> {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs");
    let pictures = pictures()?;
    fs::write(docs.join("gallery.md"), page(&pictures)?)?;
    for picture in pictures {
        let file = docs.join("gallery").join(picture.file);
        fs::create_dir_all(docs.join("gallery"))?;
        fs::write(&file, picture.svg)?;
        println!("docs/gallery/{}", picture.file);
    }
    Ok(())
}

/// All pictures, in the order of the page.
pub(crate) fn pictures() -> Result<Vec<Picture>, Box<dyn Error>> {
    let die = die_for_a_demand()?;
    let wall = die.groups.first().ok_or("the die has a wall")?;
    let mut pictures = vec![
        Picture {
            file: "balance-key.svg",
            title: "Small: a key of 3 by 2 mm",
            words: "0.1 mm wire, three passes, brass of 4 mm. At 20 : 1 the kerf of the rough cut is a band, and the passes come \
                    apart by eye. On the inside of the hole the skims meet more than a tenth more stock than on a straight wall: \
                    the light line.",
            svg: svg::plan(
                &planned("clock/balance-key", &PassRequest::new("brass", 4.0, 0.1, 3))?,
                Lengths::Mm,
            ),
        },
        Picture {
            file: "hand-die.svg",
            title: "Middle: the die for a hand of the setting dial",
            words: "Planned for Ra 0.8 and ± 0.01 mm: wire and passes are chosen. A is the tip, where the rough cut cannot follow and \
                    the first skim meets most; B the stem, the narrowest slot; C a wall, where 8 µm lie between passes.",
            svg: svg::plan(&die, Lengths::Mm),
        },
        Picture {
            file: "hand-die-choice.svg",
            title: "How the wire of the die was chosen",
            words: "Every wire and number of passes that was compared, by time and finish; the ring of each is as large as its expected \
                    error on size.",
            svg: svg::trade_off(&die, &die.candidates).ok_or("wire and passes of the die are chosen")?,
        },
        Picture {
            file: "hand-die-accuracy.svg",
            title: "The accuracy budget of the die",
            words: "What makes up the expected error on size, the largest first, and their sum against what is called for.",
            svg: svg::accuracy_budget(wall).ok_or("no path of the die is refused")?,
        },
        Picture {
            file: "escape-wheel.svg",
            title: "Many corners: the escape wheel",
            words: "Thirty undercut teeth. Each ring is a place that the wire does not reach; the first of them are numbered as in the \
                    list of findings.",
            svg: svg::plan(
                &planned("clock/escape-wheel", &PassRequest::new("brass", 5.0, 0.2, 3))?,
                Lengths::Mm,
            ),
        },
        Picture {
            file: "front-plate.svg",
            title: "Large: the front plate, 960 by 640 mm",
            words: "At 1 : 10 a kerf is thinner than a line, so the insets tell the passes apart. The round holes are too small to be \
                    numbered on the part: the second sheet counts them by shape, and says which tabs are alike.",
            svg: svg::plan(
                &planned("clock/front-plate", &PassRequest::new("brass", 12.0, 0.25, 2))?,
                Lengths::Mm,
            ),
        },
        Picture {
            file: "open-contour.svg",
            title: "A drawing with a flaw",
            words: "Checked without any passes: the contour that does not close is marked, and nothing is guessed.",
            svg: svg::inspection(&inspected("checks/open-contour-fires")?, Lengths::Mm),
        },
    ];
    pictures.extend(open_cuts()?);
    Ok(pictures)
}

/// Pictures of cuts along lines that do not close.
fn open_cuts() -> Result<Vec<Picture>, Box<dyn Error>> {
    Ok(vec![
        Picture {
            file: "winding-arbor.svg",
            title: "An open cut: the keyway of a winding arbor",
            words: "A trim from the wall of the bore to the same wall, four passes. What drops is waste: the rough cut stops before its last \
                    stretch, then the skims run to and fro.",
            svg: open_cut(
                "keyway-of-a-winding-arbor",
                &[("ARBOR", "existing"), ("BORE", "existing"), ("KEYWAY", "trim")],
                "",
            )?,
        },
        Picture {
            file: "plate-edge.svg",
            title: "An edge trimmed off a plate",
            words: "The side on which the place given lies stays; the wire runs on the other.",
            svg: open_cut(
                "edge-off-a-plate",
                &[("PLATE", "existing"), ("EDGE", "trim")],
                "[contour.2]\nkeep = [40.0, 20.0]",
            )?,
        },
        Picture {
            file: "clamp-slit.svg",
            title: "The slit of a clamp, 3 mm wide",
            words: "Both walls take all passes; the rib between the kerfs of the rough cut drops.",
            svg: open_cut(
                "slit-of-a-clamp",
                &[("CLAMP", "existing"), ("SLIT", "slit")],
                "[contour.3]\nwidth_mm = 3.0",
            )?,
        },
        Picture {
            file: "collet-slit.svg",
            title: "The slit of a collet, seen from the side",
            words: "One kerf wide: in one pass from the mouth to the hole that ends it, and back through its kerf.",
            svg: open_cut(
                "collet-of-a-bushing-tool",
                &[("COLLET", "existing"), ("HOLE", "ready-hole"), ("SLIT", "slit")],
                "",
            )?,
        },
        Picture {
            file: "barrel-ring.svg",
            title: "Parting a barrel ring",
            words: "The second slit parts the ring: half of it is secured before the last stretch.",
            svg: open_cut(
                "parting-of-a-barrel-ring",
                &[("RING", "existing"), ("PARTING", "slit")],
                "",
            )?,
        },
    ])
}

/// The page that shows them.
pub(crate) fn page(pictures: &[Picture]) -> Result<String, Box<dyn Error>> {
    let mut page = String::from(
        "# Gallery\n\nParts of the tower clock whose drawings lie in `fixtures`, drawn by `cargo run --example draw_gallery`. Sheets are \
         A4 pages, one below the other; in a browser its lines keep their width when you zoom in, and resting the pointer on a line names it.\n",
    );
    for picture in pictures {
        let _ = write!(
            page,
            "\n## {}\n\n{}\n\n![{}](gallery/{})\n",
            picture.title, picture.words, picture.title, picture.file
        );
    }
    Ok(page + &answers()?)
}

/// Everyday jobs, by what is ordered, the drawing, and the job.
const JOBS: [(&str, &str, &str); 6] = [
    (
        "Four punches for the hand of the setting dial, 20 mm of tool steel, N7, ± 0.02 mm",
        "clock/hand-punch",
        "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"N7\"\ntolerance = \"±0.02\"\nquantity = 4",
    ),
    (
        "The die to it, 30 mm, Ra 0.8, ± 0.01 mm",
        "clock/hand-die",
        "material = \"tool-steel\"\nthickness_mm = 30\nfinish = \"Ra 0.8\"\ntolerance = \"±0.01\"\n[layer.PLATE]\nuse = \"existing\"\n\
         [layer.SCREWS]\nuse = \"existing\"\n[layer.START]\nuse = \"start-hole\"",
    ),
    (
        "A plate with counterbores, all on one layer, 20 mm of tool steel",
        "questions/counterbores-one-layer",
        "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"N7\"",
    ),
    (
        "The ratchet wheels of a clock, 8 mm of tool steel",
        "clock/ratchet",
        "material = \"tool-steel\"\nthickness_mm = 8\nfinish = \"N6\"\nquantity = 2",
    ),
    (
        "A plate of 200 holes, 20 mm, rough and two skims",
        "shapes/plate-200-holes",
        "material = \"tool-steel\"\nthickness_mm = 20\nwire_mm = 0.25\npasses = 3",
    ),
    (
        "A drawing with a contour that does not close",
        "checks/open-contour-fires",
        "material = \"tool-steel\"\nthickness_mm = 20\nwire_mm = 0.25\npasses = 3",
    ),
];

/// The answers to everyday jobs, as each output begins.
fn answers() -> Result<String, Box<dyn Error>> {
    let book = Book::built_in()?;
    let mut page = String::from("\n## The answer first: six everyday jobs\n");
    for (order, drawing, job) in JOBS {
        let (file, bytes) = fixture(drawing)?;
        let plan = Planner::new(&book)
            .job(&JobFile::parse(job)?)
            .plan(&file, bytes)?;
        let plan: serde_json::Value = serde_json::from_str(&json::plan(&plan))?;
        let lines = plan["answer"]["lines"].as_array().ok_or("an answer")?;
        let _ = write!(page, "\n**{order}** (`{drawing}.dxf`)\n\n| | |\n|---|---|\n");
        for line in lines {
            let text = |key: &str| line[key].as_str().ok_or("a text");
            let _ = writeln!(page, "| {} | {} |", text("about")?, text("words")?);
        }
    }
    Ok(page)
}

fn fixture(name: &str) -> Result<(String, Vec<u8>), Box<dyn Error>> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("fixtures/{name}.dxf"));
    let base = file.file_name().ok_or("a name")?.to_string_lossy().into_owned();
    Ok((base, fs::read(file)?))
}

fn planned(name: &str, ask: &PassRequest) -> Result<Plan, Box<dyn Error>> {
    let (file, bytes) = fixture(name)?;
    Ok(Planner::new(&Book::built_in()?)
        .job(&ask.job())
        .plan(&file, bytes)?)
}

/// The sheet of an open cut in a drawing of `fixtures/questions`, four passes of 0.25 mm wire: what is given for its layers, and more lines of
/// its job.
fn open_cut(name: &str, layers: &[(&str, &str)], more: &str) -> Result<String, Box<dyn Error>> {
    let (file, bytes) = fixture(&format!("questions/{name}"))?;
    let mut job = "material = \"tool-steel\"\nthickness_mm = 12\nwire_mm = 0.25\npasses = 4\n".to_owned();
    for (layer, purpose) in layers {
        let _ = write!(job, "[layer.{layer}]\nuse = \"{purpose}\"\n");
    }
    let job = JobFile::parse(&(job + more))?;
    let plan = Planner::new(&Book::built_in()?).job(&job).plan(&file, bytes)?;
    Ok(svg::plan(&plan, Lengths::Mm))
}

fn inspected(name: &str) -> Result<plan::Inspection, Box<dyn Error>> {
    let (file, bytes) = fixture(name)?;
    Ok(Planner::new(&Book::built_in()?).inspect(&file, bytes)?)
}

fn die_for_a_demand() -> Result<Plan, Box<dyn Error>> {
    let (file, bytes) = fixture("clock/hand-die")?;
    let mut job = JobFile::new("tool-steel", 30.0)
        .finish("Ra 0.8")
        .tolerance("±0.01");
    for (layer, purpose) in [
        ("PLATE", Purpose::Existing),
        ("SCREWS", Purpose::Existing),
        ("START", Purpose::StartHole),
    ] {
        job = job.layer(layer, JobPart::new().purpose(purpose));
    }
    Ok(Planner::new(&Book::built_in()?).job(&job).plan(&file, bytes)?)
}
