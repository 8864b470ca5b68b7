//! Which alerts stand on the board: those whose cause is still there, in the words of now.

use crate::app::view::Banner;
use crate::app::wording::Words;
use crate::engine::air::Objection;
use crate::engine::assess::Survey;
use crate::engine::cure::Phase;
use crate::engine::job::{Alert, AlertKind};
use crate::engine::units::{Moment, clean};

/// The alerts that nobody has seen, the most urgent first.
pub fn banners(survey: &Survey<'_>, alerts: &[Alert], words: &Words, now: Moment) -> Vec<Banner> {
    let open = alerts.iter().filter(|alert| alert.acknowledged.is_none() && alert.raised <= now);
    let mut open: Vec<&Alert> = open.filter(|alert| still_matters(survey, alert, now)).collect();
    // Of one kind for one coat the newest says what holds; then what insists and is due soonest comes first.
    let newer = |one: &Alert, other: &Alert| {
        one.kind == other.kind && one.subject == other.subject && one.round > other.round
    };
    open.retain(|alert| !alerts.iter().any(|other| newer(other, alert)));
    open.sort_by_key(|alert| (!alert.kind.insists(), alert.due < now, (alert.due - now).abs(), alert.id));
    open.into_iter()
        .map(|alert| {
            let text = clean(&alert_text(survey, alert, words, now));
            Banner { id: alert.id, kind: alert.kind, text }
        })
        .collect()
}

/// What an alert has to say at a moment that may be later than when it was raised.
pub fn alert_text(survey: &Survey<'_>, alert: &Alert, words: &Words, now: Moment) -> String {
    let stands = threat_now(survey, alert, words, now).or_else(|| closed(alert, words, now));
    let text = stands.unwrap_or_else(|| alert.text_at(now));
    if alert.is_recorded() { text } else { format!("{text} (This alert could not be recorded.)") }
}

/// What an alert of the weather has to say as things stand now: the forecast, or the air, may have moved.
fn threat_now(survey: &Survey<'_>, alert: &Alert, words: &Words, now: Moment) -> Option<String> {
    let area = survey.area(alert.area.as_ref()?)?;
    let same = |(against, _): &&(Objection, Moment)| alert.kind.warns_of(*against);
    let (against, from) = area.threats().iter().find(same)?;
    Some(words.threat(area, *against, *from, now))
}

/// A window that was about to close when it was told, and has closed since.
fn closed(alert: &Alert, words: &Words, now: Moment) -> Option<String> {
    let area = alert.area.as_ref().filter(|_| alert.kind == AlertKind::RecoatClose && alert.due <= now)?;
    Some(format!("{area}: the window closed {}. Let it cure, then sand.", words.when(alert.due, now)))
}

/// Whether the cause of an alert is still there: not where the next coat went on, the tape is off, the ground
/// is ready or the stove is lit.
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
        AlertKind::RecoatOpen => area.minds_window() && phase == Phase::Open,
        AlertKind::LastCall => {
            area.minds_window() && matches!(phase, Phase::Open | Phase::Wet) && alert.due > now
        }
        // What can be sanded is told as such.
        AlertKind::RecoatClose => area.minds_window() && !matches!(phase, Phase::Sandable | Phase::Cured),
        AlertKind::Moved => area.minds_window() && matches!(phase, Phase::Wet | Phase::Open),
        AlertKind::Sandable => !area.prepared,
        AlertKind::Dew | AlertKind::Rain | AlertKind::OutOfRange => {
            area.threats().iter().any(|(against, _)| alert.kind.warns_of(*against))
        }
        AlertKind::FullCure | AlertKind::ReadingOld => true,
        AlertKind::PotLife | AlertKind::PotOver | AlertKind::Induction => false,
    }
}

/// Whether the cause of a batch's alert is still there: not where it was emptied.
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
