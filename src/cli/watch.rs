//! `watch`: alerts without a screen.

mod page;

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use chrono::TimeDelta;

use super::Failure;
use super::setup::Setup;
use crate::app::session::{Live, Session, SessionError, Tick};
use crate::engine::units::{Moment, clean};
use crate::io::notifier::{Command, Desktop, Outlet, Output};
use crate::io::platform::{Listener, Listening};
use page::Page;

/// The delay until entries of another process are seen.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// An intermittent fault is reported again after this time.
const SAID_FOR: TimeDelta = TimeDelta::hours(1);
/// The time limit of sensors that are read once: longer than a program may take.
const SENSED_WITHIN: Duration = Duration::from_secs(12);
/// Longer than an alert command may take.
const SENT_WITHIN: Duration = Duration::from_secs(65);
/// On a signal, alerts being sent get this time.
const LEAVES_WITHIN: Duration = Duration::from_secs(1);

pub fn run(setup: &Setup, once: bool, no_desktop: bool, page: Option<PathBuf>) -> Result<u8, Failure> {
    setup.tell_faults();
    let mut session = setup.session()?;
    let mut page = page.map(|file| Page::begin(file, &session)).transpose()?;
    let once = once || setup.at.is_some();
    let first = (!once && !setup.quiet)
        .then(|| format!("Watching {}.", clean(&session.path().display().to_string())));
    // Who reads "Watching" may stop it at once.
    let (sender, stop) = channel();
    let listener =
        (!once).then(|| Listener::start(Listening::Leave, move |_| sender.send(()).is_ok())).transpose();
    let listener =
        listener.map_err(|error| SessionError::World(format!("signals cannot be received: {error}")))?;
    // Without a process that stays nobody is there for buttons.
    let later = (!once).then_some(setup.config.leads.snooze);
    let desktop = (!no_desktop).then(|| Desktop::new(later));
    let outlets = outlets(desktop, &setup.config.alert_command, first);
    let mut live = Live::new(&session, outlets);
    let mut troubles = Troubles::default();
    if listener.is_none() {
        let ended = look_once(&mut live, &mut session, &mut troubles);
        // The page has the alerts and readings of this look.
        if let Some(page) = &mut page {
            let now = session.now();
            page.write(&live.view(&session, now)?)?;
        }
        return ended;
    }
    session.hurry();
    follow(&mut live, &mut session, &mut troubles, page.as_mut(), &stop)
}

fn outlets(desktop: Option<Desktop>, command: &[String], first: Option<String>) -> Vec<Box<dyn Outlet>> {
    let mut outlets: Vec<Box<dyn Outlet>> = vec![Box::new(Output::new(first))];
    if let Some(command) = Command::new(command) {
        outlets.push(Box::new(command));
    }
    if let Some(desktop) = desktop {
        outlets.push(Box::new(desktop));
    }
    outlets
}

/// Reads every sensor once, sends due alerts, and waits for their results.
fn look_once<'a>(
    live: &mut Live<'a>,
    session: &mut Session<'a>,
    troubles: &mut Troubles,
) -> Result<u8, Failure> {
    let (mut until, mut sensed) = (Instant::now() + SENSED_WITHIN, false);
    loop {
        let now = session.now();
        let tick = live.tick(session, now);
        troubles.report(&tick, now)?;
        if !sensed {
            let unheard = live.sensors().map(|sensors| sensors.unheard()).unwrap_or_default();
            if unheard.is_empty() || Instant::now() >= until {
                for says in unheard {
                    writeln!(io::stderr(), "curewright: {says}")?;
                }
                (sensed, until) = (true, Instant::now() + SENT_WITHIN);
            }
        } else if !live.is_sending() || Instant::now() >= until {
            return end(live);
        }
        thread::sleep(Duration::from_millis(20));
    }
}

fn follow<'a>(
    live: &mut Live<'a>,
    session: &mut Session<'a>,
    troubles: &mut Troubles,
    mut page: Option<&mut Page>,
    stop: &Receiver<()>,
) -> Result<u8, Failure> {
    loop {
        let now = session.now();
        let mut tick = live.tick(session, now);
        if let Some(page) = &mut page {
            let view = live.view(session, now).map_err(|error| error.to_string());
            tick.troubles.extend(view.and_then(|view| page.keep(&view)).err());
        }
        troubles.report(&tick, now)?;
        if live.all_gone().is_some() {
            return end(live);
        }
        let wait = (tick.next - session.now()).to_std().unwrap_or_default();
        match stop.recv_timeout(wait.clamp(Duration::from_millis(100), LOOK_EVERY)) {
            Err(RecvTimeoutError::Timeout) => {}
            Ok(()) | Err(RecvTimeoutError::Disconnected) => break,
        }
    }
    let until = Instant::now() + LEAVES_WITHIN;
    while live.is_sending() && Instant::now() < until {
        thread::sleep(Duration::from_millis(20));
        let now = session.now();
        live.tick(session, now);
    }
    Ok(0)
}

/// If no channel is left, it ends with an error.
fn end(live: &Live<'_>) -> Result<u8, Failure> {
    match live.all_gone() {
        Some(why) => Err(SessionError::World(format!("alerts are not delivered any more: {why}")).into()),
        None => Ok(0),
    }
}

/// The faults already reported.
#[derive(Default)]
struct Troubles {
    said: BTreeMap<String, Moment>,
}

impl Troubles {
    /// Prints events and faults to standard error, each fault once while it lasts.
    fn report(&mut self, tick: &Tick, now: Moment) -> io::Result<()> {
        let mut err = io::stderr();
        for says in &tick.says {
            writeln!(err, "curewright: {}", clean(says))?;
        }
        for trouble in &tick.troubles {
            if self.said.insert(trouble.clone(), now).is_none() {
                writeln!(err, "curewright: {}", clean(trouble))?;
            }
        }
        self.said.retain(|_, said| *said <= now && now - *said < SAID_FOR);
        Ok(())
    }
}
