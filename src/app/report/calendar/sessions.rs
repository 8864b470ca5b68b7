//! The sessions of a plan: each coat with its tape, each sanding and washing as an appointment.

use chrono::TimeDelta;

use super::Event;
use super::identity::{Issue, Subject};
use crate::app::wording::Words;
use crate::engine::plan::{Plan, Step, What};

/// So long before a session its alarm rings: time to get to the shop and to mix.
const BEFORE: TimeDelta = TimeDelta::minutes(30);

/// Mixing, with the induction time, takes no longer.
const LONGEST_MIXING: TimeDelta = TimeDelta::hours(3);

/// The sessions of a plan, in order of time. What tells one from another is the area, the coat and what is
/// done, so that another plan moves it.
pub fn sessions(plan: &Plan, words: &Words, issue: Issue) -> Vec<Event> {
    let mut events: Vec<Event> = Vec::new();
    for (index, step) in plan.steps.iter().enumerate() {
        let beside = matches!(step.what, What::Mix | What::CleanUp);
        if beside || is_part_of_its_coat(&plan.steps, index) {
            continue;
        }
        let (mut from, mut to) = (step.from, step.to);
        let mut with_tape = None;
        if step.what == What::Coat {
            let tape = |what| {
                plan.steps
                    .iter()
                    .find(move |tape| tape.what == what && tape.area == step.area && tape.layer == step.layer)
            };
            if let Some(on) = tape(What::TapeOn).filter(|on| goes_before(on, step)) {
                from = on.from;
            }
            if let Some(off) = tape(What::TapeOff).filter(|off| off.from == step.to) {
                (to, with_tape) = (off.to, Some(off));
            }
        }
        let same =
            |other: &&Step| other.area == step.area && other.layer == step.layer && other.what == step.what;
        // Two sandings under one coat are distinguished by their order.
        let word = match plan.steps.iter().take(index).filter(same).count() {
            0 => word(step.what).to_owned(),
            before => format!("{}-{}", word(step.what), before + 1),
        };
        let subject = Subject { area: &step.area, step: &word, layer: step.layer };
        let mut lines: Vec<String> = with_tape.map(|off| words.planned(off, issue.at)).into_iter().collect();
        lines.push(format!("Not earlier: {}.", words.not_earlier(step, issue.at)));
        if step.assumed {
            lines.push("There is no forecast for that day yet: plan again before it.".into());
        }
        lines.extend(super::rests_on(words, issue));
        let title = words.planned(step, issue.at);
        events.push(Event::session(issue, &subject, (from, to), &title, lines, BEFORE));
    }
    events
}

/// Whether a step is tape that goes on just before its coat or comes off right after it.
fn is_part_of_its_coat(steps: &[Step], index: usize) -> bool {
    let tape = &steps[index];
    steps.iter().any(|coat| {
        let same = coat.what == What::Coat && coat.area == tape.area && coat.layer == tape.layer;
        match tape.what {
            What::TapeOn => same && goes_before(tape, coat),
            What::TapeOff => same && coat.to == tape.from,
            _ => false,
        }
    })
}

/// Whether tape goes on just before its coat, with no more than the mixing between.
fn goes_before(tape: &Step, coat: &Step) -> bool {
    (TimeDelta::zero()..=LONGEST_MIXING).contains(&(coat.from - tape.to))
}

const fn word(what: What) -> &'static str {
    match what {
        What::Coat => "coat",
        What::Sand => "sand",
        What::Wash => "wash",
        What::TapeOn => "tape-on",
        What::TapeOff => "tape-off",
        What::Mix => "mix",
        What::CleanUp => "clean-up",
    }
}
