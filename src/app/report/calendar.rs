//! Sessions, windows and deadlines as iCalendar (RFC 5545), with alarms, so that a phone warns too.
//!
//! An event keeps its identity whatever its time does, so that a second import moves it and does not double
//! it. Moments are UTC: no time zone has to be described.

mod cancelled;
mod deadlines;
mod identity;
mod kept;
mod sessions;

use calcard::common::PartialDateTime;
use calcard::icalendar::{
    ICalendar, ICalendarAction, ICalendarComponent, ICalendarComponentType, ICalendarDuration,
    ICalendarEntry, ICalendarParameter, ICalendarProperty, ICalendarRelated, ICalendarStatus,
    ICalendarTransparency,
};
use chrono::{SubsecRound, TimeDelta};

pub use cancelled::{gone, is_own};
pub use deadlines::deadlines;
pub use identity::{Issue, JobIdentity, Subject};
pub use kept::Kept;
pub use sessions::sessions;

use crate::app::wording::Words;
use crate::engine::units::{Moment, clean};

/// Who wrote a calendar, as it says itself.
const PRODUCT: &str = "-//curewright//curewright//EN";

/// Something that a calendar shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// What tells it from all others, whenever it is.
    pub uid: String,
    /// Which version of it this is; a calendar keeps the highest.
    pub sequence: u32,
    /// When this version was made.
    pub stamp: Moment,
    /// When it begins.
    pub from: Moment,
    /// When it ends; None for a moment.
    pub to: Option<Moment>,
    /// A line.
    pub title: String,
    /// What else there is to say, a line each.
    pub lines: Vec<String>,
    /// Whether the person is busy then.
    pub busy: bool,
    /// When it warns.
    pub alarms: Vec<Alarm>,
    /// Whether it is called off.
    pub cancelled: bool,
}

/// A warning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alarm {
    /// Before what.
    pub anchor: Anchor,
    /// How long before.
    pub before: TimeDelta,
    /// What it says.
    pub text: String,
}

/// What an alarm is set by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The beginning of the event.
    Begin,
    /// Its end; of a moment, the same.
    End,
}

impl Event {
    /// A session of work: the person is busy, and warned so long before.
    pub fn session(
        issue: Issue,
        subject: &Subject<'_>,
        (from, to): (Moment, Moment),
        title: &str,
        lines: Vec<String>,
        before: TimeDelta,
    ) -> Self {
        let alarm = Alarm { anchor: Anchor::Begin, before, text: title.to_owned() };
        let event = Self::at(issue, subject, from, title);
        Self { to: Some(to), lines, busy: true, alarms: vec![alarm], ..event }
    }

    /// A moment of which nothing is known but its title.
    fn at(issue: Issue, subject: &Subject<'_>, from: Moment, title: &str) -> Self {
        Self {
            uid: issue.job.uid(subject),
            sequence: issue.sequence,
            stamp: issue.at,
            from,
            to: None,
            title: title.to_owned(),
            lines: Vec::new(),
            busy: false,
            alarms: Vec::new(),
            cancelled: false,
        }
    }

    /// When it is over.
    pub fn end(&self) -> Moment {
        self.to.unwrap_or(self.from)
    }

    fn write(&self, calendar: &mut ICalendar) {
        let mut event = ICalendarComponent::new(ICalendarComponentType::VEvent);
        event.add_uid(&self.uid);
        event.add_dtstamp(utc(self.stamp));
        event.add_sequence(self.sequence.into());
        event.add_property(ICalendarProperty::Dtstart, utc(self.from));
        if let Some(to) = self.to.filter(|to| *to > self.from) {
            event.add_property(ICalendarProperty::Dtend, utc(to));
        }
        event.add_property(ICalendarProperty::Summary, clean(&self.title));
        if !self.lines.is_empty() {
            let lines: Vec<String> = self.lines.iter().map(|line| clean(line)).collect();
            event.add_property(ICalendarProperty::Description, lines.join("\n"));
        }
        let busy = if self.busy { ICalendarTransparency::Opaque } else { ICalendarTransparency::Transparent };
        event.add_property(ICalendarProperty::Transp, busy);
        let status = if self.cancelled { ICalendarStatus::Cancelled } else { ICalendarStatus::Confirmed };
        event.add_property(ICalendarProperty::Status, status);
        let event_id = add(calendar, 0, event);
        for alarm in self.alarms.iter().filter(|_| !self.cancelled) {
            let ends = self.to.is_some_and(|to| to > self.from);
            add(calendar, event_id, alarm.component(ends));
        }
    }
}

impl Alarm {
    /// An event without an end has no end to be warned of (RFC 5545 §3.8.6.3).
    fn component(&self, ends: bool) -> ICalendarComponent {
        let mut alarm = ICalendarComponent::new(ICalendarComponentType::VAlarm);
        alarm.add_property(ICalendarProperty::Action, ICalendarAction::Display);
        alarm.add_property(ICalendarProperty::Description, clean(&self.text));
        let before = ICalendarDuration::from_seconds(-self.before.num_seconds().max(0));
        let mut trigger = ICalendarEntry::new(ICalendarProperty::Trigger).with_value(before);
        if self.anchor == Anchor::End && ends {
            trigger.add_param(ICalendarParameter::related(ICalendarRelated::End));
        }
        alarm.entries.push(trigger);
        alarm
    }
}

/// The events as a calendar file; nothing where there are none, for a calendar holds at least one.
pub fn write(events: &[Event]) -> String {
    let mut calendar = ICalendar::default();
    let mut head = ICalendarComponent::new(ICalendarComponentType::VCalendar);
    head.add_property(ICalendarProperty::Version, "2.0");
    head.add_property(ICalendarProperty::Prodid, PRODUCT);
    calendar.components.push(head);
    for event in events {
        event.write(&mut calendar);
    }
    let mut text = String::new();
    // Writing to a text does not fail.
    match calendar.write_to(&mut text) {
        Ok(()) if !events.is_empty() => text,
        _ => String::new(),
    }
}

/// What every event says at its end.
fn rests_on(words: &Words, issue: Issue) -> [String; 2] {
    [
        format!(
            "Calculated {} {} with the data of that time: export it again when temperatures have changed.",
            words.civil.local(issue.at).format("%a %-d %b %Y"),
            words.civil.time_of_day(issue.at)
        ),
        "The product's own data sheet comes first.".to_owned(),
    ]
}

/// Puts a component into another, and tells its number.
fn add(calendar: &mut ICalendar, parent: u32, component: ICalendarComponent) -> u32 {
    let id = u32::try_from(calendar.components.len()).unwrap_or(u32::MAX);
    calendar.components.push(component);
    if let Some(parent) = calendar.components.get_mut(parent as usize) {
        parent.component_ids.push(id);
    }
    id
}

fn utc(moment: Moment) -> PartialDateTime {
    PartialDateTime::from_utc_timestamp(moment.round_subsecs(0).timestamp())
}

#[cfg(test)]
mod tests;
