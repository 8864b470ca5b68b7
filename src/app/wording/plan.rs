//! A plan in words: its figures, its steps, why each is not earlier, how sure its end is.

use chrono::TimeDelta;

use super::{Words, listed};
use crate::engine::plan::{AirBasis, Draws, Held, Milestones, Plan, PlanProgress, Ready, Step, What};
use crate::engine::units::{Moment, clean, duration_text};

impl Words {
    /// "Sat 9 May".
    pub fn day(&self, moment: Moment) -> String {
        self.civil.local(moment).format("%a %-d %b").to_string()
    }

    /// The sources of the air after the forecast ends: "in the shop the shop's record of 3 earlier years, where
    /// that has none the mean day of the last 14 days".
    pub fn beyond_foresight(&self, basis: &[(String, AirBasis)]) -> String {
        let mut told: Vec<String> = Vec::new();
        let mut before = None;
        for (place, basis) in basis {
            let place = clean(place);
            let what = match basis {
                AirBasis::Record { most: 1, .. } => format!("the {place}'s record of a year earlier"),
                AirBasis::Record { fewest, most } if fewest == most => {
                    format!("the {place}'s record of {most} earlier years")
                }
                AirBasis::Record { fewest, most } => {
                    format!("the {place}'s record of {fewest} to {most} earlier years")
                }
                AirBasis::File { name, outdoors: false } => format!("the season from the file {name}"),
                AirBasis::File { name, outdoors: true } => {
                    format!("the outdoor season from the file {name}, as the {place} follows it")
                }
                AirBasis::MeanDay(1) => "the last day repeated".to_owned(),
                AirBasis::MeanDay(days) => format!("the average of the last {days} days"),
                AirBasis::Held(air) => {
                    format!("the last reading, {}, unchanged", self.units.temperature(*air))
                }
            };
            match (before.as_ref() == Some(&place), told.last_mut()) {
                (true, Some(last)) => *last += &format!("; where that has a gap, {what}"),
                _ => told.push(format!("in the {place} {what}")),
            }
            before = Some(place);
        }
        told.join("; ")
    }

    /// The figures of a plan.
    pub fn plan_summary(&self, plan: &Plan, now: Moment) -> Vec<String> {
        let because = match plan.owed_in_any {
            true => "(no window fits, or it ends sooner)",
            false => "(to end sooner)",
        };
        let sandings = match plan.owed {
            0 => "no extra sanding".into(),
            1 => format!("one extra sanding {because}"),
            owed => format!("{owed} extra sandings {because}"),
        };
        let proof = match plan.optimal {
            true => "No plan ends earlier with as little work.".into(),
            false => format!("A better plan can end at most {} earlier.", duration_text(plan.gap)),
        };
        let waiting = (plan.service - plan.from - plan.work).max(TimeDelta::zero());
        let service = match plan.in_service() {
            Some(service) => {
                format!("In service {}, calculated on the safe side.", self.when(service, now))
            }
            None => {
                let areas: Vec<String> = plan.unknown.iter().map(|area| clean(area)).collect();
                format!(
                    "In service: unknown. At the temperatures that are known the full cure of {} has no date; enter a reading, or warm the place.",
                    areas.join(", ")
                )
            }
        };
        let waits = match plan.in_service() {
            Some(_) => format!("{} of waiting; ", duration_text(waiting)),
            None => String::new(),
        };
        vec![
            service,
            format!(
                "Work ends {}; {} of work in {}, {}; {waits}{sandings}.",
                self.when(plan.work_done, now),
                duration_text(plan.work),
                counted(plan.sessions, "session"),
                counted(plan.mixings, "mixing")
            ),
            proof,
        ]
    }

    /// Whether the piece is in service by a date; if not, because of which areas.
    pub fn ready_by(&self, plan: &Plan, draws: Option<&Draws>, by: Moment, now: Moment) -> String {
        let date = format!("{} {}", self.day(by), self.civil.time_of_day(by));
        let late = |ready: &&Milestones| ready.service.is_none_or(|service| service > by);
        let areas: Vec<String> = plan.areas.iter().filter(late).map(|ready| clean(&ready.area)).collect();
        let says = match plan.in_service() {
            Some(service) if service <= by => {
                format!("In service by {date}: yes, with {} to spare.", duration_text(by - service))
            }
            Some(service) => format!(
                "In service by {date}: no, {} too late, because of {}. --heat, --without AREA and more free hours may help.",
                duration_text(service - by),
                listed(&areas)
            ),
            None => format!("In service by {date}: unknown, because of {}.", listed(&areas)),
        };
        let chance = draws.map(|draws| {
            format!(" It is met in {:.0} of 100 simulations of the weather.", draws.share_by(by) * 100.0)
        });
        let chance = chance.unwrap_or_else(|| " --draws 200 says how sure that is.".into());
        format!("{says}{chance}{}", if by < now { " That date is past." } else { "" })
    }

    /// When each area is ready: "roof: may be handled from Sat 9 May 14:00, in service Thu 14 May 08:00".
    pub fn ready(&self, plan: &Plan, now: Moment) -> Vec<String> {
        let line = |ready: &Milestones| {
            let service = ready.service;
            let handled = ready.handled.filter(|handled| service.is_none_or(|service| *handled < service));
            let handled = handled.map(|handled| format!("may be handled from {}, ", self.when(handled, now)));
            let area = clean(&ready.area);
            let service = service.map_or_else(|| "unknown".to_owned(), |service| self.when(service, now));
            format!("{area}: {}in service {service}", handled.unwrap_or_default())
        };
        plan.areas.iter().map(line).collect()
    }

    /// A step in words: "roof: coat 2, epoxy-sealer, wet on wet".
    pub fn planned(&self, step: &Step, now: Moment) -> String {
        let area = clean(&step.area);
        let by = step.by.map(|by| self.when_after(by, step.from, now));
        match step.what {
            What::Coat => {
                let product = step.product.as_deref().unwrap_or("a coat");
                let wet = match (step.wet_on_wet, by) {
                    (true, Some(by)) => format!(", wet on wet, to be finished by {by}"),
                    (true, None) => ", wet on wet".into(),
                    _ => String::new(),
                };
                format!("{area}: coat {} of {product}{wet}", step.layer)
            }
            What::Sand if step.owed => format!("{area}: sand (extra) before coat {}", step.layer),
            What::Sand => format!("{area}: sand before coat {}", step.layer),
            What::Wash => format!("{area}: wash before it is sanded"),
            What::TapeOn => format!("{area}: tape on"),
            What::Mix => format!("mix {} for {area}", step.product.as_deref().unwrap_or_default()),
            What::CleanUp => format!("clean up {}", step.product.as_deref().unwrap_or_default()),
            What::TapeOff => {
                let by = by.map(|by| format!(", by {by}"));
                format!("{area}: tape off{}", by.unwrap_or_default())
            }
        }
    }

    /// The time only, if it is the same day.
    fn when_after(&self, moment: Moment, from: Moment, now: Moment) -> String {
        let same = self.civil.local(moment).date_naive() == self.civil.local(from).date_naive();
        if same {
            return self.civil.time_of_day(moment);
        }
        let text = self.when(moment, now);
        // Today needs its weekday beside another day.
        if text.contains(' ') { text } else { format!("{} {text}", self.civil.weekday(moment)) }
    }

    /// Why a step is not earlier.
    pub fn not_earlier(&self, step: &Step, now: Moment) -> String {
        let at = |moment: Moment| self.when_after(moment, step.from, now);
        let ready = match step.ready {
            Ready::Now => None,
            Ready::Opens(opens) => Some(format!("the film can be recoated from {}", at(opens))),
            Ready::Sandable(sandable) => Some(format!("the film can be sanded from {}", at(sandable))),
            Ready::StepBefore(end) => Some(format!("the step before it ends at {}", at(end))),
            Ready::StepAfter => Some("it is done just before the coat".to_owned()),
        };
        let held = step.held.as_ref().map(|(held, at)| {
            let adjacent = step.from - *at <= TimeDelta::minutes(5) || *held == Held::NoFreeHour;
            let at =
                if adjacent { String::new() } else { format!("{}: ", self.when_after(*at, step.from, now)) };
            format!("{at}{}", self.held(held))
        });
        let both: Vec<String> = ready.into_iter().chain(held).collect();
        if both.is_empty() { "it starts at once".into() } else { both.join("; ") }
    }

    fn held(&self, held: &Held) -> String {
        match held {
            Held::NoFreeHour => "no earlier free time is long enough".to_owned(),
            Held::Air(against) => self.meets(*against),
            Held::Busy { area, what } => {
                let area = clean(area);
                match what {
                    What::Coat => format!("you are coating {area}"),
                    What::Sand => format!("you are sanding {area}"),
                    What::Wash => format!("you are washing {area}"),
                    What::TapeOn | What::TapeOff => format!("you are taping {area}"),
                    What::Mix => format!("you are mixing for {area}"),
                    What::CleanUp => "you are cleaning up".to_owned(),
                }
            }
            Held::WetFilm { area } => {
                format!("its dust would fall on {}, which is not tack-free", clean(area))
            }
            Held::Dust { area } => {
                format!("the dust of sanding {} would fall on the wet film", clean(area))
            }
            Held::Tape => "the tape could not come off in time".to_owned(),
            Held::Apart => "that would take another session or another batch".to_owned(),
            Held::NextWindow => {
                "the window for the next coat would close before there is a free hour for it".to_owned()
            }
        }
    }

    /// The progress of a plan.
    pub fn busy(&self, busy: PlanProgress, now: Moment) -> String {
        let share = |done: usize, of: usize| done * 100 / of.max(1);
        match busy {
            PlanProgress::Preparing { done, of } => {
                format!("calculating the windows: {} %", share(done, of))
            }
            PlanProgress::Searching { best: None, .. } => "searching for a first plan".into(),
            PlanProgress::Searching { best: Some(best), bound } if bound < best => {
                format!(
                    "searching for an end before {}; none ends before {}",
                    self.when(best, now),
                    self.when(bound, now)
                )
            }
            PlanProgress::Searching { best: Some(best), .. } => {
                format!("searching for less work with the end {}", self.when(best, now))
            }
            PlanProgress::Drawing { done, of } => format!("simulating it {of} times: {} %", share(done, of)),
        }
    }

    /// How certain the end is.
    pub fn draws(&self, draws: &Draws, now: Moment) -> String {
        let end = |percent| match draws.percentile(percent) {
            Some(end) => format!("by {}", self.when(end, now)),
            None => "not within the planned days".to_owned(),
        };
        let pace = match draws.pace_known {
            true => format!("your pace varies by {:.0} %, as recorded", draws.pace * 100.0),
            false => format!("your pace is assumed to vary by {:.0} %", draws.pace * 100.0),
        };
        format!(
            "In {} simulations of the weather (seed {}): half end {}, nine in ten {}; {pace}.",
            draws.count,
            draws.seed,
            end(50.0),
            end(90.0)
        )
    }

    /// How the last days changed the end: "The last 7 d moved the end from … to …: 1 d 2 h later."
    pub fn moved(&self, ago: TimeDelta, then: Result<Moment, &str>, service: Moment, now: Moment) -> String {
        let span = duration_text(ago);
        let then = match then {
            Ok(then) => then,
            Err(trouble) => return format!("{span} ago there was no plan: {trouble}."),
        };
        // Less than an hour does not matter for a date.
        let by = service - then;
        if by.abs() < TimeDelta::hours(1) {
            return format!("The last {span} did not move the end.");
        }
        let way = if by > TimeDelta::zero() { "later" } else { "earlier" };
        format!(
            "The last {span} moved the end from {} to {}: {} {way}.",
            self.when(then, now),
            self.when(service, now),
            duration_text(by.abs())
        )
    }

    /// The choices between the least work and the soonest end, a line each.
    pub fn choices(&self, choices: &[Plan], now: Moment) -> Vec<String> {
        let soonest = choices.last();
        let line = |plan: &Plan| {
            let owed = match plan.owed {
                0 => "no extra sanding".to_owned(),
                1 => "one extra sanding".to_owned(),
                owed => format!("{owed} extra sandings"),
            };
            let later = soonest.map(|soonest| plan.service - soonest.service);
            let later = later.filter(|later| *later > TimeDelta::zero());
            let later = later
                .map_or_else(|| "the earliest".to_owned(), |later| format!("{} later", duration_text(later)));
            let when = self.when(plan.service, now);
            format!(
                "in service {when} ({later}), {owed}, {} of work, {}, {}",
                duration_text(plan.work),
                counted(plan.mixings, "mixing"),
                counted(plan.sessions, "session")
            )
        };
        choices.iter().map(line).collect()
    }
}

/// "1 session", "3 sessions".
fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{count} {what}s"),
    }
}
