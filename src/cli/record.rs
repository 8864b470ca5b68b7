//! `record`: every entry of the job.

use std::io::Write;

use serde_json::json;

use super::setup::Setup;
use super::{Failure, json};
use crate::job::{Corrections, Entry, voided};
use crate::units::clean;

pub fn run(setup: &Setup, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let now = session.now();
    let entries = session.entries()?;
    let voided = voided(&entries);
    let corrections = Corrections::of(&entries);
    let mut shown: Vec<&Entry> = entries.iter().filter(|entry| entry.at <= now).collect();
    shown.sort_by_key(|entry| (entry.at, entry.id));
    if setup.json {
        let time = |moment: crate::units::Moment| moment.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        let rows: Vec<_> = shown
            .iter()
            .map(|entry| {
                json!({
                    "id": entry.id,
                    "at": time(entry.at),
                    "recorded": time(entry.recorded),
                    "entry": entry.kind,
                    "voided": voided.contains(&entry.id),
                    "corrected_by": corrections.by(entry.id),
                })
            })
            .collect();
        json(out, &rows)?;
        return Ok(0);
    }
    if shown.is_empty() {
        writeln!(out, "Nothing has been recorded yet.")?;
    }
    for entry in shown {
        let back = match corrections.by(entry.id) {
            Some(by) => format!("  (corrected: {by})"),
            None if voided.contains(&entry.id) => "  (taken back)".into(),
            None => String::new(),
        };
        let when = session.words().civil.local(entry.at).format("%Y-%m-%d %H:%M");
        writeln!(out, "{:>5}  {when}  {}{back}", entry.id, clean(&entry.summary(&session.words().units)))?;
    }
    Ok(0)
}
