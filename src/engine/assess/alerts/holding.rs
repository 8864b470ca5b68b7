//! Whether the cause of an alert is still there, or the facts it was raised on have changed.

use super::super::{Survey, Verdict};
use crate::engine::cure::Phase;
use crate::engine::job::{Alert, AlertKind};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// The state of a raised alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AlertState {
    /// Its cause is still there.
    Holds,
    /// Its cause is gone: the next coat is on, the tape is off, or the place is warm again.
    Over,
    /// Its facts have changed: what it announced is not reached yet.
    Withdrawn,
}

/// The state of an alert at a moment.
pub fn alert_state(survey: &Survey<'_>, alert: &Alert, now: Moment) -> AlertState {
    if still_matters(survey, alert, now) {
        AlertState::Holds
    } else if is_withdrawn(survey, alert, now) {
        AlertState::Withdrawn
    } else {
        AlertState::Over
    }
}

/// Whether an announced moment is still ahead by the current times.
fn is_withdrawn(survey: &Survey<'_>, alert: &Alert, now: Moment) -> bool {
    let area = alert.area.as_ref().and_then(|name| survey.area(name));
    let Some((area, coat)) = area.and_then(|area| Some((area, area.newest.as_ref()?))) else { return false };
    let latest =
        |stage| coat.standing.stage(stage).is_some_and(|times| times.latest.is_none_or(|at| at > now));
    alert.subject == coat.coat.id.to_string()
        && match alert.kind {
            AlertKind::RecoatOpen => area.minds_window() && coat.standing.phase_at(now) == Phase::Wet,
            AlertKind::Sandable => !area.prepared && coat.sand_from.latest.is_none_or(|at| at > now),
            AlertKind::FullCure => latest(Stage::FullCure),
            _ => false,
        }
}

/// Whether the cause of an alert is still there.
pub fn still_matters(survey: &Survey<'_>, alert: &Alert, now: Moment) -> bool {
    if alert.kind.is_of_a_batch() {
        return pot_matters(survey, alert, now);
    }
    let Some(name) = &alert.area else {
        let place = alert.subject.split('@').next().and_then(|place| survey.air(place));
        return place.is_none_or(|air| air.old);
    };
    let Some((area, coat)) = survey.area(name).and_then(|area| Some((area, area.newest.as_ref()?))) else {
        return false;
    };
    let same = alert.subject == coat.coat.id.to_string();
    let phase = coat.standing.phase_at(now);
    same && match alert.kind {
        AlertKind::TapeBy => area.taped,
        AlertKind::Stall => coat.standing.stalled,
        AlertKind::RecoatOpen => {
            area.minds_window() && phase == Phase::Open && matches!(area.verdict(now), Verdict::Go { .. })
        }
        AlertKind::LastCall => {
            area.minds_window() && matches!(phase, Phase::Open | Phase::Wet) && alert.due > now
        }
        // A sandable film has an alert of its own.
        AlertKind::RecoatClose => area.minds_window() && !matches!(phase, Phase::Sandable | Phase::Cured),
        AlertKind::Moved => area.minds_window() && matches!(phase, Phase::Wet | Phase::Open),
        AlertKind::Sandable => !area.prepared && matches!(phase, Phase::Sandable | Phase::Cured),
        AlertKind::Dew | AlertKind::Rain | AlertKind::OutOfRange => {
            area.threats().iter().any(|(against, _)| alert.kind.warns_of(*against))
        }
        AlertKind::FullCure => phase == Phase::Cured,
        AlertKind::ReadingOld => true,
        AlertKind::PotLife | AlertKind::PotOver | AlertKind::Induction => false,
    }
}

/// Whether the cause of a batch's alert is still there: not if it was emptied.
fn pot_matters(survey: &Survey<'_>, alert: &Alert, now: Moment) -> bool {
    let pot = survey.batches.iter().find(|pot| alert.subject == pot.batch.id.to_string());
    let Some(pot) = pot.filter(|pot| pot.is_live(now)) else { return false };
    let over =
        pot.standing.as_ref().and_then(|standing| standing.usable.earliest).is_some_and(|end| end <= now);
    match alert.kind {
        AlertKind::PotOver => over,
        _ => !over,
    }
}
