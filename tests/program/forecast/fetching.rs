//! Asking a service: by its terms, in a bounded time, and never over plain HTTP to anywhere else.

use std::io::Write;
use std::time::{Duration, Instant};

use chrono::TimeDelta;
use curewright::engine::air::FetchState;
use curewright::engine::config::{Coordinates, ServiceAddress};
use curewright::engine::units::Moment;
use curewright::io::sources::{FetchError, FetchOptions, Fetched, Outcome, fetch};
use flate2::Compression;
use flate2::write::GzEncoder;

use super::server::{DATE, Does, IN_HALF_AN_HOUR, MODIFIED, Service, answer, bare, forecast, good};

fn at(minutes: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::minutes(minutes)
}

fn options(address: &str) -> FetchOptions {
    let place = Coordinates::new(59.912_751, 10.746_199, Some(12.0)).unwrap();
    let mut options = FetchOptions::new(ServiceAddress::parse(address).unwrap(), place, "shop@hut.test");
    options.plain_loopback = true;
    options.connect = Duration::from_secs(1);
    options
}

fn ask(service: &Service, state: &FetchState) -> Fetched {
    fetch(&options(&service.address()), at(0), state)
}

/// Asks for the first time, which has to go wrong.
#[track_caller]
fn goes_wrong(service: &Service) -> FetchError {
    went_wrong(ask(service, &FetchState::default()))
}

#[track_caller]
fn went_wrong(fetched: Fetched) -> FetchError {
    let Fetched { state, outcome } = fetched;
    let Outcome::Failed(error) = outcome else { panic!("it went well: {outcome:?}") };
    assert_eq!((state.failures, state.error, state.fetched), (1, Some(error.to_string()), None));
    assert_eq!((state.last_modified, state.tried), (None, Some(at(0))));
    error
}

#[track_caller]
fn hours(outcome: &Outcome) -> usize {
    let Outcome::New { forecast, .. } = outcome else { panic!("nothing new: {outcome:?}") };
    forecast.hours.len()
}

#[test]
fn a_forecast_is_asked_for_with_a_name_a_contact_and_four_decimals() {
    let service = Service::says(good(forecast(at(0), 48, 12.0)));
    let Fetched { state, outcome } = ask(&service, &FetchState::default());
    assert_eq!(hours(&outcome), 48);
    let heard = service.heard().concat().to_lowercase();
    assert!(
        heard.starts_with(
            "get /weatherapi/locationforecast/2.0/compact?lat=59.9127&lon=10.7461&altitude=12 http/1.1\n"
        ),
        "{heard}"
    );
    let agent = concat!("\nuser-agent: curewright/", env!("CARGO_PKG_VERSION"), " shop@hut.test\n");
    assert!(heard.contains(agent), "{heard}");
    assert!(heard.contains("\naccept-encoding: gzip\n"), "{heard}");
    assert!(!heard.contains("if-modified-since"), "{heard}");
    assert_eq!((state.fetched, state.expires), (Some(at(0)), Some(at(30))), "by the service's own clock");
    assert_eq!(state.last_modified.as_deref(), Some(MODIFIED));
}

#[test]
fn nothing_is_asked_before_the_last_answer_expires() {
    let service = Service::says(good(forecast(at(0), 48, 12.0)));
    let options = options(&service.address());
    let first = fetch(&options, at(0), &FetchState::default());
    for minute in [0, 15, 29] {
        let early = fetch(&options, at(minute), &first.state);
        assert_eq!(early.outcome, Outcome::NotYet { until: at(30), held: false });
        assert_eq!(early.state, first.state);
    }
    assert_eq!(service.heard().len(), 1);
    fetch(&options, at(30), &first.state);
    assert_eq!(service.heard().len(), 2);
    // A clock that was set back knows nothing of what it noted while it ran ahead.
    fetch(&options, at(-600), &first.state);
    assert_eq!(service.heard().len(), 3);
}

#[test]
fn afterwards_only_what_has_changed_is_asked_for() {
    let tag = format!("ETag: \"a-1\"\r\nExpires: {IN_HALF_AN_HOUR}\r\nLast-Modified: {MODIFIED}\r\n");
    let service = Service::says(answer("200 OK", &tag, forecast(at(0), 48, 12.0)));
    let options = options(&service.address());
    let first = fetch(&options, at(0), &FetchState::default());
    service.now_says(bare("304 Not Modified", &format!("Expires: {IN_HALF_AN_HOUR}\r\n")));
    let second = fetch(&options, at(31), &first.state);
    assert_eq!(second.outcome, Outcome::NotModified);
    let heard = service.heard();
    assert!(heard[1].to_lowercase().contains(&format!("\nif-modified-since: {}\n", MODIFIED.to_lowercase())));
    assert!(heard[1].contains(MODIFIED), "letter by letter: {}", heard[1]);
    assert!(heard[1].to_lowercase().contains("\nif-none-match: \"a-1\"\n"), "{}", heard[1]);
    assert_eq!((second.state.expires, second.state.fetched), (Some(at(61)), Some(at(31))));
    assert_eq!(second.state.last_modified.as_deref(), Some(MODIFIED));
    // Another place is another question.
    let mut elsewhere = options;
    elsewhere.place = Coordinates::new(60.0, 5.0, None).unwrap();
    service.now_says(good(forecast(at(0), 24, 9.0)));
    assert_eq!(hours(&fetch(&elsewhere, at(32), &second.state).outcome), 24);
    assert!(!service.heard()[2].to_lowercase().contains("if-"), "{}", service.heard()[2]);
}

#[test]
fn an_answer_that_nothing_has_changed_is_no_answer_to_a_first_question() {
    let error = goes_wrong(&Service::says(bare("304 Not Modified", "")));
    assert!(error.to_string().contains("nothing is stored"), "{error}");
}

#[test]
fn a_compressed_answer_is_read_and_one_that_swells_beyond_measure_is_not() {
    let compressed = |body: &[u8]| {
        let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
        encoder.write_all(body).unwrap();
        encoder.finish().unwrap()
    };
    let line = "Content-Encoding: gzip\r\n";
    let body = compressed(forecast(at(0), 48, 12.0).as_bytes());
    let service = Service::says(answer("200 OK", line, &body));
    assert_eq!(hours(&ask(&service, &FetchState::default()).outcome), 48);
    let error = goes_wrong(&Service::says(answer("200 OK", line, compressed(&vec![b' '; 200 << 20]))));
    assert!(matches!(error, FetchError::TooLarge { megabytes: 8, .. }), "{error}");
    let error = goes_wrong(&Service::says(answer("200 OK", line, &body[..body.len() / 2])));
    assert!(matches!(error, FetchError::BrokenOff { .. }), "{error:?}");
    let error = goes_wrong(&Service::says(answer("200 OK", line, "no gzip at all")));
    assert!(matches!(error, FetchError::BrokenOff { .. }), "{error:?}");
}

#[test]
fn a_service_that_hangs_costs_a_bounded_time() {
    let whole = good(forecast(at(0), 48, 12.0));
    let half = whole[..whole.len() / 2].to_vec();
    for does in [
        Does::Hangs(Vec::new()),
        Does::Hangs(b"HTTP/1.1 200 OK\r\nDate".to_vec()),
        Does::Hangs(half),
        Does::Drips(whole, 20),
    ] {
        let service = Service::that([does]);
        let mut options = options(&service.address());
        options.whole = Duration::from_secs(1);
        let begun = Instant::now();
        let error = went_wrong(fetch(&options, at(0), &FetchState::default()));
        assert!(begun.elapsed() < Duration::from_secs(4), "it took {:?}", begun.elapsed());
        assert!(matches!(error, FetchError::TooSlow { seconds: 1, .. }), "{error:?}");
        assert_eq!(error.to_string(), "127.0.0.1 did not answer within 1 s; try again later");
    }
}

#[test]
fn a_broken_answer_is_refused_as_a_whole() {
    let body = forecast(at(0), 48, 12.0);
    let cut = |length: usize| good(&body)[..length].to_vec();
    for broken in [Vec::new(), cut(30), cut(good(&body).len() - 1)] {
        let error = goes_wrong(&Service::says(broken));
        assert!(matches!(error, FetchError::BrokenOff { .. }), "{error:?}");
    }
    let head = |length: &str| format!("HTTP/1.1 200 OK\r\nContent-Length: {length}\r\n\r\n{body}");
    let too_long = goes_wrong(&Service::says(head(&(body.len() + 10).to_string())));
    assert!(matches!(too_long, FetchError::BrokenOff { .. }), "{too_long:?}");
    let too_short = goes_wrong(&Service::says(head("100")));
    assert!(matches!(too_short, FetchError::Content { .. }), "{too_short:?}");
    let no_length = goes_wrong(&Service::says(head("many")));
    assert!(matches!(no_length, FetchError::Garbled { .. }), "{no_length:?}");
    let other = goes_wrong(&Service::says("SSH-2.0-OpenSSH_9.9\r\n\r\n"));
    assert!(matches!(other, FetchError::Garbled { .. }), "{other:?}");
    let chunks = "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n5\r\n{\"pro\r\n";
    let unfinished = goes_wrong(&Service::says(chunks));
    assert!(matches!(unfinished, FetchError::BrokenOff { .. }), "{unfinished:?}");
}

#[test]
fn an_answer_that_is_not_a_forecast_is_reported_with_its_fault() {
    for (body, what) in [
        ("<html>Sign in to the network</html>".to_owned(), "this is not the JSON of a point forecast"),
        ("{}".to_owned(), "missing field `properties`"),
        (forecast(at(0), 3, 12.0).replace("celsius", "fahrenheit"), "is in \"fahrenheit\""),
        (forecast(at(0), 0, 12.0), "no usable hour"),
    ] {
        let error = goes_wrong(&Service::says(answer("200 OK", "", body))).to_string();
        assert!(error.starts_with("127.0.0.1: ") && error.contains(what), "{error}");
    }
}

#[test]
fn ten_megabytes_are_not_taken() {
    let spaces = vec![b' '; 10 << 20];
    let with_length = goes_wrong(&Service::says(answer("200 OK", "", &spaces)));
    let endless = [b"HTTP/1.1 200 OK\r\nConnection: close\r\n\r\n", &spaces[..]].concat();
    for error in [with_length, goes_wrong(&Service::says(endless))] {
        assert!(error.to_string().contains("larger than 8 MB"), "{error}");
    }
    let head = format!("HTTP/1.1 200 OK\r\nX: {}\r\n\r\n", "x".repeat(1 << 20));
    let error = goes_wrong(&Service::says(head));
    assert!(matches!(error, FetchError::Garbled { .. }), "{error:?}");
}

#[test]
fn a_refusal_of_the_service_is_reported_with_advice() {
    for (status, what) in [
        ("403 Forbidden", "check contact under [weather]"),
        ("422 Unprocessable Entity", "check latitude and longitude"),
        ("404 Not Found", "check url"),
        ("400 Bad Request", "check url"),
        ("500 Internal Server Error", "try again later"),
        ("418 I'm a teapot", "gave no forecast"),
    ] {
        let error = goes_wrong(&Service::says(answer(status, "", "<p>\u{1b}[2JNo.</p>"))).to_string();
        assert!(error.contains(what) && error.contains(&status[..3]), "{error}");
    }
}

#[test]
fn a_service_that_asks_for_fewer_requests_is_left_alone_for_longer_and_longer() {
    let service = Service::says(bare("429 Too Many Requests", ""));
    let options = options(&service.address());
    let mut state = FetchState::default();
    let mut minute = 0;
    for pause in [10, 20, 40] {
        let refused = fetch(&options, at(minute), &state);
        assert!(matches!(refused.outcome, Outcome::Failed(FetchError::Status { status_code: 429, .. })));
        assert_eq!(refused.state.held_until, Some(at(minute + pause)));
        let asked = service.heard().len();
        let held = fetch(&options, at(minute + pause - 1), &refused.state);
        assert_eq!(held.outcome, Outcome::NotYet { until: at(minute + pause), held: true });
        // Not for another place either.
        let mut elsewhere = options.clone();
        elsewhere.place = Coordinates::new(1.0, 2.0, None).unwrap();
        let held = fetch(&elsewhere, at(minute + pause - 1), &refused.state);
        assert_eq!(held.outcome, Outcome::NotYet { until: at(minute + pause), held: true });
        assert_eq!(service.heard().len(), asked);
        minute += pause;
        state = refused.state;
    }
    service.now_says(good(forecast(at(0), 2, 12.0)));
    let better = fetch(&options, at(minute), &state);
    assert_eq!((better.state.failures, better.state.held_until, better.state.error), (0, None, None));
}

#[test]
fn a_service_may_say_itself_when_to_come_again() {
    let held = |status: &str, line: &str| {
        ask(&Service::says(bare(status, line)), &FetchState::default()).state.held_until
    };
    assert_eq!(held("429 Too Many Requests", "Retry-After: 3600\r\n"), Some(at(60)));
    assert_eq!(held("429 Too Many Requests", "Retry-After: 1\r\n"), Some(at(10)), "no sooner than this");
    assert_eq!(held("429 Too Many Requests", "Retry-After: 4000000000\r\n"), Some(at(24 * 60)));
    let date = format!("Retry-After: {IN_HALF_AN_HOUR}\r\n");
    assert_eq!(held("503 Service Unavailable", &date), Some(at(30)), "reckoned from {DATE}");
    assert_eq!(held("503 Service Unavailable", ""), None);
    assert_eq!(held("403 Forbidden", ""), None);
}

#[test]
fn a_deprecated_forecast_product_is_used_and_reported() {
    let body = forecast(at(0), 2, 12.0);
    let service = Service::says(answer("203 Non-Authoritative Information", "", body));
    let outcome = ask(&service, &FetchState::default()).outcome;
    assert!(matches!(outcome, Outcome::New { outdated: true, .. }), "{outcome:?}");
}

#[test]
fn a_service_may_send_on_on_this_machine() {
    let good_one = Service::says(good(forecast(at(0), 5, 12.0)));
    let port = good_one.port();
    for target in [format!("http://127.0.0.1:{port}/elsewhere?lat=1"), format!("//127.0.0.1:{port}/b")] {
        let service = Service::says(bare("307 Temporary Redirect", &format!("Location: {target}\r\n")));
        assert_eq!(hours(&ask(&service, &FetchState::default()).outcome), 5);
    }
    assert!(good_one.heard()[0].starts_with("GET /elsewhere?lat=1 HTTP/1.1"));
    assert!(good_one.heard()[0].to_lowercase().contains("user-agent: curewright/"));
    let relative = Service::that([
        Does::Says(bare("301 Moved Permanently", "Location: /3.0/compact?lat=1\r\n")),
        Does::Says(bare("302 Found", "Location: other\r\n")),
        Does::Says(good(forecast(at(0), 4, 12.0))),
    ]);
    assert_eq!(hours(&ask(&relative, &FetchState::default()).outcome), 4);
    assert!(relative.heard()[2].starts_with("GET /3.0/other HTTP/1.1"), "{}", relative.heard()[2]);
}

#[test]
fn no_redirect_to_plain_http_on_another_machine_is_followed() {
    for target in
        ["http://example.org/forecast", "http://10.0.0.1/", "ftp://example.org/", "http://localhost/"]
    {
        let service = Service::says(bare("301 Moved Permanently", &format!("Location: {target}\r\n")));
        let error = goes_wrong(&service);
        assert!(matches!(&error, FetchError::SentAway { to, .. } if to == target), "{error:?}");
        assert!(error.to_string().contains("which is not allowed"), "{error}");
    }
}

#[test]
fn a_service_that_sends_in_circles_is_left() {
    let service = Service::says(bare("302 Found", "Location: /again\r\n"));
    let error = goes_wrong(&service);
    assert!(matches!(error, FetchError::SentInCircles { .. }), "{error:?}");
    assert_eq!(service.heard().len(), 6);
}

#[test]
fn a_missing_service_is_reported() {
    let gone = {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        format!("http://127.0.0.1:{}/x", listener.local_addr().unwrap().port())
    };
    let outcome = fetch(&options(&gone), at(0), &FetchState::default()).outcome;
    let Outcome::Failed(error @ FetchError::Unreachable { .. }) = outcome else { panic!("{outcome:?}") };
    assert!(error.to_string().starts_with("127.0.0.1 cannot be reached ("), "{error}");
}

#[test]
fn plain_http_is_not_asked_unless_it_is_allowed() {
    let service = Service::says(good(forecast(at(0), 5, 12.0)));
    let mut options = options(&service.address());
    options.plain_loopback = false;
    let outcome = fetch(&options, at(0), &FetchState::default()).outcome;
    assert!(matches!(outcome, Outcome::Failed(FetchError::Plain { .. })), "{outcome:?}");
    assert_eq!(service.heard(), [""; 0], "which is not allowed");
}

#[test]
fn a_service_without_https_is_not_trusted() {
    let service = Service::says(good(forecast(at(0), 5, 12.0)));
    let secure = service.address().replace("http://", "https://");
    let outcome = fetch(&options(&secure), at(0), &FetchState::default()).outcome;
    assert!(matches!(outcome, Outcome::Failed(FetchError::Untrusted { .. })), "{outcome:?}");
}
