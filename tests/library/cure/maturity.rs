//! The progress of a table of one point is an equivalent age: that of concrete standards, and of closed
//! forms of the Arrhenius integral.

use curewright::engine::cure::{History, Reading};
use curewright::engine::profile::TimeTable;
use curewright::engine::units::{ActivationEnergy, GAS_CONSTANT, ZERO_CELSIUS};

use super::shop::{
    HOUR, PROMISED, assert_close, energy, held, history, one_point, progress, reading, seconds_in, shop,
    table,
};

/// The concrete standards write K = °C + 273. A shop this much cooler has their kelvin in ours.
const ROUNDED_ZERO: f64 = 273.0 - ZERO_CELSIUS;

/// E/R in kelvin as an activation energy.
fn over_gas_constant(kelvin: f64) -> ActivationEnergy {
    energy(kelvin * GAS_CONSTANT / 1000.0)
}

/// One hour at this temperature.
fn hour_at(celsius: f64, energy: ActivationEnergy) -> TimeTable {
    one_point(celsius, 3600, energy)
}

/// A shop that keeps each temperature for a number of hours, with edges of a microsecond.
fn steps(levels: &[(f64, f64)]) -> History {
    let mut readings: Vec<Reading> = Vec::new();
    let mut begin = 0.0;
    for &(hours, celsius) in levels {
        let end = begin + hours * HOUR;
        readings.extend([reading(begin + 1e-6, celsius, None), reading(end, celsius, None)]);
        begin = end;
    }
    history(readings)
}

/// Asserts that a number rounds to the printed one.
#[track_caller]
fn assert_printed(found: f64, printed: f64, half_a_digit: f64) {
    assert!((found - printed).abs() <= half_a_digit * 1.001, "{found} does not print as {printed}");
}

mod eurocode {
    //! EN 1992-1-1:2004, Annex B, (B.10), from memory; the same in the CEB-FIP Model Code 1990, 2.1-87, from
    //! memory, and, read, in the Model Code functions of fib's own program (GitHub,
    //! fib-international/structuralcodes): t_T = Σ exp(13.65 − 4000/(273 + T)) Δt.

    use super::*;

    fn factor(celsius: f64) -> f64 {
        (13.65 - 4000.0 / (273.0 + celsius)).exp()
    }

    /// The factors computed by that formula.
    const FACTORS: [(f64, f64); 9] = [
        (0.0, 0.3671),
        (5.0, 0.4778),
        (10.0, 0.6161),
        (15.0, 0.7875),
        (20.0, 0.9981),
        (25.0, 1.2551),
        (30.0, 1.5662),
        (35.0, 1.9406),
        (40.0, 2.3880),
    ];

    #[test]
    fn an_hour_at_20_degrees_ages_as_the_temperature_adjusted_age_of_concrete() {
        let table = hour_at(20.0, over_gas_constant(4000.0));
        for (celsius, printed) in FACTORS {
            assert_printed(factor(celsius), printed, 5e-5);
            // 0.19 % of this is their rounded 13.65, the rest their rounded 273.
            assert_close(progress(&table, &held(celsius), HOUR), factor(celsius), 0.003);
        }
    }

    #[test]
    fn with_their_own_zero_and_constant_it_is_the_same_number() {
        let table = hour_at(20.0 + ROUNDED_ZERO, over_gas_constant(4000.0));
        for (celsius, _) in FACTORS {
            let age = progress(&table, &held(celsius + ROUNDED_ZERO), HOUR);
            assert_close(age * factor(20.0), factor(celsius), PROMISED);
        }
    }

    /// Source: the test of `t_T` in fib-international/structuralcodes (read),
    /// `tests/test_mc2010/test_mc2010_creep_and_shrinkage.py`.
    #[test]
    fn a_week_at_20_and_a_week_at_25_degrees_age_by_15_7723_days() {
        let week = 7.0 * 24.0;
        let table = one_point(20.0 + ROUNDED_ZERO, 86_400, over_gas_constant(4000.0));
        let shop = steps(&[(week, 20.0 + ROUNDED_ZERO), (week, 25.0 + ROUNDED_ZERO)]);
        let days = progress(&table, &shop, 2.0 * week * HOUR) * factor(20.0);
        assert_close(days, 15.7723, 1e-5);
    }
}

mod astm {
    //! The equivalent age of ASTM C1074, t_e = Σ exp(−Q (1/T_a − 1/T_s)) Δt with Q = 5000 K and
    //! K = °C + 273: from memory. The numbers are computed by that formula.

    use super::*;

    const Q: f64 = 5000.0;

    /// (°C, factor for T_s = 20 °C, factor for T_s = 23 °C).
    const FACTORS: [(f64, f64, f64); 10] = [
        (0.0, 0.2865, 0.2410),
        (5.0, 0.3982, 0.3350),
        (10.0, 0.5472, 0.4603),
        (15.0, 0.7436, 0.6255),
        (20.0, 1.0, 0.8412),
        (23.0, 1.1888, 1.0),
        (25.0, 1.3315, 1.1200),
        (30.0, 1.7563, 1.4773),
        (35.0, 2.2958, 1.9312),
        (40.0, 2.9755, 2.5029),
    ];

    const THREE_LEVELS: [(f64, f64); 3] = [(12.0, 10.0), (6.0, 20.0), (6.0, 30.0)];

    #[test]
    fn an_hour_in_a_constant_shop_is_the_age_factor() {
        let at_20 = hour_at(20.0 + ROUNDED_ZERO, over_gas_constant(Q));
        let at_23 = hour_at(23.0 + ROUNDED_ZERO, over_gas_constant(Q));
        for (celsius, from_20, from_23) in FACTORS {
            let shop = held(celsius + ROUNDED_ZERO);
            assert_printed(progress(&at_20, &shop, HOUR), from_20, 5e-5);
            assert_printed(progress(&at_23, &shop, HOUR), from_23, 5e-5);
        }
    }

    #[test]
    fn a_stepped_day_has_the_sum_of_its_steps() {
        let table = hour_at(20.0, over_gas_constant(Q));
        let age = progress(&table, &steps(&THREE_LEVELS), 24.0 * HOUR);
        assert_close(age, 23.101840, 1e-7);
        let factor = |celsius: f64| (Q / 293.15 - Q / (celsius + ZERO_CELSIUS)).exp();
        let sum: f64 = THREE_LEVELS.iter().map(|&(hours, celsius)| hours * factor(celsius)).sum();
        assert_close(age, sum, PROMISED);
    }

    #[test]
    fn the_same_day_by_their_zero_of_273() {
        let table = hour_at(20.0 + ROUNDED_ZERO, over_gas_constant(Q));
        let levels = THREE_LEVELS.map(|(hours, celsius)| (hours, celsius + ROUNDED_ZERO));
        assert_close(progress(&table, &steps(&levels), 24.0 * HOUR), 23.103687, 1e-7);
    }
}

mod danish {
    //! The maturity function of TI-B 103 (Danish Technological Institute, 1996), read: an activation energy
    //! that grows in the cold, B for 20 °C and more, B + C (20 − θ) below, for K = θ + 273. B = 33.5 kJ/mol
    //! and C = 1.47 kJ/(mol·K) are typical values from memory; the numbers are computed.

    use super::*;

    fn rate(celsius: f64) -> f64 {
        let energy = 33_500.0 + 1470.0 * (20.0 - celsius).max(0.0);
        (energy / GAS_CONSTANT * (1.0 / 293.0 - 1.0 / (celsius + 273.0))).exp()
    }

    /// A table at the temperatures of that method's test specimens.
    fn specimens() -> TimeTable {
        let day = 24.0 * HOUR;
        table([5.0, 10.0, 15.0, 20.0, 30.0, 40.0].map(|at| (at + ROUNDED_ZERO, day / rate(at))))
    }

    #[test]
    fn a_table_follows_an_activation_energy_that_grows_in_the_cold() {
        let table = specimens();
        let age = |celsius: f64| progress(&table, &held(celsius + ROUNDED_ZERO), 24.0 * HOUR);
        for (celsius, computed) in [
            (5.0, 0.2922),
            (10.0, 0.4970),
            (15.0, 0.7474),
            (20.0, 1.0),
            (23.0, 1.1496),
            (25.0, 1.2595),
            (30.0, 1.5744),
            (35.0, 1.9537),
            (40.0, 2.4078),
        ] {
            // The computed ones are with R = 8.314.
            assert_printed(age(celsius), computed, 1.1e-4);
        }
        for between in [6.0, 7.5, 9.0, 11.0, 12.5, 14.0, 16.0, 17.5, 19.0] {
            assert_close(age(between), rate(between), 0.02);
        }
    }

    #[test]
    fn one_activation_energy_does_not_follow_it() {
        let one = one_point(20.0 + ROUNDED_ZERO, 86_400, energy(33.5));
        let age = progress(&one, &held(5.0 + ROUNDED_ZERO), 24.0 * HOUR);
        assert!(age > 1.6 * rate(5.0), "{age} is {} too fast", rate(5.0));
    }
}

mod closed_forms {
    use super::*;

    /// The exponential integral E1 for z of 0.03 and more: the continued fraction of Abramowitz and Stegun,
    /// 5.1.22, in the form 1/(z + 1 − 1/(z + 3 − 4/(z + 5 − …))), from its far end.
    fn exponential_integral(z: f64) -> f64 {
        let tail = (1..5000).rev().fold(0.0, |tail, n| {
            let n = f64::from(n);
            n * n / (z + 2.0 * n + 1.0 - tail)
        });
        (-z).exp() / (z + 1.0 - tail)
    }

    #[test]
    fn the_exponential_integral_is_the_tabulated_one() {
        // Abramowitz and Stegun, table 5.1, from memory; the same by SciPy's exp1.
        assert_close(exponential_integral(0.1), 1.822_923_958_419_39, 1e-12);
        assert_close(exponential_integral(1.0), 0.219_383_934_395_520_3, 1e-12);
        assert_close(exponential_integral(10.0), 4.156_968_929_685_324e-6, 1e-12);
    }

    /// The equivalent hours of a straight ramp:
    /// ∫ exp(−E/RT) dT = T exp(−E/RT) − (E/R) E1(E/RT), between its ends, over its slope.
    fn ramp_age(hours: f64, from: f64, to: f64, energy: ActivationEnergy, reference: f64) -> f64 {
        let e = energy.over_gas_constant();
        let primitive = |celsius: f64| {
            let kelvin = celsius + ZERO_CELSIUS;
            kelvin * (-e / kelvin).exp() - e * exponential_integral(e / kelvin)
        };
        let scale = (e / (reference + ZERO_CELSIUS)).exp();
        scale * (primitive(to) - primitive(from)) * hours / (to - from)
    }

    /// Computed with SciPy's exp1; by quadrature it is the same to 1e-13.
    #[test]
    fn a_ramp_from_5_to_35_degrees_has_the_closed_form_of_the_exponential_integral() {
        let shop = shop([(0.0, 5.0), (10.0 * HOUR, 35.0)]);
        let age = progress(&hour_at(20.0, energy(60.0)), &shop, 10.0 * HOUR);
        assert_close(age, 12.550_661_637_337_2, PROMISED);
        assert_close(ramp_age(10.0, 5.0, 35.0, energy(60.0), 20.0), 12.550_661_637_337_2, 1e-11);
    }

    #[test]
    fn so_has_every_other_ramp_up_or_down() {
        for kilojoules in [0.1, 0.25, 1.0, 5.0, 20.0, 51.2, 80.0, 120.0] {
            for (hours, from, to) in
                [(0.01, 19.0, 24.0), (3.0, 30.0, -5.0), (50.0, -10.0, 45.0), (700.0, 12.0, 13.0)]
            {
                let shop = shop([(0.0, from), (hours * HOUR, to)]);
                let age = progress(&hour_at(20.0, energy(kilojoules)), &shop, hours * HOUR);
                assert_close(age, ramp_age(hours, from, to, energy(kilojoules), 20.0), PROMISED);
            }
        }
    }

    /// T = 15 + 8 sin(2πt/24), read every ten seconds: the straight lines between are then within 1e-8.
    fn day_and_night() -> History {
        shop((0..=8640).map(|step| {
            let seconds = f64::from(step) * 10.0;
            (seconds, 15.0 + 8.0 * (seconds / (24.0 * HOUR) * std::f64::consts::TAU).sin())
        }))
    }

    /// Computed with SciPy's quad over the sine itself.
    #[test]
    fn a_day_that_swings_by_8_kelvin_has_the_integral_of_the_sine() {
        for (kilojoules, hours) in [(50.0, 18.102_870_176_356_2), (60.0, 17.431_089_728_511_5)] {
            let table = hour_at(20.0, energy(kilojoules));
            assert_close(progress(&table, &day_and_night(), 24.0 * HOUR), hours, 1e-7);
        }
    }

    #[test]
    fn the_mean_temperature_of_that_day_counts_7_to_10_per_cent_too_little() {
        for (kilojoules, of_the_mean, short) in [(50.0, 16.81207, 7.1), (60.0, 15.65681, 10.2)] {
            let table = hour_at(20.0, energy(kilojoules));
            let swing = progress(&table, &day_and_night(), 24.0 * HOUR);
            let mean = progress(&table, &held(15.0), 24.0 * HOUR);
            assert_close(mean, of_the_mean, 1e-6);
            assert_printed((1.0 - mean / swing) * 100.0, short, 0.05);
        }
    }

    #[test]
    fn a_coat_in_that_shop_is_ready_when_the_integral_says_and_not_when_the_mean_does() {
        let table = one_point(20.0, (17.431_089_728_511_5 * HOUR) as i64, energy(60.0));
        let ready = seconds_in(&day_and_night(), &table) / HOUR;
        assert!((ready - 24.0).abs() < 0.001, "{ready} h");
        let by_the_mean = seconds_in(&held(15.0), &table) / HOUR;
        assert!(by_the_mean > 26.5, "{by_the_mean} h");
    }
}
