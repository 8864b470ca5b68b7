//! Windows.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io;
use std::os::windows::fs::MetadataExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;

use super::{Listening, Request};

/// There is no way to be woken: a flag is looked at so often.
const LOOK_EVERY: Duration = Duration::from_millis(100);

#[derive(Debug)]
pub struct Listener(Arc<AtomicBool>);

impl Listener {
    /// There is neither a stop nor a continue here.
    pub fn start(
        _listening: Listening,
        mut tell: impl FnMut(Request) -> bool + Send + 'static,
    ) -> io::Result<Self> {
        let leave = Arc::new(AtomicBool::new(false));
        for signal in [SIGINT, SIGTERM] {
            flag::register(signal, Arc::clone(&leave))?;
        }
        let closed = Arc::new(AtomicBool::new(false));
        let is_closed = Arc::clone(&closed);
        let look = move || {
            while !is_closed.load(Ordering::Relaxed) {
                if leave.swap(false, Ordering::Relaxed) && !tell(Request::Leave) {
                    return;
                }
                thread::sleep(LOOK_EVERY);
            }
        };
        thread::Builder::new().name("signals".into()).spawn(look)?;
        Ok(Self(closed))
    }

    pub fn close(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What the system gives back for a program that Ctrl-C has ended (`STATUS_CONTROL_C_EXIT`).
const INTERRUPTED: i32 = 0xC000_013A_u32.cast_signed();

/// A flag that the first Ctrl-C sets. The second ends the program.
///
/// # Errors
/// Where signals cannot be received.
pub fn interrupts() -> io::Result<Arc<AtomicBool>> {
    let stop = Arc::new(AtomicBool::new(false));
    flag::register_conditional_shutdown(SIGINT, INTERRUPTED, Arc::clone(&stop))?;
    flag::register(SIGINT, Arc::clone(&stop))?;
    Ok(stop)
}

/// There is no shell to come back from.
///
/// # Errors
/// None.
pub fn suspend(_release: impl FnOnce()) -> io::Result<bool> {
    Ok(false)
}

/// A closed output is noticed when it is written to.
pub fn stdout_is_closed() -> bool {
    false
}

/// The number of the program, whose tree the system knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Family(u32);

impl Family {
    pub fn start(command: &mut Command) -> io::Result<(Child, Self)> {
        let child = command.spawn()?;
        let family = Self(child.id());
        Ok((child, family))
    }

    pub fn kill(self) {
        let _ = Command::new("taskkill")
            .args(["/T", "/F", "/PID", &self.0.to_string()])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
    }
}

/// Makes an empty file; the folders of a person are private here.
///
/// # Errors
/// Where it cannot be made, or is there.
pub fn make_private_file(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).create_new(true).open(path)
}

/// Makes a folder; those of a person are private here.
///
/// # Errors
/// Where it cannot be made, or is there.
pub fn make_private_folder(path: &Path) -> io::Result<()> {
    DirBuilder::new().create(path)
}

/// A folder cannot be synced here; the system keeps a log of names.
///
/// # Errors
/// None.
pub fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

/// When a file was made. A job that is open can neither be deleted nor be replaced here, so that more is not needed.
pub type FileId = u64;

/// The identity of the file at a path.
pub fn file_id(path: &Path) -> Option<FileId> {
    fs::metadata(path).ok().map(|found| found.creation_time())
}

/// Who may read a file that is to be made: the folder decides.
#[derive(Debug, Clone)]
pub struct Rights;

impl Rights {
    /// As readable as any file that the person makes.
    pub const USUAL: Self = Self;
    /// The person's own.
    pub const PRIVATE: Self = Self;

    /// Those of a file that is there.
    pub fn of(_path: &Path) -> Self {
        Self
    }

    /// Gives them to the file that is to be made.
    pub fn give(&self, _builder: &mut tempfile::Builder<'_, '_>) {}
}

/// A path as the address of a file.
pub fn address_of(path: &Path) -> String {
    let path = path.to_string_lossy().replace('\\', "/");
    let path = path.strip_prefix("//?/").unwrap_or(&path);
    let rooted = if path.starts_with('/') { path.to_owned() } else { format!("/{path}") };
    super::percent(rooted.as_bytes())
}
