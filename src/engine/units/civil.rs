//! Civil time: moments in local time, and back.

use std::fmt;
use std::sync::Arc;

use chrono::{DateTime, Datelike, FixedOffset, LocalResult, NaiveDateTime, TimeDelta, TimeZone};

use super::Moment;

/// 12-hour or 24-hour clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Deserialize)]
pub enum ClockFace {
    /// 16:40
    #[default]
    #[serde(rename = "24h")]
    TwentyFour,
    /// 4:40 pm
    #[serde(rename = "12h")]
    Twelve,
}

type ToLocal = dyn Fn(Moment) -> DateTime<FixedOffset> + Send + Sync;
type FromLocal = dyn Fn(NaiveDateTime) -> LocalResult<Moment> + Send + Sync;

/// A time zone, from any library, and its clock face.
#[derive(Clone)]
pub struct Civil {
    to_local: Arc<ToLocal>,
    from_local: Arc<FromLocal>,
    face: ClockFace,
}

impl fmt::Debug for Civil {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Civil").field("face", &self.face).finish_non_exhaustive()
    }
}

impl Civil {
    /// Civil time in a zone.
    pub fn new<Z>(zone: Z, face: ClockFace) -> Self
    where
        Z: TimeZone + Clone + Send + Sync + 'static,
        Z::Offset: Send + Sync,
    {
        let from = zone.clone();
        Self {
            to_local: Arc::new(move |moment| moment.with_timezone(&zone).fixed_offset()),
            from_local: Arc::new(move |naive| from.from_local_datetime(&naive).map(|local| local.to_utc())),
            face,
        }
    }

    /// Coordinated universal time on a 24 h face.
    pub fn utc() -> Self {
        Self::new(chrono::Utc, ClockFace::TwentyFour)
    }

    /// The local time of a moment.
    pub fn local(&self, moment: Moment) -> DateTime<FixedOffset> {
        (self.to_local)(moment)
    }

    /// The moment, or moments, with this local time.
    ///
    /// The answer of the zone's library is checked: at the end of a repeated hour, and in a skipped one, some
    /// libraries return a moment with another local time.
    pub fn moments(&self, naive: NaiveDateTime) -> LocalResult<Moment> {
        let around = [-1, 1].map(|days| {
            let offset = *self.local(naive.and_utc() + TimeDelta::days(days)).offset();
            naive.and_utc() - TimeDelta::seconds(i64::from(offset.local_minus_utc()))
        });
        let from_zone = match (self.from_local)(naive) {
            LocalResult::Single(moment) => [Some(moment), None],
            LocalResult::Ambiguous(one, other) => [Some(one), Some(other)],
            LocalResult::None => [None, None],
        };
        let mut shown: Vec<Moment> = from_zone
            .into_iter()
            .flatten()
            .chain(around)
            .filter(|moment| self.local(*moment).naive_local() == naive)
            .collect();
        shown.sort_unstable();
        shown.dedup();
        match shown[..] {
            [] => LocalResult::None,
            [moment] => LocalResult::Single(moment),
            [first, .., last] => LocalResult::Ambiguous(first, last),
        }
    }

    /// The time of day: "16:40" or "4:40 pm"; with its offset in a repeated hour.
    pub fn time_of_day(&self, moment: Moment) -> String {
        let local = self.local(moment);
        let twice = matches!(self.moments(local.naive_local()), LocalResult::Ambiguous(..));
        let offset = if twice { format!(" ({})", local.offset()) } else { String::new() };
        match self.face {
            ClockFace::TwentyFour => format!("{}{offset}", local.format("%H:%M")),
            ClockFace::Twelve => format!("{}{offset}", local.format("%-I:%M %P")),
        }
    }

    /// The full hour for an axis: "16" or "4p".
    pub fn hour(&self, moment: Moment) -> String {
        let local = self.local(moment);
        match self.face {
            ClockFace::TwentyFour => local.format("%H").to_string(),
            ClockFace::Twelve => local.format("%-I%P").to_string().trim_end_matches('m').to_owned(),
        }
    }

    /// The weekday: "Sat".
    pub fn weekday(&self, moment: Moment) -> String {
        self.local(moment).format("%a").to_string()
    }

    /// Time of day, with the weekday if it is not the day of `now`, and with the date if the weekday is
    /// ambiguous: "16:40", "Sun 16:40", "Sun 14 Jun 16:40".
    pub fn when(&self, moment: Moment, now: Moment) -> String {
        let (local, today) = (self.local(moment), self.local(now));
        let days = local.num_days_from_ce() - today.num_days_from_ce();
        let time = self.time_of_day(moment);
        match days {
            0 => time,
            -1..=4 => format!("{} {time}", local.format("%a")),
            _ if local.year() == today.year() => format!("{} {time}", local.format("%a %-d %b")),
            _ => format!("{} {time}", local.format("%a %-d %b %Y")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(text: &str) -> Moment {
        text.parse().unwrap()
    }

    #[test]
    fn the_weekday_stands_where_it_is_not_today() {
        let civil = Civil::utc();
        let now = moment("2026-05-02T18:00:00Z");
        assert_eq!(civil.when(moment("2026-05-02T16:40:00Z"), now), "16:40");
        assert_eq!(civil.when(moment("2026-05-03T06:05:00Z"), now), "Sun 06:05");
        assert_eq!(civil.when(moment("2026-06-14T06:05:00Z"), now), "Sun 14 Jun 06:05");
        assert_eq!(civil.when(moment("2027-01-01T06:05:00Z"), now), "Fri 1 Jan 2027 06:05");
    }

    #[test]
    fn the_night_of_the_clock_change_keeps_its_own_hours() {
        let berlin = Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour);
        let now = moment("2026-10-24T20:00:00Z");
        assert_eq!(berlin.when(moment("2026-10-25T00:30:00Z"), now), "Sun 02:30 (+02:00)");
        assert_eq!(berlin.when(moment("2026-10-25T01:30:00Z"), now), "Sun 02:30 (+01:00)");
        assert_eq!(berlin.when(moment("2026-10-25T02:30:00Z"), now), "Sun 03:30");
        let twice = chrono::NaiveDate::from_ymd_opt(2026, 10, 25).unwrap().and_hms_opt(2, 30, 0).unwrap();
        assert!(matches!(berlin.moments(twice), LocalResult::Ambiguous(..)));
        let never = chrono::NaiveDate::from_ymd_opt(2026, 3, 29).unwrap().and_hms_opt(2, 30, 0).unwrap();
        assert!(matches!(berlin.moments(never), LocalResult::None));
    }

    /// The number of moments of the night of a clock change with this local time.
    fn shown(zone: chrono_tz::Tz, date: (i32, u32, u32), time: (u32, u32, u32)) -> usize {
        let date = chrono::NaiveDate::from_ymd_opt(date.0, date.1, date.2).unwrap();
        let naive = date.and_hms_opt(time.0, time.1, time.2).unwrap();
        match Civil::new(zone, ClockFace::TwentyFour).moments(naive) {
            LocalResult::None => 0,
            LocalResult::Single(_) => 1,
            LocalResult::Ambiguous(..) => 2,
        }
    }

    #[test]
    fn only_the_doubled_hour_itself_is_shown_twice_in_autumn() {
        let (berlin, new_york) = (chrono_tz::Europe::Berlin, chrono_tz::America::New_York);
        let autumn = |hour, minute, second| shown(berlin, (2026, 10, 25), (hour, minute, second));
        assert_eq!([autumn(1, 59, 59), autumn(2, 0, 0), autumn(2, 59, 59), autumn(3, 0, 0)], [1, 2, 2, 1]);
        let autumn = |hour, minute, second| shown(new_york, (2026, 11, 1), (hour, minute, second));
        assert_eq!([autumn(0, 59, 59), autumn(1, 0, 0), autumn(1, 59, 59), autumn(2, 0, 0)], [1, 2, 2, 1]);
    }

    #[test]
    fn the_skipped_hour_of_spring_is_never_shown() {
        let (berlin, new_york) = (chrono_tz::Europe::Berlin, chrono_tz::America::New_York);
        let spring = |hour, minute, second| shown(berlin, (2026, 3, 29), (hour, minute, second));
        assert_eq!([spring(1, 59, 59), spring(2, 0, 0), spring(2, 59, 59), spring(3, 0, 0)], [1, 0, 0, 1]);
        let spring = |hour, minute, second| shown(new_york, (2026, 3, 8), (hour, minute, second));
        assert_eq!([spring(1, 59, 59), spring(2, 0, 0), spring(2, 59, 59), spring(3, 0, 0)], [1, 0, 0, 1]);
    }

    #[test]
    fn a_library_that_answers_wrongly_at_the_edges_is_corrected() {
        // It returns two moments for 03:00, and one for the skipped 02:30 of spring.
        let honest = Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour);
        let from = |naive: NaiveDateTime| match naive.format("%m-%d %H:%M").to_string().as_str() {
            "10-25 03:00" => {
                LocalResult::Ambiguous(moment("2026-10-25T01:00:00Z"), moment("2026-10-25T02:00:00Z"))
            }
            _ => LocalResult::Single(moment("2026-03-29T01:30:00Z")),
        };
        let civil = Civil { from_local: Arc::new(from), ..honest };
        let at = |text: &str| civil.moments(NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap());
        assert_eq!(at("2026-10-25 03:00"), LocalResult::Single(moment("2026-10-25T02:00:00Z")));
        assert_eq!(at("2026-03-29 02:30"), LocalResult::None);
    }

    #[test]
    fn a_clock_of_twelve_hours_says_which_half() {
        let civil = Civil::new(chrono::Utc, ClockFace::Twelve);
        let afternoon = moment("2026-05-02T16:40:00Z");
        assert_eq!(civil.time_of_day(afternoon), "4:40 pm");
        assert_eq!(civil.hour(afternoon), "4p");
    }
}
