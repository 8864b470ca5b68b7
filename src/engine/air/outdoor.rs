//! The outdoor air as plain data: hours, the forecast they come from, and the state between two fetches.
//!
//! Past hours are kept, so yesterday's forecast is today's outdoor record: its past hours were forecast hours
//! ahead, not days.

use chrono::TimeDelta;

use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, Moment};

/// The outdoor air at a moment, and the hour that begins then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutdoorHour {
    /// The moment.
    pub at: Moment,
    /// Air temperature; linear between two hours.
    pub air: Celsius,
    /// Relative humidity.
    pub humidity: Option<Humidity>,
    /// Rain in the hour after `at`, or up to the next given moment if that is sooner.
    pub rain: Option<Millimetres>,
    /// Wind.
    pub wind: Option<MetresPerSecond>,
}

/// The source of a forecast.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provenance {
    /// A file or a service.
    pub origin: Origin,
    /// When it was made, if it says so.
    pub made: Option<Moment>,
    /// Whether it comes from the Norwegian Meteorological Institute and needs the credit.
    pub met_norway: bool,
}

/// A file or a service.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// A file of this name.
    File(String),
    /// The service of this name.
    Service(String),
}

/// The credit required by the Norwegian Meteorological Institute.
pub const MET_NORWAY_CREDIT: &str = "Data: MET Norway (CC BY 4.0)";
/// The licence of its data.
pub const MET_NORWAY_LICENCE: &str = "https://creativecommons.org/licenses/by/4.0/";

impl Origin {
    /// Its plain name: that of the file, or of the service's host.
    pub fn name(&self) -> &str {
        match self {
            Self::File(name) | Self::Service(name) => name,
        }
    }
}

impl Provenance {
    /// The credit that has to be shown.
    pub fn credit(&self) -> Option<&'static str> {
        self.met_norway.then_some(MET_NORWAY_CREDIT)
    }
}

/// A stored forecast.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptForecast {
    /// Where it comes from.
    pub provenance: Provenance,
    /// When it was fetched, or last confirmed as unchanged.
    pub taken: Moment,
    /// The first stored hour.
    pub from: Moment,
    /// The last stored hour.
    pub to: Moment,
}

impl KeptForecast {
    /// Its age: since it was made, if known.
    pub fn age(&self, now: Moment) -> TimeDelta {
        now - self.provenance.made.unwrap_or(self.taken)
    }
}

/// The state between two fetches.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FetchState {
    /// The last requested URL.
    pub url: String,
    /// When the last usable answer came, including "not modified".
    pub fetched: Option<Moment>,
    /// The answer is valid until then; no request before.
    pub expires: Option<Moment>,
    /// `Last-Modified` of the last answer, verbatim.
    pub last_modified: Option<String>,
    /// `ETag` of the last answer.
    pub etag: Option<String>,
    /// When the last request was made, whatever its result.
    pub tried: Option<Moment>,
    /// The service asked for fewer requests; no request before this moment.
    pub held_until: Option<Moment>,
    /// Consecutive failures.
    pub failures: u32,
    /// The last error, if any.
    pub error: Option<String>,
}

impl FetchState {
    /// When the next automatic request is due: never before the service allows it, at most every ten minutes,
    /// less often after failures. None: no request yet.
    pub fn due(&self) -> Option<Moment> {
        let pause = TimeDelta::minutes(10 << self.failures.min(3));
        let rested = self.tried.map(|tried| tried + pause);
        [rested, self.expires, self.held_until].into_iter().flatten().max()
    }

    /// The part of the state that stays valid for `url`.
    pub fn about(&self, url: &str) -> Self {
        if self.url == url {
            return self.clone();
        }
        let mut fresh = Self { url: url.to_owned(), ..Self::default() };
        if self.url.split('?').next() == url.split('?').next() {
            // A request for another place does not free a busy service.
            fresh.held_until = self.held_until;
            fresh.tried = self.tried;
            fresh.failures = self.failures;
        }
        fresh
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::days(20_000) + TimeDelta::minutes(minutes)
    }

    #[test]
    fn a_service_is_asked_no_sooner_than_it_should_be() {
        let tried = FetchState { tried: Some(at(0)), ..FetchState::default() };
        assert_eq!(FetchState::default().due(), None);
        assert_eq!(tried.due(), Some(at(10)));
        assert_eq!(FetchState { expires: Some(at(31)), ..tried.clone() }.due(), Some(at(31)));
        assert_eq!(FetchState { held_until: Some(at(90)), ..tried.clone() }.due(), Some(at(90)));
        assert_eq!(FetchState { failures: 2, ..tried.clone() }.due(), Some(at(40)));
        assert_eq!(FetchState { failures: u32::MAX, ..tried }.due(), Some(at(80)));
    }

    #[test]
    fn another_place_is_asked_for_anew_but_a_busy_service_stays_busy() {
        let state = FetchState {
            url: "https://example.org/a?lat=1".into(),
            expires: Some(at(5)),
            last_modified: Some("Tue".into()),
            held_until: Some(at(9)),
            failures: 3,
            ..FetchState::default()
        };
        assert_eq!(state.about(&state.url), state);
        let moved = state.about("https://example.org/a?lat=2");
        assert_eq!((moved.expires, moved.last_modified, moved.held_until), (None, None, Some(at(9))));
        let other = state.about("https://example.com/a?lat=1");
        assert_eq!(other, FetchState { url: "https://example.com/a?lat=1".into(), ..FetchState::default() });
    }
}
