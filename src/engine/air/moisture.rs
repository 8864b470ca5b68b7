//! The expected humidity of a place.
//!
//! The place exchanges air with the outdoors: its vapour pressure follows de/dt = (e_out + source − e) / tau,
//! the same equation as the temperature's. If the rate is unknown the vapour is held, and the relative humidity
//! follows from the temperature.
//!
//! Holding is accurate for an hour or two. On the record of an unheated, ventilated attic, predicted with its
//! own temperature known, the 0.9 quantile of the error was (measured in `tests/library/air/attic.rs`): after 3
//! hours 6 % RH exchanged and 11 % held, after 24 hours 6 % and 27 %. A tighter place exchanges more slowly,
//! which its own readings show.
//!
//! This module knows vapour and moments, but no films and no limits.

use chrono::TimeDelta;

use super::dew::{VapourPressure, humidity_at, vapour_pressure};
use super::fitting::{Fitted, TooLittle, fit};
use super::lag::{Line, follow};
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Humidity, Moment};

/// Minimum range of the outdoor vapour, in hPa, for a fit.
const LEAST_SWING: f64 = 1.5;
/// More vapour, in hPa, is a sensor fault: steam at 100 °C has as much.
const MOST: f64 = 1013.25;
/// Lower limit of the time constant.
const FASTEST: TimeDelta = TimeDelta::minutes(1);

/// How the vapour of a place follows the outdoors.
#[derive(Debug, Clone, PartialEq)]
pub struct Moisture(Kind);

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Held,
    Exchanged { tau: f64, source: f64, fitted: Option<Fitted> },
}

impl Moisture {
    /// The moisture content last measured is held.
    pub const fn held() -> Self {
        Self(Kind::Held)
    }

    /// Exchanged with the outdoors with a time constant of at least a minute. `source`: excess of vapour over
    /// the outdoors; negative where something dries the place.
    pub fn exchanged(tau: TimeDelta, source: VapourPressure) -> Self {
        let tau = tau.max(FASTEST).as_seconds_f64();
        Self(Kind::Exchanged { tau, source: source.hectopascals(), fitted: None })
    }

    /// Fits time constant and source to the readings of the place and the outdoor record over the same hours,
    /// like [`super::ShopModel::fit`] for the temperature. Readings without humidity do not count.
    ///
    /// # Errors
    /// [`TooLittle`] if they do not show how the place exchanges air; use [`Moisture::held`] then.
    pub fn fit(inside: &[Reading], outside: &[Reading]) -> Result<Self, TooLittle> {
        let fitted = fit(&vapour_of(inside), &vapour_of(outside), LEAST_SWING)?;
        let tau = fitted.tau.max(FASTEST).as_seconds_f64();
        Ok(Self(Kind::Exchanged { tau, source: fitted.gain, fitted: Some(fitted) }))
    }

    /// The time constant of the exchange; None if the vapour is held.
    pub fn tau(&self) -> Option<TimeDelta> {
        match &self.0 {
            Kind::Held => None,
            Kind::Exchanged { tau, .. } => Some(TimeDelta::milliseconds((tau * 1000.0).round() as i64)),
        }
    }

    /// Excess of vapour over the outdoors; None if the vapour is held.
    pub fn source(&self) -> Option<VapourPressure> {
        match &self.0 {
            Kind::Held => None,
            Kind::Exchanged { source, .. } => Some(VapourPressure::from_hectopascals(*source)),
        }
    }

    /// The 0.9 quantile of the vapour error, by the time since the starting reading, given the true outdoor
    /// air. None without a fit.
    pub fn residual_after(&self, ahead: TimeDelta) -> Option<VapourPressure> {
        match &self.0 {
            Kind::Exchanged { fitted: Some(fitted), .. } => {
                Some(VapourPressure::from_hectopascals(fitted.residual_after(ahead)))
            }
            _ => None,
        }
    }

    /// The relative humidity of the place at every moment of `air`, its predicted temperature, from a known
    /// vapour pressure on. At most saturation: the excess condenses. `outside` and `air` ascend in time. The
    /// outdoor vapour is linear between its points and constant outside them. Without points the vapour is
    /// held.
    pub fn predict(
        &self,
        from: Moment,
        start: VapourPressure,
        outside: &[Reading],
        air: &[(Moment, Celsius)],
    ) -> Vec<(Moment, Humidity)> {
        if !start.hectopascals().is_finite() {
            return Vec::new();
        }
        let outside = vapour_of(outside);
        let (mut at, mut now) = (from, start.hectopascals());
        let mut predicted = Vec::with_capacity(air.len());
        for &(moment, celsius) in air.iter().filter(|point| point.0 >= from && point.1.degrees().is_finite())
        {
            if let Kind::Exchanged { tau, source, .. } = self.0 {
                now = outside.pieces(at, moment).fold(now, |now, piece| {
                    follow(now, piece.first + source, piece.last + source, piece.seconds / tau)
                });
            }
            at = at.max(moment);
            predicted.push((moment, humidity_at(VapourPressure::from_hectopascals(now), celsius)));
        }
        predicted
    }
}

/// Holds the vapour of the last measured humidity in the readings after it: their relative humidity follows
/// from their temperature. Returns the moment of that measurement; None if there is none.
pub fn hold_moisture(readings: &mut [Reading]) -> Option<Moment> {
    let last = readings.iter().rposition(|reading| reading.humidity.is_some())?;
    let (before, after) = readings.split_at_mut(last + 1);
    let known = before.last()?;
    let vapour = vapour_pressure(known.air, known.humidity?);
    for reading in after {
        reading.humidity = Some(humidity_at(vapour, reading.air));
    }
    Some(known.at)
}

fn vapour_of(readings: &[Reading]) -> Line {
    Line::new(readings.iter().filter_map(|reading| {
        let vapour = vapour_pressure(reading.air, reading.humidity?).hectopascals();
        (0.0..=MOST).contains(&vapour).then_some((reading.at, vapour))
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hours: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::hours(hours)
    }

    fn reading(hours: i64, air: f64, humidity: f64) -> Reading {
        let humidity = Some(Humidity::from_fraction(humidity));
        Reading { at: at(hours), air: Celsius::new(air), humidity, surface: None }
    }

    fn predicted(moisture: &Moisture, outside: &[Reading], air: &[(i64, f64)]) -> Vec<f64> {
        let start = vapour_pressure(Celsius::new(15.0), Humidity::from_fraction(0.6));
        let air: Vec<_> = air.iter().map(|&(hours, degrees)| (at(hours), Celsius::new(degrees))).collect();
        moisture.predict(at(0), start, outside, &air).iter().map(|point| point.1.fraction()).collect()
    }

    #[test]
    fn held_vapour_dries_with_warmth_and_saturates_with_cold() {
        let found = predicted(&Moisture::held(), &[reading(0, 15.0, 1.0)], &[(0, 15.0), (5, 25.0), (9, 5.0)]);
        assert!((found[0] - 0.6).abs() < 1e-12);
        assert!((0.32..0.33).contains(&found[1]), "{found:?}");
        assert_eq!(found[2], 1.0);
    }

    #[test]
    fn exchanged_air_ends_as_damp_as_outside() {
        let outside = [reading(0, 15.0, 0.9), reading(100, 15.0, 0.9)];
        let nothing = VapourPressure::from_hectopascals(0.0);
        let exchanged = Moisture::exchanged(TimeDelta::hours(3), nothing);
        let found = predicted(&exchanged, &outside, &[(0, 15.0), (3, 15.0), (90, 15.0)]);
        assert!((found[0] - 0.6).abs() < 1e-12);
        assert!((found[1] - (0.9 - 0.3 * (-1.0f64).exp())).abs() < 1e-9, "{found:?}");
        assert!((found[2] - 0.9).abs() < 1e-9);
        assert_eq!(predicted(&exchanged, &[], &[(0, 15.0), (90, 15.0)]).last(), Some(&found[0]));
    }

    #[test]
    fn air_that_only_warms_dries_and_its_dew_point_stays() {
        let mut readings = [reading(0, -3.0, 0.85), reading(1, 15.0, 0.0)];
        readings[1].humidity = None;
        assert_eq!(hold_moisture(&mut readings), Some(at(0)));
        let warmed = readings[1].humidity.map(|humidity| humidity.fraction()).unwrap();
        assert!((0.22..0.26).contains(&warmed), "{warmed}");
        let mut unknown = [reading(0, 15.0, 0.5)];
        unknown[0].humidity = None;
        assert_eq!(hold_moisture(&mut unknown), None);
        assert_eq!(unknown[0].humidity, None);
    }

    #[test]
    fn nonsense_is_left_out() {
        let start = VapourPressure::from_hectopascals(f64::NAN);
        let air = [(at(0), Celsius::new(10.0))];
        assert!(Moisture::held().predict(at(0), start, &[], &air).is_empty());
        assert!(predicted(&Moisture::held(), &[], &[(0, f64::NAN), (-3, 9.0)]).is_empty());
        assert_eq!(Moisture::fit(&[], &[]), Err(TooLittle::NoReadings));
        assert_eq!(Moisture::held().tau(), None);
    }
}
