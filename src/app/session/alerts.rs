//! Raising what is due: each alert once, however many processes have the job open.

use super::{Session, SessionError};
use crate::app::alert::{Memory, due};
use crate::engine::assess::Survey;
use crate::engine::job::{Alert, Told};
use crate::engine::units::Moment;

/// What was raised, and when to look again.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Raised {
    /// The alerts that this process has to deliver: new ones, and those told again.
    pub alerts: Vec<Alert>,
    /// When something is due next, on what is known.
    pub next: Option<Moment>,
}

impl Session<'_> {
    /// The alerts of the job, oldest first.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn alerts(&self) -> Result<Vec<Alert>, SessionError> {
        Ok(self.store.as_ref().map(crate::io::store::Store::alerts).transpose()?.unwrap_or_default())
    }

    /// Raises what is due at `now`. An alert that another process has raised in the meantime is left to it.
    ///
    /// # Errors
    /// Where the job cannot be read or written.
    pub fn raise_due(&mut self, survey: &Survey<'_>, now: Moment) -> Result<Raised, SessionError> {
        let Some(store) = &self.store else { return Ok(Raised::default()) };
        let alerts = store.alerts()?;
        let coats = survey.areas.iter().filter_map(|area| area.newest.as_ref()).map(|coat| coat.coat.id);
        let told: Vec<Told> =
            coats.map(|coat| store.told(coat)).filter_map(Result::transpose).collect::<Result<_, _>>()?;
        let memory = Memory { alerts: &alerts, told: &told };
        let leads = self.config.leads;
        let due = due(survey, memory, &leads, self.config.reading_old, &self.words, now);
        let mut raised = Raised { alerts: Vec::new(), next: due.next };
        if due.raise.is_empty() && due.again.is_empty() && due.tell.is_empty() {
            return Ok(raised);
        }
        let store = self.writer()?;
        for alert in &due.raise {
            raised.alerts.extend(store.raise(alert, now)?);
        }
        for id in due.again {
            let Some(alert) = alerts.iter().find(|alert| alert.id == id) else { continue };
            if store.tell_again(id, alert.told, now)? {
                raised.alerts.push(Alert { told: now, ..alert.clone() });
            }
        }
        for (before, after) in due.tell {
            store.tell(before, after)?;
        }
        raised.next = raised.next.or_else(|| (!raised.alerts.is_empty()).then(|| now + leads.repeat));
        Ok(raised)
    }
}
