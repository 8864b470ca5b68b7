//! `forecast`: loads one from a file or a service, or shows the stored one.

use std::io::{self, Write};
use std::path::Path;

use chrono::TimeDelta;
use serde_json::{Value, json};

use super::args::ForecastArguments;
use super::setup::Setup;
use super::{Failure, input, json};
use crate::app::session::{FetchDone, Session, TakenForecast};
use crate::engine::air::{KeptForecast, MET_NORWAY_LICENCE, Origin, OutdoorHour};
use crate::engine::units::{Moment, clean, duration_text, rfc3339};
use crate::io::sources::FORECAST_LIMIT;

pub fn run(setup: &Setup, forecast: &ForecastArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    match &forecast.file {
        Some(file) => take(setup, file, out),
        None if forecast.fetch => fetch(setup, out),
        None => show(setup, out),
    }
}

fn take(setup: &Setup, file: &Path, out: &mut dyn Write) -> Result<u8, Failure> {
    let shown = input::name(file);
    let failed = |error| Failure::File { path: shown.clone(), error };
    let bytes = input::beginning(file, FORECAST_LIMIT as u64).map_err(failed)?;
    let mut session = setup.session()?;
    let taken = session.import_forecast(&shown, &bytes)?;
    let mut stderr = io::stderr().lock();
    for fault in taken.faults.iter().filter(|_| !setup.json) {
        writeln!(stderr, "{shown}: {fault}")?;
    }
    if setup.json {
        json(out, &taken_json(&taken))?;
        return Ok(0);
    }
    if !setup.quiet {
        tell_taken(&session, &taken, &shown, out)?;
    }
    match taken.bad_rows {
        0 => {}
        1 => writeln!(out, "One row was not readable and is ignored.")?,
        many => writeln!(out, "{many} rows were not readable and are ignored.")?,
    }
    Ok(0)
}

fn fetch(setup: &Setup, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    let done = session.fetch_forecast()?;
    if setup.json {
        let mut answer = match &done {
            FetchDone::New(taken) => taken_json(taken),
            FetchDone::NotModified | FetchDone::NotYet(_) => json!({ "taken": 0 }),
        };
        answer["outcome"] = match &done {
            FetchDone::New(_) => "new",
            FetchDone::NotModified => "not_modified",
            FetchDone::NotYet(_) => "not_yet",
        }
        .into();
        answer["expires_at"] = moment_json(session.fetch_state()?.expires);
        json(out, &answer)?;
        return Ok(0);
    }
    let now = session.clock().latest();
    let kept = session.forecast()?;
    match &done {
        FetchDone::New(taken) => {
            let service = session.config().weather.address.host().to_owned();
            return tell_taken(&session, taken, &service, out).map(|()| 0);
        }
        FetchDone::NotModified => writeln!(out, "No change: the stored forecast is still valid.")?,
        FetchDone::NotYet(until) => {
            let until = session.words().when(*until, now);
            writeln!(out, "The last answer is valid until {until}; there is no request before.")?;
        }
    }
    match kept {
        Some(kept) => tell_kept(&session, &kept, now, out)?,
        None => writeln!(out, "No forecast is stored.")?,
    }
    Ok(0)
}

fn show(setup: &Setup, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let now = session.now();
    let kept = session.forecast()?;
    let state = session.fetch_state()?;
    if setup.json {
        let forecast = kept.as_ref().map(|kept| kept_json(kept, now));
        let fetch = (!state.url.is_empty()).then(|| {
            json!({
                "url": state.url,
                "tried_at": moment_json(state.tried),
                "fetched_at": moment_json(state.fetched),
                "expires_at": moment_json(state.expires),
                "held_until": moment_json(state.held_until),
                "error": state.error,
            })
        });
        let hours = ahead(&session, now, Moment::MAX_UTC)?;
        let hours: Vec<Value> = hours.iter().map(hour_json).collect();
        json(
            out,
            &json!({ "at": moment_json(Some(now)), "forecast": forecast, "fetch": fetch, "hours": hours }),
        )?;
        return Ok(0);
    }
    let Some(kept) = kept else {
        writeln!(
            out,
            "No forecast is stored. Load one with \"curewright forecast FILE\", or fetch one with \"curewright forecast --fetch\"."
        )?;
        return Ok(0);
    };
    tell_kept(&session, &kept, now, out)?;
    if let Some((error, tried)) = state.error.zip(state.tried) {
        let tried = session.words().when(tried, now);
        writeln!(out, "! The last fetch, {tried}, failed: {}.", clean(&error))?;
    }
    let hours = ahead(&session, now, now + TimeDelta::hours(24))?;
    if !hours.is_empty() {
        writeln!(out, "\n{:13}{:>9}{:>10}{:>9}{:>10}", "", "air", "humidity", "rain", "wind")?;
    }
    for hour in &hours {
        let units = &session.words().units;
        let figure = |figure: Option<String>| figure.unwrap_or_else(|| "\u{2013}".into());
        let line = format!(
            "{:13}{:>9}{:>10}{:>9}{:>10}",
            session.words().when(hour.at, now),
            units.temperature(hour.air),
            figure(hour.humidity.map(|humidity| humidity.to_string())),
            figure(hour.rain.map(|rain| format!("{:.1} mm", rain.millimetres()))),
            figure(hour.wind.map(|wind| format!("{:.1} m/s", wind.metres_per_second()))),
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(0)
}

/// The hours from the current one on.
fn ahead(session: &Session<'_>, now: Moment, to: Moment) -> Result<Vec<OutdoorHour>, Failure> {
    let mut hours = session.outdoor(now, to)?;
    hours.retain(|hour| hour.at + TimeDelta::hours(1) > now);
    Ok(hours)
}

fn tell_taken(
    session: &Session<'_>,
    taken: &TakenForecast,
    source: &str,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let now = session.now();
    let when = |moment| session.words().when(moment, now);
    let hours = if taken.hours == 1 { "One hour".into() } else { format!("{} hours", taken.hours) };
    writeln!(out, "{hours} loaded from {source}: {} to {}.", when(taken.from), when(taken.to))?;
    for note in &taken.notes {
        writeln!(out, "! {note}")?;
    }
    tell_credit(taken.credit, out)
}

/// Where the stored forecast comes from, how old it is, and how far it reaches.
fn tell_kept(
    session: &Session<'_>,
    kept: &KeptForecast,
    now: Moment,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let when = |moment| session.words().when(moment, now);
    let (name, verb) = match &kept.provenance.origin {
        Origin::File(name) => (name, "loaded"),
        Origin::Service(name) => (name, "fetched"),
    };
    let age = kept.age(now);
    let ago = if age < TimeDelta::zero() { String::new() } else { format!(", {} ago", duration_text(age)) };
    let origin = match kept.provenance.made {
        Some(made) => format!("made {}{ago}, {verb} {}", when(made), when(kept.taken)),
        None => format!("{verb} {}{ago}", when(kept.taken)),
    };
    writeln!(out, "Forecast of {}, {origin}.", clean(name))?;
    if kept.to < now {
        writeln!(out, "! It ended {}; there is no forecast now.", when(kept.to))?;
    } else {
        writeln!(out, "It reaches from {} to {}.", when(kept.from), when(kept.to))?;
    }
    tell_credit(kept.provenance.credit(), out)
}

fn tell_credit(credit: Option<&str>, out: &mut dyn Write) -> Result<(), Failure> {
    if let Some(credit) = credit {
        writeln!(out, "{credit}, {MET_NORWAY_LICENCE}; longer steps are interpolated by the hour.")?;
    }
    Ok(())
}

fn taken_json(taken: &TakenForecast) -> Value {
    let faults: Vec<_> = taken.faults.iter().map(|f| json!({ "line": f.line, "what": f.what })).collect();
    json!({
        "taken": taken.hours,
        "from": moment_json(Some(taken.from)),
        "to": moment_json(Some(taken.to)),
        "notes": taken.notes,
        "bad_rows": taken.bad_rows,
        "faults": faults,
        "credit": taken.credit,
    })
}

fn kept_json(kept: &KeptForecast, now: Moment) -> Value {
    let (source, name) = match &kept.provenance.origin {
        Origin::File(name) => ("file", name),
        Origin::Service(name) => ("service", name),
    };
    json!({
        "source": source,
        "name": clean(name),
        "made_at": moment_json(kept.provenance.made),
        "taken_at": moment_json(Some(kept.taken)),
        "age_s": kept.age(now).num_seconds(),
        "from": moment_json(Some(kept.from)),
        "to": moment_json(Some(kept.to)),
        "credit": kept.provenance.credit(),
    })
}

fn hour_json(hour: &OutdoorHour) -> Value {
    // Smaller differences are rounding errors of the conversion.
    let rounded = |figure: f64| (figure * 1000.0).round() / 1000.0;
    json!({
        "at": moment_json(Some(hour.at)),
        "temperature_c": rounded(hour.air.degrees()),
        "relative_humidity": hour.humidity.map(|humidity| rounded(humidity.percent())),
        "rain_mm": hour.rain.map(|rain| rounded(rain.millimetres())),
        "wind_m_s": hour.wind.map(|wind| rounded(wind.metres_per_second())),
    })
}

fn moment_json(moment: Option<Moment>) -> Value {
    moment.map_or(Value::Null, |moment| rfc3339(moment).into())
}
