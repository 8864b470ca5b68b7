//! Whether the open file is still the job at its path: it may be deleted or replaced while open.

use std::cell::Cell;
use std::path::Path;

use rusqlite::config::DbConfig;

use super::Store;
use super::file::beside;
use crate::io::platform::{FileId, file_id};

/// What happened to the file of an open job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Displaced {
    /// It was deleted.
    Removed,
    /// It was replaced.
    Replaced,
    /// A file beside it, part of it while open, was deleted or replaced.
    LogRemoved,
}

/// The identities of the opened files.
#[derive(Debug)]
pub(super) struct Identity {
    job: Option<FileId>,
    /// These appear with the first use.
    log: Cell<Option<FileId>>,
    index: Cell<Option<FileId>>,
}

impl Identity {
    pub(super) fn of(path: &Path) -> Self {
        Self {
            job: file_id(path),
            log: Cell::new(file_id(&beside(path, "-wal"))),
            index: Cell::new(file_id(&beside(path, "-shm"))),
        }
    }
}

/// Whether a file beside the job was replaced; a new one is recorded.
fn has_changed(noted: &Cell<Option<FileId>>, found: Option<FileId>) -> bool {
    match (noted.get(), found) {
        (None, found) => {
            noted.set(found);
            false
        }
        (noted, found) => noted != found,
    }
}

impl Store {
    /// What happened to the file while it was open; None if it is in place.
    pub fn displaced(&self) -> Option<Displaced> {
        // A copy is of a read-only disk.
        let known = self.identity.job.filter(|_| self._copy.is_none())?;
        match file_id(&self.path) {
            None => return Some(Displaced::Removed),
            Some(found) if found != known => return Some(Displaced::Replaced),
            Some(_) => {}
        }
        let log = has_changed(&self.identity.log, file_id(&beside(&self.path, "-wal")));
        let index = has_changed(&self.identity.index, file_id(&beside(&self.path, "-shm")));
        (log || index).then_some(Displaced::LogRemoved)
    }

    /// Closes a job whose file was displaced. If only its log was deleted, its content is saved first: this
    /// connection still has it.
    pub fn leave(self) {
        let log_is_gone = file_id(&beside(&self.path, "-wal")).is_none();
        if self.displaced() == Some(Displaced::LogRemoved) && log_is_gone {
            // What cannot be saved is lost in any case: the person has deleted it.
            let _ = self.connection.pragma_update(None, "query_only", false);
            let _ = self.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
        }
        // Nothing is written on closing: another process may have started a log of its own.
        let _ = self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true);
    }
}
