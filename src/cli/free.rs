//! `free`: the free hours of the coming days, with what was taken out of them and why.

use std::io::{self, Write};

use chrono::{NaiveDate, TimeDelta};
use clap::Args;
use serde_json::{Value, json};

use super::setup::Setup;
use super::{Failure, json};
use crate::app::session::FreeTimes;
use crate::engine::hours::{Stretch, day_begins};
use crate::engine::units::{Civil, clean, hours_text, rfc3339};

/// A damaged calendar repeats the same fault.
const SHOWN_FAULTS: usize = 10;

#[derive(Debug, Args)]
pub struct FreeArguments {
    /// How many days, from today on
    #[arg(long, value_name = "N", default_value_t = 14, value_parser = clap::value_parser!(u16).range(1..=366))]
    pub days: u16,
}

pub fn run(setup: &Setup, free: &FreeArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let civil = &session.words().civil;
    let now = session.now();
    let today = civil.local(now).date_naive();
    let end = today.checked_add_days(chrono::Days::new(free.days.into()));
    let to = end.and_then(|end| day_begins(end, civil)).unwrap_or(now);
    let days = today.iter_days().take(free.days.into());
    let times = session.free_times((now, to))?;
    if setup.json {
        json(out, &times_json(&times))?;
    } else {
        tell_faults(&times)?;
        tell(&times, days, civil, out)?;
    }
    Ok(if times.lacks_a_calendar() { 3 } else { 0 })
}

fn tell(
    times: &FreeTimes,
    days: impl Iterator<Item = NaiveDate>,
    civil: &Civil,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    if !times.hours.names_hours() {
        writeln!(
            out,
            "No free hours are set. Write them under [free] in the settings (\"curewright config\" shows where they are) or in the scheme, such as: hours = [\"Mon-Fri 19:00-22:00\", \"Sat 9-17\"]"
        )?;
        return Ok(());
    }
    let now = times.span.0;
    let last = civil.local(times.span.1 - TimeDelta::seconds(1));
    let total = length(&times.free);
    write!(out, "Free until {}: {}", last.format("%a %-d %b"), hours_text(total))?;
    if let Some((from, to)) = times.free.iter().rev().max_by_key(|(from, to)| *to - *from) {
        write!(out, "; the longest stretch from {}, {}", civil.when(*from, now), hours_text(*to - *from))?;
    }
    writeln!(out, ".")?;
    for day in days {
        tell_day(times, day, civil, out)?;
    }
    Ok(())
}

/// One day: its free hours, then what was subtracted.
fn tell_day(times: &FreeTimes, day: NaiveDate, civil: &Civil, out: &mut dyn Write) -> Result<(), Failure> {
    let stated = meeting(&times.hours.of_day(day, civil), &[times.span]);
    let free = meeting(&stated, &times.free);
    let exception = times.hours.on(day).1;
    let show = |(from, to): &Stretch| {
        let midnight = day.succ_opt().and_then(|next| day_begins(next, civil)) == Some(*to);
        let to = if midnight { "midnight".into() } else { civil.time_of_day(*to) };
        format!("{} – {to}", civil.time_of_day(*from))
    };
    let heading = day.format("%a %e %b").to_string();
    let shown: Vec<String> = free.iter().map(show).collect();
    let shown = if shown.is_empty() { "–".into() } else { shown.join(", ") };
    let why = exception.map(|exception| format!("   (except: {})", exception.said)).unwrap_or_default();
    writeln!(out, "{heading:<12}{shown}{why}")?;
    for busy in &times.taken {
        for part in meeting(&stated, &[(busy.from, busy.to)]) {
            let what = if busy.what.is_empty() { "busy" } else { &busy.what };
            writeln!(out, "{:<12}busy: {} {what} ({})", "", show(&part), busy.source)?;
        }
    }
    Ok(())
}

/// The intersection.
fn meeting(one: &[Stretch], other: &[Stretch]) -> Vec<Stretch> {
    let pairs = one.iter().flat_map(|a| other.iter().map(move |b| (a.0.max(b.0), a.1.min(b.1))));
    pairs.filter(|(from, to)| from < to).collect()
}

fn length(stretches: &[Stretch]) -> TimeDelta {
    stretches.iter().map(|(from, to)| *to - *from).sum()
}

fn tell_faults(times: &FreeTimes) -> io::Result<()> {
    let mut stderr = io::stderr().lock();
    for calendar in &times.calendars {
        let file = &calendar.file;
        if let Some(error) = &calendar.error {
            writeln!(stderr, "curewright: {file}: {}. Its busy times are ignored.", clean(error))?;
        }
        for fault in calendar.faults.iter().take(SHOWN_FAULTS) {
            writeln!(stderr, "{file}: {}", clean(&fault.to_string()))?;
        }
        if calendar.bad > SHOWN_FAULTS {
            writeln!(stderr, "{file}: and {} more faults", calendar.bad - SHOWN_FAULTS)?;
        }
    }
    Ok(())
}

fn times_json(times: &FreeTimes) -> Value {
    let hours = |stretches: &[Stretch]| (length(stretches).num_seconds() as f64 / 36.0).round() / 100.0;
    let free: Vec<Value> =
        times.free.iter().map(|(from, to)| json!({ "from": rfc3339(*from), "to": rfc3339(*to) })).collect();
    let taken = times.taken.iter().map(|busy| {
        json!({ "from": rfc3339(busy.from), "to": rfc3339(busy.to), "what": busy.what, "calendar": busy.source })
    });
    let exceptions = times.hours.except.iter().map(|exception| {
        json!({ "from": exception.from.to_string(), "to": exception.to.to_string(), "text": exception.said })
    });
    let calendars = times.calendars.iter().map(|calendar| {
        let faults =
            calendar.faults.iter().map(|fault| json!({ "line": fault.line, "what": clean(&fault.what) }));
        json!({
            "file": calendar.file,
            "events": calendar.events,
            "bad": calendar.bad,
            "faults": faults.collect::<Vec<_>>(),
            "error": calendar.error.as_deref().map(clean),
        })
    });
    json!({
        "from": rfc3339(times.span.0),
        "to": rfc3339(times.span.1),
        "stated_hours": hours(&times.stated),
        "free_hours": hours(&times.free),
        "free": free,
        "taken": taken.collect::<Vec<_>>(),
        "exceptions": exceptions.collect::<Vec<_>>(),
        "calendars": calendars.collect::<Vec<_>>(),
    })
}
