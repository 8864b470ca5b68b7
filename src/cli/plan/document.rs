//! A plan as JSON.

use serde_json::{Value, json};

use super::PlanArguments;
use crate::app::session::Planned;
use crate::app::wording::Words;
use crate::engine::plan::{AirBasis, Plan, Step, What};
use crate::engine::units::{Moment, rfc3339};

fn hours(length: chrono::TimeDelta) -> f64 {
    length.num_minutes() as f64 / 60.0
}

/// The document; parts that were not requested are omitted.
pub fn document(
    planned: &Planned,
    (arguments, by): (&PlanArguments, Option<Moment>),
    words: &Words,
    now: Moment,
) -> Value {
    let plan = &planned.plan;
    let mut value = figures(plan);
    let Value::Object(keys) = &mut value else { return value };
    let steps: Vec<Value> = plan.steps.iter().map(|each| step(each, words, now)).collect();
    keys.insert("steps".into(), Value::from(steps));
    let ready = plan.areas.iter().map(|ready| {
        let handled = ready.handled.map(rfc3339);
        json!({ "area": ready.area, "handled": handled, "service": ready.service.map(rfc3339) })
    });
    keys.insert("areas".into(), ready.collect());
    let next = plan.next_session(&planned.free).map(
        |next| json!({ "from": rfc3339(next.free.0), "to": rfc3339(next.free.1), "steps": next.steps.len() }),
    );
    keys.insert("next_session".into(), json!(next));
    keys.insert("assumed".into(), json!(plan.assumed));
    keys.insert("stopped".into(), json!(planned.stopped));
    keys.insert("beyond".into(), planned.basis.iter().map(|(place, air)| basis(place, air)).collect());
    let materials = planned.materials.iter().map(|need| {
        json!({
            "product": need.product, "coats": need.coats, "uncounted": need.uncounted,
            "mass_g": need.need.mass.map(|mass| mass.grams().round()),
            "volume_ml": need.need.volume.map(|volume| volume.millilitres().round()),
            "cost": need.cost.map(|cost| cost.to_string()),
        })
    });
    keys.insert("materials".into(), materials.collect());
    if let Some(by) = by {
        let chance = planned.draws.as_ref().map(|draws| draws.share_by(by));
        keys.insert("by".into(), json!({ "at": rfc3339(by), "met": plan.is_ready_by(by), "chance": chance }));
    }
    if arguments.choices {
        keys.insert("choices".into(), planned.choices.iter().map(figures).collect());
    }
    if let Some(draws) = &planned.draws {
        let end = |percent| draws.percentile(percent).map(rfc3339);
        let draws = json!({
            "seed": draws.seed, "count": draws.count, "not_within": draws.count - draws.ends.len(),
            "service_50": end(50.0), "service_90": end(90.0), "pace_spread": draws.pace,
        });
        keys.insert("draws".into(), draws);
    }
    if let Some(since) = &planned.since {
        let then = since.service.as_ref().ok();
        let since = json!({
            "ago_hours": hours(since.ago), "service_then": then.copied().map(rfc3339),
            "moved_hours": then.map(|then| hours(plan.service - *then)),
            "no_plan": since.service.as_ref().err(),
        });
        keys.insert("since".into(), since);
    }
    if let (Some(heating), Some(unheated)) = (plan.heating, &planned.unheated) {
        let length = if arguments.while_curing { heating.while_curing } else { heating.always };
        let kwh = arguments.heater_kw.map(|power| hours(length) * power);
        let without = unheated.as_ref().ok().map(|plan| plan.service);
        let heating = json!({
            "while_curing": arguments.while_curing, "hours": hours(length), "kwh_at_most": kwh,
            "cost_at_most": kwh.zip(arguments.price).map(|(kwh, price)| kwh * price),
            "service_without": without.map(rfc3339),
            "days_won": without.map(|without| hours(without - plan.service) / 24.0),
        });
        keys.insert("heating".into(), heating);
    }
    value
}

/// The sources of the assumed air of a place.
fn basis(place: &str, basis: &AirBasis) -> Value {
    match basis {
        AirBasis::Record { fewest, most } => {
            json!({ "place": place, "air": "earlier_years", "years_least": fewest, "years_most": most })
        }
        AirBasis::File { name, outdoors } => {
            json!({ "place": place, "air": "file", "file": name, "outdoors": outdoors })
        }
        AirBasis::MeanDay(days) => json!({ "place": place, "air": "mean_day", "days": days }),
        AirBasis::Held(air) => json!({ "place": place, "air": "held", "temperature_c": air.degrees() }),
    }
}

fn figures(plan: &Plan) -> Value {
    json!({
        "from": rfc3339(plan.from), "work_done": rfc3339(plan.work_done), "service": plan.in_service().map(rfc3339),
        "mixings": plan.mixings, "sessions": plan.sessions,
        "work_hours": hours(plan.work), "sandings": plan.sandings, "sandings_owed": plan.owed,
        "optimal": plan.optimal, "gap_hours": hours(plan.gap),
    })
}

fn step(step: &Step, words: &Words, now: Moment) -> Value {
    let (what, tape) = match step.what {
        What::Coat => ("coat", None),
        What::Sand => ("sand", None),
        What::Wash => ("wash", None),
        What::TapeOn => ("tape", Some("on")),
        What::TapeOff => ("tape", Some("off")),
        What::Mix => ("mix", None),
        What::CleanUp => ("clean_up", None),
    };
    let mut value = json!({
        "area": step.area, "what": what, "layer": step.layer,
        "from": rfc3339(step.from), "to": rfc3339(step.to),
        "wet_on_wet": step.wet_on_wet, "owed": step.owed, "assumed": step.assumed,
        "not_earlier": words.not_earlier(step, now),
    });
    if let Value::Object(keys) = &mut value {
        let more = [
            ("product", step.product.clone().map(Value::from)),
            ("tape", tape.map(Value::from)),
            ("by", step.by.map(|by| Value::from(rfc3339(by)))),
        ];
        keys.extend(more.into_iter().filter_map(|(key, value)| Some((key.to_owned(), value?))));
    }
    value
}
