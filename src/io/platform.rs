//! What differs from one operating system to another: signals, process groups, rights and identity of files, the
//! desktop's notifications. Nothing else in the program asks which system it runs on.

use std::io;
use std::process::{Child, Command};

#[cfg(all(unix, not(target_os = "macos")))]
#[path = "platform/desktop_bus.rs"]
mod desktop;
#[cfg(target_os = "macos")]
#[path = "platform/desktop_macos.rs"]
mod desktop;
#[cfg(windows)]
#[path = "platform/desktop_windows.rs"]
mod desktop;
#[cfg(unix)]
#[path = "platform/unix.rs"]
mod system;
#[cfg(windows)]
#[path = "platform/windows.rs"]
mod system;

pub use desktop::{Desktop, desktop_answers};
pub use system::{
    FileId, Rights, address_of, file_id, interrupts, make_private_file, make_private_folder,
    stdout_is_closed, suspend, sync_folder,
};

/// A notification on the desktop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Popup {
    /// A few words.
    pub title: String,
    /// What there is to know; one line for each thing.
    pub text: String,
    /// Whether it stays until it is closed.
    pub urgent: bool,
    /// Whether it makes a sound, where the desktop does so.
    pub sounds: bool,
    /// The words of its button "Later"; with it comes "Seen". None: it has no buttons.
    pub later: Option<String>,
}

/// A popup that was shown: its number, and the service that gave it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Handle {
    service: String,
    number: u32,
}

impl Handle {
    /// The popup that a service gave this number.
    pub fn new(service: &str, number: u32) -> Self {
        Self { service: service.to_owned(), number }
    }
}

/// What has become of a popup.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PopupEvent {
    /// The person has chosen "Seen".
    Seen(Handle),
    /// The person has chosen "Later".
    Later(Handle),
    /// It is not on the screen any more.
    Closed(Handle),
}

/// What the system, or a person by way of it, asks of the process.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Request {
    /// To end.
    Leave,
    /// To give the terminal back to the shell for a while.
    Suspend,
    /// To take the terminal again.
    Resume,
}

/// Which requests are listened for. The others have their usual effect.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listening {
    /// Those to end.
    Leave,
    /// All of them.
    All,
}

/// Hands requests to a function until it is dropped, or the function says false. The function runs on a thread of
/// its own.
#[derive(Debug)]
pub struct Listener(system::Listener);

impl Listener {
    /// Begins to listen at once: what comes after this call is not missed.
    ///
    /// # Errors
    /// Where the system does not allow it.
    pub fn start(
        listening: Listening,
        tell: impl FnMut(Request) -> bool + Send + 'static,
    ) -> io::Result<Self> {
        system::Listener::start(listening, tell).map(Self)
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        self.0.close();
    }
}

/// A program that runs, with all that it has started.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Family(system::Family);

impl Family {
    /// Starts a program, so that it can be stopped with what it starts.
    ///
    /// # Errors
    /// Where it cannot be started.
    pub fn start(command: &mut Command) -> io::Result<(Child, Self)> {
        let (child, family) = system::Family::start(command)?;
        Ok((child, Self(family)))
    }

    /// Kills all of it. The program itself is still to be waited for.
    pub fn kill(self) {
        self.0.kill();
    }
}

/// The path of a `file:` address: all but the plainest characters are escaped.
fn percent(path: &[u8]) -> String {
    let escape = |byte: &u8| match byte {
        b'/' | b'.' | b'-' | b'_' | b':' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => {
            char::from(*byte).to_string()
        }
        byte => format!("%{byte:02X}"),
    };
    format!("file:{}", path.iter().map(escape).collect::<String>())
}

#[cfg(test)]
mod tests;
