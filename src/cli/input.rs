//! Files that are read: those that were named, or standard input where the name is "-".

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use crate::engine::units::clean;

/// What a file is called in an answer.
pub fn name(file: &Path) -> String {
    if is_stdin(file) { "standard input".into() } else { clean(&file.display().to_string()) }
}

fn is_stdin(file: &Path) -> bool {
    file.as_os_str() == "-"
}

/// Opens a file, or standard input.
pub fn open(file: &Path) -> io::Result<Box<dyn Read>> {
    if is_stdin(file) {
        return Ok(Box::new(io::stdin().lock()));
    }
    let opened = File::open(file)?;
    if opened.metadata()?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    Ok(Box::new(opened))
}

/// The first bytes of a file: one more than the limit, so that what is too long can be distinguished.
pub fn beginning(file: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open(file)?.take(limit + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}
