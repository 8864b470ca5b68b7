//! Weather made by hand: a night that is too damp for a coat, and a morning that suits it.

use std::f64::consts::TAU;

use super::{at, hostile, hut, now};
use crate::app::view::{Sample, Stretch, View, WeatherView};
use crate::app::wording::Wording;
use crate::engine::units::{Celsius, KelvinDelta, TemperatureUnit, Units};

/// A daily cycle with its maximum at this hour.
fn day(minutes: i64, mean: f64, swing: f64, highest: f64) -> f64 {
    mean + swing * ((minutes as f64 / 60.0 + 16.0 - highest) / 24.0 * TAU).cos()
}

fn samples() -> Vec<Sample> {
    let sample = |minutes: i64| {
        let (air, surface) = (day(minutes, 12.0, 4.0, 17.5), day(minutes, 12.0, 3.8, 18.5));
        let dew = 8.0 + 0.02 * minutes as f64 / 60.0;
        let rains = (2400..2700).contains(&minutes);
        Sample {
            at: at(minutes),
            forecast: minutes > -12,
            air: Some(Celsius::new(air)),
            outdoor: Some(Celsius::new(day(minutes, 9.0, 7.0, 15.0))),
            dew: Some(Celsius::new(dew)),
            surface: Some(Celsius::new(surface)),
            near_dew: surface - dew < 3.0,
            rain: if rains { (minutes - 2380) as f64 / 100.0 } else { 0.0 },
        }
    };
    (-1440..=4350).step_by(30).map(sample).collect()
}

fn stretches(edges: &[(i64, i64, &'static str)]) -> Vec<Stretch> {
    let stretch = |(from, to, word): &(i64, i64, &'static str)| Stretch {
        from: at(*from),
        to: at(*to),
        fits: *word == "OK",
        word,
    };
    edges.iter().map(stretch).collect()
}

/// A night that is unfit and a morning that is fit.
pub fn weather() -> WeatherView {
    WeatherView {
        place: "shop".into(),
        samples: samples(),
        about: "Roof, primer-two-part".into(),
        stretches: stretches(&[
            (0, 40, "wet"),
            (40, 150, "OK"),
            (150, 450, "then dew"),
            (450, 1110, "dew"),
            (1110, 1620, "OK"),
            (1620, 1900, "then dew"),
            (1900, 2600, "dew"),
            (2600, 3200, "OK"),
            (3200, 4320, "dew"),
        ]),
        verdict: "Roof: GO until 18:00. A coat started later is still wet when the surface comes within 3.0 K of the dew point, 22:40.".into(),
        film: Wording {
            full: "Roof, still wet: the air is suitable until it is tack-free (19:44 at the latest).".into(),
            brief: "Roof, wet: the air is suitable until it is tack-free (19:44).".into(),
            word: "wet: air OK now".into(),
            warns: false,
        },
        slots: vec!["16:40 … 18:30".into(), "Sun 10:30 … 19:00".into(), "Mon 11:20 … 21:20".into()],
        rests_on: vec![
            "The forecast of api.met.no is 2 h old. Data: MET Norway (CC BY 4.0).".into(),
            "The forecast reaches until Thu 08:00: the shop follows the outdoor air within 3 h 09 min and stays 3.0 K warmer.".into(),
        ],
        dew_margin: KelvinDelta::new(3.0),
        units: Units::default(),
    }
}

/// The weather of the hut, in two places.
pub fn hut_weather() -> View {
    let outside = WeatherView {
        place: "outside".into(),
        about: String::new(),
        stretches: Vec::new(),
        verdict: "No coat is planned here.".into(),
        film: Wording::default(),
        slots: Vec::new(),
        rests_on: vec!["The forecast reaches until Thu 08:00; this place is outdoors.".into()],
        units: Units { temperature: TemperatureUnit::Fahrenheit, ..Units::default() },
        ..weather()
    };
    View { weather: vec![weather(), outside], ..hut() }
}

/// What was read is all that is known.
pub fn hut_without_forecast() -> View {
    let mut weather = weather();
    for sample in &mut weather.samples {
        (sample.outdoor, sample.rain) = (None, 0.0);
        if sample.at > now() {
            (sample.air, sample.dew, sample.surface, sample.near_dew) = (None, None, None, false);
        }
    }
    weather.verdict = "Roof: GO. Only the air now was checked: there is no forecast.".into();
    weather.stretches.clear();
    weather.slots.clear();
    weather.rests_on = vec!["There is no forecast (curewright forecast).".into()];
    View { weather: vec![weather], ..hut() }
}

/// Nothing was ever read.
pub fn hut_unread() -> View {
    let mut weather = hut_without_forecast().weather.remove(0);
    for sample in &mut weather.samples {
        (sample.air, sample.dew, sample.surface, sample.near_dew) = (None, None, None, false);
    }
    weather.verdict = "READ THE THERMOMETER. The temperature is unknown: read the thermometer first.".into();
    View { weather: vec![weather], ..hut() }
}

/// Words that burst the page, and figures that are none.
pub fn hostile_weather() -> View {
    let long = "Wärmedämmung 日本語 ".repeat(12);
    let mut weather = weather();
    weather.place = long.clone();
    weather.about = long.clone();
    weather.verdict = long.clone();
    weather.film.full = long.clone();
    weather.film.word = long.clone();
    weather.slots = vec![long.clone(); 4];
    weather.rests_on = vec![long; 3];
    let wrong = [f64::NAN, f64::INFINITY, -1e300, 99.9, -99.9];
    for (sample, wrong) in weather.samples.iter_mut().zip(wrong.iter().cycle()) {
        sample.air = Some(Celsius::new(*wrong));
        sample.rain = *wrong;
    }
    weather.samples.swap(3, 90);
    weather.stretches.swap(0, 5);
    View { weather: vec![weather], ..hostile() }
}
