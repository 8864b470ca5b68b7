//! The desktop's notification service, which may be absent, hang, or be restarted.
//!
//! It is asked whether it answers before it gets a message. A call that hangs is waited for on a thread of its
//! own, for as long as it takes: the service shows the message when it wakes up, or the bus says that the
//! service has died.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use super::{Message, Outcome, Outlet, Ready, Reports, Ticket};
use crate::engine::job::Channel;
use crate::io::platform::{desktop_answers, show_on_desktop};

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
        let _ = sender.send(desktop_answers());
    };
    thread::Builder::new()
        .name("desktop-asked".into())
        .spawn(ask)
        .map_err(|error| format!("The desktop does not answer: {error}."))?;
    Ok(Question { asked: Instant::now(), answer })
}

fn show(message: &Message) -> Result<(), String> {
    show_on_desktop(&message.title, &message.text, message.urgent)
        .map_err(|error| format!("The desktop cannot be reached ({error})."))
}
