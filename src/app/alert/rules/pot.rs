//! The alerts of a batch: its induction time over, its pot life about to end, its pot life over.

use chrono::TimeDelta;

use super::{Bell, Rules};
use crate::engine::assess::BatchSurvey;
use crate::engine::job::AlertKind;
use crate::engine::pot::Hazard;
use crate::engine::units::capital;

/// That a pot life is over is told again for so long.
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
        let at = |moment| self.words.when(moment, now);
        let name = capital(&self.words.batch(&pot.batch));
        let mut bells = Vec::new();
        let end = standing.usable.earliest;
        if let Some(over) = standing.induction_over.filter(|over| end.is_none_or(|end| end > now.max(*over)))
        {
            let until = end.map(|end| format!("; spread it by {}", at(end))).unwrap_or_default();
            let text = format!("{name}: its induction time is over{until}.");
            bells.push(Bell { kind: AlertKind::Induction, rings: over, due: over, text, helps: false });
        }
        let Some(end) = end else { return bells };
        if end > now {
            let lead = self.leads.pot.min((end - standing.mixed_at) / 4);
            let text = format!("{name}: spread it by {}; its pot life may end then.", at(end));
            bells.push(Bell { kind: AlertKind::PotLife, rings: end - lead, due: end, text, helps: true });
        }
        let hot = match standing.hazard {
            Hazard::Calm => "",
            Hazard::RunsAway | Hazard::Hot => " It runs away where it is: pour it out flat, outdoors.",
        };
        let text = format!("{name}: its pot life may be over since {}. Begin no coat with it.{hot}", at(end));
        let helps = now < end + STILL_THERE;
        bells.push(Bell { kind: AlertKind::PotOver, rings: end, due: end, text, helps });
        bells
    }
}
