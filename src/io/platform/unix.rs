//! Linux, macOS and other systems of the kind.

use std::fs::{self, DirBuilder, File, OpenOptions, Permissions};
use std::io;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Child, Command};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::thread;

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::process::{
    Pid, Signal, getpid, getsid, kill_current_process_group, kill_process, kill_process_group,
};
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
use signal_hook::flag;
use signal_hook::iterator::{Handle, Signals};

use super::{Listening, Request};

#[derive(Debug)]
pub struct Listener(Handle);

impl Listener {
    pub fn start(
        listening: Listening,
        mut tell: impl FnMut(Request) -> bool + Send + 'static,
    ) -> io::Result<Self> {
        let mut signals = match listening {
            Listening::Leave => Signals::new([SIGTERM, SIGHUP, SIGINT])?,
            Listening::All => Signals::new([SIGTERM, SIGHUP, SIGINT, SIGTSTP, SIGCONT])?,
        };
        let handle = signals.handle();
        let listen = move || {
            for signal in signals.forever() {
                let request = match signal {
                    SIGTSTP => Request::Suspend,
                    SIGCONT => Request::Resume,
                    _ => Request::Leave,
                };
                if !tell(request) {
                    return;
                }
            }
        };
        thread::Builder::new().name("signals".into()).spawn(listen)?;
        Ok(Self(handle))
    }

    pub fn close(&self) {
        self.0.close();
    }
}

/// What a shell gives back for a program that was interrupted.
const INTERRUPTED: i32 = 130;

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

/// Stops the process group, as Ctrl-Z does; a request to resume comes later. False where there is no shell to come
/// back from: then nothing happens, and `release` is not called.
///
/// # Errors
/// Where the group cannot be stopped.
pub fn suspend(release: impl FnOnce()) -> io::Result<bool> {
    if getsid(None).is_ok_and(|leader| leader == getpid()) {
        return Ok(false);
    }
    release();
    kill_current_process_group(Signal::STOP)?;
    Ok(true)
}

/// Whether the other end of standard output, a pipe or a terminal, is gone.
pub fn stdout_is_closed() -> bool {
    let out = rustix::stdio::stdout();
    let mut fds = [PollFd::new(&out, PollFlags::empty())];
    let at_once = Timespec { tv_sec: 0, tv_nsec: 0 };
    let told = poll(&mut fds, Some(&at_once)).is_ok_and(|ready| ready > 0);
    told && fds[0].revents().intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL)
}

/// The program, whose number is also that of its group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Family(Pid);

impl Family {
    pub fn start(command: &mut Command) -> io::Result<(Child, Self)> {
        let child = command.process_group(0).spawn()?;
        let family = Self(Pid::from_child(&child));
        Ok((child, family))
    }

    /// What it has started is found before its parents are gone: one that has left the group is killed by its own
    /// number.
    pub fn kill(self) {
        let descendants = descendants(self.0);
        let _ = kill_process_group(self.0, Signal::KILL);
        for process in descendants {
            let _ = kill_process(process, Signal::KILL);
        }
    }
}

/// What a process has started, and what that has started, where the system says so.
fn descendants(of: Pid) -> Vec<Pid> {
    let mut found = vec![of];
    let mut next = 0;
    while let Some(parent) = found.get(next).copied() {
        next += 1;
        let tasks =
            fs::read_dir(format!("/proc/{}/task", parent.as_raw_nonzero())).into_iter().flatten().flatten();
        for task in tasks {
            let children = fs::read_to_string(task.path().join("children")).unwrap_or_default();
            let children =
                children.split_whitespace().filter_map(|number| Pid::from_raw(number.parse().ok()?));
            found.extend(children);
        }
        // An upper bound for sensors and alert commands.
        if found.len() > 1000 {
            break;
        }
    }
    found.remove(0);
    found
}

/// Makes an empty file that only its owner may read and write.
///
/// # Errors
/// Where it cannot be made, or is there.
pub fn make_private_file(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).create_new(true).mode(0o600).open(path)
}

/// Makes a folder that only its owner may enter.
///
/// # Errors
/// Where it cannot be made, or is there.
pub fn make_private_folder(path: &Path) -> io::Result<()> {
    DirBuilder::new().mode(0o700).create(path)
}

/// A new name is lasting only once its folder is. Some file systems have no such thing and say so.
///
/// # Errors
/// Those of the disk.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    match File::open(folder)?.sync_all() {
        Err(error) if matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => {
            Ok(())
        }
        done => done,
    }
}

/// The identity of a file, whatever its names.
pub type FileId = (u64, u64);

/// The identity of the file at a path.
pub fn file_id(path: &Path) -> Option<FileId> {
    fs::metadata(path).ok().map(|found| (found.dev(), found.ino()))
}

/// Who may read a file that is to be made.
#[derive(Debug, Clone)]
pub struct Rights(u32);

impl Rights {
    /// As readable as any file that the person makes.
    pub const USUAL: Self = Self(0o666);
    /// The person's own.
    pub const PRIVATE: Self = Self(0o600);

    /// Those of a file that is there; the usual ones where there is none.
    pub fn of(path: &Path) -> Self {
        fs::metadata(path).map_or(Self::USUAL, |found| Self(found.permissions().mode()))
    }

    /// Gives them to the file that is to be made.
    pub fn give(&self, builder: &mut tempfile::Builder<'_, '_>) {
        builder.permissions(Permissions::from_mode(self.0));
    }
}

/// A path as the address of a file.
pub fn address_of(path: &Path) -> String {
    super::percent(path.as_os_str().as_bytes())
}
