//! Notifications of macOS, by the script interpreter that comes with it. They have no buttons, and replace nothing.

use std::process::{Command, Stdio};

use super::{Handle, Popup, PopupEvent};

/// The words come as arguments: nothing in them is read as script.
const SCRIPT: [&str; 3] =
    ["on run argv", "display notification (item 2 of argv) with title (item 1 of argv)", "end run"];

/// There is nothing to ask.
///
/// # Errors
/// None.
pub fn desktop_answers() -> Result<(), String> {
    Ok(())
}

/// The desktop.
pub struct Desktop(());

impl Desktop {
    /// The desktop. Nothing is heard of its popups.
    pub fn new(_tell: impl Fn(PopupEvent) + Send + Sync + 'static) -> Self {
        Self(())
    }

    /// Shows a popup.
    ///
    /// # Errors
    /// Why it was not taken.
    pub fn show(&mut self, popup: &Popup, _instead_of: Option<&Handle>) -> Result<Handle, String> {
        let status = Command::new("/usr/bin/osascript")
            .args(SCRIPT.iter().flat_map(|line| ["-e", line]))
            .args(["--", &popup.title, &popup.text])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .map_err(|error| error.to_string())?;
        if status.success() { Ok(Handle::new("", 0)) } else { Err(format!("osascript failed: {status}")) }
    }

    /// It goes by itself.
    pub fn close(&mut self, _handle: &Handle) {}
}
