//! The setup of every command: paths, settings, products, words.

use std::fs;
use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use etcetera::BaseStrategy;
use serde_json::json;

use super::args::{Arguments, When};
use super::profile::{self, ProfileCommand};
use super::{Failure, input, json};
use crate::app::session::{Clock, Session, SessionError};
use crate::app::wording::Words;
use crate::engine::config::{Config, TEMPLATE};
use crate::engine::profile::{Fault, Library, text_of};
use crate::engine::units::{Civil, ClockFace, Moment, clean, parse_when};

/// The result of arguments, environment and settings.
pub struct Setup {
    pub job: PathBuf,
    pub config: Config,
    pub library: Library,
    pub words: Words,
    pub at: Option<Moment>,
    pub json: bool,
    pub quiet: bool,
    pub color: When,
    config_file: PathBuf,
    config_found: bool,
}

/// Larger files are not written by hand.
const SMALL: u64 = 1 << 20;

impl Setup {
    /// Reads the settings and the profiles that the arguments and the environment name.
    pub fn gather(arguments: &Arguments) -> Result<Self, Failure> {
        let home = home()?;
        let config_file = config_file()?;
        let text = read_if_there(&config_file)?;
        let config = text
            .as_deref()
            .map(Config::read)
            .transpose()
            .map_err(|error| SessionError::Config { file: config_file.display().to_string(), error })?;
        let config_found = config.is_some();
        let config = config.unwrap_or_default();
        let face = config.clock.unwrap_or_else(face_of_locale);
        let words = Words { civil: Civil::new(chrono::Local, face), units: config.units };
        let at = match &arguments.at {
            Some(text) => {
                Some(parse_when(text, Clock::Wall.now(), &words.civil).map_err(SessionError::from)?)
            }
            None => None,
        };
        let mut library = Library::built_in();
        let own = home.config_dir().join("curewright").join("profiles");
        add_profiles(&mut library, &own, false)?;
        if let Some(folder) = &arguments.profiles {
            add_profiles(&mut library, folder, true)?;
        }
        let job = arguments.job.clone().unwrap_or_else(|| home.data_dir().join("curewright").join("job.db"));
        Ok(Self {
            job,
            config,
            library,
            words,
            at,
            json: arguments.json,
            quiet: arguments.quiet,
            color: arguments.color,
            config_file,
            config_found,
        })
    }

    /// Opens the job to be shown.
    pub fn session(&self) -> Result<Session<'_>, Failure> {
        self.session_at(self.at.map_or(Clock::Wall, Clock::At))
    }

    /// Opens the job with a clock.
    pub fn session_at(&self, clock: Clock) -> Result<Session<'_>, Failure> {
        self.session_on(&self.job, clock)
    }

    /// Opens another job.
    pub fn session_on(&self, job: &Path, clock: Clock) -> Result<Session<'_>, Failure> {
        let mut config = self.config.clone();
        // Even with a fast clock nothing is repeated within a minute of real time.
        config.leads.repeat = config.leads.repeat.max(TimeDelta::minutes(clock.speed().into()));
        Ok(Session::open(job, &self.library, config, self.words.clone(), clock)?)
    }

    /// Prints profiles that could not be used to standard error; the others are available.
    pub fn tell_faults(&self) {
        let mut stderr = io::stderr().lock();
        for fault in self.library.faults() {
            let _ = writeln!(stderr, "curewright: {fault}");
        }
    }

    pub fn profile(&self, command: &ProfileCommand, out: &mut dyn Write) -> Result<u8, Failure> {
        self.tell_faults();
        let mut input: Box<dyn BufRead> = Box::new(io::BufReader::new(io::stdin()));
        let width = crossterm::terminal::size().map_or(80, |(columns, _)| columns);
        let units = &self.config.units;
        Ok(profile::run(command, &self.library, units, self.json, width, &mut *input, out)?)
    }

    pub fn show_config(&self, out: &mut dyn Write) -> Result<u8, Failure> {
        let file = clean(&self.config_file.display().to_string());
        if self.json {
            let job = clean(&self.job.display().to_string());
            json(out, &json!({ "config": file, "found": self.config_found, "job": job }))?;
            return Ok(0);
        }
        let found = if self.config_found { "read" } else { "not there: the values below apply" };
        writeln!(out, "# {file} ({found})\n# job: {}\n", clean(&self.job.display().to_string()))?;
        match read_if_there(&self.config_file)? {
            Some(text) => text.lines().try_for_each(|line| writeln!(out, "{}", clean(line)))?,
            None => write!(out, "{TEMPLATE}")?,
        }
        Ok(0)
    }
}

fn home() -> Result<impl BaseStrategy, Failure> {
    etcetera::choose_base_strategy()
        .map_err(|error| Failure::Input(format!("no home folder is known ({error}); set HOME")))
}

/// Where the settings are.
pub fn config_file() -> Result<PathBuf, Failure> {
    Ok(home()?.config_dir().join("curewright").join("config.toml"))
}

/// Reads a small file that a person has written.
pub fn read_small(path: &Path) -> Result<String, Failure> {
    let shown = input::name(path);
    match read_bytes(path).map(String::from_utf8) {
        Ok(Ok(text)) => Ok(text),
        Ok(Err(_)) => Err(Failure::Input(format!("{shown} is not UTF-8 text; save it as UTF-8"))),
        Err(error) => Err(Failure::File { path: shown, error }),
    }
}

fn read_bytes(path: &Path) -> io::Result<Vec<u8>> {
    let bytes = input::beginning(path, SMALL)?;
    if bytes.len() as u64 > SMALL {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "larger than 1 MiB"));
    }
    Ok(bytes)
}

fn read_if_there(path: &Path) -> Result<Option<String>, Failure> {
    match read_small(path) {
        Ok(text) => Ok(Some(text)),
        Err(Failure::File { error, .. }) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

fn add_profiles(library: &mut Library, folder: &Path, wanted: bool) -> Result<(), Failure> {
    let failed = |error| Failure::File { path: clean(&folder.display().to_string()), error };
    let files = match fs::read_dir(folder) {
        Ok(files) => files,
        Err(error) if error.kind() == io::ErrorKind::NotFound && !wanted => return Ok(()),
        Err(error) => return Err(failed(error)),
    };
    let mut paths: Vec<PathBuf> =
        files.map(|file| file.map(|f| f.path())).collect::<Result<_, _>>().map_err(failed)?;
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    paths.sort();
    for path in paths {
        match read_profile(&path) {
            Ok(text) => library.with_file(path, text),
            Err(fault) => library.with_unreadable(path, fault),
        }
    }
    Ok(())
}

/// The text of a profile. An unreadable one is reported as faulty and does not hide the others.
fn read_profile(path: &Path) -> Result<String, Fault> {
    let bytes = read_bytes(path).map_err(|error| {
        let mend = "check the file and its permissions, or remove it from the folder";
        Fault::of_file(path, format!("the profile cannot be read: {error}"), mend.into())
    })?;
    text_of(bytes, path)
}

/// Locales with a 12-hour clock (from memory of the Unicode locale data).
const TWELVE: [&str; 8] = ["en_US", "en_CA", "en_AU", "en_NZ", "en_IN", "en_PH", "hi_IN", "es_MX"];

fn face_of_locale() -> ClockFace {
    let set = ["LC_ALL", "LC_TIME", "LANG"].into_iter().find_map(|name| {
        #[expect(clippy::disallowed_methods, reason = "the command line is where the environment enters")]
        std::env::var(name).ok().filter(|value| !value.is_empty())
    });
    match set {
        Some(locale) if TWELVE.iter().any(|twelve| locale.starts_with(twelve)) => ClockFace::Twelve,
        _ => ClockFace::TwentyFour,
    }
}
