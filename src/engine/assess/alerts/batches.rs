//! The alerts of a batch: its induction time over, its pot life about to end, its pot life over.

use chrono::TimeDelta;

use super::{Bell, Rules};
use crate::engine::assess::BatchSurvey;
use crate::engine::job::AlertKind;

/// The end of a pot life is repeated for this long.
const STILL_THERE: TimeDelta = TimeDelta::hours(1);

impl Rules<'_> {
    pub(super) fn pot(&mut self, pot: &BatchSurvey<'_>) {
        if !pot.is_live(self.now) {
            return;
        }
        for bell in self.pot_bells(pot) {
            self.ring(pot.batch.id.to_string(), None, bell);
        }
    }

    fn pot_bells(&self, pot: &BatchSurvey<'_>) -> Vec<Bell> {
        let now = self.now;
        let Some(standing) = &pot.standing else { return Vec::new() };
        let mut bells = Vec::new();
        let end = standing.usable.earliest;
        if let Some(over) = standing.induction_over.filter(|over| end.is_none_or(|end| end > now.max(*over)))
        {
            bells.push(Bell::at(AlertKind::Induction, over));
        }
        let Some(end) = end else { return bells };
        if end > now {
            let lead = self.leads.pot.min((end - standing.mixed_at) / 4);
            bells.push(Bell { kind: AlertKind::PotLife, rings: end - lead, due: end, helps: true });
        }
        let helps = now < end + STILL_THERE;
        bells.push(Bell { helps, ..Bell::at(AlertKind::PotOver, end) });
        bells
    }
}
