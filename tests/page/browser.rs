//! The command and a real browser, one of each for all steps.

use std::ffi::OsStr;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use headless_chrome::protocol::cdp::types::Event;
use headless_chrome::protocol::cdp::{Browser as Chromium, Emulation, Network, Page as Frame, Runtime};
use headless_chrome::{Browser, LaunchOptions, Tab};
use serde_json::Value;

const PATIENCE: Duration = Duration::from_secs(30);

/// The page, open in a browser.
pub(crate) struct Page {
    pub(crate) tab: Arc<Tab>,
    pub(crate) address: String,
    pub(crate) downloads: tempfile::TempDir,
    wrong: Arc<Mutex<Vec<String>>>,
    asked: Arc<Mutex<Vec<String>>>,
    _browser: Browser,
    server: Child,
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
    /// Starts the command on a free port, and the browser.
    pub(crate) fn open(chromium: &Path) -> Self {
        let mut server = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
            .args(["serve", "--port", "0"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the command starts");
        let mut address = String::new();
        let stdout = server.stdout.take().expect("it is piped");
        BufReader::new(stdout)
            .read_line(&mut address)
            .expect("it prints its address");
        let arguments = [
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--force-color-profile=srgb",
        ];
        let options = LaunchOptions {
            sandbox: false,
            path: Some(chromium.to_path_buf()),
            args: arguments.iter().map(OsStr::new).collect(),
            idle_browser_timeout: Duration::from_secs(300),
            window_size: Some((1280, 900)),
            ..LaunchOptions::default()
        };
        let browser = Browser::new(options).expect("the browser starts");
        let tab = browser.new_tab().expect("a tab");
        let page = Self {
            tab,
            address: address.trim().trim_end_matches('/').to_owned(),
            downloads: tempfile::tempdir().expect("a folder for downloads"),
            wrong: Arc::default(),
            asked: Arc::default(),
            _browser: browser,
            server,
        };
        page.listen();
        page.wide(1280, 900);
        page
    }

    /// Keeps every complaint of the console and every address that is asked for.
    fn listen(&self) {
        let (wrong, asked) = (self.wrong.clone(), self.asked.clone());
        let listener = move |event: &Event| match event {
            Event::RuntimeConsoleAPICalled(event) => {
                wrong
                    .lock()
                    .expect("whole")
                    .push(format!("console: {:?}", event.params.args));
            }
            Event::RuntimeExceptionThrown(event) => {
                wrong
                    .lock()
                    .expect("whole")
                    .push(format!("exception: {:?}", event.params.exception_details));
            }
            Event::LogEntryAdded(event) => {
                wrong
                    .lock()
                    .expect("whole")
                    .push(format!("log: {:?}", event.params.entry));
            }
            Event::NetworkRequestWillBeSent(event) => {
                asked
                    .lock()
                    .expect("whole")
                    .push(event.params.request.url.clone());
            }
            _ => {}
        };
        self.tab
            .add_event_listener(Arc::new(listener))
            .expect("a listener");
        self.tab.enable_runtime().expect("the console can be read");
        self.tab.enable_log().expect("the log can be read");
        let enable = Network::Enable {
            max_total_buffer_size: None,
            max_resource_buffer_size: None,
            max_post_data_size: None,
            report_direct_socket_traffic: None,
            enable_durable_messages: None,
        };
        self.tab.call_method(enable).expect("requests can be seen");
        let allow = Chromium::SetDownloadBehavior {
            behavior: Chromium::SetDownloadBehaviorBehaviorOption::Allow,
            browser_context_id: None,
            download_path: Some(self.downloads.path().to_string_lossy().into_owned()),
            events_enabled: None,
        };
        self.tab.call_method(allow).expect("downloads can be kept");
    }

    /// What the console complained of since the last time, but for `meant`.
    pub(crate) fn complaints(&self, meant: &str) -> Vec<String> {
        let mut wrong = self.wrong.lock().expect("whole");
        let complaints = wrong.drain(..);
        complaints
            .filter(|words| meant.is_empty() || !words.contains(meant))
            .collect()
    }

    /// Every address asked for so far.
    pub(crate) fn asked_for(&self) -> Vec<String> {
        self.asked.lock().expect("whole").clone()
    }

    /// Goes to a path and fragment of the page, from nothing.
    pub(crate) fn go(&self, path: &str) {
        self.tab
            .navigate_to("about:blank")
            .expect("it goes")
            .wait_until_navigated()
            .expect("it is there");
        let address = format!("{}{path}", self.address);
        self.tab
            .navigate_to(&address)
            .expect("it goes")
            .wait_until_navigated()
            .expect("it is there");
        self.until(
            "the form is built",
            "document.querySelectorAll('#fields .field').length > 8",
        );
    }

    /// What a script of the page gives.
    pub(crate) fn js(&self, script: &str) -> Value {
        let given = self.tab.call_method(Runtime::Evaluate {
            expression: script.to_owned(),
            await_promise: Some(true),
            return_by_value: Some(true),
            ..evaluate()
        });
        let given = given.unwrap_or_else(|error| panic!("{script}: {error}"));
        assert!(
            given.exception_details.is_none(),
            "{script}: {:?}",
            given.exception_details
        );
        given.result.value.unwrap_or(Value::Null)
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
                "not within {PATIENCE:?}: {what}\n{}",
                self.text("#main")
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
            "document.querySelector('#overlay svg') !== window.pictureBefore && !document.querySelector('[aria-busy]')",
        );
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
        for key in keys {
            self.tab
                .press_key(key)
                .unwrap_or_else(|error| panic!("{key}: {error}"));
        }
    }

    /// Opens drawings as the file dialogue would.
    pub(crate) fn pick_files(&self, files: &[&str]) {
        let paths: Vec<String> = files
            .iter()
            .map(|file| {
                Path::new(env!("CARGO_MANIFEST_DIR"))
                    .join(file)
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
        let input = self.tab.find_element("#open").expect("the file input");
        input.set_input_files(&paths).expect("files");
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
        let metrics = Emulation::SetDeviceMetricsOverride {
            width,
            height,
            device_scale_factor: 1.0,
            mobile: false,
            ..metrics()
        };
        self.tab.call_method(metrics).expect("the window has a size");
    }

    /// Light or dark, as the system would ask for it.
    pub(crate) fn colours(&self, scheme: &str) {
        let feature = Emulation::MediaFeature {
            name: "prefers-color-scheme".into(),
            value: scheme.into(),
        };
        let media = Emulation::SetEmulatedMedia {
            media: None,
            features: Some(vec![feature]),
        };
        self.tab.call_method(media).expect("the colours can be set");
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
        let png = Frame::CaptureScreenshotFormatOption::Png;
        let picture = self
            .tab
            .capture_screenshot(png, None, None, true)
            .expect("a picture");
        fs::write(Path::new(&folder).join(format!("{name}.png")), picture).expect("the folder is there");
        self.wide(width, 900);
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        // Both may be gone already.
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

fn evaluate() -> Runtime::Evaluate {
    Runtime::Evaluate {
        expression: String::new(),
        object_group: None,
        include_command_line_api: None,
        silent: None,
        context_id: None,
        return_by_value: None,
        generate_preview: None,
        user_gesture: Some(true),
        await_promise: None,
        throw_on_side_effect: None,
        timeout: None,
        disable_breaks: None,
        repl_mode: None,
        allow_unsafe_eval_blocked_by_csp: None,
        unique_context_id: None,
        serialization_options: None,
    }
}

fn metrics() -> Emulation::SetDeviceMetricsOverride {
    Emulation::SetDeviceMetricsOverride {
        width: 0,
        height: 0,
        device_scale_factor: 1.0,
        mobile: false,
        scale: None,
        screen_width: None,
        screen_height: None,
        position_x: None,
        position_y: None,
        dont_set_visible_size: None,
        screen_orientation: None,
        viewport: None,
        display_feature: None,
        device_posture: None,
    }
}
