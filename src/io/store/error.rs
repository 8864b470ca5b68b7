//! Errors of a job's file, in sentences that name the file and the remedy.

use std::io;
use std::path::Path;

use rusqlite::ErrorCode;

use crate::engine::job::Refusal;
use crate::engine::job::gate::Improper;
use crate::engine::units::clean;

/// Why a job could not be opened, read or written. A failed write leaves no trace.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The file is something else.
    #[error("{path} is not a job; choose another file with --job")]
    NotAJob {
        /// The file, as it is shown.
        path: String,
    },
    /// A pipe, a device or the like.
    #[error("{path} is not a regular file but a device or a pipe; choose another file with --job")]
    NoOrdinaryFile {
        /// The file, as it is shown.
        path: String,
    },
    /// The job has a later version.
    #[error(
        "{path} was written by a newer curewright (jobs of version {found}, this one knows {known}); update curewright to open it"
    )]
    NewerVersion {
        /// The file, as it is shown.
        path: String,
        /// The version of the job.
        found: i64,
        /// The newest version known here.
        known: i64,
    },
    /// The file, its folder or its disk is read-only.
    #[error(
        "{path} cannot be written: the file, its folder or its disk is read-only; copy the job to a folder where you can write"
    )]
    ReadOnly {
        /// The file, as it is shown.
        path: String,
    },
    /// The disk is full.
    #[error("the disk that holds {path} is full, and nothing is written; free some space and try again")]
    DiskFull {
        /// The file, as it is shown.
        path: String,
    },
    /// Another process held the lock for too long.
    #[error("another program is still writing to {path}; try again in a moment")]
    Locked {
        /// The file, as it is shown.
        path: String,
    },
    /// The file cannot be opened or created.
    #[error("{path} cannot be opened ({why}); check the path and its permissions")]
    CannotOpen {
        /// The file, as it is shown.
        path: String,
        /// The system's message.
        why: String,
    },
    /// The job is damaged.
    #[error(
        "{path} is damaged ({what}); keep a copy of it as it is; \"curewright check-job\" shows what is valid and saves it"
    )]
    Damaged {
        /// The file, as it is shown.
        path: String,
        /// The damage.
        what: String,
    },
    /// The target of an import is not empty.
    #[error("{path} already has a job; name a new file with --job")]
    NotEmpty {
        /// The file, as it is shown.
        path: String,
    },
    /// The written data could not be read again.
    #[error("{what} cannot be written to {path}; nothing is written")]
    Unwritable {
        /// The file, as it is shown.
        path: String,
        /// The data.
        what: &'static str,
    },
    /// The data cannot be part of a job.
    #[error("{0}; nothing is recorded")]
    Improper(#[from] Improper),
    /// Another error of the disk or SQLite.
    #[error("{path} cannot be used ({source}); check the disk")]
    Failed {
        /// The file, as it is shown.
        path: String,
        /// The message.
        source: rusqlite::Error,
    },
    /// The entry breaks a rule of the record.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

impl StoreError {
    pub(super) fn from_io(path: &Path, error: &io::Error) -> Self {
        let path = shown(path);
        match error.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::DiskFull { path },
            _ => Self::CannotOpen { path, why: clean(&error.to_string()) },
        }
    }
}

/// The path, cleaned for a terminal.
pub(super) fn shown(path: &Path) -> String {
    clean(&path.to_string_lossy())
}

/// The error, without the path.
#[derive(Debug)]
pub(super) enum Fault {
    Sqlite(rusqlite::Error),
    Io(io::Error),
    NotAJob,
    NewerVersion { found: i64, known: i64 },
    ReadOnly,
    NotEmpty,
    Damaged(String),
    Unwritable(&'static str),
    Improper(Improper),
    Refused(Refusal),
}

impl Fault {
    pub(super) fn damaged(what: impl Into<String>) -> Self {
        Self::Damaged(what.into())
    }

    /// The error of a part of a job, in words.
    pub(super) fn what(self) -> String {
        match self {
            Self::Damaged(what) => what,
            Self::Sqlite(error) => clean(&error.to_string()),
            other => other.at(Path::new("the job")).to_string(),
        }
    }

    pub(super) fn at(self, path: &Path) -> StoreError {
        if let Self::Io(error) = &self {
            return StoreError::from_io(path, error);
        }
        let path = shown(path);
        match self {
            Self::Io(error) => StoreError::CannotOpen { path, why: clean(&error.to_string()) },
            Self::Sqlite(error) => from_sqlite(path, error),
            Self::NotAJob => StoreError::NotAJob { path },
            Self::NewerVersion { found, known } => StoreError::NewerVersion { path, found, known },
            Self::ReadOnly => StoreError::ReadOnly { path },
            Self::NotEmpty => StoreError::NotEmpty { path },
            Self::Damaged(what) => StoreError::Damaged { path, what },
            Self::Unwritable(what) => StoreError::Unwritable { path, what },
            Self::Improper(improper) => StoreError::Improper(improper),
            Self::Refused(refusal) => StoreError::Refused(refusal),
        }
    }
}

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sqlite(error)
    }
}

impl From<Improper> for Fault {
    fn from(improper: Improper) -> Self {
        Self::Improper(improper)
    }
}

impl From<Refusal> for Fault {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

fn from_sqlite(path: String, error: rusqlite::Error) -> StoreError {
    // SQLite reports a full disk this way if the shared-memory file cannot grow.
    // a full disk there.
    if error.sqlite_extended_error_code() == Some(rusqlite::ffi::SQLITE_IOERR_SHMSIZE) {
        return StoreError::DiskFull { path };
    }
    let what = clean(&error.to_string());
    match error.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => StoreError::NotAJob { path },
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => StoreError::ReadOnly { path },
        Some(ErrorCode::DiskFull) => StoreError::DiskFull { path },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Locked { path },
        Some(ErrorCode::CannotOpen) => StoreError::CannotOpen { path, why: what },
        Some(ErrorCode::DatabaseCorrupt) => StoreError::Damaged { path, what },
        _ => StoreError::Failed { path, source: error },
    }
}
