//! A browser at the other end of the Chrome DevTools Protocol: methods called by their names, events kept until they
//! are asked for. The libraries for it bring the whole protocol as generated code, which took longer to compile than
//! all else together; the steps need some twenty methods.

use std::cell::RefCell;
use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};
use tungstenite::{Message, WebSocket};

/// Time that an answer of the browser is waited for.
const PATIENCE: Duration = Duration::from_secs(60);

/// One tab of a browser of its own.
pub(crate) struct DevTools {
    browser: Child,
    line: RefCell<Line>,
    session: String,
    // Deleted last, when the browser is gone.
    _profile: tempfile::TempDir,
}

/// The connection, and what has come along it.
struct Line {
    socket: WebSocket<TcpStream>,
    called: u64,
    events: Vec<Value>,
}

impl DevTools {
    /// Starts the browser without a window and opens a tab.
    pub(crate) fn start(chromium: &Path) -> Self {
        let profile = tempfile::tempdir().expect("a folder for the browser");
        let mut browser = Command::new(chromium)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--disable-dev-shm-usage",
                "--force-color-profile=srgb",
                "--remote-debugging-port=0",
            ])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .stderr(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .expect("the browser starts");
        let stderr = browser.stderr.take().expect("it is piped");
        let address = listening(stderr);
        let host = address
            .strip_prefix("ws://")
            .and_then(|rest| rest.split('/').next())
            .expect("a host");
        let stream = TcpStream::connect(host).expect("the browser listens");
        stream
            .set_read_timeout(Some(PATIENCE))
            .expect("a bound on waiting");
        let (socket, _) = tungstenite::client(address.as_str(), stream).expect("a web socket");
        let mut line = Line {
            socket,
            called: 0,
            events: Vec::new(),
        };
        let tab = line.call(None, "Target.createTarget", &json!({ "url": "about:blank" }));
        let attach = json!({ "targetId": tab["targetId"], "flatten": true });
        let attached = line.call(None, "Target.attachToTarget", &attach);
        let session = attached["sessionId"].as_str().expect("a session").to_owned();
        Self {
            browser,
            line: RefCell::new(line),
            session,
            _profile: profile,
        }
    }

    /// Calls a method of the tab and gives its result.
    pub(crate) fn call(&self, method: &str, parameters: &Value) -> Value {
        self.line
            .borrow_mut()
            .call(Some(&self.session), method, parameters)
    }

    /// The events since the last time, in the order in which they came.
    pub(crate) fn events(&self) -> Vec<Value> {
        // What happened before a call is told before its answer.
        self.call("Runtime.evaluate", &json!({ "expression": "0" }));
        std::mem::take(&mut self.line.borrow_mut().events)
    }
}

impl Drop for DevTools {
    fn drop(&mut self) {
        // It may be gone already.
        let _ = self.browser.kill();
        let _ = self.browser.wait();
    }
}

impl Line {
    fn call(&mut self, session: Option<&str>, method: &str, parameters: &Value) -> Value {
        self.called += 1;
        let mut call = json!({ "id": self.called, "method": method, "params": parameters });
        if let Some(session) = session {
            call["sessionId"] = session.into();
        }
        tell(&mut self.socket, &call);
        loop {
            let mut told = next_told(&mut self.socket, method);
            // Leaving a page with unsaved answers asks, and is said yes to.
            if told["method"] == "Page.javascriptDialogOpening" {
                let yes = json!({ "id": 0, "method": "Page.handleJavaScriptDialog", "params": { "accept": true }, "sessionId": session });
                tell(&mut self.socket, &yes);
            }
            if told["id"] != self.called {
                self.events.push(told);
                continue;
            }
            if told["error"]["message"] == "Inspected target navigated or closed" {
                // The page is just being left: the same of the next one.
                return self.call(session, method, parameters);
            }
            assert!(told["error"].is_null(), "{method}: {}", told["error"]);
            return told["result"].take();
        }
    }
}

/// Sends what is said to a browser.
pub(crate) fn tell(socket: &mut WebSocket<TcpStream>, what: &Value) {
    socket
        .send(Message::text(what.to_string()))
        .unwrap_or_else(|error| panic!("{what}: {error}"));
}

/// The next that a browser tells, while `method` is answered.
pub(crate) fn next_told(socket: &mut WebSocket<TcpStream>, method: &str) -> Value {
    loop {
        let message = socket.read().unwrap_or_else(|error| panic!("{method}: {error}"));
        if let Message::Text(text) = message {
            return serde_json::from_str(&text).expect("JSON");
        }
    }
}

/// The address that the browser says it listens on. The rest of what it says is read on, so that it never waits.
fn listening(stderr: impl std::io::Read + Send + 'static) -> String {
    let mut lines = BufReader::new(stderr).lines().map_while(Result::ok);
    let said = lines.by_ref().find_map(|line| {
        line.strip_prefix("DevTools listening on ")
            .map(|address| address.trim().to_owned())
    });
    std::thread::spawn(move || lines.for_each(drop));
    said.expect("the browser says where it listens")
}
