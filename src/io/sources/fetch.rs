//! A point forecast from a public weather service, within its terms: HTTPS only, with a name and a contact,
//! never before the last answer expires, and conditional on a change.
//!
//! Nothing is stored here, and the time is an argument; state for the next request is returned as a
//! [`FetchState`]. A service that is gone, hangs or sends garbage costs bounded time and memory; the stored
//! forecast stays in use.

use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;

use super::forecast::{Forecast, read_forecast_json};
use crate::engine::air::FetchState;
use crate::engine::config::{Coordinates, ServiceAddress};
use crate::engine::units::Moment;
use answer::{Answer, Validators};

mod answer;
mod error;
mod http;
#[cfg(test)]
mod trust;

pub use error::FetchError;

/// The pause after a service asks for fewer requests: at least this, doubled each further time, at most a day.
const FIRST_HOLD: TimeDelta = TimeDelta::minutes(10);
const LONGEST_HOLD: TimeDelta = TimeDelta::days(1);

/// The request.
#[derive(Debug, Clone, PartialEq)]
pub struct FetchOptions {
    /// The service.
    pub address: ServiceAddress,
    /// The point.
    pub place: Coordinates,
    /// The contact for the service.
    pub contact: String,
    /// Whether plain HTTP is allowed to this machine. To other machines it never is.
    pub plain_loopback: bool,
    /// Time limit of the connection.
    pub connect: Duration,
    /// Total time limit.
    pub whole: Duration,
    /// A root certificate that replaces the public ones. For tests only.
    trusts: Option<Arc<[u8]>>,
}

impl FetchOptions {
    /// The default limits, HTTPS only.
    pub fn new(address: ServiceAddress, place: Coordinates, contact: impl Into<String>) -> Self {
        Self {
            address,
            place,
            contact: contact.into(),
            plain_loopback: false,
            connect: Duration::from_secs(5),
            whole: Duration::from_secs(20),
            trusts: None,
        }
    }

    /// The same with a root certificate (DER) that replaces the public ones.
    #[cfg(test)]
    fn trusting(self, root: &[u8]) -> Self {
        Self { trusts: Some(root.into()), ..self }
    }

    /// The URL with the point.
    pub fn url(&self) -> String {
        format!("{}?{}", self.address, self.place.query())
    }

    /// Whether the data comes from the Norwegian Meteorological Institute, directly or through another host.
    pub fn is_met_norway(&self) -> bool {
        let host = self.address.host().to_ascii_lowercase();
        host == "met.no" || host.ends_with(".met.no") || self.address.as_str().contains("/locationforecast/")
    }

    /// The user agent.
    pub fn user_agent(&self) -> String {
        format!("curewright/{} {}", env!("CARGO_PKG_VERSION"), self.contact)
    }
}

/// The result of a fetch and the new state.
#[derive(Debug, Clone, PartialEq)]
pub struct Fetched {
    /// The state to keep, whatever the result.
    pub state: FetchState,
    /// The result.
    pub outcome: Outcome,
}

/// The result of a fetch.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// No request was made, because it is too early.
    NotYet {
        /// The next possible request.
        until: Moment,
        /// Whether the service asked for fewer requests; otherwise the last answer is still valid.
        held: bool,
    },
    /// The last answer is still valid.
    NotModified,
    /// A new forecast.
    New {
        /// The forecast.
        forecast: Forecast,
        /// Whether the service marks this product as beta or deprecated.
        outdated: bool,
    },
    /// No usable answer. The stored forecast stays in use.
    Failed(FetchError),
}

/// Fetches the forecast, if due.
pub fn fetch(options: &FetchOptions, now: Moment, state: &FetchState) -> Fetched {
    let url = options.url();
    let mut state = state.about(&url);
    // After a clock that ran ahead was set back, its records no longer hold.
    let since = |noted: Option<Moment>| noted.is_some_and(|noted| noted <= now);
    if let Some(until) = state.held_until.filter(|until| now < *until && since(state.tried)) {
        return Fetched { state, outcome: Outcome::NotYet { until, held: true } };
    }
    if let Some(until) = state.expires.filter(|until| now < *until && since(state.tried)) {
        return Fetched { state, outcome: Outcome::NotYet { until, held: false } };
    }
    let known = Validators { last_modified: state.last_modified.clone(), etag: state.etag.clone() };
    state.tried = Some(now);
    state.held_until = None;
    let outcome = match http::ask(options, &url, &known) {
        Ok(answer) => take(answer, &known, now, &mut state),
        Err(error) => Outcome::Failed(error),
    };
    if let Outcome::Failed(error) = &outcome {
        state.failures = state.failures.saturating_add(1);
        state.error = Some(error.to_string());
    } else {
        state.failures = 0;
        state.error = None;
        state.fetched = Some(now);
    }
    Fetched { state, outcome }
}

fn take(answer: Answer, known: &Validators, now: Moment, state: &mut FetchState) -> Outcome {
    let host = answer.host.clone();
    match answer.status {
        200 | 203 => {
            state.expires = answer.expires(now);
            match read_forecast_json(&answer.body, now) {
                Ok(forecast) => {
                    state.last_modified = answer.validators.last_modified;
                    state.etag = answer.validators.etag;
                    Outcome::New { forecast, outdated: answer.status == 203 }
                }
                Err(error) => Outcome::Failed(FetchError::Content { host, error }),
            }
        }
        304 if !known.is_empty() => {
            state.expires = answer.expires(now);
            Outcome::NotModified
        }
        status => {
            let asked = answer.retry_after(now);
            if status == 429 {
                let doubled = FIRST_HOLD * (1 << state.failures.min(8));
                let hold = asked.unwrap_or(FIRST_HOLD).max(doubled).min(LONGEST_HOLD);
                state.held_until = Some(now + hold);
            } else if let Some(asked) = asked {
                state.held_until = Some(now + asked.min(LONGEST_HOLD));
            }
            Outcome::Failed(FetchError::Status { host, status_code: status })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_patience_is_five_seconds_to_connect_and_twenty_in_all() {
        let address = ServiceAddress::parse("https://example.org/compact").unwrap();
        let place = Coordinates::new(59.912_79, 10.7461, Some(12.0)).unwrap();
        let options = FetchOptions::new(address, place, "you@example.org");
        assert_eq!((options.connect, options.whole), (Duration::from_secs(5), Duration::from_secs(20)));
        assert!(!options.plain_loopback);
        assert_eq!(options.url(), "https://example.org/compact?lat=59.9127&lon=10.7461&altitude=12");
        assert_eq!(
            options.user_agent(),
            concat!("curewright/", env!("CARGO_PKG_VERSION"), " you@example.org")
        );
    }
}
