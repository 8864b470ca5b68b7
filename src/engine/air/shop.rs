//! How the temperature of a place follows the outdoors: dT/dt = (T_out + gain − T) / tau.
//!
//! This module knows readings and the outdoor record or forecast over the same hours. It knows neither the
//! source of a forecast nor what depends on the temperature.

use chrono::TimeDelta;

use super::fitting::{Fitted, TooLittle, fit};
use super::lag::{Line, follow};
use crate::engine::units::{Celsius, KelvinDelta, Moment};

/// Linear interpolation between predicted points is this close to the curve, in kelvin.
const DRAWN_WITHIN: f64 = 0.02;
/// A value further from 0 °C is a sensor fault.
const NO_AIR: f64 = 100.0;
/// Lower limit of the time constant.
const FASTEST: TimeDelta = TimeDelta::minutes(1);

/// A place as one heat store behind one wall.
///
/// First-order building model (lumped capacitance, Newton's law of cooling). tau is heat capacity / heat loss;
/// the gain is the steady excess over the outdoor temperature, from sun, lamps and ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shop {
    tau: TimeDelta,
    gain: KelvinDelta,
}

impl Shop {
    /// From the time constant, a minute at least, and the gain, 100 K at most.
    pub fn new(tau: TimeDelta, gain: KelvinDelta) -> Self {
        let gain = KelvinDelta::new(gain.kelvin().clamp(-NO_AIR, NO_AIR));
        Self { tau: tau.max(FASTEST), gain }
    }

    /// The time constant: after it 37 % of a difference to the outdoors is left.
    pub const fn tau(&self) -> TimeDelta {
        self.tau
    }

    /// The steady excess over the outdoor temperature.
    pub const fn gain(&self) -> KelvinDelta {
        self.gain
    }

    /// The temperature of the place from a known one on.
    ///
    /// `outside` ascends in time; linear between its points, constant before the first. Points that are not
    /// numbers or not air (beyond ±100 °C) are dropped. The result begins at `from` and ends with the last
    /// point of `outside`. It contains every point of `outside`, and enough between that linear interpolation
    /// is within 0.02 K of the exact solution. Empty if the start is not an air temperature.
    pub fn predict(
        &self,
        from: Moment,
        start: Celsius,
        outside: &[(Moment, Celsius)],
    ) -> Vec<(Moment, Celsius)> {
        if !is_air(start) || self.gain.kelvin().is_nan() {
            return Vec::new();
        }
        let outside = line(outside);
        let tau = self.tau.as_seconds_f64();
        let mut predicted = vec![(from, start)];
        let (mut at, mut now) = (from, start.degrees());
        let end = outside.last().map_or(from, |last| last.0);
        for piece in outside.pieces(from, end) {
            let slope = (piece.last - piece.first) / piece.seconds;
            let (mut input, last) = (piece.first + self.gain.kelvin(), piece.last + self.gain.kelvin());
            let mut left = piece.seconds;
            while left > 0.0 {
                // T'' = bend / tau² · e^(−t/tau) decreases, and a chord errs by T'' · step² / 8 at most.
                let bend = (now - input + slope * tau).abs();
                let step = (tau * (8.0 * DRAWN_WITHIN / bend).sqrt()).floor().max(1.0);
                let next = if step < left { input + slope * step } else { last };
                let step = step.min(left);
                now = follow(now, input, next, step / tau);
                left -= step;
                at = if left > 0.0 { at + TimeDelta::seconds(step as i64) } else { piece.to };
                predicted.push((at, Celsius::new(now)));
                input = next;
            }
        }
        predicted
    }
}

/// A [`Shop`] fitted to its own readings, with the errors of the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopModel {
    shop: Shop,
    fitted: Fitted,
}

impl ShopModel {
    /// Fits tau and gain to the readings of a place and the outdoor record over the same hours, both ascending
    /// in time.
    ///
    /// Least squares of the free run: the model starts once and sees no later reading, as in a prediction.
    /// (Fitting each step from the previous reading predicts the next hour best and all later ones worse: on
    /// the record of an unheated attic by half from six hours ahead on, see `tests/reference/make_attic.py`.)
    /// Readings count as hourly means. After a gap of more than six hours in the outdoor record the model
    /// starts again.
    ///
    /// # Errors
    /// [`TooLittle`] if they do not show how the place follows the outdoors; hold the last reading then.
    pub fn fit(inside: &[(Moment, Celsius)], outside: &[(Moment, Celsius)]) -> Result<Self, TooLittle> {
        let fitted = fit(&line(inside), &line(outside), LEAST_SWING)?;
        let shop = Shop::new(fitted.tau, KelvinDelta::new(fitted.gain));
        Ok(Self { shop, fitted })
    }

    /// The fitted place.
    pub const fn shop(&self) -> Shop {
        self.shop
    }

    /// The 95 % interval of tau, with correlated errors taken into account.
    pub const fn tau_range(&self) -> (TimeDelta, TimeDelta) {
        self.fitted.tau_range
    }

    /// The 95 % error of the gain, ±.
    pub const fn gain_error(&self) -> KelvinDelta {
        KelvinDelta::new(self.fitted.gain_error)
    }

    /// The 0.9 quantile of the prediction error, by the time since the starting reading, given the true outdoor
    /// temperature. Linear between full hours, constant after 48 h, non-decreasing. The forecast's own error
    /// comes on top: see [`super::error_inside`].
    pub fn residual_after(&self, ahead: TimeDelta) -> KelvinDelta {
        KelvinDelta::new(self.fitted.residual_after(ahead))
    }

    /// [`ShopModel::residual_after`] 0, 1, 2 … 48 hours.
    pub fn hourly_residuals(&self) -> impl Iterator<Item = KelvinDelta> + '_ {
        self.fitted.residual.iter().copied().map(KelvinDelta::new)
    }

    /// See [`Shop::predict`].
    pub fn predict(
        &self,
        from: Moment,
        start: Celsius,
        outside: &[(Moment, Celsius)],
    ) -> Vec<(Moment, Celsius)> {
        self.shop.predict(from, start, outside)
    }
}

/// Minimum range of the outdoor temperature, in kelvin, for a fit.
const LEAST_SWING: f64 = 3.0;

fn line(points: &[(Moment, Celsius)]) -> Line {
    let points = points.iter().filter(|point| is_air(point.1));
    Line::new(points.map(|&(at, celsius)| (at, celsius.degrees())))
}

fn is_air(celsius: Celsius) -> bool {
    celsius.degrees().abs() <= NO_AIR
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hours: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::hours(hours)
    }

    fn predicted(from: i64, start: f64, outside: &[(i64, f64)]) -> Vec<(Moment, f64)> {
        let shop = Shop::new(TimeDelta::hours(4), KelvinDelta::new(2.0));
        let outside: Vec<_> = outside.iter().map(|&(h, celsius)| (at(h), Celsius::new(celsius))).collect();
        let predicted = shop.predict(at(from), Celsius::new(start), &outside);
        predicted.into_iter().map(|(at, celsius)| (at, celsius.degrees())).collect()
    }

    #[test]
    fn the_prediction_is_only_as_long_as_the_forecast() {
        assert_eq!(predicted(5, 12.0, &[]), [(at(5), 12.0)]);
        assert_eq!(predicted(5, 12.0, &[(1, 3.0), (5, 9.0)]), [(at(5), 12.0)]);
        assert_eq!(predicted(5, 12.0, &[(1, 3.0), (8, 9.0)]).last().map(|point| point.0), Some(at(8)));
        assert_eq!(predicted(5, f64::NAN, &[(1, 3.0), (8, 9.0)]), []);
    }

    #[test]
    fn before_the_outside_is_known_its_first_value_is_held() {
        let late = predicted(0, 12.0, &[(6, 3.0), (9, 3.0)]);
        let early = predicted(0, 12.0, &[(0, 3.0), (9, 3.0)]);
        let (late, early) = (late.last().map_or(0.0, |p| p.1), early.last().map_or(1.0, |p| p.1));
        assert!((late - early).abs() < 1e-9, "{late} {early}");
    }

    #[test]
    fn every_point_of_the_outside_is_a_point_of_the_shop() {
        let outside = [(1, 3.0), (2, f64::NAN), (3, 9.0), (3, 10.0), (2, 1.0), (30, -4.0)];
        let moments: Vec<_> = predicted(0, 20.0, &outside).into_iter().map(|point| point.0).collect();
        assert!([at(0), at(1), at(3), at(30)].iter().all(|moment| moments.contains(moment)), "{moments:?}");
        assert!(moments.is_sorted_by(|a, b| a < b));
    }

    #[test]
    fn a_shop_at_rest_stays_as_it_is() {
        let rest = predicted(0, 12.0, &[(0, 10.0), (99, 10.0)]);
        assert!(rest.iter().all(|point| (point.1 - 12.0).abs() < 1e-12), "{rest:?}");
    }
}
