//! What one segment of the integral costs (a million minute readings, an Arrhenius table of one point and
//! one of three), and one redraw of the board. `figures.py` sets the first beside NumPy's three-point
//! quadrature of the same rate.

use std::hint::black_box;
use std::time::Instant;

use chrono::TimeDelta;
use curewright::app::session::{Clock, Session, demo};
use curewright::app::wording::Words;
use curewright::engine::assess::SurveyOptions;
use curewright::engine::config::Config;
use curewright::engine::cure::{Bound, Course, History, Law, Outlook, Reading};
use curewright::engine::profile::{Cure, Library, Point, TimeTable};
use curewright::engine::units::{ActivationEnergy, Celsius, Civil, Humidity, Moment, Units};
use curewright::tui::{ColorMode, picture};

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
        let law =
            Law { cure, reference_humidity: Humidity::from_fraction(0.5), stall_below: None, minimum: false };
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
    redraw()
}

/// The whole board of the demo's job, drawn into a buffer of 200 by 50.
fn redraw() -> Result<(), Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let (job, civil, library) = (folder.path().join("demo.db"), Civil::utc(), Library::built_in());
    let begins = demo::build(&job, &civil)?;
    let words = Words { civil: civil.clone(), units: Units::default() };
    let session = Session::open(&job, &library, Config::default(), words, Clock::At(begins))?;
    let survey = session.survey(begins, SurveyOptions::default())?;
    let (view, runs) = (session.view(&survey, begins)?, 1000);
    let begun = Instant::now();
    for _ in 0..runs {
        black_box(picture(&view, &civil, (200, 50), ColorMode::Auto));
    }
    println!("a full redraw at 200x50: {:.3} ms", begun.elapsed().as_secs_f64() * 1e3 / f64::from(runs));
    Ok(())
}
