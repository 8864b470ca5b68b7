//! `learned`: what this job gives for the next scheme, as lines to copy.

use std::io::{self, Write};

use chrono::TimeDelta;
use serde_json::json;

use super::setup::Setup;
use super::{Failure, json};
use crate::app::wording::Words;
use crate::engine::assess::{Learned, Pace, PlaceLearned, WindowLearned};
use crate::engine::profile::Stage;
use crate::engine::units::{AreaUnit, SquareMetres, capital, clean, duration_text, rfc3339};

pub fn run(setup: &Setup, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let learned = session.learned(session.now())?;
    if setup.json {
        json(out, &machine(&learned))?;
    } else {
        text(&learned, session.words(), out)?;
    }
    Ok(0)
}

fn text(learned: &Learned, words: &Words, out: &mut dyn Write) -> io::Result<()> {
    if learned.areas.is_empty() {
        writeln!(
            out,
            "Pace: nothing yet. It needs square_metres in the scheme, and a coat with a first and a last stroke."
        )?;
    } else {
        writeln!(out, "Pace:")?;
        learned
            .areas
            .iter()
            .chain(&learned.products)
            .try_for_each(|pace| writeln!(out, "  {}: {}", clean(&pace.name), told(pace, words)))?;
    }
    for place in &learned.places {
        writeln!(out, "{}", shop(place, words))?;
    }
    for stage in [Stage::RecoatOpen, Stage::RecoatClose] {
        let windows: Vec<&WindowLearned> = learned.windows.iter().filter(|w| w.stage == stage).collect();
        writeln!(out, "{}", sentence(stage, &windows))?;
    }
    if !learned.areas.is_empty() {
        writeln!(out, "\n# For the next scheme:")?;
        for pace in &learned.areas {
            let line = format!("minutes_per_square_metre = {:.1}", minutes(pace.square_metre));
            writeln!(out, "{line:<34}# {}", clean(&pace.name))?;
        }
    }
    Ok(())
}

fn minutes(long: TimeDelta) -> f64 {
    long.as_seconds_f64() / 60.0
}

/// "4.2 min/m² (5 coats; the scheme says 4.0)"
fn told(pace: &Pace, words: &Words) -> String {
    let (factor, unit) = match words.units.area {
        AreaUnit::SquareMetres => (1.0, "min/m²"),
        AreaUnit::SquareFeet => (SquareMetres::PER_SQUARE_FOOT, "min/ft²"),
    };
    let figure = |long: TimeDelta| match words.units.area {
        AreaUnit::SquareMetres => format!("{:.1}", minutes(long)),
        AreaUnit::SquareFeet => format!("{:.2}", minutes(long) * factor),
    };
    let coats = if pace.coats == 1 { "one coat".into() } else { format!("{} coats", pace.coats) };
    let planned = pace.planned.map(|planned| format!("; the scheme says {}", figure(planned)));
    format!("{} {unit} ({coats}{})", figure(pace.square_metre), planned.unwrap_or_default())
}

fn shop(place: &PlaceLearned, words: &Words) -> String {
    let name = capital(&clean(&place.place));
    match &place.model {
        Err(why) => format!("{name}: how it follows the outdoor air is unknown: {why}."),
        Ok(model) => {
            let (low, high) = model.tau_range();
            let gain = model.shop().gain();
            let warmer = if gain.kelvin() < 0.0 { "cooler" } else { "warmer" };
            format!(
                "{name}: follows the outdoor air with a lag of {} ({} … {}), and stays {} {warmer} (± {}).",
                duration_text(model.shop().tau()),
                duration_text(low),
                duration_text(high),
                words.units.difference(gain.abs()),
                words.units.difference(model.gain_error())
            )
        }
    }
}

/// "Windows opened 12 min later than expected at the last stroke …"
fn sentence(stage: Stage, windows: &[&WindowLearned]) -> String {
    let what = if stage == Stage::RecoatOpen { "opened" } else { "closed" };
    let Some(mean) = mean(windows.iter().map(|window| window.late_by())) else {
        return format!("Windows: none has {what} yet.");
    };
    let off = self::mean(windows.iter().map(|window| window.late_by().abs())).unwrap_or_default();
    let inside = windows.iter().filter(|window| window.is_inside()).count();
    let late = match mean {
        mean if mean.abs() < TimeDelta::minutes(1) => "as expected".to_owned(),
        mean if mean < TimeDelta::zero() => format!("{} earlier than expected", duration_text(mean)),
        mean => format!("{} later than expected", duration_text(mean)),
    };
    format!(
        "Windows: {} {what}, on average {late} at the last stroke, with an error of {}; {inside} between earliest and latest.",
        windows.len(),
        duration_text(off)
    )
}

fn mean(lengths: impl Iterator<Item = TimeDelta>) -> Option<TimeDelta> {
    let lengths: Vec<TimeDelta> = lengths.collect();
    let count = i32::try_from(lengths.len()).ok().filter(|count| *count > 0)?;
    Some(lengths.into_iter().sum::<TimeDelta>() / count)
}

fn machine(learned: &Learned) -> serde_json::Value {
    let pace = |pace: &Pace| {
        json!({
            "name": pace.name,
            "coats": pace.coats,
            "minutes_per_square_metre": hundredth(minutes(pace.square_metre)),
            "planned": pace.planned.map(|planned| hundredth(minutes(planned))),
        })
    };
    let place = |place: &PlaceLearned| match &place.model {
        Err(why) => json!({ "place": place.place, "unknown": why.to_string() }),
        Ok(model) => json!({
            "place": place.place,
            "lag_hours": hundredth(model.shop().tau().as_seconds_f64() / 3600.0),
            "warmer_k": hundredth(model.shop().gain().kelvin()),
        }),
    };
    let window = |window: &WindowLearned| {
        json!({
            "area": window.area,
            "layer": window.layer,
            "stage": window.stage.key(),
            "foreseen": rfc3339(window.forecast.1),
            "came": rfc3339(window.came),
            "inside": window.is_inside(),
        })
    };
    json!({
        "areas": learned.areas.iter().map(pace).collect::<Vec<_>>(),
        "products": learned.products.iter().map(pace).collect::<Vec<_>>(),
        "places": learned.places.iter().map(place).collect::<Vec<_>>(),
        "windows": learned.windows.iter().map(window).collect::<Vec<_>>(),
    })
}

fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
