//! The program of the settings, which gets an alert as arguments and no shell.

use std::process::{self, Stdio};
use std::sync::mpsc::Sender;
use std::thread;
use std::time::{Duration, Instant};

use super::{Message, Outcome, Outlet, Ready, Reports, Ticket};
use crate::engine::job::Channel;

/// A program that has not ended by then is stopped; the alert counts as not sent.
const DEADLINE: Duration = Duration::from_secs(60);

/// Runs a program for each alert. Exit status 0 means that it took the alert.
#[derive(Debug)]
pub struct Command {
    words: Vec<String>,
    reports: Reports,
}

impl Command {
    /// A program and its arguments; `{title}` and `{text}` are replaced. None where there is no program.
    pub fn new(words: &[String]) -> Option<Self> {
        (!words.is_empty()).then(|| Self { words: words.to_vec(), reports: Reports::default() })
    }

    fn start(&self, message: &Message) -> Result<process::Child, String> {
        let (program, arguments) = self.words.split_first().ok_or("There is no alert command.")?;
        let filled = arguments.iter().map(|argument| filled(argument, message));
        process::Command::new(program)
            .args(filled)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
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
            Ok(child) => {
                let reports = self.reports.sender();
                let wait = move || wait(child, &program, ticket, &reports);
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

fn wait(mut child: process::Child, program: &str, ticket: Ticket, reports: &Sender<(Ticket, Outcome)>) {
    let end = Instant::now() + DEADLINE;
    let mut pause = Duration::from_millis(5);
    let outcome = loop {
        match child.try_wait() {
            Ok(Some(status)) if status.success() => break Ok(()),
            Ok(Some(status)) => break Err(format!("The alert command \"{program}\" failed ({status}).")),
            Ok(None) if Instant::now() < end => {
                thread::sleep(pause);
                pause = (pause * 2).min(Duration::from_millis(200));
            }
            Ok(None) => {
                let _ = child.kill();
                let _ = child.wait();
                let seconds = DEADLINE.as_secs();
                break Err(format!("The alert command \"{program}\" did not end within {seconds} s."));
            }
            Err(error) => {
                break Err(format!("The alert command \"{program}\" cannot be waited for: {error}."));
            }
        }
    };
    // Whoever asked may have left.
    let _ = reports.send((ticket, outcome));
}
