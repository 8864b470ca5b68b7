//! The alerts of a job: which are due, and raising each once across processes.

use super::{Session, SessionError};
use crate::app::wording::Words;
use crate::engine::assess::{Memory, Survey, due};
use crate::engine::config::Config;
use crate::engine::job::{Alert, Delivery, Raising, ReportedWindow, clock_was_ahead};
use crate::engine::units::Moment;
use crate::io::store::Store;

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
        Ok(self.due_by(survey, &alerts, &windows, now))
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
        let raised = store.raise(now, |alerts, windows| self.due_by(survey, alerts, windows, now).raising);
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

    fn due_by(&self, survey: &Survey<'_>, alerts: &[Alert], windows: &[ReportedWindow], now: Moment) -> Due {
        due_in_words(survey, Memory { alerts, windows }, &self.config, &self.words, now)
    }
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
