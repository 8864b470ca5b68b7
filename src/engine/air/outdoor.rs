//! The outdoor air as plain data: hours, the forecast they are from, and what is remembered between one
//! fetch and the next.
//!
//! An hour that has passed stays, and so the forecast of yesterday is the outdoor record of today: what is
//! behind us of it was made hours before, not days.

use chrono::TimeDelta;

use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, Moment};

/// The outdoor air at one moment, and the hour that begins then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutdoorHour {
    /// The moment.
    pub at: Moment,
    /// The air then. Between two hours it changes in a straight line.
    pub air: Celsius,
    /// Relative humidity then.
    pub humidity: Option<Humidity>,
    /// What falls from then on in one hour, or until the next one that is given where that is sooner.
    pub rain: Option<Millimetres>,
    /// The wind then.
    pub wind: Option<MetresPerSecond>,
}

/// Where a forecast comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provenance {
    /// A file or a service.
    pub origin: Origin,
    /// When it was made, where it says so.
    pub made: Option<Moment>,
    /// Whether it is from the Norwegian Meteorological Institute, and has to be credited.
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

/// The credit that the terms of the Norwegian Meteorological Institute ask for.
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
    /// The credit that is due.
    pub fn credit(&self) -> Option<&'static str> {
        self.met_norway.then_some(MET_NORWAY_CREDIT)
    }
}

/// A forecast that is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptForecast {
    /// Where it comes from.
    pub provenance: Provenance,
    /// When it was taken in, or was last said to hold still.
    pub taken: Moment,
    /// The first of its hours that is kept.
    pub from: Moment,
    /// And the last.
    pub to: Moment,
}

impl KeptForecast {
    /// How old it is: since it was made, where that is known.
    pub fn age(&self, now: Moment) -> TimeDelta {
        now - self.provenance.made.unwrap_or(self.taken)
    }
}

/// What is remembered from one fetch to the next.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FetchState {
    /// What was asked last.
    pub url: String,
    /// When an answer last came that could be used, be it that nothing had changed.
    pub fetched: Option<Moment>,
    /// The answer is good until then, and the service does not want to be asked before.
    pub expires: Option<Moment>,
    /// What the service calls the time of its last answer, letter by letter.
    pub last_modified: Option<String>,
    /// What it calls its last answer.
    pub etag: Option<String>,
    /// When it was asked last, with whatever success.
    pub tried: Option<Moment>,
    /// It asked for fewer requests, and is left alone until then.
    pub held_until: Option<Moment>,
    /// How many times in a row it went wrong.
    pub failures: u32,
    /// What went wrong the last time, if it did.
    pub error: Option<String>,
}

impl FetchState {
    /// From when on it makes sense to ask without being told to: never before the service wants, at most
    /// every ten minutes, and more seldom while it goes wrong. None: it was never asked.
    pub fn due(&self) -> Option<Moment> {
        let pause = TimeDelta::minutes(10 << self.failures.min(3));
        let rested = self.tried.map(|tried| tried + pause);
        [rested, self.expires, self.held_until].into_iter().flatten().max()
    }

    /// What of it still holds where `url` is asked.
    pub fn about(&self, url: &str) -> Self {
        if self.url == url {
            return self.clone();
        }
        let mut fresh = Self { url: url.to_owned(), ..Self::default() };
        if self.url.split('?').next() == url.split('?').next() {
            // Another place does not make the service any less busy.
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
