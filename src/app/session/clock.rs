//! The clock: the only place where time enters.

use std::time::SystemTime;

use crate::engine::units::Moment;

/// What `now` means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// Real time.
    Wall,
    /// A given moment.
    At(Moment),
    /// A clock that started at `origin` when the wall showed `begun`, and runs faster by a factor.
    Fast {
        /// What the wall showed.
        begun: Moment,
        /// What this clock showed then.
        origin: Moment,
        /// How many seconds pass in one.
        speed: u32,
    },
}

/// Real time, also before 1970.
#[expect(clippy::disallowed_methods, reason = "time enters here")]
fn wall() -> Moment {
    SystemTime::now().into()
}

impl Clock {
    /// A clock that runs `speed` times as fast from `origin` on.
    pub fn fast(origin: Moment, speed: u32) -> Self {
        Self::Fast { begun: wall(), origin, speed }
    }

    /// The moment it shows.
    pub fn now(self) -> Moment {
        match self {
            Self::At(moment) => moment,
            Self::Wall | Self::Fast { .. } => self.latest(),
        }
    }

    /// The latest moment to record: a given `now` may be in the future.
    pub fn latest(self) -> Moment {
        match self {
            Self::Wall | Self::At(_) => wall(),
            Self::Fast { begun, origin, speed } => {
                let passed = (wall() - begun).num_milliseconds();
                origin + chrono::TimeDelta::milliseconds(passed.saturating_mul(i64::from(speed)))
            }
        }
    }

    /// Whether it shows one moment only.
    pub const fn stands(self) -> bool {
        matches!(self, Self::At(_))
    }

    /// How many seconds pass in one second.
    pub const fn speed(self) -> u32 {
        match self {
            Self::Fast { speed, .. } => speed,
            Self::At(_) => 0,
            Self::Wall => 1,
        }
    }
}
