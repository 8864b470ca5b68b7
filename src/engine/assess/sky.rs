//! The air of a place over time: readings, forecast and assumptions.

use chrono::TimeDelta;

use super::place_air::HUMIDITY_FOR;
use crate::engine::air::{Air, NotPredicted, SurfaceLine, VapourPressure, hold_moisture, predict_place};
use crate::engine::air::{OutdoorHour, Provenance};
use crate::engine::config::Config;
use crate::engine::cure::{History, Outlook, Reading};
use crate::engine::units::{Celsius, Millimetres, Moment};

/// The air of one place, read and forecast.
#[derive(Debug, Clone)]
pub struct Sky {
    /// Temperature and humidity over time.
    pub history: History,
    /// Why there is no forecast; None if there is one.
    pub not_predicted: Option<NotPredicted>,
    /// How the place follows the outdoors: time constant and gain.
    pub follows: Option<(TimeDelta, crate::engine::units::KelvinDelta)>,
    /// How its vapour follows the outdoor vapour: time constant and excess; None if its readings do not show
    /// that.
    pub exchanges: Option<(TimeDelta, VapourPressure)>,
    /// End of the forecast; the survey's moment, without one.
    pub known_until: Moment,
    /// When the forecast was made or imported.
    pub forecast_at: Option<Moment>,
    /// The source of the forecast.
    pub forecast_from: Option<Provenance>,
    /// The age of the last measured humidity, if it is too old and no forecast replaces it.
    pub humidity_old: Option<TimeDelta>,
    line: Vec<Reading>,
    rain: Vec<(Moment, Millimetres)>,
    outdoor: Vec<(Moment, Celsius)>,
}

/// Earlier air does not affect a surface.
const SURFACE_REMEMBERS: TimeDelta = TimeDelta::days(3);
/// A forecast of no rain is not trusted further ahead of the moment it was made (common practice, no source).
const RAIN_TRUSTED: TimeDelta = TimeDelta::days(4);
/// A longer gap between outdoor hours stays empty.
const OUTDOOR_GAP: TimeDelta = TimeDelta::hours(6);

impl Sky {
    /// From the readings of a place in recent weeks and the outdoor hours, recorded and forecast.
    pub fn make(
        mut readings: Vec<Reading>,
        outdoor: &[OutdoorHour],
        (outdoors, forecast_at): (bool, Option<Moment>),
        now: Moment,
        config: &Config,
    ) -> Self {
        let measured = hold_moisture(&mut readings);
        let age = measured.map(|at| now - at);
        if age.is_some_and(|age| age > HUMIDITY_FOR) {
            readings.iter_mut().for_each(|reading| reading.humidity = None);
        }
        let humidity_old = age.filter(|age| *age > config.reading_old);
        let forecast = predict_place(&readings, outdoor, outdoors, forecast_at.unwrap_or(now), now);
        let recent = readings.partition_point(|reading| reading.at < now - SURFACE_REMEMBERS);
        let mut line = readings[recent..].to_vec();
        let rain = outdoor.iter().filter_map(|hour| Some((hour.at, hour.rain?))).collect();
        let outdoor = outdoor.iter().map(|hour| (hour.at, hour.air)).collect();
        let held = Outlook::held(config.thermometer_error).with_hygrometer_error(config.hygrometer_error);
        let record = History::new(readings.iter().copied(), held);
        let record = record.with_humidity_measured_until(measured);
        let by_record = Outlook::from_record(&record, config.thermometer_error);
        let by_record = by_record.with_hygrometer_error(config.hygrometer_error);
        let base = readings.last().map(|reading| reading.at);
        let outlook = forecast.as_ref().ok().zip(base).and_then(|(foresight, base)| {
            let outlook = Outlook::forecast(config.thermometer_error, base, &foresight.points)?;
            let outlook = outlook.with_hygrometer_error(config.hygrometer_error);
            Some((outlook.with_growth_of(&by_record), foresight))
        });
        let Some((outlook, foresight)) = outlook else {
            let history = record.with_outlook(by_record);
            let not_predicted = Some(forecast.err().unwrap_or(NotPredicted::NoForecast));
            return Self {
                history,
                not_predicted,
                follows: None,
                exchanges: None,
                known_until: now,
                forecast_at,
                forecast_from: None,
                humidity_old,
                line,
                rain,
                outdoor,
            };
        };
        line.extend(foresight.points.iter().skip(1).map(|point| Reading {
            at: point.at,
            air: point.air,
            humidity: point.humidity,
            surface: None,
        }));
        let follows = foresight.model.as_ref().map(|model| (model.shop().tau(), model.shop().gain()));
        let exchanges = foresight.moisture.tau().zip(foresight.moisture.source());
        let known_until = foresight.points.last().map_or(now, |point| point.at);
        let history = record.with_outlook(outlook);
        Self {
            history,
            not_predicted: None,
            follows,
            exchanges,
            known_until,
            forecast_at,
            forecast_from: None,
            humidity_old: humidity_old.filter(|_| !outdoors && exchanges.is_none()),
            line,
            rain,
            outdoor,
        }
    }

    /// What is expected after the last reading.
    pub fn outlook(&self) -> &Outlook {
        self.history.outlook()
    }

    /// A surface of the place that follows its air with this lag.
    pub fn surface(&self, lag: TimeDelta) -> SurfaceLine {
        SurfaceLine::new(&self.line, lag)
    }

    /// The last reading with a measured surface, from a moment on.
    pub fn measured_surface(&self, from: Moment) -> Option<Reading> {
        let recent = self.line.iter().rev().take_while(|reading| reading.at >= from);
        recent.filter(|reading| reading.surface.is_some()).copied().next()
    }

    /// The outdoor air at a moment, where two hours of it are not too far apart.
    pub fn outdoor_at(&self, at: Moment) -> Option<Celsius> {
        let after = self.outdoor.partition_point(|point| point.0 <= at);
        let &(from, first) = self.outdoor.get(after.checked_sub(1)?)?;
        let Some(&(to, last)) = self.outdoor.get(after) else { return (from == at).then_some(first) };
        let share = (at - from).as_seconds_f64() / (to - from).as_seconds_f64();
        let between = first.degrees() + (last.degrees() - first.degrees()) * share;
        (to - from <= OUTDOOR_GAP).then(|| Celsius::new(between))
    }

    /// The rain of the hour in which a moment lies, where it is known.
    pub fn rain_at(&self, at: Moment) -> Option<Millimetres> {
        let after = self.rain.partition_point(|hour| hour.0 <= at);
        let &(begins, fallen) = self.rain.get(after.checked_sub(1)?)?;
        (at < begins + TimeDelta::hours(1)).then_some(fallen)
    }

    /// Rain, in the hours that begin at these moments.
    pub fn rain(&self) -> &[(Moment, Millimetres)] {
        &self.rain
    }

    /// The air for judging suitability.
    pub fn air<'a>(&'a self, surface: &'a SurfaceLine) -> Air<'a> {
        Air {
            history: &self.history,
            surface,
            rain: &self.rain,
            known_until: self.known_until,
            humidity_old: self.humidity_old,
            dry_until: self.forecast_at.map(|at| at + RAIN_TRUSTED),
        }
    }
}
