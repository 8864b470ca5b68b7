//! Notifications of Windows. They have no buttons, and replace nothing.

use notify_rust::{Notification, Timeout};

use super::{Handle, Popup, PopupEvent};

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
        Notification::new()
            .appname("curewright")
            .summary(&popup.title)
            .body(&popup.text)
            .timeout(if popup.urgent { Timeout::Never } else { Timeout::Default })
            .show()
            .map(|_| Handle::new("", 0))
            .map_err(|error| error.to_string())
    }

    /// It goes by itself.
    pub fn close(&mut self, _handle: &Handle) {}
}
