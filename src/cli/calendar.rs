//! `calendar`: sessions, windows and deadlines as a calendar file.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::out::rewrite;
use super::setup::Setup;
use super::{Failure, json};
use crate::app::report::calendar::{Event, Kept, is_own};
use crate::app::session::Announced;
use crate::engine::units::{clean, rfc3339};
use crate::io::sources::CALENDAR_LIMIT;

#[derive(Debug, Args)]
pub struct CalendarArguments {
    /// The calendar file to be written, such as hut.ics; "-" for standard output
    pub file: PathBuf,
}

pub fn run(setup: &Setup, calendar: &CalendarArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    setup.tell_faults();
    let session = setup.session()?;
    let to_output = calendar.file.as_os_str() == "-";
    let shown = clean(&calendar.file.display().to_string());
    let earlier = if to_output { None } else { earlier(&calendar.file, &shown)? };
    let announced = session.announced(earlier.as_deref())?;
    let all: Vec<Event> = announced.ahead.iter().chain(&announced.called_off).cloned().collect();
    if announced.kept.is_none() && !all.is_empty() {
        return Err(Failure::Input(format!(
            "{shown} is not a complete calendar, so entries of others could be lost; choose another name"
        )));
    }
    let kept = announced.kept.as_ref();
    let text = kept.map(|kept| kept.write_with(&all)).unwrap_or_default();
    if let Some(trouble) = &announced.no_plan {
        writeln!(io::stderr(), "No sessions: {}", clean(trouble))?;
    }
    if to_output {
        if text.is_empty() {
            writeln!(io::stderr(), "{NOTHING}")?;
        }
        out.write_all(text.as_bytes())?;
        return Ok(0);
    }
    if !text.is_empty() {
        rewrite(&calendar.file, text.as_bytes())?;
    }
    if setup.json {
        json(out, &announced_json(&announced, &shown))?;
        return Ok(0);
    }
    if text.is_empty() {
        writeln!(out, "{NOTHING}")?;
        return Ok(0);
    }
    let count = match announced.ahead.len() {
        1 => "one event".to_owned(),
        many => format!("{many} events"),
    };
    writeln!(out, "{shown}: {count}.")?;
    let (words, now) = (session.words(), session.now());
    for event in &announced.ahead {
        let to = event.to.map(|to| format!(" … {}", words.when(to, now))).unwrap_or_default();
        writeln!(out, "  {}{to}  {}", words.when(event.from, now), clean(&event.title))?;
    }
    match kept.map_or(0, Kept::events) {
        0 => {}
        1 => writeln!(out, "  kept: one event of others")?,
        many => writeln!(out, "  kept: {many} events of others")?,
    }
    for event in &announced.called_off {
        writeln!(out, "  cancelled: {}  {}", words.when(event.from, now), clean(&event.title))?;
    }
    Ok(0)
}

const NOTHING: &str = "Nothing to write: there is no session, window or deadline in the future.";

/// The previous calendar file; None if there is none. A file of another program is never overwritten.
fn earlier(file: &Path, shown: &str) -> Result<Option<String>, Failure> {
    let failed = |error| Failure::File { path: shown.to_owned(), error };
    let metadata = match fs::metadata(file) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        found => found.map_err(failed)?,
    };
    let foreign = || {
        Failure::Input(format!("{shown} exists and is not a calendar of this program; choose another name"))
    };
    if !metadata.is_file() {
        return Err(foreign());
    }
    let mut bytes = Vec::new();
    File::open(file)
        .map_err(failed)?
        .take(CALENDAR_LIMIT as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() > CALENDAR_LIMIT {
        let limit = CALENDAR_LIMIT >> 20;
        return Err(Failure::Input(format!("{shown} is larger than {limit} MB; choose another name")));
    }
    let text = String::from_utf8(bytes).map_err(|_| foreign())?;
    match text.as_str() {
        "" => Ok(None),
        own if is_own(own) => Ok(Some(text)),
        _ => Err(foreign()),
    }
}

fn announced_json(announced: &Announced, file: &str) -> Value {
    let told = |events: &[Event]| {
        let told = events.iter().map(|event| {
            json!({
                "uid": event.uid,
                "title": clean(&event.title),
                "from": rfc3339(event.from),
                "to": event.to.map(rfc3339),
            })
        });
        told.collect::<Vec<_>>()
    };
    json!({ "file": file, "events": told(&announced.ahead), "called_off": told(&announced.called_off), "kept": announced.kept.as_ref().map_or(0, Kept::events), "no_plan": announced.no_plan.as_deref().map(clean) })
}
