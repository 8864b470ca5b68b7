//! `status`: what may be done now, area by area.

use std::io::{self, IsTerminal, Write};

use super::setup::Setup;
use super::{Failure, json};
use crate::app::session::Session;
use crate::app::view::View;
use crate::engine::assess::SurveyOptions;
use crate::tui::wrap;

pub fn run(setup: &Setup, all: bool, out: &mut dyn Write) -> Result<u8, Failure> {
    setup.tell_faults();
    print(&setup.session()?, setup.json, SurveyOptions { all_coats: all }, out)?;
    Ok(0)
}

/// Prints the status of a session at its now.
pub fn print(
    session: &Session<'_>,
    as_json: bool,
    options: SurveyOptions,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let now = session.now();
    if as_json {
        return json(out, &session.status(now, options)?);
    }
    let survey = session.survey(now, options)?;
    text(&session.view(&survey, now)?, columns(), out)
}

/// The width of the terminal; other output is not wrapped.
fn columns() -> u16 {
    let terminal = io::stdout().is_terminal().then(crossterm::terminal::size);
    terminal.and_then(Result::ok).map_or(u16::MAX, |(columns, _)| columns.clamp(40, 100))
}

/// Writes a sentence, its further lines under the first.
fn paragraph(out: &mut dyn Write, lead: &str, text: &str, columns: u16) -> io::Result<()> {
    let indent = lead.chars().count();
    let room = columns.saturating_sub(u16::try_from(indent).unwrap_or(0));
    for (index, line) in wrap(text, room).iter().enumerate() {
        let lead = if index == 0 { lead } else { &" ".repeat(indent) };
        writeln!(out, "{lead}{line}")?;
    }
    Ok(())
}

fn text(view: &View, columns: u16, out: &mut dyn Write) -> Result<(), Failure> {
    let piece = view.piece.as_ref().map(|piece| format!("{piece}, ")).unwrap_or_default();
    writeln!(out, "{piece}{}", view.clock)?;
    for air in &view.air {
        let figures: Vec<&str> = air.figures.iter().map(String::as_str).chain([air.age.as_str()]).collect();
        paragraph(out, "", &format!("{}: {}", air.place, figures.join(", ")), columns)?;
        for told in [&air.film, &air.coat].into_iter().filter(|told| !told.is_empty()) {
            paragraph(out, "  ", &told.full, columns)?;
        }
    }
    for ribbon in &view.ribbons {
        let layer = if ribbon.layer.is_empty() { String::new() } else { format!(" ({})", ribbon.layer) };
        writeln!(out, "\n{}: {}{layer}", ribbon.area, ribbon.head)?;
        paragraph(out, "  ", &ribbon.says, columns)?;
        if !ribbon.range.is_empty() {
            paragraph(out, "  ", &ribbon.range, columns)?;
        }
        for film in &ribbon.film {
            writeln!(out, "  {film}")?;
        }
        for assumed in &ribbon.assumed {
            paragraph(out, "  assumed: ", assumed, columns)?;
        }
    }
    for pot in &view.pots {
        writeln!(out, "\n{}", pot.says)?;
        writeln!(out, "  {}", pot.range)?;
        for assumed in &pot.assumed {
            writeln!(out, "  assumed: {assumed}")?;
        }
    }
    for banner in &view.banners {
        writeln!(out)?;
        paragraph(out, "! ", &format!("{} (alert {})", banner.text, banner.id.0), columns)?;
    }
    let area = view.next.area.as_ref().map(|area| format!("{area}: ")).unwrap_or_default();
    writeln!(out)?;
    paragraph(out, "Next: ", &format!("{area}{}", view.next.line()), columns)?;
    if let Some(countdown) = &view.next.countdown {
        writeln!(out, "      {} {}", countdown.digits(view.now), countdown.label)?;
    }
    Ok(())
}
