//! What a person has set: units, leads, the thermometer's error. Read from the text of `config.toml`;
//! where the file lies is the matter of the command line.

use chrono::TimeDelta;
use serde::Deserialize;

use crate::units::{ClockFace, KelvinDelta, Units, clean, parse_duration};

/// The settings of a person.
#[derive(Debug, Clone, PartialEq)]
pub struct Config {
    /// What quantities are printed in.
    pub units: Units,
    /// The face of the clock; None: as the locale says.
    pub clock: Option<ClockFace>,
    /// How far the thermometer may be off.
    pub thermometer_error: KelvinDelta,
    /// How old a reading may grow before it is called too old to trust.
    pub reading_old: TimeDelta,
    /// When alerts ring.
    pub leads: Leads,
    /// What to run for an alert: a program and its arguments; `{title}` and `{text}` are replaced.
    pub alert_command: Vec<String>,
}

/// How long before a moment an alert rings, and how often again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leads {
    /// Before the window may close.
    pub close: TimeDelta,
    /// Before the last call; and what the last call leaves in hand.
    pub last_call: TimeDelta,
    /// Before the tape must be off.
    pub tape: TimeDelta,
    /// Until an alert that insists is told again.
    pub repeat: TimeDelta,
    /// A window that moved by more than this is told.
    pub moved: TimeDelta,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            units: Units::default(),
            clock: None,
            thermometer_error: KelvinDelta::new(1.0),
            reading_old: TimeDelta::hours(6),
            leads: Leads::default(),
            alert_command: Vec::new(),
        }
    }
}

impl Default for Leads {
    fn default() -> Self {
        Self {
            close: TimeDelta::minutes(30),
            last_call: TimeDelta::minutes(15),
            tape: TimeDelta::minutes(15),
            repeat: TimeDelta::minutes(10),
            moved: TimeDelta::minutes(20),
        }
    }
}

/// Why a text is no configuration.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct ConfigError(String);

/// A commented configuration, as a start for a person's own.
pub const TEMPLATE: &str = include_str!("config/template.toml");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    #[serde(default)]
    units: Units,
    clock: Option<ClockFace>,
    thermometer_error: Option<f64>,
    reading_old: Option<String>,
    #[serde(default)]
    alerts: RawAlerts,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawAlerts {
    close: Option<String>,
    last_call: Option<String>,
    tape: Option<String>,
    repeat: Option<String>,
    moved: Option<String>,
    #[serde(default)]
    command: Vec<String>,
}

impl Config {
    /// Reads a configuration; what it does not say keeps its default.
    ///
    /// # Errors
    /// [`ConfigError`] with the line and what would be right.
    pub fn read(text: &str) -> Result<Self, ConfigError> {
        let raw: Raw = toml::from_str(text).map_err(|error| ConfigError(clean_lines(&error.to_string())))?;
        let default = Self::default();
        let error = raw.thermometer_error.unwrap_or(default.thermometer_error.kelvin());
        if !(0.0..=10.0).contains(&error) {
            return Err(ConfigError("thermometer_error must lie between 0 and 10 K".into()));
        }
        let time = |text: Option<String>, key: &str, default: TimeDelta| match text {
            None => Ok(default),
            Some(text) => parse_duration(&text).map_err(|error| ConfigError(format!("{key}: {error}"))),
        };
        let leads = default.leads;
        let repeat = time(raw.alerts.repeat, "alerts.repeat", leads.repeat)?;
        if repeat < TimeDelta::minutes(1) {
            return Err(ConfigError("alerts.repeat must be at least 1 min".into()));
        }
        Ok(Self {
            units: raw.units,
            clock: raw.clock,
            thermometer_error: KelvinDelta::new(error),
            reading_old: time(raw.reading_old, "reading_old", default.reading_old)?,
            leads: Leads {
                close: time(raw.alerts.close, "alerts.close", leads.close)?,
                last_call: time(raw.alerts.last_call, "alerts.last_call", leads.last_call)?,
                tape: time(raw.alerts.tape, "alerts.tape", leads.tape)?,
                repeat,
                moved: time(raw.alerts.moved, "alerts.moved", leads.moved)?,
            },
            alert_command: raw.alerts.command,
        })
    }
}

fn clean_lines(text: &str) -> String {
    text.lines().map(clean).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_configuration_is_the_default() {
        assert_eq!(Config::read(""), Ok(Config::default()));
    }

    #[test]
    fn every_commented_line_of_the_template_is_valid_and_states_the_default() {
        assert_eq!(Config::read(TEMPLATE), Ok(Config::default()));
        let uncommented: String = TEMPLATE
            .lines()
            .map(|line| line.strip_prefix("#: ").unwrap_or(line))
            .fold(String::new(), |all, line| all + line + "\n");
        let read = Config::read(&uncommented).unwrap();
        let told = Config { alert_command: Vec::new(), clock: None, ..read.clone() };
        assert_eq!(told, Config::default());
        assert!(!read.alert_command.is_empty());
    }

    #[test]
    fn a_fault_names_its_line() {
        let error = Config::read("thermometer_eror = 2").unwrap_err().to_string();
        assert!(error.contains("line 1") && error.contains("thermometer_eror"), "{error}");
        assert!(Config::read("thermometer_error = 11").is_err());
        assert!(Config::read("[alerts]\nrepeat = \"1 s\"").is_err());
        assert!(Config::read("[alerts]\nclose = \"30\"").unwrap_err().to_string().contains("alerts.close"));
    }
}
