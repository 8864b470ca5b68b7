//! The program of the settings, which gets an alert as arguments and no shell.

use std::process::{self, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use super::{Message, Outcome, Outlet, Ready, Reports, Ticket};
use crate::engine::job::Channel;
use crate::io::platform::Family;

/// A program that has not ended by then is stopped, with all that it has started; the alert counts as not sent.
const DEADLINE: Duration = Duration::from_secs(60);

/// Runs a program for each alert. Exit status 0 means that it took the alert.
#[derive(Debug)]
pub struct Command {
    words: Vec<String>,
    patience: Duration,
    reports: Reports,
}

impl Command {
    /// A program and its arguments; `{title}` and `{text}` are replaced. None where there is no program.
    pub fn new(words: &[String]) -> Option<Self> {
        (!words.is_empty()).then(|| Self {
            words: words.to_vec(),
            patience: DEADLINE,
            reports: Reports::default(),
        })
    }

    /// The same, with less time for the program.
    #[cfg(test)]
    pub(super) const fn within(mut self, patience: Duration) -> Self {
        self.patience = patience;
        self
    }

    fn start(&self, message: &Message) -> Result<(process::Child, Family), String> {
        let (program, arguments) = self.words.split_first().ok_or("There is no alert command.")?;
        let filled = arguments.iter().map(|argument| filled(argument, message));
        let mut command = process::Command::new(program);
        command.args(filled).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        Family::start(&mut command)
            .map_err(|error| format!("The alert command \"{program}\" cannot be run: {error}."))
    }
}

/// An argument with the words of an alert in it. What an alert says is not filled in again.
fn filled(argument: &str, message: &Message) -> String {
    let parts = argument.split("{title}").map(|part| part.replace("{text}", &message.text));
    parts.collect::<Vec<_>>().join(&message.title)
}

impl Outlet for Command {
    fn channel(&self) -> Channel {
        Channel::Command
    }

    fn ready(&mut self) -> Ready {
        Ready::Yes
    }

    fn send(&mut self, ticket: Ticket, message: Message) {
        let program = self.words.first().cloned().unwrap_or_default();
        match self.start(&message) {
            Ok((child, family)) => {
                let (reports, patience) = (self.reports.sender(), self.patience);
                let wait = move || {
                    // Whoever asked may have left.
                    let _ = reports.send((ticket, wait(child, family, &program, patience)));
                };
                if let Err(error) = thread::Builder::new().name("command".into()).spawn(wait) {
                    let why = format!("The alert command cannot be waited for: {error}.");
                    self.reports.put(ticket, Err(why));
                }
            }
            Err(why) => self.reports.put(ticket, Err(why)),
        }
    }

    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)> {
        self.reports.take()
    }
}

fn wait(mut child: process::Child, family: Family, program: &str, patience: Duration) -> Outcome {
    let end = Instant::now() + patience;
    let mut pause = Duration::from_millis(5);
    loop {
        match child.try_wait() {
            Ok(Some(status)) if status.success() => return Ok(()),
            Ok(Some(status)) => return Err(format!("The alert command \"{program}\" failed ({status}).")),
            Ok(None) if Instant::now() < end => {
                thread::sleep(pause);
                pause = (pause * 2).min(Duration::from_millis(200));
            }
            Ok(None) => {
                family.kill();
                let _ = child.wait();
                let seconds = patience.as_secs();
                return Err(format!("The alert command \"{program}\" did not end within {seconds} s."));
            }
            Err(error) => {
                return Err(format!("The alert command \"{program}\" cannot be waited for: {error}."));
            }
        }
    }
}
