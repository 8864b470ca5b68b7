//! The air of a place in words: values, age, and whether they suit the wet films and the next coat.

use chrono::TimeDelta;

use crate::app::wording::Wording;
use crate::app::wording::Words;
use crate::engine::assess::PlaceAir;
use crate::engine::assess::Survey;
use crate::engine::units::{Celsius, KelvinDelta, Moment, TemperatureUnit, clean, duration_text};

/// The air of a place in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AirLine {
    /// The place.
    pub place: String,
    /// "17.8 °C", "falling 0.4 K/h", "humidity 62 %" …
    pub figures: Vec<String>,
    /// The same, shortened.
    pub figures_brief: Vec<String>,
    /// The age of the last reading, in words.
    pub age: String,
    /// The same, shortened.
    pub age_brief: String,
    /// Whether it is too old.
    pub old: bool,
    /// Whether the air suits the wet films here; empty if there are none.
    pub film: Wording,
    /// Whether it suits the next coat here; empty if none is planned.
    pub coat: Wording,
}

impl AirLine {
    /// The air of a place of a survey.
    pub fn of(survey: &Survey<'_>, air: &PlaceAir, words: &Words, now: Moment) -> Self {
        let (figures, figures_brief) = words.figures(air).into_iter().unzip();
        let age = air.age(now).map(|age| (duration_text(age), age));
        let (age, age_brief) = match age {
            None => ("no reading yet (t, or curewright reading)".into(), "no reading yet".into()),
            Some((age, _)) if air.old => {
                (format!("reading {age} old, too old to trust"), format!("{age} old: read it"))
            }
            Some((_, age)) if age < TimeDelta::minutes(1) => ("read just now".into(), "just now".into()),
            Some((age, _)) => (format!("reading {age} old"), format!("{age} old")),
        };
        Self {
            place: clean(&air.place),
            figures,
            figures_brief,
            age,
            age_brief,
            old: air.old,
            film: words.film_at(survey, &air.place, now),
            coat: words.next_at(survey, &air.place, now),
        }
    }
}

impl Words {
    /// The values of the air, each in full and shortened.
    fn figures(&self, air: &PlaceAir) -> Vec<(String, String)> {
        let Some(reading) = air.reading else { return Vec::new() };
        let celsius = air.temperature.unwrap_or(reading.air);
        let (is, was) = (self.temperature(celsius), self.temperature(reading.air));
        let about = if is == was { "" } else { "about " };
        let mut figures = vec![(format!("{about}{is}"), is)];
        figures.extend(air.trend.map(|trend| (self.trend(trend), self.trend_brief(trend))));
        figures.extend(air.humidity.map(|(humidity, at)| {
            let told = humidity.to_string();
            let read =
                at == Some(reading.at) && reading.humidity.is_some_and(|read| read.to_string() == told);
            (format!("humidity {}{told}", if read { "" } else { "about " }), format!("RH {told}"))
        }));
        figures.extend(air.dew.map(|dew| {
            let (long, short) = if dew.frost { ("frost point", "frost") } else { ("dew point", "dew") };
            (format!("{long} {}", self.temperature(dew.at)), format!("{short} {}", self.degrees(dew.at)))
        }));
        figures.extend(air.margin.map(|margin| {
            let (over, sign) = if margin.kelvin() < 0.0 { ("below", "\u{2212}") } else { ("above", "+") };
            let far = self.units.difference(margin.abs());
            // What follows the air is calculated, not read.
            let about = if air.surface.is_some_and(|(_, measured)| measured) { "" } else { "about " };
            (format!("surface {about}{far} {over} it"), format!("surface {about}{sign}{far}"))
        }));
        figures
    }

    /// "falling 0.4/h"
    fn trend_brief(&self, per_hour: KelvinDelta) -> String {
        let full = self.trend(per_hour);
        let number = self.units.difference(per_hour.abs());
        full.replace(&number, number.split(' ').next().unwrap_or_default())
    }

    /// A temperature without its unit.
    fn degrees(&self, value: Celsius) -> String {
        match self.units.temperature {
            TemperatureUnit::Celsius => format!("{:.1}", value.degrees()),
            TemperatureUnit::Fahrenheit => format!("{:.1}", value.fahrenheit()),
        }
    }
}
