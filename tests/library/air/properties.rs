//! What holds for every shop, every surface and every record.

use chrono::TimeDelta;
use curewright::engine::air::{Moisture, Shop, ShopModel, SurfaceLine, dew_point, humidity_at, surface_at};
use curewright::engine::air::{VapourPressure, vapour_pressure};
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Humidity, KelvinDelta, Moment};
use proptest::prelude::*;

use super::lines::{Line, after, hours, line, value};

fn shops() -> impl Strategy<Value = Shop> {
    (0.02_f64..200.0, -5.0_f64..10.0).prop_map(|(tau, gain)| Shop::new(hours(tau), KelvinDelta::new(gain)))
}

/// Steps of five minutes to twelve hours, −20…40 °C.
fn outsides() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((1_u32..144, -20.0_f64..40.0), 2..30).prop_map(|steps| {
        let mut hour = 0.0;
        steps
            .into_iter()
            .map(|(fives, celsius)| {
                hour += f64::from(fives) / 12.0;
                (hour, celsius)
            })
            .collect()
    })
}

/// Anything that a caller might hand over, in any order.
fn rubbish() -> impl Strategy<Value = Line> {
    let celsius = prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(f64::MAX),
        Just(0.0),
        -60.0_f64..60.0,
    ];
    let moment = prop_oneof![
        Just(Moment::MIN_UTC),
        Just(Moment::MAX_UTC),
        (-500_000_i64..500_000).prop_map(|s| Moment::UNIX_EPOCH + TimeDelta::seconds(s)),
    ];
    prop::collection::vec((moment, celsius.prop_map(Celsius::new)), 0..80)
}

fn readings(air: &Line, humidity: f64) -> Vec<Reading> {
    air.iter()
        .map(|&(at, air)| Reading {
            at,
            air,
            humidity: Some(Humidity::from_fraction(humidity)),
            surface: (air.degrees() > 20.0).then_some(air),
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn warmer_outside_never_makes_a_colder_shop(
        shop in shops(), outside in outsides(), warmer in 0_usize..30, by in 0.0_f64..20.0, start in -10.0_f64..30.0,
    ) {
        let mut raised = outside.clone();
        let warmer = warmer % raised.len();
        raised[warmer].1 += by;
        let end = outside.last().map_or(0.0, |last| last.0);
        let cold = shop.predict(after(0.0), Celsius::new(start), &line(outside));
        let warm = shop.predict(after(0.0), Celsius::new(start), &line(raised));
        for step in 0..=50 {
            let hour = end * f64::from(step) / 50.0;
            // The points of the two need not be the same: each line is within 0.02 K of its curve.
            prop_assert!(value(&warm, hour) >= value(&cold, hour) - 0.04, "after {hour} h");
        }
        prop_assert!(warm.last().unwrap().1.degrees() >= cold.last().unwrap().1.degrees() - 1e-9);
    }

    #[test]
    fn a_split_segment_changes_nothing(
        shop in shops(), outside in outsides(), at in 0.0_f64..1.0, start in -10.0_f64..30.0,
    ) {
        let whole = line(outside.clone());
        let index = ((outside.len() - 1) as f64 * at) as usize;
        let (a, b) = (outside[index], outside[index + 1]);
        // A moment has whole nanoseconds: the point is put on the line where the moment really is.
        let middle = after(a.0 + (b.0 - a.0) * 0.37);
        let share = (middle - after(a.0)).as_seconds_f64() / (after(b.0) - after(a.0)).as_seconds_f64();
        let mut split = whole.clone();
        split.insert(index + 1, (middle, Celsius::new(a.1 + (b.1 - a.1) * share)));
        let start = Celsius::new(start);
        let plain = shop.predict(after(0.0), start, &whole);
        let cut = shop.predict(after(0.0), start, &split);
        for (at, celsius) in whole {
            let find = |line: &Line| line.iter().find(|point| point.0 == at).map(|point| point.1.degrees());
            let (plain, cut) = (find(&plain).unwrap(), find(&cut).unwrap());
            prop_assert!((plain - cut).abs() < 1e-9, "{plain} and {cut} where it is {celsius:?} outside");
        }
        let air = readings(&line(outside), 0.5);
        let mut finer = air.clone();
        finer.insert(index + 1, Reading {
            at: middle, air: Celsius::new(a.1 + (b.1 - a.1) * share), humidity: None, surface: None,
        });
        for probe in [after(b.0), middle, after(200.0)] {
            let plain = surface_at(&air, shop.tau(), probe).unwrap().degrees();
            let cut = surface_at(&finer, shop.tau(), probe).unwrap().degrees();
            prop_assert!((plain - cut).abs() < 1e-9);
        }
    }

    #[test]
    fn straight_lines_between_the_points_are_within_two_hundredths(
        shop in shops(), outside in outsides(), start in -10.0_f64..30.0,
    ) {
        let line = line(outside);
        let drawn = shop.predict(after(0.0), Celsius::new(start), &line);
        for pair in drawn.windows(2) {
            let middle = pair[0].0 + (pair[1].0 - pair[0].0) / 2;
            let outside_then: Line = [line.as_slice(), &[]].concat();
            let mut cut = outside_then;
            let index = cut.partition_point(|point| point.0 < middle);
            // One more corner on the line, so that the middle is among the exact points.
            let celsius = on(&line, middle);
            cut.insert(index, (middle, celsius));
            let exact = shop.predict(pair[0].0, pair[0].1, &cut);
            let exact = exact.iter().find(|point| point.0 == middle).unwrap().1.degrees();
            let chord = (pair[0].1.degrees() + pair[1].1.degrees()) / 2.0;
            prop_assert!((exact - chord).abs() <= 0.0201, "{exact} against {chord}");
        }
    }

    #[test]
    fn a_shop_stays_between_its_start_and_the_outside(
        tau in 0.02_f64..200.0, outside in outsides(), start in -10.0_f64..30.0,
    ) {
        let all = outside.iter().map(|point| point.1).chain([start]);
        let (low, high) = all.fold((f64::MAX, f64::MIN), |(l, h), celsius| (l.min(celsius), h.max(celsius)));
        let shop = Shop::new(hours(tau), KelvinDelta::new(0.0));
        for (_, celsius) in shop.predict(after(0.0), Celsius::new(start), &line(outside)) {
            prop_assert!((low - 1e-9..=high + 1e-9).contains(&celsius.degrees()));
        }
    }

    #[test]
    fn rubbish_is_borne(inside in rubbish(), outside in rubbish(), at in 0_usize..80, sorted: bool) {
        let (mut inside, mut outside) = (inside, outside);
        if sorted {
            inside.sort_by_key(|point| point.0);
            outside.sort_by_key(|point| point.0);
        }
        let from = inside.get(at).copied().unwrap_or((after(0.0), Celsius::new(f64::NAN)));
        if let Ok(model) = ShopModel::fit(&inside, &outside) {
            model.predict(from.0, from.1, &outside);
        }
        Shop::new(TimeDelta::MAX, KelvinDelta::new(f64::NAN)).predict(from.0, from.1, &outside);
        Shop::new(TimeDelta::MIN, KelvinDelta::new(1.0)).predict(from.0, Celsius::new(3.0), &outside);
        let (in_air, out_air) = (readings(&inside, 0.7), readings(&outside, f64::NAN));
        for moisture in [Moisture::fit(&in_air, &out_air).ok(), Some(Moisture::held())].into_iter().flatten() {
            moisture.predict(from.0, vapour_pressure(from.1, Humidity::from_fraction(0.5)), &out_air, &inside);
        }
        for lag in [TimeDelta::zero(), TimeDelta::MIN, TimeDelta::MAX, TimeDelta::hours(1)] {
            surface_at(&in_air, lag, from.0);
            SurfaceLine::new(&in_air, lag).at(from.0);
        }
        dew_point(from.1, Humidity::from_fraction(0.5));
        humidity_at(VapourPressure::from_hectopascals(f64::NAN), from.1);
    }

    #[test]
    fn more_humidity_is_a_higher_dew_point(air in -30.0_f64..45.0, dry in 0.01_f64..1.0, wet in 0.01_f64..1.0) {
        let (dry, wet) = (dry.min(wet), dry.max(wet));
        let dew = |humidity| dew_point(Celsius::new(air), Humidity::from_fraction(humidity)).unwrap().at;
        prop_assert!(dew(dry) <= dew(wet));
        let held = vapour_pressure(Celsius::new(air), Humidity::from_fraction(dry));
        prop_assert!(humidity_at(held, Celsius::new(air + 5.0)).fraction() < dry);
    }
}

/// On a line, held outside of it.
fn on(line: &Line, at: Moment) -> Celsius {
    let after = line.partition_point(|point| point.0 <= at);
    match (after.checked_sub(1).map(|i| line[i]), line.get(after)) {
        (Some(a), Some(b)) => {
            let share = (at - a.0).as_seconds_f64() / (b.0 - a.0).as_seconds_f64();
            Celsius::new(a.1.degrees() + (b.1.degrees() - a.1.degrees()) * share)
        }
        (Some(a), None) => a.1,
        (None, Some(b)) => b.1,
        (None, None) => Celsius::new(0.0),
    }
}
