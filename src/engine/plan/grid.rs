//! Moments on the grid of the plan, and back.

use chrono::TimeDelta;

use super::free::FreeTime;
use super::problem::Tick;
use crate::engine::units::Moment;

/// The length of a tick.
const TICK: i64 = 300;

/// A grid of five minutes from a moment on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    origin: Moment,
    /// Nothing is planned after this.
    pub horizon: Tick,
}

impl Grid {
    /// From the next multiple of five minutes on, for `days` days.
    pub fn new(now: Moment, days: u32) -> Self {
        let seconds = now.timestamp() + i64::from(now.timestamp_subsec_nanos() > 0);
        let next = seconds.div_euclid(TICK) + i64::from(seconds.rem_euclid(TICK) > 0);
        let origin = Moment::from_timestamp(next * TICK, 0).unwrap_or(now);
        Self { origin, horizon: days.saturating_mul(24 * 12) }
    }

    /// The moment of a tick.
    pub fn moment(&self, tick: Tick) -> Moment {
        self.origin + TimeDelta::seconds(TICK * i64::from(tick))
    }

    /// The first tick that is not before a moment.
    pub fn not_before(&self, moment: Moment) -> Tick {
        let seconds = (moment - self.origin).num_milliseconds();
        let ticks = seconds.div_euclid(TICK * 1000) + i64::from(seconds.rem_euclid(TICK * 1000) > 0);
        ticks.clamp(0, i64::from(Tick::MAX - 1)) as Tick
    }

    /// The last tick that is not after a moment; None if that is before the grid.
    pub fn not_after(&self, moment: Moment) -> Option<Tick> {
        let ticks = (moment - self.origin).num_milliseconds().div_euclid(TICK * 1000);
        (ticks >= 0).then(|| ticks.min(i64::from(Tick::MAX - 1)) as Tick)
    }

    /// The ticks that cover a duration; at least one.
    pub fn ticks(length: TimeDelta) -> Tick {
        let ticks = (length.num_seconds().max(1) + TICK - 1) / TICK;
        ticks.min(i64::from(u16::MAX)) as Tick
    }

    /// The duration of ticks.
    pub fn length(ticks: Tick) -> TimeDelta {
        TimeDelta::seconds(TICK * i64::from(ticks))
    }

    /// Free time on the grid, in whole ticks before the horizon.
    pub fn free(&self, free: &FreeTime) -> Vec<(Tick, Tick)> {
        let cut = free.stretches().iter().filter_map(|(from, to)| {
            let (from, to) = (self.not_before(*from), self.not_after(*to)?.min(self.horizon));
            (from < to).then_some((from, to))
        });
        cut.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_never_moved_out_of_its_hours_by_the_grid() {
        let now: Moment = "2026-05-02T17:01:30Z".parse().unwrap();
        let grid = Grid::new(now, 1);
        let at = |text: &str| -> Moment { text.parse().unwrap() };
        assert_eq!(grid.moment(0), at("2026-05-02T17:05:00Z"));
        assert_eq!(grid.not_before(at("2026-05-02T17:11:00Z")), 2);
        assert_eq!(grid.not_after(at("2026-05-02T17:14:59Z")), Some(1));
        assert_eq!(grid.not_after(now), None);
        let free = FreeTime::new([
            (at("2026-05-02T16:00:00Z"), at("2026-05-02T17:12:00Z")),
            (at("2026-05-03T17:00:00Z"), at("2026-05-03T19:00:00Z")),
        ]);
        assert_eq!(grid.free(&free), [(0, 1), (287, 288)]);
        assert_eq!(Grid::ticks(TimeDelta::minutes(26)), 6);
    }
}
