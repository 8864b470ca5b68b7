//! The version of a job, and its migration to the newest.

use std::io;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rusqlite::{Connection, ErrorCode, TransactionBehavior};

use super::error::Fault;
use super::{PATIENCE, checksum};

/// Application id of a job file: "CuRe".
const APPLICATION_ID: i32 = i32::from_be_bytes(*b"CuRe");

/// The migrations: item n makes version n from version n − 1. Released ones never change: a new version is a
/// new line.
const MIGRATIONS: [&str; 5] = [
    include_str!("migrations/1.sql"),
    include_str!("migrations/2.sql"),
    include_str!("migrations/3.sql"),
    include_str!("migrations/4.sql"),
    include_str!("migrations/5.sql"),
];

/// The version of new jobs.
pub(super) const NEWEST: i64 = MIGRATIONS.len() as i64;

/// The version of an open job, 0 for an empty file. Changes nothing.
pub(super) fn version(connection: &Connection) -> Result<i64, Fault> {
    // One transaction: another process may be creating the job.
    look(&*connection.unchecked_transaction()?)
}

fn look(connection: &Connection) -> Result<i64, Fault> {
    let ask = |pragma| connection.pragma_query_value(None, pragma, |row| row.get::<_, i64>(0));
    let (application, version) = (ask("application_id")?, ask("user_version")?);
    let things: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if application == 0 && version == 0 && things == 0 {
        return Ok(0);
    }
    if application != i64::from(APPLICATION_ID) || version < 1 {
        return Err(Fault::NotAJob);
    }
    if version > NEWEST {
        return Err(Fault::NewerVersion { found: version, known: NEWEST });
    }
    Ok(version)
}

/// Creates or migrates the job to the newest version. An older job is copied first, to a file beside it.
pub(super) fn bring_up(connection: &mut Connection, path: &Path) -> Result<(), Fault> {
    let found = version(connection)?;
    keep_a_log(connection)?;
    if found == NEWEST {
        return Ok(());
    }
    if found > 0 {
        back_up(connection, path, found)?;
    }
    let work = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another process may have done it in the meantime.
    let found = look(&work)?;
    for migration in MIGRATIONS.iter().skip(found as usize) {
        work.execute_batch(migration)?;
    }
    checksum::add_where_missing(&work)?;
    checksum::keep_tables(&work)?;
    work.pragma_update(None, "application_id", APPLICATION_ID)?;
    work.pragma_update(None, "user_version", NEWEST)?;
    Ok(work.commit()?)
}

/// The backup of an older job before its migration: the name of the job with ".version-2.backup".
pub(super) fn backup_path(path: &Path, version: i64) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(format!(".version-{version}.backup"));
    name.into()
}

/// Copies the job with its log. An existing copy is from an unfinished migration or another process: it stays.
fn back_up(connection: &Connection, path: &Path, version: i64) -> Result<(), Fault> {
    let target = backup_path(path, version);
    if target.exists() {
        return Ok(());
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Private from the start, and complete when it gets its name.
    let copy =
        tempfile::Builder::new().prefix(".curewright-backup").tempfile_in(folder).map_err(Fault::Io)?;
    let shown = copy.path().to_str().ok_or_else(|| Fault::Io(io::ErrorKind::InvalidFilename.into()))?;
    connection.execute("VACUUM INTO ?1", [shown])?;
    copy.as_file().sync_all().map_err(Fault::Io)?;
    match copy.persist_noclobber(&target) {
        Err(error) if error.error.kind() != io::ErrorKind::AlreadyExists => Err(Fault::Io(error.error)),
        _ => crate::io::platform::sync_folder(folder).map_err(Fault::Io),
    }
}

/// Write-ahead logging, so that readers and writers do not block each other. Here SQLite does not apply the
/// busy timeout by itself.
fn keep_a_log(connection: &Connection) -> Result<(), Fault> {
    let until = Instant::now() + PATIENCE;
    loop {
        let set = connection.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(()));
        match set {
            Err(error)
                if error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) && Instant::now() < until =>
            {
                sleep(Duration::from_millis(10));
            }
            done => return Ok(done?),
        }
    }
}
