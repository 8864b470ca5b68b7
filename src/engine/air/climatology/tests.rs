use chrono::Timelike;

use super::*;

fn moment(text: &str) -> Moment {
    text.parse().unwrap()
}

/// Hourly readings from one day to another.
fn record(from: &str, to: &str, air: impl Fn(Moment) -> f64, damp: f64) -> Vec<Reading> {
    let (from, to) = (moment(&format!("{from}T00:00:00Z")), moment(&format!("{to}T00:00:00Z")));
    let hours = 0..(to - from).num_hours();
    let reading = |hour| {
        let at = from + TimeDelta::hours(hour);
        let humidity = Some(Humidity::from_fraction(damp));
        Reading { at, air: Celsius::new(air(at)), humidity, surface: None }
    };
    hours.map(reading).collect()
}

/// A year that is coldest in the middle of January, a day that is coldest at 4.
fn wave(at: Moment) -> f64 {
    let year = (at.ordinal0() as f64 - 15.0) / 365.25 * std::f64::consts::TAU;
    let day = ((at.timestamp().rem_euclid(86_400)) as f64 / 3600.0 - 4.0) / 24.0 * std::f64::consts::TAU;
    10.0 - 9.0 * year.cos() - 3.0 * day.cos()
}

fn degrees(season: &SeasonalMeans, at: &str) -> f64 {
    season.at(moment(at)).unwrap().0.degrees()
}

#[test]
fn without_a_record_no_date_has_a_climate() {
    let none = SeasonalMeans::of(&[]);
    assert!(none.is_empty());
    assert_eq!(none.at(moment("2026-02-01T12:00:00Z")), None);
    assert_eq!(none.spread(moment("2026-02-01T12:00:00Z")), None);
    assert_eq!(none.years(moment("2026-02-01T12:00:00Z")), 0);
}

#[test]
fn one_year_gives_every_date_of_any_other_year() {
    let season = SeasonalMeans::of(&record("2021-01-01", "2022-01-01", wave, 0.6));
    for at in ["2026-02-01T12:00:00Z", "2031-07-15T04:00:00Z", "1999-10-31T23:00:00Z"] {
        assert!((degrees(&season, at) - wave(moment(at))).abs() < 0.2, "{at}: {}", degrees(&season, at));
        assert_eq!(season.years(moment(at)), 1);
    }
    let spread = season.spread(moment("2026-04-15T12:00:00Z")).unwrap();
    // Ten days of spring either way: 9 K · 2π/365 per day at most.
    assert!((1.0..1.6).contains(&spread.air.kelvin()), "{spread:?}");
}

#[test]
fn half_past_lies_between_the_hours_also_at_midnight() {
    let season =
        SeasonalMeans::of(&record("2021-01-01", "2022-01-01", |at| (at.timestamp() / 3600 % 24) as f64, 0.6));
    assert!((degrees(&season, "2026-02-01T12:30:00Z") - 12.5).abs() < 1e-9);
    assert!((degrees(&season, "2026-02-01T23:30:00Z") - 11.5).abs() < 1e-9);
}

#[test]
fn a_leap_day_has_the_climate_of_the_days_around_it() {
    let season = SeasonalMeans::of(&record("2021-01-01", "2022-01-01", wave, 0.6));
    let leap = degrees(&season, "2028-02-29T12:00:00Z");
    assert!(
        (degrees(&season, "2028-02-28T12:00:00Z")..=degrees(&season, "2028-03-01T12:00:00Z")).contains(&leap)
    );
    // If only leap days were warm, they count with their neighbours and are not a date of their own.
    let warm = |at: Moment| if (at.month(), at.day()) == (2, 29) { 30.0 } else { 0.0 };
    let leaps = SeasonalMeans::of(&record("2024-01-01", "2025-01-01", warm, 0.6));
    for at in ["2027-02-20T12:00:00Z", "2028-02-29T12:00:00Z", "2027-03-10T12:00:00Z"] {
        assert!((degrees(&leaps, at) - 30.0 / 21.0).abs() < 1e-9, "{at}: {}", degrees(&leaps, at));
    }
    assert_eq!(degrees(&leaps, "2027-02-18T12:00:00Z"), 0.0);
}

#[test]
fn a_southern_summer_over_new_year_is_one_season_of_one_year() {
    let south = |at: Moment| wave(at + TimeDelta::days(182));
    let season = SeasonalMeans::of(&record("2020-12-10", "2021-01-25", south, 0.6));
    for at in ["2026-12-31T23:00:00Z", "2027-01-01T00:00:00Z", "2026-12-26T12:00:00Z", "2027-01-09T12:00:00Z"]
    {
        assert_eq!(season.years(moment(at)), 1, "{at}");
        assert!((degrees(&season, at) - south(moment(at))).abs() < 0.3, "{at}");
    }
    let both = SeasonalMeans::of(
        &[record("2019-12-10", "2020-01-25", south, 0.6), record("2020-12-10", "2021-01-25", south, 0.6)]
            .concat(),
    );
    assert_eq!(both.years(moment("2027-01-01T12:00:00Z")), 2);
    assert_eq!(season.at(moment("2027-06-01T12:00:00Z")), None, "no winter was read");
}

#[test]
fn part_of_a_year_gives_nothing_for_the_rest() {
    let season = SeasonalMeans::of(&record("2021-02-01", "2021-03-01", wave, 0.6));
    assert!(season.at(moment("2026-02-15T12:00:00Z")).is_some());
    // On the fifth day before the first one the window has seven days, a day earlier six.
    assert!(season.at(moment("2026-01-28T12:00:00Z")).is_some());
    assert_eq!(season.at(moment("2026-01-27T12:00:00Z")), None);
    assert_eq!(season.at(moment("2026-06-15T12:00:00Z")), None);
}

#[test]
fn a_gap_has_no_climate_and_the_rest_has() {
    let mut readings = record("2021-01-01", "2022-01-01", wave, 0.6);
    readings.retain(|reading| !(4..=6).contains(&reading.at.month()) && reading.at.hour() != 9);
    let season = SeasonalMeans::of(&readings);
    assert_eq!(season.at(moment("2026-05-15T12:00:00Z")), None);
    // An hour without a reading is interpolated.
    assert!((degrees(&season, "2026-09-15T09:00:00Z") - wave(moment("2026-09-15T09:00:00Z"))).abs() < 0.3);
    readings.retain(|reading| reading.at.hour() < 12);
    assert_eq!(SeasonalMeans::of(&readings).at(moment("2026-09-15T09:00:00Z")), None, "half a day is no day");
}

#[test]
fn values_that_are_not_numbers_are_dropped() {
    let mut readings = record("2021-01-01", "2021-03-01", |_| 12.0, 0.5);
    for index in (5..readings.len()).step_by(7) {
        readings[index].air = Celsius::new([f64::NAN, f64::INFINITY, -273.0][index % 3]);
        readings[index - 1].humidity = Some(Humidity::from_fraction(f64::NAN));
    }
    let season = SeasonalMeans::of(&readings);
    let (air, humidity) = season.at(moment("2026-02-01T12:20:00Z")).unwrap();
    assert!((air.degrees() - 12.0).abs() < 1e-9 && (humidity.unwrap().fraction() - 0.5).abs() < 1e-9);
    assert_eq!(season.spread(moment("2026-02-01T12:20:00Z")).unwrap().air, KelvinDelta::new(0.0));
}

#[test]
fn humidity_is_averaged_as_vapour_and_not_as_a_percentage() {
    // Equal vapour in cold and in warm years: the relative humidities differ, the dew points do not.
    let vapour = VapourPressure::from_hectopascals(8.0);
    let years = [(2020, 8.0), (2021, 22.0)].map(|(year, air)| {
        let mut readings = record(&format!("{year}-01-01"), &format!("{year}-03-01"), |_| air, 0.0);
        readings.iter_mut().for_each(|reading| reading.humidity = Some(humidity_at(vapour, reading.air)));
        readings
    });
    let season = SeasonalMeans::of(&years.concat());
    let (air, humidity) = season.at(moment("2026-02-01T12:00:00Z")).unwrap();
    assert!((air.degrees() - 15.0).abs() < 1e-9);
    assert!((vapour_pressure(air, humidity.unwrap()).hectopascals() - 8.0).abs() < 1e-9);
    let spread = season.spread(moment("2026-02-01T12:00:00Z")).unwrap();
    assert!((spread.air.kelvin() - 7.0).abs() < 1e-9 && spread.vapour.unwrap().hectopascals() < 1e-9);
}

#[test]
fn humidity_read_on_too_few_days_is_unknown() {
    let mut readings = record("2021-01-01", "2021-03-01", wave, 0.5);
    readings.iter_mut().filter(|reading| reading.at.day() > 4).for_each(|reading| reading.humidity = None);
    let season = SeasonalMeans::of(&readings);
    assert_eq!(season.at(moment("2026-02-12T12:00:00Z")).unwrap().1, None);
    assert_eq!(season.spread(moment("2026-02-12T12:00:00Z")).unwrap().vapour, None);
}

#[test]
fn a_clock_change_does_not_move_noon() {
    // Hours are UTC: solar noon is the same hour in March and in April.
    let noon = |at: Moment| if at.hour() == 11 { 20.0 } else { 5.0 };
    let season = SeasonalMeans::of(&record("2021-01-01", "2022-01-01", noon, 0.5));
    for day in ["03-27", "03-28", "03-29", "10-31"] {
        assert!((degrees(&season, &format!("2026-{day}T11:00:00Z")) - 20.0).abs() < 1e-9);
        assert!((degrees(&season, &format!("2026-{day}T12:00:00Z")) - 5.0).abs() < 1e-9);
    }
}
