//! Delivery: the desktop's notification service, and the command a person has set.
//!
//! Whatever the other side does, the caller never waits: a worker thread takes the alerts, each call has
//! a deadline, and a call that hangs is left behind.

use std::process::{Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use notify_rust::{Notification, Timeout, Urgency};

/// How alerts are delivered.
#[derive(Debug, Clone, Default)]
pub struct NotifierOptions {
    /// Whether the desktop is to be told at all.
    pub desktop: bool,
    /// A program and its arguments; `{title}` and `{text}` are replaced.
    pub command: Vec<String>,
}

/// Tells alerts to the world outside the terminal.
#[derive(Debug)]
pub struct Notifier {
    queue: Option<Sender<Message>>,
    trouble: Arc<Mutex<Option<String>>>,
    under_way: Arc<Mutex<usize>>,
}

#[derive(Debug, Clone)]
struct Message {
    title: String,
    text: String,
    urgent: bool,
}

/// A notification service that has not answered by then is left behind.
const DEADLINE: Duration = Duration::from_secs(5);
/// And is not asked again before.
const REST: Duration = Duration::from_secs(60);

impl Notifier {
    /// A herald with its worker.
    pub fn new(options: NotifierOptions) -> Self {
        let trouble = Arc::new(Mutex::new(None));
        let under_way = Arc::new(Mutex::new(0));
        if !options.desktop && options.command.is_empty() {
            return Self { queue: None, trouble, under_way };
        }
        let (sender, receiver) = channel();
        let worker = Worker {
            options,
            trouble: Arc::clone(&trouble),
            under_way: Arc::clone(&under_way),
            resting_until: None,
        };
        let started = thread::Builder::new().name("herald".into()).spawn(move || worker.run(&receiver));
        Self { queue: started.is_ok().then_some(sender), trouble, under_way }
    }

    /// Tells an alert; returns at once.
    pub fn tell(&self, title: &str, text: &str, urgent: bool) {
        let Some(queue) = &self.queue else { return };
        let message = Message { title: title.to_owned(), text: text.to_owned(), urgent };
        *lock(&self.under_way) += 1;
        if queue.send(message).is_err() {
            *lock(&self.under_way) -= 1;
        }
    }

    /// Why the desktop or the command cannot be reached, in a sentence; None while all is well.
    pub fn trouble(&self) -> Option<String> {
        lock(&self.trouble).clone()
    }

    /// Waits until what was told has been delivered or given up, at most so long.
    pub fn settle(&self, at_most: Duration) {
        let end = Instant::now() + at_most;
        while *lock(&self.under_way) > 0 && Instant::now() < end {
            thread::sleep(Duration::from_millis(10));
        }
    }
}

struct Worker {
    options: NotifierOptions,
    trouble: Arc<Mutex<Option<String>>>,
    under_way: Arc<Mutex<usize>>,
    resting_until: Option<Instant>,
}

impl Worker {
    fn run(mut self, queue: &Receiver<Message>) {
        for message in queue {
            let outcome = self.command(&message).and(self.desktop(&message));
            *lock(&self.trouble) = outcome.err();
            *lock(&self.under_way) -= 1;
        }
    }

    fn desktop(&mut self, message: &Message) -> Result<(), String> {
        if !self.options.desktop {
            return Ok(());
        }
        let hangs =
            || "The desktop's notification service does not answer; alerts ring here only.".to_owned();
        if self.resting_until.is_some_and(|until| Instant::now() < until) {
            return Err(hangs());
        }
        let (sender, receiver) = channel();
        let message = message.clone();
        let call = move || {
            let _ = sender.send(show(&message));
        };
        thread::Builder::new()
            .name("desktop".into())
            .spawn(call)
            .map_err(|error| format!("The desktop cannot be told: {error}."))?;
        match receiver.recv_timeout(DEADLINE) {
            Ok(outcome) => outcome
                .map_err(|why| format!("The desktop cannot be reached ({why}): alerts ring here only.")),
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => {
                self.resting_until = Some(Instant::now() + REST);
                Err(hangs())
            }
        }
    }

    fn command(&self, message: &Message) -> Result<(), String> {
        let Some((program, arguments)) = self.options.command.split_first() else { return Ok(()) };
        let filled = arguments
            .iter()
            .map(|argument| argument.replace("{title}", &message.title).replace("{text}", &message.text));
        let mut child = Command::new(program)
            .args(filled)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| format!("The alert command \"{program}\" cannot be run: {error}."))?;
        // Waited for apart, so that it leaves no zombie and holds nothing up.
        thread::spawn(move || child.wait());
        Ok(())
    }
}

/// Shows a notification; may block for minutes where the service is broken.
fn show(message: &Message) -> Result<(), String> {
    match zbus::block_on(service_is_there()) {
        Ok(true) => {}
        Ok(false) => return Err("no notification service runs".into()),
        Err(_) => return Err("no desktop session is there".into()),
    }
    Notification::new()
        .appname("curewright")
        .summary(&message.title)
        .body(&escape(&message.text))
        .urgency(if message.urgent { Urgency::Critical } else { Urgency::Normal })
        .timeout(if message.urgent { Timeout::Never } else { Timeout::Default })
        .show()
        .map(|_| ())
        .map_err(|error| error.to_string())
}

/// Asked of the bus itself, which answers at once; the service may not.
async fn service_is_there() -> zbus::Result<bool> {
    const SERVICE: &str = "org.freedesktop.Notifications";
    let connection = zbus::Connection::session().await?;
    let bus = zbus::fdo::DBusProxy::new(&connection).await?;
    if bus.name_has_owner(SERVICE.try_into()?).await? {
        return Ok(true);
    }
    let startable = bus.list_activatable_names().await?;
    Ok(startable.iter().any(|name| name.as_str() == SERVICE))
}

/// The body of a notification is markup.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_a_name_is_shown_as_it_is() {
        assert_eq!(escape("a <b> & c"), "a &lt;b&gt; &amp; c");
    }

    #[test]
    fn a_command_gets_its_words_as_arguments_and_no_shell() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("told; touch nothing");
        let command = ["cp", "/dev/null", &file.display().to_string()].map(str::to_owned).to_vec();
        let notifier = Notifier::new(NotifierOptions { desktop: false, command });
        notifier.tell("t", "x", false);
        notifier.settle(Duration::from_secs(5));
        let end = Instant::now() + Duration::from_secs(5);
        while !file.exists() && Instant::now() < end {
            thread::sleep(Duration::from_millis(10));
        }
        assert!(file.exists());
        assert_eq!(notifier.trouble(), None);
    }

    #[test]
    fn a_command_that_is_not_there_is_told() {
        let command = vec!["no-such-program-here".to_owned()];
        let notifier = Notifier::new(NotifierOptions { desktop: false, command });
        notifier.tell("t", "x", false);
        notifier.settle(Duration::from_secs(5));
        let trouble = notifier.trouble().unwrap_or_default();
        assert!(trouble.contains("no-such-program-here"), "{trouble}");
    }
}
