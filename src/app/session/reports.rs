//! What is made of the record for others.

use super::{Session, SessionError};
use crate::app::report::{Report, coat_view};
use crate::app::view::{CoatView, RecordView, View};
use crate::engine::assess::{Learned, SurveyOptions};
use crate::engine::cure::Reading;
use crate::engine::job::{EntryId, Job};
use crate::engine::units::Moment;
use crate::io::store::Store;

impl Session<'_> {
    /// The report of the job as of a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn report(&self, now: Moment) -> Result<Report, SessionError> {
        let entries = self.entries()?;
        let job = Job::fold(&entries, now);
        let shelf = self.shelf();
        let options = SurveyOptions { all_coats: true };
        let survey = self.survey_of(&job, now, options)?;
        let view = View::of(&survey, &[], &self.words, now);
        Ok(Report::gather(&entries, &survey, &view, self.library, &shelf, &self.config)?)
    }

    /// The record as a page shows it.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn record_view(&self, now: Moment) -> Result<RecordView, SessionError> {
        Ok(RecordView::of(&self.entries()?, &self.words, (self.library, &self.practice()), now))
    }

    /// A coat over time, by the entry of its first stroke.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn coat_view(&self, coat: EntryId, now: Moment) -> Result<Option<CoatView>, SessionError> {
        Ok(coat_view(&self.report(now)?, coat, &self.words))
    }

    /// What the job has taught, as of a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn learned(&self, now: Moment) -> Result<Learned, SessionError> {
        let shelf = self.shelf();
        Ok(Learned::from(&self.entries()?, self.library, &shelf, &self.config, now)?)
    }

    /// Every reading up to a moment, place by place.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn all_readings(&self, now: Moment) -> Result<Vec<(String, Vec<Reading>)>, SessionError> {
        let Some(store) = &self.store else { return Ok(Vec::new()) };
        let places = store.places_with_readings()?.into_iter();
        places.map(|place| Ok((place.clone(), all_of(store, &place, now)?))).collect()
    }
}

fn all_of(store: &Store, place: &str, now: Moment) -> Result<Vec<Reading>, SessionError> {
    Ok(store.readings(place, Moment::UNIX_EPOCH, now)?)
}
