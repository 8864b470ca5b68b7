//! Notifications of macOS, by the script interpreter that comes with it.

use std::process::{Command, Stdio};

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

/// Shows a notification.
///
/// # Errors
/// Why it was not taken.
pub fn show_on_desktop(title: &str, text: &str, _urgent: bool) -> Result<(), String> {
    let status = Command::new("/usr/bin/osascript")
        .args(SCRIPT.iter().flat_map(|line| ["-e", line]))
        .args(["--", title, text])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .map_err(|error| error.to_string())?;
    if status.success() { Ok(()) } else { Err(format!("osascript failed: {status}")) }
}
