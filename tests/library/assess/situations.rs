//! `situations.toml`: stories with the verdict that a finisher wrote first, held in every voice.

use super::said::{agree, head_and_verdict};
use super::situation::{Situation, Situations};
use super::world::World;
use curewright::engine::assess::Verdict;
use curewright::engine::profile::Library;
use curewright::engine::units::Moment;

fn read(text: &str) -> Vec<Situation> {
    toml::from_str::<Situations>(text).unwrap().situation
}

fn situations() -> Vec<Situation> {
    read(include_str!("situations.toml"))
}

/// The moment that a verdict names.
fn moment(verdict: Verdict) -> Option<Moment> {
    match verdict {
        Verdict::Go { until, .. } | Verdict::Wait { until } | Verdict::TooLate { until } => until,
        Verdict::PullTape { by } => by,
        _ => None,
    }
}

/// Whether a headline begins with this verdict and not with a longer one.
fn says(head: &str, verdict: &str) -> bool {
    let longer = [" IF DRY", " AND SAND", " THE "];
    head.strip_prefix(verdict).is_some_and(|rest| !longer.iter().any(|more| rest.starts_with(more)))
}

#[test]
fn every_situation_gets_the_verdict_that_a_finisher_wrote_first() {
    hold(&situations());
}

#[test]
fn the_situations_of_a_second_person_get_their_verdict() {
    hold(&read(include_str!("second_person.toml")));
}

fn hold(all: &[Situation]) {
    let library = Library::built_in();
    let mut wrong = Vec::new();
    for situation in all {
        let world = World::of_situation(situation);
        let (head, verdict) = head_and_verdict(&world, world.begins(), &library);
        let accepted =
            says(&head, &situation.verdict) || situation.or.as_ref().is_some_and(|or| says(&head, or));
        if !accepted {
            wrong.push(format!("{}: {} expected, {head}", situation.says, situation.verdict));
        } else if let (Some((from, to)), true) = (situation.until(), says(&head, &situation.verdict)) {
            let after = moment(verdict).map(|moment| moment - world.begins());
            if after.is_none_or(|after| after < from || after > to) {
                let expected = situation.until.as_deref().unwrap_or_default();
                wrong.push(format!("{}: {head}, expected within {expected}", situation.says));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), all.len(), wrong.join("\n"));
}

#[test]
fn every_voice_agrees_in_every_situation() {
    let library = Library::built_in();
    let mut wrong = Vec::new();
    for situation in situations() {
        let world = World::of_situation(&situation);
        if let Err(contradiction) = agree(&world, world.begins(), &library) {
            wrong.push(format!("{}: {contradiction}", situation.says));
        }
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}
