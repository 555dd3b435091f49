//! The page in a real browser, one for all steps.

use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use data_encoding::BASE64;
use serde_json::{Value, json};

use crate::carrier::Carrier;
use crate::devtools::DevTools;

const PATIENCE: Duration = Duration::from_secs(30);

/// The page, open in a browser.
pub(crate) struct Page {
    tab: DevTools,
    pub(crate) carrier: Carrier,
    downloads: tempfile::TempDir,
    heard: RefCell<Heard>,
}

/// What the browser told of, apart from answers.
#[derive(Default)]
struct Heard {
    /// Complaints of the console.
    wrong: Vec<String>,
    /// Addresses asked for.
    asked: Vec<String>,
    /// How often leaving the page was asked about.
    stays: usize,
}

/// Where Debian and others put the browser.
pub(crate) fn chromium() -> Option<PathBuf> {
    let named = std::env::var_os("KERFWRIGHT_CHROMIUM").map(PathBuf::from);
    let usual = [
        "/usr/bin/chromium",
        "/usr/bin/chromium-browser",
        "/usr/bin/google-chrome",
    ]
    .map(PathBuf::from);
    named.into_iter().chain(usual).find(|path| path.is_file())
}

impl Page {
    /// Starts the browser for the page of a carrier.
    pub(crate) fn open(chromium: &Path, carrier: Carrier) -> Self {
        let page = Self {
            tab: DevTools::start(chromium),
            carrier,
            downloads: tempfile::tempdir().expect("a folder for downloads"),
            heard: RefCell::default(),
        };
        for domain in ["Page", "Runtime", "Log", "Network"] {
            page.tab.call(&format!("{domain}.enable"), &json!({}));
        }
        let downloads = json!({ "behavior": "allow", "downloadPath": page.downloads.path() });
        page.tab.call("Browser.setDownloadBehavior", &downloads);
        page.wide(1280, 900);
        page
    }

    /// Sorts what came since the last time.
    fn hear(&self) {
        let mut heard = self.heard.borrow_mut();
        for event in self.tab.events() {
            let told = &event["params"];
            match event["method"].as_str() {
                Some("Runtime.consoleAPICalled") => heard.wrong.push(format!("console: {}", told["args"])),
                Some("Runtime.exceptionThrown") => {
                    heard
                        .wrong
                        .push(format!("exception: {}", told["exceptionDetails"]));
                }
                Some("Log.entryAdded") => heard.wrong.push(format!("log: {}", told["entry"])),
                Some("Network.requestWillBeSent") => {
                    let url = told["request"]["url"].as_str().expect("an address");
                    heard.asked.push(url.to_owned());
                }
                Some("Page.javascriptDialogOpening") => heard.stays += 1,
                _ => {}
            }
        }
    }

    /// How often leaving the page was asked about so far.
    pub(crate) fn stays(&self) -> usize {
        self.hear();
        self.heard.borrow().stays
    }

    /// What the console complained of since the last time, but for `meant`.
    pub(crate) fn complaints(&self, meant: &str) -> Vec<String> {
        self.hear();
        let wrong = std::mem::take(&mut self.heard.borrow_mut().wrong);
        let wrong = wrong.into_iter();
        wrong
            .filter(|words| meant.is_empty() || !words.contains(meant))
            .collect()
    }

    /// Every address asked for so far.
    pub(crate) fn asked_for(&self) -> Vec<String> {
        self.hear();
        self.heard.borrow().asked.clone()
    }

    /// Goes to a path and fragment of the page, from nothing.
    pub(crate) fn go(&self, path: &str) {
        for url in ["about:blank", &self.carrier.url(path)] {
            // The browser loses a way to a file that is asked for while it still leaves the one before.
            thread::sleep(self.carrier.settles_within());
            // Where leaving asks, the first attempt is given up.
            let gone =
                (0..3).any(|_| self.tab.call("Page.navigate", &json!({ "url": url }))["errorText"].is_null());
            assert!(gone, "{url}");
        }
        // Each look at the page is a new one: it may still be the one before.
        self.until(
            "the page is there",
            "document.readyState === 'complete' && !!document.querySelector('#main')",
        );
        self.until(
            "the form is built",
            "document.querySelectorAll('.cell').length > 20 && document.querySelector('#book-state')?.textContent !== ''",
        );
    }

    /// What a script of the page gives.
    pub(crate) fn js(&self, script: &str) -> Value {
        let mut given = self.tab.call(
            "Runtime.evaluate",
            &json!({ "expression": script, "awaitPromise": true, "returnByValue": true, "userGesture": true }),
        );
        let exception = &given["exceptionDetails"];
        assert!(exception.is_null(), "{script}: {exception}");
        given["result"]["value"].take()
    }

    /// Gives an element the focus by a click of the mouse, so that the page counts as used.
    pub(crate) fn put_focus(&self, selector: &str) {
        let at = self.middle(selector);
        self.drag(at, at);
    }

    /// The text of an element.
    pub(crate) fn text(&self, selector: &str) -> String {
        let text = self.js(&format!("document.querySelector({selector:?}).textContent"));
        text.as_str().expect("an element with text").to_owned()
    }

    /// Waits until a script gives true.
    pub(crate) fn until(&self, what: &str, script: &str) {
        let since = Instant::now();
        while self.js(script) != Value::Bool(true) {
            assert!(
                since.elapsed() < PATIENCE,
                "not within {PATIENCE:?}: {what}\n{}\n{}",
                self.text("#headline"),
                self.js("[...document.querySelectorAll('[id^=wrong-]:not([hidden])')].map((place) => place.textContent).join(' ')")
            );
            thread::sleep(Duration::from_millis(25));
        }
    }

    /// Does something and waits until the answer to it is shown.
    pub(crate) fn answered(&self, act: impl FnOnce()) {
        self.js("window.pictureBefore = document.querySelector('#overlay svg'), null");
        act();
        self.until(
            "another picture",
            "document.querySelector('#overlay svg') !== window.pictureBefore && !document.querySelector('[aria-busy], [data-more]')",
        );
    }

    /// Does something and waits until a sentence says what is wrong with it.
    pub(crate) fn told(&self, act: impl FnOnce()) -> String {
        act();
        self.until(
            "what is wrong is told",
            "[...document.querySelectorAll('[id^=wrong-]')].some((place) => !place.hidden) && !document.querySelector('[aria-busy], [data-more]')",
        );
        let told =
            "[...document.querySelectorAll('[id^=wrong-]')].find((place) => !place.hidden).textContent";
        self.js(told).as_str().expect("a sentence").to_owned()
    }

    /// Moves the mouse to a place of the window, presses it there, moves on to another and lets go.
    pub(crate) fn drag(&self, from: (f64, f64), to: (f64, f64)) {
        let middle = (0.5 * (from.0 + to.0), 0.5 * (from.1 + to.1));
        for (kind, (x, y), buttons) in [
            ("mouseMoved", from, 0),
            ("mousePressed", from, 1),
            ("mouseMoved", middle, 1),
            ("mouseMoved", to, 1),
            ("mouseReleased", to, 0),
        ] {
            let event = json!({ "type": kind, "x": x, "y": y, "button": "left", "buttons": buttons, "clickCount": 1 });
            self.tab.call("Input.dispatchMouseEvent", &event);
        }
    }

    /// Fingers on the screen: those that touch it after what is told.
    pub(crate) fn touch(&self, kind: &str, fingers: &[(f64, f64)]) {
        let points: Vec<Value> = (1..)
            .zip(fingers)
            .map(|(id, (x, y))| json!({ "x": x, "y": y, "id": id }))
            .collect();
        let event = json!({ "type": kind, "touchPoints": points });
        self.tab.call("Input.dispatchTouchEvent", &event);
    }

    /// Where the middle of an element stands in the window.
    pub(crate) fn middle(&self, selector: &str) -> (f64, f64) {
        let box_of = self.js(&format!(
            "(() => {{ const box = document.querySelector({selector:?}).getBoundingClientRect(); return [box.left + box.width / 2, box.top + box.height / 2]; }})()"
        ));
        let at = |i: usize| box_of[i].as_f64().expect("a number");
        (at(0), at(1))
    }

    /// Prints the page to paper, as PDF.
    pub(crate) fn printed(&self) -> Vec<u8> {
        let printed = self.tab.call(
            "Page.printToPDF",
            &json!({ "paperWidth": 8.27, "paperHeight": 11.69 }),
        );
        BASE64
            .decode(printed["data"].as_str().expect("a document").as_bytes())
            .expect("base 64")
    }

    /// Shuts the way to the server, or opens it.
    pub(crate) fn shut(&self, yes: bool) {
        let way = json!({ "offline": yes, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        self.tab.call("Network.emulateNetworkConditions", &way);
    }

    /// Asks for less motion, as the system would.
    pub(crate) fn steady(&self, yes: bool) {
        let feature = json!({ "name": "prefers-reduced-motion", "value": if yes { "reduce" } else { "" } });
        self.tab
            .call("Emulation.setEmulatedMedia", &json!({ "features": [feature] }));
    }

    /// Puts a value into a field as typing would.
    pub(crate) fn put(&self, selector: &str, value: &str) {
        self.js(&format!(
            "(() => {{ const field = document.querySelector({selector:?}); field.value = {value:?}; \
             for (const name of ['input', 'change']) field.dispatchEvent(new Event(name, {{ bubbles: true }})); }})()"
        ));
    }

    pub(crate) fn click(&self, selector: &str) {
        self.js(&format!("document.querySelector({selector:?}).click()"));
    }

    /// Presses keys one after the other.
    pub(crate) fn keys(&self, keys: &[&str]) {
        for &key in keys {
            // Number of the key and what it types.
            let (code, text) = match key {
                "Tab" => (9, ""),
                "Enter" => (13, "\r"),
                "ArrowLeft" => (37, ""),
                "ArrowUp" => (38, ""),
                "ArrowDown" => (40, ""),
                "ArrowRight" => (39, ""),
                "End" => (35, ""),
                "Escape" => (27, ""),
                "5" => (53, "5"),
                "+" => (187, "+"),
                "0" => (48, "0"),
                _ => panic!("{key} is not known here"),
            };
            let down = if text.is_empty() { "rawKeyDown" } else { "keyDown" };
            for kind in [down, "keyUp"] {
                let mut event = json!({ "type": kind, "key": key, "windowsVirtualKeyCode": code });
                if kind == "keyDown" {
                    event["text"] = text.into();
                }
                self.tab.call("Input.dispatchKeyEvent", &event);
            }
        }
    }

    /// Opens drawings as the file dialogue would.
    pub(crate) fn pick_files(&self, files: &[&str]) {
        let here = Path::new(env!("CARGO_MANIFEST_DIR"));
        let paths: Vec<PathBuf> = files.iter().map(|file| here.join(file)).collect();
        let input = json!({ "expression": "document.querySelector('#open')" });
        let input = self.tab.call("Runtime.evaluate", &input);
        let files = json!({ "files": paths, "objectId": input["result"]["objectId"] });
        self.tab.call("DOM.setFileInputFiles", &files);
    }

    /// Drops text as a file of that name on the page.
    pub(crate) fn drop_file(&self, name: &str, content: &str) {
        self.js(&format!(
            "(() => {{ const carried = new DataTransfer(); carried.items.add(new File([{content:?}], {name:?})); \
             for (const name of ['dragover', 'drop']) document.body.dispatchEvent(new DragEvent(name, \
             {{ dataTransfer: carried, bubbles: true, cancelable: true }})); }})()"
        ));
    }

    /// A finished download.
    pub(crate) fn downloaded(&self, name: &str) -> Vec<u8> {
        let file = self.downloads.path().join(name);
        let since = Instant::now();
        loop {
            if let Some(content) = fs::read(&file).ok().filter(|content| !content.is_empty()) {
                fs::remove_file(&file).expect("a file of ours");
                return content;
            }
            assert!(since.elapsed() < PATIENCE, "{name} did not arrive");
            thread::sleep(Duration::from_millis(25));
        }
    }

    /// Makes the window that large, in CSS pixels.
    pub(crate) fn wide(&self, width: u32, height: u32) {
        let metrics = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.tab.call("Emulation.setDeviceMetricsOverride", &metrics);
    }

    /// Light or dark, as the system would ask for it.
    pub(crate) fn colours(&self, scheme: &str) {
        let feature = json!({ "name": "prefers-color-scheme", "value": scheme });
        self.tab
            .call("Emulation.setEmulatedMedia", &json!({ "features": [feature] }));
    }

    /// Keeps a picture of the whole page, `width` pixels wide, where `KERFWRIGHT_SCREENSHOTS` names a folder.
    pub(crate) fn screenshot(&self, name: &str, width: u32) {
        let Some(folder) = std::env::var_os("KERFWRIGHT_SCREENSHOTS") else {
            return;
        };
        let height = self
            .js("document.documentElement.scrollHeight")
            .as_u64()
            .expect("a height");
        self.wide(width, height as u32);
        thread::sleep(Duration::from_millis(300));
        let picture = json!({ "format": "png", "captureBeyondViewport": true });
        let picture = self.tab.call("Page.captureScreenshot", &picture);
        let picture = picture["data"].as_str().expect("a picture");
        let picture = BASE64.decode(picture.as_bytes()).expect("base 64");
        fs::write(Path::new(&folder).join(format!("{name}.png")), picture).expect("the folder is there");
        self.wide(width, 900);
    }
}
