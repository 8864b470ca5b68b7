//! Writes a job with years of minute readings and 200 coats, as a load for `figures.py`.
//!
//! `cargo bench --bench big_job -- FILE YEARS`

use chrono::{DateTime, TimeDelta, Utc};
use curewright::engine::cure::Reading;
use curewright::engine::job::{EntryKind, Scheme};
use curewright::engine::units::{Celsius, Humidity};
use curewright::io::store::Store;

const AREAS: usize = 10;
const COATS: usize = 200;
const PRODUCTS: [&str; 5] =
    ["varnish-two-part", "paint-two-part", "primer-two-part", "epoxy-sealer", "varnish-alkyd"];

/// The last reading: the load is the same on every run.
fn end() -> DateTime<Utc> {
    DateTime::from_timestamp(1_777_741_200, 0).unwrap_or_default()
}

/// An invented shop: a year's swing, a day's swing, and a little unrest.
fn reading(minute: i64, at: DateTime<Utc>) -> Reading {
    let (year, day) = (minute as f64 / 525_600.0, minute as f64 / 1440.0);
    let wave = |turns: f64| (turns * std::f64::consts::TAU).sin();
    let unrest = ((minute.wrapping_mul(7_919) % 101) - 50) as f64 / 400.0;
    let air = 15.0 - 6.0 * wave(year + 0.25) + 3.5 * wave(day - 0.4) + unrest;
    let humidity = Humidity::from_percent(60.0 - 8.0 * wave(day - 0.4)).ok();
    Reading { at, air: Celsius::new((air * 1000.0).round() / 1000.0), humidity, surface: None }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let [file, years] = arguments.as_slice() else {
        println!("big_job: FILE YEARS");
        return Ok(());
    };
    let minutes = years.parse::<i64>()? * 525_600;
    let mut store = Store::open(file.as_ref())?;
    let begins = end() - TimeDelta::minutes(minutes);
    let year = end() - TimeDelta::days(365);
    let readings = (0..=minutes).map(|minute| ("shop", reading(minute, begins + TimeDelta::minutes(minute))));
    store.import(end(), "logger.csv", readings)?;
    let mut scheme = "name = \"Big job\"\n".to_owned();
    for area in 0..AREAS {
        scheme +=
            &format!("[[area]]\nname = \"area {area}\"\nsquare_metres = 4\nminutes_per_square_metre = 5\n");
    }
    Scheme::read(&scheme)?;
    store.append(year, end(), EntryKind::Scheme { text: scheme })?;
    for coat in 0..COATS {
        let area = format!("area {}", coat % AREAS);
        let at = year + TimeDelta::minutes(525_000 / COATS as i64 * (coat as i64 + 1));
        let product = PRODUCTS[coat % AREAS % PRODUCTS.len()].to_owned();
        store.append(
            at,
            end(),
            EntryKind::Coat {
                area: area.clone(),
                product,
                next: None,
                finished: false,
                batch: None,
                why: None,
            },
        )?;
        store.append(at + TimeDelta::minutes(20), end(), EntryKind::Finished { area })?;
    }
    Ok(())
}
