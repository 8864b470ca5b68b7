//! The job's file on the disk: creation, permissions, durability, opening.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};
use tempfile::TempDir;

use super::PATIENCE;
use crate::io::platform::{address_of, make_private_file, make_private_folder, sync_folder};

/// The absolute path of the job, with its file and folder created if missing. SQLite gives the files beside it
/// the same permissions, so these are set first.
pub(super) fn make(path: &Path) -> io::Result<PathBuf> {
    let path = std::path::absolute(path)?;
    let folder = path.parent().unwrap_or(Path::new("/"));
    make_folder(folder)?;
    match make_private_file(&path) {
        Ok(file) => {
            file.sync_all()?;
            sync_folder(folder)?;
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
        Err(error) => return Err(error),
    }
    Ok(path)
}

fn make_folder(folder: &Path) -> io::Result<()> {
    let Some(parent) = folder.parent().filter(|_| !folder.is_dir()) else { return Ok(()) };
    make_folder(parent)?;
    match make_private_folder(folder) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        Err(error) => Err(error),
        Ok(()) => sync_folder(parent),
    }
}

/// A connection to an existing file.
pub(super) fn connect(path: &Path) -> rusqlite::Result<Connection> {
    set_up(Connection::open_with_flags(
        path,
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?)
}

/// A connection that reads a job in a read-only folder, where SQLite cannot create its shared files. A
/// write-ahead log beside it counts too: it is applied in a copy, which lives as long as the returned folder.
pub(super) fn connect_as_it_lies(path: &Path) -> io::Result<(rusqlite::Result<Connection>, Option<TempDir>)> {
    if has_log(path) {
        let (copy, folder) = copy(path)?;
        return Ok((connect(&copy), Some(folder)));
    }
    let flags =
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    Ok((Connection::open_with_flags(unchanging(path), flags).and_then(set_up), None))
}

/// A copy of a job with its write-ahead log, which lives as long as the returned folder.
pub(super) fn copy(path: &Path) -> io::Result<(PathBuf, TempDir)> {
    let folder = tempfile::tempdir()?;
    let copy = folder.path().join("job");
    let mut files = vec![(path.to_owned(), copy.clone())];
    if has_log(path) {
        files.push((beside(path, "-wal"), beside(&copy, "-wal")));
    }
    for (from, to) in files {
        // Permissions are not copied: the original may be read-only.
        let mut to = make_private_file(&to)?;
        io::copy(&mut File::open(from)?, &mut to)?;
    }
    Ok((copy, folder))
}

fn has_log(path: &Path) -> bool {
    fs::metadata(beside(path, "-wal")).map_or(0, |log| log.len()) > 0
}

/// Whether there is a file that this user may read.
pub(super) fn can_be_read(path: &Path) -> bool {
    File::open(path).and_then(|file| file.metadata()).is_ok_and(|found| found.is_file())
}

fn set_up(connection: Connection) -> rusqlite::Result<Connection> {
    connection.busy_timeout(PATIENCE)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // A job may come from another person: its schema is not trusted.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    Ok(connection)
}

pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// The file as a URI with SQLite's `immutable` flag.
fn unchanging(path: &Path) -> String {
    format!("{}?immutable=1", address_of(path))
}
