//! A person's settings, from the text of `config.toml`: units, leads, instruments, weather, sensors, free
//! hours. The command line knows where the file is.

use chrono::TimeDelta;
use serde::Deserialize;

use crate::engine::hours::{FreeHours, RawFree};
use crate::engine::units::{ClockFace, Humidity, KelvinDelta, Units, clean, parse_duration};
use amounts::RawAmounts;
use sensors::{RawMqtt, RawSensor};
use weather::RawWeather;

mod amounts;
mod sensors;
mod weather;

pub use amounts::{Amounts, MOST_LOST};
pub use sensors::{Broker, Measures, Pointers, Sensor, SensorSource};
pub use weather::{Coordinates, ServiceAddress, Weather};

/// The settings of a person.
#[derive(Debug, Clone, PartialEq)]
pub struct Config {
    /// The units of printed quantities.
    pub units: Units,
    /// The clock face; None: from the locale.
    pub clock: Option<ClockFace>,
    /// How the board is coloured.
    pub colours: Colours,
    /// The error of the thermometer.
    pub thermometer_error: KelvinDelta,
    /// The error of the hygrometer.
    pub hygrometer_error: Humidity,
    /// The age at which a reading is too old.
    pub reading_old: TimeDelta,
    /// The timing of alerts.
    pub leads: Leads,
    /// The alert command: a program and its arguments; `{title}` and `{text}` are replaced.
    pub alert_command: Vec<String>,
    /// Rollers, scales and money.
    pub amounts: Amounts,
    /// The outdoor forecast.
    pub weather: Weather,
    /// The sensors.
    pub sensors: Vec<Sensor>,
    /// The MQTT broker.
    pub mqtt: Option<Broker>,
    /// The free hours.
    pub free: FreeHours,
    /// What a session takes besides its steps.
    pub session: SessionTimes,
    /// Who and where, for the head of a report.
    pub report: ReportHead,
}

/// Who and where, for the head of a report. What is not given is left as a line to fill in by hand.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReportHead {
    /// The owner of the piece.
    pub owner: Option<String>,
    /// Where it stands.
    pub place: Option<String>,
    /// Who applied the coats.
    pub applied_by: Option<String>,
    /// The thermometer, the hygrometer and the comb.
    pub instruments: Option<String>,
}

/// What a session takes besides its steps (defaults: common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SessionTimes {
    /// To mix, before the first coat of a product.
    pub mixing: TimeDelta,
    /// To clean up, after the last coat of a product.
    pub cleaning: TimeDelta,
    /// Until washed ground is dry.
    pub wash_dries: TimeDelta,
}

impl Default for SessionTimes {
    fn default() -> Self {
        Self {
            mixing: TimeDelta::minutes(10),
            cleaning: TimeDelta::minutes(10),
            wash_dries: TimeDelta::minutes(30),
        }
    }
}

/// How the board is coloured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Colours {
    /// In the colours of the terminal.
    #[default]
    Auto,
    /// Nothing dim and no colour, for sunlight and tired eyes.
    Contrast,
    /// No colour; so too where NO_COLOR is set.
    None,
}

/// The lead of each alert, and the repetition.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leads {
    /// Before the window may close.
    pub close: TimeDelta,
    /// Before the last call; also the reserve of the last call.
    pub last_call: TimeDelta,
    /// Before the tape must be off.
    pub tape: TimeDelta,
    /// Before the pot life of a batch may end; a quarter of it if that is less.
    pub pot: TimeDelta,
    /// The time until an insistent alert is repeated.
    pub repeat: TimeDelta,
    /// A window that moved by more than this raises an alert.
    pub moved: TimeDelta,
    /// How long "Later" puts an alert off.
    pub snooze: TimeDelta,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            units: Units::default(),
            clock: None,
            colours: Colours::default(),
            thermometer_error: KelvinDelta::new(1.0),
            hygrometer_error: Humidity::from_fraction(0.04),
            reading_old: TimeDelta::hours(6),
            leads: Leads::default(),
            alert_command: Vec::new(),
            amounts: Amounts::usual(&Units::default()),
            weather: Weather::default(),
            sensors: Vec::new(),
            mqtt: None,
            free: FreeHours::default(),
            session: SessionTimes::default(),
            report: ReportHead::default(),
        }
    }
}

impl Default for Leads {
    fn default() -> Self {
        Self {
            close: TimeDelta::minutes(30),
            last_call: TimeDelta::minutes(15),
            tape: TimeDelta::minutes(15),
            pot: TimeDelta::minutes(15),
            repeat: TimeDelta::minutes(10),
            moved: TimeDelta::minutes(20),
            snooze: TimeDelta::minutes(15),
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
    #[serde(default)]
    colours: Colours,
    thermometer_error: Option<f64>,
    hygrometer_error: Option<f64>,
    reading_old: Option<String>,
    #[serde(default)]
    alerts: RawAlerts,
    #[serde(default)]
    amounts: RawAmounts,
    #[serde(default)]
    weather: RawWeather,
    #[serde(default)]
    mqtt: RawMqtt,
    #[serde(default)]
    sensor: Vec<RawSensor>,
    #[serde(default)]
    free: RawFree,
    #[serde(default)]
    session: RawSession,
    #[serde(default)]
    report: ReportHead,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawSession {
    mixing: Option<String>,
    cleaning: Option<String>,
    wash_dries: Option<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawAlerts {
    close: Option<String>,
    last_call: Option<String>,
    tape: Option<String>,
    pot: Option<String>,
    repeat: Option<String>,
    moved: Option<String>,
    snooze: Option<String>,
    #[serde(default)]
    command: Vec<String>,
}

impl Config {
    /// Reads a configuration; what it does not say keeps its default.
    ///
    /// # Errors
    /// [`ConfigError`] with the line and what would be right.
    pub fn read(text: &str) -> Result<Self, ConfigError> {
        let raw: Raw = toml::from_str(text).map_err(|error| located(text, &error))?;
        let default = Self::default();
        let wrong = |key: &str, what: &str| ConfigError(format!("{}{key}: {what}", line_of(text, key)));
        let error = raw.thermometer_error.unwrap_or(default.thermometer_error.kelvin());
        if !(0.0..=10.0).contains(&error) {
            return Err(wrong("thermometer_error", "it must be between 0 and 10 K"));
        }
        let hygrometer = match raw.hygrometer_error {
            None => default.hygrometer_error,
            Some(percent) if (0.0..=25.0).contains(&percent) => Humidity::from_fraction(percent / 100.0),
            Some(_) => return Err(wrong("hygrometer_error", "it must be between 0 and 25 % RH")),
        };
        let time = |value: Option<String>, key: &str, default: TimeDelta| match value {
            None => Ok(default),
            Some(value) => parse_duration(&value).map_err(|error| wrong(key, &error.to_string())),
        };
        let leads = default.leads;
        let repeat = time(raw.alerts.repeat, "alerts.repeat", leads.repeat)?;
        if repeat < TimeDelta::minutes(1) {
            return Err(wrong("alerts.repeat", "it must be at least 1 min"));
        }
        let snooze = time(raw.alerts.snooze, "alerts.snooze", leads.snooze)?;
        if !(TimeDelta::minutes(1)..=TimeDelta::hours(24)).contains(&snooze) {
            return Err(wrong("alerts.snooze", "it must be between 1 min and 24 h"));
        }
        let usual = default.session;
        let session = |value: Option<String>, key: &str, default: TimeDelta| {
            let length = time(value, key, default)?;
            let within = length <= TimeDelta::hours(12);
            if within { Ok(length) } else { Err(wrong(key, "it must be at most 12 h")) }
        };
        let mqtt = raw.mqtt.check().map_err(ConfigError)?;
        Ok(Self {
            units: raw.units,
            clock: raw.clock,
            colours: raw.colours,
            thermometer_error: KelvinDelta::new(error),
            hygrometer_error: hygrometer,
            reading_old: time(raw.reading_old, "reading_old", default.reading_old)?,
            leads: Leads {
                close: time(raw.alerts.close, "alerts.close", leads.close)?,
                last_call: time(raw.alerts.last_call, "alerts.last_call", leads.last_call)?,
                tape: time(raw.alerts.tape, "alerts.tape", leads.tape)?,
                pot: time(raw.alerts.pot, "alerts.pot", leads.pot)?,
                repeat,
                moved: time(raw.alerts.moved, "alerts.moved", leads.moved)?,
                snooze,
            },
            alert_command: raw.alerts.command,
            amounts: raw.amounts.check(&raw.units).map_err(ConfigError)?,
            weather: raw.weather.check(text).map_err(ConfigError)?,
            sensors: sensors::check(raw.sensor, mqtt.as_ref()).map_err(ConfigError)?,
            mqtt,
            free: raw.free.check(text).map_err(|error| ConfigError(error.to_string()))?,
            session: SessionTimes {
                mixing: session(raw.session.mixing, "session.mixing", usual.mixing)?,
                cleaning: session(raw.session.cleaning, "session.cleaning", usual.cleaning)?,
                wash_dries: session(raw.session.wash_dries, "session.wash_dries", usual.wash_dries)?,
            },
            report: raw.report,
        })
    }
}

/// "line 3: " for the line that sets a key.
fn line_of(text: &str, key: &str) -> String {
    let name = key.rsplit('.').next().unwrap_or(key);
    let sets = |line: &str| line.split_once('=').is_some_and(|(left, _)| left.trim() == name);
    text.lines().position(sets).map(|index| format!("line {}: ", index + 1)).unwrap_or_default()
}

/// Where and why a text is no configuration. The line itself is not quoted: it may hold a secret.
fn located(text: &str, error: &toml::de::Error) -> ConfigError {
    let before = error.span().map_or(text, |span| text.get(..span.start).unwrap_or(text));
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    let message = error.message();
    // A text in the wrong place is quoted there.
    let message = match message.rsplit_once(", expected ") {
        Some((found, wanted)) if found.starts_with("invalid type: string ") => {
            format!("invalid type: a text, expected {wanted}")
        }
        _ => message.to_owned(),
    };
    ConfigError(format!("line {line}, column {column}: {}", clean(&message)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_in_the_wrong_place_is_not_echoed() {
        for text in [
            "[mqtt]\nbroker = \"x:1\"\nuser = \"me\"\npassword = \"hunter2\"",
            "mqtt = \"hunter2\"",
            "[mqtt]\npassword = \"hunter2",
            "[weather]\nkey = \"hunter2\"",
        ] {
            let told = Config::read(text).unwrap_err().to_string();
            assert!(!told.contains("hunter2") && told.starts_with("line "), "{told}");
        }
    }

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
        // These have no default, and what is shown of them is an example.
        let weather = Weather { place: None, contact: None, climate: None, ..read.weather.clone() };
        let told = Config { alert_command: Vec::new(), clock: None, weather, ..read.clone() };
        let told = Config { sensors: Vec::new(), mqtt: None, free: FreeHours::default(), ..told };
        let told = Config { report: ReportHead::default(), ..told };
        assert!(read.report.owner.is_some() && read.report.instruments.is_some());
        assert_eq!(told, Config::default());
        assert!(!read.alert_command.is_empty());
        assert_eq!((read.sensors.len(), read.mqtt.is_some()), (4, true));
        assert!(read.weather.place.is_some() && read.weather.contact.is_some());
        assert_eq!(read.weather.climate.as_deref(), Some("~/climate.csv"));
        assert!(read.free.names_hours() && !read.free.except.is_empty() && !read.free.busy.is_empty());
    }

    #[test]
    fn the_scale_follows_the_unit_of_mass() {
        let scale = |text: &str| Config::read(text).unwrap().amounts.scale.grams();
        assert_eq!(scale(""), 1.0);
        assert!((scale("[units]\nmass = \"oz\"") - 2.834_952_3).abs() < 1e-6);
        assert_eq!(scale("[units]\nmass = \"oz\"\n[amounts]\nscale = \"5 g\""), 5.0);
        assert_eq!(Config::read("[amounts]\nin_tools = \"0\"").unwrap().amounts.in_tools.millilitres(), 0.0);
    }

    #[test]
    fn a_fault_names_its_line() {
        let error = Config::read("thermometer_eror = 2").unwrap_err().to_string();
        assert!(error.contains("line 1") && error.contains("thermometer_eror"), "{error}");
        assert!(Config::read("thermometer_error = 11").is_err());
        for wrong in ["-1", "26", "nan", "inf"] {
            let error = Config::read(&format!("\nhygrometer_error = {wrong}")).unwrap_err().to_string();
            assert!(
                error.starts_with("line 2: hygrometer_error: it must be between 0 and 25 % RH"),
                "{error}"
            );
        }
        let read = Config::read("hygrometer_error = 25").unwrap();
        assert_eq!(read.hygrometer_error, Humidity::from_fraction(0.25));
        let weather = |table: &str| Config::read(&format!("[weather]\n{table}")).unwrap_err().to_string();
        assert!(weather("latitude = 91\nlongitude = 0").contains("weather.latitude must be between"));
        assert!(weather("latitude = nan\nlongitude = 0").contains("weather.latitude must be between"));
        assert!(weather("latitude = 60").contains("needs weather.longitude"));
        assert!(weather("altitude = 60").contains("weather.altitude needs"));
        assert!(weather("contact = \"me\"").contains("weather.contact"));
        assert!(
            weather("url = \"http://example.org\"")
                .contains("weather.url: others can read and change plain HTTP")
        );
        assert!(weather("url = \"https://example.org?lat=1\"").contains("before ? and #"));
        assert!(weather("lattitude = 60").contains("line 2"));
        let climate = weather("contact = \"you@example.org\"\nclimate = \"years.csv\"");
        assert!(
            climate.starts_with("line 3, column 11: weather.climate: \"years.csv\": write the"),
            "{climate}"
        );
        let free = Config::read("clock = \"24h\"\n[free]\nhours = [\"Sat 9\"]").unwrap_err().to_string();
        assert!(free.starts_with("line 3, column 10: free.hours: \"Sat 9\": "), "{free}");
        let amounts = |table: &str| Config::read(&format!("[amounts]\n{table}")).unwrap_err().to_string();
        assert!(amounts("loss = 91").contains("amounts.loss must be between"));
        assert!(amounts("loss = nan").contains("amounts.loss must be between"));
        assert!(amounts("in_tools = \"40 g\"").contains("amounts.in_tools"));
        assert!(amounts("scale = \"0\"").contains("amounts.scale"));
        assert!(amounts("currency = \"of the realm, old\"").contains("amounts.currency"));
        assert!(Config::read("[alerts]\nrepeat = \"1 s\"").is_err());
        let snooze = Config::read("[alerts]\nsnooze = \"48 h\"").unwrap_err().to_string();
        assert!(snooze.contains("between 1 min and 24 h"), "{snooze}");
        assert!(Config::read("[alerts]\nclose = \"30\"").unwrap_err().to_string().contains("alerts.close"));
    }
}
