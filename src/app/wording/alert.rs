//! The text of an alert: the verdict of its area first, then the alert itself.

use chrono::TimeDelta;

use super::Words;
use super::words::{ordinal_coat, sentence};
use crate::engine::air::Objection;
use crate::engine::assess::{
    AlertState, AreaSurvey, BatchSurvey, CoatSurvey, Due, Ring, Shift, Survey, WindowEnd, alert_state,
};
use crate::engine::job::{Alert, AlertKind, NewAlert, Raising};
use crate::engine::pot::Hazard;
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, capital, duration_text};

impl Words {
    /// The due alerts to record, each with its text.
    pub fn raising(&self, survey: &Survey<'_>, due: Due, now: Moment) -> Raising {
        let raise = due.rings.into_iter().map(|ring| {
            let text = self.ring(survey, &ring, now);
            let Ring { kind, subject, round, area, due, .. } = ring;
            NewAlert { kind, subject, round, area, due, text }
        });
        Raising { raise: raise.collect(), again: due.again, windows: due.windows }
    }

    /// The text of a raised alert at a moment that may be later.
    pub fn alert_now(&self, survey: &Survey<'_>, alert: &Alert, now: Moment) -> String {
        let text = match alert_state(survey, alert, now) {
            AlertState::Withdrawn => self.withdrawn(survey, alert, now),
            AlertState::Holds if now - alert.raised > FRESH => {
                self.cause(survey, alert.kind, &alert.subject, alert.area.as_deref(), alert.due, now)
            }
            _ => None,
        };
        let text = text.unwrap_or_else(|| alert.text_at(now));
        if alert.is_recorded() { text } else { format!("{text} (This alert could not be recorded.)") }
    }

    fn ring(&self, survey: &Survey<'_>, ring: &Ring, now: Moment) -> String {
        let area = ring.area.as_deref();
        if ring.kind == AlertKind::Moved
            && let Some(area) = area.and_then(|name| survey.area(name))
        {
            return self.moved_window(area, &ring.moved, now);
        }
        self.cause(survey, ring.kind, &ring.subject, area, ring.due, now)
            .unwrap_or_else(|| sentence(area.unwrap_or(&ring.subject)))
    }

    /// The text of an alert from the current facts; None if its cause is gone.
    fn cause(
        &self,
        survey: &Survey<'_>,
        kind: AlertKind,
        subject: &str,
        area: Option<&str>,
        due: Moment,
        now: Moment,
    ) -> Option<String> {
        if kind.is_of_a_batch() {
            let pot = survey.batches.iter().find(|pot| subject == pot.batch.id.to_string())?;
            return Some(self.batch_alert(pot, kind, due, now));
        }
        if kind == AlertKind::ReadingOld {
            let place = subject.split('@').next()?;
            let age = now - survey.air(place)?.reading?.at;
            return Some(format!(
                "{place}: READ THE THERMOMETER. The last reading is {} old, too old to trust.",
                duration_text(age)
            ));
        }
        let area = survey.area(area?)?;
        let coat = area.newest.as_ref()?;
        let says = match kind {
            AlertKind::Dew | AlertKind::OutOfRange | AlertKind::Rain => {
                let same = |(against, _): &&(Objection, Moment)| kind.warns_of(*against);
                let (against, from) = area.threats().iter().find(same)?;
                return Some(self.threat(area, *against, *from, now));
            }
            AlertKind::Stall => {
                let limit = coat.product.application.stall_below;
                let below = limit.map(|limit| format!(" below {}", self.units.temperature(limit)));
                format!("The film does not cure{}. Warm the shop or wait.", below.unwrap_or_default())
            }
            AlertKind::RecoatOpen | AlertKind::LastCall => self.next_coat_alert(area, now),
            AlertKind::RecoatClose => self.closing(coat, due, now),
            AlertKind::TapeBy if due > now => "After that it tears the edge.".into(),
            AlertKind::TapeBy => {
                format!("The tape should have been off by {}: pull it with care.", self.when(due, now))
            }
            AlertKind::Sandable => {
                let wash = if coat.standing.wash { "washed and " } else { "" };
                let dust = self.dust(area, now).map(|dust| format!(" {dust}")).unwrap_or_default();
                format!("It can be {wash}sanded.{dust}")
            }
            AlertKind::FullCure => format!("Full cure since {}: ready for service.", self.when(due, now)),
            AlertKind::Moved
            | AlertKind::ReadingOld
            | AlertKind::PotLife
            | AlertKind::PotOver
            | AlertKind::Induction => return None,
        };
        Some(self.headed(area, &says, now))
    }

    /// "Roof: GO until 19:24. …"
    fn headed(&self, area: &AreaSurvey<'_>, says: &str, now: Moment) -> String {
        format!("{}: {}. {says}", area.name, self.headline(area.verdict(now), now))
    }

    /// The next coat, and why it may or may not start.
    fn next_coat_alert(&self, area: &AreaSurvey<'_>, now: Moment) -> String {
        let coat = ordinal_coat(area.coats + 1);
        let why = match (&area.judgement, area.next) {
            (Some(judgement), Some(next)) => self.why(area, judgement, next, now),
            _ => Vec::new(),
        };
        std::iter::once(sentence(&coat)).chain(why.into_iter().take(2)).collect::<Vec<_>>().join(" ")
    }

    fn closing(&self, coat: &CoatSurvey<'_>, close: Moment, now: Moment) -> String {
        let sanded = match coat.sand_from.latest.filter(|at| *at > now) {
            Some(at) => format!("leave it alone until {}, then sand", self.when(at, now)),
            None => "let it cure, then sand".into(),
        };
        if close > now {
            format!("The window closes {}. After that, {sanded}.", self.when(close, now))
        } else {
            format!("The window closed {}. Now {sanded}.", self.when(close, now))
        }
    }

    fn moved_window(&self, area: &AreaSurvey<'_>, moved: &[(WindowEnd, Shift)], now: Moment) -> String {
        let one = |(end, shift): &(WindowEnd, Shift)| {
            let word = match end {
                WindowEnd::Opens => "opens",
                WindowEnd::Closes => "closes",
            };
            match shift {
                Shift::By(by) if *by > TimeDelta::zero() => format!("{word} {} later", duration_text(*by)),
                Shift::By(by) => format!("{word} {} earlier", duration_text(*by)),
                Shift::Lost if *end == WindowEnd::Opens => "does not open in this air".into(),
                Shift::Lost => "does not close in this air".into(),
                Shift::Found => format!("now {word}"),
            }
        };
        let moved = moved.iter().map(one).collect::<Vec<_>>().join(", and ");
        let window = area.newest.as_ref().and_then(|coat| coat.standing.window()).unwrap_or_default();
        let window = match window {
            (Some(open), Some(close)) if close > open => {
                format!(" It is certainly open from {} to {}.", self.when(open, now), self.when(close, now))
            }
            (Some(open), None) => format!(" It is certainly open from {}.", self.when(open, now)),
            _ => String::new(),
        };
        self.headed(area, &format!("The window {moved}.{window}"), now)
    }

    /// That an alert no longer holds, because its facts have changed.
    fn withdrawn(&self, survey: &Survey<'_>, alert: &Alert, now: Moment) -> Option<String> {
        let area = survey.area(alert.area.as_ref()?)?;
        let coat = area.newest.as_ref()?;
        let latest = |stage| coat.standing.stage(stage).and_then(|times| times.latest);
        let (what, from) = match alert.kind {
            AlertKind::RecoatOpen => ("the next coat may start", latest(Stage::RecoatOpen)),
            AlertKind::Sandable => ("it can be sanded", coat.sand_from.latest),
            AlertKind::FullCure => ("it is at full cure", latest(Stage::FullCure)),
            _ => return None,
        };
        let from = match from {
            Some(from) => format!("{what} from {}, not before", self.when(from, now)),
            None => format!("it is unknown when {what}"),
        };
        Some(self.headed(
            area,
            &format!("Withdrawn because the readings have changed: {from}. The alert came too early."),
            now,
        ))
    }

    fn batch_alert(&self, pot: &BatchSurvey<'_>, kind: AlertKind, due: Moment, now: Moment) -> String {
        let name = capital(&self.batch(&pot.batch));
        let standing = pot.standing.as_ref();
        let end = standing.and_then(|standing| standing.usable.earliest);
        match kind {
            AlertKind::Induction => {
                let until = end.map(|end| format!(": spread it by {}", self.when(end, now)));
                format!("{name}: its induction time is over{}.", until.unwrap_or_default())
            }
            AlertKind::PotLife => {
                let end = self.when(end.unwrap_or(due), now);
                format!("{name}: spread it by {end}. Its pot life may end then.")
            }
            _ => {
                let hot = match standing.map(|standing| standing.hazard) {
                    None | Some(Hazard::Calm) => "",
                    Some(Hazard::RunsAway | Hazard::Hot) => {
                        " It overheats where it is: pour it out flat, outdoors."
                    }
                };
                let end = self.when(end.unwrap_or(due), now);
                format!("{name}: its pot life may have been over since {end}. Start no coat with it.{hot}")
            }
        }
    }
}

/// Shown within this time after it was raised, an alert keeps its text.
const FRESH: TimeDelta = TimeDelta::minutes(2);
