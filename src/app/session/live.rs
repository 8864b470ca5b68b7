//! Follows a job: file, sensors, forecast and alerts, tick by tick.
//!
//! The board and `watch` both run this loop. It never waits: the caller sleeps in between. It knows outlets,
//! but no terminal and no desktop.

mod outbox;
mod served;

use chrono::TimeDelta;

use super::{ForecastKeeper, JobVersion, SensorLog, Session, SessionError};
use crate::app::view::View;
use crate::engine::assess::{Survey, SurveyOptions};
#[cfg(test)]
use crate::engine::job::Alert;
use crate::engine::job::AlertId;
use crate::engine::units::{Moment, clean};
use crate::io::notifier::Outlet;
use crate::io::store::Displaced;
use outbox::Outbox;

/// Without events the job is surveyed again after this time.
const SURVEY_EVERY: TimeDelta = TimeDelta::seconds(60);
/// While a message is being sent, the loop runs again after this time.
const LOOK_AGAIN: TimeDelta = TimeDelta::seconds(2);

/// The result of a tick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// Whether the job has changed, so that derived data is out of date.
    pub changed: bool,
    /// Whether a new alert was handed to the screen of this process: its bell should ring.
    pub rings: bool,
    /// Events, a sentence each, to show once.
    pub says: Vec<String>,
    /// Current faults, a sentence each, repeated at every tick while they last.
    pub troubles: Vec<String>,
    /// When the next alert is due.
    pub next: Moment,
}

/// A followed job.
pub struct Live<'a> {
    sensors: Option<SensorLog>,
    keeper: ForecastKeeper,
    outbox: Outbox,
    survey: Option<Survey<'a>>,
    version: Option<JobVersion>,
    due: Option<Moment>,
    /// The moment of the survey for the alerts sent last.
    sent_by: Option<Moment>,
    clock_ahead: Option<String>,
}

impl<'a> Live<'a> {
    /// Starts to follow a job. Its alerts go to these outlets.
    pub fn new(session: &Session<'_>, outlets: Vec<Box<dyn Outlet>>) -> Self {
        Self {
            sensors: SensorLog::start(session),
            keeper: ForecastKeeper::default(),
            outbox: Outbox::new(outlets),
            survey: None,
            version: None,
            due: None,
            sent_by: None,
            clock_ahead: None,
        }
    }

    /// The sensors, where there are any.
    pub const fn sensors(&self) -> Option<&SensorLog> {
        self.sensors.as_ref()
    }

    /// Checks everything once. A failure is reported and stops nothing else.
    pub fn tick(&mut self, session: &mut Session<'a>, now: Moment) -> Tick {
        let mut tick =
            Tick { changed: false, rings: false, says: Vec::new(), troubles: Vec::new(), next: now };
        self.look_at_file(session, &mut tick);
        tick.changed |= self.take_readings(session, now, &mut tick);
        tick.changed |= self.outbox.take_replies(session, now, &mut tick.troubles);
        match session.version() {
            Ok(newest) if self.version != Some(newest) => {
                self.version = Some(newest);
                tick.changed = true;
            }
            Ok(_) => {}
            Err(error) => tick.troubles.push(error.to_string()),
        }
        if tick.changed {
            self.forget();
        }
        if let Err(error) = self.survey(session, now) {
            tick.troubles.push(error.to_string());
        }
        if let Some(survey) = &self.survey {
            let mut raised = false;
            if self.due.is_none_or(|due| due <= now) {
                match raise(session, survey, &mut self.outbox, now, &mut tick) {
                    Ok((any, next)) => {
                        raised = any;
                        let latest = now + SURVEY_EVERY;
                        self.due = Some(next.map_or(latest, |next| next.min(latest)));
                    }
                    Err(error) => tick.troubles.push(error.to_string()),
                }
            }
            // Without events there is nothing to send.
            if raised || self.sent_by != Some(survey.at) || self.outbox.is_busy() {
                tick.rings = self.outbox.deliver(session, survey, now, &mut tick.troubles);
                self.sent_by = Some(survey.at);
            }
        }
        tick.troubles.extend(self.outbox.troubles());
        tick.troubles.extend(self.clock_ahead.clone());
        tick.troubles.extend(self.keeper.trouble().map(str::to_owned));
        tick.next = self.next(now);
        tick
    }

    /// The survey, renewed if it is too old, or from a clock that was ahead.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn survey(&mut self, session: &Session<'a>, now: Moment) -> Result<&Survey<'a>, SessionError> {
        let fresh = |survey: &Survey<'_>| (TimeDelta::zero()..SURVEY_EVERY).contains(&(now - survey.at));
        let survey = match self.survey.take().filter(fresh) {
            Some(survey) => survey,
            None => {
                self.due = None;
                self.clock_ahead = clock_ahead(session)?;
                session.survey(now, SurveyOptions::default())?
            }
        };
        Ok(self.survey.insert(survey))
    }

    /// The current view, including alerts that could not be recorded.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn view(&mut self, session: &Session<'a>, now: Moment) -> Result<View, SessionError> {
        self.survey(session, now)?;
        let Some(survey) = &self.survey else {
            return session.view(&session.survey(now, SurveyOptions::default())?, now);
        };
        session.view_with(survey, self.outbox.unrecorded(), now)
    }

    /// Drops data derived from the job, because it has changed.
    pub fn forget(&mut self) {
        self.survey = None;
        self.due = None;
        self.sent_by = None;
    }

    /// The alerts that could not be recorded. Their numbers are below zero.
    #[cfg(test)]
    pub(super) fn unrecorded(&self) -> &[Alert] {
        self.outbox.unrecorded()
    }

    /// Acknowledges one of the unrecorded alerts, or all of them; returns how many.
    pub fn acknowledge_unrecorded(&mut self, alert: Option<AlertId>, now: Moment) -> usize {
        self.outbox.acknowledge(alert, now)
    }

    /// Whether a channel has not answered yet.
    pub fn is_sending(&self) -> bool {
        self.outbox.is_sending()
    }

    /// Why no outlet is left; None if there is one.
    pub fn all_gone(&self) -> Option<String> {
        self.outbox.all_gone()
    }

    fn look_at_file(&mut self, session: &mut Session<'a>, tick: &mut Tick) {
        let path = clean(&session.path().display().to_string());
        match session.reopen_displaced() {
            Ok(None) => {}
            Ok(Some(displaced)) => {
                tick.changed = true;
                tick.says.push(match displaced {
                    Displaced::Removed => {
                        format!("{path} was deleted while it was open; there is no job until the file is back.")
                    }
                    Displaced::Replaced => {
                        format!("{path} was replaced while it was open; the new file is used now.")
                    }
                    Displaced::LogRemoved => format!(
                        "A file that belongs to {path} (-wal or -shm) was deleted while it was open; the job was opened again. Check that the last entries are there."
                    ),
                });
                if displaced != Displaced::LogRemoved {
                    self.outbox.forget();
                }
            }
            Err(error) => tick.troubles.push(error.to_string()),
        }
    }

    fn take_readings(&mut self, session: &mut Session<'a>, now: Moment, tick: &mut Tick) -> bool {
        let sensed = self.sensors.as_mut().map(|sensors| sensors.take(session)).unwrap_or_default();
        tick.says.extend(sensed.says);
        self.keeper.tick(session, now) || sensed.written
    }

    fn next(&self, now: Moment) -> Moment {
        let due = self.due.unwrap_or(now + LOOK_AGAIN);
        let retry = self.outbox.next(now).unwrap_or(due);
        due.min(retry).max(now)
    }
}

/// Raises due alerts; returns whether there were any, and when the next is due. Unrecorded alerts are still
/// sent.
fn raise(
    session: &mut Session<'_>,
    survey: &Survey<'_>,
    outbox: &mut Outbox,
    now: Moment,
    tick: &mut Tick,
) -> Result<(bool, Option<Moment>), SessionError> {
    let due = session.due(survey, now)?;
    if !due.raising.is_empty()
        && let Err(error) = session.record_due(survey, now)
    {
        tick.troubles.push(format!("Alerts cannot be recorded: {error}."));
        outbox.hold(&due.raising, session.config().leads.repeat, &session.alerts()?, now);
        return Ok((true, Some(now + LOOK_AGAIN)));
    }
    Ok((!due.raising.is_empty(), due.next))
}

fn clock_ahead(session: &Session<'_>) -> Result<Option<String>, SessionError> {
    let ahead = session.made_by_a_clock_ahead()?;
    let Some(until) = ahead.until else { return Ok(None) };
    let entries = match ahead.entries {
        1 => "1 entry was".to_owned(),
        count => format!("{count} entries were"),
    };
    let until = session.words().when(until, session.now());
    Ok(Some(format!(
        "{entries} recorded while the clock was ahead (up to {until}). An entry with a future date counts from that date on; correct it if the date is wrong."
    )))
}

#[cfg(test)]
mod tests;
