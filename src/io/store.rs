//! The job's file: entries, readings, outdoor hours and alerts in one SQLite database, shared by several
//! processes.
//!
//! A call that returns success is on the disk; a failed one has written nothing. Moments are whole seconds.
//! This room knows how a job is stored, but not what its entries mean for a film: the rules for a new entry
//! belong to the record. It has no clock and is given `now`.

use std::cell::Cell;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::DateTime;
use rusqlite::{Connection, ErrorCode, Transaction, TransactionBehavior};
use tempfile::TempDir;

use crate::engine::job::{Entry, EntryId, EntryKind, Job, Refusal, gate};
use crate::engine::units::Moment;
use error::Fault;

mod alerts;
mod checksum;
mod entries;
mod error;
mod file;
mod identity;
mod pack;
mod readings;
mod schema;
mod soundness;
mod weather;
mod whole;

pub use alerts::{LEASE, Snooze};
pub use error::StoreError;
pub use identity::Displaced;
pub use readings::Imported;
pub use soundness::Soundness;
pub use whole::{Forecast, ForecastId, KeptReading, Whole};

/// How long a process waits for other writers: enough for many concurrent commands.
const PATIENCE: Duration = Duration::from_secs(30);

/// A pipe would block, and a device has no end.
fn ordinary(path: &Path) -> Result<(), StoreError> {
    match fs::metadata(path) {
        Ok(found) if found.is_dir() => Err(StoreError::NotAJob { path: error::shown(path) }),
        Ok(found) if !found.is_file() => Err(StoreError::NoOrdinaryFile { path: error::shown(path) }),
        _ => Ok(()),
    }
}

/// A job's file, open.
#[derive(Debug)]
pub struct Store {
    connection: Connection,
    path: PathBuf,
    identity: identity::Identity,
    /// Whether the tables match their checksum.
    checked: Cell<bool>,
    /// The copy that is read, if the file cannot be read in place.
    _copy: Option<TempDir>,
}

impl Store {
    /// Opens a job for writing; creates it, private to the user, if it does not exist.
    ///
    /// # Errors
    /// [`StoreError`] says why. A file that is not a job, or one of a newer version, is not changed.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let path = file::make(path).map_err(|error| StoreError::from_io(path, &error))?;
        ordinary(&path)?;
        let opened = file::connect(&path).map_err(Fault::from).and_then(|mut connection| {
            schema::version(&connection)?;
            if connection.is_readonly("main")? {
                return Err(Fault::ReadOnly);
            }
            schema::bring_up(&mut connection, &path)?;
            Ok(connection)
        });
        match opened {
            Ok(connection) => {
                let identity = identity::Identity::of(&path);
                Ok(Self { connection, path, identity, checked: Cell::default(), _copy: None })
            }
            // It can be read, but no file can be created beside it.
            Err(Fault::Sqlite(error)) if cannot_open(&error) && file::can_be_read(&path) => {
                Err(Fault::ReadOnly.at(&path))
            }
            Err(fault) => Err(fault.at(&path)),
        }
    }

    /// Opens a job for reading, even if it is read-only; None if it does not exist. Changes nothing.
    ///
    /// # Errors
    /// [`StoreError`] says why.
    pub fn open_to_read(path: &Path) -> Result<Option<Self>, StoreError> {
        let path = match fs::canonicalize(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            found => found.map_err(|error| StoreError::from_io(path, &error))?,
        };
        ordinary(&path)?;
        let opened = match file::connect(&path).map_err(Fault::from).and_then(only_to_read) {
            Err(Fault::Sqlite(error)) if is_of_the_medium(&error) => {
                let (connection, copy) =
                    file::connect_as_it_lies(&path).map_err(|_| Fault::Sqlite(error).at(&path))?;
                connection
                    .map_err(Fault::from)
                    .and_then(only_to_read)
                    .map(|(found, open)| (found, open, copy))
            }
            opened => opened.map(|(found, open)| (found, open, None)),
        };
        match opened.map_err(|fault| fault.at(&path))? {
            (0, ..) => Ok(None),
            (found, ..) if found < schema::NEWEST => match Self::open(&path) {
                Err(StoreError::ReadOnly { .. } | StoreError::DiskFull { .. }) => {
                    Self::open_renewed_copy(&path).map(Some)
                }
                opened => opened.map(Some),
            },
            (_, connection, copy) => {
                let identity = identity::Identity::of(&path);
                Ok(Some(Self { connection, path, identity, checked: Cell::default(), _copy: copy }))
            }
        }
    }

    /// Opens a read-only job of an older version: a migrated copy is read.
    fn open_renewed_copy(path: &Path) -> Result<Self, StoreError> {
        let (copy, folder) = file::copy(path).map_err(|error| StoreError::from_io(path, &error))?;
        let renewed = file::connect(&copy).map_err(Fault::from).and_then(|mut connection| {
            schema::bring_up(&mut connection, &copy)?;
            only_to_read(connection)
        });
        let (_, connection) = renewed.map_err(|fault| fault.at(path))?;
        let identity = identity::Identity::of(path);
        let path = path.to_owned();
        Ok(Self { connection, path, identity, checked: Cell::default(), _copy: Some(folder) })
    }

    /// Sets the time to wait for other writers.
    ///
    /// # Errors
    /// [`StoreError`] if SQLite refuses.
    pub fn wait_for_others(&self, patience: Duration) -> Result<(), StoreError> {
        self.connection.busy_timeout(patience).map_err(|error| Fault::from(error).at(&self.path))
    }

    /// Every entry, in the order of their numbers.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn entries(&self) -> Result<Vec<Entry>, StoreError> {
        self.read(entries::all)
    }

    /// Writes an entry if the record admits it. A reading is also stored with the readings of its place.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if the record does not admit it; otherwise the error.
    pub fn append(&mut self, at: Moment, now: Moment, kind: EntryKind) -> Result<EntryId, StoreError> {
        self.write(|work| {
            let entry = entries::admitted(work, at, now, kind)?;
            entries::insert(work, &entry)?;
            readings::put_entered(work, &entry)?;
            Ok(entry.id)
        })
    }

    /// Voids an entry and returns it: the newest one that counts and is not a void itself, or the one with this
    /// number. To undo a void, give its number.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if there is no such entry; otherwise the error.
    pub fn void(&mut self, target: Option<EntryId>, now: Moment) -> Result<Entry, StoreError> {
        self.write(|work| {
            let mut standing = entries::standing(entries::all(work)?);
            // A corrected entry returns when its replacement is voided.
            let by =
                |id| standing.iter().find(|entry| entry.id == id).and_then(|entry| entry.kind.replaced_by());
            let target = target.map(|id| by(id).unwrap_or(id));
            let found = match target {
                Some(id) => standing.iter().position(|entry| entry.id == id).ok_or_else(|| {
                    let void = EntryKind::Void { entry: id, by: None };
                    let by = standing.iter().rfind(|entry| entry.kind == void).map(|entry| entry.id);
                    by.map_or(Refusal::NoSuchEntry(id), |by| Refusal::TakenBack { entry: id, by })
                }),
                None => standing
                    .iter()
                    .rposition(|entry| !matches!(entry.kind, EntryKind::Void { .. }))
                    .ok_or(Refusal::NothingToTakeBack),
            };
            let taken_back = standing.swap_remove(found?);
            let void = EntryKind::Void { entry: taken_back.id, by: None };
            entries::insert(work, &entries::admitted(work, now, now, void)?)?;
            Ok(taken_back)
        })
    }

    /// Replaces a wrong entry: the old one is voided, and both are written or neither.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if the old one does not count, or the new record would be impossible; otherwise
    /// the error.
    pub fn correct(
        &mut self,
        old: EntryId,
        at: Moment,
        now: Moment,
        kind: EntryKind,
    ) -> Result<Entry, StoreError> {
        self.write(|work| {
            if at > now {
                return Err(Refusal::Future.into());
            }
            let mut entries = entries::all(work)?;
            let (void, new) = entries::correction(&entries, old, (at, now), kind)?;
            let before = Job::contradictions(&entries, now);
            entries.extend([void.clone(), new.clone()]);
            let after = Job::contradictions(&entries, now);
            if let Some(refusal) = after.into_iter().find(|refusal| !before.contains(refusal)) {
                return Err(Refusal::Contradicts { then: Box::new(refusal) }.into());
            }
            entries::insert(work, &void)?;
            entries::insert(work, &new)?;
            readings::put_entered(work, &new)?;
            Ok(new)
        })
    }

    /// A number that changes when another process has written to the job.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn version(&self) -> Result<i64, StoreError> {
        self.read_unchecked(|connection| {
            Ok(connection.pragma_query_value(None, "data_version", |row| row.get(0))?)
        })
    }

    /// Reads in one transaction, so that all results are consistent.
    fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T, Fault>) -> Result<T, StoreError> {
        self.read_unchecked(|connection| {
            self.check(connection)?;
            work(connection)
        })
    }

    /// The same if the tables may be damaged.
    fn read_unchecked<T>(&self, work: impl FnOnce(&Connection) -> Result<T, Fault>) -> Result<T, StoreError> {
        let read = || {
            let moment = self.connection.unchecked_transaction()?;
            work(&moment)
        };
        read().map_err(|fault: Fault| fault.at(&self.path))
    }

    /// Checks the tables once, before any read or write.
    fn check(&self, connection: &Connection) -> Result<(), Fault> {
        if !self.checked.get() {
            checksum::check_tables(connection)?;
            self.checked.set(true);
        }
        Ok(())
    }

    /// Writes all or nothing. Begins as a writer, so that reads stay valid until the write.
    fn write<T>(&mut self, work: impl FnOnce(&Transaction) -> Result<T, Fault>) -> Result<T, StoreError> {
        let write = || {
            #[cfg(test)]
            faults::check()?;
            let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            if !self.checked.get() {
                checksum::check_tables(&transaction)?;
                self.checked.set(true);
            }
            let done = work(&transaction)?;
            transaction.commit()?;
            Ok(done)
        };
        write().map_err(|fault: Fault| fault.at(&self.path))
    }
}

fn only_to_read(connection: Connection) -> Result<(i64, Connection), Fault> {
    let version = schema::version(&connection)?;
    connection.pragma_update(None, "query_only", true)?;
    Ok((version, connection))
}

fn cannot_open(error: &rusqlite::Error) -> bool {
    error.sqlite_error_code() == Some(ErrorCode::CannotOpen)
}

/// Whether an error may come from a read-only file or folder.
fn is_of_the_medium(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::SystemIoFailure | ErrorCode::DiskFull)
    )
}

fn moment(second: i64) -> Result<Moment, Fault> {
    let moment = DateTime::from_timestamp(second, 0);
    let moment = moment.filter(|moment| gate::moment("it", *moment).is_ok());
    moment.ok_or_else(|| Fault::damaged("a moment outside the years 1900…2999"))
}

/// Simulates failing writes, as on a full disk, for tests.
#[cfg(test)]
pub mod faults {
    use std::cell::Cell;

    use super::error::Fault;

    thread_local! {
        static EVERY: Cell<Option<u32>> = const { Cell::new(None) };
        static COUNT: Cell<u32> = const { Cell::new(0) };
    }

    /// Every n-th write of this thread fails; none if None.
    pub fn refuse(every: Option<u32>) {
        EVERY.set(every);
    }

    pub(super) fn check() -> Result<(), Fault> {
        let Some(every) = EVERY.get() else { return Ok(()) };
        COUNT.set(COUNT.get() + 1);
        if COUNT.get().is_multiple_of(every) {
            return Err(Fault::Io(std::io::ErrorKind::StorageFull.into()));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
