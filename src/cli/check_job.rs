//! `check-job`: checks the job's file for damage, and saves the intact part.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::out::write_private;
use super::setup::Setup;
use super::{Failure, json};
use crate::app::report::JOB_HEAD;
use crate::app::session::Clock;
use crate::engine::units::clean;
use crate::io::store::Whole;

/// More faults are counted only.
const SHOWN: usize = 20;

#[derive(Debug, Args)]
pub struct CheckJobArguments {
    /// Write what is sound as JSON Lines, for a new job: record --import
    #[arg(long, value_name = "FILE")]
    pub rescue: Option<PathBuf>,
}

pub fn run(setup: &Setup, check: &CheckJobArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session_at(Clock::Wall)?;
    let file = clean(&session.path().display().to_string());
    let Some(found) = session.soundness()? else {
        return Err(Failure::Input(format!("there is no job at {file}")));
    };
    if let Some(rescue) = &check.rescue {
        write_private(rescue, JOB_HEAD, |lines| Ok(session.write_lines(&found.sound, lines)?))?;
    }
    let sound = found.faults.is_empty();
    let rescued = check.rescue.as_ref().map(|rescue| clean(&rescue.display().to_string()));
    if setup.json {
        let Whole { entries, readings, outdoor, alerts, .. } = &found.sound;
        let document = json!({
            "file": file,
            "sound": sound,
            "entries": entries.len(),
            "readings": readings.len(),
            "outdoor_hours": outdoor.len(),
            "alerts": alerts.len(),
            "faults": found.faults,
            "rescued": rescued,
        });
        json(out, &document)?;
    } else {
        let counts = counts(&found.sound);
        if sound {
            writeln!(out, "{file} is valid: {counts}.")?;
        } else {
            writeln!(out, "{file} is damaged:")?;
            for fault in found.faults.iter().take(SHOWN) {
                writeln!(out, "  {fault}")?;
            }
            if let Some(more @ 1..) = found.faults.len().checked_sub(SHOWN) {
                writeln!(out, "  and {more} more")?;
            }
            writeln!(out, "Valid: {counts}. Keep a copy of the file as it is.")?;
        }
        match rescued {
            Some(rescued) => writeln!(
                out,
                "Wrote {rescued}. To continue in a new job: curewright --job NEW record --import {rescued}"
            )?,
            None if !sound => {
                writeln!(out, "To save what is valid: curewright check-job --rescue sound.jsonl")?
            }
            None => {}
        }
    }
    Ok(if sound { 0 } else { 3 })
}

fn counts(whole: &Whole) -> String {
    let count = |count: usize, one: &str, many: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {many}"),
    };
    [
        count(whole.entries.len(), "entry", "entries"),
        count(whole.readings.len(), "reading", "readings"),
        count(whole.outdoor.len(), "outdoor hour", "outdoor hours"),
        count(whole.alerts.len(), "alert", "alerts"),
    ]
    .join(", ")
}
