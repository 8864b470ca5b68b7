//! What is made for others: on standard output, or in a file that is whole or as it was before.

use std::fs::{File, Permissions};
use std::io::{self, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use super::Failure;
use crate::units::clean;

/// Whether a file that was named means standard output.
pub fn is_stdout(file: Option<&Path>) -> bool {
    file.is_none_or(|file| file.as_os_str() == "-")
}

/// Writes a text to a file, all of it or nothing: it is laid beside it first, and takes its place when it is
/// on the disk.
pub fn write_whole(file: &Path, text: &[u8]) -> Result<(), Failure> {
    let failed = |error: io::Error| Failure::File { path: clean(&file.display().to_string()), error };
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if file.is_dir() {
        return Err(failed(io::ErrorKind::IsADirectory.into()));
    }
    let mut builder = tempfile::Builder::new();
    // It is for others: as readable as any file that the person makes.
    builder.prefix(".curewright-").permissions(Permissions::from_mode(0o666));
    let mut beside = builder.tempfile_in(folder).map_err(failed)?;
    beside.write_all(text).and_then(|()| beside.as_file().sync_all()).map_err(failed)?;
    beside.persist(file).map_err(|error| failed(error.error))?;
    // Some file systems have no folder that could be synced.
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
    Ok(())
}
