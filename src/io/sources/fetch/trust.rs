//! Real TLS exchanges with a local service and certificates of a test root: trust, redirects and timeouts.

use std::io::{ErrorKind, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair, date_time_ymd};
use rustls::pki_types::PrivatePkcs8KeyDer;
use rustls::{ServerConfig, ServerConnection, StreamOwned};

use super::*;

fn now() -> Moment {
    "2026-05-02T18:00:00Z".parse().unwrap()
}

/// A test root.
struct Root {
    der: Vec<u8>,
    issuer: Issuer<'static, KeyPair>,
}

impl Root {
    fn new() -> Self {
        let mut params = CertificateParams::new(Vec::new()).unwrap();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let key = KeyPair::generate().unwrap();
        let der = params.self_signed(&key).unwrap().der().to_vec();
        Self { der, issuer: Issuer::new(params, key) }
    }

    /// A certificate for this host name; expired years ago if `expired`.
    fn shows(&self, name: &str, expired: bool) -> Arc<ServerConfig> {
        let mut params = CertificateParams::new(vec![name.to_owned()]).unwrap();
        if expired {
            (params.not_before, params.not_after) = (date_time_ymd(2019, 1, 1), date_time_ymd(2020, 1, 1));
        }
        let key = KeyPair::generate().unwrap();
        let chain = vec![params.signed_by(&key, &self.issuer).unwrap().der().clone()];
        let key = PrivatePkcs8KeyDer::from(key.serialize_der()).into();
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider).with_safe_default_protocol_versions();
        Arc::new(config.unwrap().with_no_client_auth().with_single_cert(chain, key).unwrap())
    }
}

/// A service with a certificate and an answer, and the number of requests it received.
fn service(shows: Arc<ServerConfig>, answer: Vec<u8>) -> (u16, Arc<AtomicUsize>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let heard = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&heard);
    thread::spawn(move || {
        for stream in listener.incoming().map_while(Result::ok) {
            let mut stream = StreamOwned::new(ServerConnection::new(Arc::clone(&shows)).unwrap(), stream);
            let mut head = Vec::new();
            let mut bytes = [0; 1024];
            while !head.ends_with(b"\r\n\r\n") {
                match stream.read(&mut bytes) {
                    Ok(0) | Err(_) => break,
                    Ok(count) => head.extend_from_slice(&bytes[..count]),
                }
            }
            if head.starts_with(b"GET ") {
                counted.fetch_add(1, Ordering::SeqCst);
                let _ = stream.write_all(&answer);
                stream.conn.send_close_notify();
                let _ = stream.flush();
            }
        }
    });
    (port, heard)
}

fn said(status: &str, lines: &str, body: &str) -> Vec<u8> {
    format!("HTTP/1.1 {status}\r\n{lines}Content-Length: {}\r\nConnection: close\r\n\r\n{body}", body.len())
        .into_bytes()
}

fn forecast() -> Vec<u8> {
    let hour = |hour: i64| {
        let time = (now() + TimeDelta::hours(hour)).to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        serde_json::json!({ "time": time, "data": { "instant": { "details": { "air_temperature": 12.5 } } } })
    };
    let steps: Vec<_> = (0..24).map(hour).collect();
    let units = serde_json::json!({ "air_temperature": "celsius" });
    let properties = serde_json::json!({ "meta": { "units": units }, "timeseries": steps });
    let body = serde_json::json!({ "type": "Feature", "properties": properties }).to_string();
    said("200 OK", "Content-Type: application/json\r\n", &body)
}

fn options(host: &str, port: u16) -> FetchOptions {
    let address = ServiceAddress::parse(&format!("https://{host}:{port}/compact")).unwrap();
    let place = Coordinates::new(59.9127, 10.7461, None).unwrap();
    let options = FetchOptions::new(address, place, "shop@hut.test");
    FetchOptions { connect: Duration::from_secs(1), whole: Duration::from_secs(3), ..options }
}

#[track_caller]
fn goes_wrong(options: &FetchOptions) -> (FetchError, Duration) {
    let begun = Instant::now();
    match fetch(options, now(), &FetchState::default()).outcome {
        Outcome::Failed(error) => (error, begun.elapsed()),
        other => panic!("it went well: {other:?}"),
    }
}

#[test]
fn a_forecast_comes_over_a_trusted_connection() {
    let root = Root::new();
    for name in ["localhost", "127.0.0.1"] {
        let (port, heard) = service(root.shows(name, false), forecast());
        let options = options(name, port).trusting(&root.der);
        let outcome = fetch(&options, now(), &FetchState::default()).outcome;
        let Outcome::New { forecast, .. } = outcome else { panic!("{name}: {outcome:?}") };
        assert_eq!((forecast.hours.len(), heard.load(Ordering::SeqCst)), (24, 1));
    }
}

#[test]
fn a_service_with_a_wrong_certificate_gets_no_request() {
    let (root, stranger) = (Root::new(), Root::new());
    let wrong = [
        ("of an unknown root", "localhost", stranger.shows("localhost", false)),
        ("of another name", "localhost", root.shows("weather.example.org", false)),
        ("of another number", "127.0.0.1", root.shows("localhost", false)),
        ("that ran out", "localhost", root.shows("localhost", true)),
    ];
    for (what, host, shows) in wrong {
        let (port, heard) = service(shows, forecast());
        let (error, _) = goes_wrong(&options(host, port).trusting(&root.der));
        assert!(matches!(error, FetchError::Untrusted { .. }), "{what}: {error:?}");
        assert!(error.to_string().contains("cannot be trusted"), "{error}");
        assert_eq!(heard.load(Ordering::SeqCst), 0, "{what}");
    }
}

#[test]
fn the_public_roots_do_not_trust_a_test_root() {
    let root = Root::new();
    let (port, heard) = service(root.shows("localhost", false), forecast());
    let (error, _) = goes_wrong(&options("localhost", port));
    assert!(matches!(error, FetchError::Untrusted { .. }), "{error:?}");
    assert_eq!(heard.load(Ordering::SeqCst), 0);
}

#[test]
fn no_redirect_from_https_to_plain_http_is_followed() {
    let plain = TcpListener::bind("127.0.0.1:0").unwrap();
    plain.set_nonblocking(true).unwrap();
    let target = format!("http://{}/compact", plain.local_addr().unwrap());
    let root = Root::new();
    let sends_on = said("302 Found", &format!("Location: {target}\r\n"), "");
    let (port, heard) = service(root.shows("localhost", false), sends_on);
    let (error, _) = goes_wrong(&options("localhost", port).trusting(&root.der));
    assert!(matches!(&error, FetchError::SentAway { to, .. } if *to == target), "{error:?}");
    assert_eq!(heard.load(Ordering::SeqCst), 1);
    assert_eq!(plain.accept().map_err(|e| e.kind()).unwrap_err(), ErrorKind::WouldBlock, "no request came");
}

#[test]
fn a_redirect_from_https_to_https_is_followed_and_verified_again() {
    let (root, stranger) = (Root::new(), Root::new());
    for (shows, trusted) in
        [(root.shows("localhost", false), true), (stranger.shows("localhost", false), false)]
    {
        let (target, asked) = service(shows, forecast());
        let sends_on =
            said("307 Temporary Redirect", &format!("Location: https://localhost:{target}/b\r\n"), "");
        let (port, _) = service(root.shows("localhost", false), sends_on);
        let fetched = fetch(&options("localhost", port).trusting(&root.der), now(), &FetchState::default());
        assert_eq!(matches!(fetched.outcome, Outcome::New { .. }), trusted, "{:?}", fetched.outcome);
        assert_eq!(asked.load(Ordering::SeqCst), usize::from(trusted));
    }
}

#[test]
fn a_silent_service_times_out() {
    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    let (error, took) = goes_wrong(&options("127.0.0.1", silent.local_addr().unwrap().port()));
    assert!(matches!(error, FetchError::TooSlow { .. }), "{error:?}");
    assert!(took < Duration::from_secs(5), "{took:?}");
}

/// The first bytes of a handshake, then one more from time to time.
#[test]
fn an_endless_handshake_times_out() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    thread::spawn(move || {
        for mut stream in listener.incoming().map_while(Result::ok) {
            // A handshake record with a stated length of 16 kB.
            let _ = stream.write_all(&[22, 3, 3, 0x40, 0]);
            while stream.write_all(&[0]).is_ok() {
                thread::sleep(Duration::from_millis(100));
            }
        }
    });
    let (error, took) = goes_wrong(&options("127.0.0.1", port));
    assert!(matches!(error, FetchError::TooSlow { .. } | FetchError::Untrusted { .. }), "{error:?}");
    assert!(took < Duration::from_secs(5), "{took:?}");
}

#[test]
fn a_service_without_tls_is_not_trusted() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    thread::spawn(move || {
        for mut stream in listener.incoming().map_while(Result::ok) {
            let _ = stream.write_all(&said("200 OK", "", "{}"));
        }
    });
    let (error, _) = goes_wrong(&options("127.0.0.1", port));
    assert!(matches!(error, FetchError::Untrusted { .. }), "{error:?}");
}

/// A machine that does not accept connections: no answer to the first packet. Here its queue is full, which
/// Linux answers with silence.
#[test]
fn a_service_that_does_not_accept_times_out() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    let callers = fill(address);
    let (error, took) = goes_wrong(&options("127.0.0.1", address.port()));
    assert!(matches!(error, FetchError::TooSlow { seconds: 1, .. }), "{error:?}");
    assert!(took < Duration::from_secs(5), "{took:?}");
    drop(callers);
}

/// Connects until the queue is full.
fn fill(address: SocketAddr) -> Vec<TcpStream> {
    let mut callers = Vec::new();
    while let Ok(caller) = TcpStream::connect_timeout(&address, Duration::from_millis(300)) {
        callers.push(caller);
        assert!(callers.len() < 10_000, "the queue is never full");
    }
    callers
}
