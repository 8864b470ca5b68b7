//! The desktop's notification service, which may be absent, hang, or be restarted.
//!
//! It is asked whether it answers before it gets a message. A call that hangs is waited for on a thread of its
//! own, for as long as it takes: the service shows the message when it wakes up, or the bus says that the
//! service has died.

mod popups;

use std::collections::BTreeSet;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use chrono::TimeDelta;

use super::{Message, Outcome, Outlet, Ready, Reply, Reports, Ticket};
use crate::engine::job::{AlertId, Channel};
use crate::engine::units::duration_text;
use crate::io::platform::{self, Handle, Popup, PopupEvent, desktop_answers};
use popups::{Popups, Screen};

/// A service that has not answered by then hangs.
const DEADLINE: Duration = Duration::from_secs(5);
/// A service that has answered is not asked again for so long.
const ANSWER_HOLDS: Duration = Duration::from_secs(1);
/// On leaving, the buttons are taken away if that takes no longer than this.
const LEAVES_WITHIN: Duration = Duration::from_millis(300);

/// Shows alerts as notifications.
#[derive(Debug)]
pub struct Desktop {
    queue: Option<Sender<Work>>,
    reports: Reports,
    replies: Receiver<(AlertId, Reply)>,
    /// What was shown and not taken away.
    kept: BTreeSet<AlertId>,
    question: Option<Question>,
    answered: Option<Instant>,
}

#[derive(Debug)]
struct Question {
    asked: Instant,
    answer: Receiver<Result<(), String>>,
}

/// What the thread of the desktop has to do.
#[derive(Debug)]
enum Work {
    Show(Ticket, Message),
    Keep(BTreeSet<AlertId>),
    Take(PopupEvent),
    Leave(Sender<()>),
}

impl Screen for platform::Desktop {
    fn show(&mut self, popup: &Popup, instead_of: Option<&Handle>) -> Result<Handle, String> {
        Self::show(self, popup, instead_of)
    }

    fn close(&mut self, handle: &Handle) {
        Self::close(self, handle);
    }
}

impl Desktop {
    /// An outlet with its thread. Its popups have buttons where it is said how long "Later" puts an alert off; the
    /// replies must then be asked for.
    pub fn new(later: Option<TimeDelta>) -> Self {
        let reports = Reports::default();
        let (queue, work) = channel();
        let (replied, replies) = channel();
        let (sender, events) = (reports.sender(), queue.clone());
        let later = later.map(|later| format!("Later: {}", duration_text(later)));
        let run = move || {
            // Whoever listens may have left.
            let tell = move |event| drop(events.send(Work::Take(event)));
            let mut popups = Popups::new(platform::Desktop::new(tell), later);
            for work in work {
                match work {
                    Work::Show(ticket, message) => {
                        let shown = popups.show(ticket, &message);
                        let shown =
                            shown.map_err(|error| format!("The desktop cannot be reached ({error})."));
                        let _ = sender.send((ticket, shown));
                    }
                    Work::Keep(open) => popups.keep(&open),
                    Work::Take(event) => {
                        for reply in popups.take(&event) {
                            let _ = replied.send(reply);
                        }
                    }
                    Work::Leave(done) => {
                        popups.leave();
                        let _ = done.send(());
                        return;
                    }
                }
            }
        };
        let started = thread::Builder::new().name("desktop".into()).spawn(run);
        let queue = started.is_ok().then_some(queue);
        Self { queue, reports, replies, kept: BTreeSet::new(), question: None, answered: None }
    }

    fn hand(&self, work: Work) -> bool {
        self.queue.as_ref().is_some_and(|queue| queue.send(work).is_ok())
    }
}

impl Drop for Desktop {
    fn drop(&mut self) {
        let (done, is_done) = channel();
        if self.answered.is_some() && self.hand(Work::Leave(done)) {
            let _ = is_done.recv_timeout(LEAVES_WITHIN);
        }
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
        self.kept.insert(ticket.alert);
        if !self.hand(Work::Show(ticket, message)) {
            self.reports
                .put(ticket, Err("The desktop cannot be reached: no thread could be started.".into()));
        }
    }

    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)> {
        self.reports.take()
    }

    fn replies(&mut self) -> Vec<(AlertId, Reply)> {
        self.replies.try_iter().collect()
    }

    fn keep(&mut self, open: &BTreeSet<AlertId>) {
        // Only what was shown can be taken away.
        if self.kept.is_subset(open) {
            return;
        }
        self.kept.retain(|alert| open.contains(alert));
        self.hand(Work::Keep(open.clone()));
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
