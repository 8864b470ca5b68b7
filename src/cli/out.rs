//! Output for others: to standard output, or to a file that is replaced as a whole.

use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::Failure;
use crate::app::report::{PAGE_MARK, TEXT_MARK};
use crate::engine::units::clean;
use crate::io::platform::{Rights, sync_folder};

/// Whether a file name means standard output.
pub fn is_stdout(file: Option<&Path>) -> bool {
    file.is_none_or(|file| file.as_os_str() == "-")
}

/// Writes a text to a file, all or nothing, with the usual permissions.
///
/// # Errors
/// If it cannot be written, or is a file of another program.
pub fn write_whole(file: &Path, text: &[u8]) -> Result<(), Failure> {
    let path = &replaceable(file, mark(text))?;
    let write = |out: &mut dyn Write| out.write_all(text).map_err(|error| failed(file, error));
    write_aside(file, path, &Rights::USUAL, write)
}

/// Writes a private file that begins with `head`, all or nothing.
///
/// # Errors
/// If it cannot be written, or is a file of another program.
pub fn write_private(
    file: &Path,
    head: &[u8],
    write: impl FnOnce(&mut dyn Write) -> Result<(), Failure>,
) -> Result<(), Failure> {
    write_aside(file, &replaceable(file, head)?, &Rights::PRIVATE, write)
}

/// The beginning of a file that may be replaced: the mark of a report; for a table, which has none, its first
/// line.
fn mark(text: &[u8]) -> &[u8] {
    let marks = [PAGE_MARK.as_bytes(), TEXT_MARK.as_bytes()];
    let of_a_report = marks.into_iter().find(|mark| text.starts_with(mark));
    of_a_report.unwrap_or_else(|| text.split_inclusive(|byte| *byte == b'\n').next().unwrap_or_default())
}

/// Whether a file may be written: it does not exist, or was written by this program.
fn replaceable(file: &Path, mark: &[u8]) -> Result<PathBuf, Failure> {
    let Ok(path) = file.canonicalize() else { return Ok(file.to_owned()) };
    let found = fs::metadata(&path).map_err(|error| failed(file, error))?;
    if found.is_dir() {
        return Ok(path);
    }
    let name = clean(&file.display().to_string());
    if !found.is_file() {
        return Err(Failure::Input(format!(
            "{name} is not a regular file; name another one, or - to print it"
        )));
    }
    let mut there = Vec::new();
    let begin = mark.len().max(1) as u64;
    let read = File::open(&path).and_then(|opened| opened.take(begin).read_to_end(&mut there));
    read.map_err(|error| failed(file, error))?;
    if there.is_empty() || (!mark.is_empty() && there.starts_with(mark)) {
        return Ok(path);
    }
    Err(Failure::Input(format!("{name} exists and holds something else; name another file, or move it")))
}

/// Replaces a file, all or nothing: a link is followed, and its permissions are kept.
pub fn rewrite(file: &Path, text: &[u8]) -> Result<(), Failure> {
    let path =
        file.canonicalize().or_else(|_| std::path::absolute(file)).map_err(|error| failed(file, error))?;
    write_aside(file, &path, &Rights::of(&path), |out| {
        out.write_all(text).map_err(|error| failed(file, error))
    })
}

/// Writes a temporary file beside it and renames it when it is on the disk. `path` is the target, `file` its
/// name in messages.
fn write_aside(
    file: &Path,
    path: &Path,
    rights: &Rights,
    write: impl FnOnce(&mut dyn Write) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if path.is_dir() {
        return Err(failed(file, io::ErrorKind::IsADirectory.into()));
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(ASIDE);
    rights.give(&mut builder);
    let beside = builder.tempfile_in(folder).map_err(|error| failed(file, error))?;
    sweep(folder, beside.as_file());
    let mut out = BufWriter::new(beside);
    write(&mut out)?;
    let beside = out.into_inner().map_err(|error| failed(file, error.into_error()))?;
    beside.as_file().sync_all().map_err(|error| failed(file, error))?;
    beside.persist(path).map_err(|error| failed(file, error.error))?;
    // Some file systems cannot sync a folder.
    let _ = sync_folder(folder);
    Ok(())
}

/// Leftovers of a killed write are older than this.
const LEFT_FOR: Duration = Duration::from_secs(3600);
const ASIDE: &str = ".curewright-";

/// Removes leftovers of killed writes in a folder: files with their name pattern, older than any write takes.
/// `new` is the current one.
fn sweep(folder: &Path, new: &File) {
    let Ok(now) = new.metadata().and_then(|new| new.modified()) else { return };
    for left in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = left.file_name();
        let is_ours = name
            .to_str()
            .and_then(|name| name.strip_prefix(ASIDE))
            .is_some_and(|rest| rest.len() == 6 && rest.bytes().all(|byte| byte.is_ascii_alphanumeric()));
        let is_old = |found: fs::Metadata| {
            let age = found.modified().ok().and_then(|made| now.duration_since(made).ok());
            found.is_file() && age.is_some_and(|age| age > LEFT_FOR)
        };
        // A leftover that cannot be removed stays; the write succeeds anyway.
        if is_ours && left.metadata().is_ok_and(is_old) {
            let _ = fs::remove_file(left.path());
        }
    }
}

fn failed(file: &Path, error: io::Error) -> Failure {
    Failure::Unwritable { path: clean(&file.display().to_string()), error }
}
