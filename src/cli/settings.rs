//! `config --init` and `config --edit`: the settings are begun, and changed.

use std::io::{self, Write};
use std::path::Path;
use std::process::Command;

use super::setup::{config_file, read_small};
use super::{Failure, out};
use crate::app::session::SessionError;
use crate::engine::config::{Config, TEMPLATE};
use crate::engine::units::clean;

/// Begins the settings; with `edit`, opens them in the person's editor and checks them.
pub fn run(edit: bool, out: &mut dyn Write) -> Result<u8, Failure> {
    let file = config_file()?;
    let name = clean(&file.display().to_string());
    let is_there = file.exists();
    if is_there && !edit {
        return Err(Failure::Input(format!(
            "{name} exists and stays as it is; change it: curewright config --edit"
        )));
    }
    if !is_there {
        begin(&file)?;
        writeln!(out, "Wrote {name}.")?;
    }
    if edit {
        open(&file)?;
        let text = read_small(&file)?;
        Config::read(&text).map_err(|error| SessionError::Config { file: name.clone(), error })?;
        writeln!(out, "{name} is valid.")?;
    }
    Ok(0)
}

fn begin(file: &Path) -> Result<(), Failure> {
    let failed = |error| Failure::Unwritable { path: clean(&file.display().to_string()), error };
    if let Some(folder) = file.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    out::write_private(file, TEMPLATE.as_bytes(), |out| out.write_all(TEMPLATE.as_bytes()).map_err(failed))
}

/// The editor may be named with arguments of its own.
fn open(file: &Path) -> Result<(), Failure> {
    #[expect(clippy::disallowed_methods, reason = "the command line is where the environment enters")]
    let named = ["VISUAL", "EDITOR"]
        .into_iter()
        .find_map(|name| std::env::var(name).ok().filter(|value| !value.trim().is_empty()));
    let named = named.ok_or_else(|| {
        let name = clean(&file.display().to_string());
        Failure::Input(format!("no editor is known: set VISUAL or EDITOR, or open {name} yourself"))
    })?;
    let mut words = named.split_whitespace();
    let program = words.next().unwrap_or_default();
    let failed = |why: String| Failure::Input(format!("the editor \"{}\" {why}", clean(&named)));
    let status = Command::new(program).args(words).arg(file).status();
    match status {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(failed(format!("failed ({status}); the settings are as it left them"))),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            Err(failed("is not there; set VISUAL or EDITOR".into()))
        }
        Err(error) => Err(failed(format!("cannot be run: {error}"))),
    }
}
