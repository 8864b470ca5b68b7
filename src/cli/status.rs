//! `status`: what may be done now, area by area.

use std::io::Write;

use super::setup::Setup;
use super::{Failure, json};
use crate::board::{SurveyOptions, View};
use crate::session::Session;

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
    text(&session.view(&survey, now)?, out)
}

fn text(view: &View, out: &mut dyn Write) -> Result<(), Failure> {
    let piece = view.piece.as_ref().map(|piece| format!("{piece}, ")).unwrap_or_default();
    writeln!(out, "{piece}{}", view.clock)?;
    for air in &view.air {
        let figures: Vec<&str> = air.figures.iter().map(String::as_str).chain([air.age.as_str()]).collect();
        writeln!(out, "{}: {}", air.place, figures.join(", "))?;
        if !air.fitness.is_empty() {
            writeln!(out, "  {}", air.fitness)?;
        }
    }
    for ribbon in &view.ribbons {
        let phase = match ribbon.phase {
            _ if ribbon.applying => "being coated",
            Some(phase) => phase.word(),
            None if ribbon.layer.is_empty() => "bare",
            None => "not known",
        };
        let layer = if ribbon.layer.is_empty() { String::new() } else { format!(" ({})", ribbon.layer) };
        writeln!(out, "\n{}: {phase}{layer}", ribbon.area)?;
        writeln!(out, "  {}", ribbon.says)?;
        if !ribbon.range.is_empty() {
            writeln!(out, "  {}", ribbon.range)?;
        }
        for film in &ribbon.film {
            writeln!(out, "  {film}")?;
        }
        for assumed in &ribbon.assumed {
            writeln!(out, "  assumed: {assumed}")?;
        }
    }
    for banner in &view.banners {
        writeln!(out, "\n! {} (alert {})", banner.text, banner.id.0)?;
    }
    let area = view.next.area.as_ref().map(|area| format!("{area}: ")).unwrap_or_default();
    writeln!(out, "\nNext: {area}{}", view.next.says)?;
    if let Some(countdown) = &view.next.countdown {
        writeln!(out, "      {} {}", countdown.digits(view.now), countdown.label)?;
    }
    Ok(())
}
