//! The rules for due alerts: pure functions of the survey, the raised alerts and `now`.
//!
//! A rule decides what is raised and when; the text is made from the survey.

use chrono::TimeDelta;

use super::{AreaSurvey, CoatSurvey, Judgement, PlaceAir, Substrate, Survey, Verdict};
use crate::engine::air::Objection;
use crate::engine::config::Leads;
use crate::engine::cure::Phase;
use crate::engine::job::{Alert, AlertId, AlertKind, ReportedWindow, clock_was_ahead};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

mod batches;
mod holding;

pub use holding::{AlertState, alert_state, still_matters};

/// The changes of alerts to record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Due {
    /// New alerts.
    pub rings: Vec<Ring>,
    /// Alerts to repeat, because they are not acknowledged.
    pub again: Vec<AlertId>,
    /// The windows to report.
    pub windows: Vec<ReportedWindow>,
    /// When the next alert is due, as far as known.
    pub next: Option<Moment>,
}

/// A new alert.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ring {
    /// Its kind.
    pub kind: AlertKind,
    /// The coat, the batch, or the place of a reading: unique together with kind and round.
    pub subject: String,
    /// How often this kind was raised for the subject before.
    pub round: u32,
    /// The area, where it is about one.
    pub area: Option<String>,
    /// When it fell due.
    pub due: Moment,
    /// How the ends of a window moved, for [`AlertKind::Moved`].
    pub moved: Vec<(WindowEnd, Shift)>,
}

/// An end of a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WindowEnd {
    /// The window's opening.
    Opens,
    /// The window's closing.
    Closes,
}

/// How an end of a window moved since it was reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shift {
    /// By this time; negative means earlier.
    By(TimeDelta),
    /// It is no longer reached.
    Lost,
    /// It is reached after all.
    Found,
}

/// The inputs of the rules besides the survey.
#[derive(Debug, Clone, Copy)]
pub struct Memory<'a> {
    /// Every alert that was raised.
    pub alerts: &'a [Alert],
    /// The windows as they were last reported.
    pub windows: &'a [ReportedWindow],
}

/// An alert due longer ago than this is not raised.
const NEWS_FOR: TimeDelta = TimeDelta::days(14);
/// A window further away than this may still move.
const NEAR: TimeDelta = TimeDelta::hours(24);
/// A stall, or a threat of the weather, is raised again after this time.
const AGAIN: TimeDelta = TimeDelta::hours(12);
/// Suitable air raises an alert again if the last one is older than this.
const AIR_AGAIN: TimeDelta = TimeDelta::hours(2);

/// The alerts that are due at `now`.
pub fn due(
    survey: &Survey<'_>,
    memory: Memory<'_>,
    leads: &Leads,
    reading_old: TimeDelta,
    now: Moment,
) -> Due {
    let mut rules = Rules { survey, memory, leads, now, due: Due::default() };
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

/// Whether the times of this area still matter: its newest coat has not cured.
fn is_live(area: &AreaSurvey<'_>, now: Moment) -> bool {
    area.newest.as_ref().is_some_and(|coat| {
        let ahead =
            |(_, times): &(Stage, crate::engine::cure::StageTimes)| times.latest.is_none_or(|l| l > now);
        coat.standing.stages.iter().any(ahead)
    })
}

struct Rules<'a> {
    survey: &'a Survey<'a>,
    memory: Memory<'a>,
    leads: &'a Leads,
    now: Moment,
    due: Due,
}

/// An alert at a moment, as far as known now.
struct Bell {
    kind: AlertKind,
    rings: Moment,
    due: Moment,
    /// Whether repeating it still helps.
    helps: bool,
}

impl Bell {
    const fn at(kind: AlertKind, moment: Moment) -> Self {
        Self { kind, rings: moment, due: moment, helps: false }
    }
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
        let finished = coat.coat.last_stroke.is_some();
        let minds_window = area.minds_window();
        let mut bells = Vec::new();
        let (open, close) = coat.standing.window().unwrap_or_default();
        if let (true, true, Some(open)) = (minds_window, finished, open)
            && let Some(go) = self.go_from(area, coat, open)
            && close.is_none_or(|close| close > go)
        {
            bells.push(Bell::at(AlertKind::RecoatOpen, go));
        }
        if let (true, Some(close)) = (minds_window, close) {
            if let (Some(call), true) =
                (coat.last_call, area.takes.is_some() && close > now && !area.hardens_first())
            {
                let rings = call - self.leads.last_call;
                bells.push(Bell { kind: AlertKind::LastCall, rings, due: call, helps: call > now });
            }
            let rings = close - self.leads.close;
            bells.push(Bell { kind: AlertKind::RecoatClose, rings, due: close, helps: close > now });
        }
        if let Some(tape) = area.tape_by() {
            let rings = tape - self.leads.tape;
            bells.push(Bell { kind: AlertKind::TapeBy, rings, due: tape, helps: tape > now });
        }
        let latest = |stage| coat.standing.stage(stage).and_then(|r| r.latest).filter(|_| finished);
        if let Some(sandable) = coat.sand_from.latest.filter(|_| finished)
            && area.wants_coat()
            && !area.prepared
            && coat.standing.phase_at(sandable) == Phase::Sandable
        {
            bells.push(Bell::at(AlertKind::Sandable, sandable));
        }
        if let Some(cured) = latest(Stage::FullCure) {
            bells.push(Bell::at(AlertKind::FullCure, cured));
        }
        bells
    }

    /// When the verdict becomes GO for the next coat on a film that is ready at `open`; None if unknown. If the
    /// air is unsuitable in between, when it is suitable again.
    fn go_from(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, open: Moment) -> Option<Moment> {
        let (Some(next), Some(sky)) = (area.next, self.survey.sky(&area.place)) else { return Some(open) };
        let judgement = Judgement::judge(area, next, sky, self.now);
        // Tape that comes off first, or a reading, takes a moment: whoever waits for the coat wants to know.
        let mut against = judgement.air.iter().filter(|(against, _)| against.forbids());
        let minor = judgement.ground.is_none_or(Substrate::is_tape)
            && against.all(|(against, _)| matches!(against, Objection::NearLimit(_)));
        if !minor && !matches!(judgement.verdict(), Verdict::Go { .. }) {
            return judgement.go_from(self.now).map(|start| start.max(open));
        }
        let last = self.last_raised(AlertKind::RecoatOpen, &coat.coat.id.to_string());
        let suits = last.and_then(|_| Judgement::air_suits_since(area, next, sky, self.now));
        let again = suits.filter(|since| last.is_some_and(|last| last.raised + AIR_AGAIN < *since));
        Some(again.unwrap_or(open).max(open))
    }

    fn ring(&mut self, subject: String, area: Option<String>, bell: Bell) {
        let last = self.last_raised(bell.kind, &subject);
        if bell.rings > self.now {
            self.wake_at(bell.rings);
            return;
        }
        // An alert holds unless it was raised too early for the current times.
        let premature = |alert: &Alert| alert.raised + self.leads.moved < bell.rings;
        match last {
            Some(alert) if !premature(alert) => {
                let insists = bell.kind.insists() && bell.helps && alert.acknowledged.is_none();
                if insists {
                    let again = alert.wanted + self.leads.repeat;
                    let id = alert.id;
                    if again <= self.now || clock_was_ahead(alert.wanted, self.now) {
                        self.due.again.push(id);
                    } else {
                        self.wake_at(again);
                    }
                }
            }
            _ if self.now - bell.due > NEWS_FOR => {}
            _ => {
                let round = self.next_round(bell.kind, &subject);
                let (kind, due) = (bell.kind, bell.due);
                self.due.rings.push(Ring { kind, subject, round, area, due, moved: Vec::new() });
            }
        }
    }

    fn stall(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) {
        let subject = coat.coat.id.to_string();
        let last = self.last_raised(AlertKind::Stall, &subject);
        if last.is_none_or(|alert| alert.raised + AGAIN <= self.now) {
            self.news(AlertKind::Stall, subject, Some(&area.name), self.now);
        }
    }

    /// Raises an alert without a bell, in a round of its own.
    fn news(&mut self, kind: AlertKind, subject: String, area: Option<&str>, due: Moment) {
        let round = self.next_round(kind, &subject);
        let area = area.map(str::to_owned);
        self.due.rings.push(Ring { kind, subject, round, area, due, moved: Vec::new() });
    }

    /// The weather threatens a wet film, now or by forecast. Raised ahead; again when it comes sooner than
    /// announced, when it starts, and after half a day.
    fn threat(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, (against, from): (Objection, Moment)) {
        let cold =
            matches!(against, Objection::TooCold(..) | Objection::SurfaceTooCold(..) | Objection::Stalls(..));
        // A film that does not progress has an alert of its own.
        if cold && coat.standing.stalled {
            return;
        }
        let Some(kind) = AlertKind::ALL.into_iter().find(|kind| kind.warns_of(against)) else { return };
        let subject = coat.coat.id.to_string();
        if self.due.rings.iter().any(|new| new.kind == kind && new.subject == subject) {
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
        self.news(kind, subject, Some(&area.name), due);
    }

    /// A window that moved since it was reported. Past ends are ignored.
    fn moved(&mut self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) {
        if coat.standing.window().is_none() {
            return;
        }
        let as_read = |stage| coat.standing.stage(stage).and_then(|r| r.at);
        let coat_id = coat.coat.id;
        let (opens, closes) = (as_read(Stage::RecoatOpen), as_read(Stage::RecoatClose));
        let window = ReportedWindow { coat: coat_id, open: opens, close: closes };
        let Some(before) = self.memory.windows.iter().find(|window| window.coat == coat_id) else {
            self.due.windows.push(window);
            return;
        };
        let ends = [(WindowEnd::Opens, before.open, opens), (WindowEnd::Closes, before.close, closes)];
        let shifts = ends.into_iter().filter_map(|(end, was, is)| Some((end, self.shift(was, is)?)));
        let moved: Vec<_> = shifts.collect();
        if moved.is_empty() {
            return;
        }
        self.due.windows.push(window);
        if !area.minds_window() {
            return;
        }
        let (kind, subject) = (AlertKind::Moved, coat.coat.id.to_string());
        let round = self.next_round(kind, &subject);
        let area = Some(area.name.clone());
        self.due.rings.push(Ring { kind, subject, round, area, due: self.now, moved });
    }

    /// How a moment changed, if it is ahead by at most a day.
    fn shift(&self, was: Option<Moment>, is: Option<Moment>) -> Option<Shift> {
        let now = self.now;
        if [was, is].into_iter().flatten().min().is_none_or(|first| first > now + NEAR) {
            return None;
        }
        match (was, is) {
            (Some(was), Some(is)) if (is - was).abs() > self.leads.moved && (was > now || is > now) => {
                Some(Shift::By(is - was))
            }
            (Some(was), None) if was > now => Some(Shift::Lost),
            (None, Some(is)) if is > now => Some(Shift::Found),
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
        self.news(AlertKind::ReadingOld, subject, None, due);
    }

    /// The newest alert of this kind, without those of a clock that was ahead.
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
