//! A hand-made evening of `nights.toml`.

use chrono::TimeDelta;
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Humidity, Moment};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Nights {
    pub night: Vec<Night>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Night {
    pub says: String,
    #[serde(default = "varnish")]
    pub product: String,
    #[serde(default = "half_an_hour")]
    pub takes: i64,
    #[serde(default)]
    pub bare: bool,
    #[serde(default)]
    pub outdoors: bool,
    pub surface: Option<f64>,
    pub air: Vec<String>,
    #[serde(default)]
    pub rain: Vec<i64>,
    pub verdict: String,
    pub because: Option<String>,
}

fn varnish() -> String {
    "varnish-two-part".into()
}

fn half_an_hour() -> i64 {
    30
}

pub fn now() -> Moment {
    "2026-05-02T18:00:00Z".parse().unwrap()
}

impl Night {
    /// Its air over time.
    pub fn line(&self) -> Vec<Reading> {
        let point = |text: &String| {
            let words: Vec<&str> = text.split(' ').collect();
            let hours: f64 = words[0].parse().unwrap();
            let humidity = words[2].parse().ok().map(|percent: f64| Humidity::from_percent(percent).unwrap());
            let at = now() + TimeDelta::seconds((hours * 3600.0) as i64);
            let surface = self.surface.filter(|_| hours == 0.0).map(Celsius::new);
            Reading { at, air: Celsius::new(words[1].parse().unwrap()), humidity, surface }
        };
        self.air.iter().map(point).collect()
    }
}

/// All of them.
pub fn nights() -> Vec<Night> {
    let nights: Nights = toml::from_str(include_str!("nights.toml")).unwrap();
    nights.night
}
