//! `check`: whether a coat may go on an area now; if not, when next.

use std::io::Write;

use serde_json::json;

use super::setup::Setup;
use super::{Failure, json};
use crate::app::wording::Check;
use crate::engine::assess::Verdict;
use crate::engine::units::{clean, rfc3339};

pub fn run(setup: &Setup, area: &str, product: Option<&str>, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = setup.session()?;
    // What is not recorded yet is bare; with a product it can be judged all the same.
    let name = match product {
        Some(_) => session.area_name(area, false)?,
        None => session.known_area(area)?,
    };
    let check = session.check(&name, product, session.now())?;
    if setup.json {
        as_json(&check, out)?;
    } else {
        as_text(&check, out)?;
    }
    Ok(u8::from(check.verdict != Verdict::Go))
}

fn as_json(check: &Check, out: &mut dyn Write) -> Result<(), Failure> {
    let reasons = check.reasons.iter();
    let reasons = reasons.map(|r| json!({ "code": r.code, "text": r.text, "from": rfc3339(r.from) }));
    let slots = check.slots.iter().map(|(from, to)| json!({ "from": rfc3339(*from), "to": rfc3339(*to) }));
    let (reasons, slots): (Vec<_>, Vec<_>) = (reasons.collect(), slots.collect());
    json(out, &json!({ "verdict": check.verdict, "reasons": reasons, "slots": slots }))
}

fn as_text(check: &Check, out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(out, "{}", check.says)?;
    if let Some(until) = &check.until {
        writeln!(out, "{until}")?;
    }
    for reason in &check.reasons {
        writeln!(out, "- {}", clean(&reason.text))?;
    }
    if check.slots.len() > 1 || (check.verdict == Verdict::Wait && !check.slots.is_empty()) {
        let (now, sanded) = check.slots_by_ground();
        for (title, slots) in [("Slots:", now), ("Slots, once it is sanded:", sanded)] {
            if !slots.is_empty() {
                writeln!(out, "{title}")?;
            }
            slots.iter().try_for_each(|slot| writeln!(out, "  {slot}"))?;
        }
    }
    if let Some(not_predicted) = &check.not_predicted {
        writeln!(out, "{not_predicted}")?;
    }
    Ok(())
}
