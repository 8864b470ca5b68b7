//! The job's sessions, windows and deadlines for a calendar.

use std::ops::ControlFlow;

use super::{PlanRequest, Session, SessionError};
use crate::app::report::calendar::{Event, Issue, Kept, deadlines, gone, sessions};
use crate::engine::assess::SurveyOptions;
use crate::engine::units::Moment;

/// What a calendar of the job is made of.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Announced {
    /// What lies ahead, in order of time.
    pub ahead: Vec<Event>,
    /// What an earlier calendar announced and does not hold any more.
    pub called_off: Vec<Event>,
    /// What an earlier calendar holds of others; None where that cannot be told, since it is not whole.
    pub kept: Option<Kept>,
    /// Why there are no sessions among them, where hours are free and steps are left.
    pub no_plan: Option<String>,
}

impl Session<'_> {
    /// The plan's sessions, the windows and deadlines that lie ahead, and what of an earlier calendar does not hold any more.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn announced(&self, earlier: Option<&str>) -> Result<Announced, SessionError> {
        let now = self.now();
        let Some(issue) = Issue::of(&self.entries()?, now) else { return Ok(Announced::default()) };
        let survey = self.survey(now, SurveyOptions::default())?;
        let mut ahead = deadlines(&survey, &self.config.leads, &self.words, issue);
        let (planned, no_plan) = match self.sessions(issue, now)? {
            Ok(planned) => (planned, None),
            Err(trouble) => (Vec::new(), Some(trouble)),
        };
        ahead.extend(planned);
        ahead.sort_by(|a, b| (a.from, &a.uid).cmp(&(b.from, &b.uid)));
        let called_off = earlier.map(|earlier| gone(earlier, &ahead, issue)).unwrap_or_default();
        let kept = earlier.map_or_else(|| Some(Kept::default()), |earlier| Kept::of(earlier, issue));
        Ok(Announced { ahead, called_off, kept, no_plan })
    }

    /// The sessions of the plan as of `now`; none where nobody said when they are free, or no step is left.
    fn sessions(&self, issue: Issue, now: Moment) -> Result<Result<Vec<Event>, String>, SessionError> {
        let job = self.job(now)?;
        if !self.free_times((now, now))?.hours.names_hours()
            || !job.areas.iter().any(|area| !area.to_do().is_empty())
        {
            return Ok(Ok(Vec::new()));
        }
        match self.plan(&PlanRequest::default(), now, &mut |_| ControlFlow::Continue(())) {
            Ok(Ok(planned)) => Ok(Ok(sessions(&planned.plan, &self.words, issue))),
            Ok(Err(trouble)) => Ok(Err(trouble.to_string())),
            // What cannot be planned is no reason to keep the windows from a phone.
            Err(SessionError::Input(trouble) | SessionError::World(trouble)) => Ok(Err(trouble)),
            Err(error) => Err(error),
        }
    }
}
