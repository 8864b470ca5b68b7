//! `watch`: alerts without a screen.

use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use super::Failure;
use super::setup::Setup;
use crate::alert::{Alert, Herald, HeraldOptions};
use crate::board::{Survey, SurveyOptions};
use crate::session::{SensorLog, Session, SessionError};
use crate::units::{Moment, clean};

/// What another process records is seen within this.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// And the whole job is surveyed again at least so often, whatever happens.
const SURVEY_EVERY: chrono::TimeDelta = chrono::TimeDelta::seconds(60);

pub fn run(setup: &Setup, once: bool, no_desktop: bool) -> Result<u8, Failure> {
    setup.tell_faults();
    let mut session = setup.session()?;
    let options = HeraldOptions { desktop: !no_desktop, command: setup.config.alert_command.clone() };
    let mut watcher = Watcher { herald: Herald::new(options), told_trouble: None };
    if once || setup.at.is_some() {
        let now = session.now();
        let survey = session.survey(now, SurveyOptions::default())?;
        watcher.raise(&mut session, &survey, now)?;
        watcher.herald.settle(Duration::from_secs(6));
        watcher.tell_trouble()?;
        return Ok(0);
    }
    let (sender, stop) = channel();
    let mut signals = Signals::new([SIGTERM, SIGINT, SIGHUP])
        .map_err(|error| SessionError::World(format!("signals cannot be watched: {error}")))?;
    std::thread::spawn(move || {
        for _ in &mut signals {
            let _ = sender.send(());
        }
    });
    let sensors = SensorLog::start(&setup.config, session.clock());
    say(&format!("Watching {}.", clean(&session.path().display().to_string())))?;
    watcher.follow(&mut session, sensors, &stop)
}

struct Watcher {
    herald: Herald,
    told_trouble: Option<String>,
}

impl Watcher {
    fn follow(
        &mut self,
        session: &mut Session<'_>,
        mut sensors: Option<SensorLog>,
        stop: &std::sync::mpsc::Receiver<()>,
    ) -> Result<u8, Failure> {
        let mut version = session.version()?;
        let mut survey = session.survey(session.now(), SurveyOptions::default())?;
        let mut due: Option<Moment> = None;
        loop {
            let sensed = sensors.as_mut().map(|sensors| sensors.take(session)).unwrap_or_default();
            for says in &sensed.says {
                writeln!(io::stderr(), "curewright: {}", clean(says))?;
            }
            let now = session.now();
            let newest = session.version()?;
            if sensed.written || newest != version || now < survey.at || now - survey.at > SURVEY_EVERY {
                version = newest;
                survey = session.survey(now, SurveyOptions::default())?;
                due = None;
            }
            if due.is_none_or(|due| due <= now) {
                due = self.raise(session, &survey, now)?.or(Some(now + SURVEY_EVERY));
            }
            self.tell_trouble()?;
            match stop.recv_timeout(LOOK_EVERY) {
                Err(RecvTimeoutError::Timeout) => {}
                Ok(()) | Err(RecvTimeoutError::Disconnected) => return Ok(0),
            }
        }
    }

    fn raise(
        &self,
        session: &mut Session<'_>,
        survey: &Survey<'_>,
        now: Moment,
    ) -> Result<Option<Moment>, Failure> {
        let raised = session.raise_due(survey, now)?;
        for alert in &raised.alerts {
            deliver(&self.herald, alert, now);
            let bell = if io::stdout().is_terminal() { "\u{7}" } else { "" };
            say(&format!("{bell}{}  {}", session.words().when(now, now), clean(&alert.text_at(now))))?;
        }
        Ok(raised.next)
    }

    fn tell_trouble(&mut self) -> Result<(), Failure> {
        let trouble = self.herald.trouble();
        if let Some(trouble) = &trouble
            && self.told_trouble.is_none()
        {
            writeln!(io::stderr(), "curewright: {}", clean(trouble))?;
            self.told_trouble = Some(trouble.clone());
        }
        Ok(())
    }
}

/// Hands an alert to the desktop and the command.
pub fn deliver(herald: &Herald, alert: &Alert, now: Moment) {
    let title = alert.area.as_ref().map_or_else(|| "curewright".into(), |area| format!("curewright: {area}"));
    herald.tell(&clean(&title), &clean(&alert.text_at(now)), alert.kind.insists());
}

fn say(line: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    writeln!(out, "{line}")?;
    out.flush()
}
