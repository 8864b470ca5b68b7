//! A situation of `situations.toml`: what was planned, done, read and forecast, and the verdict of a finisher.

use chrono::TimeDelta;
use curewright::engine::job::StepKind;
use curewright::engine::units::{Celsius, Humidity};
use serde::Deserialize;

/// What the file holds.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Situations {
    pub situation: Vec<Situation>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Situation {
    pub says: String,
    #[serde(default)]
    #[expect(dead_code, reason = "for who reads the file")]
    pub by: String,
    #[serde(default = "shop")]
    pub place: String,
    pub ground: Option<String>,
    #[serde(default = "half_an_hour")]
    pub takes: i64,
    pub steps: Vec<String>,
    #[serde(default)]
    pub did: Vec<String>,
    #[serde(default)]
    pub read: Vec<String>,
    #[serde(default)]
    pub forecast: Vec<String>,
    #[serde(default)]
    pub rain: Vec<String>,
    /// Whether the forecast says nothing of rain.
    #[serde(default)]
    pub no_rain_column: bool,
    pub verdict: String,
    pub or: Option<String>,
    pub until: Option<String>,
    #[serde(default)]
    #[expect(dead_code, reason = "for who reads the file")]
    pub because: String,
}

fn shop() -> String {
    "shop".into()
}

const fn half_an_hour() -> i64 {
    30
}

/// Something that was done.
pub enum Did {
    Coat(String),
    LastStroke,
    Step(StepKind),
}

/// Air at a moment, and the surface where it was measured.
#[derive(Clone, Copy)]
pub struct Air {
    pub air: Celsius,
    pub humidity: Option<Humidity>,
    pub surface: Option<Celsius>,
}

/// "-10h", "-9.5h", "+3h", "-40m"
fn offset(text: &str) -> TimeDelta {
    let (number, unit) = text.split_at(text.len() - 1);
    let minutes = match unit {
        "h" => 60.0,
        "m" => 1.0,
        "d" => 24.0 * 60.0,
        _ => panic!("{text:?} has no unit"),
    };
    let number: f64 = number.trim_start_matches('+').parse().unwrap_or_else(|_| panic!("{text:?}"));
    TimeDelta::seconds((number * minutes * 60.0).round() as i64)
}

fn air(words: &[&str]) -> Air {
    let number = |text: &&str| text.parse::<f64>().unwrap_or_else(|_| panic!("{words:?}"));
    let (figures, surface) = match words.iter().position(|word| *word == "surface") {
        Some(at) => (&words[..at], words.get(at + 1)),
        None => (words, None),
    };
    Air {
        air: Celsius::new(number(&figures[0])),
        humidity: figures.get(1).map(number).map(|percent| Humidity::from_percent(percent).unwrap()),
        surface: surface.map(number).map(Celsius::new),
    }
}

impl Situation {
    /// What was done, each so long before now.
    pub fn deeds(&self) -> Vec<(TimeDelta, Did)> {
        let deed = |text: &String| {
            let (at, what) = text.split_once(' ').unwrap();
            let did = match what {
                "last stroke" => Did::LastStroke,
                "sand" => Did::Step(StepKind::Sand),
                "wash" => Did::Step(StepKind::Wash),
                "tape on" => Did::Step(StepKind::TapeOn),
                "tape off" => Did::Step(StepKind::TapeOff),
                coat => Did::Coat(coat.strip_prefix("coat ").unwrap_or_else(|| panic!("{text:?}")).into()),
            };
            (offset(at), did)
        };
        self.did.iter().map(deed).collect()
    }

    /// What was read, in order of time.
    pub fn readings(&self) -> Vec<(TimeDelta, Air)> {
        let mut all: Vec<(TimeDelta, Air)> = self.read.iter().flat_map(|line| reading(line)).collect();
        all.sort_by_key(|(at, _)| *at);
        all
    }

    /// The forecast, in order of time.
    pub fn outdoor(&self) -> Vec<(TimeDelta, Air)> {
        let point = |line: &String| {
            let words: Vec<&str> = line.split_whitespace().collect();
            (offset(words[0]), air(&words[1..]))
        };
        self.forecast.iter().map(point).collect()
    }

    /// The hours in which it rains.
    pub fn rains(&self) -> Vec<i64> {
        self.rain.iter().map(|hour| offset(hour).num_hours()).collect()
    }

    /// Between which moments the time of the verdict has to be.
    pub fn until(&self) -> Option<(TimeDelta, TimeDelta)> {
        let (from, to) = self.until.as_ref()?.split_once("..")?;
        Some((offset(from), offset(to)))
    }
}

/// "-24h..0h 20 50 -> 12 80": every half hour; "-3h 18 60": once.
fn reading(line: &str) -> Vec<(TimeDelta, Air)> {
    let (span, rest) = line.split_once(' ').unwrap();
    let (first, last) = rest.split_once(" -> ").map_or((rest, None), |(first, last)| (first, Some(last)));
    let words = |text: &str| air(&text.split_whitespace().collect::<Vec<_>>());
    let Some((from, to)) = span.split_once("..") else { return vec![(offset(span), words(first))] };
    let (from, to, begins) = (offset(from), offset(to), words(first));
    let ends = last.map_or(begins, words);
    let half_hours = (to - from).num_minutes() / 30;
    (0..=half_hours)
        .map(|step| {
            let share = step as f64 / half_hours.max(1) as f64;
            let mix = |a: f64, b: f64| a + (b - a) * share;
            let humidity = begins.humidity.zip(ends.humidity);
            let humidity = humidity.map(|(a, b)| Humidity::from_fraction(mix(a.fraction(), b.fraction())));
            let air = Celsius::new(mix(begins.air.degrees(), ends.air.degrees()));
            (from + TimeDelta::minutes(30) * step as i32, Air { air, humidity, surface: begins.surface })
        })
        .collect()
}
