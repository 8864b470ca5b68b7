//! What holds for every batch.

use chrono::TimeDelta;
use curewright::engine::cure::AirLine;
use curewright::engine::pot::{Kinetics, Portion, Vessel, Warmth};
use curewright::engine::units::{Celsius, Grams, KelvinDelta, Millimetres};
use proptest::prelude::*;

use super::{energy, kinetics, pot_life};

fn product() -> impl Strategy<Value = Kinetics> {
    (600.0..30_000.0f64, 1.3..3.5f64, 1.3..3.5f64, 0.0..90.0f64).prop_map(|(life, cool, warm, warming)| {
        kinetics(&[(10.0, life * cool), (20.0, life), (30.0, life / warm)], 51.2, warming)
    })
}

fn vessel() -> impl Strategy<Value = Vessel> {
    prop_oneof![
        Just(Vessel::Cup),
        (1.0..60.0f64).prop_map(|mm| Vessel::Tray { depth_mm: Millimetres::new(mm) })
    ]
}

fn portion() -> impl Strategy<Value = Portion> {
    (10.0..5000.0f64, vessel(), proptest::option::of(0.0..40.0f64)).prop_map(|(grams, vessel, start)| {
        Portion { mass: Grams::new(grams), vessel, temperature: start.map(Celsius::new) }
    })
}

fn air() -> impl Strategy<Value = Vec<f64>> {
    proptest::collection::vec(0.0..35.0f64, 1..12)
}

fn line(air: &[f64], raised: f64) -> AirLine {
    let point = |(index, degrees): (usize, &f64)| {
        (TimeDelta::minutes(40 * index as i64), Celsius::new(degrees + raised))
    };
    AirLine::through(air.iter().enumerate().map(point)).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn warmer_is_never_later(product in product(), portion in portion(), air in air(), by in 0.1..6.0f64) {
        let cool = product.self_heating(&portion, &line(&air, 0.0)).unwrap();
        let warm = product.self_heating(&portion, &line(&air, by)).unwrap();
        prop_assert!(warm.usable <= cool.usable + TimeDelta::milliseconds(1));
    }

    #[test]
    fn more_in_the_cup_is_never_usable_longer_in_steady_air(product in product(), grams in 20.0..2000.0f64, more in 1.0..5.0f64, at in 0.0..35.0f64) {
        let self_heating = |grams| product.self_heating(&super::cup(grams), &super::steady(at)).unwrap();
        let (little, much) = (self_heating(grams), self_heating(grams * more));
        prop_assert!(much.usable <= little.usable + TimeDelta::milliseconds(1));
        prop_assert!(much.peak >= Celsius::new(little.peak.degrees() - 1e-4));
    }

    #[test]
    fn it_never_gets_warmer_than_its_start_or_its_air_and_all_its_own_heat(product in product(), portion in portion(), air in air()) {
        let self_heating = product.self_heating(&portion, &line(&air, 0.0)).unwrap();
        let start = portion.temperature.map_or(air[0], Celsius::degrees);
        let most = air.iter().copied().fold(start, f64::max);
        prop_assert!(self_heating.peak.degrees() <= most + product.warming().kelvin() + 1e-6);
        prop_assert!(self_heating.left.degrees() <= most + 4.0 * product.warming().kelvin() + 1e-3);
        prop_assert!(self_heating.at_end <= self_heating.peak && self_heating.peak <= self_heating.left);
    }

    #[test]
    fn what_is_advised_is_safe_and_a_little_more_is_not(product in product(), portion in portion(), air in air()) {
        let line = line(&air, 0.0);
        let (least, _) = product.trusted_masses();
        prop_assert_eq!(least, Grams::new(0.0));
        let safer = product.safer(&portion, &line, TimeDelta::zero());
        let hot = |portion: Portion| product.self_heating(&portion, &line).unwrap().peak >= curewright::engine::pot::HOT;
        if let Some(depth) = safer.tray {
            let vessel = Vessel::Tray { depth_mm: depth };
            prop_assert!(!hot(Portion { vessel, ..portion }), "too deep");
        }
        if let Some(cooler) = safer.cooler {
            prop_assert!(!hot(Portion { temperature: Some(cooler), ..portion }), "too warm");
        }
    }

    #[test]
    fn a_calibrated_table_comes_out_again(
        grams in 50.0..2000.0f64,
        life in 600.0..30_000.0f64,
        cool in 1.2..3.0f64,
        warm in 1.2..3.0f64,
        warming in 0.0..90.0f64,
    ) {
        let table = [(10.0, life * cool), (20.0, life), (30.0, life / warm)];
        let lives = [pot_life(grams, &table, 51.2)];
        let kinetics = Kinetics::calibrate(&lives, energy(51.2), KelvinDelta::new(warming)).unwrap();
        prop_assume!(kinetics.warmth() != Warmth::None);
        for (at, seconds) in table {
            let found = super::minutes(&kinetics, &super::cup(grams), at) * 60.0;
            // A pot life is kept to the millisecond.
            prop_assert!((found - seconds).abs() < 1e-6 * seconds + 6e-4, "{found} s for {seconds} s");
        }
    }
}
