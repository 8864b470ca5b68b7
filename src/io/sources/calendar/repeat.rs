//! Recurrence rules (RFC 5545 §3.3.10), expanded in local time inside a span.

use calcard::common::timezone::Tz;
use calcard::common::{CalendarScale, PartialDateTime};
use calcard::icalendar::{
    ICalendar, ICalendarComponent, ICalendarComponentType, ICalendarFrequency, ICalendarProperty,
    ICalendarRecurrenceRule, ICalendarSkip,
};
use chrono::{Datelike, NaiveDateTime, TimeDelta, Timelike};

use super::zone::Zone;
use crate::engine::units::Moment;

/// The most repetitions of one rule, from the start of its expansion.
const PER_RULE: usize = 200_000;
/// The cost of a rule without occurrences: the library has searched that far.
const IN_VAIN: usize = 10_000;

/// The remaining budget.
pub(super) struct Budget(usize);

impl Budget {
    pub const fn new(repetitions: usize) -> Self {
        Self(repetitions)
    }

    fn spend(&mut self, repetitions: usize) {
        self.0 = self.0.saturating_sub(repetitions);
    }
}

/// Why a rule was not followed to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unfollowed {
    /// It is not valid.
    Invalid,
    /// It uses another calendar than the Gregorian.
    OtherCalendar,
    /// It exceeds the budget.
    TooMany,
}

/// A rule.
pub(super) struct Rule {
    rule: ICalendarRecurrenceRule,
    until: Until,
}

#[derive(Clone, Copy)]
enum Until {
    Never,
    Moment(Moment),
    /// In the event's local time.
    Local(NaiveDateTime),
}

impl Rule {
    /// A rule of an event in a zone; None if its end is not a date.
    pub fn new(rule: &ICalendarRecurrenceRule, zone: &Zone) -> Option<Self> {
        let until = match &rule.until {
            None => Until::Never,
            Some(until) => {
                let end = until.to_date_time()?;
                match (end.offset, until.has_time()) {
                    (Some(offset), _) => Until::Moment(
                        (end.date_time - TimeDelta::seconds(offset.local_minus_utc().into())).and_utc(),
                    ),
                    (None, true) => Until::Moment(zone.moment(end.date_time)?),
                    // Including all of that day.
                    (None, false) => Until::Local(end.date_time + TimeDelta::days(1) - TimeDelta::seconds(1)),
                }
            }
        };
        Some(Self { rule: rule.clone(), until })
    }

    /// Whether it has ended before a start.
    pub fn is_over(&self, local: NaiveDateTime, moment: Moment) -> bool {
        match self.until {
            Until::Never => false,
            Until::Moment(until) => moment > until,
            Until::Local(until) => local > until,
        }
    }

    /// Its local times in a span, for an event that starts at `start`, whether or not the occurrence is over by
    /// then.
    pub fn starts(
        &self,
        start: NaiveDateTime,
        (from, to): (NaiveDateTime, NaiveDateTime),
        budget: &mut Budget,
    ) -> Result<Vec<NaiveDateTime>, Unfollowed> {
        let gregorian = self.rule.rscale.as_ref().is_none_or(|scale| *scale == CalendarScale::Gregorian);
        if !gregorian || self.rule.skip.is_some_and(|skip| skip != ICalendarSkip::Omit) {
            return Err(Unfollowed::OtherCalendar);
        }
        if start > to {
            return Ok(Vec::new());
        }
        let limit = PER_RULE.min(budget.0);
        if limit == 0 {
            return Err(Unfollowed::TooMany);
        }
        let (mut rule, filter) = loosened(&self.rule);
        rule.until = Some(partial(to));
        let found = expand(rule, self.begins(start, from), limit).ok_or(Unfollowed::Invalid)?;
        budget.spend(if found.is_empty() { IN_VAIN } else { found.len() });
        let whole = found.len() < limit;
        let mut starts: Vec<NaiveDateTime> = found.into_iter().filter(|at| filter.passes(*at)).collect();
        let count = self.rule.count.map_or(usize::MAX, |count| count as usize);
        let enough = starts.len() >= count;
        starts.truncate(count);
        starts.retain(|at| *at >= from);
        if whole || enough { Ok(starts) } else { Err(Unfollowed::TooMany) }
    }

    /// The start of the expansion. A rule without a count and with a period from a second to a week can start
    /// at any of its own steps, so that old events cost nothing.
    fn begins(&self, start: NaiveDateTime, from: NaiveDateTime) -> NaiveDateTime {
        let beat = match self.rule.freq {
            ICalendarFrequency::Secondly => TimeDelta::seconds(1),
            ICalendarFrequency::Minutely => TimeDelta::minutes(1),
            ICalendarFrequency::Hourly => TimeDelta::hours(1),
            ICalendarFrequency::Daily => TimeDelta::days(1),
            ICalendarFrequency::Weekly => TimeDelta::weeks(1),
            ICalendarFrequency::Monthly | ICalendarFrequency::Yearly => return start,
        };
        let beat = beat.num_seconds() * i64::from(self.rule.interval.unwrap_or(1).max(1));
        let passed = (from - start).num_seconds();
        if self.rule.count.is_some() || passed < 2 * beat {
            return start;
        }
        let beats = passed / beat - 1;
        start.checked_add_signed(TimeDelta::seconds(beats * beat)).unwrap_or(start)
    }
}

/// Parts that only exclude repetitions. The library steps by them in rules by the minute or second, and then
/// misses occurrences, so they are applied afterwards.
#[derive(Default)]
struct Filter {
    hours: Vec<u8>,
    minutes: Vec<u8>,
    seconds: Vec<u8>,
}

impl Filter {
    fn passes(&self, at: NaiveDateTime) -> bool {
        let among =
            |allowed: &[u8], value: u32| allowed.is_empty() || allowed.iter().any(|a| u32::from(*a) == value);
        among(&self.hours, at.hour())
            && among(&self.minutes, at.minute())
            && among(&self.seconds, at.second())
    }
}

/// A rule for the library, and the exclusions for its result. The caller keeps the count.
fn loosened(rule: &ICalendarRecurrenceRule) -> (ICalendarRecurrenceRule, Filter) {
    let (mut rule, mut filter) = (rule.clone(), Filter::default());
    let by_hour = rule.freq == ICalendarFrequency::Hourly;
    let by_minute = rule.freq == ICalendarFrequency::Minutely;
    let by_second = rule.freq == ICalendarFrequency::Secondly;
    if by_hour || by_minute || by_second {
        filter.hours = std::mem::take(&mut rule.byhour);
    }
    if by_minute || by_second {
        filter.minutes = std::mem::take(&mut rule.byminute);
    }
    if by_second {
        filter.seconds = std::mem::take(&mut rule.bysecond);
    }
    // In a set of one, the first and the last are the same.
    let finer =
        (by_hour && !rule.byminute.is_empty()) || ((by_hour || by_minute) && !rule.bysecond.is_empty());
    let one = (by_hour || by_minute || by_second) && !finer;
    if one && rule.bysetpos.iter().any(|position| position.abs() == 1) {
        rule.bysetpos.clear();
    }
    // Exclusions must not be counted.
    let filters = !(filter.hours.is_empty() && filter.minutes.is_empty() && filter.seconds.is_empty());
    if filters {
        rule.count = None;
    }
    (rule, filter)
}

/// Expands a rule with the library; None if it is invalid.
fn expand(rule: ICalendarRecurrenceRule, start: NaiveDateTime, limit: usize) -> Option<Vec<NaiveDateTime>> {
    let mut event = ICalendarComponent::new(ICalendarComponentType::VEvent);
    event.add_property(ICalendarProperty::Dtstart, partial(start));
    event.add_property(ICalendarProperty::Rrule, rule);
    let expanded = ICalendar { components: vec![event] }.expand_dates(Tz::Floating, limit);
    let valid = expanded.errors.is_empty();
    valid.then(|| expanded.events.iter().map(|event| event.start.naive_local()).collect())
}

/// A local time in the library's type.
fn partial(at: NaiveDateTime) -> PartialDateTime {
    PartialDateTime {
        year: u16::try_from(at.year()).ok(),
        month: u8::try_from(at.month()).ok(),
        day: u8::try_from(at.day()).ok(),
        hour: u8::try_from(at.hour()).ok(),
        minute: u8::try_from(at.minute()).ok(),
        second: u8::try_from(at.second()).ok(),
        ..PartialDateTime::default()
    }
}
