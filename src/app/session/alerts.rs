//! The alerts of a job: which are due, and raising each once across processes.

use chrono::TimeDelta;

use super::{Session, SessionError};
use crate::app::wording::Words;
use crate::engine::assess::{Memory, Survey, due, still_matters};
use crate::engine::config::Config;
use crate::engine::job::{Alert, AlertId, Delivery, Raising, ReportedWindow, clock_was_ahead};
use crate::engine::units::Moment;
use crate::io::store::{Snooze, Store};

impl Session<'_> {
    /// The alerts of the job, oldest first.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn alerts(&self) -> Result<Vec<Alert>, SessionError> {
        Ok(self.store.as_ref().map(Store::alerts).transpose()?.unwrap_or_default())
    }

    /// The deliveries of the alerts not yet acknowledged.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn open_deliveries(&self) -> Result<Vec<Delivery>, SessionError> {
        Ok(self.store.as_ref().map(Store::open_deliveries).transpose()?.unwrap_or_default())
    }

    /// The alerts due at `now` and not recorded yet. Writes nothing.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn due(&self, survey: &Survey<'_>, now: Moment) -> Result<Due, SessionError> {
        let Some(store) = &self.store else { return Ok(Due::default()) };
        let (alerts, windows) = store.alert_memory()?;
        Ok(self.due_by(survey, &alerts, &windows, &store.snoozes()?, now))
    }

    /// Raises the alerts due at `now`, all or nothing. Those that another process has raised are skipped.
    ///
    /// # Errors
    /// Where the job cannot be read or written.
    pub fn record_due(&mut self, survey: &Survey<'_>, now: Moment) -> Result<(), SessionError> {
        if self.due(survey, now)?.raising.is_empty() {
            return Ok(());
        }
        self.writer()?;
        // The store leaves the session during the call, because the rules need the rest of it.
        let Some(mut store) = self.store.take() else { return Ok(()) };
        let raised = store.raise(now, |alerts, windows, snoozes| {
            self.due_by(survey, alerts, windows, snoozes, now).raising
        });
        self.store = Some(store);
        Ok(raised?)
    }

    /// The number of entries and alerts in the future: the clock was ahead when they were made.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn made_by_a_clock_ahead(&self) -> Result<ClockAhead, SessionError> {
        let latest = self.clock.latest();
        let is_ahead = |at: &Moment| clock_was_ahead(*at, latest);
        let entries: Vec<_> =
            self.entries()?.into_iter().map(|entry| entry.recorded).filter(is_ahead).collect();
        let alerts = self.alerts()?.into_iter().map(|alert| alert.raised).filter(is_ahead).count();
        Ok(ClockAhead { entries: entries.len(), alerts, until: entries.into_iter().max() })
    }

    /// The alerts that are put off.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn put_off_alerts(&self, now: Moment) -> Result<Vec<Snooze>, SessionError> {
        let all = self.store.as_ref().map(Store::snoozes).transpose()?.unwrap_or_default();
        Ok(all.into_iter().filter(|snooze| snooze.holds(now)).collect())
    }

    /// Puts an alert off, and says until when; None where it was acknowledged meanwhile.
    ///
    /// # Errors
    /// Where there is no such alert, or the job cannot be written.
    pub fn put_off(&mut self, id: AlertId, now: Moment) -> Result<Option<Moment>, SessionError> {
        let alert = self.alerts()?.into_iter().find(|alert| alert.id == id);
        let alert = alert.ok_or_else(|| SessionError::no_alert(id))?;
        let (snooze, repeat) = (self.config.leads.snooze, self.config.leads.repeat);
        let until = put_off_until(&alert, snooze, repeat, now);
        Ok(self.writer()?.snooze(id, now, until)?.then_some(until))
    }

    fn due_by(
        &self,
        survey: &Survey<'_>,
        alerts: &[Alert],
        windows: &[ReportedWindow],
        snoozes: &[Snooze],
        now: Moment,
    ) -> Due {
        let memory = Memory { alerts, windows };
        let mut due = due_in_words(survey, memory, &self.config, &self.words, now);
        for snooze in snoozes {
            let is_it = |id: &AlertId| *id == snooze.alert;
            if snooze.holds(now) {
                due.raising.again.retain(|id| !is_it(id));
                due.next = Some(due.next.map_or(snooze.until, |next| next.min(snooze.until)));
            } else if !due.raising.again.iter().any(is_it)
                && alerts.iter().any(|alert| {
                    is_it(&alert.id) && alert.acknowledged.is_none() && still_matters(survey, alert, now)
                })
            {
                due.raising.again.push(snooze.alert);
            }
        }
        due
    }
}

/// Until when an alert is put off. One that insists comes again no later than its repetition would, and none sleeps
/// longer than half of the time that is left.
fn put_off_until(alert: &Alert, snooze: TimeDelta, repeat: TimeDelta, now: Moment) -> Moment {
    let asked = if alert.kind.insists() { snooze.min(repeat) } else { snooze };
    let left = alert.due - now;
    now + if left > TimeDelta::zero() { asked.min(left / 2) } else { asked }
}

/// The changes of alerts to record, and when the next one is due.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Due {
    /// The changes.
    pub raising: Raising,
    /// When the next one is due, as far as known.
    pub next: Option<Moment>,
}

/// The alerts due at a moment, each with its text.
pub(super) fn due_in_words(
    survey: &Survey<'_>,
    memory: Memory<'_>,
    config: &Config,
    words: &Words,
    now: Moment,
) -> Due {
    let due = due(survey, memory, &config.leads, config.reading_old, now);
    let next = due.next;
    Due { raising: words.raising(survey, due, now), next }
}

/// Records of a clock that was ahead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ClockAhead {
    /// How many entries.
    pub entries: usize,
    /// How many alerts.
    pub alerts: usize,
    /// When the last of the entries was recorded, by that clock.
    pub until: Option<Moment>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::job::AlertKind;
    use crate::testing::at;

    fn alert(kind: AlertKind, due: Moment) -> Alert {
        Alert {
            id: AlertId(1),
            kind,
            subject: "1".into(),
            round: 0,
            area: None,
            due,
            raised: at(0),
            repeat: 0,
            wanted: at(0),
            acknowledged: None,
            text: String::new(),
        }
    }

    #[test]
    fn later_never_sleeps_past_what_must_not_be_missed() {
        let until = |kind, due| {
            put_off_until(&alert(kind, due), TimeDelta::minutes(60), TimeDelta::minutes(10), at(0))
        };
        assert_eq!(until(AlertKind::FullCure, at(-5)), at(60));
        assert_eq!(until(AlertKind::RecoatOpen, at(40)), at(20), "half of the time that is left");
        assert_eq!(until(AlertKind::TapeBy, at(300)), at(10), "no later than it would be repeated");
        assert_eq!(until(AlertKind::TapeBy, at(8)), at(4));
    }
}
