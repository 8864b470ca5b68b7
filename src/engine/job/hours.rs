//! Hours of work: from the work clock, from minutes that were entered, from steps and from strokes.
//!
//! A minute counts once: by the clock first, then by the minutes of a step, then by the strokes of a coat. If
//! the clock names no area, the part inside a step or the strokes of an area belongs to that area. Minutes
//! entered by themselves count in full. A stretch longer than a person works in one go does not count and is
//! questioned.

use std::collections::BTreeMap;

use chrono::{TimeDelta, Timelike};

use super::entry::{Entry, EntryId, EntryKind};
use super::state::Area;
use crate::engine::units::{Civil, Moment};

/// Upper limit of work in one go; a clock that ran longer was left running.
pub const IN_ONE_GO: TimeDelta = TimeDelta::hours(8);

/// Whether a clock was left running: for longer than a person works in one go, or through three o'clock at
/// night for more than three hours.
pub fn left_running(since: Moment, until: Moment, civil: &Civil) -> bool {
    let long = until - since;
    if long <= TimeDelta::hours(3) {
        return false;
    }
    let three = |hours: i64| civil.local(since + TimeDelta::hours(hours)).hour() == 3;
    long > IN_ONE_GO || (0..=long.num_hours()).any(three)
}

/// Where a stretch of work is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// The work clock.
    Clock,
    /// Minutes that were entered.
    Entered,
    /// A step that took so long.
    Step,
    /// A coat, from its first stroke to its last.
    Strokes,
}

/// A stretch of work that counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// The entry that it is known from.
    pub id: EntryId,
    /// The area; the piece as a whole where none is known.
    pub area: Option<String>,
    /// Its start.
    pub from: Moment,
    /// Its end.
    pub to: Moment,
    /// Where it is known from.
    pub source: Source,
}

impl Stretch {
    /// How long it is.
    pub fn length(&self) -> TimeDelta {
        self.to - self.from
    }
}

/// A clock that runs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Running {
    /// The entry that started it.
    pub id: EntryId,
    /// The area; the piece as a whole where none was named.
    pub area: Option<String>,
    /// Since when.
    pub since: Moment,
}

impl Running {
    fn until(self, to: Moment) -> Stretch {
        Stretch { id: self.id, area: self.area, from: self.since, to, source: Source::Clock }
    }
}

/// The work on a piece, up to a moment.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Hours {
    /// What counts, in order of time.
    pub stretches: Vec<Stretch>,
    /// The clock, where it runs.
    pub running: Option<Running>,
    /// What took too long to be true, so that it does not count: a clock or a coat that was left running.
    pub doubtful: Vec<Stretch>,
    /// When the clock was on, whatever counts of it.
    clock: Vec<Stretch>,
}

impl Hours {
    /// From the entries that count, in order of time, and the coats they make.
    pub(super) fn calculate(counting: &[&Entry], areas: &[Area], as_of: Moment) -> Self {
        let mut hours = Self::default();
        hours.read_clock(counting, areas, as_of);
        let entered = entered(counting, areas);
        let (named, not_listed): (Vec<_>, Vec<_>) =
            hours.clock.iter().cloned().partition(|stretch| stretch.area.is_some());
        let mut taken = Taken::default();
        named.iter().chain(&entered).for_each(|stretch| taken.take(stretch));
        let mut others = Vec::new();
        for claim in steps(counting, areas).into_iter().chain(hours.strokes(areas, as_of)) {
            others.extend(taken.left_of(&claim));
            taken.take(&claim);
        }
        // What was entered by itself does not stop the clock.
        let mut beside = Taken::default();
        named.iter().chain(&others).for_each(|stretch| beside.take(stretch));
        others.extend(not_listed.iter().flat_map(|stretch| beside.left_of(stretch)));
        hours.stretches = named;
        hours.stretches.extend(entered);
        hours.stretches.extend(others);
        hours.stretches.sort_by_key(|stretch| (stretch.from, stretch.id, stretch.to));
        hours
    }

    /// All work.
    pub fn total(&self) -> TimeDelta {
        self.stretches.iter().map(Stretch::length).sum()
    }

    /// The work on an area, upper and lower case alike; None: what no area is known of.
    pub fn of(&self, area: Option<&str>) -> TimeDelta {
        let same = |stretch: &&Stretch| match (area, &stretch.area) {
            (Some(area), Some(known)) => known.eq_ignore_ascii_case(area),
            (None, None) => true,
            _ => false,
        };
        self.stretches.iter().filter(same).map(Stretch::length).sum()
    }

    /// The areas that were worked on, in the order in which work on them began.
    pub fn areas(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for name in self.stretches.iter().filter_map(|stretch| stretch.area.as_deref()) {
            if !names.iter().any(|known| known.eq_ignore_ascii_case(name)) {
                names.push(name);
            }
        }
        names
    }

    /// What the clock was on for at a moment, where it was.
    pub fn clock_at(&self, moment: Moment) -> Option<Running> {
        let on = |stretch: &&Stretch| stretch.from <= moment && moment < stretch.to;
        let closed = self.clock.iter().find(on);
        let closed = closed.map(|on| Running { id: on.id, area: on.area.clone(), since: on.from });
        closed.or_else(|| self.running.clone().filter(|running| running.since <= moment))
    }

    fn read_clock(&mut self, counting: &[&Entry], areas: &[Area], as_of: Moment) {
        for entry in counting {
            match &entry.kind {
                EntryKind::ClockOn { area } => {
                    let area = area.as_deref().map(|name| spelled(name, areas));
                    if self.running.as_ref().is_some_and(|running| running.area == area) {
                        continue;
                    }
                    if let Some(left) = self.running.take() {
                        // Nobody said when it stopped.
                        self.perhaps(left.until(entry.at));
                    }
                    self.running = Some(Running { id: entry.id, area, since: entry.at });
                }
                EntryKind::ClockOff => {
                    self.clock.extend(self.running.take().map(|running| running.until(entry.at)));
                }
                _ => {}
            }
        }
        if let Some(running) = self.running.clone() {
            self.perhaps(running.until(as_of));
        }
        self.clock.retain(|stretch| stretch.from < stretch.to);
    }

    /// A stretch of the clock that nobody has ended: it counts where it is not too long.
    fn perhaps(&mut self, stretch: Stretch) {
        let doubtful = stretch.length() > IN_ONE_GO;
        if doubtful { &mut self.doubtful } else { &mut self.clock }.push(stretch);
    }

    /// Every coat from its first stroke to its last, without its interruptions; one that is being applied, until now.
    fn strokes(&mut self, areas: &[Area], as_of: Moment) -> Vec<Stretch> {
        let mut strokes = Vec::new();
        for area in areas {
            for coat in area.every_coat() {
                for (from, to) in coat.parts_until(coat.last_stroke.unwrap_or(as_of)) {
                    let area = Some(area.name.clone());
                    let stretch = Stretch { id: coat.id, area, from, to, source: Source::Strokes };
                    let doubtful = stretch.length() > IN_ONE_GO;
                    if doubtful { &mut self.doubtful } else { &mut strokes }.push(stretch);
                }
            }
        }
        strokes.sort_by_key(|stretch| (stretch.from, stretch.id));
        strokes
    }
}

/// The minutes that were entered: the work ended when they were.
fn entered(counting: &[&Entry], areas: &[Area]) -> Vec<Stretch> {
    let stretch = |entry: &&Entry| {
        let EntryKind::Work { area, minutes } = &entry.kind else { return None };
        let area = area.as_deref().map(|name| spelled(name, areas));
        let from = entry.at - TimeDelta::minutes((*minutes).into());
        Some(Stretch { id: entry.id, area, from, to: entry.at, source: Source::Entered })
    };
    counting.iter().filter_map(stretch).collect()
}

/// The steps of which it is known how long they took: they are entered when they are done.
fn steps(counting: &[&Entry], areas: &[Area]) -> Vec<Stretch> {
    let stretch = |entry: &&Entry| {
        let EntryKind::Step { area, minutes: Some(minutes), .. } = &entry.kind else { return None };
        let from = entry.at - TimeDelta::minutes((*minutes).into());
        let area = Some(spelled(area, areas));
        Some(Stretch { id: entry.id, area, from, to: entry.at, source: Source::Step })
    };
    counting.iter().filter_map(stretch).collect()
}

/// The name of an area as the job spells it.
fn spelled(name: &str, areas: &[Area]) -> String {
    let known = areas.iter().find(|area| area.name.eq_ignore_ascii_case(name));
    known.map_or(name, |area| area.name.as_str()).to_owned()
}

/// The time that is spoken for: from each start to its end, apart from one another.
#[derive(Default)]
struct Taken(BTreeMap<Moment, Moment>);

impl Taken {
    /// What is spoken for and touches a span of time.
    fn touching(&self, from: Moment, to: Moment) -> impl Iterator<Item = (Moment, Moment)> + '_ {
        let before = self.0.range(..from).next_back().filter(move |taken| *taken.1 >= from);
        before.into_iter().chain(self.0.range(from..=to)).map(|(start, end)| (*start, *end))
    }

    fn take(&mut self, stretch: &Stretch) {
        let (mut from, mut to) = (stretch.from, stretch.to);
        if from >= to {
            return;
        }
        let touching: Vec<_> = self.touching(from, to).collect();
        for (start, end) in touching {
            self.0.remove(&start);
            (from, to) = (from.min(start), to.max(end));
        }
        self.0.insert(from, to);
    }

    /// The parts of a stretch that are not spoken for.
    fn left_of(&self, stretch: &Stretch) -> Vec<Stretch> {
        let mut left = Vec::new();
        let mut from = stretch.from;
        if from >= stretch.to {
            return left;
        }
        for (start, end) in self.touching(stretch.from, stretch.to) {
            if from < start {
                left.push(Stretch { from, to: start, ..stretch.clone() });
            }
            from = from.max(end);
        }
        if from < stretch.to {
            left.push(Stretch { from, ..stretch.clone() });
        }
        left
    }
}

#[cfg(test)]
mod tests;
