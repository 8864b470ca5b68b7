//! `demo`: the board on a built-in job whose clock runs fast.

use std::io::{self, IsTerminal};

use super::setup::Setup;
use super::{Failure, board, status};
use crate::board::SurveyOptions;
use crate::session::{Clock, SessionError, demo};

pub fn open(setup: &Setup, speed: u32) -> Result<u8, Failure> {
    let cannot = |error: io::Error| SessionError::World(format!("the demo's job cannot be made: {error}"));
    let folder = tempfile::Builder::new().prefix("curewright-demo-").tempdir().map_err(cannot)?;
    let job = folder.path().join("demo.db");
    let begins = demo::build(&job, &setup.words.civil)?;
    demo::see_the_past(&mut setup.session_on(&job, Clock::At(begins))?, begins)?;
    if io::stdout().is_terminal() && !setup.json {
        let mut session = setup.session_on(&job, Clock::fast(begins, speed))?;
        board::show(setup, &mut session)
    } else {
        let session = setup.session_on(&job, Clock::At(setup.at.unwrap_or(begins)))?;
        status::print(&session, setup.json, SurveyOptions::default(), &mut io::stdout().lock())?;
        Ok(0)
    }
}
