//! The caching headers of an answer.

use chrono::{DateTime, TimeDelta};

use crate::engine::units::Moment;

/// The longest validity that is accepted: an older forecast is useless, and a date in another century has to
/// expire.
const LONGEST_LIFE: TimeDelta = TimeDelta::days(7);

/// The validators of an answer, for a conditional request.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Validators {
    pub(super) last_modified: Option<String>,
    pub(super) etag: Option<String>,
}

impl Validators {
    pub(super) const fn is_empty(&self) -> bool {
        self.last_modified.is_none() && self.etag.is_none()
    }
}

/// A complete answer.
#[derive(Debug, Clone, Default)]
pub(super) struct Answer {
    /// The sender.
    pub(super) host: String,
    pub(super) status: u16,
    pub(super) validators: Validators,
    /// The headers with a time, verbatim.
    pub(super) date: Option<String>,
    pub(super) expires: Option<String>,
    pub(super) retry_after: Option<String>,
    pub(super) body: Vec<u8>,
}

impl Answer {
    /// Until when it is valid. Calculated from its own date, so that a wrong clock on either side does no harm.
    pub(super) fn expires(&self, now: Moment) -> Option<Moment> {
        let expires = http_date(self.expires.as_deref()?)?;
        let date = self.date.as_deref().and_then(http_date).unwrap_or(now);
        let life = (expires - date).min(LONGEST_LIFE);
        (life > TimeDelta::zero()).then(|| now + life)
    }

    /// How long the service asks to wait: seconds, or a date.
    pub(super) fn retry_after(&self, now: Moment) -> Option<TimeDelta> {
        let text = self.retry_after.as_deref()?.trim();
        let wait = match text.parse::<u32>() {
            Ok(seconds) => TimeDelta::seconds(seconds.into()),
            Err(_) => http_date(text)? - self.date.as_deref().and_then(http_date).unwrap_or(now),
        };
        (wait > TimeDelta::zero()).then_some(wait)
    }
}

/// "Tue, 16 Jun 2020 12:44:18 GMT".
fn http_date(text: &str) -> Option<Moment> {
    DateTime::parse_from_rfc2822(text.trim()).ok().map(|date| date.to_utc())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Moment {
        "2026-11-02T18:00:00Z".parse().unwrap()
    }

    fn expires(date: Option<&str>, expires: &str) -> Option<i64> {
        let answer =
            Answer { date: date.map(str::to_owned), expires: Some(expires.into()), ..Answer::default() };
        answer.expires(now()).map(|until| (until - now()).num_seconds())
    }

    #[test]
    fn an_answer_is_good_for_as_long_as_it_says_whatever_the_clocks_show() {
        let half_an_hour = "Tue, 16 Jun 2020 12:44:18 GMT";
        assert_eq!(expires(Some("Tue, 16 Jun 2020 12:14:18 GMT"), half_an_hour), Some(1800));
        assert_eq!(expires(None, "Mon, 02 Nov 2026 18:30:00 GMT"), Some(1800));
        assert_eq!(expires(None, half_an_hour), None, "it has expired already");
        for never in ["0", "-1", "", "soon", "Tue, 31 Jun 2020 12:44:18 GMT"] {
            assert_eq!(expires(None, never), None, "{never}");
        }
        let week = 7 * 86_400;
        assert_eq!(expires(None, "Fri, 01 Jan 2100 00:00:00 GMT"), Some(week), "a slip of the pen heals");
    }

    #[test]
    fn when_to_come_again_is_said_in_seconds_or_as_a_date() {
        let after = |text: &str| {
            let answer = Answer { retry_after: Some(text.into()), ..Answer::default() };
            answer.retry_after(now()).map(|wait| wait.num_seconds())
        };
        assert_eq!(after("120"), Some(120));
        assert_eq!(after("Mon, 02 Nov 2026 18:02:00 GMT"), Some(120));
        for none in ["0", "-5", "", "later", "99999999999999999999", "Mon, 02 Nov 2026 17:00:00 GMT"] {
            assert_eq!(after(none), None, "{none}");
        }
    }
}
