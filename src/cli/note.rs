//! `note`: something to remember.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Failure;
use super::entries::answer;
use super::setup::Setup;
use crate::app::session::Order;
use crate::engine::job::EntryId;

#[derive(Debug, Args)]
#[command(override_usage = "curewright note [OPTIONS] [AREA] TEXT")]
pub struct NoteArguments {
    /// The area, where it is about one
    #[arg(value_name = "AREA", required_unless_present = "photo")]
    pub first: Option<String>,
    /// The words
    #[arg(value_name = "TEXT")]
    pub second: Option<String>,
    /// Where a photo lies; it is not copied
    #[arg(long, value_name = "PATH")]
    pub photo: Option<PathBuf>,
    /// The number of the entry that it is about, as "curewright record" shows it
    #[arg(long, value_name = "N")]
    pub entry: Option<i64>,
    /// A new area, though another has nearly the same name
    #[arg(long)]
    pub new: bool,
}

pub fn run(setup: &Setup, note: NoteArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    // A single text is the note.
    let (area, text) = match note.second {
        Some(text) => (note.first, text),
        None => (None, note.first.unwrap_or_default()),
    };
    let area = area.map(|area| session.area_name(&area, note.new)).transpose()?;
    let order = Order::Note { area, entry: note.entry.map(EntryId), text, photo: note.photo };
    let done = session.execute(order, setup.at)?;
    answer(setup, &done, out)?;
    Ok(0)
}
