//! The whole of a job as plain data, for export and import.
//!
//! The state of a weather service is not included: it belongs to the machine, and contains the shop's position.

use std::collections::BTreeMap;

use rusqlite::{Connection, Row};

use super::error::Fault;
use super::pack::{self, Packed};
use super::{Store, StoreError, alerts, entries, readings, weather};
use crate::engine::air::{OutdoorHour, Provenance};
use crate::engine::cure::Reading;
use crate::engine::job::{Alert, Delivery, ReportedWindow};
use crate::engine::job::{Entry, EntryId};
use crate::engine::units::{Moment, clean};

/// Everything in a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Whole {
    /// The entries, by number.
    pub entries: Vec<Entry>,
    /// Every reading of every place, including voided ones.
    pub readings: Vec<KeptReading>,
    /// The sources of the outdoor hours.
    pub forecasts: Vec<Forecast>,
    /// The outdoor hours, recorded and forecast.
    pub outdoor: Vec<(OutdoorHour, ForecastId)>,
    /// The raised alerts.
    pub alerts: Vec<Alert>,
    /// Their deliveries.
    pub deliveries: Vec<Delivery>,
    /// The last reported windows.
    pub windows: Vec<ReportedWindow>,
}

/// A stored reading.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptReading {
    /// The place.
    pub place: String,
    /// The measurement.
    pub reading: Reading,
    /// The entry that it came in with; None for a sensor reading.
    pub entry: Option<EntryId>,
}

/// The number of a forecast in its job.
pub type ForecastId = i64;

/// A forecast with hours in the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Forecast {
    /// Its number.
    pub id: ForecastId,
    /// When it was imported, or last confirmed.
    pub taken: Moment,
    /// Its source.
    pub provenance: Provenance,
}

impl Store {
    /// Everything in the job, at one moment.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn whole(&self) -> Result<Whole, StoreError> {
        self.read(|connection| {
            Ok(Whole {
                entries: entries::all(connection)?,
                readings: kept_readings(connection)?,
                forecasts: weather::forecasts(connection)?,
                outdoor: weather::all_outdoor(connection)?,
                alerts: alerts::all(connection)?,
                deliveries: alerts::all_deliveries(connection)?,
                windows: alerts::all_windows(connection)?,
            })
        })
    }

    /// Imports the whole of another job, all or nothing. This one has to be empty.
    ///
    /// # Errors
    /// [`StoreError::NotEmpty`] if it is not; otherwise the error.
    pub fn import_job(&mut self, whole: &Whole) -> Result<(), StoreError> {
        self.write(|work| {
            if !is_empty(work)? {
                return Err(Fault::NotEmpty);
            }
            whole.entries.iter().try_for_each(|entry| entries::insert(work, entry))?;
            put_readings(work, &whole.readings)?;
            whole.forecasts.iter().try_for_each(|forecast| weather::insert_kept(work, forecast))?;
            weather::insert_hours(work, &whole.outdoor)?;
            whole.alerts.iter().try_for_each(|alert| alerts::insert(work, alert))?;
            whole.deliveries.iter().try_for_each(|sent| alerts::insert_delivery(work, *sent))?;
            whole.windows.iter().try_for_each(|window| alerts::put_window(work, *window))
        })
    }
}

fn is_empty(connection: &Connection) -> Result<bool, Fault> {
    let query = "SELECT NOT EXISTS (SELECT 1 FROM entry) AND NOT EXISTS (SELECT 1 FROM reading_block) \
                 AND NOT EXISTS (SELECT 1 FROM outdoor) AND NOT EXISTS (SELECT 1 FROM alert)";
    Ok(connection.query_row(query, [], |row| row.get(0))?)
}

fn kept_readings(connection: &Connection) -> Result<Vec<KeptReading>, Fault> {
    let mut statement = connection.prepare(readings::ALL)?;
    let mut rows = statement.query([])?;
    let mut kept = Vec::new();
    while let Some(row) = rows.next()? {
        kept.extend(readings_of_row(row)?);
    }
    Ok(kept)
}

/// The readings of a row of [`readings::ALL`].
pub(super) fn readings_of_row(row: &Row<'_>) -> Result<Vec<KeptReading>, Fault> {
    let (place, block, packed) = readings::block_of_row(row)?;
    let place = clean(&place);
    let kept = pack::readings(block, &packed)?.zip(&packed).map(|(reading, packed)| {
        let entry = (packed.origin > 0).then(|| EntryId(packed.origin.into()));
        KeptReading { place: place.clone(), reading, entry }
    });
    Ok(kept.collect())
}

/// Puts readings into blocks unchanged, without removing duplicates.
fn put_readings(work: &Connection, kept: &[KeptReading]) -> Result<(), Fault> {
    let mut places: Vec<&str> = Vec::new();
    let mut blocks: BTreeMap<(usize, i64), Vec<Packed>> = BTreeMap::new();
    for KeptReading { place, reading, entry } in kept {
        // Readings come place by place, so this usually checks the last one only.
        let known = places.iter().rposition(|known| known.eq_ignore_ascii_case(place));
        let index = known.unwrap_or_else(|| {
            places.push(place);
            places.len() - 1
        });
        let fault = Fault::Unwritable("an impossible temperature");
        let (block, mut packed) = Packed::new(reading).ok_or(fault)?;
        let origin = entry.map_or(Ok(0), |entry| u32::try_from(entry.0));
        packed.origin = origin.map_err(|_| Fault::Unwritable("a reading of an impossible entry"))?;
        blocks.entry((index, block)).or_default().push(packed);
    }
    let mut known = Vec::with_capacity(places.len());
    for place in places {
        known.push(readings::place(work, place)?);
    }
    let mut put = work.prepare(readings::PUT)?;
    for ((place, block), mut packed) in blocks {
        packed.sort_by_key(|packed| (packed.second, packed.origin));
        readings::count_block(work, &known[place], block)?;
        readings::put_block(&mut put, &known[place], block, &packed)?;
    }
    Ok(())
}
