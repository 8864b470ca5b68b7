//! `plan`: every coat in a free hour, and when the piece is ready.

mod checklist;
mod document;
mod onlooker;

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::setup::{Setup, read_small};
use super::{Failure, input, json};
use crate::app::session::{PlanRequest, Planned, SessionError};
use crate::app::wording::Words;
use crate::engine::hours::day_begins;
use crate::engine::plan::{Aim, Infeasible};
use crate::engine::units::{Celsius, Moment, clean, duration_text, parse_duration, parse_when};
use chrono::{NaiveDate, TimeDelta};
use document::document;
use onlooker::Onlooker;

#[derive(Debug, Args)]
pub struct PlanArguments {
    /// A scheme to plan in place of the job's own, a TOML file
    pub scheme: Option<PathBuf>,
    /// The soonest end, with as little work as that takes (the default)
    #[arg(long, conflicts_with = "least_work")]
    pub soonest: bool,
    /// The fewest hours of work, and then the soonest end
    #[arg(long)]
    pub least_work: bool,
    /// The next session alone, as a checklist for the bench and for paper
    #[arg(long, conflicts_with_all = ["choices", "draws", "since"])]
    pub tonight: bool,
    /// Show the plans between --least-work and --soonest as well
    #[arg(long)]
    pub choices: bool,
    /// Hold the shop at this temperature at least: 18C, 65F
    #[arg(long, value_name = "TEMPERATURE")]
    pub heat: Option<String>,
    /// Heat only while a film cures
    #[arg(long, requires = "heat")]
    pub while_curing: bool,
    /// The power of the heater
    #[arg(long, value_name = "KW", requires = "heat", value_parser = positive)]
    pub heater_kw: Option<f64>,
    /// What a kilowatt-hour costs
    #[arg(long, value_name = "PRICE", requires = "heater_kw", value_parser = positive)]
    pub price: Option<f64>,
    /// Simulate this many weathers, to see how sure the end is
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(10..=100_000))]
    pub draws: Option<u32>,
    /// The seed of the draws; the same one gives the same figures
    #[arg(long, value_name = "S", default_value_t = 1, requires = "draws")]
    pub seed: u64,
    /// Compare the end with that of a plan as of this long ago, such as 7d
    #[arg(long, value_name = "TIME")]
    pub since: Option<String>,
    /// The temperature to plan with where none was read
    #[arg(long, value_name = "TEMPERATURE")]
    pub temperature: Option<String>,
    /// A file with the climate after the forecast ends, as a logger writes it: time, temperature, humidity, place
    #[arg(long, value_name = "FILE")]
    pub climate: Option<PathBuf>,
    /// Leave the coming steps of this area out; may be given several times
    #[arg(long, value_name = "AREA")]
    pub without: Vec<String>,
    /// Whether the piece is in service by then: 2026-05-15, or "2026-05-15 18:00". Exit status 1 if it is not
    #[arg(long, value_name = "DATE", conflicts_with = "tonight")]
    pub by: Option<String>,
    /// Search no longer than this, and take the best plan so far: 10s, 2min
    #[arg(long, value_name = "TIME")]
    pub patience: Option<String>,
    /// Plan at most this many days ahead
    #[arg(long, value_name = "N", default_value_t = 90, value_parser = clap::value_parser!(u32).range(1..=366))]
    pub days: u32,
}

fn positive(text: &str) -> Result<f64, String> {
    let value: f64 = text.replace(',', ".").parse().map_err(|_| "it is not a number".to_owned())?;
    if value.is_finite() && value > 0.0 && value < 1e6 { Ok(value) } else { Err("give more than 0".into()) }
}

/// The end of a day, or a moment of it.
fn by(text: &str, now: Moment, words: &Words) -> Result<Moment, Failure> {
    let day = text.trim().parse::<NaiveDate>();
    let last = day
        .ok()
        .and_then(|day| day_begins(day.succ_opt()?, &words.civil))
        .map(|next| next - TimeDelta::minutes(1));
    match last {
        Some(last) => Ok(last),
        None => Ok(parse_when(text, now, &words.civil).map_err(SessionError::from)?),
    }
}

fn patience(text: &str) -> Result<std::time::Duration, Failure> {
    let length = parse_duration(text).map_err(SessionError::from)?;
    match length.to_std() {
        Ok(length) if length >= std::time::Duration::from_secs(1) => Ok(length),
        _ => Err(Failure::Input(format!("--patience {}: give at least a second, such as 10s", clean(text)))),
    }
}

fn ago(text: &str) -> Result<TimeDelta, Failure> {
    let length = parse_duration(text).map_err(SessionError::from)?;
    if (TimeDelta::hours(1)..=TimeDelta::days(366)).contains(&length) {
        return Ok(length);
    }
    Err(Failure::Input(format!("--since {text}: give between an hour and a year, such as 7d")))
}

pub fn run(setup: &Setup, arguments: &PlanArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let now = session.now();
    let temperature = |text: &Option<String>| -> Result<Option<Celsius>, Failure> {
        let unit = session.config().units.temperature;
        let read = text.as_deref().map(|text| Celsius::parse(text, unit).and_then(Celsius::plausible));
        Ok(read.transpose().map_err(SessionError::from)?)
    };
    let scheme = match &arguments.scheme {
        Some(file) => Some((input::name(file), read_small(file)?)),
        None => None,
    };
    let request = PlanRequest {
        scheme,
        days: arguments.days,
        heat: temperature(&arguments.heat)?,
        temperature: temperature(&arguments.temperature)?,
        climate: arguments.climate.clone(),
        aim: if arguments.least_work { Aim::LeastWork } else { Aim::Soonest },
        choices: arguments.choices,
        draws: arguments.draws.map(|count| (count as usize, arguments.seed)),
        since: arguments.since.as_deref().map(ago).transpose()?,
        recalled: false,
        without: arguments.without.clone(),
    };
    let by = arguments.by.as_deref().map(|text| by(text, now, session.words())).transpose()?;
    let mut onlooker = Onlooker::new(arguments.patience.as_deref().map(patience).transpose()?)?;
    let planned = session.plan(&request, now, &mut |busy| onlooker.watch(busy, session.words(), now));
    onlooker.done();
    let planned = match planned? {
        Ok(planned) => planned,
        Err(trouble) => return no_plan(setup, &trouble, out),
    };
    let words = session.words();
    if setup.json {
        json(out, &document(&planned, (arguments, by), words, now))?;
        return Ok(u8::from(by.is_some_and(|by| !planned.plan.is_ready_by(by))));
    }
    if arguments.tonight {
        match session.checklist(&planned, now)? {
            Some(list) => checklist::print(&list, out)?,
            None => writeln!(out, "Nothing is left to do.")?,
        }
        return Ok(0);
    }
    if let Some(by) = by {
        writeln!(out, "{}", words.ready_by(&planned.plan, planned.draws.as_ref(), by, now))?;
    }
    text(&planned, arguments, words, now, out)?;
    Ok(u8::from(by.is_some_and(|by| !planned.plan.is_ready_by(by))))
}

fn no_plan(setup: &Setup, trouble: &Infeasible, out: &mut dyn Write) -> Result<u8, Failure> {
    if setup.json {
        json(out, &json!({ "optimal": false, "steps": [], "trouble": trouble.to_string() }))?;
    } else {
        writeln!(out, "No plan: {trouble}.")?;
    }
    Ok(1)
}

fn text(
    planned: &Planned,
    arguments: &PlanArguments,
    words: &Words,
    now: Moment,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let view = planned.view(words, now);
    for line in &view.summary {
        writeln!(out, "{line}")?;
    }
    for day in &view.days {
        writeln!(out, "\n{}", day.day)?;
        for line in &day.lines {
            writeln!(out, "  {}  {}", line.time, line.what)?;
            if !line.not_earlier.is_empty() {
                let indent = " ".repeat(line.time.chars().count());
                writeln!(out, "  {indent}  not earlier: {}", line.not_earlier)?;
            }
        }
    }
    writeln!(out, "\nReady:")?;
    for line in &view.ready {
        writeln!(out, "  {line}")?;
    }
    if !view.materials.is_empty() {
        writeln!(out, "\nMaterials:")?;
    }
    for line in &view.materials {
        writeln!(out, "  {line}")?;
    }
    if !planned.choices.is_empty() {
        writeln!(out, "\nThe choices:")?;
    }
    for choice in words.choices(&planned.choices, now) {
        writeln!(out, "  {choice}")?;
    }
    heating(planned, arguments, words, now, out)?;
    if !view.assumed.is_empty() {
        writeln!(out)?;
    }
    for assumed in &view.assumed {
        writeln!(out, "assumed: {assumed}")?;
    }
    Ok(())
}

fn heating(
    planned: &Planned,
    arguments: &PlanArguments,
    words: &Words,
    now: Moment,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let (Some(heating), Some(unheated)) = (planned.plan.heating, &planned.unheated) else { return Ok(()) };
    let hours = if arguments.while_curing { heating.while_curing } else { heating.always };
    writeln!(out, "\nHeating:")?;
    match unheated {
        Ok(without) if without.service > planned.plan.service => {
            let won = duration_text(without.service - planned.plan.service);
            writeln!(out, "  without it in service {}: it saves {won}", words.when(without.service, now))?;
        }
        Ok(_) => writeln!(out, "  without it in service at the same time: it saves nothing")?,
        Err(trouble) => writeln!(out, "  without it there is no plan: {trouble}")?,
    }
    let when = if arguments.while_curing { "while a film cures" } else { "all the time" };
    writeln!(out, "  {:.0} h colder than that {when}", hours.as_seconds_f64() / 3600.0)?;
    if let Some(power) = arguments.heater_kw {
        let energy = hours.as_seconds_f64() / 3600.0 * power;
        let price = arguments.price.map(|price| format!(", {:.2} at most", energy * price));
        writeln!(out, "  {energy:.0} kWh at most, with the heater always on{}", price.unwrap_or_default())?;
    }
    Ok(())
}
