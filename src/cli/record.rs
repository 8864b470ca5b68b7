//! `record`: every entry of the job; and the whole job, written and taken back.

use std::io::{self, BufReader, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::out::{is_stdout, write_private};
use super::setup::Setup;
use super::{Failure, input, json};
use crate::app::report::JOB_HEAD;
use crate::app::session::Clock;
use crate::engine::job::{Corrections, Entry, Job, clock_was_ahead, voided};
use crate::engine::units::{clean, rfc3339};

#[derive(Debug, Args)]
pub struct RecordArguments {
    /// The entries of one area alone
    #[arg(long)]
    pub area: Option<String>,
    /// Write the whole job as JSON Lines: entries, readings, outdoor hours, alerts; "-": standard output
    #[arg(long, value_name = "FILE", conflicts_with_all = ["area", "import"])]
    pub export: Option<PathBuf>,
    /// Take such a file in, into a new or empty job (--job FILE)
    #[arg(long, value_name = "FILE", conflicts_with = "area")]
    pub import: Option<PathBuf>,
}

pub fn run(setup: &Setup, record: &RecordArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    match (&record.export, &record.import) {
        (Some(file), _) => export(setup, file, out),
        (_, Some(file)) => import(setup, file, out),
        _ => show(setup, record.area.as_deref(), out),
    }
}

fn export(setup: &Setup, file: &Path, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session_at(Clock::Wall)?;
    if is_stdout(Some(file)) {
        let mut lines = Vec::new();
        session.write_whole(&mut lines)?;
        out.write_all(&lines)?;
        return Ok(0);
    }
    let mut lines = 0;
    write_private(file, JOB_HEAD, |out| {
        let mut counted = Counted { out, lines: 0 };
        session.write_whole(&mut counted)?;
        lines = counted.lines;
        Ok(())
    })?;
    let file = clean(&file.display().to_string());
    if setup.json {
        json(out, &json!({ "file": file, "lines": lines }))?;
    } else {
        writeln!(out, "Wrote {file}: {lines} lines.")?;
    }
    Ok(0)
}

/// A writer that counts lines.
struct Counted<'w> {
    out: &'w mut dyn Write,
    lines: usize,
}

impl Write for Counted<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.lines += bytes[..written].iter().filter(|byte| **byte == b'\n').count();
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

fn import(setup: &Setup, file: &Path, out: &mut dyn Write) -> Result<u8, Failure> {
    let shown = input::name(file);
    let lines = input::open(file).map_err(|error| Failure::File { path: shown.clone(), error })?;
    let mut session = setup.session_at(Clock::Wall)?;
    let whole = session.import_job(&shown, BufReader::new(lines))?;
    let (entries, readings, alerts) = (whole.entries.len(), whole.readings.len(), whole.alerts.len());
    if setup.json {
        json(
            out,
            &json!({ "entries": entries, "readings": readings, "outdoor": whole.outdoor.len(), "alerts": alerts }),
        )?;
    } else {
        let job = clean(&setup.job.display().to_string());
        writeln!(
            out,
            "Imported {shown}: {entries} entries, {readings} readings, {alerts} alerts. The job: {job}"
        )?;
    }
    Ok(0)
}

fn show(setup: &Setup, area: Option<&str>, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let now = session.now();
    let entries = session.entries()?;
    let voided = voided(&entries);
    let corrections = Corrections::of(&entries);
    let job = Job::fold(&entries, now);
    let area = area.map(|area| session.known_area(area)).transpose()?;
    // Entries later than the clock were made by a clock that was ahead.
    let latest = session.clock().latest();
    let ahead = |entry: &Entry| clock_was_ahead(entry.recorded, latest);
    let wanted = |entry: &&Entry| {
        let of_area = |area: &String| entry.kind.area().is_some_and(|known| known.eq_ignore_ascii_case(area));
        (entry.at <= now || ahead(entry)) && area.as_ref().is_none_or(of_area)
    };
    let mut shown: Vec<&Entry> = entries.iter().filter(wanted).collect();
    shown.sort_by_key(|entry| (entry.at, entry.id));
    if setup.json {
        let rows: Vec<_> = shown
            .iter()
            .map(|entry| {
                json!({
                    "id": entry.id,
                    "at": rfc3339(entry.at),
                    "recorded": rfc3339(entry.recorded),
                    "entry": entry.kind,
                    "voided": voided.contains(&entry.id),
                    "corrected_by": corrections.by(entry.id),
                    "taken_off_by": job.taken_off(entry.id),
                })
            })
            .collect();
        json(out, &rows)?;
        return Ok(0);
    }
    if shown.is_empty() {
        writeln!(out, "Nothing is recorded yet.")?;
    }
    for entry in shown {
        let back = match corrections.by(entry.id) {
            Some(by) => format!("  (corrected: {by})"),
            None if voided.contains(&entry.id) => "  (taken back)".into(),
            None => job.taken_off(entry.id).map(|off| format!("  (taken off: {off})")).unwrap_or_default(),
        };
        let when = session.words().civil.local(entry.at).format("%Y-%m-%d %H:%M");
        let summary = clean(&entry.summary(&session.words().units));
        let word = if ahead(entry) { "  (the clock was ahead)" } else { "" };
        writeln!(out, "{:>5}  {when}  {summary}{back}{word}", entry.id)?;
    }
    Ok(0)
}
