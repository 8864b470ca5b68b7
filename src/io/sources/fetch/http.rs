//! One HTTP request with its complete answer, bounded in time and size.

use std::io;
use std::time::{Duration, Instant};

use ureq::http::{HeaderMap, Response, header};
use ureq::tls::{Certificate, RootCerts, TlsConfig};
use ureq::{Agent, Body};

use super::answer::{Answer, Validators};
use super::{FetchError, FetchOptions};
use crate::engine::config::ServiceAddress;
use crate::engine::units::clean;
use crate::io::sources::forecast::JSON_LIMIT;

/// The most redirects.
const REDIRECTS: usize = 5;

/// Sends a request and follows safe redirects.
pub(super) fn ask(options: &FetchOptions, url: &str, known: &Validators) -> Result<Answer, FetchError> {
    let until = Instant::now() + options.whole;
    let mut address = ServiceAddress::parse(url).map_err(|_| FetchError::Plain { url: clean(url) })?;
    if address.is_plain() && !options.plain_loopback {
        return Err(FetchError::Plain { url: clean(url) });
    }
    for _ in 0..=REDIRECTS {
        let trouble = Trouble { host: address.host(), options };
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return Err(trouble.too_slow(options.whole));
        }
        let response = request(options, &address, known, left).map_err(|error| trouble.of(error))?;
        match sent_to(&response) {
            None => return take_in(response, &trouble),
            Some(target) => address = followed(&address, &target, options)?,
        }
    }
    Err(FetchError::SentInCircles { host: address.host().to_owned() })
}

fn request(
    options: &FetchOptions,
    address: &ServiceAddress,
    known: &Validators,
    left: Duration,
) -> Result<Response<Body>, ureq::Error> {
    // The environment's proxy is used, as by other programs, but never for this machine.
    let mut config = Agent::config_builder()
        .https_only(!address.is_plain())
        .http_status_as_error(false)
        .max_redirects(0)
        .max_redirects_will_error(false)
        .max_idle_connections(0)
        .timeout_resolve(Some(options.connect.min(left)))
        .timeout_connect(Some(options.connect.min(left)))
        .timeout_global(Some(left));
    if address.is_here() {
        config = config.proxy(None);
    }
    if let Some(root) = &options.trusts {
        let roots = RootCerts::new_with_certs(&[Certificate::from_der(root).to_owned()]);
        config = config.tls_config(TlsConfig::builder().root_certs(roots).build());
    }
    let mut request = Agent::new_with_config(config.build())
        .get(address.as_str())
        .header(header::USER_AGENT, options.user_agent())
        .header(header::ACCEPT, "application/json");
    if let Some(last_modified) = &known.last_modified {
        request = request.header(header::IF_MODIFIED_SINCE, last_modified);
    }
    if let Some(etag) = &known.etag {
        request = request.header(header::IF_NONE_MATCH, etag);
    }
    request.call()
}

/// The target of a redirect, if any.
fn sent_to(response: &Response<Body>) -> Option<String> {
    let redirects = matches!(response.status().as_u16(), 301 | 302 | 303 | 307 | 308);
    line(response.headers(), header::LOCATION.as_str()).filter(|_| redirects)
}

/// The target of a redirect, if it is allowed.
fn followed(
    from: &ServiceAddress,
    target: &str,
    options: &FetchOptions,
) -> Result<ServiceAddress, FetchError> {
    let whole = match target {
        _ if target.contains("://") => target.to_owned(),
        _ if target.starts_with("//") => {
            format!("{}:{target}", if from.is_plain() { "http" } else { "https" })
        }
        _ if target.starts_with('/') => format!("{}{target}", from.origin()),
        _ => {
            let path = from.as_str().split(['?', '#']).next().unwrap_or_default();
            let folder = path.rfind('/').filter(|at| *at >= from.origin().len());
            format!("{}/{target}", folder.and_then(|at| path.get(..at)).unwrap_or(from.origin()))
        }
    };
    let away = |why: String| FetchError::SentAway {
        host: from.host().to_owned(),
        to: clean(&whole).chars().take(120).collect(),
        why,
    };
    let to = ServiceAddress::parse(&whole).map_err(&away)?;
    if to.is_plain() && !options.plain_loopback {
        return Err(away("others can read and change plain HTTP".into()));
    }
    Ok(to)
}

/// The complete answer.
fn take_in(response: Response<Body>, trouble: &Trouble<'_>) -> Result<Answer, FetchError> {
    let (head, body) = response.into_parts();
    let status = head.status.as_u16();
    let line = |name: header::HeaderName| line(&head.headers, name.as_str());
    let mut answer = Answer {
        host: trouble.host.to_owned(),
        status,
        validators: Validators { last_modified: line(header::LAST_MODIFIED), etag: line(header::ETAG) },
        date: line(header::DATE),
        expires: line(header::EXPIRES),
        retry_after: line(header::RETRY_AFTER),
        body: Vec::new(),
    };
    if matches!(status, 200 | 203) {
        let limited = body.into_with_config().limit(JSON_LIMIT as u64);
        answer.body = limited.read_to_vec().map_err(|error| trouble.of(error))?;
    }
    Ok(answer)
}

/// A header value, if it is short plain text: it may be sent back.
fn line(headers: &HeaderMap, name: &str) -> Option<String> {
    let text = headers.get(name)?.to_str().ok()?.trim();
    (!text.is_empty() && text.len() <= 1000).then(|| text.to_owned())
}

/// Describes an error of one service.
struct Trouble<'a> {
    host: &'a str,
    options: &'a FetchOptions,
}

impl Trouble<'_> {
    fn of(&self, error: ureq::Error) -> FetchError {
        let host = self.host.to_owned();
        let why = || clean(&error.to_string()).chars().take(200).collect();
        match &error {
            ureq::Error::HostNotFound => FetchError::Unknown { host },
            ureq::Error::Timeout(ureq::Timeout::Resolve | ureq::Timeout::Connect) => {
                self.too_slow(self.options.connect)
            }
            ureq::Error::Timeout(_) => self.too_slow(self.options.whole),
            ureq::Error::BodyExceedsLimit(_) => FetchError::TooLarge { host, megabytes: JSON_LIMIT >> 20 },
            ureq::Error::Tls(_) | ureq::Error::Rustls(_) => FetchError::Untrusted { host, why: why() },
            ureq::Error::Io(error) => match error.kind() {
                io::ErrorKind::UnexpectedEof | io::ErrorKind::ConnectionReset => {
                    FetchError::BrokenOff { host }
                }
                io::ErrorKind::TimedOut => self.too_slow(self.options.whole),
                // The handshake's error comes as a connection error.
                io::ErrorKind::InvalidData => FetchError::Untrusted { host, why: why() },
                _ => FetchError::Unreachable { host, why: why() },
            },
            ureq::Error::Decompress(..) => FetchError::BrokenOff { host },
            ureq::Error::ConnectionFailed
            | ureq::Error::ConnectProxyFailed(_)
            | ureq::Error::InvalidProxyUrl => FetchError::Unreachable { host, why: why() },
            _ => FetchError::Garbled { host, why: why() },
        }
    }

    fn too_slow(&self, waited: Duration) -> FetchError {
        FetchError::TooSlow { host: self.host.to_owned(), seconds: waited.as_secs().max(1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::config::Coordinates;

    fn followed_from(from: &str, target: &str, plain_loopback: bool) -> Result<String, FetchError> {
        let from = ServiceAddress::parse(from).unwrap();
        let place = Coordinates::new(60.0, 10.0, None).unwrap();
        let options =
            FetchOptions { plain_loopback, ..FetchOptions::new(from.clone(), place, "you@example.org") };
        followed(&from, target, &options).map(|address| address.to_string())
    }

    #[test]
    fn a_service_may_redirect_over_https() {
        let from = "https://example.org/a/compact?lat=1";
        for (target, to) in [
            ("https://other.example.org/b", "https://other.example.org/b"),
            ("//other.example.org/b", "https://other.example.org/b"),
            ("/b?lat=1", "https://example.org/b?lat=1"),
            ("b", "https://example.org/a/b"),
        ] {
            assert_eq!(followed_from(from, target, false).as_deref(), Ok(to));
        }
        assert_eq!(followed_from("https://example.org", "b", false).as_deref(), Ok("https://example.org/b"));
    }

    #[test]
    fn no_redirect_to_plain_http_is_followed() {
        let from = "https://example.org/a/compact";
        for target in [
            "http://example.org/b",
            "HTTP://example.org/b",
            "http://127.0.0.1/b",
            "ftp://example.org/b",
            "file:///etc/passwd",
            "https://user@example.org/",
        ] {
            let away = followed_from(from, target, false);
            assert!(matches!(away, Err(FetchError::SentAway { .. })), "{target}: {away:?}");
        }
        // Plain HTTP to this machine is for tests; a redirect to it is not allowed.
        assert!(followed_from("http://127.0.0.1:1/", "http://example.org/", true).is_err());
        assert!(followed_from("http://127.0.0.1:1/", "http://[::1]:2/", true).is_ok());
    }
}
