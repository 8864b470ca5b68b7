//! The alerts on the board: those whose cause remains, and those withdrawn.

use crate::app::view::Banner;
use crate::app::wording::Words;
use crate::engine::assess::{AlertState, Survey, alert_state};
use crate::engine::job::Alert;
use crate::engine::units::{Moment, clean};

/// The alerts not yet acknowledged, most urgent first.
pub fn banners(survey: &Survey<'_>, alerts: &[Alert], words: &Words, now: Moment) -> Vec<Banner> {
    let open = alerts.iter().filter(|alert| alert.acknowledged.is_none() && alert.raised <= now);
    let shown = |alert: &&Alert| alert_state(survey, alert, now) != AlertState::Over;
    let mut open: Vec<&Alert> = open.filter(shown).collect();
    // Of one kind for one coat the newest counts; then insistent alerts and those due soonest come first.
    let newer = |one: &Alert, other: &Alert| {
        one.kind == other.kind && one.subject == other.subject && one.round > other.round
    };
    open.retain(|alert| !alerts.iter().any(|other| newer(other, alert)));
    open.sort_by_key(|alert| (!alert.kind.insists(), alert.due < now, (alert.due - now).abs(), alert.id));
    open.into_iter()
        .map(|alert| {
            let text = clean(&words.alert_now(survey, alert, now));
            Banner { id: alert.id, kind: alert.kind, text }
        })
        .collect()
}
