//! `demo`: the board on a built-in job whose clock runs fast.

use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::report::{self, Format};
use super::setup::Setup;
use super::shown::Shown;
use super::{Failure, board, status};
use crate::app::session::{Clock, SessionError, demo};
use crate::engine::assess::SurveyOptions;
use crate::engine::units::Moment;

pub fn open(setup: &Setup, speed: u32) -> Result<u8, Failure> {
    let (_folder, job, begins) = build(setup)?;
    if io::stdout().is_terminal() && !setup.json {
        let mut session = setup.session_on(&job, Clock::fast(begins, speed))?;
        board::show(setup, &mut session)
    } else {
        let session = setup.session_on(&job, Clock::At(setup.at.unwrap_or(begins)))?;
        status::print(&session, setup.json, SurveyOptions::default(), &mut Shown::new(io::stdout().lock()))?;
        Ok(0)
    }
}

/// Writes the report of the demo's job.
pub fn report(setup: &Setup, file: &Path, out: &mut dyn Write) -> Result<u8, Failure> {
    let (_folder, job, begins) = build(setup)?;
    let now = setup.at.unwrap_or(begins);
    let session = setup.session_on(&job, Clock::At(now))?;
    let format = Format::of_report(file)?.unwrap_or(Format::Md);
    let text = report::text(&session, format, false, now)?;
    report::write(setup, Some(file), &text, out)
}

/// The demo's job in a temporary folder, and its starting moment.
fn build(setup: &Setup) -> Result<(TempDir, PathBuf, Moment), Failure> {
    let cannot = |error: io::Error| SessionError::World(format!("the demo's job cannot be made: {error}"));
    let folder = tempfile::Builder::new().prefix("curewright-demo-").tempdir().map_err(cannot)?;
    let job = folder.path().join("demo.db");
    let begins = demo::build(&job, &setup.words.civil)?;
    demo::see_the_past(&mut setup.session_on(&job, Clock::At(begins))?, begins)?;
    Ok((folder, job, begins))
}
