//! What a visitor does on the sheet itself: mending, the moving wire, a contour's menu, measuring, the shop's own book, printing.

use serde_json::Value;

use crate::browser::Page;
use crate::steps::{PLANNED, Step, address, command, die_as_json, minutes, open_die};

pub(crate) const ALL: [Step; 17] = [
    ("the empty sheet shows the workshop's parts", empty, ""),
    ("what is typed is read as on the command line", understood, "422"),
    ("one step back takes a change back", undone, ""),
    ("a finding is mended by a button", mended, ""),
    (
        "a finer wire, or a pass more, is offered with its time",
        finer,
        "",
    ),
    ("the wire's way moves and waits at stops", moved, ""),
    ("with less motion it goes by steps", stepped, ""),
    ("a further sheet lies beside the drawing", beside, ""),
    ("start and tab are dragged", dragged, ""),
    ("one finger scrolls the page, two magnify", touched, ""),
    ("two places are measured", measured, ""),
    ("pointing marks both ways", hovered, ""),
    (
        "the shop's own book counts, and stays in the page",
        own_book,
        "422",
    ),
    ("readings become the shop's book, and charts", readings, "422"),
    ("two sets of answers stand side by side", paired, ""),
    ("paper gets the job sheet", printed, ""),
    ("what is offered can be used by everybody", accessible, ""),
];

/// Where there is a server, it may go away.
pub(crate) const OF_A_SERVER: Step = (
    "a server that went away is told, and waited for",
    away,
    "ERR_INTERNET_DISCONNECTED",
);

fn truth(page: &Page, script: &str) -> bool {
    page.js(script) == Value::Bool(true)
}

fn empty(page: &Page) {
    page.go("/");
    page.until(
        "each part is drawn",
        "document.querySelectorAll('#demos .demo-picture svg .contour').length >= 5",
    );
    assert!(truth(page, "document.querySelector('#stamp').hidden"));
    page.screenshot("empty-light", 1280);
    // The first visit has five steps and can be left at any of them.
    page.js("[...document.querySelectorAll('#start button')].at(-1).click()");
    for step in 1..=4 {
        assert!(
            page.text("#tour").starts_with(&format!("{step} of 5")),
            "{}",
            page.text("#tour")
        );
        page.click("#tour button");
    }
    page.click("#tour button:nth-of-type(2)");
    assert!(truth(page, "document.querySelector('#tour').hidden"));
}

/// 1 in = 25.4 mm exactly: NIST Special Publication 811 (2008), appendix B.
fn understood(page: &Page) {
    open_die(page);
    for (typed, says, kept) in [
        ("3,5", "", "thickness_mm=3,5+mm"),
        ("0.5in", "= 12.7 mm", "thickness_mm=0.5in"),
        ("10thou", "= 0.254 mm", "thickness_mm=10thou"),
        ("1/2 in", "= 12.7 mm", "thickness_mm=1/2+in"),
        ("30", "", "thickness_mm=30+mm"),
    ] {
        page.answered(|| page.put("#field-thickness_mm", typed));
        let shown = page.text("#understood-thickness_mm");
        assert!(
            shown == says || says.is_empty() && shown.ends_with("mm"),
            "{typed}: {shown}"
        );
        assert!(address(page).contains(kept), "{}", address(page));
    }
    let sentence = page.told(|| page.put("#field-thickness_mm", "1,250"));
    assert!(sentence.contains("1.250 or 1250"), "{sentence}");
    assert!(truth(
        page,
        "document.querySelector('#main').classList.contains('old')"
    ));
}

fn undone(page: &Page) {
    open_die(page);
    let before = (page.text("#headline"), address(page));
    page.answered(|| page.put("#field-passes", "2"));
    assert_ne!(page.text("#headline"), before.0);
    page.answered(|| page.click("#undo"));
    assert_eq!((page.text("#headline"), address(page)), before);
    // What is typed into one cell in one go is one step.
    page.answered(|| {
        for mm in ["4", "40", "40.", "40.5"] {
            page.put("#field-thickness_mm", mm);
        }
    });
    page.until("the last is planned", "document.querySelector('#clock').max > 60");
    page.answered(|| {
        page.js("history.back()");
    });
    assert_eq!((page.text("#headline"), address(page)), before);
}

fn mended(page: &Page) {
    page.go("/#material=tool-steel&thickness_mm=20&wire_mm=0.25&wire_kind=brass&passes=2");
    page.pick_files(&["fixtures/checks/gap-in-contour-fires.dxf"]);
    page.until(
        "the gap is found",
        "document.querySelectorAll('#worst .mend').length > 0 && !document.querySelector('[aria-busy], [data-more]')",
    );
    assert!(
        page.text("#headline").starts_with("Cannot be cut"),
        "{}",
        page.text("#headline")
    );
    let mend = page.text("#worst .mend");
    assert!(mend.starts_with("Join ends up to"), "{mend}");
    page.js("document.querySelector('#worst .mend').focus()");
    page.answered(|| page.click("#worst .mend"));
    assert!(truth(page, PLANNED));
    assert!(
        !page.text("#headline").starts_with("Cannot be cut"),
        "{}",
        page.text("#headline")
    );
    assert!(address(page).contains("join_mm="), "{}", address(page));
    assert!(
        truth(
            page,
            "document.activeElement !== document.body && document.activeElement.isConnected"
        ),
        "the focus is not lost with the button"
    );
    page.answered(|| page.click("#undo"));
    assert!(page.text("#headline").starts_with("Cannot be cut"));
    // The unit of a drawing that names none.
    page.go("/#material=tool-steel&thickness_mm=20&wire_mm=0.25&wire_kind=brass&passes=2");
    page.pick_files(&["fixtures/checks/units-missing-fires.dxf"]);
    page.until("the unit is asked", "document.querySelectorAll('#findings-body .mend').length > 1 && !document.querySelector('[aria-busy], [data-more]')");
    page.answered(|| {
        page.js("[...document.querySelectorAll('#findings-body .mend')].find((mend) => mend.textContent.includes('inch')).click()");
    });
    assert!(address(page).contains("units=inch"), "{}", address(page));
    assert!(!page.text("#findings-body").contains("unit missing"));
}

fn finer(page: &Page) {
    page.go("/#material=tool-steel&thickness_mm=20&wire_mm=0.25&wire_kind=brass&passes=2");
    page.pick_files(&["fixtures/checks/narrow-slot-fires.dxf"]);
    page.until("a finer wire is offered", "[...document.querySelectorAll('.mend')].some((mend) => mend.textContent.startsWith('Take a finer wire'))");
    let offer = page.js("[...document.querySelectorAll('.mend')].find((mend) => mend.textContent.startsWith('Take a finer wire')).textContent");
    let offer = offer.as_str().expect("words").to_owned();
    assert!(offer.contains("order") && offer.contains("Ra"), "{offer}");
    page.answered(|| {
        page.js("[...document.querySelectorAll('.mend')].find((mend) => mend.textContent.startsWith('Take a finer wire')).click()");
    });
    let wire = page.js("Number(document.querySelector('#field-wire_mm').value.split('|')[0])");
    assert!(wire.as_f64().expect("a diameter") < 0.25, "{wire}");
    // Where the finish is not reached, one pass more is.
    open_die(page);
    page.answered(|| page.put("#field-finish", "Ra 0.4"));
    let more = "[...document.querySelectorAll('#worst .mend')].find((mend) => mend.textContent.startsWith('Make one pass more'))";
    assert!(truth(page, &format!("{more}.textContent.includes('passes 5')")));
    page.answered(|| {
        page.js(&format!("{more}.click()"));
    });
    assert_eq!(page.js("document.querySelector('#field-passes').value"), "5");
}

fn clock(page: &Page) -> f64 {
    page.js("Number(document.querySelector('#clock').value)")
        .as_f64()
        .expect("minutes")
}

/// How many pixels of the canvas are drawn on.
fn drawn(page: &Page) -> u64 {
    page.js(
        "(() => { const way = document.querySelector('#wire-way'); const canvas = document.createElement('canvas'); [canvas.width, canvas.height] = [way.width, way.height]; \
         if (way.width * way.height === 0) return 0; const copy = canvas.getContext('2d', { willReadFrequently: true }); copy.drawImage(way, 0, 0); \
         const { data } = copy.getImageData(0, 0, canvas.width, canvas.height); \
         let count = 0; for (let i = 3; i < data.length; i += 4) if (data[i] > 0) count += 1; return count; })()",
    )
    .as_u64()
    .expect("a count")
}

fn moved(page: &Page) {
    open_die(page);
    assert_eq!((clock(page), drawn(page)), (0.0, 0));
    // The clock ends with set-up and machine time.
    let plan = die_as_json();
    let of = |key: &str| plan["estimate"][key]["expected"].as_f64().expect("minutes");
    let end = page
        .js("Number(document.querySelector('#clock').max)")
        .as_f64()
        .expect("minutes");
    assert!(
        (end - of("setup_minutes") - of("machine_minutes")).abs() < 1e-6,
        "{end}"
    );
    page.put("#speed", "15");
    let sheet = page.js("(window.stillSheet = document.querySelector('#overlay svg').innerHTML).length");
    page.click("#play");
    page.until(
        "it stops where somebody has to be there",
        "document.querySelector('#play').textContent === 'Go on'",
    );
    assert!(
        page.text("#step-words").contains("secure the slug"),
        "{}",
        page.text("#step-words")
    );
    let stop = plan["sequence"]
        .as_array()
        .expect("steps")
        .iter()
        .find(|step| step["kind"] == "stop");
    let stop = stop.expect("a stop")["from_minutes"].as_f64().expect("minutes") + of("setup_minutes");
    assert!((clock(page) - stop).abs() < 1e-3, "{} {stop}", clock(page));
    let rough = drawn(page);
    assert!(rough > 500, "{rough} pixels");
    assert_eq!(
        page.js("document.querySelector('#overlay svg').innerHTML.length"),
        sheet,
        "the sheet stays as it is"
    );
    page.click("#play");
    page.until("it stops again, to take the slug out", "document.querySelector('#step-words').textContent.includes('remove the slug') && document.querySelector('#play').textContent === 'Go on'");
    page.click("#play");
    page.until(
        "it comes to its end",
        "document.querySelector('#play').textContent === 'Play'",
    );
    assert!((clock(page) - end).abs() < 1e-3);
    assert!(drawn(page) > rough, "the slug is gone");
    // The clock is dragged anywhere, at once.
    let seeking = page.js(
        "(() => { const slider = document.querySelector('#clock'); let most = 0; for (let i = 0; i <= 20; i++) { slider.value = slider.max * ((i * 7) % 21) / 20; \
         const since = performance.now(); slider.dispatchEvent(new Event('input')); most = Math.max(most, performance.now() - since); } return most; })()",
    );
    assert!(seeking.as_f64().expect("ms") < 1000.0, "{seeking}");
    page.screenshot("moving-light", 1280);
}

fn stepped(page: &Page) {
    page.steady(true);
    open_die(page);
    assert!(truth(page, "document.querySelector('#play').hidden"));
    page.click("#step-on");
    let first = (clock(page), page.text("#step-words"));
    page.click("#step-on");
    assert!(clock(page) >= first.0);
    assert_ne!(page.text("#step-words"), first.1);
    page.click("#step-back");
    assert_eq!(page.text("#step-words"), first.1);
    page.steady(false);
}

/// The drawing stays in view beside each further sheet, and nothing scrolls away.
fn beside(page: &Page) {
    page.wide(1440, 900);
    open_die(page);
    let sheets = page.js(
        "[...document.querySelectorAll('#leaf-tabs button:not([hidden])')].map((tab) => tab.dataset.opens)",
    );
    let sheets = sheets.as_array().expect("names").clone();
    assert!(sheets.len() >= 9, "{sheets:?}");
    for sheet in sheets {
        let name = sheet.as_str().expect("a name");
        page.click(&format!("[data-opens={name}]"));
        assert!(
            truth(
                page,
                "(() => { const box = document.querySelector('#view').getBoundingClientRect(); return box.top >= 0 && box.bottom <= innerHeight && box.width > 300 && box.height > 200; })()"
            ),
            "{name}"
        );
        assert!(
            truth(
                page,
                &format!("!document.querySelector('#{name}').hidden && scrollY === 0")
            ),
            "{name}"
        );
        page.screenshot(&format!("leaf-{name}"), 1440);
    }
    page.click("#leaf-close");
    assert!(truth(page, "document.querySelector('#leaf').hidden"));
    page.wide(1280, 900);
}

fn dragged(page: &Page) {
    open_die(page);
    let before = address(page);
    let from = page.middle(".handle-tab_at_mm");
    let to = page.js(
        "(() => { const box = document.querySelector('#overlay .contour[data-contour=\"6\"]').getBoundingClientRect(); return [box.left + box.width / 2, box.top + box.height / 2]; })()",
    );
    let at = |i: usize| to[i].as_f64().expect("a number");
    page.answered(|| page.drag(from, (at(0), at(1))));
    assert!(address(page).contains("tab_at_mm"), "{}", address(page));
    let moved = page.middle(".handle-tab_at_mm");
    assert!(
        (moved.1 - at(1)).abs() < 40.0 && (moved.1 - from.1).abs() > 60.0,
        "{moved:?} {to} {from:?}"
    );
    page.answered(|| page.click("#undo"));
    assert_eq!(address(page), before);
}

fn touched(page: &Page) {
    open_die(page);
    let across = || {
        let box_of =
            page.js("document.querySelector('#overlay svg').getAttribute('viewBox').split(' ').map(Number)");
        [0, 2].map(|i| box_of[i].as_f64().expect("a number"))
    };
    let before = across();
    page.touch("touchStart", &[(300.0, 300.0)]);
    page.touch("touchMove", &[(340.0, 240.0)]);
    page.touch("touchEnd", &[]);
    assert_eq!(across(), before, "one finger leaves the drawing where it is");
    page.touch("touchStart", &[(300.0, 300.0), (360.0, 300.0)]);
    for apart in [70.0, 90.0, 120.0, 160.0] {
        page.touch("touchMove", &[(330.0 - apart, 300.0), (330.0 + apart, 300.0)]);
    }
    page.touch("touchEnd", &[]);
    assert!(
        across()[1] < 0.8 * before[1],
        "two fingers magnify: {:?} {before:?}",
        across()
    );
    page.click("[data-zoom='0']");
}

/// The plate of the die is 60 mm × 90 mm, as dimensioned in the README.
fn measured(page: &Page) {
    open_die(page);
    page.click("#measure-switch");
    let plate = page.js("(() => { const box = document.querySelector('#overlay .contour[data-contour=\"1\"]').getBoundingClientRect(); return [box.left, box.top, box.right, box.bottom]; })()");
    let at = |i: usize| plate[i].as_f64().expect("a number");
    let middle = 0.5 * (at(1) + at(3));
    for x in [at(0), at(2)] {
        page.drag((x, middle), (x, middle));
    }
    let told = page.text("#measured");
    let shown: f64 = told
        .split("Distance ")
        .nth(1)
        .and_then(|rest| rest.split(' ').next())
        .and_then(|mm| mm.parse().ok())
        .unwrap_or(0.0);
    assert!((shown - 60.0).abs() < 0.5, "{told}");
    page.click("#measure-switch");
    assert!(truth(
        page,
        "document.querySelector('#measured').hidden && document.querySelectorAll('.measure-mark').length === 0"
    ));
}

fn hovered(page: &Page) {
    open_die(page);
    page.click("[data-opens=layers]");
    page.js("document.querySelector('#layers-body [data-contour=\"6\"]').dispatchEvent(new PointerEvent('pointerover', { bubbles: true }))");
    assert!(truth(
        page,
        "document.querySelector('#overlay .contour[data-contour=\"6\"]').classList.contains('hovered')"
    ));
    page.js("document.querySelector('#overlay .contour[data-contour=\"3\"]').dispatchEvent(new PointerEvent('pointerover', { bubbles: true }))");
    assert!(truth(
        page,
        "document.querySelector('#layers-body [data-contour=\"3\"]').classList.contains('hovered')"
    ));
    assert!(!truth(
        page,
        "document.querySelector('#layers-body [data-contour=\"6\"]').classList.contains('hovered')"
    ));
    page.click("#leaf-close");
}

/// The invented readings of two passes, as the command reads them; their book makes the plan's offsets gauged ones.
fn readings(page: &Page) {
    open_die(page);
    page.answered(|| page.put("#field-passes", "2"));
    page.click("[data-opens=passes]");
    assert!(!page.text("#passes").contains("gauged on"));
    page.click("[data-opens=readings]");
    page.click("#example-piece");
    page.until(
        "the piece of a book is there",
        "document.querySelector('#gauged-book') !== null",
    );
    let says = page.text("#readings-said");
    assert!(
        says.contains("Offsets from now on") && says.contains("JCGM 100"),
        "{says}"
    );
    let written = command("gauge", &["fixtures/shop/test-piece-readings.csv"]);
    assert_eq!(
        page.text("#gauged-book").trim(),
        String::from_utf8_lossy(&written).trim()
    );
    page.screenshot("readings-piece", 1280);
    page.answered(|| page.click("#take-gauged"));
    page.click("[data-opens=passes]");
    let passes = page.text("#passes");
    assert!(passes.contains("gauged on 2026-11-29"), "{passes}");
    page.click("[data-opens=readings]");
    page.click("#example-walls");
    page.until(
        "the charts are drawn",
        "document.querySelector('#readings-said svg') !== null",
    );
    page.screenshot("readings-walls", 1280);
    page.js("document.querySelector('#readings-text').value = 'kind,target_mm\\npart,10'");
    page.click("#read-walls");
    page.until(
        "it is told what is missing",
        "!document.querySelector('#wrong-readings').hidden",
    );
    assert!(page.text("#wrong-readings").contains("measured_mm"));
    page.click("[data-opens=shop]");
    page.answered(|| page.click("#drop-book"));
    page.click("#leaf-close");
}

fn own_book(page: &Page) {
    open_die(page);
    let before = page.text("#headline");
    page.click("[data-opens=shop]");
    page.answered(|| page.put("[aria-label='time.setup_min']", "90"));
    assert!(
        page.text("#book-state").contains("Your own book is in force"),
        "{}",
        page.text("#book-state")
    );
    assert_ne!(page.text("#headline"), before);
    // A machine of the shop's own can be chosen in the title block.
    page.js("document.querySelector('#book-text').value = '[machine.north]\\ntitle = \"the machine at the north wall\"'");
    page.answered(|| page.click("#take-book"));
    assert!(
        page.text("#field-machine")
            .contains("the machine at the north wall"),
        "{}",
        page.text("#field-machine")
    );
    page.answered(|| page.put("#field-machine", "north"));
    assert!(
        page.text("#headline").contains("north"),
        "{}",
        page.text("#headline")
    );
    page.answered(|| page.put("#field-machine", ""));
    page.js("document.querySelector('#book-text').value = '[time]\\nsetup_min = soon'");
    let sentence = page.told(|| page.click("#take-book"));
    assert!(sentence.contains("line 2"), "{sentence}");
    page.click("#save-book");
    assert!(!page.downloaded("shop.toml").is_empty());
    page.answered(|| page.click("#drop-book"));
    assert_eq!(page.text("#headline"), before);
    // Nothing is remembered unless that was said yes to, and one press deletes it.
    assert_eq!(page.js("localStorage.length"), 0);
    page.click("#remember");
    page.answered(|| page.put("#field-passes", "3"));
    page.until(
        "the job is remembered",
        "localStorage.getItem('kerfwright-jobs').includes('hand-die')",
    );
    // What is remembered is in force when the page is opened again.
    page.answered(|| page.put("[aria-label='time.setup_min']", "90"));
    page.until(
        "the book is remembered",
        "localStorage.getItem('kerfwright-book').includes('90')",
    );
    page.answered(|| page.put("#field-passes", "4"));
    let with_book = page.text("#headline");
    open_die(page);
    page.until("it is planned", PLANNED);
    assert_eq!(page.text("#headline"), with_book);
    assert_ne!(page.text("#headline"), before);
    page.click("#forget-all");
    assert_eq!(page.js("localStorage.length"), 0);
}

fn paired(page: &Page) {
    open_die(page);
    let before = minutes(page);
    page.click("[data-opens=trade]");
    page.click("#keep-a");
    page.answered(|| page.put("#field-passes", "2"));
    let pair = page.text("#pair-body");
    assert!(pair.contains("4 passes") && pair.contains("2 passes"), "{pair}");
    page.answered(|| page.click("#swap-a"));
    assert_eq!(minutes(page), before);
    let best = page.js("document.querySelectorAll('#best-body tbody tr').length");
    assert_eq!(best, 6);
}

fn printed(page: &Page) {
    open_die(page);
    page.until(
        "the job sheet is made ready",
        "document.documentElement.classList.contains('printable')",
    );
    let sheet = page.js("document.querySelector('#printed').shadowRoot.textContent");
    let sheet = sheet.as_str().expect("text").to_owned();
    for words in ["Job sheet: hand-die.dxf", "Order of cutting", "Cautions in full"] {
        assert!(sheet.contains(words), "{words}");
    }
    let pdf = page.printed();
    let text = String::from_utf8_lossy(&pdf).into_owned();
    let pages = text.matches("/Type /Page\n").count()
        + text.matches("/Type /Page ").count()
        + text.matches("/Type /Page/").count();
    assert!((3..=6).contains(&pages), "{pages} pages");
    // Something else asked: the old sheet is not printed.
    page.js("document.querySelector('#field-passes').value = '2', document.querySelector('#field-passes').dispatchEvent(new Event('change'))");
    assert!(!truth(
        page,
        "document.documentElement.classList.contains('printable')"
    ));
    page.until("it is planned", PLANNED);
}

/// Violations of WCAG 2.2, levels A and AA, as axe-core finds them (`tests/reference/accessibility_rules.py` fetches it).
const VIOLATIONS: &str = "axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }).then((found) => \
    found.violations.map(({ id, nodes }) => id + ': ' + nodes.map(({ html }) => html.slice(0, 120)).join(' ')))";

fn accessible(page: &Page) {
    let rules = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(".venv/axe.min.js");
    let Ok(rules) = std::fs::read_to_string(rules) else {
        eprintln!("SKIPPED: axe-core is not here (tests/reference/accessibility_rules.py)");
        return;
    };
    let clean = |what: &str| {
        page.js(&format!("{rules};0"));
        assert_eq!(page.js(VIOLATIONS), Value::Array(Vec::new()), "{what}");
    };
    for scheme in ["light", "dark"] {
        page.colours(scheme);
        page.wide(1440, 900);
        page.go("/");
        clean(&format!("{scheme}, empty"));
        for width in [1440, 1024, 390] {
            page.wide(width, 900);
            open_die(page);
            page.js("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })");
            clean(&format!("{scheme}, {width} px, folded rows open"));
            let sheets = page.js("[...document.querySelectorAll('#leaf-tabs button:not([hidden])')].map((tab) => tab.dataset.opens)");
            for sheet in sheets
                .as_array()
                .expect("names")
                .iter()
                .filter(|_| width == 1440 && scheme == "light")
            {
                page.click(&format!("[data-opens={}]", sheet.as_str().expect("a name")));
                clean(&format!("{scheme}, {sheet}"));
            }
            page.js("document.querySelector('#leaf-close').click()");
            page.js("document.querySelector('#overlay .contour[data-contour=\"6\"]').dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: 200, clientY: 200 }))");
            clean(&format!("{scheme}, {width} px, menu"));
            page.screenshot(&format!("menu-{scheme}-{width}"), width);
        }
    }
    page.colours("light");
    page.wide(1280, 900);
}

fn away(page: &Page) {
    open_die(page);
    // The way to the server is shut, and opened again.
    page.shut(true);
    let sentence = page.told(|| page.put("#field-passes", "2"));
    assert!(sentence.contains("does not answer"), "{sentence}");
    assert!(truth(page, "!document.querySelector('#old-mark').hidden"));
    page.answered(|| page.shut(false));
    assert!(
        page.text("#headline").contains("2 passes"),
        "{}",
        page.text("#headline")
    );
    assert!(truth(
        page,
        "document.querySelector('#old-mark').hidden && document.querySelector('#wrong-page').hidden"
    ));
}
