//! `coat`, `done`, `step`, `reading`, `undo`: one entry each.

use std::io::{self, IsTerminal, Write};

use serde_json::json;

use super::args::{CoatArguments, ReadingArguments, StepArguments};
use super::setup::Setup;
use super::{Failure, json};
use crate::app::session::{Done, Order, Session, SessionError};
use crate::app::wording::sentence;
use crate::engine::job::EntryId;
use crate::engine::units::{Celsius, Humidity};

pub fn coat(setup: &Setup, coat: CoatArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    let area = session.area_name(&coat.area, coat.new)?;
    let (batch, sure) = (coat.batch.map(EntryId), coat.yes);
    let CoatArguments { product, next, done: finished, why, .. } = coat;
    let order = |sure| Order::Coat {
        area: area.clone(),
        product: product.clone(),
        next: next.clone(),
        finished,
        batch,
        why: why.clone(),
        sure,
    };
    let done = match session.execute(order(sure), setup.at) {
        Err(SessionError::Ask(question) | SessionError::AgainstScheme(question))
            if !setup.json && said_yes(&question)? =>
        {
            session.execute(order(true), setup.at)?
        }
        done => done?,
    };
    answer(setup, &done, out)?;
    Ok(0)
}

pub fn done(setup: &Setup, area: Option<String>, out: &mut dyn Write) -> Result<u8, Failure> {
    execute(setup, &mut setup.session()?, Order::Finish { area }, out)
}

pub fn step(setup: &Setup, step: StepArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    let area = session.area_name(&step.area, step.new)?;
    let order =
        Order::Step { area, step: step.step, minutes: step.minutes, coats: step.coats, why: step.why };
    execute(setup, &mut session, order, out)
}

pub fn reading(setup: &Setup, reading: ReadingArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let unit = setup.config.units.temperature;
    let temperature = |text: &str| Celsius::parse(text, unit).map_err(SessionError::from);
    let order = Order::Reading {
        place: reading.place,
        air: temperature(&reading.temperature)?,
        humidity: reading
            .humidity
            .as_deref()
            .map(Humidity::parse_typed)
            .transpose()
            .map_err(SessionError::from)?,
        surface: reading.surface.as_deref().map(temperature).transpose()?,
    };
    execute(setup, &mut setup.session()?, order, out)
}

pub fn undo(setup: &Setup, entry: Option<i64>, out: &mut dyn Write) -> Result<u8, Failure> {
    let order = Order::Undo { entry: entry.map(EntryId) };
    execute(setup, &mut setup.session()?, order, out)
}

/// Asks the person at the terminal; where there is none, nobody said yes.
fn said_yes(question: &str) -> Result<bool, Failure> {
    if !(io::stdin().is_terminal() && io::stderr().is_terminal()) {
        return Ok(false);
    }
    write!(io::stderr(), "{} Record it anyway? [y/N] ", sentence(question))?;
    let mut answer = String::new();
    io::stdin().read_line(&mut answer)?;
    Ok(matches!(answer.trim().to_lowercase().as_str(), "y" | "yes"))
}

/// Carries an order out and prints the result.
pub fn execute(
    setup: &Setup,
    session: &mut Session<'_>,
    order: Order,
    out: &mut dyn Write,
) -> Result<u8, Failure> {
    let done = session.execute(order, setup.at)?;
    answer(setup, &done, out)?;
    Ok(0)
}

/// Prints the result.
pub fn answer(setup: &Setup, done: &Done, out: &mut dyn Write) -> Result<(), Failure> {
    if setup.json {
        return json(out, &json!({ "says": done.says, "cautions": done.cautions }));
    }
    if !setup.quiet {
        writeln!(out, "{}", done.says)?;
    }
    for caution in &done.cautions {
        writeln!(out, "! {caution}")?;
    }
    Ok(())
}
