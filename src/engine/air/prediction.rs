//! The expected air of a place: the forecast, taken through the place's own lag and moisture.
//!
//! Inputs are the readings of the place and the outdoor hours, recorded and forecast. If they do not show how
//! the place follows the outdoors, there is no prediction, and the error says why.

use chrono::TimeDelta;

use super::dew::{VapourPressure, vapour_pressure};
use super::fitting::TooLittle;
use super::forecast_error::{error_inside, outdoor_error, together};
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
    let (model, air) = if outdoors {
        let to_come = outside.iter().filter(|point| point.0 > last.at).copied();
        (None, std::iter::once((last.at, last.air)).chain(to_come).collect())
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
