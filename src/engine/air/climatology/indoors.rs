//! The air that a place would have had under an outdoor record.

use chrono::TimeDelta;

use super::days::{GAP, air_of};
use super::{Celsius, Reading, VapourPressure, humidity_at};
use crate::engine::air::lag::{follow, seconds_between};
use crate::engine::air::shop::Shop;
use crate::engine::units::Moment;

/// After this many time constants 5 % of an unknown start is left: negligible in a mean of weeks.
const FORGOTTEN: f64 = 3.0;
/// Lower limit of the time constant.
const FASTEST: TimeDelta = TimeDelta::minutes(1);

/// An outdoor record, taken through the lag of a place; exact where the outdoor air is linear between its
/// readings. `exchange` is the time constant of the air exchange and the excess of vapour over the outdoors;
/// None if unknown: over weeks a place without a source of moisture is as humid as the outdoors. After a gap it
/// starts anew, and the part that the unknown start still affects is dropped.
pub fn indoors(
    outdoor: &[Reading],
    shop: Shop,
    exchange: Option<(TimeDelta, VapourPressure)>,
) -> Vec<Reading> {
    let tau = shop.tau().as_seconds_f64();
    let (damp_tau, source) = exchange.unwrap_or((FASTEST, VapourPressure::from_hectopascals(0.0)));
    let (damp_tau, source) = (damp_tau.max(FASTEST).as_seconds_f64(), source.hectopascals());
    let warm_up = FORGOTTEN * tau.max(damp_tau);
    let mut inside = Vec::with_capacity(outdoor.len());
    let mut place: Option<Followed> = None;
    for reading in outdoor {
        let Some((air, vapour)) = air_of(reading) else { continue };
        let (input, damp) = (air + shop.gain().kelvin(), vapour.map(|vapour| vapour + source));
        let next = match place.filter(|place| reading.at >= place.at && reading.at - place.at <= GAP) {
            Some(before) => {
                let seconds = seconds_between(before.at, reading.at);
                let vapour = before.damp.zip(before.vapour).zip(damp);
                let vapour = vapour.map(|((from, y), to)| follow(y, from, to, seconds / damp_tau));
                Followed {
                    at: reading.at,
                    since: before.since,
                    input,
                    air: follow(before.air, before.input, input, seconds / tau),
                    damp,
                    vapour: vapour.or(damp),
                }
            }
            None => Followed { at: reading.at, since: reading.at, input, air: input, damp, vapour: damp },
        };
        if seconds_between(next.since, next.at) >= warm_up {
            inside.push(next.reading());
        }
        place = Some(next);
    }
    inside
}

#[derive(Clone, Copy)]
struct Followed {
    at: Moment,
    since: Moment,
    input: f64,
    air: f64,
    damp: Option<f64>,
    vapour: Option<f64>,
}

impl Followed {
    fn reading(&self) -> Reading {
        let air = Celsius::new(self.air);
        let vapour = self.vapour.map(|vapour| VapourPressure::from_hectopascals(vapour.max(0.0)));
        let humidity = vapour.map(|vapour| humidity_at(vapour, air));
        Reading { at: self.at, air, humidity, surface: None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::air::vapour_pressure;
    use crate::engine::units::{Humidity, KelvinDelta};

    const DAY: f64 = 24.0;

    fn outdoors(hours: i64, air: impl Fn(f64) -> f64) -> Vec<Reading> {
        let reading = |hour| Reading {
            at: Moment::UNIX_EPOCH + TimeDelta::hours(hour),
            air: Celsius::new(air(hour as f64)),
            humidity: Some(Humidity::from_fraction(0.7)),
            surface: None,
        };
        (0..hours).map(reading).collect()
    }

    fn shop(hours: i64, gain: f64) -> Shop {
        Shop::new(TimeDelta::hours(hours), KelvinDelta::new(gain))
    }

    #[test]
    fn a_shop_swings_less_than_the_outdoors_and_later_by_the_closed_form() {
        // First-order response to a sine: amplitude 1/√(1 + (ωτ)²), phase lag atan(ωτ).
        let turn = |hour: f64| hour / DAY * std::f64::consts::TAU;
        let record = outdoors(24 * 30, |hour| 8.0 + 5.0 * turn(hour).sin());
        let inside = indoors(&record, shop(12, 2.0), None);
        let lags = std::f64::consts::TAU / DAY * 12.0;
        for reading in inside.iter().filter(|reading| reading.at > record[24 * 20].at) {
            let hour = (reading.at - Moment::UNIX_EPOCH).num_hours() as f64;
            let exact = 10.0 + 5.0 / lags.hypot(1.0) * (turn(hour) - lags.atan()).sin();
            // Linear interpolation between the hours of a sine errs by less than 1 % of it.
            assert!((reading.air.degrees() - exact).abs() < 0.05, "{hour}: {reading:?}, not {exact}");
        }
    }

    #[test]
    fn a_dry_warm_shop_holds_the_vapour_of_the_outdoors() {
        let inside = indoors(&outdoors(24 * 10, |_| 3.0), shop(6, 7.0), None);
        let last = inside.last().unwrap();
        let outside = vapour_pressure(Celsius::new(3.0), Humidity::from_fraction(0.7));
        let found = vapour_pressure(last.air, last.humidity.unwrap());
        assert!((last.air.degrees() - 10.0).abs() < 1e-9);
        assert!((found.hectopascals() - outside.hectopascals()).abs() < 1e-9);
        let source = (TimeDelta::hours(3), VapourPressure::from_hectopascals(1.0));
        let damp = indoors(&outdoors(24 * 10, |_| 3.0), shop(6, 7.0), Some(source));
        let damp = vapour_pressure(damp[0].air, damp[0].humidity.unwrap());
        assert!((damp.hectopascals() - outside.hectopascals() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn after_a_gap_it_starts_anew_and_impossible_air_is_skipped() {
        let mut record = outdoors(24 * 4, |_| 3.0);
        record[50].air = Celsius::new(f64::NAN);
        record[60].humidity = None;
        let whole = indoors(&record, shop(8, 0.0), None);
        assert_eq!((whole.len(), whole[0].at), (24 * 4 - 24 - 1, record[24].at));
        assert!(whole.iter().all(|reading| reading.air.degrees().is_finite()));
        record.drain(40..60);
        let gap = indoors(&record, shop(8, 0.0), None);
        assert!(gap.iter().all(|reading| {
            let hour = (reading.at - Moment::UNIX_EPOCH).num_hours();
            (24..40).contains(&hour) || hour >= 84
        }));
        assert!(indoors(&[], shop(8, 0.0), None).is_empty());
    }
}
