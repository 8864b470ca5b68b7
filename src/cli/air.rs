//! `air`: dew point, margin and verdict, for given or recorded figures.

use std::io::Write;

use chrono::TimeDelta;
use serde_json::json;

use super::args::AirArguments;
use super::setup::Setup;
use super::{Failure, json};
use crate::app::json::AirStatus;
use crate::app::session::SessionError;
use crate::engine::air::{dew_point, margin};
use crate::engine::assess::{Answer, PlaceAir, SurveyOptions};
use crate::engine::units::{Celsius, Humidity, KelvinDelta, clean, duration_text};

/// The default dew margin (ISO 8502-4 is commonly quoted for it).
const DEW_MARGIN: KelvinDelta = KelvinDelta::new(3.0);

pub fn run(setup: &Setup, arguments: &AirArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let now = session.now();
    let survey = session.survey(now, SurveyOptions::default())?;
    let read = survey.places.iter().find(|place| place.reading.is_some());
    let air = given(setup, arguments, read.or(survey.places.first()))?;
    if air.reading.is_none() {
        return Err(Failure::Input(
            "the temperature is unknown; give --temperature, or enter a reading".into(),
        ));
    }
    let view = session.view(&survey, now)?;
    // Given values are judged by themselves: they need not be those of the shop now.
    let recorded = !arguments.any_given();
    let line = view.air.iter().find(|line| line.place == clean(&air.place)).filter(|_| recorded);
    let next = survey.comes_next(&air.place).filter(|_| recorded);
    let asked = next.and_then(|area| area.next).map_or(DEW_MARGIN, |next| next.application.dew_margin);
    let dry = air.margin.is_some_and(|margin| margin >= asked);
    let film = survey.areas.iter().filter(|area| recorded && area.place == air.place);
    let film: Vec<bool> =
        film.filter_map(|area| area.film.as_ref()).map(|film| film.threats.is_empty()).collect();
    let verdict = match next.and_then(|area| area.judgement.as_ref()) {
        Some(judgement) => judgement.air_answer(),
        // If no coat is planned, the film counts.
        None if dry && film.iter().all(|suits| *suits) => Answer::Go,
        None => Answer::No,
    };
    let says = line.into_iter().flat_map(|line| [&line.film, &line.coat]);
    let says: Vec<&str> = says.filter(|told| !told.is_empty()).map(|told| told.full.as_str()).collect();
    if setup.json {
        let mut value = serde_json::to_value(AirStatus::of(&air, now)).map_err(std::io::Error::from)?;
        value["verdict"] = json!(verdict);
        value["film"] = match film.iter().min() {
            None => json!(null),
            Some(true) => json!("suits"),
            Some(false) => json!("threatened"),
        };
        value["says"] = json!(says);
        json(out, &value)?;
    } else {
        let age = air.age(now).filter(|age| recorded && *age >= TimeDelta::minutes(1));
        let several = recorded && survey.places.len() > 1;
        if several {
            writeln!(out, "place    {}", clean(&air.place))?;
        }
        let humidity_age = air.humidity.and_then(|(_, at)| at).map(|at| now - at);
        let old = humidity_age.filter(|age| *age > setup.config.reading_old);
        figures(setup, &air, (age, old), asked, dry, out)?;
        says.iter().try_for_each(|sentence| writeln!(out, "{sentence}"))?;
    }
    Ok(u8::from(verdict != Answer::Go))
}

fn figures(
    setup: &Setup,
    air: &PlaceAir,
    (age, old): (Option<TimeDelta>, Option<TimeDelta>),
    asked: KelvinDelta,
    dry: bool,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let units = &setup.config.units;
    if let Some(age) = age {
        writeln!(out, "last read {} ago", duration_text(age))?;
    }
    if let Some(temperature) = air.temperature {
        writeln!(out, "air      {}", units.temperature(temperature))?;
    }
    match air.humidity {
        Some((humidity, _)) => {
            let age = old.map(|age| format!(" (measured {} ago)", duration_text(age))).unwrap_or_default();
            writeln!(out, "humidity {humidity}{age}")?;
        }
        None => writeln!(out, "humidity unknown")?,
    }
    if let Some((surface, measured)) = air.surface {
        let how = if measured { "" } else { " (calculated from the air, not measured)" };
        writeln!(out, "surface  {}{how}", units.temperature(surface))?;
    }
    if let Some(dew) = air.dew {
        let kind = if dew.frost { "frost point" } else { "dew point" };
        writeln!(out, "{kind} {}", units.temperature(dew.at))?;
    }
    let asked = units.difference(asked);
    match air.margin {
        None => writeln!(out, "Without humidity the dew point is unknown.")?,
        Some(margin) if dry && old.is_some() => {
            let margin = units.difference(margin);
            writeln!(
                out,
                "The surface may be {margin} above the dew point ({asked} needed): measure the humidity."
            )?;
        }
        Some(margin) if dry => {
            let margin = units.difference(margin);
            writeln!(out, "The surface is {margin} above the dew point: dry enough ({asked} needed).")?;
        }
        Some(margin) => {
            let over = if margin.kelvin() < 0.0 { "below" } else { "above" };
            let margin = units.difference(margin.abs());
            let margin = if margin == asked { format!("just below {margin}") } else { margin };
            writeln!(out, "The surface is {margin} {over} the dew point: {asked} above it needed.")?;
        }
    }
    Ok(())
}

/// The recorded air of the first place, overridden by the given values.
fn given(setup: &Setup, given: &AirArguments, recorded: Option<&PlaceAir>) -> Result<PlaceAir, Failure> {
    let unit = setup.config.units.temperature;
    let celsius = |text: &String| Celsius::parse(text, unit).map_err(SessionError::from);
    let temperature = given.temperature.as_ref().map(celsius).transpose()?;
    let humidity =
        given.humidity.as_deref().map(Humidity::parse_typed).transpose().map_err(SessionError::from)?;
    let surface = given.surface.as_ref().map(celsius).transpose()?;
    let now = setup.at.unwrap_or_else(|| crate::app::session::Clock::Wall.now());
    let known = recorded.filter(|_| temperature.is_none());
    let mut air = known.cloned().unwrap_or_else(|| PlaceAir::unknown("given"));
    if let Some(temperature) = temperature {
        air = air.with_air(temperature, now);
    }
    if let Some(humidity) = humidity {
        air.humidity = Some((humidity, Some(now)));
    }
    if let Some(surface) = surface {
        air.surface = Some((surface, true));
    }
    let dew = air.temperature.zip(air.humidity).and_then(|(air, (humidity, _))| dew_point(air, humidity));
    air.dew = dew;
    air.margin = air.surface.zip(dew).map(|((surface, _), dew)| margin(surface, dew));
    Ok(air)
}
