//! The job's windows and deadlines for a calendar.

use super::{Session, SessionError};
use crate::board::SurveyOptions;
use crate::export::calendar::{Event, Issue, deadlines, gone};

/// What a calendar of the job is made of.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Announced {
    /// What lies ahead, in order of time.
    pub ahead: Vec<Event>,
    /// What an earlier calendar announced and does not hold any more.
    pub called_off: Vec<Event>,
}

impl Session<'_> {
    /// The windows and deadlines that lie ahead, and what of an earlier calendar does not hold any more.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn announced(&self, earlier: Option<&str>) -> Result<Announced, SessionError> {
        let now = self.now();
        let Some(issue) = Issue::of(&self.entries()?, now) else { return Ok(Announced::default()) };
        let survey = self.survey(now, SurveyOptions::default())?;
        let ahead = deadlines(&survey, &self.config.leads, &self.words, issue);
        let called_off = earlier.map(|earlier| gone(earlier, &ahead, issue)).unwrap_or_default();
        Ok(Announced { ahead, called_off })
    }
}
