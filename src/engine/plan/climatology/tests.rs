use super::*;
use crate::engine::cure::{ForecastPoint, Outlook, Reading};
use crate::engine::plan::{Expected, PlaceAir};
use crate::engine::units::KelvinDelta;

fn now() -> Moment {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

fn hourly(from: Moment, hours: i32, air: impl Fn(Moment) -> f64) -> Vec<Reading> {
    let damp = Some(Humidity::from_fraction(0.6));
    let reading = |at| Reading { at, air: Celsius::new(air(at)), humidity: damp, surface: None };
    (0..hours).map(|hour| reading(from + HOUR * hour)).collect()
}

fn history(readings: &[Reading]) -> History {
    History::new(readings.iter().copied(), Outlook::held(KelvinDelta::new(1.0)))
}

/// `years` years of winters at this temperature, until 2 March.
fn winters(years: i64, air: f64) -> Climate {
    let winter = |back| hourly(now() - TimeDelta::days(365 * back + 30), 24 * 127, |_| air);
    Climate {
        season: SeasonalMeans::of(&(1..=years).rev().flat_map(winter).collect::<Vec<_>>()),
        from: ClimateFrom::Record,
    }
}

fn expected(history: &History, climates: &[Climate]) -> Option<Expected> {
    let place = PlaceAir { name: "shop", history, rain: &[], known_until: now(), climates, sky: None };
    Expected::of(&place, now(), 120, None)
}

fn degrees(air: &Expected, days: i64) -> f64 {
    air.air_at(now() + TimeDelta::days(days)).unwrap().degrees()
}

#[test]
fn a_warm_fortnight_fades_into_the_winter_of_earlier_years() {
    let fortnight = history(&hourly(now() - TimeDelta::days(14), 14 * 24 + 1, |_| 18.0));
    let alone = expected(&fortnight, &[]).unwrap();
    let climates = [winters(3, 4.0)];
    let air = expected(&fortnight, &climates).unwrap();
    assert!((degrees(&alone, 60) - 18.0).abs() < 1e-9);
    assert!((degrees(&air, 60) - 4.0).abs() < 1e-6);
    let faded = air.air_at(now() + TimeDelta::hours(36)).unwrap().degrees();
    assert!((faded - (4.0 + 14.0 * (-1.0_f64).exp())).abs() < 1e-6, "{faded}");
    assert_eq!(alone.basis(now() + TimeDelta::days(60)), [AirBasis::MeanDay(14)]);
    assert_eq!(air.basis(now() + TimeDelta::days(60)), [AirBasis::Record { fewest: 3, most: 3 }]);
}

#[test]
fn without_a_season_the_mean_day_counts_and_both_are_shown() {
    let fortnight = history(&hourly(now() - TimeDelta::days(14), 14 * 24 + 1, |_| 18.0));
    let climates = [winters(2, 4.0)];
    let air = expected(&fortnight, &climates).unwrap();
    assert!((degrees(&air, 115) - 18.0).abs() < 1e-9);
    let until = |days| air.basis(now() + TimeDelta::days(days));
    assert_eq!(until(60), [AirBasis::Record { fewest: 2, most: 2 }]);
    // At the end of the readings half as many days count for a date.
    assert_eq!(until(115), [AirBasis::Record { fewest: 1, most: 2 }, AirBasis::MeanDay(14)]);
}

#[test]
fn of_several_climates_the_first_that_has_a_date_counts() {
    let reading = history(&hourly(now(), 1, |_| 9.0));
    let file = Climate {
        season: SeasonalMeans::of(&hourly(now() - TimeDelta::days(4000), 24 * 40, |_| -3.0)),
        from: ClimateFrom::File { name: "years.csv".into(), outdoors: false },
    };
    let climates = [file, winters(1, 4.0)];
    let air = expected(&reading, &climates).unwrap();
    let last = now() + TimeDelta::days(80);
    assert!((degrees(&air, 80) - 4.0).abs() < 1e-6);
    let file = AirBasis::File { name: "years.csv".into(), outdoors: false };
    // Shifted by the leap days of eleven years, the file's forty days begin on 11 December.
    assert_eq!(air.basis(last), [AirBasis::Record { fewest: 1, most: 1 }, file]);
}

#[test]
fn with_nothing_at_all_there_is_no_air_and_with_a_climate_alone_there_is() {
    let nothing = history(&[]);
    assert!(expected(&nothing, &[]).is_none());
    let climates = [winters(1, 4.0)];
    let air = expected(&nothing, &climates).unwrap();
    assert!((degrees(&air, 0) - 4.0).abs() < 1e-9);
    // After the last date with a climate its air is held.
    assert!((degrees(&air, 180) - 4.0).abs() < 1e-9);
    let spring = [Climate {
        season: SeasonalMeans::of(&hourly(now() - TimeDelta::days(200), 24 * 30, |_| 9.0)),
        from: ClimateFrom::Record,
    }];
    assert!(expected(&nothing, &spring).is_none(), "the air of now is unknown");
}

#[test]
fn a_single_reading_is_held() {
    let reading = history(&hourly(now(), 1, |_| 9.0));
    let air = expected(&reading, &[]).unwrap();
    assert_eq!(air.basis(now()), [AirBasis::Held(Celsius::new(9.0))]);
    assert!((degrees(&air, 100) - 9.0).abs() < 1e-9);
}

#[test]
fn a_forecast_comes_first_and_its_end_decays_to_the_season() {
    let readings = hourly(now() - TimeDelta::hours(2), 3, |_| 10.0);
    let point = |hours: i64, air: f64| ForecastPoint {
        at: now() + TimeDelta::hours(hours),
        air: Celsius::new(air),
        humidity: Some(Humidity::from_fraction(0.6)),
        error: KelvinDelta::new(1.0),
    };
    let outlook = Outlook::forecast(KelvinDelta::new(1.0), now(), &[point(0, 10.0), point(48, 0.0)]).unwrap();
    let history = history(&readings).with_outlook(outlook);
    let climates = [winters(1, 4.0)];
    let known_until = now() + TimeDelta::hours(48);
    let place =
        PlaceAir { name: "shop", history: &history, rain: &[], known_until, climates: &climates, sky: None };
    let air = Expected::of(&place, now(), 30, None).unwrap();
    let at = |hours| air.air_at(now() + TimeDelta::hours(hours)).unwrap().degrees();
    assert!((at(24) - 5.0).abs() < 1e-6 && at(48).abs() < 1e-6);
    assert!((at(48 + 36) - (4.0 - 4.0 * (-1.0_f64).exp())).abs() < 1e-6, "{}", at(48 + 36));
    assert!(!air.is_assumed(known_until) && air.is_assumed(known_until + HOUR));
}

#[test]
fn a_climate_without_damp_has_that_of_the_last_days() {
    let mut dry = hourly(now() - TimeDelta::days(395), 24 * 120, |_| 4.0);
    dry.iter_mut().for_each(|reading| reading.humidity = None);
    let climates = [Climate { season: SeasonalMeans::of(&dry), from: ClimateFrom::Record }];
    let fortnight = history(&hourly(now() - TimeDelta::days(14), 14 * 24 + 1, |_| 18.0));
    let air = expected(&fortnight, &climates).unwrap();
    let humidity = air.line().humidity_at(now() + TimeDelta::days(60)).unwrap();
    assert!((humidity.fraction() - 0.6).abs() < 1e-6, "{humidity:?}");
}
