//! Notifications of Windows.

use notify_rust::{Notification, Timeout};

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
pub fn show_on_desktop(title: &str, text: &str, urgent: bool) -> Result<(), String> {
    Notification::new()
        .appname("curewright")
        .summary(title)
        .body(text)
        .timeout(if urgent { Timeout::Never } else { Timeout::Default })
        .show()
        .map(|_| ())
        .map_err(|error| error.to_string())
}
