//! Who answers the page in the browser: the command over the loopback, or the program inside the page that is one file.

use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// Where the page is, and the command that has to run meanwhile.
pub(crate) struct Carrier {
    address: String,
    server: Option<Child>,
}

impl Carrier {
    /// Starts the command on a free port.
    pub(crate) fn server() -> Self {
        Self::server_of(&[])
    }

    /// Starts the command on a free port with these files open.
    pub(crate) fn server_of(files: &[&str]) -> Self {
        let mut server = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(["serve", "--port", "0"])
            .args(files)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the command starts");
        let mut address = String::new();
        let stdout = server.stdout.take().expect("it is piped");
        BufReader::new(stdout)
            .read_line(&mut address)
            .expect("it prints its address");
        Self {
            address: address.trim().to_owned(),
            server: Some(server),
        }
    }

    /// Takes the file that `packaging/page` has made, where `KERFWRIGHT_ONE_FILE` names it.
    pub(crate) fn one_file() -> Option<Self> {
        let named = PathBuf::from(std::env::var_os("KERFWRIGHT_ONE_FILE")?);
        let file = named.canonicalize().expect("the file is there");
        Some(Self {
            address: format!("file://{}", file.display()),
            server: None,
        })
    }

    /// Returns the address of the page with what follows `/`, a fragment say.
    pub(crate) fn url(&self, path: &str) -> String {
        format!("{}{}", self.address, path.trim_start_matches('/'))
    }

    /// Tells whether the page itself may ask for an address.
    pub(crate) fn may_ask_for(&self, url: &str) -> bool {
        let own = match self.server {
            Some(_) => url.starts_with(&self.address),
            None => url.split('#').next() == Some(&self.address) || url.starts_with("data:"),
        };
        own || url.starts_with("blob:") || url.starts_with("about:")
    }

    /// Returns how long to wait between two addresses.
    pub(crate) fn settles_within(&self) -> Duration {
        Duration::from_millis(if self.is_server() { 0 } else { 500 })
    }

    /// Tells whether there is a server that can go away.
    pub(crate) fn is_server(&self) -> bool {
        self.server.is_some()
    }
}

impl Drop for Carrier {
    fn drop(&mut self) {
        if let Some(server) = &mut self.server {
            // It may be gone already.
            let _ = server.kill();
            let _ = server.wait();
        }
    }
}
