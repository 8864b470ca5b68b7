//! Whether a file is a job, of which version, and how it becomes one of the newest.

use std::io;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rusqlite::{Connection, ErrorCode, TransactionBehavior};

use super::error::Fault;
use super::{PATIENCE, checksum};

/// Written into every job, so that a file that is none is recognised: "CuRe".
const APPLICATION_ID: i32 = i32::from_be_bytes(*b"CuRe");

/// What makes a job of version n − 1 one of version n, from 1 on. One that has been released stays as it
/// is: a new version is a new line.
const MIGRATIONS: [&str; 4] = [
    include_str!("migrations/1.sql"),
    include_str!("migrations/2.sql"),
    include_str!("migrations/3.sql"),
    include_str!("migrations/4.sql"),
];

/// The version of the jobs that are written here.
pub(super) const NEWEST: i64 = MIGRATIONS.len() as i64;

/// The version of the job behind a connection, 0 where nothing is in the file yet. Changes nothing.
pub(super) fn version(connection: &Connection) -> Result<i64, Fault> {
    // All of it from one moment: another process may be making the job just now.
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

/// Makes the file a job of the newest version, if it is none yet. A job of an older version is copied first,
/// to a file beside it.
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
    // Another process may have done it while this one waited for its turn.
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

/// The copy of a job of an older version, made before it becomes one of the newest: the name of the job with
/// ".version-2.backup".
pub(super) fn backup_path(path: &Path, version: i64) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(format!(".version-{version}.backup"));
    name.into()
}

/// Copies the job as it stands, its log included. A copy that is there already is from a migration that did
/// not come to its end, or from another process: it stays.
fn back_up(connection: &Connection, path: &Path, version: i64) -> Result<(), Fault> {
    let target = backup_path(path, version);
    if target.exists() {
        return Ok(());
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Private from the start, and whole when it has its name.
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

/// Write-ahead logging, so that one who reads and one who writes do not wait for each other. SQLite does
/// not wait for its turn here by itself, as it does elsewhere.
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
