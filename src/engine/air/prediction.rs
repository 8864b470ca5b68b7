//! The expected air of a place: the forecast, taken through the place's own lag and moisture.
//!
//! Inputs are the readings of the place and the outdoor hours, recorded and forecast. If they do not show how
//! the place follows the outdoors, there is no prediction, and the error says why.

use chrono::TimeDelta;

use super::dew::{VapourPressure, humidity_at, vapour_pressure};
use super::fitting::TooLittle;
use super::forecast_error::{error_inside, outdoor_error, together};
use super::lag::Line;
use super::moisture::Moisture;
use super::shop::ShopModel;
use crate::engine::air::OutdoorHour;
use crate::engine::cure::{ForecastPoint, Reading};
use crate::engine::units::{Celsius, KelvinDelta, Moment};

/// The prediction for a place.
#[derive(Debug, Clone)]
pub struct Prediction {
    /// From the last reading on.
    pub points: Vec<ForecastPoint>,
    /// How the place follows the outdoors; None if the place is outdoors.
    pub model: Option<ShopModel>,
    /// How its vapour follows the outdoor vapour.
    pub moisture: Moisture,
}

/// Why there is no prediction.
#[derive(Debug, Clone, PartialEq)]
pub enum NotPredicted {
    /// No forecast reaches beyond now.
    NoForecast,
    /// There is no reading to start from.
    NoReading,
    /// The place does not show how it follows the outdoors.
    TooLittle(TooLittle),
}

/// Outdoors there is no lag.
const AT_ONCE: TimeDelta = TimeDelta::minutes(1);
/// With what time constant the difference between the last reading and a forecast for the same moment ends: weather
/// that the forecast has missed stays missed for some hours (from memory, no source).
const MISSED_FOR: TimeDelta = TimeDelta::hours(6);

/// A forecast that begins this long after a reading is still compared with it.
const NEAR: TimeDelta = TimeDelta::hours(3);

/// A reading, and the outdoor hours after it, corrected by what it differs from them.
fn corrected(outdoor: &[Reading], last: &Reading) -> Vec<Reading> {
    let line = |value: fn(&Reading) -> Option<f64>| {
        let points = outdoor.iter().filter_map(|hour| Some((hour.at, value(hour)?)));
        let line = Line::new(points);
        let covered = line.points().first().is_some_and(|first| first.0 - last.at <= NEAR);
        line.at(last.at).filter(|_| covered).zip(value(last)).map_or(0.0, |(there, here)| here - there)
    };
    let warmer = line(|reading| Some(reading.air.degrees()).filter(|air| air.is_finite()));
    let damper = line(|reading| Some(vapour_pressure(reading.air, reading.humidity?).hectopascals()));
    let after = outdoor.iter().filter(|hour| hour.at > last.at).map(|hour| {
        let left = (-(hour.at - last.at).as_seconds_f64() / MISSED_FOR.as_seconds_f64()).exp();
        let air = Celsius::new(hour.air.degrees() + warmer * left);
        let vapour = hour.humidity.map(|humidity| {
            let there = vapour_pressure(hour.air, humidity).hectopascals();
            VapourPressure::from_hectopascals((there + damper * left).max(0.0))
        });
        Reading { air, humidity: vapour.map(|vapour| humidity_at(vapour, air)), ..*hour }
    });
    std::iter::once(*last).chain(after).collect()
}

/// Predicts the air of a place from its last reading on, with a forecast made at `made`. The errors of the
/// place and of the forecast are combined as independent errors.
///
/// # Errors
/// [`NotPredicted`] says why not.
pub fn predict_place(
    readings: &[Reading],
    outdoor: &[OutdoorHour],
    outdoors: bool,
    made: Moment,
    now: Moment,
) -> Result<Prediction, NotPredicted> {
    let ahead = outdoor.last().is_some_and(|hour| hour.at > now + TimeDelta::minutes(30));
    if !ahead {
        return Err(NotPredicted::NoForecast);
    }
    let last = readings.last().ok_or(NotPredicted::NoReading)?;
    let outside: Vec<(Moment, Celsius)> = outdoor.iter().map(|hour| (hour.at, hour.air)).collect();
    let damp: Vec<Reading> = outdoor
        .iter()
        .map(|hour| Reading { at: hour.at, air: hour.air, humidity: hour.humidity, surface: None })
        .collect();
    let damp = if outdoors { corrected(&damp, last) } else { damp };
    let (model, air) = if outdoors {
        (None, damp.iter().map(|hour| (hour.at, hour.air)).collect())
    } else {
        let inside: Vec<(Moment, Celsius)> = readings.iter().map(|r| (r.at, r.air)).collect();
        let past = outside.partition_point(|point| point.0 <= now);
        let model = ShopModel::fit(&inside, &outside[..past]).map_err(NotPredicted::TooLittle)?;
        let air = model.predict(last.at, last.air, &outside);
        (Some(model), air)
    };
    let past = damp.partition_point(|hour| hour.at <= now);
    let moisture = if outdoors {
        // The outdoor humidity is the forecast one from the first hour on.
        Moisture::exchanged(AT_ONCE, VapourPressure::from_hectopascals(0.0))
    } else {
        Moisture::fit(readings, &damp[..past]).unwrap_or(Moisture::held())
    };
    let vapour = |reading: &Reading| reading.humidity.map(|damp| vapour_pressure(reading.air, damp));
    let known = readings.iter().rev().take_while(|r| last.at - r.at <= TimeDelta::hours(24));
    let predicted = || damp.iter().filter(|hour| outdoors && hour.at >= last.at).find_map(vapour);
    let start = known.filter_map(vapour).next().or_else(predicted);
    let humidity = start.map(|start| moisture.predict(last.at, start, &damp, &air)).unwrap_or_default();
    let moments: Vec<Moment> = air.iter().map(|point| point.0).collect();
    let errors: Vec<KelvinDelta> = match &model {
        Some(model) => {
            let outside = error_inside(&model.shop(), made, &moments);
            let own = moments.iter().map(|at| model.residual_after(*at - last.at));
            own.zip(outside).map(|(own, outside)| together(own, outside)).collect()
        }
        // Outdoors the forecast itself is the air.
        None => {
            let off =
                |at: &Moment| if *at > last.at { outdoor_error(*at - made) } else { KelvinDelta::new(0.0) };
            moments.iter().map(off).collect()
        }
    };
    let points = air.iter().enumerate().map(|(index, &(at, air))| ForecastPoint {
        at,
        air,
        humidity: humidity.get(index).filter(|point| point.0 == at).map(|point| point.1),
        error: errors.get(index).copied().unwrap_or(KelvinDelta::new(0.0)),
    });
    Ok(Prediction { points: points.collect(), model, moisture })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::units::Humidity;

    fn at(hours: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::hours(hours)
    }

    fn hour(hours: i64, air: f64, humidity: f64) -> OutdoorHour {
        let humidity = Some(Humidity::from_fraction(humidity));
        OutdoorHour { at: at(hours), air: Celsius::new(air), humidity, rain: None, wind: None }
    }

    #[test]
    fn what_an_outdoor_forecast_has_missed_stays_missed_for_some_hours() {
        let forecast: Vec<_> = (0..48).map(|hours| hour(hours, 9.0, 0.7)).collect();
        let damp = Some(Humidity::from_fraction(0.95));
        let read = Reading { at: at(1), air: Celsius::new(3.0), humidity: damp, surface: None };
        let predicted = predict_place(&[read], &forecast, true, at(0), at(1)).unwrap();
        let air = |hours: usize| predicted.points[hours - 1].air.degrees();
        assert_eq!((predicted.points[0].at, air(1)), (at(1), 3.0));
        assert!((3.5..4.1).contains(&air(2)) && (6.5..7.0).contains(&air(7)) && air(30) > 8.9, "{}", air(2));
        let vapour = |hours: usize| {
            let point = predicted.points[hours - 1];
            vapour_pressure(point.air, point.humidity.unwrap()).hectopascals()
        };
        let (read, forecast) = (vapour(1), vapour_pressure(Celsius::new(9.0), Humidity::from_fraction(0.7)));
        assert!((vapour(2) - read).abs() < 0.35 * (forecast.hectopascals() - read).abs(), "{}", vapour(2));
        // A reading that agrees changes nothing.
        let agrees = Reading { at: at(1), air: Celsius::new(9.0), humidity: None, surface: None };
        let same =
            predict_place(&[agrees], &[hour(0, 9.0, 0.7), hour(5, 12.0, 0.7)], true, at(0), at(1)).unwrap();
        assert!((same.points[1].air.degrees() - 12.0).abs() < 0.4);
    }
}
