//! The notification service of a desktop on a message bus.

use notify_rust::{Notification, Timeout, Urgency};

/// Whether the service answers: the bus is asked first, which answers at once, and then the service.
///
/// # Errors
/// Why it does not.
pub fn desktop_answers() -> Result<(), String> {
    zbus::block_on(service_answers())
}

async fn service_answers() -> Result<(), String> {
    const SERVICE: &str = "org.freedesktop.Notifications";
    let no_session = |_| "no desktop session is there".to_owned();
    let no_service = |error: &dyn std::fmt::Display| format!("the notification service failed: {error}");
    let connection = zbus::Connection::session().await.map_err(no_session)?;
    let bus = zbus::fdo::DBusProxy::new(&connection).await.map_err(no_session)?;
    let name = SERVICE.try_into().map_err(|error| no_service(&error))?;
    if !bus.name_has_owner(name).await.map_err(|error| no_service(&error))? {
        let startable = bus.list_activatable_names().await.map_err(|error| no_service(&error))?;
        if !startable.iter().any(|name| name.as_str() == SERVICE) {
            return Err("no notification service runs".into());
        }
    }
    let path = "/org/freedesktop/Notifications";
    connection
        .call_method(Some(SERVICE), path, Some(SERVICE), "GetServerInformation", &())
        .await
        .map(|_| ())
        .map_err(|error| no_service(&error))
}

/// Shows a notification; may block for minutes where the service hangs.
///
/// # Errors
/// Why it was not taken.
pub fn show_on_desktop(title: &str, text: &str, urgent: bool) -> Result<(), String> {
    Notification::new()
        .appname("curewright")
        .summary(title)
        .body(&escape(text))
        .urgency(if urgent { Urgency::Critical } else { Urgency::Normal })
        .timeout(if urgent { Timeout::Never } else { Timeout::Default })
        .show()
        .map(|_| ())
        .map_err(|error| error.to_string())
}

/// The body of a notification is markup.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::escape;

    #[test]
    fn markup_in_a_name_is_shown_as_it_is() {
        assert_eq!(escape("a <b> & c"), "a &lt;b&gt; &amp; c");
    }
}
