//! The notification service of a desktop on a message bus, by the Desktop Notifications Specification 1.2 of
//! freedesktop.org. What a service cannot do, such as buttons, is left out.

use std::collections::HashMap;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use zbus::export::futures_core::Stream;
use zbus::{Connection, MatchRule, Message, MessageStream, Variant};

use super::{Handle, Popup, PopupEvent};

const SERVICE: &str = "org.freedesktop.Notifications";
const PATH: &str = "/org/freedesktop/Notifications";
const SEEN: &str = "seen";
const LATER: &str = "later";

/// Whether the service answers: the bus is asked first, which answers at once, and then the service.
///
/// # Errors
/// Why it does not.
pub fn desktop_answers() -> Result<(), String> {
    zbus::block_on(service_answers())
}

async fn service_answers() -> Result<(), String> {
    let no_session = |_| "no desktop session is there".to_owned();
    let no_service = |error: &dyn std::fmt::Display| format!("the notification service failed: {error}");
    let connection = Connection::session().await.map_err(no_session)?;
    let bus = zbus::fdo::DBusProxy::new(&connection).await.map_err(no_session)?;
    let name = SERVICE.try_into().map_err(|error| no_service(&error))?;
    if !bus.name_has_owner(name).await.map_err(|error| no_service(&error))? {
        let startable = bus.list_activatable_names().await.map_err(|error| no_service(&error))?;
        if !startable.iter().any(|name| name.as_str() == SERVICE) {
            return Err("no notification service runs".into());
        }
    }
    ask(&connection, "GetServerInformation", &()).await.map(|_| ()).map_err(|error| no_service(&error))
}

async fn ask<B>(connection: &Connection, method: &str, body: &B) -> zbus::Result<Message>
where
    B: serde::Serialize + zbus::wire::DynamicType,
{
    connection.call_method(Some(SERVICE), PATH, Some(SERVICE), method, body).await
}

/// The desktop, as long as its bus is there. Calls may block for minutes where the service hangs.
pub struct Desktop {
    tell: Arc<dyn Fn(PopupEvent) + Send + Sync>,
    link: Option<Link>,
}

/// A connection, and whether its bus has left.
struct Link {
    connection: Connection,
    ended: Arc<AtomicBool>,
}

impl Desktop {
    /// The desktop; what becomes of popups is handed to `tell`, on a thread of its own.
    pub fn new(tell: impl Fn(PopupEvent) + Send + Sync + 'static) -> Self {
        Self { tell: Arc::new(tell), link: None }
    }

    /// Shows a popup, in the place of another one where that is still there.
    ///
    /// # Errors
    /// Why it was not taken.
    pub fn show(&mut self, popup: &Popup, instead_of: Option<&Handle>) -> Result<Handle, String> {
        let connection = self.connection().map_err(|error| error.to_string())?;
        zbus::block_on(notify(&connection, popup, instead_of)).map_err(|error| error.to_string())
    }

    /// Takes a popup away.
    pub fn close(&mut self, handle: &Handle) {
        let Ok(connection) = self.connection() else { return };
        // A popup of a service that has left is gone already, and its number may be another's now.
        let close = async {
            if owner(&connection).await.is_ok_and(|owner| owner == handle.service) {
                let _ = ask(&connection, "CloseNotification", &handle.number).await;
            }
        };
        zbus::block_on(close);
    }

    fn connection(&mut self) -> zbus::Result<Connection> {
        if let Some(link) = self.link.as_ref().filter(|link| !link.ended.load(Ordering::Relaxed)) {
            return Ok(link.connection.clone());
        }
        let link = Link::open(&self.tell)?;
        let connection = link.connection.clone();
        self.link = Some(link);
        Ok(connection)
    }
}

impl Link {
    fn open(tell: &Arc<dyn Fn(PopupEvent) + Send + Sync>) -> zbus::Result<Self> {
        let (connection, mut signals) = zbus::block_on(async {
            let connection = Connection::session().await?;
            let rule = MatchRule::builder()
                .msg_type(zbus::message::Type::Signal)
                .interface(SERVICE)
                .path(PATH)
                .build()?;
            let signals = MessageStream::for_match_rule(rule, &connection, None).await?;
            Ok::<_, zbus::Error>((connection, signals))
        })?;
        let ended = Arc::new(AtomicBool::new(false));
        let (end, tell) = (Arc::clone(&ended), Arc::clone(tell));
        let listen = move || {
            let mut next =
                || zbus::block_on(std::future::poll_fn(|work| Pin::new(&mut signals).poll_next(work)));
            while let Some(Ok(message)) = next() {
                if let Some(event) = event_of(&message) {
                    tell(event);
                }
            }
            end.store(true, Ordering::Relaxed);
        };
        thread::Builder::new().name("desktop-heard".into()).spawn(listen)?;
        Ok(Self { connection, ended })
    }
}

/// What a signal says of a popup.
fn event_of(message: &Message) -> Option<PopupEvent> {
    let header = message.header();
    let (sender, body) = (header.sender()?.to_string(), message.body());
    match header.member()?.as_str() {
        "ActionInvoked" => {
            let (number, action): (u32, String) = body.deserialize().ok()?;
            let handle = Handle { service: sender, number };
            match action.as_str() {
                SEEN => Some(PopupEvent::Seen(handle)),
                LATER => Some(PopupEvent::Later(handle)),
                _ => None,
            }
        }
        "NotificationClosed" => {
            let (number, _why): (u32, u32) = body.deserialize().ok()?;
            Some(PopupEvent::Closed(Handle { service: sender, number }))
        }
        _ => None,
    }
}

/// The name on the bus of the service that runs.
async fn owner(connection: &Connection) -> zbus::Result<String> {
    let bus = "org.freedesktop.DBus";
    let answer = connection
        .call_method(Some(bus), "/org/freedesktop/DBus", Some(bus), "GetNameOwner", &SERVICE)
        .await?;
    answer.body().deserialize()
}

async fn notify(connection: &Connection, popup: &Popup, instead_of: Option<&Handle>) -> zbus::Result<Handle> {
    // The first call starts a service that is started on demand.
    let can: Vec<String> = ask(connection, "GetCapabilities", &()).await?.body().deserialize()?;
    let can = |what: &str| can.iter().any(|known| known == what);
    let service = owner(connection).await?;
    // The number of a popup of a service that has left may be another's now.
    let replaced = instead_of.filter(|handle| handle.service == service).map_or(0, |handle| handle.number);
    let text = if can("body-markup") { escape(&popup.text) } else { popup.text.clone() };
    let mut actions = Vec::new();
    if let Some(later) = popup.later.as_deref().filter(|_| can("actions")) {
        actions.extend([SEEN, "Seen", LATER, later]);
    }
    // Where it is urgent it does not go by itself.
    let timeout: i32 = if popup.urgent { 0 } else { -1 };
    let body = ("curewright", replaced, "curewright", &popup.title, text, actions, hints(popup), timeout);
    let answer = ask(connection, "Notify", &body).await?;
    Ok(Handle { service, number: answer.body().deserialize()? })
}

/// Names of sounds: Sound Naming Specification of freedesktop.org.
fn hints(popup: &Popup) -> HashMap<&'static str, Variant<'static>> {
    let sound = if popup.urgent { "alarm-clock-elapsed" } else { "message-new-instant" };
    let mut hints = HashMap::from([
        ("urgency", Variant::from(if popup.urgent { 2_u8 } else { 1 })),
        ("category", Variant::from("x-curewright.alert")),
        ("desktop-entry", Variant::from("curewright")),
    ]);
    if popup.sounds {
        hints.insert("sound-name", Variant::from(sound));
    } else {
        hints.insert("suppress-sound", Variant::from(true));
    }
    hints
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
