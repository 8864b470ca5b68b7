//! Pot lives and recoat windows of the Unified Facilities Guide Specifications.
//!
//! Source, read: UFGS-09971, a work of the United States government; section 3.7.1.3 (pot life) and the
//! table of recoat windows, polyurethane over polyurethane.

use curewright::engine::cure::{CoatFacts, Phase, Standing};
use curewright::engine::profile::{Origin, Point, Product, Stage, TimeTable, read_profile};
use curewright::engine::units::{Celsius, GAS_CONSTANT};

use super::shop::{
    HOUR, PROMISED, after, assert_close, energy, held, one_point, seconds_between, seconds_in, shop, table,
};

fn fahrenheit(degrees: f64) -> f64 {
    Celsius::from_fahrenheit(degrees).degrees()
}

/// The activation energy in kJ/mol that fits these points best: least squares of ln(time) over 1/T.
fn fitted_energy(points: &[Point]) -> f64 {
    let points: Vec<(f64, f64)> =
        points.iter().map(|p| (1.0 / p.at.kelvin(), (p.time.num_seconds() as f64).ln())).collect();
    let count = points.len() as f64;
    let mean = points.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / count, sum.1 + p.1 / count));
    let rise: f64 = points.iter().map(|p| (p.0 - mean.0) * (p.1 - mean.1)).sum();
    let run: f64 = points.iter().map(|p| (p.0 - mean.0).powi(2)).sum();
    rise / run * GAS_CONSTANT / 1000.0
}

mod pot_life {
    //! At 21 °C: epoxy primer 4 h, polyurethane topcoat 2 h; about half for every 10 °C more, about
    //! double for every 10 °C less.

    use super::*;

    const AT_21_DEGREES: [(&str, f64); 2] = [("epoxy", 4.0), ("polyurethane", 2.0)];

    fn hours(table: &TimeTable, celsius: f64) -> f64 {
        seconds_in(&held(celsius), table) / HOUR
    }

    /// The two points that a user would take from that sentence.
    fn two_points(at_21: f64) -> TimeTable {
        table([(21.0, at_21 * HOUR), (31.0, at_21 / 2.0 * HOUR)])
    }

    #[test]
    fn it_halves_for_10_degrees_more_and_doubles_for_10_degrees_less() {
        for (paint, at_21) in AT_21_DEGREES {
            let table = two_points(at_21);
            assert_close(hours(&table, 21.0), at_21, PROMISED);
            assert_close(hours(&table, 31.0), at_21 / 2.0, PROMISED);
            let (cool, hot) = (hours(&table, 11.0), hours(&table, 41.0));
            assert!((cool / (at_21 * 2.0) - 1.0).abs() < 0.05, "{paint} at 11 °C: {cool} h");
            assert!((hot / (at_21 / 4.0) - 1.0).abs() < 0.05, "{paint} at 41 °C: {hot} h");
        }
    }

    /// Computed: the line through 21 and 31 °C has 51.560 kJ/mol.
    #[test]
    fn in_the_cold_the_line_through_two_points_is_longer_than_the_rule() {
        let epoxy = two_points(4.0);
        assert_close(hours(&epoxy, 11.0), 8.40, 1e-3);
        assert_close(hours(&epoxy, 5.0), 13.45, 1e-3);
        let rule = 4.0 * 1.6_f64.exp2();
        assert!((1.0..1.12).contains(&(hours(&epoxy, 5.0) / rule)), "the rule says {rule} h");
        assert!(epoxy.is_extrapolated(Celsius::new(5.0)), "so it is marked");
    }

    #[test]
    fn a_table_of_the_rule_gives_its_own_points_back_and_falls_between() {
        for (paint, at_21) in AT_21_DEGREES {
            let table = table(
                [(11.0, 2.0), (21.0, 1.0), (31.0, 0.5), (41.0, 0.25)].map(|(c, h)| (c, h * at_21 * HOUR)),
            );
            for (celsius, factor) in [(11.0, 2.0), (21.0, 1.0), (31.0, 0.5), (41.0, 0.25)] {
                assert_close(hours(&table, celsius), factor * at_21, PROMISED);
            }
            for half_degree in 22..82 {
                let celsius = f64::from(half_degree) / 2.0;
                let (now, warmer) = (hours(&table, celsius), hours(&table, celsius + 0.5));
                assert!(warmer < now, "{paint} at {celsius} °C: {now} h, then {warmer} h");
                let rule = at_21 * ((21.0 - celsius) / 10.0).exp2();
                assert_close(now, rule, 0.01);
            }
        }
    }
}

mod recoat_windows {
    //! Polyurethane over polyurethane, six bands of surface temperature, each with the hours from which
    //! and until which the next coat may go on.

    use super::*;

    struct Band {
        /// Its coolest and warmest temperature in °F.
        from: f64,
        to: f64,
        opens: f64,
        closes: f64,
    }

    const fn band(from: f64, to: f64, opens: f64, closes: f64) -> Band {
        Band { from, to, opens, closes }
    }

    const BANDS: [Band; 6] = [
        band(60.0, 70.0, 8.0, 48.0),
        band(71.0, 80.0, 6.0, 48.0),
        band(81.0, 90.0, 4.0, 36.0),
        band(91.0, 100.0, 3.0, 24.0),
        band(101.0, 110.0, 2.0, 12.0),
        band(111.0, 120.0, 1.0, 2.0),
    ];

    impl Band {
        fn middle(&self) -> f64 {
            f64::midpoint(self.from, self.to)
        }
    }

    /// The windows as a data sheet for the program, each at the middle of its band.
    const PROFILE: &str = r#"
schema = 1
id = "guide-polyurethane"
name = "Polyurethane topcoat of a guide specification"
family = "polyurethane"
cure = "reaction"
basis = "UFGS-09971, recoat windows, polyurethane over polyurethane"

[application]
air = ["60 F", "120 F"]

[[recoat]]
next = ["polyurethane"]
open = [
  { at = "65 F", time = "8 h" },
  { at = "75.5 F", time = "6 h" },
  { at = "85.5 F", time = "4 h" },
  { at = "95.5 F", time = "3 h" },
  { at = "105.5 F", time = "2 h" },
  { at = "115.5 F", time = "1 h" },
]
close = [
  { at = "65 F", time = "48 h" },
  { at = "75.5 F", time = "48 h" },
  { at = "85.5 F", time = "36 h" },
  { at = "95.5 F", time = "24 h" },
  { at = "105.5 F", time = "12 h" },
  { at = "115.5 F", time = "2 h" },
]
"#;

    fn product() -> Product {
        read_profile(PROFILE, Origin::BuiltIn).unwrap()
    }

    /// The window of a product over itself.
    fn window(product: &Product) -> (&TimeTable, &TimeTable) {
        let entry = product.recoat_before(product).unwrap();
        (&entry.open, entry.close.as_ref().unwrap())
    }

    #[test]
    fn the_profile_says_what_the_bands_say() {
        let product = product();
        let (open, close) = window(&product);
        assert_eq!(open.points().len(), BANDS.len());
        assert_eq!(close.points().len(), BANDS.len());
        for band in BANDS {
            let shop = held(fahrenheit(band.middle()));
            assert_close(seconds_in(&shop, open), band.opens * HOUR, PROMISED);
            assert_close(seconds_in(&shop, close), band.closes * HOUR, PROMISED);
        }
    }

    #[test]
    fn from_band_to_band_and_in_the_gaps_between_both_ends_only_fall() {
        let product = product();
        let (open, close) = window(&product);
        for pair in BANDS.windows(2) {
            let (cool, warm) = (&pair[0], &pair[1]);
            let mut before = (cool.opens * HOUR, cool.closes * HOUR);
            let steps = ((warm.middle() - cool.middle()) * 10.0) as u32;
            for tenth in 0..=steps {
                let degrees = cool.middle() + f64::from(tenth) / 10.0;
                let temperature = Celsius::from_fahrenheit(degrees);
                let now = (open.seconds_at(temperature), close.seconds_at(temperature));
                let rounding = 1.0 + 1e-9;
                assert!(now.0 <= before.0 * rounding && now.1 <= before.1 * rounding, "{degrees} °F");
                assert!(now.0 * rounding >= warm.opens * HOUR && now.1 * rounding >= warm.closes * HOUR);
                assert!(now.0 < now.1, "it opens before it shuts at {degrees} °F");
                before = now;
            }
        }
    }

    #[test]
    fn closing_hastens_in_the_heat_more_than_opening() {
        let product = product();
        let (open, close) = window(&product);
        let opening = fitted_energy(open.points());
        let mild = fitted_energy(&open.points()[..5]);
        let closing = fitted_energy(close.points());
        // Computed from the same bands, outside of the program.
        assert!((opening - 55.0).abs() < 0.5, "{opening}");
        assert!((mild - 46.9).abs() < 0.5, "without the hottest band: {mild}");
        assert!((closing - 79.6).abs() < 0.5, "{closing}");
        let hastens = |table: &TimeTable| {
            let seconds = |band: &Band| seconds_in(&held(fahrenheit(band.middle())), table);
            seconds(&BANDS[0]) / seconds(&BANDS[5])
        };
        assert!(hastens(close) >= 2.9 * hastens(open));
    }

    #[test]
    fn no_one_activation_energy_gives_both_ends() {
        // From the middle of the second band, so that the 48 h at which both are capped do not count.
        let (start, hottest) = (&BANDS[1], &BANDS[5]);
        let hours = |at_start: f64, kilojoules: f64| {
            let table = one_point(fahrenheit(start.middle()), (at_start * HOUR) as i64, energy(kilojoules));
            seconds_in(&held(fahrenheit(hottest.middle())), &table) / HOUR
        };
        for whole in 20..=130 {
            let kilojoules = f64::from(whole);
            let (opens, closes) = (hours(start.opens, kilojoules), hours(start.closes, kilojoules));
            let fits = |found: f64, said: f64| (found / said - 1.0).abs() < 0.5;
            assert!(
                !(fits(opens, hottest.opens) && fits(closes, hottest.closes)),
                "{kilojoules} kJ/mol gives {opens} to {closes} h"
            );
        }
        let product = product();
        let found = hours(start.closes, fitted_energy(window(&product).0.points()));
        assert!(found > 3.0 * hottest.closes, "by opening's energy it would close after {found} h");
    }

    #[test]
    fn a_coat_in_a_shop_of_one_band_has_the_window_of_that_band() {
        let product = product();
        for band in BANDS {
            let degrees = fahrenheit(band.middle());
            let shop = shop((0..=60).map(|hour| (f64::from(hour) * HOUR, degrees)));
            let coat = CoatFacts {
                first_stroke: after(0.0),
                last_stroke: Some(after(0.0)),
                product: &product,
                next: Some(&product),
            };
            let calculate = |hours: f64| Standing::calculate(coat, &shop, after(hours * HOUR));
            let fresh = calculate(0.0);
            let at = |stage| seconds_between(after(0.0), fresh.stage(stage).unwrap().at.unwrap()) / HOUR;
            assert_close(at(Stage::RecoatOpen), band.opens, PROMISED);
            assert_close(at(Stage::RecoatClose), band.closes, PROMISED);

            // On the safe side of a thermometer that may be off by 1.0 K: inside the band's window.
            let (open, close) = fresh.window().unwrap();
            let (open, close) = (open.unwrap(), close.unwrap());
            assert!(after(band.opens * HOUR) < open && open < close && close <= after(band.closes * HOUR));
            assert_eq!(calculate(band.opens * 0.9).phase, Phase::Wet);
            let middle = open + (close - open) / 2;
            assert_eq!(Standing::calculate(coat, &shop, middle).phase, Phase::Open);
            assert_eq!(calculate(band.closes).phase, Phase::Shut);
        }
    }

    #[test]
    fn a_coat_that_takes_an_hour_has_a_window_shorter_by_that_hour() {
        let product = product();
        let band = &BANDS[3];
        let shop = held(fahrenheit(band.middle()));
        let coat = CoatFacts {
            first_stroke: after(0.0),
            last_stroke: Some(after(HOUR)),
            product: &product,
            next: Some(&product),
        };
        let standing = Standing::calculate(coat, &shop, after(HOUR));
        let at = |stage| standing.stage(stage).unwrap().at.unwrap();
        let window = seconds_between(at(Stage::RecoatOpen), at(Stage::RecoatClose));
        assert_close(window, (band.closes - band.opens - 1.0) * HOUR, PROMISED);
    }

    #[test]
    fn a_shop_that_passes_through_all_bands_opens_between_the_first_and_the_last() {
        let product = product();
        let (open, close) = window(&product);
        let (cool, hot) = (&BANDS[0], &BANDS[5]);
        for hours in [1.0, 4.0, 12.0, 40.0] {
            let shop = shop([(0.0, fahrenheit(cool.middle())), (hours * HOUR, fahrenheit(hot.middle()))]);
            let opens = seconds_in(&shop, open) / HOUR;
            let closes = seconds_in(&shop, close) / HOUR;
            assert!(hot.opens < opens && opens < cool.opens, "{opens} h");
            assert!(hot.closes < closes && closes < cool.closes, "{closes} h");
            assert!(opens < closes);
        }
    }
}
