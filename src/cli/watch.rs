//! `watch`: alerts without a screen.

use std::collections::VecDeque;
use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use super::Failure;
use super::setup::Setup;
use crate::app::session::{ForecastKeeper, SensorLog, Session, SessionError};
use crate::engine::assess::{Survey, SurveyOptions};
use crate::engine::job::Alert;
use crate::engine::units::{Moment, clean};
use crate::io::notifier::{Notifier, NotifierOptions};

/// What another process records is seen within this.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// So many troubles are remembered, so that none is told over and over.
const TOLD: usize = 20;
/// And the whole job is surveyed again at least so often, whatever happens.
const SURVEY_EVERY: chrono::TimeDelta = chrono::TimeDelta::seconds(60);

pub fn run(setup: &Setup, once: bool, no_desktop: bool) -> Result<u8, Failure> {
    setup.tell_faults();
    let mut session = setup.session()?;
    let options = NotifierOptions { desktop: !no_desktop, command: setup.config.alert_command.clone() };
    let mut watcher = ProgressSink { notifier: Notifier::new(options), told: VecDeque::new() };
    if once || setup.at.is_some() {
        watcher.sense_once(&mut session)?;
        let now = session.now();
        let survey = session.survey(now, SurveyOptions::default())?;
        watcher.raise(&mut session, &survey, now)?;
        watcher.notifier.settle(Duration::from_secs(6));
        watcher.tell_once(watcher.notifier.trouble().as_deref())?;
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
    let sensors = SensorLog::start(&session);
    say(&format!("Watching {}.", clean(&session.path().display().to_string())))?;
    watcher.follow(&mut session, sensors, &stop)
}

/// Sensors that are read once are waited for so long: longer than a program may take.
const SENSED_WITHIN: Duration = Duration::from_secs(12);

struct ProgressSink {
    notifier: Notifier,
    told: VecDeque<String>,
}

impl ProgressSink {
    /// Reads every sensor once, and tells which ones did not answer in time.
    fn sense_once(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        let Some(mut sensors) = SensorLog::start(session) else { return Ok(()) };
        let until = Instant::now() + SENSED_WITHIN;
        loop {
            for says in &sensors.take(session).says {
                writeln!(io::stderr(), "curewright: {}", clean(says))?;
            }
            let waits = sensors.unheard();
            if waits.is_empty() {
                return Ok(());
            }
            if Instant::now() >= until {
                return waits
                    .iter()
                    .try_for_each(|says| writeln!(io::stderr(), "curewright: {says}"))
                    .map_err(Failure::from);
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    fn follow(
        &mut self,
        session: &mut Session<'_>,
        mut sensors: Option<SensorLog>,
        stop: &std::sync::mpsc::Receiver<()>,
    ) -> Result<u8, Failure> {
        let mut watched = Watched { version: session.version()?, survey: None, due: None };
        let mut keeper = ForecastKeeper::default();
        loop {
            let sensed = sensors.as_mut().map(|sensors| sensors.take(session)).unwrap_or_default();
            for says in &sensed.says {
                writeln!(io::stderr(), "curewright: {}", clean(says))?;
            }
            let now = session.now();
            let fetched = keeper.tick(session, now);
            self.tell_once(keeper.trouble())?;
            // A disk that is full or a job that is busy for a while ends no watch: it is told and tried again.
            match self.step(session, &mut watched, sensed.written || fetched, now) {
                Err(Failure::Session(error)) => self.tell_once(Some(&error.to_string()))?,
                done => done?,
            }
            self.tell_once(self.notifier.trouble().as_deref())?;
            match stop.recv_timeout(LOOK_EVERY) {
                Err(RecvTimeoutError::Timeout) => {}
                Ok(()) | Err(RecvTimeoutError::Disconnected) => return Ok(0),
            }
        }
    }

    fn step<'a>(
        &self,
        session: &mut Session<'a>,
        watched: &mut Watched<'a>,
        written: bool,
        now: Moment,
    ) -> Result<(), Failure> {
        let newest = session.version()?;
        let old = |survey: &Survey<'_>| now < survey.at || now - survey.at > SURVEY_EVERY;
        if written || newest != watched.version || watched.survey.as_ref().is_none_or(old) {
            watched.survey = Some(session.survey(now, SurveyOptions::default())?);
            watched.version = newest;
            watched.due = None;
        }
        if let Some(survey) = &watched.survey
            && watched.due.is_none_or(|due| due <= now)
        {
            watched.due = self.raise(session, survey, now)?.or(Some(now + SURVEY_EVERY));
        }
        Ok(())
    }

    fn raise(
        &self,
        session: &mut Session<'_>,
        survey: &Survey<'_>,
        now: Moment,
    ) -> Result<Option<Moment>, Failure> {
        let raised = session.raise_due(survey, now)?;
        for alert in &raised.alerts {
            deliver(&self.notifier, alert, now);
            let bell = if io::stdout().is_terminal() { "\u{7}" } else { "" };
            say(&format!("{bell}{}  {}", session.words().when(now, now), clean(&alert.text_at(now))))?;
        }
        Ok(raised.next)
    }

    /// Tells what is wrong on standard error, once until something else is.
    fn tell_once(&mut self, trouble: Option<&str>) -> Result<(), Failure> {
        if let Some(trouble) = trouble
            && !self.told.iter().any(|told| told == trouble)
        {
            writeln!(io::stderr(), "curewright: {}", clean(trouble))?;
            self.told.push_back(trouble.to_owned());
            self.told.truncate(TOLD);
        }
        Ok(())
    }
}

/// What the watcher saw last.
struct Watched<'a> {
    version: i64,
    survey: Option<Survey<'a>>,
    due: Option<Moment>,
}

/// Hands an alert to the desktop and the command.
pub fn deliver(notifier: &Notifier, alert: &Alert, now: Moment) {
    let title = alert.area.as_ref().map_or_else(|| "curewright".into(), |area| format!("curewright: {area}"));
    notifier.tell(&clean(&title), &clean(&alert.text_at(now)), alert.kind.insists());
}

fn say(line: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    writeln!(out, "{line}")?;
    out.flush()
}
