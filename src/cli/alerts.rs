//! `alerts`: shows and acknowledges alerts.

use std::io::Write;

use super::entries::answer;
use super::setup::Setup;
use super::{Failure, json};
use crate::app::json::AlertStatus;
use crate::app::session::{Done, Order};
use crate::engine::job::{AlertId, clock_was_ahead};
use crate::engine::units::clean;

/// Puts an alert off.
pub fn put_off(setup: &Setup, alert: i64, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    let now = session.now();
    let says = match session.put_off(AlertId(alert), now)? {
        Some(until) => format!("Alert {alert} comes again at {}.", session.words().when(until, now)),
        None => format!("Alert {alert} was already marked as seen."),
    };
    answer(setup, &Done { says, ..Done::default() }, out)?;
    Ok(0)
}

pub fn run(setup: &Setup, ack: Option<&str>, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    if let Some(ack) = ack {
        let alert = match ack {
            "all" => None,
            number => Some(AlertId(number.parse().map_err(|_| {
                Failure::Input(format!("\"{}\" is not an alert; give its number, or \"all\"", clean(number)))
            })?)),
        };
        let done = session.execute(Order::Acknowledge { alert }, None)?;
        answer(setup, &done, out)?;
        return Ok(0);
    }
    let now = session.now();
    let mut alerts = session.alerts()?;
    // With a requested moment, later alerts do not exist yet. With the current time they do: the clock was
    // ahead.
    let latest = session.clock().latest();
    let put_off = session.put_off_alerts(now)?;
    let ahead = |raised| clock_was_ahead(raised, latest);
    alerts.retain(|alert| alert.raised <= now || ahead(alert.raised));
    if setup.json {
        json(out, &alerts.iter().map(AlertStatus::of).collect::<Vec<_>>())?;
        return Ok(0);
    }
    if alerts.is_empty() {
        writeln!(out, "There are no alerts.")?;
    }
    for alert in alerts {
        let seen = if alert.acknowledged.is_some() { "seen  " } else { "unseen" };
        let when = session.words().when(alert.raised, now);
        let mut word = if ahead(alert.raised) { " (The clock was ahead then.)" } else { "" }.to_owned();
        let later = put_off.iter().find(|snooze| snooze.alert == alert.id && alert.acknowledged.is_none());
        if let Some(snooze) = later {
            word += &format!(" (Put off until {}.)", session.words().when(snooze.until, now));
        }
        writeln!(out, "{:>5}  {seen}  {when}  {}{word}", alert.id.0, clean(&alert.text))?;
    }
    Ok(0)
}
