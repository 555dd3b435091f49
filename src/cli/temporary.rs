//! Files that are there only while the program runs: results that are being written, and the lock of a table. They go with it, whether it
//! ends in its own time or by a signal. What a run left that was killed outright goes with the next one that writes there.

use std::collections::BTreeSet;
#[cfg(unix)]
use std::fs::TryLockError;
use std::fs::{self, File, OpenOptions};
use std::io::{self, BufRead as _, BufReader, BufWriter, Seek as _, Write};
use std::path::{Path, PathBuf};
use std::process;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tempfile::NamedTempFile;

use super::held_open;

const PREFIX: &str = ".kerfwright-";
const SUFFIX: &str = ".tmp";

/// Nobody has had a younger file for long: it may wait for its lock.
const YOUNG: Duration = Duration::from_secs(60);

/// The paths of all that is there now. Who holds it keeps a signal from ending the program.
static LIVE: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

fn live() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    LIVE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes a step that a signal must not break off half-way.
pub(super) fn unbroken<T>(step: impl FnOnce() -> T) -> T {
    let _live = live();
    step()
}

/// A file that is removed unless it is put in its place.
pub(super) struct TemporaryFile(Option<NamedTempFile>);

impl TemporaryFile {
    /// Writes a new file in `folder` in full.
    pub(super) fn in_folder(
        folder: &Path,
        write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> io::Result<Self> {
        signals::watch();
        let mut builder = tempfile::Builder::new();
        builder.prefix(PREFIX).suffix(SUFFIX);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // As any new file: the user's umask decides, not the privacy of a temporary file.
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let file = {
            let mut live = live();
            let file = builder.tempfile_in(folder)?;
            live.insert(file.path().to_owned());
            Self(Some(file))
        };
        file.fill(write)?;
        Ok(file)
    }

    fn fill(&self, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
        let file = self.file().as_file();
        // Says to other runs that somebody works on it; where there are no locks nobody takes it for left behind.
        let _ = file.try_lock();
        let mut buffered = BufWriter::new(file);
        write(&mut buffered)?;
        buffered.flush()?;
        file.sync_all()
    }

    fn file(&self) -> &NamedTempFile {
        self.0.as_ref().expect("it is put in place once")
    }

    /// Whether a file holds the same; not where it cannot be read.
    pub(super) fn is_held_by(&self, path: &Path) -> bool {
        path.is_file() && is_same(self.file().as_file(), path).unwrap_or(false)
    }

    /// Renames it to `target`; what stands there is replaced.
    pub(super) fn persist(self, target: &Path) -> io::Result<()> {
        self.leave(|file| held_open::replaced(file, target))
    }

    /// Renames it to `target`, where nothing stands.
    pub(super) fn persist_new(self, target: &Path) -> io::Result<()> {
        self.leave(|file| file.persist_noclobber(target))
    }

    fn leave(
        mut self,
        to: impl FnOnce(NamedTempFile) -> Result<File, tempfile::PersistError>,
    ) -> io::Result<()> {
        let file = self.0.take().expect("it is put in place once");
        let mut live = live();
        live.remove(file.path());
        to(file)?;
        Ok(())
    }
}

/// Reads a file by the handle that it is open by: where locks keep others out, another handle would be kept out too.
fn is_same(mut one: &File, other: &Path) -> io::Result<bool> {
    one.rewind()?;
    let other = File::open(other)?;
    if one.metadata()?.len() != other.metadata()?.len() {
        return Ok(false);
    }
    let (mut one, mut other) = (BufReader::new(one), BufReader::new(other));
    loop {
        let (left, right) = (one.fill_buf()?, other.fill_buf()?);
        let shared = left.len().min(right.len());
        if shared == 0 {
            return Ok(left.len() == right.len());
        }
        if left[..shared] != right[..shared] {
            return Ok(false);
        }
        one.consume(shared);
        other.consume(shared);
    }
}

impl Drop for TemporaryFile {
    fn drop(&mut self) {
        if let Some(file) = self.0.take() {
            let mut live = live();
            live.remove(file.path());
            drop(file);
        }
    }
}

/// Removes what runs left in `folder` that were killed. What cannot be removed stays: it hinders nothing.
pub(super) fn remove_left_behind(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let old = || {
            let age = entry.metadata().ok()?.modified().ok()?.elapsed().ok()?;
            (age > YOUNG).then_some(())
        };
        if !(name.starts_with(PREFIX) && name.ends_with(SUFFIX)) || old().is_none() {
            continue;
        }
        let path = entry.path();
        if OpenOptions::new()
            .write(true)
            .open(&path)
            .is_ok_and(|file| file.try_lock().is_ok())
        {
            let _ = fs::remove_file(path);
        }
    }
}

/// A lock on something that is itself replaced now and then, held by a file of its own.
pub(super) struct LockFile {
    path: PathBuf,
    _file: File,
}

impl LockFile {
    /// Takes the lock; `None` while another run has it.
    pub(super) fn take(path: &Path) -> io::Result<Option<Self>> {
        signals::watch();
        let file = locked_file(path)?;
        Ok(file.map(|file| Self {
            path: path.to_owned(),
            _file: file,
        }))
    }
}

impl Drop for LockFile {
    fn drop(&mut self) {
        let mut live = live();
        live.remove(&self.path);
        // On Windows it goes by itself when it is closed.
        if cfg!(unix) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

#[cfg(unix)]
fn locked_file(path: &Path) -> io::Result<Option<File>> {
    loop {
        let mut options = OpenOptions::new();
        let file = options
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)?;
        // Where a file system has no locks, two runs into one table are the user's own care.
        if let Err(TryLockError::WouldBlock) = file.try_lock() {
            return Ok(None);
        }
        // The run before may have removed it since it was opened: then the next one would lock another file.
        let mut live = live();
        if is_at(&file, path)? {
            live.insert(path.to_owned());
            return Ok(Some(file));
        }
    }
}

/// Whether an open file is the one that stands at `path`.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt as _;
    let open = file.metadata()?;
    match fs::metadata(path) {
        Ok(there) => Ok((open.dev(), open.ino()) == (there.dev(), there.ino())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(error),
    }
}

/// Opens a file that nobody else can open meanwhile, and that goes when it is closed, however the program ends.
#[cfg(windows)]
fn locked_file(path: &Path) -> io::Result<Option<File>> {
    use std::os::windows::fs::OpenOptionsExt as _;
    // Microsoft, "CreateFileW", "File Access Rights Constants" and "Generic Access Rights".
    const DELETE: u32 = 0x0001_0000;
    const GENERIC_WRITE: u32 = 0x4000_0000;
    const FILE_FLAG_DELETE_ON_CLOSE: u32 = 0x0400_0000;
    let mut options = OpenOptions::new();
    let opened = options
        .write(true)
        .create(true)
        .truncate(false)
        .access_mode(GENERIC_WRITE | DELETE)
        .share_mode(0)
        .custom_flags(FILE_FLAG_DELETE_ON_CLOSE)
        .open(path);
    match opened {
        Err(error) if held_open::says(&error) => Ok(None),
        opened => opened.map(Some),
    }
}

/// What a shell adds to the number of the signal that ended a program (POSIX.1-2017, XCU 2.8.2: more than 128).
const ENDED_BY_SIGNAL: i32 = 128;

/// Ends the program for the signal of this number, and what is there only while it runs.
fn end(signal: i32) {
    // Held to the end: nothing new is begun.
    let live = live();
    for path in live.iter() {
        let _ = fs::remove_file(path);
    }
    process::exit(ENDED_BY_SIGNAL + signal);
}

#[cfg(unix)]
mod signals {
    use std::sync::Once;
    use std::{fs, future, io, thread};

    use tokio::runtime::Builder;
    use tokio::signal::unix::{SignalKind, signal};

    /// Number of SIGXFSZ on every system but those with MIPS processors (Linux, signal(7)), where it is SIGCONT.
    const FILE_TOO_LARGE: i32 = 25;

    /// From now on files of this program go before a signal ends it.
    pub(super) fn watch() {
        static ONCE: Once = Once::new();
        ONCE.call_once(|| {
            // Where it cannot be watched for signals, the next run clears up.
            if let Err(error) = wait() {
                log::debug!("signals are not waited for: {error}");
            }
        });
    }

    fn wait() -> io::Result<()> {
        let runtime = Builder::new_current_thread().enable_io().build()?;
        {
            let _entered = runtime.enter();
            // Only taken, so that it does not end the program: the write itself fails then, and is told.
            drop(signal(SignalKind::from_raw(FILE_TOO_LARGE))?);
            let ignored = ignored();
            for kind in [
                SignalKind::interrupt(),
                SignalKind::terminate(),
                SignalKind::hangup(),
            ] {
                if ignored & (1 << (kind.as_raw_value() - 1)) != 0 {
                    continue;
                }
                let mut comes = signal(kind)?;
                runtime.spawn(async move {
                    if comes.recv().await.is_some() {
                        super::end(kind.as_raw_value());
                    }
                });
            }
        }
        let waiting = move || runtime.block_on(future::pending::<()>());
        thread::Builder::new().name("signals".into()).spawn(waiting)?;
        Ok(())
    }

    /// Returns the signals that this program was started to ignore, by `nohup` or in the background of a script, a bit each. Where the
    /// system does not tell, a hang-up may be one.
    fn ignored() -> u64 {
        let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
        let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
        let mask = mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok());
        mask.unwrap_or(1 << (SignalKind::hangup().as_raw_value() - 1))
    }
}

#[cfg(windows)]
mod signals {
    use std::sync::Once;
    use std::{future, io, thread};

    use tokio::runtime::{Builder, Runtime};
    use tokio::signal::windows::{ctrl_break, ctrl_c, ctrl_close, ctrl_logoff, ctrl_shutdown};

    /// The signals of other systems that these are alike (POSIX.1-2017, XCU, `kill`: numbers of SIGHUP, SIGINT, SIGTERM).
    const HANG_UP: i32 = 1;
    const INTERRUPT: i32 = 2;
    const TERMINATE: i32 = 15;

    /// From now on files of this program go before ctrl-c or the closing of its window ends it.
    pub(super) fn watch() {
        static ONCE: Once = Once::new();
        ONCE.call_once(|| {
            // Where it cannot be watched for them, the next run clears up.
            if let Err(error) = wait() {
                log::debug!("signals are not waited for: {error}");
            }
        });
    }

    fn wait() -> io::Result<()> {
        let runtime = Builder::new_current_thread().build()?;
        let (mut key, mut pause, mut window) = (ctrl_c()?, ctrl_break()?, ctrl_close()?);
        let (mut user, mut machine) = (ctrl_logoff()?, ctrl_shutdown()?);
        ends(&runtime, INTERRUPT, async move { key.recv().await });
        ends(&runtime, INTERRUPT, async move { pause.recv().await });
        ends(&runtime, HANG_UP, async move { window.recv().await });
        ends(&runtime, TERMINATE, async move { user.recv().await });
        ends(&runtime, TERMINATE, async move { machine.recv().await });
        let waiting = move || runtime.block_on(future::pending::<()>());
        thread::Builder::new().name("signals".into()).spawn(waiting)?;
        Ok(())
    }

    fn ends(runtime: &Runtime, like: i32, comes: impl Future<Output = Option<()>> + Send + 'static) {
        runtime.spawn(async move {
            if comes.await.is_some() {
                super::end(like);
            }
        });
    }
}
