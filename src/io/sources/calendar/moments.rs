//! The occurrences of an event in a span: start, rules, additions, exclusions, moves.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::Faults;
use super::event::{Event, Length, When, named};
use super::repeat::{Budget, Unfollowed};
use crate::engine::hours::{PlanProgress, Stretch};
use crate::engine::units::Moment;

/// The requested span.
pub(super) struct Span(Stretch);

impl Span {
    pub const fn new(stretch: Stretch) -> Self {
        Self(stretch)
    }

    /// Whether an occurrence of this duration overlaps it.
    pub fn meets(&self, from: Moment, to: Moment) -> bool {
        from < self.0.1 && to > self.0.0 && from < to
    }

    /// The local times, in any zone, at which an occurrence of this duration must start to overlap it.
    fn naive(&self, length: TimeDelta) -> (NaiveDateTime, NaiveDateTime) {
        let early = self.0.0.naive_utc().checked_sub_signed(length + TimeDelta::days(2));
        (early.unwrap_or(NaiveDateTime::MIN), self.naive_to())
    }

    /// The latest local time of any zone before it ends.
    pub fn naive_to(&self) -> NaiveDateTime {
        self.0.1.naive_utc().checked_add_signed(TimeDelta::days(2)).unwrap_or(NaiveDateTime::MAX)
    }
}

/// The starts that other events with the same UID replace.
#[derive(Default)]
struct Replaced<'e> {
    moments: BTreeSet<Moment>,
    days: BTreeSet<NaiveDate>,
    /// The replacement from a start on.
    later: Vec<(Moment, &'e Event)>,
    /// The largest shift of a start by it, and its longest duration.
    furthest: TimeDelta,
}

impl<'e> Replaced<'e> {
    fn by(events: &'e [Event]) -> Self {
        let mut replaced = Self::default();
        for event in events {
            let Some((when, later)) = &event.replaces else { continue };
            if when.whole_day {
                replaced.days.insert(when.local.date());
            }
            let Some(moment) = when.moment() else { continue };
            replaced.moments.insert(moment);
            if *later {
                replaced.later.push((moment, event));
            }
        }
        replaced.later.sort_by_key(|(from, _)| *from);
        let moved =
            replaced.later.iter().filter_map(|(from, event)| Some((event.start.moment()? - *from).abs()));
        let longest = replaced.later.iter().map(|(_, event)| event.length.at_most());
        replaced.furthest = moved.max().unwrap_or_default() + longest.max().unwrap_or_default();
        replaced
    }

    fn has(&self, when: &When, moment: Moment) -> bool {
        self.moments.contains(&moment) || self.days.contains(&when.local.date())
    }

    /// The replacement for a start.
    fn instead(&self, moment: Moment) -> Option<(Moment, &'e Event)> {
        let after = self.later.partition_point(|(from, _)| *from <= moment);
        self.later.get(after.checked_sub(1)?).copied()
    }
}

/// Adds the busy times of the events with one UID that overlap the span.
pub(super) fn busy_times(
    events: &[Event],
    span: &Span,
    source: &str,
    budget: &mut Budget,
    faults: &mut Faults,
    busy: &mut Vec<PlanProgress>,
) {
    let replaced = Replaced::by(events);
    for event in events {
        let mut add = |event: &Event, from: Moment, to: Option<Moment>| {
            if let Some(to) = to.filter(|to| !event.free && span.meets(from, *to)) {
                busy.push(PlanProgress { from, to, what: event.title.clone(), source: source.to_owned() });
            }
        };
        if event.replaces.is_some() {
            if let Some(from) = event.start.moment() {
                add(event, from, event.length.end(&event.start));
            }
            continue;
        }
        for (from, (when, own)) in starts(event, &replaced, span, budget, faults) {
            match replaced.instead(from) {
                Some((since, other)) => {
                    let moved = other.start.moment().map_or(TimeDelta::zero(), |start| start - since);
                    let local = other.start.zone.local(from + moved);
                    let when = When { local, ..other.start.clone() };
                    add(other, from + moved, other.length.end(&when));
                }
                None => add(event, from, own.unwrap_or(event.length).end(&when)),
            }
        }
    }
}

/// The starts of an event in the span, each with its own end if it has one.
fn starts(
    event: &Event,
    replaced: &Replaced<'_>,
    span: &Span,
    budget: &mut Budget,
    faults: &mut Faults,
) -> BTreeMap<Moment, (When, Option<Length>)> {
    let within = span.naive(event.length.at_most().max(replaced.furthest));
    let mut found = BTreeMap::new();
    let at = |local| When { local, ..event.start.clone() };
    // The start is the first occurrence, whether or not the rule matches it.
    let first = event.start.moment().map(|moment| (moment, (event.start.clone(), None)));
    found.extend(first);
    for (line, rule) in &event.rules {
        match rule.starts(event.start.local, within, budget) {
            Ok(locals) => {
                let whens = locals.into_iter().map(at).filter_map(|when| Some((when.moment()?, when)));
                let going = whens.filter(|(moment, when)| !rule.is_over(when.local, *moment));
                found.extend(going.map(|(moment, when)| (moment, (when, None))));
            }
            Err(why) => {
                let why = match why {
                    Unfollowed::Invalid => "its rule (RRULE) is not valid",
                    Unfollowed::OtherCalendar => "its rule (RRULE) is not for the Gregorian calendar",
                    Unfollowed::TooMany => "its rule (RRULE) repeats too often",
                };
                faults.add(*line, format!("{}: {why}; its repetitions are ignored", named(&event.title)));
            }
        }
    }
    for (when, own) in &event.further {
        if let Some(moment) = when.moment() {
            found.insert(moment, (when.clone(), *own));
        }
    }
    let except: BTreeSet<Moment> = event.except.iter().filter_map(When::moment).collect();
    let except_days = event.except.iter().filter(|when| when.whole_day);
    let except_days: BTreeSet<NaiveDate> = except_days.map(|when| when.local.date()).collect();
    found.retain(|moment, (when, _)| {
        !except.contains(moment) && !except_days.contains(&when.local.date()) && !replaced.has(when, *moment)
    });
    found
}
