//! The shop model against textbook buildings and closed forms.

use curewright::engine::air::Shop;
use curewright::engine::units::{Celsius, KelvinDelta};

use super::lines::{Line, after, assert_near, drawn, hours, hours_after, value};

fn shop(tau: f64, gain: f64) -> Shop {
    Shop::new(hours(tau), KelvinDelta::new(gain))
}

fn followed(tau: f64, gain: f64, start: f64, outside: &Line) -> Line {
    shop(tau, gain).predict(after(0.0), Celsius::new(start), outside)
}

/// The extreme of a line between two hours, by (hours, °C): the last day of a settled line.
fn coldest_and_warmest(line: &Line, from: f64) -> [(f64, f64); 2] {
    let day: Vec<_> =
        line.iter().map(|p| (hours_after(p.0), p.1.degrees())).filter(|p| p.0 >= from).collect();
    let coldest = day.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    let warmest = day.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    [coldest, warmest]
}

/// Source: Nagle, Saff and Snider, Fundamentals of Differential Equations, section "Heating and cooling of
/// buildings" (the book from memory): an unheated garage of tau 2 h, outside a sine from 50 °F at 2:00 to
/// 80 °F at 14:00. Its coldest moment is 3:50.5 with 51.711 °F, its warmest 15:50.5 with 78.289 °F (SciPy).
#[test]
fn the_textbook_garage_is_coldest_at_ten_to_four() {
    let turn = std::f64::consts::TAU / 24.0;
    let fahrenheit = |hour: f64| 65.0 - 15.0 * (turn * (hour - 2.0)).cos();
    let outside = drawn(120.0, |hour| Celsius::from_fahrenheit(fahrenheit(hour)).degrees());
    let garage = followed(2.0, 0.0, 15.0, &outside);
    let [coldest, warmest] = coldest_and_warmest(&garage, 96.0);
    assert_near(coldest.0 - 96.0, 3.8424, 1.0 / 60.0, "coldest at");
    assert_near(Celsius::new(coldest.1).fahrenheit(), 51.711, 0.001, "coldest");
    assert_near(warmest.0 - 96.0, 15.8424, 1.0 / 60.0, "warmest at");
    assert_near(Celsius::new(warmest.1).fahrenheit(), 78.289, 0.001, "warmest");
}

/// Source: closed form, gain 1/√(1 + ω²τ²) and lag atan(ωτ)/ω for a period of 24 h, the figures computed
/// apart from this program.
#[test]
fn a_daily_swing_comes_in_smaller_and_later_the_heavier_the_building() {
    let table = [
        (1.0, 0.96740, 0.9780),
        (2.0, 0.88591, 1.8424),
        (3.0, 0.78644, 2.5431),
        (4.0, 0.69062, 3.0880),
        (6.0, 0.53703, 3.8346),
        (10.0, 0.35683, 4.6063),
        (24.0, 0.15718, 5.3971),
        (48.0, 0.07933, 5.6967),
    ];
    let turn = std::f64::consts::TAU / 24.0;
    let outside = drawn(24.0 * 31.0, |hour| 10.0 + 8.0 * (turn * hour).sin());
    for (tau, gain, late) in table {
        let line = followed(tau, 0.0, 10.0, &outside);
        let [coldest, warmest] = coldest_and_warmest(&line, 24.0 * 30.0);
        assert_near((warmest.1 - coldest.1) / 16.0, gain, 2e-5, &format!("gain, tau {tau} h"));
        assert_near(warmest.0 - 24.0 * 30.0 - 6.0, late, 0.05, &format!("lag, tau {tau} h"));
        // Where the curve is steep, the lag is told finely: it goes through the middle, on its way up.
        assert_near(value(&line, 24.0 * 30.0 + late), 10.0, 2e-3, &format!("middle, tau {tau} h"));
    }
}

/// Source: Fundamentals of Differential Equations, 9th edition, chapter 3, problem 19, a heated building:
/// T' = K(M − T) + 0.1 + 1.5(70 − T) in °F, M = 75 − 20 cos(πt/12), T(0) = 65; solved by SciPy to 1e-11.
/// It is a shop of tau 1/(K + 1.5) whose outside is (K·M + 0.1 + 105)/(K + 1.5).
#[test]
fn the_heated_building_of_the_textbook_is_a_shop_too() {
    let published = [
        (0.2, [69.1876, 71.4897, 72.9455, 72.1028, 69.8044, 68.3486]),
        (0.4, [68.5452, 72.6782, 75.2373, 73.6644, 69.5323, 66.9732]),
        (0.6, [68.0551, 73.6821, 77.1030, 74.8971, 69.2703, 65.8494]),
    ];
    for (k, table) in published {
        let driving = |hour: f64| {
            let outside = 75.0 - 20.0 * (std::f64::consts::PI * hour / 12.0).cos();
            Celsius::from_fahrenheit((k * outside + 0.1 + 1.5 * 70.0) / (k + 1.5)).degrees()
        };
        let start = Celsius::from_fahrenheit(65.0).degrees();
        let line = followed(1.0 / (k + 1.5), 0.0, start, &drawn(24.0, driving));
        for (index, expected) in table.into_iter().enumerate() {
            let found = Celsius::new(value(&line, 4.0 * (index + 1) as f64)).fahrenheit();
            assert_near(found, expected, 5e-4, &format!("K {k}, {} h", 4 * (index + 1)));
        }
    }
}

/// Source: closed form, T = T_out + gain + (T0 − T_out − gain)·exp(−t/tau).
#[test]
fn the_heater_is_turned_off() {
    let outside = super::lines::line([(0.0, 2.0), (48.0, 2.0)]);
    let line = followed(5.0, 1.5, 20.0, &outside);
    for quarter in 0..192 {
        let hour = f64::from(quarter) / 4.0;
        let expected = 3.5 + 16.5 * (-hour / 5.0).exp();
        assert_near(value(&line, hour), expected, 0.02, &format!("{hour} h"));
    }
    for &(at, celsius) in &line {
        let expected = 3.5 + 16.5 * (-hours_after(at) / 5.0).exp();
        assert_near(celsius.degrees(), expected, 1e-9, "at the points themselves");
    }
    println!("{} points for two days", line.len());
    assert!(line.len() < 60, "{} points", line.len());
}
