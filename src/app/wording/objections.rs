//! Objections to a coat in words and figures: a sentence, a line, a word.

use chrono::TimeDelta;

use crate::app::wording::Words;
use crate::engine::air::Objection;
use crate::engine::assess::AreaSurvey;
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment, duration_text};

impl Objection {
    /// In a word, for a stretch of time.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NoReading
            | Self::OldReading(_)
            | Self::NearLimit(_)
            | Self::MeasureSurface(..)
            | Self::NoHumidity
            | Self::HumidityOld(_) => "unread",
            Self::TooCold(..) | Self::SurfaceTooCold(..) | Self::Stalls(..) => "cold",
            Self::TooWarm(..) | Self::SurfaceTooWarm(..) => "warm",
            Self::TooDamp(..) => "humid",
            Self::TooDry(..) => "dry",
            Self::HumidityNeeded(_) => "unread",
            Self::DewMargin(..) => "dew",
            Self::Rain(_) => "rain",
            Self::RainUnknown(_) => "rain?",
            Self::WetGround(..) => "wet",
            Self::Warming(_) => "warming",
        }
    }
}

impl Words {
    /// An objection in words and figures, with its moment if that is not now.
    pub fn against(&self, against: Objection, from: Moment, now: Moment) -> String {
        let units = &self.units;
        let when = if is_now(from, now) { String::new() } else { format!(" from {}", self.when(from, now)) };
        match against {
            Objection::NoReading => "the temperature is unknown: read the thermometer first".into(),
            Objection::MeasureSurface(age, surface) => format!(
                "{} ago the surface was at {}, outside the limits: measure it again",
                duration_text(age),
                units.temperature(surface)
            ),
            Objection::NearLimit(age) => format!(
                "the last reading is {} old and close to a limit of the product: read the thermometer first",
                duration_text(age)
            ),
            Objection::OldReading(age) => {
                format!("the last reading is {} old: read the thermometer first", duration_text(age))
            }
            Objection::NoHumidity => "the humidity is unknown, so dew is possible: measure it".into(),
            Objection::HumidityOld(age) => {
                format!("the last humidity is {} old, so dew is possible: measure it", duration_text(age))
            }
            Objection::HumidityNeeded(least) => {
                format!("the humidity is unknown, and the product needs at least {least}: measure it")
            }
            Objection::RainUnknown(_) if when.is_empty() => {
                "no new forecast says whether it rains: keep it dry until it is tack-free".into()
            }
            Objection::RainUnknown(_) => {
                format!("whether it rains{when} is unknown: keep it dry until it is tack-free")
            }
            Objection::TooCold(air, limit) => format!(
                "too cold{when}: {}, the product needs at least {}",
                self.short_of(air, limit),
                units.temperature(limit)
            ),
            Objection::TooWarm(air, limit) => format!(
                "too warm{when}: {}, the product allows at most {}",
                self.basis(air, limit),
                units.temperature(limit)
            ),
            Objection::SurfaceTooCold(surface, limit) => format!(
                "the surface is too cold{when}: {}, the product needs at least {}",
                self.short_of(surface, limit),
                units.temperature(limit)
            ),
            Objection::SurfaceTooWarm(surface, limit) => format!(
                "the surface is too warm{when}: {}, the product allows at most {}",
                self.basis(surface, limit),
                units.temperature(limit)
            ),
            Objection::TooDamp(humidity, limit) => {
                format!(
                    "humidity too high{when}: {}, the product allows at most {limit}",
                    damper(humidity, limit)
                )
            }
            Objection::TooDry(humidity, limit) => format!(
                "humidity too low{when}: {humidity}, the product needs at least {limit}: it cures with moisture from the air"
            ),
            Objection::DewMargin(margin, limit) if margin.kelvin() < 0.0 => format!(
                "condensation{when}: the surface is {} below the dew point; it has to be {} above",
                units.difference(margin.abs()),
                units.difference(limit)
            ),
            Objection::DewMargin(margin, limit) => format!(
                "dew{when}: the surface is only {} above the dew point; it has to be {} above",
                self.nearer(margin, limit),
                units.difference(limit)
            ),
            Objection::Rain(fallen) => {
                format!("rain{when} ({:.1} mm an hour) before the film is tack-free", fallen.millimetres())
            }
            Objection::WetGround(ended, dries) => {
                let over = if ended.is_zero() {
                    "it rains".to_owned()
                } else {
                    format!("the rain ended {} ago", duration_text(ended))
                };
                format!("{over}: what the coat goes on needs {} without rain to dry", duration_text(dries))
            }
            Objection::Warming(pace) => format!(
                "the air warms by {}/h: bare wood gives off air and makes bubbles; coat it while it cools",
                units.difference(pace)
            ),
            Objection::Stalls(air, limit) => format!(
                "the film does not cure{when}: {}, below {}, before it is tack-free",
                self.short_of(air, limit),
                units.temperature(limit)
            ),
        }
    }

    /// The same in the fewest words that keep the figures.
    pub fn briefly(&self, against: Objection, from: Moment, now: Moment) -> String {
        let units = &self.units;
        let when = if is_now(from, now) { String::new() } else { format!(" {}", self.when(from, now)) };
        match against {
            Objection::NoReading => "the temperature is unknown".into(),
            Objection::MeasureSurface(_, surface) => {
                format!("surface was at {}: measure it again", units.temperature(surface))
            }
            Objection::OldReading(age) | Objection::NearLimit(age) => {
                format!("the last reading is {} old", duration_text(age))
            }
            Objection::NoHumidity => "the humidity is unknown".into(),
            Objection::HumidityOld(age) => format!("the humidity is {} old", duration_text(age)),
            Objection::TooCold(air, limit) => {
                format!("{}{when}, needs {}", self.short_of(air, limit), units.temperature(limit))
            }
            Objection::TooWarm(air, limit) => {
                format!("{}{when}, at most {}", self.basis(air, limit), units.temperature(limit))
            }
            Objection::SurfaceTooCold(surface, limit) => {
                format!("surface {}{when}, needs {}", self.short_of(surface, limit), units.temperature(limit))
            }
            Objection::SurfaceTooWarm(surface, limit) => {
                format!("surface {}{when}, at most {}", self.basis(surface, limit), units.temperature(limit))
            }
            Objection::TooDamp(humidity, limit) => {
                format!("humidity {}{when}, at most {limit}", damper(humidity, limit))
            }
            Objection::TooDry(humidity, limit) => format!("humidity {humidity}{when}, needs {limit}"),
            Objection::DewMargin(margin, _) if margin.kelvin() < 0.0 => format!("condensation{when}"),
            Objection::DewMargin(margin, limit) => {
                format!("dew{when}: {} above", self.nearer(margin, limit))
            }
            Objection::Rain(_) => format!("rain{when}"),
            Objection::RainUnknown(_) => format!("rain unknown{when}"),
            Objection::HumidityNeeded(least) => format!("humidity unknown, needs {least}"),
            Objection::WetGround(ended, _) if ended.is_zero() => "wet from the rain".into(),
            Objection::WetGround(ended, _) => format!("rain until {} ago", duration_text(ended)),
            Objection::Warming(pace) => format!("bare wood, warming by {}/h", units.difference(pace)),
            Objection::Stalls(air, _) => format!("does not cure{when} at {}", units.temperature(air)),
        }
    }

    /// A threat to a wet film, and the remedy (common practice, no source).
    pub fn threat(&self, area: &AreaSurvey<'_>, against: Objection, from: Moment, now: Moment) -> String {
        let helps = match against {
            Objection::Rain(_) => "Cover it without touching the film.",
            Objection::TooWarm(..) | Objection::SurfaceTooWarm(..) => "Shade it and let air through.",
            Objection::TooCold(..) | Objection::SurfaceTooCold(..) | Objection::Stalls(..) => {
                "Warm the place, or cover it."
            }
            _ => "Warm the piece, or let drier air in.",
        };
        format!("{}, still wet: {}. {helps}", area.name, self.against(against, from, now))
    }

    /// The objection to a later start, as a clause.
    pub fn meets(&self, against: Objection) -> String {
        match against {
            Objection::DewMargin(_, limit) => {
                format!("the surface comes within {} of the dew point", self.units.difference(limit))
            }
            Objection::TooCold(_, limit) => format!("the air falls below {}", self.units.temperature(limit)),
            Objection::TooWarm(_, limit) => format!("the air rises above {}", self.units.temperature(limit)),
            Objection::SurfaceTooCold(_, limit) => {
                format!("the surface falls below {}", self.units.temperature(limit))
            }
            Objection::SurfaceTooWarm(_, limit) => {
                format!("the surface rises above {}", self.units.temperature(limit))
            }
            Objection::TooDamp(_, limit) => format!("the humidity rises above {limit}"),
            Objection::TooDry(_, limit) => format!("the humidity falls below {limit}"),
            Objection::Rain(_) => "it rains".into(),
            Objection::RainUnknown(_) => "it may rain".into(),
            Objection::WetGround(..) => "the ground is wet from the rain".into(),
            Objection::Stalls(_, limit) => {
                format!("the film does not cure below {}", self.units.temperature(limit))
            }
            Objection::Warming(_) => "bare wood warms up".into(),
            Objection::NoReading
            | Objection::OldReading(_)
            | Objection::NearLimit(_)
            | Objection::MeasureSurface(..)
            | Objection::HumidityNeeded(_)
            | Objection::NoHumidity
            | Objection::HumidityOld(_) => "the air is unknown".into(),
        }
    }

    /// A temperature that is too low, rounded so that it differs from the limit.
    fn short_of(&self, air: Celsius, limit: Celsius) -> String {
        just("below", self.units.temperature(air), &self.units.temperature(limit))
    }

    fn basis(&self, air: Celsius, limit: Celsius) -> String {
        just("above", self.units.temperature(air), &self.units.temperature(limit))
    }

    fn nearer(&self, margin: KelvinDelta, limit: KelvinDelta) -> String {
        just("below", self.units.difference(margin), &self.units.difference(limit))
    }
}

fn damper(humidity: Humidity, limit: Humidity) -> String {
    just("above", humidity.to_string(), &limit.to_string())
}

/// A value that rounds to the limit but is outside it.
fn just(which: &str, value: String, limit: &str) -> String {
    if value == limit { format!("just {which} {value}") } else { value }
}

/// A minute ahead counts as now.
fn is_now(from: Moment, now: Moment) -> bool {
    from <= now + TimeDelta::minutes(1)
}
