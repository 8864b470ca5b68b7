//! Whether a file is a job, of which version, and how it becomes one of the newest.

use std::thread::sleep;
use std::time::{Duration, Instant};

use rusqlite::{Connection, ErrorCode, TransactionBehavior};

use super::PATIENCE;
use super::error::Fault;

/// Written into every job, so that a file that is none is recognised: "CuRe".
const APPLICATION_ID: i32 = i32::from_be_bytes(*b"CuRe");

/// What makes a job of version n − 1 one of version n, from 1 on. One that has been released stays as it
/// is: a new version is a new line.
const MIGRATIONS: [&str; 2] = [include_str!("migrations/1.sql"), include_str!("migrations/2.sql")];

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

/// Makes the file a job of the newest version, if it is none yet.
pub(super) fn bring_up(connection: &mut Connection) -> Result<(), Fault> {
    let found = version(connection)?;
    keep_a_log(connection)?;
    if found == NEWEST {
        return Ok(());
    }
    let work = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another process may have done it while this one waited for its turn.
    let found = look(&work)?;
    for migration in MIGRATIONS.iter().skip(found as usize) {
        work.execute_batch(migration)?;
    }
    work.pragma_update(None, "application_id", APPLICATION_ID)?;
    work.pragma_update(None, "user_version", NEWEST)?;
    Ok(work.commit()?)
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
