//! What a visitor does, and what has to come of it.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::thread;
use std::time::Duration;

use serde_json::Value;

use crate::browser::Page;

/// A step, and a word of the one complaint of the console that it is meant to raise.
pub(crate) type Step = (&'static str, fn(&Page), &'static str);

pub(crate) const ALL: [Step; 19] = [
    ("a dropped drawing is read and checked at once", dropped, ""),
    ("the numbers are those of the command line", numbers, ""),
    ("thickness and passes change time and overlay", changed, ""),
    ("a mark of the chart picks its plan", picked, ""),
    (
        "the drawing is moved, magnified and its passes hidden",
        magnified,
        "",
    ),
    ("a block of the day lights its stretch of the path", lit, ""),
    ("every download is what the command line writes", downloads, ""),
    ("a layer is given a meaning by a click", meaning, ""),
    (
        "a question is answered by a button, and asked again",
        answered,
        "",
    ),
    ("the side of a trim is answered by a button", trimmed, ""),
    ("one press takes all first readings", first_readings, ""),
    (
        "all that is asked is kept in the address and in a job file",
        kept,
        "",
    ),
    ("several drawings make a list with a total", several, ""),
    // The browser notes each refused request in its log.
    ("a wrong file or wish is a sentence", wrong, "422"),
    ("the keyboard alone is enough", keyboard, ""),
    ("lengths are shown in inches too", inches, ""),
    ("the page fits a phone and a wide screen", widths, ""),
    ("light and dark can be read", colours, ""),
    (
        "long work shows how far it is and is not waited for",
        long_work,
        "",
    ),
];

/// Whether there is a plan, with all that belongs to it.
pub(crate) const PLANNED: &str = "!document.querySelector('[data-opens=passes]').hidden && !document.querySelector('[aria-busy], [data-more]')";

pub(crate) const DIE: &str = "/#demo=hand-die&material=tool-steel&thickness_mm=30&wire_mm=0.25&wire_kind=brass&passes=4&layer=\
                   %7B%22PLATE%22%3A%7B%22use%22%3A%22existing%22%7D%2C%22SCREWS%22%3A%7B%22use%22%3A%22existing%22%7D%2C\
                   %22START%22%3A%7B%22use%22%3A%22start-hole%22%7D%7D";
pub(crate) const DIE_ON_THE_COMMAND_LINE: [&str; 14] = [
    "fixtures/clock/hand-die.dxf",
    "--layer=PLATE=existing",
    "--layer=SCREWS=existing",
    "--layer=START=start-hole",
    "--material",
    "tool-steel",
    "--thickness",
    "30",
    "--wire",
    "0.25",
    "--wire-kind",
    "brass",
    "--passes",
    "4",
];

pub(crate) fn open_die(page: &Page) {
    page.go(DIE);
    page.until("the die is planned", PLANNED);
}

/// What a command of the command line prints.
pub(crate) fn command(name: &str, arguments: &[&str]) -> Vec<u8> {
    command_in(Path::new(env!("CARGO_MANIFEST_DIR")), name, arguments)
}

/// The same, run in a folder.
fn command_in(folder: &Path, name: &str, arguments: &[&str]) -> Vec<u8> {
    let run = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
        .current_dir(folder)
        .arg(name)
        .args(arguments)
        .output();
    let run = run.expect("the command starts");
    assert!(
        run.status.code().is_some_and(|code| code < 2),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    run.stdout
}

pub(crate) fn die_as_json() -> Value {
    let arguments = [&DIE_ON_THE_COMMAND_LINE[..], &["--json"]].concat();
    serde_json::from_slice(&command("plan", &arguments)).expect("JSON")
}

fn column(page: &Page, table: &str, number: usize) -> Vec<f64> {
    let cells = page.js(&format!(
        "[...document.querySelectorAll('{table} tbody tr')].map((row) => Number(row.children[{number}].textContent))"
    ));
    let cells = cells.as_array().expect("rows");
    cells
        .iter()
        .map(|cell| cell.as_f64().expect("a number"))
        .collect()
}

pub(crate) fn minutes(page: &Page) -> f64 {
    let line = page.js("[...document.querySelectorAll('#headline dt')].find((name) => name.textContent === 'Time').nextSibling.textContent");
    let words = line.as_str().expect("a line of the answer");
    let figures: Vec<&str> = words.split(' ').collect();
    let at = figures
        .iter()
        .position(|word| word.parse::<f64>().is_ok())
        .expect("a number");
    let number = |at: usize| figures[at].parse::<f64>().expect("a number");
    if figures[at + 1] == "h" {
        60.0 * number(at) + number(at + 2)
    } else {
        number(at)
    }
}

pub(crate) fn overlay(page: &Page) -> String {
    page.js("document.querySelector('#overlay svg').innerHTML.length + document.querySelector('#overlay [data-pass] path').getAttribute('d')")
        .as_str()
        .expect("a path")
        .to_owned()
}

fn dropped(page: &Page) {
    page.go("/");
    let drawing = fs::read_to_string("fixtures/clock/ratchet.dxf").expect("a drawing");
    page.drop_file("ratchet.dxf", &drawing);
    page.until("the drawing is shown", "!document.querySelector('#view').hidden");
    assert_eq!(page.text("#part-name"), "ratchet.dxf");
    let headline = page.text("#headline");
    assert!(
        headline.contains("Read in mm") && headline.contains("to cut"),
        "{headline}"
    );
    assert!(
        headline.contains("Give the material") || headline.contains("Give the thickness"),
        "{headline}"
    );
    assert_eq!(
        page.js("document.querySelector('[data-opens=passes]').hidden"),
        Value::Bool(true)
    );
    let inspected = command("inspect", &["fixtures/clock/ratchet.dxf", "--json"]);
    let inspected: Value = serde_json::from_slice(&inspected).expect("JSON");
    let groups = inspected["finding_groups"].as_array().expect("a list");
    assert!(!groups.is_empty());
    for group in groups {
        let title = group["title"].as_str().expect("words");
        assert!(page.text("#findings-body").contains(title), "{title}");
    }
    // The same by the file dialogue.
    page.go("/");
    page.pick_files(&["fixtures/checks/gap-in-contour-fires.dxf"]);
    page.until("the drawing is shown", "!document.querySelector('#view').hidden");
    assert!(page.text("#findings-body").contains("gap in contour"));
    page.until(
        "a pin stands on the drawing",
        "document.querySelectorAll('.pin:not([hidden])').length > 0",
    );
    page.click(".pin");
    page.until(
        "its finding is told",
        "document.querySelector('#findings-body .told') === document.activeElement",
    );
}

fn numbers(page: &Page) {
    open_die(page);
    let plan = die_as_json();
    let rows = plan["passes"].as_array().expect("rows").clone();
    let of = |key: &str, factor: f64| {
        rows.iter()
            .map(|row| row[key].as_f64().expect("a number") * factor)
            .collect::<Vec<_>>()
    };
    let near = |shown: Vec<f64>, right: Vec<f64>, half: f64| {
        assert_eq!(shown.len(), right.len());
        let close = shown.iter().zip(&right).all(|(a, b)| (a - b).abs() <= half);
        assert!(close, "{shown:?} against {right:?}");
    };
    // Shown rounded: half of the last digit that is shown.
    near(column(page, "#passes-body", 2), of("offset_mm", 1e3), 0.05001);
    near(
        column(page, "#passes-body", 7),
        of("path_length_mm", 1.0),
        0.000_050_01,
    );
    near(column(page, "#passes-body", 9), of("minutes", 1.0), 0.05001);
    let machine = plan["estimate"]["machine_minutes"]["expected"]
        .as_f64()
        .expect("minutes");
    // No more digits than the band supports.
    assert!((minutes(page) - machine).abs() <= 0.5001);
    let costs = page.text("#money-body");
    for key in ["cost_fixed", "cost_each", "price"] {
        let expected = format!(
            "{:.0}",
            plan["estimate"][key]["expected"].as_f64().expect("money")
        );
        assert!(costs.contains(&expected), "{key} {expected}: {costs}");
    }
    let expanded = plan["accuracy"]["expanded_um"]["expected"].as_f64().expect("µm");
    assert!(
        page.text("#accuracy-body").contains(&format!("±{expanded:.1}")),
        "{}",
        page.text("#accuracy-body")
    );
}

fn changed(page: &Page) {
    open_die(page);
    let (before, drawn) = (minutes(page), overlay(page));
    page.answered(|| page.put("#field-thickness_mm", "60"));
    let thicker = minutes(page);
    assert!(
        thicker > 1.5 * before,
        "{before} min at 30 mm, {thicker} at 60 mm"
    );
    page.answered(|| page.put("#field-passes", "2"));
    assert!(minutes(page) < thicker);
    assert_eq!(
        page.js("document.querySelectorAll('#overlay [data-pass]').length"),
        2
    );
    assert_ne!(overlay(page), drawn);
    assert_eq!(column(page, "#passes-body", 2).len(), 2);
    // Changed often and fast, the last wish is what is shown.
    page.answered(|| {
        for mm in ["10", "20", "30", "40", "25"] {
            page.put("#field-thickness_mm", mm);
        }
    });
    page.until(
        "the last wish is in the address",
        "location.hash.includes('thickness_mm=25+mm')",
    );
    thread::sleep(Duration::from_millis(300));
    assert_eq!(
        page.js("document.querySelector('#field-thickness_mm').value"),
        "25 mm"
    );
    let right = command(
        "plan",
        &[
            "fixtures/clock/hand-die.dxf",
            "--layer=PLATE=existing",
            "--layer=SCREWS=existing",
            "--layer=START=start-hole",
            "--material=tool-steel",
            "--thickness=25",
            "--wire=0.25",
            "--wire-kind=brass",
            "--passes=2",
            "--json",
        ],
    );
    let right: Value = serde_json::from_slice(&right).expect("JSON");
    let right = right["estimate"]["machine_minutes"]["expected"]
        .as_f64()
        .expect("minutes");
    assert!((minutes(page) - right).abs() <= 0.5001);
}

fn picked(page: &Page) {
    open_die(page);
    // Those that nothing beats first, all of them on demand.
    let few = page
        .js("document.querySelectorAll('#chart [data-candidate]').length")
        .as_u64()
        .expect("marks");
    assert!((4..20).contains(&few), "{few} marks");
    page.click("#all-candidates");
    let marks = page
        .js("document.querySelectorAll('#chart [data-candidate]').length")
        .as_u64()
        .expect("marks");
    assert!(marks > 20, "{marks} marks");
    page.answered(|| {
        page.js("(() => { const marks = [...document.querySelectorAll('#chart [role=radio]')]; \
                 const mark = marks.find((m) => /0.20 mm brass/.test(m.getAttribute('aria-label')) && /, passes 2/.test(m.getAttribute('aria-label'))); \
                 mark.dispatchEvent(new MouseEvent('click', { bubbles: true })); })()");
    });
    assert_eq!(
        page.js("document.querySelector('#field-wire_mm').value"),
        "0.2|brass"
    );
    assert_eq!(page.js("document.querySelector('#field-passes').value"), "2");
    assert_eq!(
        page.js("document.querySelectorAll('#chart [aria-checked=true]').length"),
        1
    );
    assert!(
        page.text("#headline").contains("0.2 mm brass, 2 passes"),
        "{}",
        page.text("#headline")
    );
    page.answered(|| page.click("#unpick"));
    assert_eq!(page.js("document.querySelector('#field-wire_mm').value"), "");
}

fn magnified(page: &Page) {
    open_die(page);
    let across = || -> f64 {
        let width =
            page.js("Number(document.querySelector('#overlay svg').getAttribute('viewBox').split(' ')[2])");
        width.as_f64().expect("a width")
    };
    let whole = across();
    page.click("[data-zoom='1.6']");
    assert!((across() - whole / 1.6).abs() < 1e-6 * whole);
    page.js("document.querySelector('#view').dispatchEvent(new WheelEvent('wheel', { deltaY: -900, clientX: 300, clientY: 300, bubbles: true, cancelable: true }))");
    assert!(across() < whole / 4.0);
    page.click("[data-zoom='0']");
    assert!((across() - whole).abs() < 1e-6 * whole);
    page.click("#passes-shown label:nth-of-type(2) input");
    assert_eq!(
        page.js("document.querySelector('#overlay [data-pass=\"2\"]').getAttribute('display')"),
        "none"
    );
    page.click("#passes-shown label:nth-of-type(2) input");
    page.click("#lens-switch");
    assert_eq!(
        page.js("document.querySelector('#lens').hidden"),
        Value::Bool(false)
    );
    assert!(
        page.text("#lens-words").contains("197 µm from the wall"),
        "{}",
        page.text("#lens-words")
    );
    assert!(
        page.text("#lens-bar").contains("µm"),
        "{}",
        page.text("#lens-bar")
    );
    page.js("document.querySelector('#findings-body button').click()");
    assert!(across() < whole / 4.0, "a finding is gone to");
    page.screenshot("magnifier", 1280);
    page.click("#lens-switch");
}

/// A block of the strip lights its stretch of the path.
fn lit(page: &Page) {
    open_die(page);
    page.js("document.querySelector('#shift-strip [data-pass=\"2\"]').dispatchEvent(new PointerEvent('pointerenter'))");
    let lit = page.js("[...document.querySelectorAll('#overlay .lit')].map((line) => line.parentElement.dataset.pass + '/' + line.dataset.contour)");
    assert_eq!(lit, serde_json::json!(["2/6"]));
    assert!(
        page.text("#shift-words").contains("pass 2"),
        "{}",
        page.text("#shift-words")
    );
    // Set-up, threading, four passes, and what comes free; as long together as set-up and machine time.
    let minutes = page.js("[...document.querySelectorAll('#shift-strip [data-step]')].map((block) => Number(block.dataset.minutes))");
    let minutes: Vec<f64> = minutes
        .as_array()
        .expect("blocks")
        .iter()
        .filter_map(Value::as_f64)
        .collect();
    let plan = die_as_json();
    let of = |key: &str| plan["estimate"][key]["expected"].as_f64().expect("minutes");
    let right = of("setup_minutes") + of("machine_minutes");
    assert!(
        (minutes.iter().sum::<f64>() - right).abs() < 0.001 * minutes.len() as f64,
        "{minutes:?} against {right}"
    );
}

fn downloads(page: &Page) {
    open_die(page);
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().to_string_lossy().into_owned();
    command("plan", &[&DIE_ON_THE_COMMAND_LINE[..], &["--out", &out]].concat());
    command(
        "compare",
        &[&DIE_ON_THE_COMMAND_LINE[..], &["--out", &out]].concat(),
    );
    command(
        "inspection-sheet",
        &[&DIE_ON_THE_COMMAND_LINE[..], &["--out", &out]].concat(),
    );
    for (path, name) in [
        ("/compare.csv", "hand-die-compare.csv"),
        ("/sheet.svg", "hand-die.svg"),
        ("/plan.json", "hand-die.json"),
        ("/paths.dxf", "hand-die-paths.dxf"),
        ("/job-sheet.html", "hand-die.html"),
        ("/inspection.html", "hand-die-inspection.html"),
        ("/sizes.csv", "hand-die-inspection.csv"),
        ("/points.csv", "hand-die-inspection-points.csv"),
    ] {
        page.click(&format!("[data-download='{path}']"));
        let right = fs::read(folder.path().join(name)).expect("the command wrote it");
        assert!(
            page.downloaded(name) == right,
            "{name} differs from what the command line writes"
        );
    }
    // A row names the drawing as the page knows it, so the command runs beside it.
    let drawing = folder.path().join("hand-die.dxf");
    fs::copy("fixtures/clock/hand-die.dxf", &drawing).expect("copied");
    let mut arguments = DIE_ON_THE_COMMAND_LINE;
    arguments[0] = "hand-die.dxf";
    page.click("[data-download='/row.csv']");
    assert_eq!(
        String::from_utf8_lossy(&page.downloaded("hand-die.csv")),
        String::from_utf8_lossy(&command_in(folder.path(), "quote", &arguments))
    );
}

fn meaning(page: &Page) {
    open_die(page);
    // A click on the drawing opens the menu of the contour there, and the choice changes what is cut.
    page.js("document.querySelector('#overlay .contour[data-contour=\"1\"]').dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: 300, clientY: 200 }))");
    let menu = page.text("#place-menu");
    assert!(
        menu.contains("Contour 1 · layer PLATE") && menu.contains("Length 291.4159 mm"),
        "{menu}"
    );
    let before = minutes(page);
    page.answered(|| {
        page.js("(() => { const select = document.querySelectorAll('#place-menu select')[1]; select.value = 'cut'; select.dispatchEvent(new Event('change')); })()");
    });
    assert!(minutes(page) > before, "the plate is cut too");
    assert!(page.js("location.hash").as_str().expect("text").contains("PLATE"));
    // Leaving with an answer that no job file holds is asked about; saved, it is not.
    page.put_focus("#field-finish");
    let asked = page.stays();
    page.go("/");
    assert!(page.stays() > asked, "leaving asks");
    open_die(page);
    page.put_focus("#field-finish");
    page.click("#save-job");
    assert!(!page.downloaded("hand-die.toml").is_empty());
    let asked = page.stays();
    page.go("/");
    assert_eq!(page.stays(), asked, "nothing is unsaved");
}

/// Opens a plate with four counterbores, which are asked about.
fn open_counterbores(page: &Page) {
    page.go("/#material=tool-steel&thickness_mm=20&wire_mm=0.25&wire_kind=brass&passes=2");
    drop_counterbores(page);
    page.until(
        "the question is asked",
        "!document.querySelector('[data-opens=questions]').hidden && !document.querySelector('[aria-busy], [data-more]')",
    );
}

fn drop_counterbores(page: &Page) {
    let drawing = fs::read_to_string("fixtures/questions/counterbores-one-layer.dxf").expect("a drawing");
    page.drop_file("plate.dxf", &drawing);
}

fn cards(page: &Page) -> Value {
    page.js("document.querySelectorAll('.question').length")
}

pub(crate) fn address(page: &Page) -> String {
    let address = page.js("decodeURIComponent(location.hash)");
    address.as_str().expect("text").to_owned()
}

fn answered(page: &Page) {
    open_counterbores(page);
    assert_eq!(cards(page), 1);
    let card = page.text(".question");
    assert!(
        card.contains("4 × Ø14/Ø8.5 mm") && card.contains("2.75 mm deep"),
        "{card}"
    );
    assert!(
        !page.text("#questions").contains("--"),
        "options are for the command line"
    );
    assert!(
        page.text("#headline").contains("sides: 1 drawn, 8 open"),
        "{}",
        page.text("#headline")
    );
    assert!(
        page.text("#headline").contains("none: 1 question is open"),
        "{}",
        page.text("#headline")
    );
    page.screenshot("questions-light", 1280);

    // The second reading: the outer circles are counterbores. The command line says what it comes to.
    page.answered(|| page.click(".question li:nth-child(2) button"));
    assert_eq!(cards(page), 0);
    assert!(
        page.text("#headline").contains("sides: 1 drawn, 4 given"),
        "{}",
        page.text("#headline")
    );
    let arguments = [
        "fixtures/questions/counterbores-one-layer.dxf",
        "--contour=2-5=reference",
        "--contour=6-9=opening",
        "--material=tool-steel",
        "--thickness=20",
        "--wire=0.25",
        "--wire-kind=brass",
        "--passes=2",
        "--json",
    ];
    takes_what_the_command_says(page, &arguments);
    assert!(
        address(page).contains("\"2\":{\"use\":\"reference\"}"),
        "{}",
        address(page)
    );
    let given = page.text(".answers");
    assert!(
        given.contains("Contours 2, 3, 4, 5: for reference")
            && given.contains("Contours 6, 7, 8, 9: opening"),
        "{given}"
    );
    page.screenshot("answers-light", 1280);

    // Taken back, one group after the other, it is asked again.
    page.answered(|| page.click(".answers li:nth-child(1) button"));
    page.answered(|| page.click(".answers li:nth-child(1) button"));
    assert_eq!(cards(page), 1);
    assert!(!address(page).contains("contour"), "{}", address(page));
}

/// The side that stays goes into the job with the purpose, and out of it again.
fn trimmed(page: &Page) {
    page.go(
        "/#material=tool-steel&thickness_mm=12&wire_mm=0.25&wire_kind=brass&passes=2&layer=\
         %7B%22PLATE%22%3A%7B%22use%22%3A%22existing%22%7D%2C%22EDGE%22%3A%7B%22use%22%3A%22trim%22%7D%7D",
    );
    let drawing = fs::read_to_string("fixtures/questions/edge-off-a-plate.dxf").expect("a drawing");
    page.drop_file("edge.dxf", &drawing);
    page.until(
        "the question is asked",
        "!document.querySelector('[data-opens=questions]').hidden && !document.querySelector('[aria-busy], [data-more]')",
    );
    let card = page.text(".question");
    assert!(
        card.contains("which side of the trim stays?") && card.contains("600.0 mm²"),
        "{card}"
    );
    page.answered(|| page.click(".question li:nth-child(1) button"));
    assert_eq!(cards(page), 0);
    assert!(address(page).contains("\"keep\":[40,20]"), "{}", address(page));
    let arguments = [
        "fixtures/questions/edge-off-a-plate.dxf",
        "--layer=PLATE=existing",
        "--layer=EDGE=trim",
        "--keep=2=40,20",
        "--material=tool-steel",
        "--thickness=12",
        "--wire=0.25",
        "--wire-kind=brass",
        "--passes=2",
        "--json",
    ];
    takes_what_the_command_says(page, &arguments);
    page.answered(|| page.click(".answers li:nth-child(1) button"));
    assert_eq!(cards(page), 1);
    assert!(!address(page).contains("keep"), "{}", address(page));
}

/// Holds the minutes of the page to those of a plan of the command line.
fn takes_what_the_command_says(page: &Page, arguments: &[&str]) {
    let right: Value = serde_json::from_slice(&command("plan", arguments)).expect("JSON");
    let right = right["estimate"]["machine_minutes"]["expected"]
        .as_f64()
        .expect("minutes");
    assert!(
        (minutes(page) - right).abs() <= 0.5001,
        "{} {right}",
        minutes(page)
    );
}

fn first_readings(page: &Page) {
    open_counterbores(page);
    // One press takes the first reading of all, and is kept in the address.
    page.answered(|| page.click("#take-first"));
    assert_eq!(
        page.js("document.querySelectorAll('.question.assumed').length"),
        1
    );
    let headline = page.text("#headline");
    assert!(
        headline.contains("1 drawn, 8 assumed; first reading taken of 1 question"),
        "{headline}"
    );
    assert!(minutes(page) > 0.0);
    page.screenshot("first-readings-light", 1280);
    page.wide(360, 900);
    page.screenshot("first-readings-phone", 360);
    page.wide(1280, 900);
    assert!(address(page).contains("assume_sides=true"), "{}", address(page));
    page.js("window.isBefore = true, location.reload()");
    page.until(
        "the form is built again",
        "!window.isBefore && document.querySelectorAll('.cell').length > 20 && document.querySelector('#view').hidden",
    );
    drop_counterbores(page);
    page.until(
        "it is still taken",
        "document.querySelectorAll('.question.assumed').length === 1",
    );
    page.answered(|| page.click("#ask-again"));
    assert!(
        page.text("#headline").contains("none: 1 question is open"),
        "{}",
        page.text("#headline")
    );
}

fn kept(page: &Page) {
    open_die(page);
    page.answered(|| page.put("#field-finish", "N6"));
    page.answered(|| page.put("#field-room_swing_k", "8"));
    page.answered(|| page.put("#field-tab", "2.5"));
    page.answered(|| page.put("#field-margin_mm", "40"));
    page.answered(|| page.put("#field-clamp", "left"));
    let before = page.text("#headline");
    let hash = page.js("location.hash").as_str().expect("text").to_owned();
    page.go(&format!("/{hash}"));
    page.until("it is planned again", PLANNED);
    assert_eq!(page.text("#headline"), before);
    page.click("#save-job");
    let job = String::from_utf8(page.downloaded("hand-die.toml")).expect("text");
    assert!(
        job.contains("drawing = \"hand-die.dxf\"")
            && job.contains("finish = \"N6\"")
            && job.contains("room_swing_k = 8")
            && job.contains("tab = \"2.5\"")
            && job.contains("margin_mm = 40")
            && job.contains("clamp = \"left\""),
        "{job}"
    );
    // The command line reads it, beside the drawing.
    let folder = tempfile::tempdir().expect("a folder");
    fs::copy("fixtures/clock/hand-die.dxf", folder.path().join("hand-die.dxf")).expect("copied");
    let file = folder.path().join("hand-die.toml");
    fs::write(&file, &job).expect("written");
    let plan = command("plan", &[&file.to_string_lossy(), "--json"]);
    let plan: Value = serde_json::from_slice(&plan).expect("JSON");
    let right = plan["estimate"]["machine_minutes"]["expected"]
        .as_f64()
        .expect("minutes");
    assert!((minutes(page) - right).abs() <= 0.5001);
    // The page reads it too.
    page.go("/#demo=hand-die");
    page.until("the drawing is shown", "!document.querySelector('#view').hidden");
    page.drop_file("hand-die.toml", &job);
    page.until(
        "it is planned as the job file asks",
        "document.querySelector('#field-finish').value === 'N6' && !document.querySelector('[data-opens=passes]').hidden",
    );
}

fn several(page: &Page) {
    page.go("/#material=tool-steel&thickness_mm=10&wire_mm=0.25&wire_kind=brass&passes=2");
    page.pick_files(&[
        "fixtures/clock/ratchet.dxf",
        "fixtures/clock/hand-punch.dxf",
        "fixtures/checks/gap-in-contour-fires.dxf",
    ]);
    page.until("the list is full", "document.querySelectorAll('#several-table tbody tr').length === 3 && !document.querySelector('#several-table').textContent.includes('waiting')");
    let list = page.text("#several-table");
    assert!(
        list.contains("ratchet.dxf")
            && list.contains("gap-in-contour-fires.dxf")
            && list.contains("Total of"),
        "{list}"
    );
    page.click("#several-csv");
    let table = page.downloaded("drawings.csv");
    let mut reader = csv::Reader::from_reader(&table[..]);
    let rows: Vec<csv::StringRecord> = reader
        .records()
        .collect::<Result<_, _>>()
        .expect("rows of one length");
    assert_eq!(
        rows.iter().map(|row| &row[1]).collect::<Vec<_>>(),
        ["planned", "planned", "refused"],
        "{rows:?}"
    );
    page.answered(|| page.click("#several-table tbody tr:nth-child(2) button"));
    assert_eq!(page.text("#part-name"), "hand-punch.dxf");
}

fn wrong(page: &Page) {
    open_die(page);
    let head = page.text("#headline");
    for (field, value, right) in [
        ("finish", "Rz 4", ""),
        ("tolerance", "tight", ""),
        ("thickness_mm", "-3", "30"),
        ("thickness_mm", "1,250", "30"),
        ("quantity", "-3", ""),
        ("quantity", "0", ""),
    ] {
        // What can be read but not planned comes with the drawing as read, what cannot be read leaves all as it was.
        let sentence = page.told(|| page.put(&format!("#field-{field}"), value));
        assert!(
            sentence.len() > 20 && sentence.ends_with('.'),
            "{field}: {sentence}"
        );
        assert_eq!(sentence, page.text(&format!("#wrong-{field}")), "{value}");
        assert_eq!(
            page.js(&format!(
                "document.querySelector('#field-{field}').getAttribute('aria-invalid')"
            )),
            "true"
        );
        page.answered(|| page.put(&format!("#field-{field}"), right));
        assert_eq!(
            page.js(&format!("document.querySelector('#wrong-{field}').hidden")),
            Value::Bool(true)
        );
        assert_eq!(page.text("#headline"), head);
    }
    page.told(|| page.put("#field-thickness_mm", "3 cubits"));
    assert_eq!(
        page.js("!document.querySelector('#old-mark').hidden"),
        true,
        "the old answer is marked"
    );
    assert_eq!(page.text("#headline"), head);
    page.answered(|| page.put("#field-thickness_mm", "30"));
    assert_eq!(page.js("document.querySelector('#old-mark').hidden"), true);
    // A wrong file takes nothing away.
    page.drop_file("holiday.png", "this is no drawing");
    page.until(
        "a sentence says so",
        "!document.querySelector('#wrong-drawing').hidden",
    );
    let sentence = page.text("#wrong-drawing");
    assert!(
        sentence.contains("holiday.png") && sentence.contains("the drawing before stays"),
        "{sentence}"
    );
    assert_eq!(page.text("#headline"), head);
    page.drop_file("broken.toml", "thickness_mm = thick");
    page.until(
        "a sentence says so",
        "!document.querySelector('#wrong-job').hidden",
    );
    let sentence = page.text("#wrong-job");
    assert!(
        sentence.contains("broken.toml") && sentence.contains("line 1"),
        "{sentence}"
    );
    assert_eq!(page.text("#headline"), head);
}

/// Presses Tab until something has the focus.
fn tab_until(page: &Page, what: &str, script: &str) {
    for _ in 0..120 {
        if page.js(script) == Value::Bool(true) {
            return;
        }
        page.keys(&["Tab"]);
    }
    panic!("the Tab key does not lead to {what}");
}

fn keyboard(page: &Page) {
    page.go("/");
    // Tab to the demo parts, open one, go on to the drawing and magnify it.
    page.until("a demo part has the focus", "true");
    let tab_until = |what: &str, script: &str| tab_until(page, what, script);
    tab_until(
        "the demo parts",
        "document.activeElement.dataset.demo === 'hand-die'",
    );
    page.keys(&["Enter"]);
    page.until("it is planned", PLANNED);
    tab_until("the drawing", "document.activeElement.id === 'view'");
    let before = page.js("document.querySelector('#overlay svg').getAttribute('viewBox')");
    page.keys(&["+", "ArrowLeft"]);
    assert_ne!(
        page.js("document.querySelector('#overlay svg').getAttribute('viewBox')"),
        before
    );
    page.keys(&["0"]);
    assert_eq!(
        page.js("document.querySelector('#overlay svg').getAttribute('viewBox')"),
        before
    );
    // The menu of a contour, and back.
    page.keys(&["Enter"]);
    assert_eq!(page.js("document.querySelector('#place-menu').hidden"), false);
    page.keys(&["Escape"]);
    assert_eq!(
        page.js("document.activeElement.id"),
        "view",
        "the focus comes back"
    );
    tab_until("the clock", "document.activeElement.id === 'clock'");
    let told = page.text("#clock-words");
    page.keys(&["End"]);
    assert_ne!(page.text("#clock-words"), told);
    tab_until(
        "the thickness",
        "document.activeElement.id === 'field-thickness_mm'",
    );
    let before = minutes(page);
    page.answered(|| page.keys(&["5"]));
    assert!(minutes(page) < before, "5 mm in place of 30");
    keyboard_beside(page);
}

/// The further sheets and files, by keys alone.
fn keyboard_beside(page: &Page) {
    let tab_until = |what: &str, script: &str| tab_until(page, what, script);
    tab_until(
        "a further sheet",
        "document.activeElement.dataset.opens === 'trade'",
    );
    page.keys(&["Enter"]);
    tab_until(
        "the chart",
        "document.activeElement.getAttribute('role') === 'radio'",
    );
    let told = page.text("#chart-words");
    page.keys(&["ArrowDown"]);
    assert_ne!(page.text("#chart-words"), told, "another mark is told");
    page.answered(|| page.keys(&["Enter"]));
    assert_eq!(
        page.js("document.querySelector('#field-wire_mm').value !== ''"),
        Value::Bool(true)
    );
    page.until(
        "the focus stays on the chart",
        "document.activeElement.getAttribute('aria-checked') === 'true'",
    );
    page.keys(&["Escape"]);
    assert_eq!(
        page.js("document.activeElement.dataset.opens"),
        "trade",
        "the focus comes back"
    );
    tab_until("the files", "document.activeElement.dataset.opens === 'take'");
    page.keys(&["Enter"]);
    tab_until(
        "a download",
        "document.activeElement.dataset.download === '/plan.json'",
    );
    page.keys(&["Enter"]);
    assert!(!page.downloaded("hand-die.json").is_empty());
    // Everything that can be used has a name for those who do not see it.
    let nameless = page.js(
        "[...document.querySelectorAll('button, input, select, [role=radio], [tabindex=\"0\"]')].filter((e) => e.checkVisibility()) \
         .filter((e) => !(e.getAttribute('aria-label') || e.getAttribute('aria-labelledby') || e.textContent.trim() || e.labels?.length)).map((e) => e.outerHTML)",
    );
    assert_eq!(nameless, Value::Array(Vec::new()));
}

fn inches(page: &Page) {
    open_die(page);
    page.answered(|| page.click("[name='shown-unit'][value='inch']"));
    // 30 mm and 197 µm: what was typed stays, and is told in inches.
    assert_eq!(
        page.js("document.querySelector('#field-thickness_mm').value"),
        "30 mm"
    );
    assert_eq!(page.text("#understood-thickness_mm"), "= 1.1811 in");
    assert_eq!(column(page, "#passes-body", 2)[0], 0.007_756);
    page.answered(|| page.put("#field-thickness_mm", "1"));
    assert!(address(page).contains("thickness_mm=1+in"), "{}", address(page));
    page.answered(|| page.click("[name='shown-unit'][value='mm']"));
    assert_eq!(page.text("#understood-thickness_mm"), "= 25.4 mm");
}

fn widths(page: &Page) {
    for (name, width) in [("phone", 360), ("tablet", 1024), ("wide", 1600)] {
        page.wide(width, 900);
        open_die(page);
        let across = page
            .js("document.documentElement.scrollWidth")
            .as_u64()
            .expect("a width");
        assert!(
            across <= u64::from(width),
            "{width} px: the page is {across} px wide"
        );
        let cut_off = page.js(&format!(
            "[...document.querySelectorAll('button, select, input')].filter((e) => e.checkVisibility() && !e.closest('.wide, .file-button')) \
             .filter((e) => e.getBoundingClientRect().right > {width} + 0.5).map((e) => e.outerHTML)"
        ));
        assert_eq!(cut_off, Value::Array(Vec::new()), "{width} px");
        for scheme in ["light", "dark"] {
            page.colours(scheme);
            page.screenshot(&format!("{name}-{scheme}"), width);
        }
        page.colours("light");
    }
    page.wide(1280, 900);
}

/// Contrast of text against what it stands on: at least 4.5 to 1 (WCAG 2.2, 1.4.3).
fn colours(page: &Page) {
    for scheme in ["light", "dark"] {
        page.colours(scheme);
        open_die(page);
        let weak = page.js(CONTRAST);
        assert_eq!(weak, Value::Array(Vec::new()), "{scheme}");
    }
    page.colours("light");
}

/// A drawing of some 600 kB: it is read and checked at once, and its plan need not be waited for.
fn long_work(page: &Page) {
    page.go("/#material=tool-steel&thickness_mm=30&wire_mm=0.25&wire_kind=brass&passes=4");
    let points: Vec<String> = (0..16_000)
        .map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 16_000.0;
            let radius = 60.0 + 3.0 * (40.0 * angle).sin();
            format!(
                "10\n{:.9}\n20\n{:.9}\n",
                radius * angle.cos(),
                radius * angle.sin()
            )
        })
        .collect();
    let points = points.concat();
    let head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n";
    let drawing = format!(
        "{head}0\nLWPOLYLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n16000\n70\n1\n{points}0\nENDSEC\n0\nEOF\n"
    );
    page.drop_file("large.dxf", &drawing);
    page.until("the wait is told", "!document.querySelector('#waiting').hidden");
    page.until(
        "the drawing is shown before its plan",
        "!document.querySelector('#view').hidden",
    );
    assert_eq!(
        page.js("document.querySelector('[data-opens=passes]').hidden"),
        Value::Bool(true)
    );
    assert!(
        page.text("#headline").contains("1 contour"),
        "{}",
        page.text("#headline")
    );
    page.click("#stop-waiting");
    assert_eq!(
        page.js("document.querySelector('#waiting').hidden"),
        Value::Bool(true)
    );
    assert!(
        page.text("#wrong-page").contains("not the new plan"),
        "{}",
        page.text("#wrong-page")
    );
    // Asked again, its plan comes; what the magnifier cannot show of so large a drawing, it says.
    page.answered(|| page.put("#field-passes", "2"));
    page.click("#lens-switch");
    assert!(
        page.text("#lens-words").contains("are drawn together"),
        "{}",
        page.text("#lens-words")
    );
    page.click("#lens-switch");
    // The page goes on with the next drawing.
    let next = fs::read_to_string("fixtures/clock/ratchet.dxf").expect("a drawing");
    page.drop_file("ratchet.dxf", &next);
    page.until(
        "the next drawing is planned",
        "document.title.startsWith('ratchet') && !document.querySelector('[data-opens=passes]').hidden",
    );
}

/// Texts whose contrast (relative luminance of WCAG 2.2) is below 4.5.
const CONTRAST: &str = "(() => {
    const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
    const rgba = (colour) => { canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1); return [...canvas.getImageData(0, 0, 1, 1).data]; };
    const light = ([r, g, b]) => [r, g, b].map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; })
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
    const ground = (e) => { for (; e; e = e.parentElement) { const c = rgba(getComputedStyle(e).backgroundColor); if (c[3] > 250) return c; } return [255, 255, 255]; };
    const texts = [...document.querySelectorAll('body *')].filter((e) => e.checkVisibility() && !e.closest('svg, .unseen')
        && [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()));
    return texts.map((e) => { const [a, b] = [light(rgba(getComputedStyle(e).color)), light(ground(e))].sort((x, y) => y - x);
        return [(a + 0.05) / (b + 0.05), e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 40)]; })
        .filter(([contrast]) => contrast < 4.5).map(([contrast, words]) => contrast.toFixed(2) + ' ' + words);
})()";

/// Milliseconds from a change to the frame that shows its picture, 60 times; the first ten warm up.
pub(crate) fn change_to_picture(page: &Page) -> Vec<f64> {
    open_die(page);
    let times = page.js(
        "(async () => {
            const times = [];
            for (let i = 0; i < 70; i++) {
                const field = document.querySelector('#field-thickness_mm');
                const before = document.querySelector('#overlay svg');
                const since = performance.now();
                field.value = 20 + i;
                field.dispatchEvent(new Event('input', { bubbles: true }));
                while (document.querySelector('#overlay svg') === before) await new Promise((shown) => requestAnimationFrame(shown));
                await new Promise((shown) => requestAnimationFrame(() => requestAnimationFrame(shown)));
                times.push(performance.now() - since);
                await new Promise((rested) => setTimeout(rested, 30));
            }
            return times.slice(10);
        })()",
    );
    times
        .as_array()
        .expect("times")
        .iter()
        .filter_map(Value::as_f64)
        .collect()
}

/// Milliseconds between the frames of the moving wire, the median of two seconds.
pub(crate) fn frame_ms(page: &Page) -> f64 {
    open_die(page);
    page.put("#speed", "5");
    page.click("#play");
    thread::sleep(Duration::from_secs(2));
    let median = page.js("import('/player.js').then((player) => player.frameTime())");
    median.as_f64().expect("a time")
}

/// Seconds until a drawing is read and shown, and until it is planned.
pub(crate) fn large_drawing(page: &Page, file: &str) -> (f64, f64) {
    page.go("/#material=tool-steel&thickness_mm=30&wire_mm=0.25&wire_kind=brass&passes=1");
    let since = std::time::Instant::now();
    page.pick_files(&[file]);
    page.until("the drawing is shown", "!document.querySelector('#view').hidden");
    let read = since.elapsed().as_secs_f64();
    page.until("it is planned", PLANNED);
    (read, since.elapsed().as_secs_f64())
}
