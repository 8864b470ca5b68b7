//! `nights.toml`: hand-made evenings, each with the verdict and the reason a finisher would give.

use chrono::TimeDelta;
use curewright::engine::air::{Air, Coming, SurfaceLine, Task};
use curewright::engine::cure::{ForecastPoint, History, Outlook};
use curewright::engine::profile::Library;
use curewright::engine::units::{KelvinDelta, Millimetres};

use super::night::{Night, nights, now};

trait Judged {
    fn judge(&self, library: &Library) -> (&'static str, Vec<&'static str>);
    fn with_air<T>(&self, library: &Library, look: impl FnOnce(&Air<'_>, &Task<'_>) -> T) -> T;
}

impl Judged for Night {
    /// The verdict, and objections to a start now.
    fn judge(&self, library: &Library) -> (&'static str, Vec<&'static str>) {
        self.with_air(library, |air, task| {
            let against = air.against(task, now());
            let codes = against.iter().map(|(against, _)| against.code()).collect();
            let go = against.iter().all(|(against, _)| !against.forbids());
            let later = !Coming::new(air, task, now()).slots(|_| true).is_empty();
            (
                if go {
                    "go"
                } else if later {
                    "wait"
                } else {
                    "no"
                },
                codes,
            )
        })
    }

    fn with_air<T>(&self, library: &Library, look: impl FnOnce(&Air<'_>, &Task<'_>) -> T) -> T {
        let line = self.line();
        let read = line.partition_point(|reading| reading.at <= now());
        let forecast: Vec<ForecastPoint> = line[read - 1..]
            .iter()
            .map(|r| ForecastPoint {
                at: r.at,
                air: r.air,
                humidity: r.humidity,
                error: KelvinDelta::new(0.0),
            })
            .collect();
        let base = line[read - 1].at;
        let outlook = Outlook::forecast(KelvinDelta::new(1.0), base, &forecast).unwrap();
        let history = History::new(line[..read].iter().copied(), outlook);
        let surface = SurfaceLine::new(&line, TimeDelta::hours(1));
        let falls = |hours: i64| Millimetres::new(if self.rain.contains(&hours) { 0.8 } else { 0.0 });
        let rain: Vec<_> = (-72..120).map(|hours| (now() + TimeDelta::hours(hours), falls(hours))).collect();
        let known_until = line[line.len() - 1].at;
        let air = Air {
            history: &history,
            surface: &surface,
            rain: &rain,
            known_until,
            humidity_old: None,
            dry_until: None,
        };
        let task = Task {
            product: library.get(&self.product).unwrap(),
            takes: TimeDelta::minutes(self.takes),
            bare_wood: self.bare,
            outdoors: self.outdoors,
        };
        look(&air, &task)
    }
}

#[test]
fn every_night_gets_the_verdict_and_the_reason_that_a_finisher_would_give() {
    let nights = nights();
    assert!(nights.len() >= 30);
    let library = Library::built_in();
    let mut wrong = Vec::new();
    for night in &nights {
        let (verdict, codes) = night.judge(&library);
        let named = match &night.because {
            Some(because) => codes.contains(&because.as_str()),
            None => codes.is_empty(),
        };
        if verdict != night.verdict || !named {
            wrong.push(format!("{}: {verdict} {codes:?}", night.says));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_coat_may_begin_at_the_start_of_every_slot() {
    let nights = nights();
    let library = Library::built_in();
    let mut slots = 0;
    for night in &nights {
        night.with_air(&library, |air, task| {
            for (from, to) in Coming::new(air, task, now()).slots(|_| true) {
                assert!(to - from >= task.takes, "{}: a slot is long enough", night.says);
                let forbids = air.against(task, from).into_iter().find(|(against, _)| against.forbids());
                assert_eq!(forbids, None, "{}: {from}", night.says);
                slots += 1;
            }
        });
    }
    assert!(slots > 15, "{slots}");
}
