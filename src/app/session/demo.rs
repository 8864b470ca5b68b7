//! The job of the demo: a shepherd's hut on a Saturday evening in May, built into the program.

use std::path::Path;

use serde::Deserialize;

use super::SessionError;
use crate::engine::air::{Origin, Provenance};
use crate::engine::job::{Amount, EntryKind, StepKind, Vessel};
use crate::engine::units::{Civil, Grams, MassUnit, Micrometres, Moment, parse_when};
use crate::io::sources::{read_forecast_csv, read_logger};
use crate::io::store::Store;

const SCHEME: &str = include_str!("../../../demo/scheme.toml");
const ENTRIES: &str = include_str!("../../../demo/entries.toml");
const READINGS: &str = include_str!("../../../demo/readings.csv");
const FORECAST: &str = include_str!("../../../demo/forecast.csv");

/// Speed of the demo's clock: an evening takes a minute.
pub const SPEED: u32 = 240;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Script {
    begins: String,
    entry: Vec<Line>,
}

#[derive(Deserialize)]
struct Line {
    at: String,
    #[serde(flatten)]
    what: What,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum What {
    Coat(String),
    Finished(String),
    TapeOn(String),
    Sand(String),
    Mixed(Batch),
    Note(Remark),
    Work(Labour),
    WetFilm(Films),
    Stock(Tin),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Remark {
    area: Option<String>,
    text: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Labour {
    area: Option<String>,
    minutes: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Batch {
    product: String,
    mass: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Films {
    area: String,
    micrometres: Vec<Micrometres>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tin {
    product: String,
    grams: Grams,
    price: String,
    lot: String,
}

/// Alerts due before the demo begins are already acknowledged.
///
/// # Errors
/// Where the job cannot be read or written.
pub fn see_the_past(session: &mut super::Session<'_>, begins: Moment) -> Result<(), SessionError> {
    let survey = session.survey(begins, crate::engine::assess::SurveyOptions::default())?;
    session.record_due(&survey, begins)?;
    session.writer()?.acknowledge(None, begins)?;
    Ok(())
}

/// Writes the demo's job to a new file and returns its starting moment. It includes the readings of the next
/// days, which appear as the clock passes them.
///
/// # Errors
/// Where the file cannot be written.
pub fn build(path: &Path, civil: &Civil) -> Result<Moment, SessionError> {
    let broken = |what: String| SessionError::World(format!("the built-in demo is broken: {what}"));
    let script: Script = toml::from_str(ENTRIES).map_err(|error| broken(error.to_string()))?;
    let at = |text: &str| parse_when(text, Moment::UNIX_EPOCH, civil);
    let begins = at(&script.begins)?;
    let after = begins + chrono::TimeDelta::days(30);
    let logger = read_logger(READINGS.as_bytes(), "shop", civil, after).map_err(|e| broken(e.to_string()))?;
    let mut store = Store::open(path)?;
    let first = at(&script.entry.first().map_or(script.begins.clone(), |line| line.at.clone()))?;
    store.append(first, begins, EntryKind::Scheme { text: SCHEME.into() })?;
    store.import(begins, "demo/readings.csv", logger.readings)?;
    let forecast =
        read_forecast_csv(FORECAST.as_bytes(), civil, begins).map_err(|e| broken(e.to_string()))?;
    let provenance =
        Provenance { origin: Origin::File("demo/forecast.csv".into()), made: None, met_norway: false };
    store.store_forecast(begins, &forecast.hours, &provenance, None)?;
    let scheme = crate::engine::job::Scheme::read(SCHEME).map_err(|error| broken(error.to_string()))?;
    for line in script.entry {
        let kind = match line.what {
            What::Coat(area) => {
                let product = scheme.area(&area).and_then(|area| area.coats().next().map(str::to_owned));
                let product = product.ok_or_else(|| broken(format!("no coat for {area}")))?;
                EntryKind::Coat { area, product, next: None, finished: false, batch: None, why: None }
            }
            What::Finished(area) => EntryKind::Finished { area },
            What::TapeOn(area) => EntryKind::step(area, StepKind::TapeOn, None),
            What::Mixed(Batch { product, mass }) => EntryKind::Batch {
                product,
                mass_g: Grams::parse(&mass, MassUnit::Grams)?,
                vessel: Vessel::Cup,
                temperature: None,
                place: "shop".into(),
            },
            What::Note(Remark { area, text }) => EntryKind::Note { area, entry: None, text, photo: None },
            What::Work(Labour { area, minutes }) => EntryKind::Work { area, minutes },
            What::WetFilm(Films { area, micrometres }) => EntryKind::WetFilm { area, micrometres },
            What::Stock(Tin { product, grams, price, lot }) => {
                EntryKind::Stock { product, amount: Amount::MassG(grams), price: Some(price), lot: Some(lot) }
            }
            What::Sand(area) => EntryKind::step(area, StepKind::Sand, None),
        };
        store.append(at(&line.at)?, begins, kind)?;
    }
    Ok(begins)
}
