use super::*;

use crate::engine::air::vapour_pressure;

fn hours(count: i32, air: f64, off: f64, damp: Option<(f64, f64, f64)>) -> ScenarioSource {
    let hour = |hour: i32| ExpectedHour {
        reading: Reading {
            at: Moment::UNIX_EPOCH + TimeDelta::hours(1) * hour,
            air: Celsius::new(air),
            humidity: None,
            surface: None,
        },
        off: KelvinDelta::new(off),
        damp: damp.map(|(vapour, off, together)| ExpectedDamp {
            vapour: VapourPressure::from_hectopascals(vapour),
            off: VapourPressure::from_hectopascals(off),
            together,
        }),
    };
    ScenarioSource {
        hours: (0..count).map(hour).collect(),
        lags: vec![TimeDelta::hours(1)],
        errors: Outlook::held(KelvinDelta::new(1.0)),
    }
}

type Hours = Vec<(f64, Option<f64>)>;

/// Temperature and vapour of every hour of a draw.
fn drawn(place: &ScenarioSource, chance: &mut Chance) -> Hours {
    let history = place.draw(chance).history;
    let each = place.hours.iter().map(|hour| {
        let air = history.air_at(hour.reading.at).unwrap();
        let humidity = history.humidity_at(hour.reading.at);
        (air.degrees(), humidity.map(|humidity| vapour_pressure(air, humidity).hectopascals()))
    });
    each.collect()
}

#[test]
fn the_spread_of_many_draws_is_that_of_the_record_and_a_tenth_of_its_variance_lasts() {
    let place = hours(200, 20.0, 2.0, Some((12.0, 1.0, 0.5)));
    let mut chance = Chance::of(7);
    let all: Vec<_> = (0..2000).map(|_| drawn(&place, &mut chance)).collect();
    let mean = |of: &dyn Fn(&Hours) -> f64| all.iter().map(of).sum::<f64>() / all.len() as f64;
    let air = |draw: &Hours, hour: usize| draw[hour].0 - 20.0;
    let damp = |draw: &Hours| draw[100].1.unwrap() - 12.0;
    let (first, later) =
        (mean(&|draw| air(draw, 100).powi(2)), mean(&|draw| air(draw, 100) * air(draw, 136)));
    assert!((first.sqrt() - 2.0).abs() < 0.1, "{first}");
    // 36 h later the fast part has decayed to 1/e.
    let left = LASTING + (1.0 - LASTING) * (-1.0_f64).exp();
    assert!((later / first - left).abs() < 0.06, "{}", later / first);
    let far = mean(&|draw| air(draw, 10) * air(draw, 190)) / first;
    assert!((far - LASTING).abs() < 0.06, "{far}");
    let (own, both) = (mean(&|draw| damp(draw).powi(2)), mean(&|draw| damp(draw) * air(draw, 100)));
    assert!((own.sqrt() - 1.0).abs() < 0.05, "{own}");
    assert!((both / (own * first).sqrt() - 0.5).abs() < 0.06, "{both}");
    assert!(mean(&|draw| air(draw, 100)).abs() < 0.15 && mean(&damp).abs() < 0.08);
}

#[test]
fn the_humidity_stays_between_zero_and_saturation() {
    let place = hours(300, 5.0, 4.0, Some((6.0, 9.0, -0.9)));
    let history = place.draw(&mut Chance::of(3)).history;
    let humidity = |hour: &ExpectedHour| history.humidity_at(hour.reading.at).unwrap().fraction();
    assert!(place.hours.iter().map(humidity).all(|damp| (0.0..=1.0).contains(&damp)));
    assert!(place.hours.iter().map(humidity).any(|damp| damp == 1.0));
    assert!(place.hours.iter().map(humidity).any(|damp| damp == 0.0));
}

#[test]
fn cooler_air_of_the_same_vapour_is_more_humid_and_an_unknown_humidity_stays_unknown() {
    let held = hours(50, 15.0, 3.0, Some((9.0, 0.0, 0.0)));
    for (_, vapour) in drawn(&held, &mut Chance::of(5)) {
        assert!(vapour.is_some_and(|vapour| vapour < 9.0 + 1e-9));
    }
    assert!(drawn(&hours(50, 15.0, 3.0, None), &mut Chance::of(5)).iter().all(|hour| hour.1.is_none()));
}

#[test]
fn the_same_seed_draws_the_same_air() {
    let place = hours(50, 15.0, 3.0, Some((9.0, 1.0, 0.3)));
    assert_eq!(drawn(&place, &mut Chance::of(5)), drawn(&place, &mut Chance::of(5)));
    assert_ne!(drawn(&place, &mut Chance::of(5)), drawn(&place, &mut Chance::of(6)));
}

#[test]
fn a_place_without_hours_draws_nothing() {
    assert_eq!(hours(0, 15.0, 3.0, None).draw(&mut Chance::of(5)).history.last_reading(), None);
}
