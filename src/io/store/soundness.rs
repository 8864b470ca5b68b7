//! Checks a job row by row, and collects the intact part.

use std::collections::BTreeSet;

use rusqlite::{Connection, Row};

use super::error::Fault;
use super::{KeptReading, Store, StoreError, Whole, alerts, entries, readings, weather};

/// The result of the check.
#[derive(Debug, Clone, PartialEq)]
pub struct Soundness {
    /// All intact rows, without those that refer to damaged ones.
    pub sound: Whole,
    /// The damage, in words.
    pub faults: Vec<String>,
}

impl Store {
    /// Reads everything in the job and reports damage.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read at all.
    pub fn soundness(&self) -> Result<Soundness, StoreError> {
        self.read_unchecked(|connection| {
            let mut found = Found { connection, faults: Vec::new() };
            found.structure();
            let mut sound = Whole {
                entries: found.entries(),
                readings: found.readings(),
                forecasts: found.table("forecasts", weather::forecasts),
                outdoor: found.rows(weather::ALL_OUTDOOR, weather::outdoor_of_row),
                alerts: found.rows(alerts::ALL, alerts::alert),
                deliveries: found.table("deliveries", alerts::all_deliveries),
                windows: found.table("windows", alerts::all_windows),
            };
            hang_together(&mut sound);
            Ok(Soundness { sound, faults: found.faults })
        })
    }
}

struct Found<'c> {
    connection: &'c Connection,
    faults: Vec<String>,
}

impl Found<'_> {
    /// The errors that SQLite finds in the file and its indexes.
    fn structure(&mut self) {
        if let Err(fault) = super::checksum::check_tables(self.connection) {
            self.faults.push(format!("the file: {}", fault.what()));
        }
        let query = "PRAGMA integrity_check(20)";
        let told: Vec<String> = self.rows(query, |row| Ok(row.get(0)?));
        self.faults.extend(told.iter().filter(|told| *told != "ok").flat_map(|told| {
            // Several lines; the first names the table only.
            told.lines()
                .map(|line| format!("the file: {}", crate::engine::units::clean(line)))
                .collect::<Vec<_>>()
        }));
    }

    fn entries(&mut self) -> Vec<crate::engine::job::Entry> {
        let faults = self.faults.len();
        let found = self.rows(entries::ALL, entries::entry);
        let there = (found.len() + self.faults.len() - faults) as i64;
        match entries::tally(self.connection) {
            Ok((written, _)) if written != there => {
                self.faults.push(format!("{written} entries were written, but {there} exist"));
            }
            Ok(_) => {}
            Err(fault) => self.faults.push(format!("the number of entries: {}", fault.what())),
        }
        found
    }

    fn readings(&mut self) -> Vec<KeptReading> {
        self.rows(readings::ALL, super::whole::readings_of_row).into_iter().flatten().collect()
    }

    fn table<T>(&mut self, of: &str, all: impl Fn(&Connection) -> Result<Vec<T>, Fault>) -> Vec<T> {
        all(self.connection).unwrap_or_else(|fault| {
            self.faults.push(format!("{of}: {}", fault.what()));
            Vec::new()
        })
    }

    /// The readable rows; for the others the reason.
    fn rows<T>(&mut self, query: &str, read: impl Fn(&Row<'_>) -> Result<T, Fault>) -> Vec<T> {
        let mut sound = Vec::new();
        let mut look = || -> rusqlite::Result<()> {
            let mut statement = self.connection.prepare(query)?;
            let mut rows = statement.query([])?;
            while let Some(row) = rows.next()? {
                match read(row) {
                    Ok(row) => sound.push(row),
                    Err(fault) => self.faults.push(fault.what()),
                }
            }
            Ok(())
        };
        if let Err(error) = look() {
            self.faults.push(format!("the file: {error}"));
        }
        sound
    }
}

/// Drops rows that refer to missing ones; a reading stays, without an entry.
fn hang_together(whole: &mut Whole) {
    let entries: BTreeSet<_> = whole.entries.iter().map(|entry| entry.id).collect();
    for reading in &mut whole.readings {
        reading.entry = reading.entry.filter(|entry| entries.contains(entry));
    }
    let forecasts: BTreeSet<_> = whole.forecasts.iter().map(|forecast| forecast.id).collect();
    whole.outdoor.retain(|(_, forecast)| forecasts.contains(forecast));
    let alerts: BTreeSet<_> = whole.alerts.iter().map(|alert| alert.id).collect();
    whole.deliveries.retain(|delivery| alerts.contains(&delivery.alert));
    whole.windows.retain(|window| entries.contains(&window.coat));
}
