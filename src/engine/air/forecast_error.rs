//! The error of a forecast of the outdoor temperature, by its age.
//!
//! Published: a national service found 75 % of its hourly forecasts of the temperature at 2 m within 2 K on the
//! first day and 65 % on the third (MeteoSwiss, verification of its regional model with its Kalman filter,
//! stations below 800 m, spring 2005). For normally distributed errors the 0.9 quantile is then 2.86 K half a
//! day ahead and 3.52 K two and a half days ahead; in between and beyond it is linear. Another service's maxima
//! 12 to 24 h ahead agree: 87 % within 2.8 K, RMS 2.1 K (NOAA/NSSL, Oklahoma City). Today's forecasts are
//! better, and a person's valley is not the service's station: neither is taken into account.

use chrono::TimeDelta;

use super::lag::follow;
use super::shop::Shop;
use crate::engine::units::{KelvinDelta, Moment};

/// 0.9 quantile of the error in kelvin, by hours after the forecast was made.
const PUBLISHED: [(f64, f64); 2] = [(12.0, 2.86), (60.0, 3.52)];

/// The 0.9 quantile of the outdoor temperature error of a forecast, by lead time.
pub fn outdoor_error(ahead: TimeDelta) -> KelvinDelta {
    let [(near, close), (far, wide)] = PUBLISHED;
    let hours = ahead.max(TimeDelta::zero()).as_seconds_f64() / 3600.0;
    KelvinDelta::new(close + (wide - close) * (hours - near) / (far - near))
}

/// The resulting error of a place at each of `moments`; the first one is a reading. The forecast is assumed to
/// err to one side all the time, which is the worst case. The place approaches that error with its own lag, and
/// follows an error that lasts.
pub fn error_inside(shop: &Shop, made: Moment, moments: &[Moment]) -> Vec<KelvinDelta> {
    let tau = shop.tau().as_seconds_f64();
    let outside = |at: Moment| outdoor_error(at - made).kelvin();
    let mut inside = 0.0;
    let mut before = moments.first().copied();
    let each = moments.iter().map(|&at| {
        let from = before.replace(at).unwrap_or(at);
        let lags = (at - from).as_seconds_f64() / tau;
        inside = follow(inside, outside(from), outside(at), lags);
        KelvinDelta::new(inside)
    });
    each.collect()
}

/// The sum of two independent errors.
pub fn together(one: KelvinDelta, other: KelvinDelta) -> KelvinDelta {
    KelvinDelta::new(one.kelvin().hypot(other.kelvin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Normal distribution, two-sided, from its tables: 1.1503 σ for 75 %, 0.9346 σ for 65 %, 1.6449 σ for 90
    /// %.
    #[test]
    fn the_figures_are_the_published_ones() {
        for (hours, within_two) in [(12.0, 1.1503), (60.0, 0.9346)] {
            let deviation = 2.0 / within_two;
            let error = outdoor_error(TimeDelta::seconds((hours * 3600.0) as i64)).kelvin();
            assert!((error - 1.6449 * deviation).abs() < 0.01, "{hours} h: {error}");
        }
        // 87.3 % within 5 °F, 12 to 24 h ahead: 1.526 σ.
        let other = 5.0 / 1.8 / 1.526 * 1.6449;
        assert!((outdoor_error(TimeDelta::hours(18)).kelvin() - other).abs() < 0.1, "{other}");
    }

    #[test]
    fn a_forecast_made_after_its_hour_is_no_better() {
        assert_eq!(outdoor_error(TimeDelta::hours(-5)), outdoor_error(TimeDelta::zero()));
        assert!(outdoor_error(TimeDelta::days(9)) > outdoor_error(TimeDelta::days(3)));
    }

    #[test]
    fn a_place_approaches_the_outdoor_error_with_its_own_lag() {
        let made = Moment::UNIX_EPOCH;
        let moments: Vec<Moment> = (0..=96).map(|half| made + TimeDelta::minutes(30 * half)).collect();
        let shop = |hours| Shop::new(TimeDelta::hours(hours), KelvinDelta::new(0.0));
        let [quick, slow] = [2, 30].map(|hours| error_inside(&shop(hours), made, &moments));
        assert_eq!(quick[0], KelvinDelta::new(0.0), "at the reading nothing is off");
        assert!(quick.windows(2).all(|pair| pair[0] <= pair[1]));
        assert!((0..=96).all(|half| slow[half] <= quick[half]));
        let outside = outdoor_error(TimeDelta::hours(48)).kelvin();
        assert!((quick[96].kelvin() - outside).abs() < 0.05, "{} of {outside}", quick[96].kelvin());
        // Half an hour is 1/60 of 30 h.
        assert!((slow[1].kelvin() - outdoor_error(TimeDelta::zero()).kelvin() / 60.0).abs() < 0.002);
    }
}
