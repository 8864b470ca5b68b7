//! The forecast: imported from a file or a service, and shown.

use super::{Session, SessionError};
use crate::engine::air::{FetchState, KeptForecast, Origin, OutdoorHour, Provenance};
use crate::engine::units::{Moment, clean};
use crate::io::sources::{
    FetchOptions, Fetched, Forecast, Form, Note, Outcome, RowFault, fetch, read_forecast,
};
use crate::io::store::Store;

/// What was taken in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenForecast {
    /// How many hours.
    pub hours: usize,
    /// The first of them.
    pub from: Moment,
    /// And the last.
    pub to: Moment,
    /// What was put right or is odd, a sentence each.
    pub notes: Vec<String>,
    /// The first bad rows of a table.
    pub faults: Vec<RowFault>,
    /// How many bad rows there are in all.
    pub bad_rows: usize,
    /// The credit that is due.
    pub credit: Option<&'static str>,
}

/// What came of asking a service.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FetchDone {
    /// A new forecast was taken in.
    New(TakenForecast),
    /// The stored one still holds.
    NotModified,
    /// The stored one is good until then, and nothing was asked.
    NotYet(Moment),
}

impl Session<'_> {
    /// The forecast that reaches furthest ahead.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn forecast(&self) -> Result<Option<KeptForecast>, SessionError> {
        Ok(self.store.as_ref().map(Store::forecast).transpose()?.flatten())
    }

    /// The outdoor hours between two moments, and the one before: what was forecast of the past, and what is
    /// of the future.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn outdoor(&self, from: Moment, to: Moment) -> Result<Vec<OutdoorHour>, SessionError> {
        Ok(self.store.as_ref().map(|store| store.outdoor(from, to)).transpose()?.unwrap_or_default())
    }

    /// What is remembered of the last fetch.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn fetch_state(&self) -> Result<FetchState, SessionError> {
        Ok(self.store.as_ref().map(Store::fetch_state).transpose()?.unwrap_or_default())
    }

    /// Takes a forecast in from the bytes of a file.
    ///
    /// # Errors
    /// Where nothing of it can be used, or the job cannot be written; then none was taken.
    pub fn import_forecast(&mut self, file: &str, bytes: &[u8]) -> Result<TakenForecast, SessionError> {
        let now = self.now().min(self.clock.latest());
        let file = clean(file);
        let forecast = read_forecast(bytes, &self.words.civil, now)
            .map_err(|error| SessionError::Input(format!("{file}: {error}")))?;
        // The JSON is that of one service, whoever saved it.
        let met_norway = forecast.form == Form::Json;
        let name = file.rsplit('/').next().unwrap_or_default().to_owned();
        let provenance = Provenance { origin: Origin::File(name), made: forecast.made, met_norway };
        self.keep(forecast, &provenance, None, now)
    }

    /// What a service would be asked. Without coordinates in the settings there is nothing to ask, and no
    /// network is touched.
    ///
    /// # Errors
    /// Says what is to be set.
    pub fn fetch_options(&self) -> Result<FetchOptions, SessionError> {
        let set = |what: &str| {
            SessionError::Input(format!(
                "{what} under [weather] in the settings (\"curewright config\" shows where they are)"
            ))
        };
        let weather = &self.config.weather;
        let place = weather.place.ok_or_else(|| {
            set("the location of the shop is needed before the network is used: set latitude and longitude")
        })?;
        let contact = weather.contact.as_deref().ok_or_else(|| {
            set("the weather service asks for a contact: set contact, an e-mail or a web address,")
        })?;
        if !weather.address.is_plain()
            && ["example.org", "example.com"].iter().any(|end| contact.ends_with(end))
        {
            return Err(set("the contact is that of the example: set your own"));
        }
        let mut options = FetchOptions::new(weather.address.clone(), place, contact);
        // Plain HTTP is only ever to this very machine, and only where that is what was set.
        options.plain_loopback = weather.address.is_plain();
        Ok(options)
    }

    /// Asks the service for a forecast, if it is time to, and takes it in.
    ///
    /// # Errors
    /// Where something is not set, nothing usable came, or the job cannot be written. What was stored keeps
    /// serving.
    pub fn fetch_forecast(&mut self) -> Result<FetchDone, SessionError> {
        let options = self.fetch_options()?;
        // Another process may have made the job; and one that cannot be written is not worth a question.
        self.version()?;
        if self.store.is_some() {
            self.writer()?;
        }
        let now = self.clock.latest();
        let fetched = fetch(&options, now, &self.fetch_state()?);
        self.import_fetched(fetched, &options, now)
    }

    /// Takes in what came of asking at `now`, which may have been on another thread.
    ///
    /// # Errors
    /// As [`Session::fetch_forecast`].
    pub fn import_fetched(
        &mut self,
        fetched: Fetched,
        options: &FetchOptions,
        now: Moment,
    ) -> Result<FetchDone, SessionError> {
        let Fetched { state, outcome } = fetched;
        match outcome {
            Outcome::New { forecast, outdated } => {
                let provenance = Provenance {
                    origin: Origin::Service(options.address.host().to_owned()),
                    made: forecast.made,
                    met_norway: options.is_met_norway(),
                };
                let mut taken = self.keep(forecast, &provenance, Some(&state), now)?;
                if outdated {
                    taken.notes.push("The service says that this product is on trial or ends soon (HTTP 203); check its documentation, and url under [weather] in the settings.".into());
                }
                Ok(FetchDone::New(taken))
            }
            Outcome::NotModified => {
                self.writer()?.note_fetch(&state, Some(now))?;
                Ok(FetchDone::NotModified)
            }
            Outcome::NotYet { until, held: false } => Ok(FetchDone::NotYet(until)),
            Outcome::NotYet { until, held: true } => {
                let host = options.address.host();
                let until = self.words.when(until, now);
                let serves = self.what_serves(now)?;
                Err(SessionError::World(format!(
                    "{host} asked for fewer requests; the next request is at {until} at the earliest. {serves}"
                )))
            }
            Outcome::Failed(error) => {
                // A job is made with what is recorded, not with what failed; but a wish to be left alone has
                // to be remembered.
                if self.store.is_some() || state.held_until.is_some() {
                    self.writer()?.note_fetch(&state, None)?;
                }
                let held = state.held_until.map(|until| {
                    format!("; the next request is at {} at the earliest", self.words.when(until, now))
                });
                let serves = self.what_serves(now)?;
                Err(SessionError::World(format!("{error}{}. {serves}", held.unwrap_or_default())))
            }
        }
    }

    /// What there is while nothing new comes.
    fn what_serves(&self, now: Moment) -> Result<String, SessionError> {
        let when = |moment| self.words.when(moment, now);
        Ok(match self.forecast()? {
            None => "No forecast is stored.".into(),
            Some(kept) if kept.to < now => {
                format!("The stored forecast ended at {}.", when(kept.to))
            }
            Some(kept) => format!(
                "The stored forecast of {} stays in use, until {}.",
                when(kept.provenance.made.unwrap_or(kept.taken)),
                when(kept.to)
            ),
        })
    }

    fn keep(
        &mut self,
        forecast: Forecast,
        provenance: &Provenance,
        state: Option<&FetchState>,
        now: Moment,
    ) -> Result<TakenForecast, SessionError> {
        let ends = forecast.hours.first().zip(forecast.hours.last());
        let (from, to) = ends.map_or((now, now), |(first, last)| (first.at, last.at));
        let hours = self.writer()?.store_forecast(now, &forecast.hours, provenance, state)?;
        let when = |moment| self.words.when(moment, now);
        let notes = forecast.notes.iter().map(|note: &Note| note.sentence(when)).collect();
        let (faults, bad_rows) = (forecast.faults, forecast.bad_rows);
        Ok(TakenForecast { hours, from, to, notes, faults, bad_rows, credit: provenance.credit() })
    }
}
