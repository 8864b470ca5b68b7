//! The desktop's notification service, which may be absent, hang, or be restarted.
//!
//! It is asked whether it answers before it gets a message. A call that hangs is waited for on a thread of its
//! own, for as long as it takes: the service shows the message when it wakes up, or the bus says that the
//! service has died.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use notify_rust::{Notification, Timeout, Urgency};

use super::{Message, Outcome, Outlet, Ready, Reports, Ticket};
use crate::engine::job::Channel;

/// A service that has not answered by then hangs.
const DEADLINE: Duration = Duration::from_secs(5);
/// A service that has answered is not asked again for so long.
const ANSWER_HOLDS: Duration = Duration::from_secs(1);

/// Shows alerts as notifications.
#[derive(Debug)]
pub struct Desktop {
    queue: Option<Sender<(Ticket, Message)>>,
    reports: Reports,
    question: Option<Question>,
    answered: Option<Instant>,
}

#[derive(Debug)]
struct Question {
    asked: Instant,
    answer: Receiver<Result<(), String>>,
}

impl Desktop {
    /// An outlet with its thread.
    pub fn new() -> Self {
        let reports = Reports::default();
        let (queue, messages) = channel::<(Ticket, Message)>();
        let sender = reports.sender();
        let work = move || {
            for (ticket, message) in messages {
                // Whoever asked may have left.
                let _ = sender.send((ticket, show(&message)));
            }
        };
        let started = thread::Builder::new().name("desktop".into()).spawn(work);
        Self { queue: started.is_ok().then_some(queue), reports, question: None, answered: None }
    }
}

impl Default for Desktop {
    fn default() -> Self {
        Self::new()
    }
}

impl Outlet for Desktop {
    fn channel(&self) -> Channel {
        Channel::Desktop
    }

    fn ready(&mut self) -> Ready {
        if self.answered.is_some_and(|answered| answered.elapsed() < ANSWER_HOLDS) {
            return Ready::Yes;
        }
        let question = match self.question.take() {
            Some(question) => question,
            None => match ask() {
                Ok(question) => question,
                Err(why) => return Ready::No(why),
            },
        };
        // The answer of a bus at hand is there within milliseconds.
        match question.answer.recv_timeout(Duration::from_millis(20)) {
            Ok(Ok(())) => {
                self.answered = Some(Instant::now());
                Ready::Yes
            }
            Ok(Err(why)) => Ready::No(format!("The desktop cannot be reached ({why}).")),
            Err(RecvTimeoutError::Disconnected) => Ready::No("The desktop does not answer.".into()),
            Err(RecvTimeoutError::Timeout) => {
                let hangs = question.asked.elapsed() > DEADLINE;
                // A question that hangs stays open: its answer says that the service works again.
                self.question = Some(question);
                if hangs {
                    Ready::No("The desktop's notification service does not answer.".into())
                } else {
                    Ready::Later
                }
            }
        }
    }

    fn send(&mut self, ticket: Ticket, message: Message) {
        let sent = self.queue.as_ref().map(|queue| queue.send((ticket, message)).is_ok());
        if sent != Some(true) {
            self.reports
                .put(ticket, Err("The desktop cannot be reached: no thread could be started.".into()));
        }
    }

    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)> {
        self.reports.take()
    }
}

fn ask() -> Result<Question, String> {
    let (sender, answer) = channel();
    let ask = move || {
        // Whoever asked may have left.
        let _ = sender.send(zbus::block_on(service_answers()));
    };
    thread::Builder::new()
        .name("desktop-asked".into())
        .spawn(ask)
        .map_err(|error| format!("The desktop does not answer: {error}."))?;
    Ok(Question { asked: Instant::now(), answer })
}

/// Asks the bus first, which answers at once, and then the service.
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
fn show(message: &Message) -> Result<(), String> {
    Notification::new()
        .appname("curewright")
        .summary(&message.title)
        .body(&escape(&message.text))
        .urgency(if message.urgent { Urgency::Critical } else { Urgency::Normal })
        .timeout(if message.urgent { Timeout::Never } else { Timeout::Default })
        .show()
        .map(|_| ())
        .map_err(|error| format!("The desktop cannot be reached ({error})."))
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
