//! `check`: whether a coat may go on an area now; if not, when next.

use std::io::Write;

use serde_json::json;

use super::setup::Setup;
use super::{Failure, json};
use crate::board::{AreaSurvey, SurveyOptions, Verdict};
use crate::climate::Unforeseen;
use crate::session::SessionError;
use crate::units::{Moment, clean};

pub fn run(setup: &Setup, area: &str, product: Option<&str>, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    let now = session.now();
    let survey = session.survey(now, SurveyOptions::default())?;
    let given = area.trim();
    let bare = AreaSurvey::bare(&clean(given), survey.places.first().map_or("shop", |air| &air.place));
    let area = match (survey.area(given), product) {
        (Some(area), _) => area,
        // What is not recorded yet is bare; with a product it can be judged all the same.
        (None, Some(_)) if session.area_name(given, false)? == bare.name => &bare,
        (None, _) => return Err(session.known_area(given).err().unwrap_or(SessionError::NoName).into()),
    };
    let name = area.name.clone();
    let product = match product {
        Some(id) => session.library().get(id).map_err(SessionError::from)?,
        None => area.next.ok_or_else(|| SessionError::WhichProduct { area: name.clone() })?,
    };
    let Some(fitness) = survey.check(area, product) else {
        return Err(Failure::Input(format!("nothing is known of the place of {name}")));
    };
    let words = session.words();
    let reasons = fitness.reasons(words, now);
    let status = u8::from(fitness.verdict != Verdict::Go);
    if setup.json {
        let time = |moment: Moment| moment.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        let reasons: Vec<_> = reasons
            .iter()
            .map(|reason| json!({ "code": reason.code, "text": reason.text, "from": time(reason.from) }))
            .collect();
        let slots: Vec<_> =
            fitness.slots.iter().map(|(from, to)| json!({ "from": time(*from), "to": time(*to) })).collect();
        json(out, &json!({ "verdict": fitness.verdict, "reasons": reasons, "slots": slots }))?;
        return Ok(status);
    }
    let name = clean(&name);
    match (fitness.verdict, fitness.slots.first()) {
        (Verdict::Go, _) => {
            writeln!(out, "Go: {name} may take a coat of {} now.", product.id)?;
            if let Some((until, against)) = fitness.air_until {
                let then = words.then_against(against);
                writeln!(out, "The air suits it until about {}; then {then}.", words.when(until, now))?;
            }
        }
        (Verdict::Wait, Some(slot)) => {
            writeln!(
                out,
                "Wait until {}: then {name} may take a coat of {}.",
                words.when(slot.0, now),
                product.id
            )?;
        }
        _ => writeln!(out, "No: {name} may not take a coat of {} on what is known.", product.id)?,
    }
    for reason in &reasons {
        writeln!(out, "- {}", clean(&reason.text))?;
    }
    if fitness.slots.len() > 1 || (fitness.verdict == Verdict::Wait && !fitness.slots.is_empty()) {
        writeln!(out, "Slots:")?;
        for (from, to) in &fitness.slots {
            writeln!(out, "  {} … {}", words.when(*from, now), words.when(*to, now))?;
        }
    }
    match survey.sky(&area.place).and_then(|sky| sky.unforeseen.as_ref()) {
        Some(Unforeseen::NoForecast) => {
            writeln!(
                out,
                "No forecast is known, so only the air as it is now was judged: curewright forecast"
            )?;
        }
        Some(Unforeseen::TooLittle(why)) => {
            writeln!(out, "Nothing is foreseen for {}: {why}. The air as it is now was judged.", area.place)?;
        }
        _ => {}
    }
    Ok(status)
}
