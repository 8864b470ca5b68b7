//! Whether the open file is still the job at its path: it may be deleted, or made anew, while it is open.

use std::cell::Cell;
use std::path::Path;

use rusqlite::config::DbConfig;

use super::Store;
use super::file::beside;
use crate::io::platform::{FileId, file_id};

/// What became of the file of a job while it was open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Displaced {
    /// It is gone.
    Removed,
    /// Another file is in its place.
    Replaced,
    /// A file beside it, which belongs to it while it is open, was deleted or replaced.
    LogRemoved,
}

/// Which files were opened.
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

/// Whether a file beside the job is no longer the one that was open; one that is seen first is noted.
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
    /// What became of the file while it was open; None while it is where it was.
    pub fn displaced(&self) -> Option<Displaced> {
        // A copy is of a disk that cannot be written.
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

    /// Closes a job whose file was displaced. Where only its log was deleted, what stands in the log is saved
    /// first: this connection still holds it.
    pub fn leave(self) {
        let log_is_gone = file_id(&beside(&self.path, "-wal")).is_none();
        if self.displaced() == Some(Displaced::LogRemoved) && log_is_gone {
            // What cannot be saved is lost with or without a word here: the person has deleted it.
            let _ = self.connection.pragma_update(None, "query_only", false);
            let _ = self.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
        }
        // Nothing is written on closing: another process may have begun a log of its own.
        let _ = self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true);
    }
}
