//! The windows and deadlines of the coats that are on now, by the same moments that the alerts ring at:
//! maximum times at their earliest, minimum times at their latest.

use chrono::TimeDelta;

use super::identity::{Issue, Subject};
use super::{Alarm, Anchor, Event};
use crate::app::wording::{Words, ordinal_coat};
use crate::engine::assess::{AreaSurvey, CoatSurvey, Survey};
use crate::engine::config::Leads;
use crate::engine::cure::Phase;
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// The windows and deadlines that lie ahead, in order of time.
pub fn deadlines(survey: &Survey<'_>, leads: &Leads, words: &Words, issue: Issue) -> Vec<Event> {
    let mut events = Vec::new();
    for area in &survey.areas {
        if let Some(coat) = &area.newest {
            Announcer { area, coat, leads, words, issue }.announce(&mut events);
        }
    }
    events.retain(|event| event.end() > issue.at);
    events.sort_by(|a, b| (a.from, &a.uid).cmp(&(b.from, &b.uid)));
    events
}

struct Announcer<'a> {
    area: &'a AreaSurvey<'a>,
    coat: &'a CoatSurvey<'a>,
    leads: &'a Leads,
    words: &'a Words,
    issue: Issue,
}

impl Announcer<'_> {
    fn announce(&self, events: &mut Vec<Event>) {
        let standing = &self.coat.standing;
        let finished = self.coat.coat.last_stroke.is_some();
        let latest = |stage| standing.stage(stage).and_then(|r| r.latest).filter(|_| finished);
        if self.area.minds_window() {
            events.extend(self.window());
            events.extend(self.last_call().filter(|_| !self.area.hardens_first()));
        }
        if let (true, Some(tape)) = (self.area.taped, standing.stage(Stage::TapeBy).and_then(|r| r.earliest))
        {
            let title = format!("{}: pull the tape, or it tears the edge", self.area.name);
            events.push(self.warned("tape", tape, &title, self.leads.tape));
        }
        if let Some(sandable) = self.coat.sand_from.latest.filter(|_| finished)
            && self.area.wants_coat()
            && !self.area.prepared
            && standing.phase_at(sandable) == Phase::Sandable
        {
            let wash = if standing.wash { "washed and sanded" } else { "sanded" };
            let title = format!("{}: it can be {wash} from now on", self.area.name);
            events.push(self.warned("sandable", sandable, &title, TimeDelta::zero()));
        }
        if let Some(handle) = latest(Stage::Handle) {
            let title = format!("{}: dry to handle from now on", self.area.name);
            events.push(self.warned("handle", handle, &title, TimeDelta::zero()));
        }
        if let Some(cured) = latest(Stage::FullCure) {
            let title = format!("{}: full cure, ready for service", self.area.name);
            events.push(self.warned("full-cure", cured, &title, TimeDelta::zero()));
        }
    }

    /// The window for the next coat: from when the judgement says GO until the window may close. Where it is not
    /// known when the coat may start, the end alone.
    fn window(&self) -> Option<Event> {
        let (open, close) = self.coat.standing.window()?;
        let open = open.filter(|_| self.coat.coat.last_stroke.is_some());
        let go = self
            .area
            .judgement
            .as_ref()
            .map_or(Some(self.issue.at), |judgement| judgement.go_from(self.issue.at));
        let open = open.and_then(|open| Some(open.max(go?)));
        let open = open.filter(|open| close.is_none_or(|close| close > *open));
        let next = self.next();
        let may = format!("{}: the {next} can start", self.area.name);
        let closes = |close| {
            let close = self.words.when(close, self.issue.at);
            format!("{}: the window closes {close}; after that it must cure and be sanded", self.area.name)
        };
        let closing = |close| Alarm { anchor: Anchor::End, before: self.leads.close, text: closes(close) };
        let Some(open) = open else {
            let close = close?;
            let title =
                format!("{}: the window closes; after that it must cure and be sanded", self.area.name);
            return Some(self.warned("window", close, &title, self.leads.close));
        };
        let mut event = self.warned("window", open, &may, TimeDelta::zero());
        event.to = close;
        event.lines.extend(self.suitable(open, close));
        event.alarms.extend(close.map(closing));
        Some(event)
    }

    /// What the forecast says of the air inside the window, where that is not all good.
    fn suitable(&self, open: Moment, close: Option<Moment>) -> Vec<String> {
        let Some(judgement) = &self.area.judgement else { return Vec::new() };
        let (at, known) = (self.issue.at, judgement.forecast_until);
        let inside = |slot: &&(Moment, Moment)| slot.1 > open && close.is_none_or(|close| slot.0 < close);
        let slots: Vec<_> = judgement.slots.iter().filter(inside).collect();
        let end = close.map(|close| known.map_or(close, |known| close.min(known)));
        let covers = |slot: &(Moment, Moment)| slot.0 <= open && end.is_some_and(|end| slot.1 >= end);
        let mut lines = Vec::new();
        if !slots.is_empty() && !slots.iter().any(|slot| covers(slot)) {
            let slots: Vec<String> = slots.iter().map(|slot| self.words.slot(**slot, at)).collect();
            lines.push(format!("The air suits the coat only within: {}.", slots.join(", ")));
        }
        if let Some(known) = known.filter(|known| *known > open && close.is_none_or(|close| close > *known)) {
            lines.push(format!(
                "After {}, where the forecast ends, the air is unknown.",
                self.words.when(known, at)
            ));
        }
        lines
    }

    /// The last moment to start the next coat, where it is known how long one takes.
    fn last_call(&self) -> Option<Event> {
        let takes = self.area.takes?;
        let call = self.coat.last_call?;
        let title = format!("{}: last call to start the {}", self.area.name, self.next());
        let mut event = self.warned("last-call", call, &title, self.leads.last_call);
        event.lines.insert(0, format!("A coat takes {} here.", crate::engine::units::duration_text(takes)));
        Some(event)
    }

    /// A moment that warns so long before.
    fn warned(&self, step: &str, at: Moment, title: &str, before: TimeDelta) -> Event {
        let subject = Subject { area: &self.area.name, step, layer: self.coat.coat.layer };
        let mut event = Event::at(self.issue, &subject, at, title);
        event.alarms.push(Alarm { anchor: Anchor::Begin, before, text: title.to_owned() });
        event.lines = vec![format!("{} of {}.", ordinal_coat(self.coat.coat.layer), self.coat.product.id)];
        event.lines.extend(super::rests_on(self.words, self.issue));
        event
    }

    fn next(&self) -> String {
        ordinal_coat(self.area.coats + 1).to_lowercase()
    }
}
