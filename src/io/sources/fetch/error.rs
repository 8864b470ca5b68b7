//! Errors of a fetch, in sentences with advice.

use crate::io::sources::forecast::ForecastError;

/// Why a forecast could not be fetched.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum FetchError {
    /// The URL uses plain HTTP.
    #[error("{url} is plain HTTP, which others can read and change; write https://")]
    Plain {
        /// The address.
        url: String,
    },
    /// The service redirects to a forbidden URL.
    #[error("{host} redirects to {to}, which is not allowed: {why}")]
    SentAway {
        /// The service.
        host: String,
        /// The target, as shown.
        to: String,
        /// Why it is forbidden.
        why: String,
    },
    /// Too many redirects.
    #[error("{host} redirects too many times; try again later")]
    SentInCircles {
        /// The service.
        host: String,
    },
    /// The host is unknown.
    #[error("{host} is not found; check the connection, and url under [weather] in the settings")]
    Unknown {
        /// The service.
        host: String,
    },
    /// No connection.
    #[error("{host} cannot be reached ({why}); check the connection")]
    Unreachable {
        /// The service.
        host: String,
        /// The system's message.
        why: String,
    },
    /// Timeout.
    #[error("{host} did not answer within {seconds} s; try again later")]
    TooSlow {
        /// The service.
        host: String,
        /// The time waited.
        seconds: u64,
    },
    /// The certificate is not valid.
    #[error("{host} cannot be trusted ({why}); check this computer's clock and its network")]
    Untrusted {
        /// The service.
        host: String,
        /// The fault.
        why: String,
    },
    /// The answer is incomplete.
    #[error("the answer of {host} is incomplete and ignored; try again")]
    BrokenOff {
        /// The service.
        host: String,
    },
    /// The answer is not HTTP.
    #[error("the answer of {host} cannot be read ({why}); try again later")]
    Garbled {
        /// The service.
        host: String,
        /// The fault.
        why: String,
    },
    /// The answer is too large.
    #[error("the answer of {host} is larger than {megabytes} MB, too large for a forecast; it is ignored")]
    TooLarge {
        /// The service.
        host: String,
        /// The limit.
        megabytes: usize,
    },
    /// The service refuses the request.
    #[error("{}", status(host, *status_code))]
    Status {
        /// The service.
        host: String,
        /// Its answer.
        status_code: u16,
    },
    /// The answer is not a forecast.
    #[error("{host}: {error}")]
    Content {
        /// The service.
        host: String,
        /// The fault.
        error: ForecastError,
    },
}

fn status(host: &str, status: u16) -> String {
    let said = match status {
        304 => "says that nothing has changed, but nothing is stored; try again later",
        401 | 403 => {
            "refuses to answer; it needs a valid contact: check contact under [weather] in the settings before you ask again"
        }
        400 | 404 | 410 => "does not know the request; check url under [weather] in the settings",
        422 => "has no forecast for this place; check latitude and longitude under [weather] in the settings",
        429 => "asks for fewer requests",
        500..=599 => "has an internal error; try again later",
        _ => "gave no forecast; check url under [weather] in the settings",
    };
    format!("{host} {said} (HTTP {status})")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_refusal_says_what_to_do() {
        for (status_code, what) in [
            (403, "check contact"),
            (422, "check latitude and longitude"),
            (429, "fewer requests"),
            (404, "check url"),
            (500, "try again later"),
            (418, "check url"),
        ] {
            let said = FetchError::Status { host: "example.org".into(), status_code }.to_string();
            assert!(said.starts_with("example.org ") && said.contains(what), "{said}");
        }
    }
}
