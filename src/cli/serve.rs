use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::process::{Command, Stdio};

use clap::Args;
use tokio::runtime::Builder;

use super::{Exit, Failure, book, output};
use crate::serve::{AccessControl, ClientLimits, Site, bind, listen, random_token};

/// `serve …`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright serve --open")]
pub struct ServeArgs {
    /// Port of the page; 0 takes any that is free
    #[arg(long, value_name = "N", value_hint = clap::ValueHint::Other, default_value_t = 7345)]
    port: u16,

    /// Open the page in the usual browser
    #[arg(long)]
    open: bool,

    /// Address to answer on; any but this machine's own lets others in, who then need a token
    #[arg(long, value_name = "IP", value_hint = clap::ValueHint::Other, default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    address: IpAddr,

    /// The shop's own book, laid over the built-in one
    #[arg(long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    book: Option<PathBuf>,
}

impl ServeArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.book.as_deref())?;
        let asked = SocketAddr::new(self.address, self.port);
        let failed = |source| Failure::Listen { at: asked, source };
        let runtime = Builder::new_multi_thread().enable_all().build().map_err(failed)?;
        let listener = runtime.block_on(async { bind(asked) }).map_err(failed)?;
        let at = listener.local_addr().map_err(failed)?;
        let (access, address) = access(at)?;
        // Whoever reads the address may ask to close at once.
        let closing = {
            let _entered = runtime.enter();
            asked_to_close()
        };
        output::print(&format!("{address}\n"))?;
        output::tell("the page is open until you press ctrl-c\n");
        if self.open {
            open(&address);
        }
        let site = Site::new(book, access);
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
fn asked_to_close() -> impl Future<Output = ()> {
    use tokio::signal::unix::{Signal, SignalKind, signal};
    // Without a signal the page stays open until the program is ended, or ends at once, as it would without a page.
    async fn comes(signal: std::io::Result<Signal>) {
        match signal {
            Ok(mut signal) => drop(signal.recv().await),
            Err(_) => std::future::pending().await,
        }
    }
    let (interrupt, terminate) = (signal(SignalKind::interrupt()), signal(SignalKind::terminate()));
    async move {
        tokio::select! {
            () = comes(interrupt) => {}
            () = comes(terminate) => {}
        }
    }
}

/// Returns what comes to its end when the page is to be closed by ctrl-c.
#[cfg(not(unix))]
fn asked_to_close() -> impl Future<Output = ()> {
    async {
        if tokio::signal::ctrl_c().await.is_err() {
            // Without the signal the page stays open until the program is ended.
            std::future::pending::<()>().await;
        }
    }
}

/// Returns the access control and the address of the page.
fn access(at: SocketAddr) -> Result<(AccessControl, String), Failure> {
    if at.ip().is_loopback() {
        return Ok((AccessControl::on_this_machine(at), format!("http://{at}/")));
    }
    let token = random_token().map_err(|source| Failure::Listen {
        at,
        source: std::io::Error::other(source),
    })?;
    output::tell(&format!(
        "warning: {} is reached from other machines, and drawings go to it unencrypted; whoever has the address \
         with its token may use the page\n",
        at.ip()
    ));
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
    let (program, arguments): (&str, &[&str]) = if cfg!(target_os = "windows") {
        ("cmd", &["/C", "start", ""])
    } else if cfg!(target_os = "macos") {
        ("open", &[])
    } else {
        ("xdg-open", &[])
    };
    let started = Command::new(program)
        .args(arguments)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    if let Err(error) = started {
        output::tell(&format!(
            "no browser could be opened ({program}: {error}); open the address yourself\n"
        ));
    }
}
