use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use bytes::Bytes;
use clap::{Args, ValueHint};
use tokio::runtime::Builder;

use super::input::{self, LARGEST_FILE_MB};
use super::{Exit, Failure, book, output};
use crate::serve::{AccessControl, ClientLimits, Site, bind, listen, random_token};

/// Port of the page where no other is given.
const PORT: u16 = 7345;

/// `serve …`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright serve --open")]
pub struct ServeArgs {
    /// Drawings that are open when the page opens, and a job file for them; only who has the printed address sees the page then
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    files: Vec<PathBuf>,

    /// Port of the page; 0 takes any that is free
    #[arg(long, value_name = "N", value_hint = ValueHint::Other, default_value_t = PORT)]
    port: u16,

    /// Open the page in the usual browser
    #[arg(long)]
    open: bool,

    /// Address to answer on; any but this machine's own lets others in, who then need a token
    #[arg(long, value_name = "IP", value_hint = ValueHint::Other, default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    address: IpAddr,

    /// The shop's own book, laid over the built-in one
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    book: Option<PathBuf>,
}

impl ServeArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        self.serve("the page is open until you press ctrl-c\n")
    }

    #[cfg(windows)]
    /// Opens the page in the browser for a start from the desktop, with the files that were dropped onto the program.
    pub(super) fn run_from_desktop(files: Vec<PathBuf>) -> Result<Exit, Failure> {
        let usual = Self {
            files,
            port: PORT,
            open: true,
            address: IpAddr::V4(Ipv4Addr::LOCALHOST),
            book: None,
        };
        let told = "\nThis window answers the page in your browser, at the address above.\n\
                    Nothing leaves this machine. To end kerfwright, close this window, or press\n\
                    Ctrl-C in it.\n";
        match usual.serve(told) {
            Err(Failure::Listen { source, .. }) if source.kind() == io::ErrorKind::AddrInUse => {
                output::tell(
                    "The usual port is taken, perhaps by another window of kerfwright. This page has\n\
                     another one, and does not know the book and the jobs that the page there keeps.\n\n",
                );
                Self { port: 0, ..usual }.serve(told)
            }
            done => done,
        }
    }

    /// Serves the page until it is asked to close; `told` says how.
    fn serve(&self, told: &str) -> Result<Exit, Failure> {
        let book = book::load(self.book.as_deref())?;
        let read = |file: &PathBuf| input::read(file, LARGEST_FILE_MB);
        let files = self.files.iter().map(read).collect::<Result<Vec<_>, _>>()?;
        let files: Vec<(String, Bytes)> = files
            .into_iter()
            .map(|input| (input.name, input.bytes.into()))
            .collect();
        let asked = SocketAddr::new(self.address, self.port);
        let failed = |source| Failure::Listen { at: asked, source };
        let runtime = Builder::new_multi_thread().enable_all().build().map_err(failed)?;
        let listener = runtime.block_on(async { bind(asked) }).map_err(failed)?;
        let at = listener.local_addr().map_err(failed)?;
        let (access, address) = access(at, !files.is_empty())?;
        // Whoever reads the address may ask to close at once.
        let closing = {
            let _entered = runtime.enter();
            asked_to_close().map_err(failed)?
        };
        output::print(&format!("{address}\n"))?;
        output::tell(told);
        if self.open {
            open(&address);
        }
        let site = Site::new(book, access).opened_with(files);
        let limits = ClientLimits::default();
        let limits = ClientLimits {
            // Away from this machine one source leaves the others three quarters of the connections.
            connections_of_source: (!at.ip().is_loopback()).then_some(limits.connections / 4),
            ..limits
        };
        runtime.block_on(listen(listener, site, limits, closing));
        // A plan that is still being worked out cannot be broken off, and nobody waits for it any more.
        runtime.shutdown_background();
        Ok(Exit::Clean)
    }
}

/// Returns what comes to its end when the page is to be closed: by ctrl-c, or by whoever looks after services on the machine. From now on
/// these signals are waited for.
#[cfg(unix)]
fn asked_to_close() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let (mut interrupt, mut terminate) = (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

/// Returns what comes to its end when the page is to be closed: by ctrl-c, by closing its window, or with the machine. From now on
/// these are waited for.
#[cfg(windows)]
fn asked_to_close() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::windows::{ctrl_break, ctrl_c, ctrl_close, ctrl_logoff, ctrl_shutdown};
    let (mut key, mut pause, mut window) = (ctrl_c()?, ctrl_break()?, ctrl_close()?);
    let (mut user, mut machine) = (ctrl_logoff()?, ctrl_shutdown()?);
    Ok(async move {
        tokio::select! {
            _ = key.recv() => {}
            _ = pause.recv() => {}
            _ = window.recv() => {}
            _ = user.recv() => {}
            _ = machine.recv() => {}
        }
    })
}

/// Returns the access control and the address of the page. Where files are handed out other users of this machine need the token too.
fn access(at: SocketAddr, hands_out: bool) -> Result<(AccessControl, String), Failure> {
    if at.ip().is_loopback() && !hands_out {
        return Ok((AccessControl::on_this_machine(at), format!("http://{at}/")));
    }
    let token = random_token().map_err(|source| Failure::Listen {
        at,
        source: std::io::Error::other(source),
    })?;
    if !at.ip().is_loopback() {
        output::tell(&format!(
            "warning: {} is reached from other machines, and drawings go to it unencrypted; whoever has the address \
             with its token may use the page\n",
            at.ip()
        ));
    }
    if at.ip().is_unspecified() {
        output::tell(&format!(
            "open it by this machine's own name or address in place of {}\n",
            at.ip()
        ));
    }
    let address = format!("http://{at}/?token={token}");
    Ok((AccessControl::with_token(at, token), address))
}

/// Asks the system for its browser. The address is printed too, so that nothing is lost when there is none.
fn open(address: &str) {
    let mut browser = browser(address);
    let started = browser
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    if let Err(error) = started {
        let program = Path::new(browser.get_program()).display();
        output::tell(&format!(
            "no browser could be opened ({program}: {error}); open the address yourself\n"
        ));
    }
}

#[cfg(windows)]
fn browser(address: &str) -> Command {
    use std::os::windows::process::CommandExt as _;
    let mut command = Command::new("cmd");
    // In quotation marks, since an address may hold what the shell would take for its own; the first pair is the title of a window.
    command.raw_arg(format!("/C start \"\" \"{address}\""));
    command
}

#[cfg(not(windows))]
fn browser(address: &str) -> Command {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else {
        "xdg-open"
    };
    let mut command = Command::new(program);
    command.arg(address);
    command
}
