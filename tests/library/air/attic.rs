//! A real unheated space: the air of a ventilated attic, hour by hour through September 2011, and the
//! weather beside it.
//!
//! Source: `attic.csv`, from the public TRH database (building R4, Tampere) and the open data of the Finnish
//! Meteorological Institute, both CC BY 4.0; see `SOURCES.md`.

use chrono::TimeDelta;
use curewright::engine::air::{Moisture, ShopModel, VapourPressure, humidity_at, vapour_pressure};
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Humidity, Moment};
use serde::Deserialize;

use super::lines::{Line, assert_near};

#[derive(Debug, Deserialize)]
struct Row {
    time: Moment,
    inside_c: f64,
    inside_rh: f64,
    outside_c: f64,
    outside_rh: f64,
}

struct Attic {
    inside: Vec<Reading>,
    outside: Vec<Reading>,
}

fn attic() -> Attic {
    let mut rows = csv::Reader::from_reader(include_str!("../../reference/attic.csv").as_bytes());
    let rows: Vec<Row> = rows.deserialize().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 33 * 24);
    let reading = |at, celsius, percent| Reading {
        at,
        air: Celsius::new(celsius),
        humidity: Some(Humidity::from_percent(percent).unwrap()),
        surface: None,
    };
    Attic {
        inside: rows.iter().map(|row| reading(row.time, row.inside_c, row.inside_rh)).collect(),
        outside: rows.iter().map(|row| reading(row.time, row.outside_c, row.outside_rh)).collect(),
    }
}

/// Temperatures inside and outside.
pub fn lines() -> (Line, Line) {
    let attic = attic();
    (line(&attic.inside), line(&attic.outside))
}

fn line(readings: &[Reading]) -> Line {
    readings.iter().map(|reading| (reading.at, reading.air)).collect()
}

const AHEAD: [usize; 4] = [6, 12, 24, 48];

/// The errors that nine in ten stay below.
fn ninety(errors: &[f64]) -> f64 {
    let mut errors = errors.to_vec();
    errors.sort_by(f64::total_cmp);
    errors[errors.len() * 9 / 10]
}

#[derive(Debug, Deserialize)]
struct Found {
    tau_h: f64,
    gain: f64,
}

#[derive(Debug, Deserialize)]
struct FoundBySciPy {
    temperature: Found,
    vapour: Found,
}

/// Source: `attic.json`, the same least squares by scipy.optimize over scipy.signal.lsim (`make_attic.py`).
#[test]
fn tau_and_gain_are_those_that_scipy_finds() {
    let attic = attic();
    let expected: FoundBySciPy = serde_json::from_str(include_str!("../../reference/attic.json")).unwrap();
    let model = ShopModel::fit(&line(&attic.inside), &line(&attic.outside)).unwrap();
    let hours = |tau: TimeDelta| tau.as_seconds_f64() / 3600.0;
    let (low, high) = model.tau_range();
    println!(
        "attic: tau {:.3} h ({:.3} … {:.3}), gain {:.3} ± {:.3} K",
        hours(model.shop().tau()),
        hours(low),
        hours(high),
        model.shop().gain().kelvin(),
        model.gain_error().kelvin()
    );
    assert_near(hours(model.shop().tau()), expected.temperature.tau_h, 1e-4, "tau of the temperature");
    assert_near(model.shop().gain().kelvin(), expected.temperature.gain, 1e-4, "gain of the temperature");
    let exchange = Moisture::fit(&attic.inside, &attic.outside).unwrap();
    assert_near(hours(exchange.tau().unwrap()), expected.vapour.tau_h, 1e-4, "tau of the vapour");
    assert_near(exchange.source().unwrap().hectopascals(), expected.vapour.gain, 1e-4, "source of vapour");
}

/// Fitted to ten days, tried on the two days after them; again a day later, to the end of the record.
#[test]
fn nine_in_ten_truths_of_held_back_days_lie_inside() {
    let attic = attic();
    let (inside, outside) = (line(&attic.inside), line(&attic.outside));
    let (mut within, mut asked, mut model_off, mut held_off) =
        ([0; 4], 0, vec![Vec::new(); 4], vec![Vec::new(); 4]);
    for begin in (0..inside.len() - 14 * 24).step_by(24) {
        let end = begin + 10 * 24;
        let model = ShopModel::fit(&inside[begin..end], &outside[begin..end]).unwrap();
        for start in end..end + 48 {
            let foretold = model.predict(inside[start].0, inside[start].1, &outside[start..]);
            asked += 1;
            for (index, &hours) in AHEAD.iter().enumerate() {
                let (at, truth) = inside[start + hours];
                let found = foretold.iter().find(|point| point.0 == at).unwrap().1.degrees();
                let error = (found - truth.degrees()).abs();
                let allowed = model.residual_after(TimeDelta::hours(hours as i64)).kelvin();
                within[index] += i32::from(error <= allowed);
                model_off[index].push(error);
                held_off[index].push((inside[start].1.degrees() - truth.degrees()).abs());
            }
        }
    }
    for (index, hours) in AHEAD.iter().enumerate() {
        let share = f64::from(within[index]) / f64::from(asked);
        let (model, held) = (ninety(&model_off[index]), ninety(&held_off[index]));
        println!(
            "{hours:2} h ahead: {:.1} % inside; nine in ten off by {model:.2} K at most, held {held:.2} K",
            share * 100.0
        );
        assert!((0.80..=0.97).contains(&share), "{hours} h: {share}");
        assert!(model < 0.6 * held, "{hours} h: {model} against {held}");
    }
}

/// Why the air of a place is taken to be exchanged, and not its moisture held: see `Moisture`. The
/// temperature of the attic is taken as known, so that only the moisture is judged.
#[test]
fn exchanged_moisture_predicts_the_humidity_better_than_held_moisture() {
    let attic = attic();
    let air = line(&attic.inside);
    let half = 16 * 24;
    let exchanged = Moisture::fit(&attic.inside[..half], &attic.outside[..half]).unwrap();
    let tau = exchanged.tau().unwrap();
    println!("exchanged with a time constant of {:.2} h", tau.as_seconds_f64() / 3600.0);
    for hours in [1_usize, 3, 6, 12, 24, 48] {
        let (mut by_exchange, mut by_holding) = (Vec::new(), Vec::new());
        for start in half..attic.inside.len() - hours {
            let now = attic.inside[start];
            let vapour = vapour(&now);
            let truth = attic.inside[start + hours].humidity.unwrap().percent();
            let there = [air[start + hours]];
            let off = |moisture: &Moisture| {
                let found = moisture.predict(now.at, vapour, &attic.outside[start..], &there);
                (found[0].1.percent() - truth).abs()
            };
            by_exchange.push(off(&exchanged));
            by_holding.push(off(&Moisture::held()));
            let held = humidity_at(vapour, there[0].1).percent();
            assert!((off(&Moisture::held()) - (held - truth).abs()).abs() < 1e-9);
        }
        let (exchange, hold) = (ninety(&by_exchange), ninety(&by_holding));
        println!(
            "{hours:2} h ahead, nine in ten off by at most: exchanged {exchange:.1} %, held {hold:.1} %"
        );
        assert!(hours < 3 || exchange < 0.75 * hold, "{hours} h: {exchange} against {hold}");
    }
}

/// Fitted and tried as the temperature above. The temperature is the measured one.
#[test]
fn nine_in_ten_vapour_pressures_of_held_back_days_lie_inside() {
    let attic = attic();
    let air = line(&attic.inside);
    let (mut within, mut asked) = ([0; 4], 0);
    for begin in (0..air.len() - 14 * 24).step_by(24) {
        let end = begin + 10 * 24;
        let model = Moisture::fit(&attic.inside[begin..end], &attic.outside[begin..end]).unwrap();
        for start in end..end + 48 {
            let now = vapour(&attic.inside[start]);
            let foretold = model.predict(air[start].0, now, &attic.outside[start..], &air[start..start + 49]);
            asked += 1;
            for (index, &hours) in AHEAD.iter().enumerate() {
                let found = vapour_pressure(air[start + hours].1, foretold[hours].1).hectopascals();
                let truth = vapour(&attic.inside[start + hours]).hectopascals();
                let allowed = model.residual_after(TimeDelta::hours(hours as i64)).unwrap().hectopascals();
                within[index] += i32::from((found - truth).abs() <= allowed);
            }
        }
    }
    for (index, hours) in AHEAD.iter().enumerate() {
        let share = f64::from(within[index]) / f64::from(asked);
        println!("vapour, {hours:2} h ahead: {:.1} % inside", share * 100.0);
        assert!((0.80..=0.97).contains(&share), "{hours} h: {share}");
    }
}

fn vapour(reading: &Reading) -> VapourPressure {
    vapour_pressure(reading.air, reading.humidity.unwrap())
}
