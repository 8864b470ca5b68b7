//! Local hours as stretches of time. Skipped local time is dropped; repeated local time never makes a stretch
//! longer than stated.

use chrono::{LocalResult, NaiveDate, NaiveDateTime, TimeDelta};

use super::{DaySpan, FreeHours, Stretch};
use crate::engine::units::{Civil, Moment};

/// Clocks have never skipped more than a day.
const LONGEST_SKIP: i64 = 26 * 60;

impl FreeHours {
    /// The free hours between two moments, ascending and disjoint.
    pub fn over(&self, from: Moment, to: Moment, civil: &Civil) -> Vec<Stretch> {
        let day_of = |moment: Moment| civil.local(moment).date_naive();
        // The hours of the day before may extend past midnight.
        let days = day_of(from).pred_opt().into_iter().flat_map(|day| day.iter_days());
        let mut found = Vec::new();
        for day in days.take_while(|day| *day <= day_of(to)) {
            let sessions = self.on(day).0;
            found.extend(sessions.into_iter().filter_map(|span| stretch(day, span, civil)));
        }
        let inside = |(begins, ends): Stretch| (begins.max(from), ends.min(to));
        joined(found.into_iter().map(inside))
    }

    /// The free hours that begin on a day.
    pub fn of_day(&self, day: NaiveDate, civil: &Civil) -> Vec<Stretch> {
        joined(self.on(day).0.into_iter().filter_map(|span| stretch(day, span, civil)))
    }
}

/// The start of a day; the first moment after midnight if the clocks skip it.
pub fn day_begins(day: NaiveDate, civil: &Civil) -> Option<Moment> {
    passes(day.and_time(chrono::NaiveTime::MIN), civil).map(|(first, _)| first)
}

/// Stretches in order, adjacent ones merged, empty ones dropped.
pub(super) fn joined(stretches: impl Iterator<Item = Stretch>) -> Vec<Stretch> {
    let mut given: Vec<Stretch> = stretches.filter(|(from, to)| from < to).collect();
    given.sort_unstable();
    let mut joined: Vec<Stretch> = Vec::with_capacity(given.len());
    for (from, to) in given {
        match joined.last_mut() {
            Some((_, end)) if from <= *end => *end = to.max(*end),
            _ => joined.push((from, to)),
        }
    }
    joined
}

/// A span of a day as a stretch of time; None if the clocks skip all of it.
fn stretch(day: NaiveDate, span: DaySpan, civil: &Civil) -> Option<Stretch> {
    let midnight = day.and_time(chrono::NaiveTime::MIN);
    let at = |minute: u16| midnight.checked_add_signed(TimeDelta::minutes(minute.into()));
    let (first, second) = (passes(at(span.from_minute())?, civil)?, passes(at(span.to_minute())?, civil)?);
    // Of a repeated local time the later moment starts and the earlier one ends the stretch. If both ends are
    // repeated, the first pass counts.
    let (begins, ends) = (first.1, second.0);
    let (begins, ends) = if begins < ends { (begins, ends) } else { (first.0, second.0) };
    (begins < ends).then_some((begins, ends))
}

/// The first and the last moment with this local time; for a skipped time both are the moment after it.
fn passes(naive: NaiveDateTime, civil: &Civil) -> Option<(Moment, Moment)> {
    for minutes in 0..LONGEST_SKIP {
        match civil.moments(naive.checked_add_signed(TimeDelta::minutes(minutes))?) {
            LocalResult::Single(moment) => return Some((moment, moment)),
            LocalResult::Ambiguous(one, other) => return Some((one.min(other), one.max(other))),
            LocalResult::None => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::super::text;
    use super::*;
    use crate::engine::units::ClockFace;
    use chrono::Timelike;
    use proptest::prelude::*;

    fn civil(zone: chrono_tz::Tz) -> Civil {
        Civil::new(zone, ClockFace::TwentyFour)
    }

    fn berlin() -> Civil {
        civil(chrono_tz::Europe::Berlin)
    }

    fn moment(text: &str) -> Moment {
        text.parse().unwrap()
    }

    fn hours(weekly: &str, except: &[&str]) -> FreeHours {
        FreeHours {
            weekly: Some(text::weekly(weekly).unwrap()),
            except: except.iter().map(|line| text::exception(line).unwrap()).collect(),
            busy: Vec::new(),
        }
    }

    /// "Mon 19:00-22:00" in local time, one per stretch.
    fn shown(hours: &FreeHours, from: &str, to: &str, civil: &Civil) -> Vec<String> {
        let show = |moment: Moment| civil.local(moment).format("%a %H:%M %z").to_string();
        let stretches = hours.over(moment(from), moment(to), civil);
        stretches.iter().map(|(from, to)| format!("{} - {}", show(*from), show(*to))).collect()
    }

    fn total(stretches: &[Stretch]) -> TimeDelta {
        stretches.iter().map(|(from, to)| *to - *from).sum()
    }

    #[test]
    fn a_week_of_evenings_and_a_saturday() {
        let hours = hours("Mon-Fri 19:00-22:00, Sat 9-17", &["2026-05-07 none", "2026-05-10 10-12, 14-15"]);
        assert_eq!(
            shown(&hours, "2026-05-05T18:00:00Z", "2026-05-10T22:00:00Z", &berlin()),
            [
                // In Berlin the span begins at 20:00.
                "Tue 20:00 +0200 - Tue 22:00 +0200",
                "Wed 19:00 +0200 - Wed 22:00 +0200",
                "Fri 19:00 +0200 - Fri 22:00 +0200",
                "Sat 09:00 +0200 - Sat 17:00 +0200",
                "Sun 10:00 +0200 - Sun 12:00 +0200",
                "Sun 14:00 +0200 - Sun 15:00 +0200",
            ]
        );
        assert_eq!(shown(&hours, "2026-05-05T18:00:00Z", "2026-05-05T18:00:00Z", &berlin()).len(), 0);
        assert_eq!(
            shown(&FreeHours::default(), "2026-05-05T18:00:00Z", "2026-06-05T18:00:00Z", &berlin()).len(),
            0
        );
    }

    #[test]
    fn hours_over_midnight_belong_to_the_day_they_begin_on() {
        let hours = hours("Fri 22-01, Sat 0-2", &["2026-05-09 none"]);
        let shown = |from, to| shown(&hours, from, to, &civil(chrono_tz::UTC));
        // Friday's night extends into Saturday, and Saturday's own early hours touch it.
        assert_eq!(
            shown("2026-05-01T00:00:00Z", "2026-05-03T00:00:00Z"),
            ["Fri 22:00 +0000 - Sat 02:00 +0000"]
        );
        // The exception replaces Saturday's own hours, not Friday's.
        assert_eq!(
            shown("2026-05-08T00:00:00Z", "2026-05-10T00:00:00Z"),
            ["Fri 22:00 +0000 - Sat 01:00 +0000"]
        );
        // A query that begins in the night still has the rest of it.
        assert_eq!(
            shown("2026-05-02T00:30:00Z", "2026-05-03T00:00:00Z"),
            ["Sat 00:30 +0000 - Sat 02:00 +0000"]
        );
    }

    #[test]
    fn a_skipped_hour_is_not_free() {
        let night = |weekly: &str| {
            let hours = hours(weekly, &[]);
            shown(&hours, "2026-03-28T23:00:00Z", "2026-03-29T10:00:00Z", &berlin())
        };
        // 2:00 to 3:00 is skipped.
        assert_eq!(night("Sun 1-5"), ["Sun 01:00 +0100 - Sun 05:00 +0200"]);
        assert_eq!(night("Sun 2:30-4"), ["Sun 03:00 +0200 - Sun 04:00 +0200"]);
        assert_eq!(night("Sun 1-2:30"), ["Sun 01:00 +0100 - Sun 03:00 +0200"]);
        assert_eq!(night("Sun 2:10-2:50").len(), 0);
        let week = hours("daily 1-5", &[]);
        let over = |from: &str, to: &str| total(&week.over(moment(from), moment(to), &berlin()));
        assert_eq!(over("2026-03-22T23:00:00Z", "2026-03-29T22:00:00Z"), TimeDelta::hours(7 * 4 - 1));
    }

    #[test]
    fn a_repeated_hour_never_makes_a_stretch_longer_than_stated() {
        let night = |weekly: &str| {
            let hours = hours(weekly, &[]);
            shown(&hours, "2026-10-24T22:00:00Z", "2026-10-25T10:00:00Z", &berlin())
        };
        // 2:00 to 3:00 is repeated.
        assert_eq!(night("Sun 1-5"), ["Sun 01:00 +0200 - Sun 05:00 +0100"]);
        assert_eq!(night("Sun 2:30-4"), ["Sun 02:30 +0100 - Sun 04:00 +0100"]);
        assert_eq!(night("Sun 1-2:30"), ["Sun 01:00 +0200 - Sun 02:30 +0200"]);
        assert_eq!(night("Sun 2:10-2:50"), ["Sun 02:10 +0200 - Sun 02:50 +0200"]);
        let week = hours("daily 0-24", &[]);
        let whole = week.over(moment("2026-10-18T22:00:00Z"), moment("2026-10-25T23:00:00Z"), &berlin());
        assert_eq!((whole.len(), total(&whole)), (1, TimeDelta::hours(7 * 24 + 1)));
    }

    #[test]
    fn a_day_that_was_skipped_has_no_hours() {
        // Samoa went from 29 to 31 December 2011.
        let apia = civil(chrono_tz::Pacific::Apia);
        let hours = hours("daily 9-17", &[]);
        let shown = shown(&hours, "2011-12-29T10:00:00Z", "2011-12-31T10:00:00Z", &apia);
        assert_eq!(shown, ["Thu 09:00 -1000 - Thu 17:00 -1000", "Sat 09:00 +1400 - Sat 17:00 +1400"]);
    }

    const ZONES: [chrono_tz::Tz; 5] = [
        chrono_tz::Europe::Berlin,
        chrono_tz::America::New_York,
        chrono_tz::Australia::Lord_Howe, // half an hour of summer time
        chrono_tz::Asia::Kolkata,
        chrono_tz::America::Santiago, // the clocks change at midnight
    ];

    fn lines() -> impl Strategy<Value = (String, u32, u32)> {
        (0..7_usize, 0..7_usize, 0..1440_u32, 15..700_u32).prop_map(|(first, last, from, length)| {
            let days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
            let clock = |minute: u32| format!("{:02}:{:02}", minute / 60 % 24, minute % 60);
            let (first, last) = (days[first], days[last]);
            (format!("{first}-{last} {}-{}", clock(from), clock(from + length)), from, length)
        })
    }

    proptest! {
        #[test]
        fn stretches_are_in_order_apart_and_inside_the_stated_hours(
            given in proptest::collection::vec(lines(), 1..4),
            zone in 0..ZONES.len(),
            start in 0..8760_i64,
            days in 1..20_i64,
        ) {
            let civil = civil(ZONES[zone]);
            let from = moment("2026-01-01T00:00:00Z") + TimeDelta::hours(start);
            let to = from + TimeDelta::days(days);
            let text: Vec<&str> = given.iter().map(|(line, ..)| line.as_str()).collect();
            let hours = hours(&text.join(", "), &[]);
            let found = hours.over(from, to, &civil);
            for stretch in &found {
                prop_assert!(from <= stretch.0 && stretch.0 < stretch.1 && stretch.1 <= to);
            }
            prop_assert!(found.windows(2).all(|pair| pair[0].1 < pair[1].0));
            // Every minute of them is a stated one in local time.
            let stated = |moment: Moment| {
                let local = civil.local(moment);
                let minute = local.hour() * 60 + local.minute();
                let (today, before) = (local.date_naive(), local.date_naive().pred_opt().unwrap());
                let on = |day, minute: u32| {
                    let spans = hours.on(day).0;
                    let inside = |span: &DaySpan| (u32::from(span.from_minute())..u32::from(span.to_minute())).contains(&minute);
                    spans.iter().any(inside)
                };
                on(today, minute) || on(before, minute + 1440)
            };
            for (from, to) in &found {
                let mut minute = *from;
                while minute < *to {
                    prop_assert!(stated(minute), "{} is not among {text:?}", civil.local(minute));
                    minute += TimeDelta::minutes(7);
                }
            }
        }

        #[test]
        fn in_a_zone_without_changes_a_week_has_the_hours_that_were_stated(line in lines()) {
            let (text, from, length) = line;
            let hours = hours(&text, &[]);
            let days = hours.weekly.as_ref().unwrap()[0].days.iter().filter(|on| **on).count();
            // Hours past midnight may overlap those of the next day; excluded here.
            prop_assume!(from + length <= 1440);
            let found = hours.over(moment("2026-05-03T18:30:00Z"), moment("2026-05-10T18:30:00Z"), &civil(chrono_tz::Asia::Kolkata));
            prop_assert_eq!(total(&found), TimeDelta::minutes(i64::from(length) * days as i64));
        }
    }
}
