//! The health of a source and its reports: a failure and its end, each once. An intermittent source is reported
//! as such, then not again until it has worked for a while.

use chrono::TimeDelta;

use crate::engine::units::Moment;

/// A failure this soon after the end of the last one is the same fault.
const AGAIN: TimeDelta = TimeDelta::minutes(30);
/// After this number of them it is intermittent.
const TIMES: u32 = 3;
/// It has recovered after working for this time.
const CALM: TimeDelta = TimeDelta::minutes(30);

/// The report of a failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tell {
    /// The failure.
    Failure,
    /// That it is intermittent.
    Flaps,
}

/// The health of a source.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Health {
    state: State,
    /// Consecutive failures.
    failures: u32,
    /// When it last failed, and when that ended.
    failed: Option<Moment>,
    recovered: Option<Moment>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum State {
    #[default]
    Works,
    Fails,
    Flaps,
}

impl Health {
    /// Records a failure; returns the report, if any.
    pub(super) fn fails(&mut self, at: Moment) -> Option<Tell> {
        self.failed = Some(at);
        if self.state != State::Works {
            return None;
        }
        let soon = self.recovered.is_some_and(|recovered| at - recovered <= AGAIN);
        self.failures = if soon { self.failures + 1 } else { 1 };
        if self.failures >= TIMES {
            self.state = State::Flaps;
            return Some(Tell::Flaps);
        }
        self.state = State::Fails;
        Some(Tell::Failure)
    }

    /// Records a success; returns whether to report it.
    pub(super) fn works(&mut self, at: Moment) -> bool {
        let over = match self.state {
            State::Works => false,
            State::Fails => true,
            State::Flaps => self.failed.is_none_or(|failed| at - failed >= CALM),
        };
        if over {
            self.state = State::Works;
            self.recovered = Some(at);
        }
        over
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    #[test]
    fn an_intermittent_source_is_reported_as_such_and_then_no_more() {
        let mut health = Health::default();
        let mut told = Vec::new();
        for minute in (0..240).step_by(2) {
            told.extend(health.fails(at(minute)).map(|tell| (minute, format!("{tell:?}"))));
            if health.works(at(minute + 1)) {
                told.push((minute + 1, "works".into()));
            }
        }
        let told: Vec<_> = told.iter().map(|(minute, what)| (*minute, what.as_str())).collect();
        assert_eq!(told, [(0, "Failure"), (1, "works"), (2, "Failure"), (3, "works"), (4, "Flaps")]);
        assert!((240..268).all(|minute| !health.works(at(minute))), "not yet");
        assert!(health.works(at(268)), "it has worked for half an hour");
        assert_eq!(health.fails(at(700)), Some(Tell::Failure), "another trouble");
    }

    #[test]
    fn failures_far_apart_are_each_reported() {
        let mut health = Health::default();
        for hour in 0..8 {
            assert_eq!(health.fails(at(hour * 60)), Some(Tell::Failure));
            assert!(health.works(at(hour * 60 + 5)));
        }
    }
}
