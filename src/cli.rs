//! The command line: arguments become orders or questions, results become text or JSON.
//!
//! The arguments, the environment, the named files and standard output are handled here. Nothing is calculated
//! here.

mod air;
mod alerts;
mod args;
mod board;
mod calendar;
mod check;
mod check_job;
mod complete;
mod correct;
mod demo;
mod entries;
mod film;
mod forecast;
mod free;
mod import;
mod input;
mod learned;
mod mix;
mod note;
mod out;
mod packaging;
mod plan;
mod profile;
mod quantity;
mod record;
mod report;
mod scheme;
mod settings;
mod setup;
mod shown;
mod status;
mod stock;
mod watch;
mod work;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::parser::ValueSource;
use clap::{CommandFactory, FromArgMatches};

use args::{Arguments, Command};
use setup::Setup;
use shown::Shown;

use crate::app::json::write_pretty;
use crate::app::session::SessionError;
use crate::engine::units::clean;

/// Runs the program with the arguments of the process.
pub fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    // Shells ask this; people do not.
    if words.next().as_deref() == Some("complete") {
        return complete::main(words);
    }
    let parsed = Arguments::command().try_get_matches().and_then(|matches| {
        let named = matches.value_source("job") == Some(ValueSource::CommandLine);
        Ok((Arguments::from_arg_matches(&matches)?, named))
    });
    let (arguments, job_was_named) = match parsed {
        Ok(parsed) => parsed,
        // What was typed is quoted there, and may hold more than letters.
        Err(error) if error.use_stderr() => {
            let told = error.render().to_string();
            let told: String = told.lines().map(|line| clean(line) + "\n").collect();
            let _ = write!(io::stderr(), "{told}");
            return ExitCode::from(2);
        }
        Err(help) => help.exit(),
    };
    match run(arguments, job_was_named) {
        Ok(status) => ExitCode::from(status),
        Err(error) if error.is_broken_pipe() => ExitCode::SUCCESS,
        Err(error) => {
            // If standard error is gone too, the error cannot be shown.
            let _ = writeln!(Shown::new(io::stderr()), "curewright: {error}");
            ExitCode::from(error.status())
        }
    }
}

/// Why a command failed.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error(transparent)]
    Session(#[from] SessionError),
    #[error(transparent)]
    Store(#[from] crate::io::store::StoreError),
    #[error(transparent)]
    Profile(#[from] profile::ProfileError),
    #[error("cannot write the answer: {0}")]
    Output(#[from] io::Error),
    #[error("{path} cannot be read: {error}")]
    File { path: String, error: io::Error },
    #[error("{path} cannot be written: {error}")]
    Unwritable { path: String, error: io::Error },
    #[error("{0}")]
    Input(String),
    #[error(
        "there is no job at {0}; check the path, or begin one there: curewright --job FILE coat AREA PRODUCT, or reading, or scheme"
    )]
    NoJob(String),
}

impl Failure {
    const fn status(&self) -> u8 {
        match self {
            Self::Session(error) => error.status(),
            Self::Store(_) | Self::Output(_) | Self::File { .. } | Self::Unwritable { .. } => 3,
            Self::Profile(error) => error.status(),
            Self::Input(_) => 2,
            Self::NoJob(_) => 1,
        }
    }

    /// The reader of the output has closed it.
    fn is_broken_pipe(&self) -> bool {
        let (Self::Output(error) | Self::Profile(profile::ProfileError::Output(error))) = self else {
            return false;
        };
        error.kind() == io::ErrorKind::BrokenPipe
    }
}

fn run(arguments: Arguments, job_was_named: bool) -> Result<u8, Failure> {
    if let Some(Command::Completions { shell }) = arguments.command {
        return packaging::completions(shell, &mut io::stdout().lock());
    }
    if let Some(Command::Man { all }) = &arguments.command {
        return packaging::man(all.as_deref(), &mut io::stdout().lock());
    }
    // These two must work with settings that have a fault, or none.
    if let Some(Command::Config { init, edit }) = arguments.command
        && (init || edit)
    {
        return settings::run(edit, &mut io::stdout().lock());
    }
    let setup = Setup::gather(&arguments)?;
    if job_was_named && arguments.command.as_ref().is_some_and(Command::only_reads) && !setup.job.exists() {
        return Err(Failure::NoJob(clean(&setup.job.display().to_string())));
    }
    let mut out = Shown::new(io::stdout().lock());
    match arguments.command {
        None => {
            drop(out);
            board::open(&setup)
        }
        Some(Command::Demo { report: Some(file), .. }) => demo::report(&setup, &file, &mut out),
        Some(Command::Demo { speed, report: None }) => {
            drop(out);
            demo::open(&setup, speed)
        }
        Some(Command::Coat(coat)) => entries::coat(&setup, coat, &mut out),
        Some(Command::Mix(mix)) => mix::mix(&setup, mix, &mut out),
        Some(Command::Emptied { batch }) => mix::emptied(&setup, batch, &mut out),
        Some(Command::Done { area }) => entries::done(&setup, area, &mut out),
        Some(Command::Step(step)) => entries::step(&setup, step, &mut out),
        Some(Command::Reading(reading)) => entries::reading(&setup, reading, &mut out),
        Some(Command::Undo { entry }) => entries::undo(&setup, entry, &mut out),
        Some(Command::Work(work)) => work::run(&setup, work, &mut out),
        Some(Command::Note(note)) => note::run(&setup, note, &mut out),
        Some(Command::Correct(correct)) => correct::run(&setup, *correct, &mut out),
        Some(Command::Import(import)) => import::run(&setup, &import, &mut out),
        Some(Command::Forecast(forecast)) => forecast::run(&setup, &forecast, &mut out),
        Some(Command::Scheme { file }) => scheme::run(&setup, file.as_deref(), &mut out),
        Some(Command::Status { all }) => status::run(&setup, all, &mut out),
        Some(Command::Air(air)) => air::run(&setup, &air, &mut out),
        Some(Command::Check { area, product, yes }) => {
            check::run(&setup, &area, product.as_deref(), yes, &mut out)
        }
        Some(Command::Quantity(quantity)) => quantity::run(&setup, &quantity, &mut out),
        Some(Command::Stock(stock)) => stock::run(&setup, stock, &mut out),
        Some(Command::Film(film)) => film::run(&setup, &film, &mut out),
        Some(Command::Free(free)) => free::run(&setup, &free, &mut out),
        Some(Command::Plan(plan)) => plan::run(&setup, &plan, &mut out),
        Some(Command::Calendar(calendar)) => calendar::run(&setup, &calendar, &mut out),
        Some(Command::Report(report)) => report::run(&setup, &report, &mut out),
        Some(Command::Learned) => learned::run(&setup, &mut out),
        Some(Command::Record(record)) => record::run(&setup, &record, &mut out),
        Some(Command::CheckJob(check)) => check_job::run(&setup, &check, &mut out),
        Some(Command::Alerts { later: Some(alert), .. }) => alerts::put_off(&setup, alert, &mut out),
        Some(Command::Alerts { ack, .. }) => alerts::run(&setup, ack.as_deref(), &mut out),
        Some(Command::Watch { once, no_desktop, page }) => {
            drop(out);
            watch::run(&setup, once, no_desktop, page)
        }
        Some(Command::Profile { command }) => setup.profile(&command, &mut out),
        Some(Command::Config { .. }) => setup.show_config(&mut out),
        Some(Command::Completions { .. } | Command::Man { .. }) => Ok(0),
    }
}

/// Prints a value as one JSON document.
fn json<T: serde::Serialize>(out: &mut dyn Write, value: &T) -> Result<(), Failure> {
    // One write: each small one would reach the terminal or the pipe by itself.
    let mut text = Vec::new();
    write_pretty(&mut text, value).map_err(io::Error::from)?;
    text.push(b'\n');
    out.write_all(&text)?;
    Ok(())
}
