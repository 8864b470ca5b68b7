//! `check`: whether a coat may go on an area now; if not, when next.

use std::io::Write;

use serde_json::json;

use super::setup::Setup;
use super::{Failure, json};
use crate::app::wording::Check;
use crate::engine::assess::Answer;
use crate::engine::units::rfc3339;

pub fn run(
    setup: &Setup,
    area: &str,
    product: Option<&str>,
    yes: bool,
    out: &mut dyn Write,
) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    // An unrecorded area is bare; with a product it can still be judged.
    let name = match product {
        Some(_) => session.area_name(area, false)?,
        None => session.known_area(area)?,
    };
    if yes {
        session.confirm_pair(&name, product)?;
    }
    let check = session.check(&name, product, session.now())?;
    if setup.json {
        as_json(&check, out)?;
    } else {
        as_text(&check, out)?;
    }
    Ok(u8::from(check.answer != Answer::Go))
}

fn as_json(check: &Check, out: &mut dyn Write) -> Result<(), Failure> {
    let reasons = check.reasons.iter();
    let reasons = reasons.map(|r| json!({ "code": r.code, "text": r.text, "from": rfc3339(r.from) }));
    let slots = check.slots.iter().map(|(from, to)| json!({ "from": rfc3339(*from), "to": rfc3339(*to) }));
    let (reasons, slots): (Vec<_>, Vec<_>) = (reasons.collect(), slots.collect());
    let moment = |moment: Option<_>| moment.map(rfc3339);
    let value = json!({
        "verdict": check.answer,
        "do": check.verdict.key(),
        "until": moment(check.until),
        "from": moment(check.from),
        "reasons": reasons,
        "slots": slots,
    });
    json(out, &value)
}

fn as_text(check: &Check, out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(out, "{}", check.says)?;
    check.why.iter().try_for_each(|why| writeln!(out, "- {why}"))?;
    if check.slots.len() > 1 || (check.answer == Answer::Wait && !check.slots.is_empty()) {
        let (now, sanded) = check.slots_by_ground();
        for (title, slots) in
            [("Start and finish within:", now), ("Once it is sanded, start and finish within:", sanded)]
        {
            if !slots.is_empty() {
                writeln!(out, "{title}")?;
            }
            slots.iter().try_for_each(|slot| writeln!(out, "  {slot}"))?;
        }
    }
    if let Some(unforecast) = &check.unforecast {
        writeln!(out, "{unforecast}")?;
    }
    Ok(())
}
