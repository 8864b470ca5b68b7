//! Which alerts are due: a pure function of the survey, of what was raised and reported before, and of `now`.

use chrono::TimeDelta;

use crate::app::wording::{Words, ordinal_coat};
use crate::engine::air::Objection;
use crate::engine::assess::{AreaSurvey, CoatSurvey, PlaceAir, Survey};
use crate::engine::config::Leads;
use crate::engine::cure::Phase;
use crate::engine::job::{Alert, AlertKind, NewAlert, Raising, ReportedWindow, clock_was_ahead};
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, duration_text};

mod pot;

/// What is to be done about alerts now.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Due {
    /// What is to be recorded.
    pub raising: Raising,
    /// When something is due next, on what is known.
    pub next: Option<Moment>,
}

/// What the rules are given besides the survey.
#[derive(Debug, Clone, Copy)]
pub struct Memory<'a> {
    /// Every alert that was raised.
    pub alerts: &'a [Alert],
    /// The windows as they were last reported.
    pub windows: &'a [ReportedWindow],
}

/// What fell due longer ago than this is history, not news.
const NEWS_FOR: TimeDelta = TimeDelta::days(14);
/// A window further off than this may still move as it likes.
const NEAR: TimeDelta = TimeDelta::hours(24);
/// A stall, or a threat of the weather, is raised again after this time.
const AGAIN: TimeDelta = TimeDelta::hours(12);

/// The alerts that are due at `now`.
pub fn due(
    survey: &Survey<'_>,
    memory: Memory<'_>,
    leads: &Leads,
    reading_old: TimeDelta,
    words: &Words,
    now: Moment,
) -> Due {
    let mut rules = Rules { memory, leads, words, now, due: Due::default() };
    for area in &survey.areas {
        if let Some(coat) = &area.newest {
            rules.coat(area, coat);
        }
    }
    for pot in &survey.batches {
        rules.pot(pot);
    }
    for air in &survey.places {
        let live = survey.areas.iter().any(|area| area.place == air.place && is_live(area, now));
        let live =
            live || survey.batches.iter().any(|pot| pot.batch.place == air.place && pot.is_usable(now));
        if live {
            rules.reading(air, reading_old);
        }
    }
    rules.due
}

/// Whether the moments of this area still matter: its newest coat is not through.
fn is_live(area: &AreaSurvey<'_>, now: Moment) -> bool {
    area.newest.as_ref().is_some_and(|coat| {
        let ahead =
            |(_, times): &(Stage, crate::engine::cure::StageTimes)| times.latest.is_none_or(|l| l > now);
        coat.standing.stages.iter().any(ahead)
    })
}

struct Rules<'a> {
    memory: Memory<'a>,
    leads: &'a Leads,
    words: &'a Words,
    now: Moment,
    due: Due,
}

/// An alert that rings at a moment, on what is known now.
struct Bell {
    kind: AlertKind,
    rings: Moment,
    due: Moment,
    text: String,
    /// Whether repeating it still helps.
    helps: bool,
}

impl Rules<'_> {
    fn coat(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) {
        for bell in self.bells(area, coat) {
            self.ring(coat.coat.id.to_string(), Some(area.name.clone()), bell);
        }
        if coat.standing.stalled {
            self.stall(area, coat);
        }
        for threat in area.threats() {
            self.threat(area, coat, *threat);
        }
        if coat.coat.last_stroke.is_some() {
            self.moved(area, coat);
        }
    }

    fn bells(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) -> Vec<Bell> {
        let now = self.now;
        let at = |moment| self.words.when(moment, now);
        let name = &area.name;
        let next = ordinal_coat(area.coats + 1).to_lowercase();
        let finished = coat.coat.last_stroke.is_some();
        let minds_window = area.minds_window();
        let mut bells = Vec::new();
        let (open, close) = coat.standing.window().unwrap_or_default();
        if let (true, true, Some(open)) = (minds_window, finished, open)
            && close.is_none_or(|close| close > open)
        {
            let until = match (close, coat.last_call) {
                (Some(close), Some(call)) if area.takes.is_some() => {
                    format!(", at the latest {}; start by {}", at(close), at(call))
                }
                (Some(close), _) => format!(", at the latest {}", at(close)),
                _ => String::new(),
            };
            let text = format!("{name}: the {next} may go on from {}{until}.", at(open));
            bells.push(Bell { kind: AlertKind::RecoatOpen, rings: open, due: open, text, helps: false });
        }
        if let (true, Some(close)) = (minds_window, close) {
            if let (Some(call), true) = (coat.last_call, area.takes.is_some() && close > now) {
                let text = format!(
                    "{name}: start the {next} by {} to finish it before the window closes {}.",
                    at(call),
                    at(close)
                );
                let helps = call > now;
                let rings = call - self.leads.last_call;
                bells.push(Bell { kind: AlertKind::LastCall, rings, due: call, text, helps });
            }
            let text = if close > now {
                format!("{name}: the window closes {}. After that it has to cure and be sanded.", at(close))
            } else {
                format!("{name}: the window closed {}. Let it cure, then sand.", at(close))
            };
            let rings = close - self.leads.close;
            bells.push(Bell { kind: AlertKind::RecoatClose, rings, due: close, text, helps: close > now });
        }
        if let (true, Some(tape)) = (area.taped, coat.standing.stage(Stage::TapeBy).and_then(|r| r.earliest))
        {
            let text = if tape > now {
                format!("{name}: pull the tape by {}, or it tears the edge.", at(tape))
            } else {
                format!("{name}: the tape should have been off by {}; pull it with care.", at(tape))
            };
            let rings = tape - self.leads.tape;
            bells.push(Bell { kind: AlertKind::TapeBy, rings, due: tape, text, helps: tape > now });
        }
        let latest = |stage| coat.standing.stage(stage).and_then(|r| r.latest).filter(|_| finished);
        if let Some(sandable) = latest(Stage::Sandable)
            && area.wants_coat()
            && !area.prepared
            && coat.standing.phase_at(sandable) == Phase::Sandable
        {
            let wash = if coat.standing.wash { "washed and sanded" } else { "sanded" };
            let text = format!("{name}: it can be {wash} from {}.", at(sandable));
            bells.push(Bell {
                kind: AlertKind::Sandable,
                rings: sandable,
                due: sandable,
                text,
                helps: false,
            });
        }
        if let Some(cured) = latest(Stage::FullCure) {
            let text = format!("{name}: full cure {}; ready for service.", at(cured));
            bells.push(Bell { kind: AlertKind::FullCure, rings: cured, due: cured, text, helps: false });
        }
        bells
    }

    fn ring(&mut self, subject: String, area: Option<String>, bell: Bell) {
        let last = self.last_raised(bell.kind, &subject);
        if bell.rings > self.now {
            self.wake_at(bell.rings);
            return;
        }
        // An alert holds unless it was raised too early for what is known now.
        let premature = |alert: &Alert| alert.raised + self.leads.moved < bell.rings;
        match last {
            Some(alert) if !premature(alert) => {
                let insists = bell.kind.insists() && bell.helps && alert.acknowledged.is_none();
                if insists {
                    let again = alert.wanted + self.leads.repeat;
                    let id = alert.id;
                    if again <= self.now || clock_was_ahead(alert.wanted, self.now) {
                        self.due.raising.again.push(id);
                    } else {
                        self.wake_at(again);
                    }
                }
            }
            _ if self.now - bell.due > NEWS_FOR => {}
            _ => {
                let round = self.next_round(bell.kind, &subject);
                let (kind, due, text) = (bell.kind, bell.due, bell.text);
                self.due.raising.raise.push(NewAlert { kind, subject, round, area, due, text });
            }
        }
    }

    fn stall(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) {
        let subject = coat.coat.id.to_string();
        let last = self.last_raised(AlertKind::Stall, &subject);
        if last.is_some_and(|alert| alert.raised + AGAIN > self.now) {
            return;
        }
        let round = self.next_round(AlertKind::Stall, &subject);
        let limit = coat.product.application.stall_below;
        let below =
            limit.map(|limit| format!(" below {}", self.words.units.temperature(limit))).unwrap_or_default();
        let text = format!("{}: the cure stands still{below}. Warm the shop or wait.", area.name);
        let area = Some(area.name.clone());
        self.due.raising.raise.push(NewAlert {
            kind: AlertKind::Stall,
            subject,
            round,
            area,
            due: self.now,
            text,
        });
    }

    /// The weather threatens a wet film, now or by forecast. Raised ahead; raised again when it comes sooner
    /// than that alert said, when it is there, and after half a day.
    fn threat(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, (against, from): (Objection, Moment)) {
        let cold =
            matches!(against, Objection::TooCold(..) | Objection::SurfaceTooCold(..) | Objection::Stalls(..));
        // A film that does not progress has an alert of its own.
        if cold && coat.standing.stalled {
            return;
        }
        let Some(kind) = AlertKind::ALL.into_iter().find(|kind| kind.warns_of(against)) else { return };
        let subject = coat.coat.id.to_string();
        if self.due.raising.raise.iter().any(|new| new.kind == kind && new.subject == subject) {
            return;
        }
        let due = from.max(self.now);
        if due > self.now {
            self.wake_at(due);
        }
        let last = self.last_raised(kind, &subject);
        let known = |alert: &Alert| {
            let ahead = alert.due > alert.raised;
            let sooner = due + self.leads.moved < alert.due;
            alert.raised + AGAIN > self.now && !sooner && !(ahead && due <= self.now)
        };
        if last.is_some_and(known) {
            return;
        }
        let round = self.next_round(kind, &subject);
        let text = self.words.threat(area, against, from, self.now);
        let area = Some(area.name.clone());
        self.due.raising.raise.push(NewAlert { kind, subject, round, area, due, text });
    }

    /// A window that moved since it was reported. What lies in the past of both is left alone.
    fn moved(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) {
        let Some((open, close)) = coat.standing.window() else { return };
        let as_read = |stage| coat.standing.stage(stage).and_then(|r| r.at);
        let coat_id = coat.coat.id;
        let (opens, closes) = (as_read(Stage::RecoatOpen), as_read(Stage::RecoatClose));
        let window = ReportedWindow { coat: coat_id, open: opens, close: closes };
        let Some(before) = self.memory.windows.iter().find(|window| window.coat == coat_id) else {
            self.due.raising.windows.push(window);
            return;
        };
        let moved = [("opens", before.open, opens), ("closes", before.close, closes)];
        let moved: Vec<String> =
            moved.into_iter().filter_map(|(word, was, is)| self.change(word, was, is)).collect();
        if moved.is_empty() {
            return;
        }
        self.due.raising.windows.push(window);
        if !area.minds_window() {
            return;
        }
        let subject = coat.coat.id.to_string();
        let round = self.next_round(AlertKind::Moved, &subject);
        let when = |moment: Option<Moment>| moment.map(|moment| self.words.when(moment, self.now));
        let window = match (when(open), when(close)) {
            (Some(open), Some(close)) => {
                format!(" For certain it is open from {open}, at the latest until {close}.")
            }
            (Some(open), None) => format!(" For certain it is open from {open}."),
            _ => String::new(),
        };
        let text = format!("{}: the window moved: it {}.{window}", area.name, moved.join(", and "));
        let area = Some(area.name.clone());
        self.due.raising.raise.push(NewAlert {
            kind: AlertKind::Moved,
            subject,
            round,
            area,
            due: self.now,
            text,
        });
    }

    /// How a moment changed, where that is worth a word: it lies ahead, and not more than a day.
    fn change(&self, word: &str, was: Option<Moment>, is: Option<Moment>) -> Option<String> {
        let now = self.now;
        if [was, is].into_iter().flatten().min().is_none_or(|first| first > now + NEAR) {
            return None;
        }
        match (was, is) {
            (Some(was), Some(is)) if (is - was).abs() > self.leads.moved && (was > now || is > now) => {
                let way = if is > was { "later" } else { "earlier" };
                Some(format!("{word} {} {way}", duration_text(is - was)))
            }
            (Some(was), None) if was > now => Some(format!("never {word} on what is known")),
            (None, Some(is)) if is > now => Some(format!("now {word} after all")),
            _ => None,
        }
    }

    fn reading(&mut self, air: &PlaceAir, reading_old: TimeDelta) {
        let Some(reading) = air.reading else { return };
        let due = reading.at + reading_old;
        if due >= self.now {
            self.wake_at(due + TimeDelta::seconds(1));
            return;
        }
        let subject = format!("{}@{}", air.place, reading.at.timestamp());
        if self.last_raised(AlertKind::ReadingOld, &subject).is_some() {
            return;
        }
        let text = format!(
            "{}: the last reading is {} old, too old to trust. Read the thermometer.",
            air.place,
            duration_text(self.now - reading.at)
        );
        let round = self.next_round(AlertKind::ReadingOld, &subject);
        self.due.raising.raise.push(NewAlert {
            kind: AlertKind::ReadingOld,
            subject,
            round,
            area: None,
            due,
            text,
        });
    }

    /// The newest alert of this kind. What a clock that was ahead raised does not count.
    fn last_raised(&self, kind: AlertKind, subject: &str) -> Option<&Alert> {
        let raised = |alert: &&Alert| {
            alert.kind == kind && alert.subject == subject && !clock_was_ahead(alert.raised, self.now)
        };
        self.memory.alerts.iter().filter(raised).max_by_key(|alert| alert.round)
    }

    fn next_round(&self, kind: AlertKind, subject: &str) -> u32 {
        let same = |alert: &&Alert| alert.kind == kind && alert.subject == subject;
        self.memory.alerts.iter().filter(same).map(|alert| alert.round + 1).max().unwrap_or_default()
    }

    fn wake_at(&mut self, moment: Moment) {
        self.due.next = Some(self.due.next.map_or(moment, |next| next.min(moment)));
    }
}

#[cfg(test)]
mod tests;
