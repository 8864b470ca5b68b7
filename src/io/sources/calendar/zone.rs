//! Time zones of a calendar file: IANA names, zones described in the file, and the person's own for times
//! without one.

use std::collections::HashMap;
use std::str::FromStr;
use std::sync::Arc;

use calcard::common::timezone::Tz;
use calcard::icalendar::{ICalendarComponent, ICalendarComponentType, ICalendarProperty, ICalendarValue};
use chrono::{LocalResult, NaiveDateTime, TimeDelta};

use super::Faults;
use super::blocks::Block;
use super::event::components;
use super::moments::Span;
use super::repeat::{Budget, Rule};
use crate::engine::units::{Civil, ClockFace, Moment, clean};

/// The zone of an event's times.
#[derive(Clone)]
pub(super) enum Zone {
    /// From the IANA database.
    Known(Civil),
    /// Described in the file.
    Described(Arc<Described>),
}

impl Zone {
    /// The moment of a local time. A skipped one uses the offset before the gap, of a repeated one the first
    /// counts (RFC 5545 §3.3.5).
    pub fn moment(&self, naive: NaiveDateTime) -> Option<Moment> {
        match self {
            Self::Described(described) => described.moment(naive),
            Self::Known(civil) => match civil.moments(naive) {
                LocalResult::Single(moment) => Some(moment),
                LocalResult::Ambiguous(one, other) => Some(one.min(other)),
                LocalResult::None => (1..=26).find_map(|hours| {
                    let before = naive.checked_sub_signed(TimeDelta::hours(hours))?;
                    let moment = civil.moments(before).earliest()?;
                    moment.checked_add_signed(TimeDelta::hours(hours))
                }),
            },
        }
    }

    /// The local time of a moment.
    pub fn local(&self, moment: Moment) -> NaiveDateTime {
        match self {
            Self::Known(civil) => civil.local(moment).naive_local(),
            Self::Described(described) => moment.naive_utc() + described.offset(moment),
        }
    }
}

/// A zone described in a file: UTC offsets from moments on.
pub(super) struct Described {
    /// Before the first change.
    first: TimeDelta,
    changes: Vec<(Moment, TimeDelta)>,
}

impl Described {
    fn offset(&self, moment: Moment) -> TimeDelta {
        let after = self.changes.partition_point(|(at, _)| *at <= moment);
        after.checked_sub(1).and_then(|index| self.changes.get(index)).map_or(self.first, |change| change.1)
    }

    fn moment(&self, naive: NaiveDateTime) -> Option<Moment> {
        let under = |offset: TimeDelta| naive.checked_sub_signed(offset).map(|utc| utc.and_utc());
        // No UTC offset exceeds a day.
        let near = naive.and_utc().checked_sub_signed(TimeDelta::days(2))?;
        let mut offset = self.offset(near);
        let next = self.changes.partition_point(|(at, _)| *at <= near);
        for (at, to) in self.changes.iter().skip(next) {
            if under(offset)? < *at {
                break;
            }
            if under(*to)? < *at {
                // Skipped by the clocks.
                return under(offset);
            }
            offset = *to;
        }
        under(offset)
    }

    /// From a VTIMEZONE; None if it is invalid.
    fn read(zone: &[ICalendarComponent], span: &Span, budget: &mut Budget) -> Option<Self> {
        let mut changes: Vec<(Moment, TimeDelta, TimeDelta)> = Vec::new();
        let kinds = [ICalendarComponentType::Standard, ICalendarComponentType::Daylight];
        for part in zone.iter().filter(|part| kinds.contains(&part.component_type)) {
            let from = offset_of(part, &ICalendarProperty::Tzoffsetfrom)?;
            let to = offset_of(part, &ICalendarProperty::Tzoffsetto)?;
            let onsets = onsets(part, from, span, budget)?;
            changes.extend(onsets.into_iter().map(|onset| (onset, from, to)));
        }
        changes.sort_unstable();
        let first = changes.first()?.1;
        Some(Self { first, changes: changes.into_iter().map(|(at, _, to)| (at, to)).collect() })
    }
}

/// The start of standard or daylight time, in the local time before it.
fn onsets(
    part: &ICalendarComponent,
    before: TimeDelta,
    span: &Span,
    budget: &mut Budget,
) -> Option<Vec<Moment>> {
    let (mut start, mut more, mut rules) = (None, Vec::new(), Vec::new());
    for entry in &part.entries {
        for value in &entry.values {
            match (&entry.name, value) {
                (ICalendarProperty::Dtstart, ICalendarValue::PartialDateTime(at)) => {
                    start = Some(at.to_date_time()?.date_time);
                }
                (ICalendarProperty::Rdate, ICalendarValue::PartialDateTime(at)) => {
                    more.push(at.to_date_time()?.date_time);
                }
                (ICalendarProperty::Rrule, ICalendarValue::RecurrenceRule(rule)) => rules.push(rule),
                _ => {}
            }
        }
    }
    let start = start?;
    more.push(start);
    let moment = |local: NaiveDateTime| local.checked_sub_signed(before).map(|utc| utc.and_utc());
    let mut onsets = more.into_iter().map(moment).collect::<Option<Vec<Moment>>>()?;
    for rule in rules {
        let rule = Rule::new(rule, &Zone::Known(Civil::utc()))?;
        let locals = rule.starts(start, (start, span.naive_to()), budget).ok()?;
        let going = locals.into_iter().filter_map(|local| Some((local, moment(local)?)));
        onsets.extend(going.filter(|(local, at)| !rule.is_over(*local, *at)).map(|(_, at)| at));
    }
    onsets.sort_unstable();
    onsets.dedup();
    Some(onsets)
}

fn offset_of(part: &ICalendarComponent, name: &ICalendarProperty) -> Option<TimeDelta> {
    let ICalendarValue::PartialDateTime(offset) = part.property(name)?.values.first()? else { return None };
    let minutes = i64::from(offset.tz_hour?) * 60 + i64::from(offset.tz_minute.unwrap_or(0));
    Some(TimeDelta::minutes(if offset.tz_minus { -minutes } else { minutes }))
}

/// The zones of a file.
pub(super) struct Zones {
    person: Civil,
    described: HashMap<String, Arc<Described>>,
}

impl Zones {
    /// Reads the zones that a file describes.
    pub fn read<'b, 'a: 'b>(
        blocks: impl Iterator<Item = &'b Block<'a>>,
        person: &Civil,
        span: &Span,
        budget: &mut Budget,
        faults: &mut Faults,
    ) -> Self {
        let mut zones = Self { person: person.clone(), described: HashMap::new() };
        for block in blocks {
            let parts = components(block);
            let name = parts.first().and_then(|zone| {
                let value = zone.property(&ICalendarProperty::Tzid)?.values.first()?;
                value.as_text().map(str::to_owned)
            });
            let Some(name) = name else {
                faults.add(block.line, "a time zone without a name (TZID) is ignored".into());
                continue;
            };
            // Zones with an IANA name are not needed.
            if known(&name).is_some() {
                continue;
            }
            match Described::read(&parts, span, budget) {
                Some(described) => {
                    zones.described.insert(name, Arc::new(described));
                }
                None => faults.add(block.line, format!("the time zone \"{}\" cannot be read", clean(&name))),
            }
        }
        zones
    }

    /// The person's zone.
    pub fn person(&self) -> Zone {
        Zone::Known(self.person.clone())
    }

    /// The zone of this name; None if unknown.
    pub fn named(&self, name: &str) -> Option<Zone> {
        if let Some(zone) = known(name) {
            return Some(zone);
        }
        if let Some(described) = self.described.get(name) {
            return Some(Zone::Described(Arc::clone(described)));
        }
        // Some programs prefix the name: "/example.org/Europe/Berlin".
        let parts = std::iter::successors(name.strip_prefix('/'), |rest| Some(rest.split_once('/')?.1));
        let guessed = || Tz::from_str(name).ok().filter(|zone| !zone.is_floating()).map(zone);
        parts.skip(1).find_map(known).or_else(guessed)
    }
}

/// An IANA zone by its exact name.
fn known(name: &str) -> Option<Zone> {
    Tz::from_str(name).ok().filter(|zone| zone.name().as_deref() == Some(name)).map(zone)
}

fn zone(zone: Tz) -> Zone {
    Zone::Known(Civil::new(zone, ClockFace::default()))
}
