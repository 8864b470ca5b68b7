//! Whether a source works, and what of that is told: a failure and its end, each once. One that comes and goes
//! is told of as such, and then left in peace until it has worked for a while.

use chrono::TimeDelta;

use crate::engine::units::Moment;

/// A failure so soon after the end of the last one is the same trouble.
const AGAIN: TimeDelta = TimeDelta::minutes(30);
/// After so many of them it comes and goes.
const TIMES: u32 = 3;
/// And it works again when it has for so long.
const CALM: TimeDelta = TimeDelta::minutes(30);

/// What is to be told of a failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tell {
    /// The failure.
    Failure,
    /// That it comes and goes.
    Flaps,
}

/// Whether a source works.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Health {
    state: State,
    /// How many failures followed upon each other.
    failures: u32,
    /// When it last failed, and when that last ended.
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
    /// It failed; what is to be told, if anything.
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

    /// It worked; whether that is to be told.
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
    fn one_that_comes_and_goes_is_told_of_as_such_and_then_left_in_peace() {
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
    fn failures_far_apart_are_each_told() {
        let mut health = Health::default();
        for hour in 0..8 {
            assert_eq!(health.fails(at(hour * 60)), Some(Tell::Failure));
            assert!(health.works(at(hour * 60 + 5)));
        }
    }
}
