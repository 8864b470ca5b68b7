//! The next step on an area against a person's free hours: whether it falls into them, or when they allow it.
//!
//! It does not know how the hours were stated, nor the events of calendars: the plan has those.

use chrono::TimeDelta;

use super::{Answer, AreaSurvey, Substrate};
use crate::engine::hours::Stretch;
use crate::engine::units::Moment;

/// A free stretch is of use for a sanding from this length on. Common practice, no source.
const SANDING: TimeDelta = TimeDelta::minutes(20);

/// What a person's free hours make of a step that has to wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OwnHours {
    /// The first free moment at which it may be started, later than the step itself would be ready.
    From(Moment),
    /// No free hour meets the window of the film; with the first free moment at which it can be sanded.
    Missed(Option<Moment>),
}

impl OwnHours {
    /// Of an area and a person's free stretches from `now` on; None if the step falls into them, or has no moment.
    pub fn of(area: &AreaSurvey<'_>, free: &[Stretch], now: Moment) -> Option<Self> {
        let judgement = area.judgement.as_ref().filter(|judgement| judgement.answer == Answer::Wait)?;
        let first_in = |begins: Moment, ends: Option<Moment>, takes: TimeDelta| {
            let start = |(from, to): &Stretch| {
                let start = (*from).max(begins);
                (start + takes <= *to && ends.is_none_or(|ends| start <= ends)).then_some(start)
            };
            free.iter().find_map(start)
        };
        let sand = |from: Moment| first_in(from.max(now), None, SANDING);
        let takes = area.takes.unwrap_or(TimeDelta::minutes(30));
        let (ready, found) = match judgement.ground {
            Some(Substrate::Hardening(from, _) | Substrate::Shut(from)) => {
                let from = from?.max(now);
                (from, sand(from))
            }
            Some(Substrate::Wet(_)) | None => {
                let last = Substrate::limit(area);
                let ready = judgement.next_start()?.max(now);
                if last.is_some_and(|last| last < ready) {
                    return None;
                }
                let slots = judgement.slots.iter().map(|(from, to)| (*from, Some(*to - takes)));
                let slots: Vec<_> =
                    if judgement.slots.is_empty() { vec![(ready, last)] } else { slots.collect() };
                let ends = |to: Option<Moment>| to.into_iter().chain(last).min();
                let found = slots.into_iter().find_map(|(from, to)| first_in(from, ends(to), takes));
                if found.is_none() && last.is_some() {
                    let hard = area.newest.as_ref().and_then(|coat| coat.sand_from.latest);
                    return Some(Self::Missed(hard.and_then(sand)));
                }
                (ready, found)
            }
            _ => return None,
        };
        found.filter(|found| *found > ready).map(Self::From)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{Bench, at, library};

    fn hours(minutes: &[(i64, i64)]) -> Vec<Stretch> {
        minutes.iter().map(|(from, to)| (at(*from), at(*to))).collect()
    }

    /// A varnish whose window opens 2 h after the last stroke and closes 10 h after the first, at 20 °C, with these
    /// steps to come.
    fn varnished(to_come: &str, free: &[(i64, i64)]) -> Option<OwnHours> {
        let library = library();
        let scheme = format!(
            "name = \"Hut\"\n[[area]]\nname = \"door\"\nsquare_metres = 1\nminutes_per_square_metre = 20\n\
             steps = [{{ coat = \"varnish-quick\" }}, {to_come}]"
        );
        let bench = Bench::steady(20.0, 60).scheme(&scheme).coat("door", "varnish-quick", 0, 20);
        let survey = bench.survey(&library, 60);
        OwnHours::of(&survey.areas[0], &hours(free), at(60))
    }

    const COAT: &str = "{ coat = \"varnish-quick\" }";
    const SANDED: &str = "{ sand = \"320\" }, { coat = \"varnish-quick\" }";

    #[test]
    fn a_window_that_opens_in_free_hours_needs_no_word() {
        assert_eq!(varnished(COAT, &[(0, 600)]), None);
    }

    #[test]
    fn a_window_that_opens_before_the_free_hours_waits_for_them() {
        assert_eq!(varnished(COAT, &[(0, 90), (300, 420)]), Some(OwnHours::From(at(300))));
    }

    #[test]
    fn free_hours_too_short_for_the_coat_do_not_count() {
        assert_eq!(varnished(COAT, &[(300, 319), (330, 350)]), Some(OwnHours::From(at(330))));
    }

    #[test]
    fn a_window_between_two_evenings_is_missed_and_the_film_is_sanded_in_the_first_free_hour_that_it_allows()
    {
        let evenings = [(0, 120), (600, 700), (1500, 1600)];
        assert_eq!(varnished(COAT, &evenings), Some(OwnHours::Missed(Some(at(1500)))));
        assert_eq!(varnished(COAT, &[(0, 120)]), Some(OwnHours::Missed(None)));
    }

    #[test]
    fn a_film_that_hardens_before_it_is_sanded_is_sanded_in_free_hours() {
        assert_eq!(varnished(SANDED, &[(0, 120), (1500, 1600)]), Some(OwnHours::From(at(1500))));
        assert_eq!(varnished(SANDED, &[(0, 2000)]), None);
    }

    #[test]
    fn without_free_hours_ahead_a_film_without_a_limit_gets_no_date() {
        let library = library();
        let bench = Bench::steady(20.0, 60).coat("floor", "oil-penetrating", 0, 20);
        let survey = bench.survey(&library, 60);
        assert_eq!(OwnHours::of(&survey.areas[0], &[], at(60)), None);
    }
}
