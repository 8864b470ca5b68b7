//! A weather service on this machine, that answers as a test tells it to.

use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

/// The date that the service writes into its answers, years before that of any clock here.
pub const DATE: &str = "Tue, 16 Jun 2020 12:14:18 GMT";
/// Half an hour after that.
pub const IN_HALF_AN_HOUR: &str = "Tue, 16 Jun 2020 12:44:18 GMT";
/// When its forecast was last changed.
pub const MODIFIED: &str = "Tue, 16 Jun 2020 12:13:49 GMT";

/// What the service does with a request.
#[derive(Clone)]
pub enum Does {
    /// Sends these bytes and hangs up.
    Says(Vec<u8>),
    /// Sends these bytes, and then nothing more for a minute.
    Hangs(Vec<u8>),
    /// Sends a byte of this at an interval in milliseconds.
    Drips(Vec<u8>, u64),
}

/// A service, for as long as it is held.
pub struct Service {
    port: u16,
    heard: Arc<Mutex<Vec<String>>>,
    does: Arc<Mutex<Vec<Does>>>,
}

impl Service {
    /// A service that does these things, one a request, and the last again and again.
    pub fn that(does: impl IntoIterator<Item = Does>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let heard = Arc::new(Mutex::new(Vec::new()));
        let does = Arc::new(Mutex::new(does.into_iter().collect::<Vec<_>>()));
        let service = Self { port, heard: Arc::clone(&heard), does: Arc::clone(&does) };
        thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let request = request(&stream);
                heard.lock().unwrap().push(request);
                let mut does = does.lock().unwrap();
                let now = if does.len() > 1 { does.remove(0) } else { does[0].clone() };
                drop(does);
                thread::spawn(move || act(stream, now));
            }
        });
        service
    }

    /// A service that answers so.
    pub fn says(answer: impl Into<Vec<u8>>) -> Self {
        Self::that([Does::Says(answer.into())])
    }

    /// What it does from now on.
    pub fn now_says(&self, answer: impl Into<Vec<u8>>) {
        *self.does.lock().unwrap() = vec![Does::Says(answer.into())];
    }

    /// Its address, without the coordinates.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/weatherapi/locationforecast/2.0/compact", self.port)
    }

    /// Its name and port.
    pub const fn port(&self) -> u16 {
        self.port
    }

    /// The heads of the requests so far.
    pub fn heard(&self) -> Vec<String> {
        self.heard.lock().unwrap().clone()
    }
}

/// The lines of a request, up to the empty one.
fn request(stream: &TcpStream) -> String {
    let lines = BufReader::new(stream).lines().map_while(Result::ok);
    lines.take_while(|line| !line.is_empty()).map(|line| line + "\n").collect()
}

fn act(mut stream: TcpStream, does: Does) {
    // Whoever asked may have hung up.
    match does {
        Does::Says(bytes) => {
            let _ = stream.write_all(&bytes);
        }
        Does::Hangs(bytes) => {
            let _ = stream.write_all(&bytes);
            thread::sleep(Duration::from_secs(60));
        }
        Does::Drips(bytes, pause) => {
            for byte in bytes {
                if stream.write_all(&[byte]).is_err() {
                    return;
                }
                thread::sleep(Duration::from_millis(pause));
            }
        }
    }
}

/// An answer with a body.
pub fn answer(status: &str, lines: &str, body: impl AsRef<[u8]>) -> Vec<u8> {
    let body = body.as_ref();
    let head = format!(
        "HTTP/1.1 {status}\r\nDate: {DATE}\r\n{lines}Content-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    [head.as_bytes(), body].concat()
}

/// A good answer, valid for half an hour.
pub fn good(body: impl AsRef<[u8]>) -> Vec<u8> {
    let lines = format!(
        "Content-Type: application/json\r\nExpires: {IN_HALF_AN_HOUR}\r\nLast-Modified: {MODIFIED}\r\n"
    );
    answer("200 OK", &lines, body)
}

/// An answer without a body.
pub fn bare(status: &str, lines: &str) -> Vec<u8> {
    answer(status, lines, "")
}

/// A forecast in the documented JSON: one temperature for a number of hours from a moment on.
pub fn forecast(from: chrono::DateTime<chrono::Utc>, hours: i64, air: f64) -> String {
    let steps: Vec<_> = (0..hours)
        .map(|hour| {
            let time = from + chrono::TimeDelta::hours(hour);
            serde_json::json!({
                "time": time.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
                "data": {
                    "instant": { "details": {
                        "air_pressure_at_sea_level": 1020.5, "air_temperature": air,
                        "relative_humidity": 78.0, "wind_from_direction": 151.8, "wind_speed": 2.5
                    } },
                    "next_1_hours": {
                        "summary": { "symbol_code": "rain" }, "details": { "precipitation_amount": 0.4 }
                    },
                    "next_12_hours": { "summary": { "symbol_code": "cloudy" }, "details": {} }
                }
            })
        })
        .collect();
    serde_json::json!({
        "type": "Feature",
        "geometry": { "type": "Point", "coordinates": [10.7461, 59.9127, 12] },
        "properties": {
            "meta": {
                "updated_at": from.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
                "units": {
                    "air_pressure_at_sea_level": "hPa", "air_temperature": "celsius",
                    "precipitation_amount": "mm", "relative_humidity": "%",
                    "wind_from_direction": "degrees", "wind_speed": "m/s"
                }
            },
            "timeseries": steps
        }
    })
    .to_string()
}
