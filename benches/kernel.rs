//! What one segment of the integral costs: a million minute readings, an Arrhenius table of one point and
//! one of three. `figures.py` sets it beside NumPy's three-point quadrature of the same rate.

use std::hint::black_box;
use std::time::Instant;

use chrono::TimeDelta;
use curewright::cure::{Bound, Course, History, Law, Outlook, Reading};
use curewright::profile::{Cure, Point, TimeTable};
use curewright::units::{ActivationEnergy, Celsius, Humidity, Moment};

const SEGMENTS: i64 = 1_000_000;
const RUNS: usize = 15;

fn history() -> History {
    let readings = (0..=SEGMENTS).map(|minute| {
        let day = minute as f64 / 1440.0 * std::f64::consts::TAU;
        let unrest = ((minute * 7_919 % 101) - 50) as f64 / 400.0;
        let humidity = Some(Humidity::from_fraction(0.6 - 0.1 * day.sin()));
        Reading {
            at: Moment::UNIX_EPOCH + TimeDelta::minutes(minute),
            air: Celsius::new(15.0 + 6.0 * day.sin() + unrest),
            humidity,
            surface: None,
        }
    });
    History::new(readings, Outlook::default())
}

fn table(points: &[(f64, i64)]) -> Result<TimeTable, Box<dyn std::error::Error>> {
    let points =
        points.iter().map(|&(at, hours)| Point { at: Celsius::new(at), time: TimeDelta::hours(hours) });
    Ok(TimeTable::new(points.collect(), ActivationEnergy::RULE_OF_THUMB)?)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let history = history();
    let (from, to) = (Moment::UNIX_EPOCH, Moment::UNIX_EPOCH + TimeDelta::minutes(SEGMENTS));
    let one = table(&[(20.0, 16)])?;
    let three = table(&[(10.0, 34), (20.0, 16), (30.0, 8)])?;
    for (name, table, cure) in [
        ("one point", &one, Cure::Reaction),
        ("three points", &three, Cure::Reaction),
        ("three points, drying", &three, Cure::Drying),
    ] {
        let law = Law { cure, reference_humidity: Humidity::from_fraction(0.5), stall_below: None };
        let mut times: Vec<f64> = (0..RUNS)
            .map(|_| {
                let begun = Instant::now();
                black_box(Course::new(&history, table, law).progress(from, to, Bound::AsRead));
                begun.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        println!("{name}: {:.2} ns a segment (median of {RUNS})", times[RUNS / 2] * 1e9 / SEGMENTS as f64);
    }
    Ok(())
}
