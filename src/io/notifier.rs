//! Channels that take alerts: the desktop, a program, standard output.
//!
//! No call here waits for the other side. An outlet says whether it can take a message, takes it, and reports
//! later what came of it. This room does not know which alerts there are, nor who else serves a channel.

mod command;
mod desktop;
mod output;

use std::collections::BTreeSet;
use std::sync::mpsc::{Receiver, Sender, channel};

use crate::engine::job::{AlertId, Channel};

pub use command::Command;
pub use desktop::Desktop;
pub use output::Output;

/// An alert in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// A few words: what it is about.
    pub title: String,
    /// What there is to know.
    pub text: String,
    /// The same with the time of day before it, for a line of output.
    pub line: String,
    /// Whether missing it costs a sanding, or a batch.
    pub urgent: bool,
}

/// Which alert a message is, in which repetition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Ticket {
    /// The alert; a number below zero stands for one that could not be recorded.
    pub alert: AlertId,
    /// Its repetition.
    pub repeat: u32,
}

/// Whether an outlet can take a message now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ready {
    /// It can.
    Yes,
    /// It is not known yet: ask again in a moment.
    Later,
    /// It cannot, for this reason. That may change.
    No(String),
    /// It never will again, for this reason.
    Gone(String),
}

/// What came of a message; the reason why the channel did not take it.
pub type Outcome = Result<(), String>;

/// What a person has chosen on a channel that asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reply {
    /// The alert was seen.
    Seen,
    /// It is to come again later.
    Later,
}

/// A way to a person.
pub trait Outlet {
    /// The channel that it serves.
    fn channel(&self) -> Channel;

    /// Whether it can take a message now. Returns at once.
    fn ready(&mut self) -> Ready;

    /// Takes a message and returns at once; what came of it is among the outcomes later.
    fn send(&mut self, ticket: Ticket, message: Message);

    /// What has come of messages since the last call.
    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)>;

    /// What a person has chosen since the last call.
    fn replies(&mut self) -> Vec<(AlertId, Reply)> {
        Vec::new()
    }

    /// Takes away what it still shows of other alerts than these.
    fn keep(&mut self, _open: &BTreeSet<AlertId>) {}
}

/// The screen of a board: whatever is handed to it is shown, and its bell rings.
#[derive(Debug, Default)]
pub struct Screen {
    taken: Vec<Ticket>,
}

impl Outlet for Screen {
    fn channel(&self) -> Channel {
        Channel::Screen
    }

    fn ready(&mut self) -> Ready {
        Ready::Yes
    }

    fn send(&mut self, ticket: Ticket, _message: Message) {
        self.taken.push(ticket);
    }

    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)> {
        self.taken.drain(..).map(|ticket| (ticket, Ok(()))).collect()
    }
}

/// Where threads report what came of messages.
#[derive(Debug)]
struct Reports {
    sender: Sender<(Ticket, Outcome)>,
    receiver: Receiver<(Ticket, Outcome)>,
}

impl Default for Reports {
    fn default() -> Self {
        let (sender, receiver) = channel();
        Self { sender, receiver }
    }
}

impl Reports {
    fn sender(&self) -> Sender<(Ticket, Outcome)> {
        self.sender.clone()
    }

    fn put(&self, ticket: Ticket, outcome: Outcome) {
        // The receiver is here.
        let _ = self.sender.send((ticket, outcome));
    }

    fn take(&self) -> Vec<(Ticket, Outcome)> {
        self.receiver.try_iter().collect()
    }
}

#[cfg(test)]
mod tests;
