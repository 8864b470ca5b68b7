//! `curewright profile`: lists products, shows one, checks a file, starts a new one.
//!
//! Files are opened here only; the `profile` room gives them their meaning.

use std::collections::BTreeMap;
use std::fs::OpenOptions;
use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};

use super::input;
use crate::engine::profile::{
    self, Answers, Fault, Library, Origin, Product, Question, UnknownProduct, fault_report, fill, id_from,
    is_id, profile_warnings, questions, read_profile, template, text_of, unfilled, warning_report,
};
use crate::engine::units::{Units, clean};

mod ask;
mod json;

/// Larger files are not profiles.
const LONGEST: u64 = 1 << 20;

/// Work on product profiles.
#[derive(Debug, Clone, PartialEq, Eq, clap::Subcommand)]
pub enum ProfileCommand {
    /// List all products: built in, and your own.
    List,
    /// Show a product: its times over the temperature, its recoat windows, its cautions.
    Show {
        /// The product's id, as `profile list` shows it.
        id: String,
    },
    /// Check a profile: every error with line, column and remedy.
    Check {
        /// The profile, a TOML file.
        file: PathBuf,
    },
    /// Begin a profile of your own, with every line explained.
    New {
        /// The id it is to have: a to z, 0 to 9 and hyphens.
        id: Option<String>,
        /// Write it to this file, which must not exist yet; without it, it is printed.
        #[arg(long, value_name = "FILE")]
        file: Option<PathBuf>,
        /// Ask for the figures of the data sheet and fill them in.
        #[arg(long, requires = "file")]
        ask: bool,
    },
}

/// Why a `profile` command failed.
#[derive(Debug, thiserror::Error)]
pub enum ProfileError {
    /// There is no such product.
    #[error(transparent)]
    Unknown(#[from] UnknownProduct),
    /// The id for a new profile will not do.
    #[error("\"{0}\" is not a product id; use a to z, 0 to 9 and hyphens, a letter or digit first")]
    BadId(String),
    /// A new profile would overwrite a file.
    #[error("{0} exists and stays as it is; choose another file")]
    Exists(String),
    /// The answers ended where one was needed.
    #[error("the answers ended before the question \"{0}\", which a profile needs")]
    NoAnswer(String),
    /// A file or the answers could not be read.
    #[error("{file} cannot be read: {source}")]
    Read {
        /// What was to be read.
        file: String,
        /// Why not.
        source: io::Error,
    },
    /// A file could not be written.
    #[error("{file} cannot be written: {source}")]
    Write {
        /// What was to be written.
        file: String,
        /// Why not.
        source: io::Error,
    },
    /// The output could not be written.
    #[error("cannot write the answer: {0}")]
    Output(#[from] io::Error),
}

impl ProfileError {
    /// The exit status: 2 for wrong input, 3 where disk or terminal failed.
    pub const fn status(&self) -> u8 {
        match self {
            Self::Unknown(_) | Self::BadId(_) | Self::Exists(_) | Self::NoAnswer(_) => 2,
            Self::Read { .. } | Self::Write { .. } | Self::Output(_) => 3,
        }
    }
}

/// Does what the command says. The answer goes to `out`, for a terminal of `width` columns; questions
/// are answered on `input`.
///
/// Returns the exit status: 0, or 1 where a profile has faults.
///
/// # Errors
/// [`ProfileError`], with its own exit status.
pub fn run(
    command: &ProfileCommand,
    library: &Library,
    units: &Units,
    json: bool,
    width: u16,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
) -> Result<u8, ProfileError> {
    match command {
        ProfileCommand::List => list(library, json, width, out),
        ProfileCommand::Show { id } => {
            let product = library.get(id)?;
            if json {
                json::write(out, &json::Sheet::of(product))?;
            } else {
                out.write_all(profile::sheet(product, units, width).as_bytes())?;
            }
            Ok(0)
        }
        ProfileCommand::Check { file } => check(file, library, json, out),
        ProfileCommand::New { id, file, ask } => {
            if let Some(id) = id.as_ref().filter(|id| !is_id(id)) {
                return Err(ProfileError::BadId(clean(id)));
            }
            // Before the questions, so that nobody answers fourteen of them in vain.
            if let Some(file) = file.as_ref().filter(|file| file.exists()) {
                return Err(ProfileError::Exists(named(file)));
            }
            if *ask {
                return new_from_answers(id.as_deref(), file.as_deref(), library, units, input, out);
            }
            let text = template(id.as_deref().unwrap_or("my-product"));
            deliver(&text, file.as_deref(), out)?;
            Ok(0)
        }
    }
}

fn list(library: &Library, json: bool, width: u16, out: &mut dyn Write) -> Result<u8, ProfileError> {
    if json {
        json::write(out, &json::List::of(library))?;
        return Ok(0);
    }
    let products: Vec<&Product> = library.iter().collect();
    let longest =
        |text: fn(&Product) -> &str| products.iter().map(|p| text(p).chars().count()).max().unwrap_or(0);
    let (ids, names) = (longest(|p| &p.id), longest(|p| &p.name));
    for product in &products {
        let mut line = format!("{:ids$}  {:names$}", product.id, product.name);
        let family = format!("  {}, {}", product.family, product.cure.key());
        if line.chars().count() + family.chars().count() <= usize::from(width) {
            line += &family;
        }
        writeln!(out, "{}", line.trim_end())?;
        if let Origin::File(path) = &product.origin {
            writeln!(out, "{:ids$}  from {}", "", named(path))?;
        }
    }
    let mut faulty: BTreeMap<&str, usize> = BTreeMap::new();
    for fault in library.faults() {
        *faulty.entry(&fault.file).or_default() += 1;
    }
    for (file, count) in faulty {
        let noun = if count == 1 { "fault" } else { "faults" };
        writeln!(
            out,
            "{file} cannot be used: {count} {noun}. \"curewright profile check {file}\" shows them"
        )?;
    }
    Ok(0)
}

fn check(file: &Path, library: &Library, json: bool, out: &mut dyn Write) -> Result<u8, ProfileError> {
    let unreadable = |source| ProfileError::Read { file: named(file), source };
    let bytes = input::beginning(file, LONGEST).map_err(unreadable)?;
    if bytes.len() as u64 > LONGEST {
        return Err(unreadable(io::Error::other("it is larger than 1 MiB, too large for a profile")));
    }
    let origin = Origin::File(file.to_owned());
    let (text, read) = match text_of(bytes, file) {
        Ok(text) => {
            let read = read_profile(&text, origin);
            (text, read)
        }
        Err(fault) => (String::new(), Err(vec![fault])),
    };
    let warnings = profile_warnings(&text, Origin::File(file.to_owned()), library);
    if json {
        json::write(out, &json::Verdict::of(&named(file), &read, &warnings))?;
    } else {
        match &read {
            Ok(product) => {
                writeln!(out, "{} is a valid profile: {} ({}).", named(file), product.name, product.id)?;
                if let Some(hint) = unfilled(product) {
                    writeln!(out, "{hint}")?;
                }
                if !warnings.is_empty() {
                    write!(out, "\n{}", warning_report(&warnings, &text))?;
                }
            }
            Err(faults) => out.write_all(fault_report(faults, &text).as_bytes())?,
        }
    }
    Ok(u8::from(read.is_err()))
}

fn new_from_answers(
    id: Option<&str>,
    file: Option<&Path>,
    library: &Library,
    units: &Units,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
) -> Result<u8, ProfileError> {
    let answers = ask::answers(units, input, out)?;
    let made = id_from(answers.get(Question::Name).unwrap_or_default());
    let id = id.unwrap_or(&made);
    let text = fill(id, &answers);
    deliver(&text, file, out)?;
    if library.ids().any(|known| known == id) {
        writeln!(out, "In your folder of profiles it replaces the product with the same id, \"{id}\".")?;
    }
    let origin = file.map_or(Origin::BuiltIn, |file| Origin::File(file.to_owned()));
    match read_profile(&text, origin) {
        Ok(_) => Ok(0),
        Err(faults) => {
            writeln!(out, "Some answers contradict each other:\n")?;
            out.write_all(fault_report(&faults, &text).as_bytes())?;
            Ok(1)
        }
    }
}

/// Writes a new profile to its file, or to the output where it has none.
fn deliver(text: &str, file: Option<&Path>, out: &mut dyn Write) -> Result<(), ProfileError> {
    let Some(file) = file else {
        out.write_all(text.as_bytes())?;
        return Ok(());
    };
    let unwritable = |source: io::Error| {
        if source.kind() == io::ErrorKind::AlreadyExists {
            ProfileError::Exists(named(file))
        } else {
            ProfileError::Write { file: named(file), source }
        }
    };
    let mut sheet = OpenOptions::new().write(true).create_new(true).open(file).map_err(unwritable)?;
    if let Err(error) = sheet.write_all(text.as_bytes()).and_then(|()| sheet.sync_all()) {
        // A partial profile would block the next attempt.
        let _ = std::fs::remove_file(file);
        return Err(unwritable(error));
    }
    writeln!(out, "Wrote {0}. When it is complete: curewright profile check {0}", named(file))?;
    Ok(())
}

/// A file name as shown.
fn named(file: &Path) -> String {
    input::name(file)
}

#[cfg(test)]
mod tests;
