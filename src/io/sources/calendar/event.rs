//! An event of a calendar file, parsed from its component.

use calcard::common::PartialDateTime;
use calcard::icalendar::{
    ICalendar, ICalendarComponent, ICalendarDuration, ICalendarEntry, ICalendarFreeBusyType,
    ICalendarParameterName, ICalendarParameterValue, ICalendarPeriod, ICalendarProperty, ICalendarStatus,
    ICalendarTransparency, ICalendarValue,
};
use chrono::{NaiveDateTime, TimeDelta};

use super::Faults;
use super::blocks::Block;
use super::moments::Span;
use super::repeat::Rule;
use super::zone::{Zone, Zones};
use crate::engine::hours::PlanProgress;
use crate::engine::units::{Moment, clean};

/// Why an event cannot be used, and the line.
type Fault = (usize, String);

/// A local time and its zone.
#[derive(Clone)]
pub(super) struct When {
    pub local: NaiveDateTime,
    pub zone: Zone,
    /// Whether it is a date without a time.
    pub whole_day: bool,
}

impl When {
    /// The moment; None if out of range.
    pub fn moment(&self) -> Option<Moment> {
        self.zone.moment(self.local)
    }

    fn read(at: &PartialDateTime, entry: &ICalendarEntry, zones: &Zones) -> Result<Self, Unread> {
        let read = at.to_date_time().ok_or(Unread::Time)?;
        if let Some(offset) = read.offset {
            let local = read.date_time - TimeDelta::seconds(offset.local_minus_utc().into());
            return Ok(Self {
                local,
                zone: Zone::Known(crate::engine::units::Civil::utc()),
                whole_day: false,
            });
        }
        let whole_day = !at.has_time();
        let zone = match entry.tz_id().filter(|_| !whole_day) {
            None => zones.person(),
            Some(name) => zones.named(name).ok_or_else(|| Unread::Zone(clean(name)))?,
        };
        Ok(Self { local: read.date_time, zone, whole_day })
    }
}

enum Unread {
    Time,
    Zone(String),
}

/// The duration of an event.
#[derive(Debug, Clone, Copy)]
pub(super) enum Length {
    /// Exact: its end was given.
    Exact(TimeDelta),
    /// Days by the calendar plus an exact time: its duration was given (RFC 5545 §3.8.5.3).
    Nominal(i64, TimeDelta),
}

impl Length {
    /// The end for a start.
    pub fn end(self, from: &When) -> Option<Moment> {
        match self {
            Self::Exact(length) => from.moment()?.checked_add_signed(length),
            Self::Nominal(days, rest) => {
                let local = from.local.checked_add_signed(TimeDelta::try_days(days)?)?;
                from.zone.moment(local)?.checked_add_signed(rest)
            }
        }
    }

    /// An upper bound.
    pub fn at_most(self) -> TimeDelta {
        match self {
            Self::Exact(length) => length,
            Self::Nominal(days, rest) => TimeDelta::try_days(days + 1).unwrap_or_default() + rest,
        }
    }

    fn of(duration: &ICalendarDuration) -> Option<Self> {
        let days = i64::from(duration.weeks) * 7 + i64::from(duration.days);
        let seconds =
            i64::from(duration.hours) * 3600 + i64::from(duration.minutes) * 60 + i64::from(duration.seconds);
        // Ten thousand years are rejected; chrono could not represent them.
        let sound = !duration.neg && days < 3_650_000 && seconds < 315_360_000_000;
        sound.then(|| Self::Nominal(days, TimeDelta::seconds(seconds)))
    }
}

/// An event.
pub(super) struct Event {
    /// Its UID.
    pub identity: String,
    /// Its title.
    pub title: String,
    pub start: When,
    pub length: Length,
    /// Its rules, each with its line.
    pub rules: Vec<(usize, Rule)>,
    /// Additional starts, some with their own end.
    pub further: Vec<(When, Option<Length>)>,
    /// Excluded starts.
    pub except: Vec<When>,
    /// The start that it replaces in the event with the same UID, and whether it replaces all later ones too.
    pub replaces: Option<(When, bool)>,
    /// Whether it does not count as busy.
    pub free: bool,
}

impl Event {
    pub fn read(block: &Block<'_>, zones: &Zones, faults: &mut Faults) -> Result<Self, Fault> {
        let parts = components(block);
        let event = parts.first().ok_or_else(|| (block.line, "an event cannot be read".to_owned()))?;
        let title = text_of(event, &ICalendarProperty::Summary).map(clean).unwrap_or_default();
        let mut reader = Reader { block, title: &title, zones, faults };
        let start = reader.one(event, &ICalendarProperty::Dtstart, "DTSTART")?;
        let start = start.ok_or_else(|| reader.fault("DTSTART", "it has no start (DTSTART)"))?;
        let length = reader.length(event, &start)?;
        let (mut rules, mut further, mut except) = (Vec::new(), Vec::new(), Vec::new());
        for entry in &event.entries {
            match entry.name {
                ICalendarProperty::Rrule => {
                    rules.push((block.line_of("RRULE"), reader.rule(entry, &start.zone)?))
                }
                ICalendarProperty::Rdate => reader.further(entry, &mut further),
                ICalendarProperty::Exdate => reader.except(entry, &mut except),
                ICalendarProperty::Exrule => {
                    reader.tell("EXRULE", "its rule for exceptions (EXRULE) is not supported");
                }
                _ => {}
            }
        }
        let replaces = reader.one(event, &ICalendarProperty::RecurrenceId, "RECURRENCE-ID")?;
        let later = event
            .property(&ICalendarProperty::RecurrenceId)
            .is_some_and(|entry| entry.has_parameter(&ICalendarParameterName::Range));
        let cancelled = event.status() == Some(&ICalendarStatus::Cancelled);
        let transparent = event.transparency() == Some(&ICalendarTransparency::Transparent);
        let identity = event.uid().map_or_else(|| format!("line {}", block.line), str::to_owned);
        Ok(Self {
            identity,
            start,
            length,
            rules,
            further,
            except,
            replaces: replaces.map(|replaces| (replaces, later)),
            free: cancelled || transparent,
            title,
        })
    }
}

struct Reader<'r, 'a> {
    block: &'r Block<'a>,
    title: &'r str,
    zones: &'r Zones,
    faults: &'r mut Faults,
}

impl Reader<'_, '_> {
    fn fault(&self, property: &str, what: &str) -> Fault {
        (self.block.line_of(property), format!("{}: {what}", named(self.title)))
    }

    fn tell(&mut self, property: &str, what: &str) {
        let (block, title) = (self.block, self.title);
        self.faults.add_with(|| (block.line_of(property), format!("{}: {what}", named(title))));
    }

    /// The time of a property that occurs once; None if it is missing.
    fn one(
        &mut self,
        event: &ICalendarComponent,
        name: &ICalendarProperty,
        shown: &str,
    ) -> Result<Option<When>, Fault> {
        let Some(entry) = event.property(name) else { return Ok(None) };
        let unread = || format!("its {shown} is not a date or time");
        let Some(ICalendarValue::PartialDateTime(at)) = entry.values.first() else {
            return Err(self.fault(shown, &unread()));
        };
        self.when(at, entry, shown).map(Some).ok_or_else(|| self.fault(shown, &unread()))
    }

    /// A time. If its zone is unknown it is taken in the person's own zone, and that is reported.
    fn when(&mut self, at: &PartialDateTime, entry: &ICalendarEntry, shown: &str) -> Option<When> {
        match When::read(at, entry, self.zones) {
            Ok(when) => Some(when),
            Err(Unread::Time) => None,
            Err(Unread::Zone(name)) => {
                self.tell(shown, &format!("its time zone \"{name}\" is unknown; yours is used"));
                let local = at.to_date_time()?.date_time;
                Some(When { local, zone: self.zones.person(), whole_day: false })
            }
        }
    }

    fn length(&mut self, event: &ICalendarComponent, start: &When) -> Result<Length, Fault> {
        if let Some(entry) = event.property(&ICalendarProperty::Duration) {
            let length = match entry.values.first() {
                Some(ICalendarValue::Duration(duration)) => Length::of(duration),
                _ => None,
            };
            return length.ok_or_else(|| self.fault("DURATION", "its DURATION is not valid; PT1H30M is"));
        }
        let Some(end) = self.one(event, &ICalendarProperty::Dtend, "DTEND")? else {
            return Ok(Length::Nominal(i64::from(start.whole_day), TimeDelta::zero()));
        };
        if start.whole_day && end.whole_day {
            let days = (end.local - start.local).num_days();
            let backwards = || self.fault("DTEND", "it ends before it starts");
            return if days < 0 { Err(backwards()) } else { Ok(Length::Nominal(days, TimeDelta::zero())) };
        }
        let length = end.moment().zip(start.moment()).map(|(end, start)| end - start);
        match length {
            Some(length) if length >= TimeDelta::zero() => Ok(Length::Exact(length)),
            _ => Err(self.fault("DTEND", "it ends before it starts")),
        }
    }

    fn rule(&self, entry: &ICalendarEntry, zone: &Zone) -> Result<Rule, Fault> {
        let read = match entry.values.first() {
            Some(ICalendarValue::RecurrenceRule(rule)) => Rule::new(rule, zone),
            _ => None,
        };
        read.ok_or_else(|| self.fault("RRULE", "its rule (RRULE) cannot be read"))
    }

    fn further(&mut self, entry: &ICalendarEntry, further: &mut Vec<(When, Option<Length>)>) {
        for value in &entry.values {
            let read = match value {
                ICalendarValue::PartialDateTime(at) => self.when(at, entry, "RDATE").map(|at| (at, None)),
                ICalendarValue::Period(period) => {
                    self.period(period, entry, "RDATE").map(|(at, length)| (at, Some(length)))
                }
                _ => None,
            };
            match read {
                Some(read) => further.push(read),
                None => self.tell("RDATE", "one of its further dates (RDATE) is not valid"),
            }
        }
    }

    fn except(&mut self, entry: &ICalendarEntry, except: &mut Vec<When>) {
        for value in &entry.values {
            let read = match value {
                ICalendarValue::PartialDateTime(at) => self.when(at, entry, "EXDATE"),
                _ => None,
            };
            match read {
                Some(read) => except.push(read),
                None => self.tell("EXDATE", "one of its excepted dates (EXDATE) is not valid"),
            }
        }
    }

    fn period(
        &mut self,
        period: &ICalendarPeriod,
        entry: &ICalendarEntry,
        shown: &str,
    ) -> Option<(When, Length)> {
        match period {
            ICalendarPeriod::Range { start, end } => {
                let (start, end) = (self.when(start, entry, shown)?, self.when(end, entry, shown)?);
                let length = end.moment()? - start.moment()?;
                (length >= TimeDelta::zero()).then_some((start, Length::Exact(length)))
            }
            ICalendarPeriod::Duration { start, duration } => {
                Some((self.when(start, entry, shown)?, Length::of(duration)?))
            }
        }
    }
}

/// The busy times of a VFREEBUSY.
pub(super) fn free_busy(
    block: &Block<'_>,
    zones: &Zones,
    span: &Span,
    source: &str,
    faults: &mut Faults,
) -> Vec<PlanProgress> {
    let parts = components(block);
    let mut reader = Reader { block, title: "busy", zones, faults };
    let mut busy = Vec::new();
    let is_free = |entry: &ICalendarEntry| {
        let kind = entry.parameter(&ICalendarParameterName::Fbtype);
        matches!(kind, Some(ICalendarParameterValue::Fbtype(ICalendarFreeBusyType::Free)))
    };
    let entries = parts.iter().take(1).flat_map(|part| &part.entries);
    for entry in entries.filter(|entry| entry.name == ICalendarProperty::Freebusy && !is_free(entry)) {
        for value in &entry.values {
            let ends = match value {
                ICalendarValue::Period(period) => {
                    let read = reader.period(period, entry, "FREEBUSY");
                    read.and_then(|(start, length)| Some((start.moment()?, length.end(&start)?)))
                }
                _ => None,
            };
            match ends {
                Some((from, to)) if span.meets(from, to) => {
                    busy.push(PlanProgress { from, to, what: "busy".into(), source: source.into() });
                }
                Some(_) => {}
                None => reader.tell("FREEBUSY", "one of its times is not valid"),
            }
        }
    }
    busy
}

/// A component in the library's form, with its parts.
pub(super) fn components(block: &Block<'_>) -> Vec<ICalendarComponent> {
    let alone = format!("BEGIN:VCALENDAR\r\n{}\r\nEND:VCALENDAR\r\n", block.text);
    let mut parts = ICalendar::parse(alone).map(|calendar| calendar.components).unwrap_or_default();
    // The enclosing calendar.
    if !parts.is_empty() {
        parts.remove(0);
    }
    parts
}

/// An event in a report.
pub(super) fn named(title: &str) -> String {
    if title.is_empty() { "an event without a title".into() } else { format!("event \"{title}\"") }
}

fn text_of<'e>(event: &'e ICalendarComponent, name: &ICalendarProperty) -> Option<&'e str> {
    event.property(name)?.values.first()?.as_text()
}
