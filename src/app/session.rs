//! A person at work on a job: the actions of commands and keys, in one place.
//!
//! This room connects the job's file, the products and the clock to the pure rooms. It knows no terminal and
//! prints nothing.

mod alerts;
mod amounts;
mod calendar;
mod checking;
mod climate;
mod clock;
mod coating;
mod correct;
pub mod demo;
mod error;
mod execute;
mod fetching;
mod free;
mod live;
mod note;
mod order;
mod planning;
mod pot;
mod reports;
mod sensors;
mod transfer;
mod weather;
mod work;

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;

pub use amounts::parse_amount;
pub use calendar::Announced;
pub use clock::Clock;
pub use error::SessionError;
pub use fetching::ForecastKeeper;
pub use free::{FreeTimes, ReadCalendar};
pub use live::{Live, Tick};
pub use order::{Done, Mixing, Order, Refused};
pub use planning::{PlanRequest, Planned, Since};
pub use pot::Mixed;
pub use sensors::{Sensed, SensorLog};
pub use weather::{FetchDone, TakenForecast};

use crate::app::json::Status;
use crate::app::view::View;
use crate::app::wording::Words;
use crate::engine::air::{OutdoorHour, Provenance};
use crate::engine::assess::{Readings, Survey, SurveyOptions};
use crate::engine::config::Config;
use crate::engine::cure::Reading;
use crate::engine::job::{Alert, Entry, Job};
use crate::engine::profile::Library;
use crate::engine::units::Moment;
use crate::io::store::{Displaced, Store, StoreError};

/// An open job with its products, settings and clock.
pub struct Session<'a> {
    path: PathBuf,
    store: Option<Store>,
    writable: bool,
    /// How often the file was opened: the change counter of a connection is valid for that connection only.
    opened: u64,
    library: &'a Library,
    config: Config,
    words: Words,
    clock: Clock,
    climate_file: RefCell<Option<Arc<climate::ClimateFile>>>,
    /// The time to wait for other writers, if it is not the default.
    patience: Option<Duration>,
}

/// Free hours count this far ahead.
const HOURS_AHEAD: TimeDelta = TimeDelta::days(14);

impl<'a> Session<'a> {
    /// Opens the job at `path` for display. A missing file is an empty job; it is created with the first entry.
    ///
    /// # Errors
    /// [`SessionError`] where the file is no job, or cannot be read.
    pub fn open(
        path: &Path,
        library: &'a Library,
        config: Config,
        words: Words,
        clock: Clock,
    ) -> Result<Self, SessionError> {
        let store = Store::open_to_read(path)?;
        Ok(Self {
            path: path.to_owned(),
            store,
            writable: false,
            opened: 0,
            library,
            config,
            words,
            clock,
            climate_file: RefCell::default(),
            patience: None,
        })
    }

    /// The moment to show and, by default, to record.
    pub fn now(&self) -> Moment {
        self.clock.now()
    }

    /// The clock.
    pub const fn clock(&self) -> Clock {
        self.clock
    }

    /// The settings.
    pub const fn config(&self) -> &Config {
        &self.config
    }

    /// The words for moments and quantities.
    pub const fn words(&self) -> &Words {
        &self.words
    }

    /// The products.
    pub const fn library(&self) -> &'a Library {
        self.library
    }

    /// The file of the job.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Every entry, by number.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn entries(&self) -> Result<Vec<Entry>, SessionError> {
        Ok(self.store.as_ref().map(Store::entries).transpose()?.unwrap_or_default())
    }

    /// The state of the job at a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn job(&self, as_of: Moment) -> Result<Job, SessionError> {
        Ok(Job::fold(&self.entries()?, as_of))
    }

    /// The survey of the job at a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn survey(&self, now: Moment, options: SurveyOptions) -> Result<Survey<'a>, SessionError> {
        self.survey_of(&self.job(now)?, now, options)
    }

    /// The survey of a job that was folded for the purpose.
    fn survey_of(&self, job: &Job, now: Moment, options: SurveyOptions) -> Result<Survey<'a>, SessionError> {
        let mut survey = Survey::make(job, self.library, &self.shelf(), &self.config, now, options)?;
        let hours = self.config.free.clone().under(&job.free);
        if hours.names_hours() {
            survey.mind_hours(&hours.over(now, now + HOURS_AHEAD, &self.words.civil));
        }
        Ok(survey)
    }

    /// The view at a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn view(&self, survey: &Survey<'_>, now: Moment) -> Result<View, SessionError> {
        self.view_with(survey, &[], now)
    }

    /// The view at a moment, including alerts that could not be recorded.
    ///
    /// # Errors
    /// Where the job cannot be read.
    fn view_with(
        &self,
        survey: &Survey<'_>,
        unrecorded: &[Alert],
        now: Moment,
    ) -> Result<View, SessionError> {
        let mut alerts = self.alerts()?;
        alerts.extend_from_slice(unrecorded);
        Ok(View::of(survey, &alerts, &self.words, now))
    }

    /// The status as JSON.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn status(&self, now: Moment, options: SurveyOptions) -> Result<Status, SessionError> {
        let mut alerts = self.alerts()?;
        alerts.retain(|alert| alert.raised <= now);
        Ok(Status::of(&self.survey(now, options)?, &alerts))
    }

    /// A value that changes when another process has written to the job, or when it was reopened.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn version(&mut self) -> Result<JobVersion, SessionError> {
        if self.store.is_none() {
            self.store = Store::open_to_read(&self.path)?;
            self.opened += u64::from(self.store.is_some());
        }
        let data = self.store.as_ref().map(Store::version).transpose()?;
        Ok(JobVersion { opened: self.opened, data })
    }

    /// Detects that the file was deleted or replaced while open, and opens the new one.
    ///
    /// # Errors
    /// If the new file cannot be read.
    pub fn reopen_displaced(&mut self) -> Result<Option<Displaced>, SessionError> {
        let Some(displaced) = self.store.as_ref().and_then(Store::displaced) else { return Ok(None) };
        if let Some(store) = self.store.take() {
            store.leave();
        }
        self.writable = false;
        self.opened += 1;
        self.store = Store::open_to_read(&self.path)?;
        Ok(Some(displaced))
    }

    fn shelf(&self) -> Shelf<'_> {
        Shelf { store: self.store.as_ref(), as_of: None }
    }

    /// Limits the wait for other writers, so that the screen stays responsive. Failed writes are tried again.
    pub const fn hurry(&mut self) {
        self.patience = Some(Duration::from_secs(5));
    }

    /// The job, open for writing; created if missing.
    fn writer(&mut self) -> Result<&mut Store, StoreError> {
        if !self.writable {
            let store = Store::open(&self.path)?;
            self.patience.map_or(Ok(()), |patience| store.wait_for_others(patience))?;
            self.store = Some(store);
            self.writable = true;
            self.opened += 1;
        }
        match &mut self.store {
            Some(store) => Ok(store),
            none => Ok(none.insert(Store::open(&self.path)?)),
        }
    }
}

/// What [`Session::version`] compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JobVersion {
    opened: u64,
    data: Option<i64>,
}

/// The readings of a job; none if it does not exist.
struct Shelf<'s> {
    store: Option<&'s Store>,
    /// The job as of a moment: no later forecast.
    as_of: Option<Moment>,
}

impl Readings for Shelf<'_> {
    type Error = StoreError;

    fn readings(&self, place: &str, from: Moment, to: Moment) -> Result<Vec<Reading>, StoreError> {
        self.store.map(|store| store.readings(place, from, to)).transpose().map(Option::unwrap_or_default)
    }

    fn forecast_at(&self) -> Result<Option<Moment>, StoreError> {
        let made = self.store.map(Store::forecast_at).transpose()?.flatten();
        Ok(made.filter(|made| self.as_of.is_none_or(|as_of| *made <= as_of)))
    }

    fn forecast_from(&self) -> Result<Option<Provenance>, StoreError> {
        let kept = self.store.filter(|_| self.as_of.is_none()).map(Store::forecast).transpose()?;
        Ok(kept.flatten().map(|kept| kept.provenance))
    }

    fn outdoor(&self, from: Moment, to: Moment) -> Result<Vec<OutdoorHour>, StoreError> {
        self.store
            .map(|store| store.outdoor_as_of(from, to, self.as_of))
            .transpose()
            .map(Option::unwrap_or_default)
    }
}
