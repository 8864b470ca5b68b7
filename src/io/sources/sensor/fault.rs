//! Why a sensor gave no reading.

use chrono::TimeDelta;

use crate::engine::units::{clean, duration_text};

/// Why a sensor gave no reading, in words that go behind its name.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SensorFault {
    /// The file is not there.
    #[error("the file is not there")]
    Missing,
    /// It is a folder, a pipe or the like.
    #[error("it is not a regular file")]
    NotAFile,
    /// It cannot be read.
    #[error("it cannot be read: {0}")]
    Unreadable(String),
    /// A program that cannot be run.
    #[error("the program cannot be run: {0}")]
    NotRun(String),
    /// A program that ended badly.
    #[error("the program failed ({0})")]
    Status(String),
    /// A program that did not end.
    #[error("the program ran for more than 10 s and was stopped")]
    Hung,
    /// More than anybody needs to say a temperature.
    #[error("its output is larger than 64 kB")]
    TooMuch,
    /// Nothing was said.
    #[error("its output is empty")]
    Empty,
    /// Something else was said.
    #[error("its output \"{0}\" is not {1}")]
    NotThat(String, &'static str),
    /// Not what a pointer needs.
    #[error("its output is not JSON: {0}")]
    NotJson(String),
    /// JSON, and no pointer into it.
    #[error("its output is JSON; set temperature, a JSON pointer such as \"/temperature\"")]
    NoPointer,
    /// Nothing where the pointer points.
    #[error("there is nothing at {0} in its output")]
    NothingAt(String),
    /// No shop is like this.
    #[error("{0} °C is outside −40…60 °C")]
    OutOfRange(String),
    /// No air is like this.
    #[error("a humidity of {0} % is outside 1…100 %; write 60 for 60 %, not 0.6")]
    HumidityOutOfRange(String),
    /// What a sensor says before it has measured.
    #[error("85 °C is what this kind of sensor sends before its first measurement; check its power supply")]
    PowerOn,
    /// The wire spoils what is said.
    #[error("the check sum is wrong; check the wiring")]
    CheckSum,
    /// Nothing is at the other end.
    #[error("its output is all zeros; check the wiring")]
    Unwired,
    /// Degrees where thousandths are expected.
    #[error("{0} looks like degrees, not thousandths of them; set scale = 1.0")]
    Scale(String),
    /// Alive, and yet not.
    #[error("its value has not changed for a day; it is stuck or frozen")]
    Stuck,
    /// It fails, works and fails again.
    #[error(
        "it fails again and again, last with: {0}; no more messages until it has worked for half an hour"
    )]
    ComesAndGoes(String),
    /// It has gone quiet.
    #[error("no data for {}", duration_text(*.0))]
    Silent(TimeDelta),
    /// The broker is the trouble.
    #[error("the MQTT broker: {0}")]
    Broker(String),
}

impl SensorFault {
    /// Something that is no quantity of this kind, short and fit for a terminal.
    pub(super) fn not_that(text: &str, wanted: &'static str) -> Self {
        let text = clean(text);
        let mut short: String = text.chars().take(40).collect();
        if short.len() < text.len() {
            short.push('…');
        }
        Self::NotThat(short, wanted)
    }
}
