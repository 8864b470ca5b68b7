//! The whole of a job as plain data: what is written when it moves house, and taken back.
//!
//! What is remembered of a weather service between two fetches stays behind: it is of the machine, and says
//! where the shop stands.

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
    /// Every reading of every place, those that were taken back too.
    pub readings: Vec<KeptReading>,
    /// Where the outdoor hours are from.
    pub forecasts: Vec<Forecast>,
    /// The outdoor hours, recorded and forecast.
    pub outdoor: Vec<(OutdoorHour, ForecastId)>,
    /// The alerts that were raised.
    pub alerts: Vec<Alert>,
    /// Which channels took them.
    pub deliveries: Vec<Delivery>,
    /// The windows as they were last reported.
    pub windows: Vec<ReportedWindow>,
}

/// A reading as it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptReading {
    /// The place.
    pub place: String,
    /// What was measured.
    pub reading: Reading,
    /// The entry that it came in with; None for what a sensor measured.
    pub entry: Option<EntryId>,
}

/// The number of a forecast in its job.
pub type ForecastId = i64;

/// A forecast that hours of the job are from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Forecast {
    /// Its number.
    pub id: ForecastId,
    /// When it was taken in, or last said to hold.
    pub taken: Moment,
    /// Where it is from.
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

    /// Takes the whole of another job in, all of it or nothing. This one has to be empty.
    ///
    /// # Errors
    /// [`StoreError::NotEmpty`] where it is not; else what is in the way.
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

/// Puts readings into blocks as they are, without asking whether one says what another does.
fn put_readings(work: &Connection, kept: &[KeptReading]) -> Result<(), Fault> {
    let mut places: Vec<&str> = Vec::new();
    let mut blocks: BTreeMap<(usize, i64), Vec<Packed>> = BTreeMap::new();
    for KeptReading { place, reading, entry } in kept {
        // Readings come place by place, and so this looks at the last one as a rule.
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
