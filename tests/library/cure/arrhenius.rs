//! Activation energies: a textbook's examples, and what a rate gains over 10 K.

use curewright::engine::profile::TimeTable;
use curewright::engine::units::{ActivationEnergy, Celsius, GAS_CONSTANT, ZERO_CELSIUS};

use super::shop::{HOUR, PROMISED, assert_close, energy, held, one_point, seconds_in, table};

/// The activation energy in kJ/mol by which a table goes from one temperature in kelvin to another.
fn energy_between(table: &TimeTable, cool: f64, warm: f64) -> f64 {
    let ln_seconds = |kelvin: f64| table.seconds_at(Celsius::from_kelvin(kelvin)).ln();
    GAS_CONSTANT * (ln_seconds(cool) - ln_seconds(warm)) / (1.0 / cool - 1.0 / warm) / 1000.0
}

/// A table whose times are the inverse of these rate constants, on a scale that milliseconds resolve.
fn inverse_of(constants: &[(f64, f64)]) -> TimeTable {
    let fastest = constants.iter().map(|c| c.1).fold(0.0, f64::max);
    table(constants.iter().map(|&(kelvin, k)| (kelvin - ZERO_CELSIUS, 1e6 * fastest / k)))
}

mod textbook {
    //! OpenStax Chemistry 2e, section 12.5 (read): rate constants at two or more temperatures, and the
    //! activation energies printed as answers, with R = 8.314 J/(mol·K). Those with two digits after
    //! the point are computed from the same data.

    use super::*;

    /// Decomposition of hydrogen iodide, K and L/(mol·s).
    const HYDROGEN_IODIDE: [(f64, f64); 5] =
        [(555.0, 3.52e-7), (575.0, 1.22e-6), (645.0, 8.59e-5), (700.0, 1.16e-3), (781.0, 3.95e-2)];

    /// Hydrolysis of sucrose at 27 and 37 °C, in 1/s.
    const SUCROSE: [(f64, f64); 2] = [(300.15, 2.1e-11), (310.15, 8.5e-11)];

    #[test]
    fn two_rate_constants_give_the_activation_energy_back() {
        for (two, computed, printed, half_of_its_last_digit) in [
            // The text computes this one with 1/T rounded to three digits.
            ([HYDROGEN_IODIDE[0], HYDROGEN_IODIDE[4]], 185.42, 180.0, 6.0),
            ([(650.0, 1.66), (700.0, 7.39)], 112.98, 110.0, 5.0),
            ([(303.15, 1.0), (310.15, 1.47)], 43.02, 43.0, 0.05),
            (SUCROSE, 108.2, 108.0, 0.5),
            // No answer is printed to this one.
            ([(293.0, 0.054), (298.0, 0.100)], 89.46, 89.46, 0.05),
        ] {
            let (table, cool, warm) = (inverse_of(&two), two[0].0, two[1].0);
            // Anywhere along the line, not only at its own points.
            for (from, to) in
                [(cool, warm), (cool - 30.0, cool), (cool + 1.0, warm - 2.0), (warm, warm + 20.0)]
            {
                let found = energy_between(&table, from, to);
                assert_close(found, computed, 4e-4);
                assert!((found - printed).abs() <= half_of_its_last_digit, "{found} for {printed}");
            }
        }
    }

    #[test]
    fn a_third_temperature_follows_from_two() {
        // k at 47 °C is printed as 3.2e-10 1/s.
        let table = inverse_of(&SUCROSE);
        let faster = table.seconds_at(Celsius::new(37.0)) / table.seconds_at(Celsius::new(47.0));
        let constant = SUCROSE[1].1 * faster;
        assert!((3.1e-10..=3.25e-10).contains(&constant), "{constant:e}");
    }

    #[test]
    fn five_rate_constants_stay_what_they_are_and_their_line_bends_but_little() {
        let table = inverse_of(&HYDROGEN_IODIDE);
        for pair in HYDROGEN_IODIDE.windows(2) {
            let seconds = |kelvin: f64| table.seconds_at(Celsius::from_kelvin(kelvin));
            assert_close(seconds(pair[0].0) / seconds(pair[1].0), pair[1].1 / pair[0].1, PROMISED);
            let between = energy_between(&table, pair[0].0 + 1.0, pair[1].0 - 1.0);
            assert!((160.0..=200.0).contains(&between), "{between}");
        }
    }

    #[test]
    fn doubling_every_10_degrees_is_a_table_of_doubled_times() {
        // Printed: 4 times faster at 45 than at 25 °C, 128 times at 95 °C. Computed: what takes 48 min
        // takes 12 min when 20 °C hotter.
        let doubling = table((0..8).map(|tens: u8| {
            let warmer = f64::from(tens);
            (25.0 + 10.0 * warmer, 128.0 * 48.0 * 60.0 / warmer.exp2())
        }));
        let seconds = |celsius: f64| seconds_in(&held(celsius), &doubling);
        assert_close(seconds(25.0) / seconds(45.0), 4.0, PROMISED);
        assert_close(seconds(25.0) / seconds(95.0), 128.0, PROMISED);
        assert_close(seconds(95.0), 48.0 * 60.0, PROMISED);
        assert_close(seconds(65.0) / seconds(85.0), 48.0 / 12.0, PROMISED);
    }
}

mod ten_kelvin {
    //! The gain of a rate over 10 K and the activation energy behind it,
    //! Q10 = exp(E/R · 10/(T₁T₂)), R = 8.314462618 J/(mol·K). Computed by that formula.

    use super::*;

    /// How much faster an hour's work goes in the warmer of two shops.
    fn gain(energy: ActivationEnergy, cool: f64, warm: f64) -> f64 {
        let table = one_point(20.0, 3600, energy);
        seconds_in(&held(cool), &table) / seconds_in(&held(warm), &table)
    }

    #[test]
    fn from_20_to_30_degrees_an_activation_energy_is_a_factor() {
        for (factor, kilojoules) in [(1.5, 29.960), (2.0, 51.216), (2.5, 67.704), (3.0, 81.176)] {
            assert_close(gain(energy(kilojoules), 20.0, 30.0), factor, 1e-5);
        }
        for (kilojoules, factor) in [(50.0, 1.9674), (60.0, 2.2525), (70.7, 2.6034)] {
            assert_close(gain(energy(kilojoules), 20.0, 30.0), factor, 3e-5);
        }
    }

    #[test]
    fn in_the_cold_the_same_activation_energy_counts_for_more() {
        for (kilojoules, factor) in [(50.0, 2.0637), (60.0, 2.3854)] {
            assert_close(gain(energy(kilojoules), 10.0, 20.0), factor, 3e-5);
        }
    }

    #[test]
    fn a_table_of_two_points_finds_the_activation_energy_of_its_factor() {
        for (factor, kilojoules) in [(1.5, 29.960), (2.0, 51.216), (2.5, 67.704), (3.0, 81.176)] {
            let table = table([(20.0, 3000.0 * HOUR), (30.0, 3000.0 * HOUR / factor)]);
            assert_close(energy_between(&table, 288.15, 298.15), kilojoules, 2e-5);
        }
    }

    /// Common practice, no source: a rate doubles with every 10 °C.
    #[test]
    fn the_rule_of_thumb_doubles_from_20_to_30_degrees_and_nearly_so_around() {
        let rule = ActivationEnergy::RULE_OF_THUMB;
        assert_close(gain(rule, 20.0, 30.0), 2.0, 5e-4);
        for cool in [5.0, 10.0, 15.0, 20.0, 25.0, 30.0] {
            assert_close(gain(rule, cool, cool + 10.0), 2.0, 0.11);
        }
        assert_close(gain(rule, 25.0, 45.0), 4.0, 0.1);
    }
}
