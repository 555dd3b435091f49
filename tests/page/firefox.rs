//! Six journeys through the page in Firefox, spoken to by WebDriver BiDi (W3C). Needs Firefox (`apt-get install firefox-esr`, or its
//! path in `KERFWRIGHT_FIREFOX`); without it nothing is tried, and `tests/run` says so.

use std::fs;
use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tungstenite::WebSocket;

use crate::carrier::Carrier;
use crate::devtools::{next_told, tell};
use crate::steps::{DIE, PLANNED};

const PATIENCE: Duration = Duration::from_secs(60);

/// What a visitor does, by its name.
type Journey = (&'static str, fn(&mut Firefox));

const JOURNEYS: [Journey; 6] = [
    ("open", opened),
    ("type", typed),
    ("mend", mended),
    ("play", played),
    ("keyboard", keyboard),
    ("download", downloaded),
];

/// The page in a Firefox of its own.
struct Firefox {
    browser: Child,
    carrier: Carrier,
    socket: WebSocket<TcpStream>,
    called: u64,
    context: Value,
    downloads: tempfile::TempDir,
    _profile: tempfile::TempDir,
}

fn firefox() -> Option<PathBuf> {
    let named = std::env::var_os("KERFWRIGHT_FIREFOX").map(PathBuf::from);
    let usual = ["/usr/bin/firefox-esr", "/usr/bin/firefox"].map(PathBuf::from);
    named.into_iter().chain(usual).find(|path| path.is_file())
}

#[test]
fn the_page_does_the_same_in_firefox() {
    journeys(Carrier::server());
}

#[test]
fn the_one_file_page_does_the_same_in_firefox() {
    let Some(carrier) = Carrier::one_file() else {
        eprintln!("SKIPPED: no one-file page is named");
        return;
    };
    journeys(carrier);
}

fn journeys(carrier: Carrier) {
    let Some(firefox) = firefox() else {
        eprintln!("SKIPPED: no Firefox here");
        return;
    };
    let mut page = Firefox::open(&firefox, carrier);
    for (name, journey) in JOURNEYS {
        eprintln!("{name}");
        journey(&mut page);
    }
}

impl Firefox {
    fn open(firefox: &Path, carrier: Carrier) -> Self {
        let profile = tempfile::tempdir().expect("a folder for the browser");
        let downloads = tempfile::tempdir().expect("a folder for downloads");
        let settings = [
            "user_pref(\"browser.download.folderList\", 2);".to_owned(),
            format!(
                "user_pref(\"browser.download.dir\", {:?});",
                downloads.path().display().to_string()
            ),
            "user_pref(\"browser.download.always_ask_before_handling_new_types\", false);".to_owned(),
        ];
        fs::write(profile.path().join("user.js"), settings.join("\n")).expect("a profile");
        let mut browser = Command::new(firefox)
            .args([
                "--headless",
                "--no-remote",
                "--remote-debugging-port",
                "0",
                "--profile",
            ])
            .arg(profile.path())
            .stderr(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .expect("the browser starts");
        let mut lines = BufReader::new(browser.stderr.take().expect("it is piped"))
            .lines()
            .map_while(Result::ok);
        let host = lines.by_ref().find_map(|line| {
            let (_, address) = line.split_once("WebDriver BiDi listening on ws://")?;
            Some(address.trim().to_owned())
        });
        let host = host.expect("the browser says where it listens");
        thread::spawn(move || lines.for_each(drop));
        let stream = TcpStream::connect(&host).expect("the browser listens");
        stream
            .set_read_timeout(Some(PATIENCE))
            .expect("a bound on waiting");
        let (socket, _) = tungstenite::client(format!("ws://{host}/session"), stream).expect("a web socket");
        let mut page = Self {
            browser,
            carrier,
            socket,
            called: 0,
            context: Value::Null,
            downloads,
            _profile: profile,
        };
        // Leaving a page with unsaved answers asks, and is said yes to.
        let capabilities = json!({ "alwaysMatch": { "unhandledPromptBehavior": { "beforeUnload": "accept", "default": "accept" } } });
        page.call("session.new", &json!({ "capabilities": capabilities }));
        let tree = page.call("browsingContext.getTree", &json!({}));
        page.context = tree["contexts"][0]["context"].clone();
        page
    }

    fn call(&mut self, method: &str, parameters: &Value) -> Value {
        self.called += 1;
        let call = json!({ "id": self.called, "method": method, "params": parameters });
        tell(&mut self.socket, &call);
        loop {
            let mut told = next_told(&mut self.socket, method);
            if told["id"] == self.called {
                assert_eq!(told["type"], "success", "{method}: {told}");
                return told["result"].take();
            }
        }
    }

    fn go(&mut self, path: &str) {
        for url in ["about:blank".to_owned(), self.carrier.url(path)] {
            let context = self.context.clone();
            self.call(
                "browsingContext.navigate",
                &json!({ "context": context, "url": url, "wait": "complete" }),
            );
        }
        self.until(
            "the title block is built",
            "document.querySelectorAll('.cell').length > 20",
        );
    }

    /// What a script of the page gives.
    fn js(&mut self, script: &str) -> Value {
        let expression =
            format!("Promise.resolve({script}).then((given) => JSON.stringify(given) ?? 'null')");
        let target = json!({ "context": self.context });
        let given = self.call(
            "script.evaluate",
            &json!({ "expression": expression, "target": target, "awaitPromise": true, "userActivation": true }),
        );
        assert_eq!(given["type"], "success", "{script}: {given}");
        let text = given["result"]["value"].as_str().expect("text");
        serde_json::from_str(text).expect("JSON")
    }

    fn text(&mut self, selector: &str) -> String {
        let text = self.js(&format!("document.querySelector({selector:?}).textContent"));
        text.as_str().expect("text").to_owned()
    }

    fn until(&mut self, what: &str, script: &str) {
        let since = Instant::now();
        while self.js(script) != Value::Bool(true) {
            let head = self.js("document.querySelector('#headline')?.textContent ?? ''");
            assert!(
                since.elapsed() < PATIENCE,
                "not within {PATIENCE:?}: {what}: {head}"
            );
            thread::sleep(Duration::from_millis(25));
        }
    }

    /// Presses keys one after the other, as WebDriver names them.
    fn keys(&mut self, keys: &[&str]) {
        let actions: Vec<Value> = keys
            .iter()
            .flat_map(|key| {
                [
                    json!({ "type": "keyDown", "value": key }),
                    json!({ "type": "keyUp", "value": key }),
                ]
            })
            .collect();
        let context = self.context.clone();
        self.call(
            "input.performActions",
            &json!({ "context": context, "actions": [{ "type": "key", "id": "keys", "actions": actions }] }),
        );
    }

    fn open_die(&mut self) {
        self.go(DIE);
        self.until("the die is planned", PLANNED);
    }

    fn drop_file(&mut self, name: &str, content: &str) {
        self.js(&format!(
            "(() => {{ const carried = new DataTransfer(); carried.items.add(new File([{content:?}], {name:?})); \
             document.body.dispatchEvent(new DragEvent('drop', {{ dataTransfer: carried, bubbles: true, cancelable: true }})); return true; }})()"
        ));
    }
}

impl Drop for Firefox {
    fn drop(&mut self) {
        // It may be gone already.
        let _ = self.browser.kill();
        let _ = self.browser.wait();
    }
}

const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
const ESCAPE: &str = "\u{e00c}";

fn opened(page: &mut Firefox) {
    page.go("/");
    let drawing = fs::read_to_string("fixtures/clock/ratchet.dxf").expect("a drawing");
    page.drop_file("ratchet.dxf", &drawing);
    page.until("the drawing is shown", "!document.querySelector('#view').hidden");
    assert_eq!(page.text("#part-name"), "ratchet.dxf");
    assert!(
        page.text("#headline").contains("to cut"),
        "{}",
        page.text("#headline")
    );
}

fn typed(page: &mut Firefox) {
    page.open_die();
    let before = page.text("#headline");
    page.js("(() => { const cell = document.querySelector('#field-thickness_mm'); cell.focus(); cell.select(); return true; })()");
    page.keys(&["1", "/", "2", " ", "i", "n"]);
    page.until(
        "it is understood",
        "document.querySelector('#understood-thickness_mm').textContent === '= 12.7 mm'",
    );
    page.until("it is planned", PLANNED);
    assert_ne!(page.text("#headline"), before);
}

fn mended(page: &mut Firefox) {
    page.go("/#material=tool-steel&thickness_mm=20&wire_mm=0.25&wire_kind=brass&passes=2");
    let drawing = fs::read_to_string("fixtures/checks/gap-in-contour-fires.dxf").expect("a drawing");
    page.drop_file("gap.dxf", &drawing);
    page.until(
        "a mend is offered",
        "document.querySelectorAll('#worst .mend').length > 0",
    );
    page.js("document.querySelector('#worst .mend').click()");
    page.until("it is planned", PLANNED);
    page.js("history.back()");
    page.until(
        "it is taken back",
        "document.querySelector('#headline').textContent.startsWith('Cannot be cut')",
    );
}

fn played(page: &mut Firefox) {
    page.open_die();
    page.js("(() => { const speed = document.querySelector('#speed'); speed.value = '15'; speed.dispatchEvent(new Event('change')); document.querySelector('#play').click(); return true; })()");
    page.until(
        "it waits at the stop",
        "document.querySelector('#play').textContent === 'Go on'",
    );
    assert!(page.text("#step-words").contains("secure the slug"));
}

fn keyboard(page: &mut Firefox) {
    page.open_die();
    page.js("document.querySelector('#view').focus()");
    page.keys(&[ENTER]);
    assert_eq!(page.js("document.querySelector('#place-menu').hidden"), false);
    page.keys(&[ESCAPE]);
    assert_eq!(page.js("document.activeElement.id"), "view");
    for _ in 0..60 {
        if page.js("document.activeElement.id") == "clock" {
            break;
        }
        page.keys(&[TAB]);
    }
    assert_eq!(page.js("document.activeElement.id"), "clock");
}

fn downloaded(page: &mut Firefox) {
    page.open_die();
    page.js("document.querySelector('[data-download=\"/sheet.svg\"]').click()");
    let file = page.downloads.path().join("hand-die.svg");
    let since = Instant::now();
    while !file.is_file() || fs::read(&file).is_ok_and(|svg| !svg.ends_with(b"</svg>\n")) {
        assert!(since.elapsed() < PATIENCE, "the sheet did not arrive");
        thread::sleep(Duration::from_millis(50));
    }
    let folder = tempfile::tempdir().expect("a folder");
    crate::steps::command(
        "plan",
        &[
            &crate::steps::DIE_ON_THE_COMMAND_LINE[..],
            &["--out", &folder.path().to_string_lossy()],
        ]
        .concat(),
    );
    let right = fs::read(folder.path().join("hand-die.svg")).expect("the command wrote it");
    assert!(
        fs::read(&file).expect("it is there") == right,
        "it differs from what the command line writes"
    );
}
