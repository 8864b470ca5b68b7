//! Why a sensor gave no reading.

use chrono::TimeDelta;

use crate::engine::units::{clean, duration_text};

/// Why a sensor gave no reading, in words that follow its name.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SensorFault {
    /// The file is not there.
    #[error("the file is not there")]
    Missing,
    /// It is not a regular file.
    #[error("it is not a regular file")]
    NotAFile,
    /// It cannot be read.
    #[error("it cannot be read: {0}")]
    Unreadable(String),
    /// The program cannot be run.
    #[error("the program cannot be run: {0}")]
    NotRun(String),
    /// The program failed.
    #[error("the program failed ({0})")]
    Status(String),
    /// The program did not end.
    #[error("the program ran for more than 10 s and was stopped")]
    Hung,
    /// The output is too long.
    #[error("its output is larger than 64 kB")]
    TooMuch,
    /// The output is empty.
    #[error("its output is empty")]
    Empty,
    /// The output is not a value.
    #[error("its output \"{0}\" is not {1}")]
    NotThat(String, &'static str),
    /// Not JSON, although a pointer is set.
    #[error("its output is not JSON: {0}")]
    NotJson(String),
    /// JSON, but no pointer is set.
    #[error("its output is JSON; set temperature, a JSON pointer such as \"/temperature\"")]
    NoPointer,
    /// The pointer finds nothing.
    #[error("there is nothing at {0} in its output")]
    NothingAt(String),
    /// Impossible temperature for a shop.
    #[error("{0} °C is outside −40…60 °C")]
    OutOfRange(String),
    /// Impossible humidity.
    #[error("a humidity of {0} % is outside 1…100 %; write 60 for 60 %, not 0.6")]
    HumidityOutOfRange(String),
    /// The power-on value of a common sensor.
    #[error("85 °C is what this kind of sensor sends before its first measurement; check its power supply")]
    PowerOn,
    /// The checksum is wrong.
    #[error("the check sum is wrong; check the wiring")]
    CheckSum,
    /// The sensor is not connected.
    #[error("its output is all zeros; check the wiring")]
    Unwired,
    /// Degrees instead of thousandths of a degree.
    #[error("{0} looks like degrees, not thousandths of them; set scale = 1.0")]
    Scale(String),
    /// The value never changes.
    #[error("its value has not changed for a day; it is stuck or frozen")]
    Stuck,
    /// It fails intermittently.
    #[error(
        "it fails again and again, last with: {0}; no more messages until it has worked for half an hour"
    )]
    ComesAndGoes(String),
    /// It is silent.
    #[error("no data for {}", duration_text(*.0))]
    Silent(TimeDelta),
    /// The broker has failed.
    #[error("the MQTT broker: {0}")]
    Broker(String),
}

impl SensorFault {
    /// The invalid value, shortened and cleaned for a terminal.
    pub(super) fn not_that(text: &str, wanted: &'static str) -> Self {
        let text = clean(text);
        let mut short: String = text.chars().take(40).collect();
        if short.len() < text.len() {
            short.push('…');
        }
        Self::NotThat(short, wanted)
    }
}
