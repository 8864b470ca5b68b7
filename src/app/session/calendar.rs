//! The job's sessions, windows and deadlines for a calendar.

use std::ops::ControlFlow;

use super::{PlanRequest, Session, SessionError};
use crate::app::report::calendar::{Event, Issue, Kept, deadlines, gone, sessions};
use crate::engine::assess::SurveyOptions;
use crate::engine::units::Moment;

/// The content of a calendar of the job.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Announced {
    /// What lies ahead, in order of time.
    pub ahead: Vec<Event>,
    /// Events of an earlier calendar that are cancelled.
    pub called_off: Vec<Event>,
    /// Foreign events of an earlier calendar; None if it is incomplete.
    pub kept: Option<Kept>,
    /// Why it has no sessions, if hours are free and steps are left.
    pub no_plan: Option<String>,
}

impl Session<'_> {
    /// The plan's sessions, the coming windows and deadlines, and the cancelled events of an earlier calendar.
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

    /// The sessions of the plan as of `now`; none without free hours or remaining steps.
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
            // Without a plan the windows are still exported.
            Err(SessionError::Input(trouble) | SessionError::World(trouble)) => Ok(Err(trouble)),
            Err(error) => Err(error),
        }
    }
}
