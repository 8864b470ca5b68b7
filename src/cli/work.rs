//! `work`: records and sums up hours.

use std::io::Write;

use clap::{Args, Subcommand};
use serde_json::json;

use super::entries::answer;
use super::setup::Setup;
use super::{Failure, json};
use crate::app::session::{Order, Session};
use crate::engine::job::{Hours, minutes};
use crate::engine::units::{clean, hours_text, rfc3339};

/// Of a clock and of minutes.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct WorkArguments {
    #[command(subcommand)]
    pub clock: Option<ClockCommand>,
    /// The area; left out: the piece as a whole
    pub area: Option<String>,
    /// So long was worked, up to now: 90, or "1 h 30 min"
    #[arg(long, value_name = "N", value_parser = minutes_typed, allow_negative_numbers = true)]
    pub minutes: Option<u32>,
    /// A new area, though another has nearly the same name
    #[arg(long)]
    pub new: bool,
}

#[derive(Debug, Subcommand)]
pub enum ClockCommand {
    /// Start the work clock
    Start {
        /// The area; left out: the piece as a whole
        area: Option<String>,
        /// A new area, though another has nearly the same name
        #[arg(long)]
        new: bool,
    },
    /// Stop it
    Stop {
        /// What it ran for; may be left out
        area: Option<String>,
        /// So long a time is right: the clock was not left running
        #[arg(long)]
        yes: bool,
    },
}

fn minutes_typed(text: &str) -> Result<u32, String> {
    minutes(text).map_err(|error| error.to_string())
}

pub fn run(setup: &Setup, work: WorkArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    let named = |session: &Session<'_>, area: Option<String>, new: bool| {
        area.map(|area| session.area_name(&area, new)).transpose()
    };
    let order = match (work.clock, work.minutes) {
        (Some(ClockCommand::Start { area, new }), _) => {
            Order::StartClock { area: named(&session, area, new)? }
        }
        (Some(ClockCommand::Stop { area, yes }), _) => {
            Order::StopClock { area: named(&session, area, false)?, sure: yes }
        }
        (None, Some(minutes)) => Order::Work { area: named(&session, work.area, work.new)?, minutes },
        (None, None) => return show(setup, &session, work.area.as_deref(), out),
    };
    let done = session.execute(order, setup.at)?;
    answer(setup, &done, out)?;
    Ok(0)
}

fn show(
    setup: &Setup,
    session: &Session<'_>,
    area: Option<&str>,
    out: &mut dyn Write,
) -> Result<u8, Failure> {
    let now = session.now();
    let hours = session.hours(now)?;
    if setup.json {
        json(out, &machine(&hours))?;
        return Ok(0);
    }
    if let Some(area) = area {
        let area = session.area_name(area, false)?;
        writeln!(out, "{}: {}", clean(&area), hours_text(hours.of(Some(&area))))?;
        return Ok(0);
    }
    for area in hours.areas() {
        writeln!(out, "{}: {}", clean(area), hours_text(hours.of(Some(area))))?;
    }
    if hours.of(None) > chrono::TimeDelta::zero() {
        writeln!(out, "no area named: {}", hours_text(hours.of(None)))?;
    }
    writeln!(out, "In all: {}", hours_text(hours.total()))?;
    if let Some(clock) = &hours.running {
        let on = clock.area.as_deref().map_or_else(|| "the piece".into(), clean);
        writeln!(out, "The work clock runs for {on} since {}.", session.words().when(clock.since, now))?;
    }
    for doubt in session.doubts(now)? {
        writeln!(out, "! {doubt}")?;
    }
    Ok(0)
}

/// The hours as JSON.
fn machine(hours: &Hours) -> serde_json::Value {
    let minutes = |length: chrono::TimeDelta| (length.num_seconds() + 30) / 60;
    let areas: Vec<_> = hours
        .areas()
        .iter()
        .map(|area| json!({ "area": area, "minutes": minutes(hours.of(Some(area))) }))
        .collect();
    let running = hours.running.as_ref().map(|clock| {
        let since = rfc3339(clock.since);
        json!({ "area": clock.area, "since": since, "doubtful": hours.doubtful.iter().any(|doubt| doubt.id == clock.id) })
    });
    json!({
        "areas": areas,
        "no_area_minutes": minutes(hours.of(None)),
        "minutes": minutes(hours.total()),
        "running": running,
    })
}
