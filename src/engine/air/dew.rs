//! Vapour pressure, dew point, frost point, and the margin of a surface above it.
//!
//! This module knows the formula and its constants, but no places and no time.

use crate::engine::units::{Celsius, Humidity, KelvinDelta};

/// The constants of e = 6.112 hPa · exp(a·t / (b + t)), t in °C.
struct Magnus {
    a: f64,
    b: f64,
}

/// Saturation vapour pressure at 0 °C, in hPa.
const AT_ZERO: f64 = 6.112;

/// Over liquid water: WMO-No. 8, Annex 4.B, as instrument manuals quote it.
const WATER: Magnus = Magnus { a: 17.62, b: 243.12 };

/// Over ice: the same annex (constants from memory; within 0.03 % of the ASHRAE table at −20 and −5 °C).
const ICE: Magnus = Magnus { a: 22.46, b: 272.62 };

/// Outside −100…100 °C the formula does not apply.
const FORMULA_REACHES: f64 = 100.0;

impl Magnus {
    fn saturation(&self, air: Celsius) -> f64 {
        let t = air.degrees();
        AT_ZERO * (self.a * t / (self.b + t)).exp()
    }

    fn saturated_at(&self, hectopascals: f64) -> Celsius {
        let log = (hectopascals / AT_ZERO).ln();
        Celsius::new(self.b * log / (self.a - log))
    }
}

/// Partial pressure of water vapour. At constant air pressure it measures the moisture content, which warming
/// and cooling do not change.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct VapourPressure(f64);

impl VapourPressure {
    /// So many hectopascals.
    pub const fn from_hectopascals(value: f64) -> Self {
        Self(value)
    }

    /// The number of hectopascals.
    pub const fn hectopascals(self) -> f64 {
        self.0
    }

    /// Saturation over liquid water: WMO-No. 8, Annex 4.B, 6.112 · exp(17.62 t / (243.12 + t)) hPa.
    pub fn saturation_over_water(air: Celsius) -> Self {
        Self(WATER.saturation(air))
    }

    /// Saturation over ice, below 0 °C: the same annex, 6.112 · exp(22.46 t / (272.62 + t)) hPa.
    pub fn saturation_over_ice(air: Celsius) -> Self {
        Self(ICE.saturation(air))
    }

    /// The temperature at which this vapour condenses on a surface. None for dry air and for values that are
    /// not numbers.
    pub fn dew_point(self) -> Option<DewPoint> {
        if !(self.0 > 0.0 && self.0.is_finite()) {
            return None;
        }
        let frost = self.0 < AT_ZERO;
        let at = if frost { ICE.saturated_at(self.0) } else { WATER.saturated_at(self.0) };
        Some(DewPoint { at, frost })
    }
}

/// The surface temperature at which condensation begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DewPoint {
    /// The temperature.
    pub at: Celsius,
    /// Below 0 °C water condenses as frost, and `at` is the frost point. It is higher than the dew point over
    /// supercooled water, so it warns earlier; the printed tables of the trade give it too.
    pub frost: bool,
}

/// The vapour pressure of air at a relative humidity. The humidity is taken over liquid water at every
/// temperature, as weather services and hygrometers give it (WMO-No. 8).
pub fn vapour_pressure(air: Celsius, humidity: Humidity) -> VapourPressure {
    VapourPressure(humidity.fraction() * WATER.saturation(air))
}

/// The dew point of air; below 0 °C the frost point. Above 100 % RH counts as 100 %. None for dry air, values
/// that are not numbers, and temperatures outside the formula's range.
pub fn dew_point(air: Celsius, humidity: Humidity) -> Option<DewPoint> {
    if air.degrees().is_nan() || air.degrees().abs() > FORMULA_REACHES {
        return None;
    }
    let humidity = Humidity::from_fraction(if humidity.fraction() > 1.0 { 1.0 } else { humidity.fraction() });
    vapour_pressure(air, humidity).dew_point()
}

/// The relative humidity of air with this vapour at another temperature, at most saturation. With the
/// temperature of a surface: the relative humidity at that surface.
pub fn humidity_at(vapour: VapourPressure, air: Celsius) -> Humidity {
    Humidity::from_fraction((vapour.0 / WATER.saturation(air)).clamp(0.0, 1.0))
}

/// Surface temperature less dew point; negative where water condenses.
pub fn margin(surface: Celsius, dew: DewPoint) -> KelvinDelta {
    KelvinDelta::new(surface.degrees() - dew.at.degrees())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dew(air: f64, percent: f64) -> Option<DewPoint> {
        dew_point(Celsius::new(air), Humidity::from_fraction(percent / 100.0))
    }

    #[test]
    fn saturated_air_is_at_its_dew_point() {
        for air in 0..=50 {
            let found = dew(f64::from(air), 100.0).unwrap();
            assert!((found.at.degrees() - f64::from(air)).abs() < 1e-9, "{found:?} in air of {air} °C");
            assert!(!found.frost);
        }
    }

    #[test]
    fn below_zero_the_frost_point_is_higher_than_the_dew_point() {
        let frost = dew(2.0, 50.0).unwrap();
        assert!(frost.frost);
        let over_water =
            WATER.saturated_at(vapour_pressure(Celsius::new(2.0), Humidity::from_fraction(0.5)).0);
        assert!(frost.at > over_water, "{frost:?} against {over_water:?}");
    }

    #[test]
    fn frost_and_dew_meet_at_zero() {
        let below = VapourPressure(AT_ZERO * (1.0 - 1e-12)).dew_point().unwrap();
        let above = VapourPressure(AT_ZERO).dew_point().unwrap();
        assert!(below.frost && !above.frost);
        assert!((below.at.degrees() - above.at.degrees()).abs() < 1e-9);
    }

    #[test]
    fn dry_air_and_impossible_air_have_no_dew_point() {
        for (air, percent) in [
            (20.0, 0.0),
            (20.0, -5.0),
            (20.0, f64::NAN),
            (f64::NAN, 50.0),
            (f64::INFINITY, 50.0),
            (-243.12, 50.0),
            (-300.0, 50.0),
        ] {
            assert_eq!(dew(air, percent), None, "{air} °C, {percent} %");
        }
    }

    #[test]
    fn a_hygrometer_that_shows_more_than_saturation_means_saturation() {
        assert_eq!(dew(15.0, 104.0), dew(15.0, 100.0));
    }

    #[test]
    fn warming_air_keeps_its_vapour_and_dries_cooling_air_saturates() {
        let vapour = vapour_pressure(Celsius::new(10.0), Humidity::from_fraction(0.8));
        let warm = humidity_at(vapour, Celsius::new(20.0));
        assert!((0.41..0.43).contains(&warm.fraction()), "{warm:?}");
        assert_eq!(humidity_at(vapour, Celsius::new(5.0)), Humidity::from_fraction(1.0));
        let back = humidity_at(vapour, Celsius::new(10.0));
        assert!((back.fraction() - 0.8).abs() < 1e-12);
    }

    #[test]
    fn the_margin_is_surface_less_dew_point() {
        let dew = DewPoint { at: Celsius::new(10.0), frost: false };
        assert_eq!(margin(Celsius::new(12.5), dew), KelvinDelta::new(2.5));
        assert_eq!(margin(Celsius::new(9.0), dew), KelvinDelta::new(-1.0));
    }
}
