//! What may follow a product and what must never: the entries, and whether they agree.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::DeValue;

use super::order::{self, Climate};
use super::values;
use crate::engine::profile::fault::shown;
use crate::engine::profile::file::{NEVER, RECOAT, Section};
use crate::engine::profile::product::{Never, Recoat, Stage};
use crate::engine::profile::suggestions::nearest;
use crate::engine::profile::table::TimeTable;
use crate::engine::profile::times;
use crate::engine::profile::value::{self, Reading, Trouble};
use crate::engine::units::ActivationEnergy;

/// The stages that a film can be asked to have reached.
const REACHED: [Stage; 4] = [Stage::TackFree, Stage::Sandable, Stage::Handle, Stage::FullCure];

/// The first line on which a name stands.
type Lines = BTreeMap<String, usize>;

/// Every `[[recoat]]` and `[[never]]`.
pub(super) fn read(
    top: &Section<'_>,
    stages: &[(Stage, TimeTable)],
    energy: ActivationEnergy,
    climate: Option<&Climate>,
) -> (Vec<Recoat>, Vec<Never>) {
    let mut named = Lines::new();
    let entries = top.sections("recoat", &RECOAT);
    let recoat = entries.iter().filter_map(|section| {
        section.demand("next", "next = [\"epoxy\"]: ids or families, \"*\" for any");
        let next = names(section, "next");
        for name in next.iter().flatten() {
            let line = section.faults().line_of(name.span().start);
            if let Some(first) = named.get(name.get_ref()) {
                let what = format!("\"{}\" already has a window, from line {first}", shown(name.get_ref()));
                section.faults().add(&name.span(), what, "only the first counts: remove one of them");
            } else {
                named.insert(name.get_ref().clone(), line);
            }
        }
        window(section, top, stages, energy, climate)
            .map(|window| Some(Recoat { next: values(next?), ..window }))?
    });
    let recoat = recoat.collect();
    let never = top.sections("never", &NEVER);
    let never = never.iter().filter_map(|section| never_entry(section, &named)).collect();
    (recoat, never)
}

/// When the next coat may go on, whichever it is.
fn window(
    section: &Section<'_>,
    top: &Section<'_>,
    stages: &[(Stage, TimeTable)],
    energy: ActivationEnergy,
    climate: Option<&Climate>,
) -> Option<Recoat> {
    let faults = section.faults();
    let after = section.optional("after", reached);
    let open = match after {
        Some(stage) => {
            if section.value("open").is_some() {
                let what = "`open` and `after` both say when the next coat may go on";
                faults.add(&section.place("after"), what, "give one of them");
            }
            let table = stages.iter().find(|(given, _)| *given == stage).map(|(_, table)| table.clone());
            let given = top.value("stages").and_then(|stages| stages.get_ref().as_table());
            if table.is_none() && !given.is_some_and(|stages| stages.contains_key(stage.key())) {
                let what = format!("`after` asks for `{0}`, but [stages] has no `{0}`", stage.key());
                let mend = format!("add {} = [{{ at = 20, time = \"16 h\" }}] under [stages]", stage.key());
                faults.add(&section.place("after"), what, mend);
            }
            table
        }
        None if section.value("after").is_some() => None,
        None => {
            section.demand("open", "open = [{ at = 20, time = \"4 h\" }] or after = \"sandable\"");
            times::table(section, "open", energy)
        }
    };
    let close = times::table(section, "close", energy);
    if let (Some(open), Some(close), Some(climate)) = (&open, &close, climate) {
        order::opens_before_it_closes(open, close, climate, section);
    }
    let wash = section.optional("wash", value::flag).unwrap_or(false);
    let sand = section.optional("sand", value::flag).unwrap_or(false);
    if sand && section.value("close").is_some() {
        let what = "`close` is the last moment without sanding, but `sand` asks for sanding at any time";
        faults.add(&section.place("sand"), what, "remove one of them");
    }
    Some(Recoat { next: Vec::new(), open: open?, close, wash, after, sand })
}

fn never_entry(section: &Section<'_>, listed: &Lines) -> Option<Never> {
    let faults = section.faults();
    let (next, over) = (names(section, "next"), names(section, "over"));
    if section.value("next").is_none() && section.value("over").is_none() {
        let mend =
            "add next = [\"alkyd\"], what must not go on it, or over = [\"alkyd\"], what it must not go on";
        faults.add(section.heading(), "[[never]] names no product", mend);
    }
    for name in next.iter().flatten() {
        if let Some(line) = listed.get(name.get_ref()) {
            let what = format!(
                "\"{}\" must never follow, but [[recoat]] lists it in line {line}",
                shown(name.get_ref())
            );
            faults.add(&name.span(), what, "remove one of them");
        }
    }
    for name in over.iter().flatten().filter(|name| name.get_ref() == "*") {
        let mend = "name the ids or families that it must not go on";
        faults.add(&name.span(), "a product that goes on nothing is useless", mend);
    }
    let because = section.required("because", "because = \"its solvents lift the film\"", value::text);
    Some(Never {
        next: values(next.unwrap_or_default()),
        over: values(over.unwrap_or_default()),
        because: because?,
    })
}

/// A list of ids and families, not empty.
fn names(section: &Section<'_>, key: &'static str) -> Option<Vec<Spanned<String>>> {
    let names = section.list(key, "[\"epoxy\"]", value::text);
    if names.as_ref().is_some_and(Vec::is_empty) {
        let what = format!("`{key}` names no product");
        section.faults().add(&section.place(key), what, "name ids or families, \"*\" for any");
    }
    names
}

fn reached(value: &DeValue<'_>) -> Reading<Stage> {
    let text = value::text(value)?;
    let known = REACHED.into_iter().find(|stage| stage.key() == text);
    known.ok_or_else(|| {
        let mend = match nearest(&text, &REACHED.map(Stage::key)) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None => "write \"tack_free\", \"sandable\", \"handle\" or \"full_cure\"".into(),
        };
        Trouble::new(format!("\"{}\" is not a stage of a film", shown(&text)), mend)
    })
}
