//! Settings of sensors: one source per place, read by the board and by `watch`.

use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;

use chrono::TimeDelta;
use serde::Deserialize;

use crate::engine::units::{KelvinDelta, TemperatureUnit, clean, parse_duration};

/// The kernel gives thousandths of a degree.
const KERNEL_SCALE: f64 = 0.001;

/// A source of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensor {
    /// The place that it measures at.
    pub place: String,
    /// The source of its values.
    pub source: SensorSource,
    /// What it measures.
    pub measures: Measures,
    /// The unit of temperatures without one.
    pub unit: TemperatureUnit,
    /// Where in a JSON the values stand.
    pub pointers: Pointers,
    /// How often it is read.
    pub every: TimeDelta,
    /// A reading that differs by no more than this from the last one is not kept.
    pub dead_band: KelvinDelta,
}

/// The source of a sensor's values.
#[derive(Debug, Clone, PartialEq)]
pub enum SensorSource {
    /// A file of the kernel's.
    File {
        /// The temperature.
        path: PathBuf,
        /// The relative humidity, where that is another file.
        humidity: Option<PathBuf>,
        /// What the numbers are multiplied by.
        scale: f64,
    },
    /// The output of a program: it, and its arguments. No shell.
    Command(Vec<String>),
    /// A topic of the MQTT broker's.
    Topic(String),
}

impl fmt::Display for SensorSource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File { path, .. } => f.write_str(&clean(&path.display().to_string())),
            Self::Command(words) => f.write_str(&clean(words.first().map_or("", String::as_str))),
            Self::Topic(topic) => write!(f, "topic {}", clean(topic)),
        }
    }
}

/// What a sensor measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Measures {
    /// The air of the place.
    #[default]
    Air,
    /// The surface that is coated; another sensor of the same place measures the air.
    Surface,
}

/// JSON pointers (RFC 6901), one a value.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pointers {
    /// To the temperature.
    pub temperature: Option<String>,
    /// To the relative humidity in per cent.
    pub humidity: Option<String>,
    /// To the temperature of the surface.
    pub surface: Option<String>,
}

/// The MQTT broker that topics are of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broker {
    /// Its name or address.
    pub host: String,
    /// Its port.
    pub port: u16,
    /// The user name, if the broker requires one.
    pub user: Option<String>,
    /// The file that holds the password.
    pub password_file: Option<PathBuf>,
}

/// One entry as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSensor {
    place: Option<String>,
    file: Option<PathBuf>,
    humidity_file: Option<PathBuf>,
    scale: Option<f64>,
    command: Option<Vec<String>>,
    topic: Option<String>,
    temperature: Option<String>,
    humidity: Option<String>,
    surface: Option<String>,
    #[serde(default)]
    what: Measures,
    #[serde(default)]
    unit: TemperatureUnit,
    every: Option<String>,
    dead_band: Option<f64>,
}

/// The broker as it is written.
#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub(super) struct RawMqtt {
    broker: Option<String>,
    user: Option<String>,
    password_file: Option<PathBuf>,
}

impl RawMqtt {
    pub(super) fn check(self) -> Result<Option<Broker>, String> {
        let Some(address) = self.broker else {
            let rest = self.user.is_some() || self.password_file.is_some();
            return if rest { Err("mqtt.user needs mqtt.broker beside it".into()) } else { Ok(None) };
        };
        let wrong = || "mqtt.broker must be a name or an address and a port, such as \"localhost:1883\"";
        let (host, port) = match address.rsplit_once(':') {
            Some((host, port)) if !host.contains(':') || (host.starts_with('[') && host.ends_with(']')) => {
                (host, port.parse().ok().filter(|port| *port > 0).ok_or_else(wrong)?)
            }
            _ => return Err(wrong().into()),
        };
        let host = host.trim_start_matches('[').trim_end_matches(']');
        if host.is_empty() || !host.chars().all(|c| c.is_ascii_graphic() && !matches!(c, '/' | '@')) {
            return Err(wrong().into());
        }
        if self.password_file.is_some() && self.user.is_none() {
            return Err("mqtt.password_file needs mqtt.user beside it".into());
        }
        if self.password_file.as_ref().is_some_and(|path| !path.is_absolute()) {
            return Err("mqtt.password_file must be a full path that starts with /".into());
        }
        let (user, password_file) = (self.user, self.password_file);
        Ok(Some(Broker { host: host.into(), port, user, password_file }))
    }
}

/// Checks all of them together; what is said of a fault names the entry.
pub(super) fn check(raw: Vec<RawSensor>, broker: Option<&Broker>) -> Result<Vec<Sensor>, String> {
    let mut sensors: Vec<Sensor> = Vec::new();
    let mut seen: BTreeMap<String, [bool; 2]> = BTreeMap::new();
    for (index, raw) in raw.into_iter().enumerate() {
        let name = format!("sensor {}", index + 1);
        let sensor = raw.check().map_err(|what| format!("{name}: {what}"))?;
        if matches!(sensor.source, SensorSource::Topic(_)) && broker.is_none() {
            return Err(format!("{name}: topic needs broker under [mqtt]"));
        }
        let air = sensor.measures == Measures::Air;
        let places = seen.entry(sensor.place.to_lowercase()).or_default();
        if std::mem::replace(&mut places[usize::from(air)], true) {
            let what = if air { "air" } else { "surface" };
            return Err(format!(
                "{name}: another sensor measures the {what} of \"{}\" already; give one of them another place",
                sensor.place
            ));
        }
        sensors.push(sensor);
    }
    let alone = sensors.iter().find(|sensor| seen.get(&sensor.place.to_lowercase()) == Some(&[true, false]));
    match alone {
        Some(sensor) => Err(format!(
            "the surface sensor of \"{0}\" needs another that measures the air there: place = \"{0}\", what = \"air\"",
            sensor.place
        )),
        None => Ok(sensors),
    }
}

impl RawSensor {
    fn check(self) -> Result<Sensor, String> {
        let place = self.place.as_deref().map(|place| clean(place.trim())).filter(|place| !place.is_empty());
        let place = place.ok_or("place is missing; name where it measures, such as place = \"shop\"")?;
        let is_file = self.file.is_some();
        let scale = self.scale.unwrap_or(KERNEL_SCALE);
        if !(scale.is_finite() && scale > 0.0) {
            return Err("scale must be a number above 0, such as 0.001".into());
        }
        let source = match (self.file, self.command, self.topic) {
            (Some(path), None, None) => {
                let relative = [Some(&path), self.humidity_file.as_ref()];
                if relative.into_iter().flatten().any(|path| !path.is_absolute()) {
                    return Err("file and humidity_file must be full paths that start with /".into());
                }
                SensorSource::File { path, humidity: self.humidity_file.clone(), scale }
            }
            (None, Some(words), None) => match words.first() {
                Some(program) if !program.trim().is_empty() => SensorSource::Command(words),
                _ => return Err("command must name a program, such as command = [\"read-shop\"]".into()),
            },
            (None, None, Some(topic)) => {
                let length = 1..=1000;
                if !length.contains(&topic.len()) || topic.contains(['#', '+', '\0']) {
                    return Err("topic must be a single one, such as \"shop/air\", without # and +".into());
                }
                SensorSource::Topic(topic)
            }
            _ => return Err("it needs one of file, command and topic, and only one".into()),
        };
        if !is_file && (self.humidity_file.is_some() || self.scale.is_some()) {
            return Err("humidity_file and scale go with file".into());
        }
        let pointers =
            Pointers { temperature: self.temperature, humidity: self.humidity, surface: self.surface };
        let all = [&pointers.temperature, &pointers.humidity, &pointers.surface];
        if is_file && all.iter().any(|pointer| pointer.is_some()) {
            return Err("temperature, humidity and surface are JSON pointers, for command and topic".into());
        }
        if all.into_iter().flatten().any(|pointer| !is_pointer(pointer)) {
            return Err("a JSON pointer starts with /, such as \"/temperature\" (RFC 6901)".into());
        }
        let others = pointers.humidity.is_some() || pointers.surface.is_some();
        if others && pointers.temperature.is_none() {
            return Err("humidity and surface need temperature beside them".into());
        }
        let surface = self.what == Measures::Surface;
        if surface && (others || self.humidity_file.is_some()) {
            return Err("what = \"surface\" has a temperature only, no humidity".into());
        }
        let every = self.every.as_deref().map_or(Ok(TimeDelta::minutes(1)), parse_duration);
        let every = every.map_err(|error| format!("every: {error}"))?;
        if !(TimeDelta::seconds(10)..=TimeDelta::hours(1)).contains(&every) {
            return Err("every must be between 10 s and 1 h".into());
        }
        let dead_band = self.dead_band.unwrap_or(0.2);
        if !(0.0..=2.0).contains(&dead_band) {
            return Err("dead_band must be between 0 and 2 K".into());
        }
        Ok(Sensor {
            place,
            source,
            measures: self.what,
            unit: self.unit,
            pointers,
            every,
            dead_band: KelvinDelta::new(dead_band),
        })
    }
}

/// Whether `~` stands for what RFC 6901 lets it stand for.
fn is_pointer(text: &str) -> bool {
    let escapes = text.split('~').skip(1).all(|behind| behind.starts_with(['0', '1']));
    text.starts_with('/') && text.len() <= 1000 && escapes
}

#[cfg(test)]
mod tests {
    use super::super::Config;
    use super::*;

    fn told(text: &str) -> String {
        Config::read(text).unwrap_err().to_string()
    }

    #[test]
    fn a_kernel_file_needs_a_place_and_a_path() {
        let config = Config::read("[[sensor]]\nplace = \"shop\"\nfile = \"/sys/x/temp1_input\"").unwrap();
        let sensor = &config.sensors[0];
        assert_eq!((sensor.every, sensor.dead_band), (TimeDelta::minutes(1), KelvinDelta::new(0.2)));
        assert_eq!(sensor.source.to_string(), "/sys/x/temp1_input");
    }

    #[test]
    fn a_fault_names_the_entry_and_what_would_be_right() {
        let one = |rest: &str| told(&format!("[[sensor]]\nplace = \"shop\"\n{rest}"));
        assert!(told("[[sensor]]\nfile = \"/x\"").contains("sensor 1: place is missing"));
        assert!(one("").contains("sensor 1: it needs one of file, command and topic"));
        assert!(one("file = \"/x\"\ntopic = \"x\"").contains("and only one"));
        assert!(one("file = \"x\"").contains("full paths"));
        assert!(one("file = \"/x\"\nevery = \"5 s\"").contains("between 10 s and 1 h"));
        assert!(one("file = \"/x\"\nevery = \"5\"").contains("every: "));
        assert!(one("file = \"/x\"\ndead_band = nan").contains("between 0 and 2 K"));
        assert!(one("file = \"/x\"\nscale = 0.0").contains("scale must be"));
        assert!(one("file = \"/x\"\nhumidity = \"/h\"").contains("for command and topic"));
        assert!(one("command = []").contains("must name a program"));
        assert!(one("command = [\"x\"]\ntemperature = \"t\"").contains("starts with /"));
        assert!(one("command = [\"x\"]\ntemperature = \"/a~2\"").contains("RFC 6901"));
        assert!(one("command = [\"x\"]\nhumidity = \"/h\"").contains("need temperature"));
        assert!(one("command = [\"x\"]\nscale = 1.0").contains("go with file"));
        assert!(one("command = [\"x\"]\nwhat = \"surface\"").contains("needs another that measures the air"));
        assert!(one("topic = \"x\"").contains("topic needs broker"));
        assert!(one("fil = \"/x\"").contains("line 3"));
        let broker = "[mqtt]\nbroker = \"localhost:1883\"\n";
        assert!(
            told(&format!("{broker}[[sensor]]\nplace = \"shop\"\ntopic = \"a/#\"")).contains("without #")
        );
        let twice =
            "[[sensor]]\nplace = \"shop\"\nfile = \"/x\"\n[[sensor]]\nplace = \"Shop\"\nfile = \"/y\"";
        assert!(told(twice).contains("sensor 2: another sensor measures the air of"));
    }

    #[test]
    fn a_broker_is_a_name_and_a_port() {
        let broker = |text: &str| Config::read(&format!("[mqtt]\nbroker = \"{text}\"")).map(|c| c.mqtt);
        let found = |text: &str| broker(text).unwrap().map(|broker| (broker.host, broker.port));
        assert_eq!(found("localhost:1883"), Some(("localhost".into(), 1883)));
        assert_eq!(found("[::1]:1884"), Some(("::1".into(), 1884)));
        for text in ["localhost", ":1883", "localhost:0", "::1:1883", "a b:1", "mqtt://x:1883", "x:70000"] {
            assert!(broker(text).is_err(), "{text}");
        }
        assert!(told("[mqtt]\nuser = \"me\"").contains("mqtt.user needs"));
        let password = "[mqtt]\nbroker = \"x:1\"\nuser = \"me\"\npassword_file = \"secret\"";
        assert!(told(password).contains("a full path"));
    }
}
