//! Standard output of `watch`, whose reader may be slow, stop reading, or leave.

use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{Sender, channel};
use std::thread;

use super::{Message, Outcome, Outlet, Ready, Reports, Ticket};
use crate::engine::job::Channel;
use crate::io::platform::stdout_is_closed;

/// Writes alerts as lines, on a thread of its own: a reader that does not read holds nothing else up.
#[derive(Debug)]
pub struct Output {
    channel: Channel,
    queue: Option<Sender<(Option<Ticket>, String)>>,
    reports: Reports,
    waiting: usize,
    gone: Option<String>,
}

/// More lines do not wait for a reader.
const MOST_WAITING: usize = 16;

impl Output {
    /// Standard output with its thread; `first` is written before anything else.
    pub fn new(first: Option<String>) -> Self {
        let terminal = io::stdout().is_terminal();
        let channel_kind = if terminal { Channel::Terminal } else { Channel::Output };
        let reports = Reports::default();
        let (queue, lines) = channel::<(Option<Ticket>, String)>();
        let sender = reports.sender();
        let work = move || {
            for (ticket, line) in lines {
                let bell = if terminal && ticket.is_some() { "\u{7}" } else { "" };
                let written = say(&format!("{bell}{line}"));
                let outcome = written.map_err(|error| format!("Standard output is closed ({error})."));
                if let Some(ticket) = ticket {
                    // Whoever asked may have left.
                    let _ = sender.send((ticket, outcome));
                }
            }
        };
        let started = thread::Builder::new().name("output".into()).spawn(work).is_ok();
        if let Some(first) = first.filter(|_| started) {
            let _ = queue.send((None, first));
        }
        Self { channel: channel_kind, queue: started.then_some(queue), reports, waiting: 0, gone: None }
    }
}

impl Outlet for Output {
    fn channel(&self) -> Channel {
        self.channel
    }

    fn ready(&mut self) -> Ready {
        if self.gone.is_none() && stdout_is_closed() {
            self.gone = Some("Standard output is closed by its reader.".into());
        }
        match &self.gone {
            Some(why) => Ready::Gone(why.clone()),
            None if self.waiting >= MOST_WAITING => Ready::No("Standard output has no reader.".into()),
            None => Ready::Yes,
        }
    }

    fn send(&mut self, ticket: Ticket, message: Message) {
        let sent = self.queue.as_ref().map(|queue| queue.send((Some(ticket), message.line)).is_ok());
        if sent == Some(true) {
            self.waiting += 1;
        } else {
            self.reports.put(ticket, Err("Standard output cannot be written.".into()));
        }
    }

    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)> {
        let outcomes = self.reports.take();
        self.waiting = self.waiting.saturating_sub(outcomes.len());
        outcomes
    }
}

fn say(line: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    writeln!(out, "{line}")?;
    out.flush()
}
