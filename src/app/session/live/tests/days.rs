//! Random days in simulated time: whatever happens to processes, channels, disk and clock, what fell due is sent
//! at least once where a channel lives, and nothing twice on one channel.
//!
//! An alert that a killed process had handed over and not recorded may come twice; so may what could not be
//! recorded, when two processes run, and what a clock that was ahead had sent. No program can do better, and
//! those are not counted as doubled.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;
use fastrand::Rng;

use super::world::{Process, World, coat, reading};
use crate::app::session::alerts::due_in_words;
use crate::engine::assess::{Memory, SurveyOptions, still_matters};
use crate::engine::config::Config;
use crate::engine::job::{Alert, AlertId, AlertKind, Channel, EntryKind, ReportedWindow, StepKind};
use crate::engine::units::Moment;
use crate::io::store::faults;
use crate::testing::words;

/// A channel that lives has an alert within this: the longest rest between two attempts, a step of the
/// simulation, and the end of a claim whose owner was killed.
const AT_MOST: TimeDelta = TimeDelta::minutes(5);
/// What an alert may come earlier than a watcher that never sleeps raises it again, where the moment moved.
const MOVED: TimeDelta = TimeDelta::minutes(25);

/// The kinds whose moment follows from the record alone.
const SURE: [AlertKind; 6] = [
    AlertKind::RecoatOpen,
    AlertKind::RecoatClose,
    AlertKind::LastCall,
    AlertKind::TapeBy,
    AlertKind::Sandable,
    AlertKind::ReadingOld,
];

/// What a day came to.
#[derive(Debug, Default)]
struct Outcome {
    due: usize,
    sent: usize,
    /// Nobody could take it before it was overtaken or seen.
    overtaken: usize,
    longest: TimeDelta,
    faults: Vec<String>,
}

impl Outcome {
    fn add(&mut self, other: Self) {
        self.due += other.due;
        self.sent += other.sent;
        self.overtaken += other.overtaken;
        self.longest = self.longest.max(other.longest);
        self.faults.extend(other.faults);
    }
}

/// An alert that fell due, and how long it has waited for a channel that lived.
struct Expected {
    channel: Channel,
    kind: AlertKind,
    subject: String,
    /// In time that really passed.
    since: TimeDelta,
    waited: TimeDelta,
}

struct Day<'w> {
    world: &'w World,
    rng: Rng,
    /// Time that really passed, and what the clock adds to it.
    passed: TimeDelta,
    begins: Moment,
    ahead: TimeDelta,
    processes: Vec<(Vec<Channel>, Option<Process<'w>>)>,
    suspended: bool,
    refused: bool,
    /// A watcher that never sleeps and never forgets.
    alerts: Vec<Alert>,
    windows: Vec<ReportedWindow>,
    expected: Vec<Expected>,
    sent: BTreeMap<(Channel, &'static str, String), TimeDelta>,
    /// What was sent under a clock that was ahead, with the moment that the clock showed, as long as no process has
    /// looked at it from before that moment. Nothing in the job says then that the clock was wrong.
    sent_ahead: BTreeMap<(Channel, &'static str, String), Moment>,
    once: BTreeSet<(Channel, usize, &'static str, String, u32, u32)>,
    logged: usize,
    outcome: Outcome,
}

impl<'w> Day<'w> {
    fn new(world: &'w World, begins: Moment, seed: u64) -> Self {
        let watch = || vec![Channel::Output, Channel::Desktop];
        // The board over ssh has neither desktop nor program.
        let processes = [watch(), vec![Channel::Screen], vec![Channel::Desktop, Channel::Command]];
        Self {
            world,
            rng: Rng::with_seed(seed),
            passed: TimeDelta::zero(),
            begins,
            ahead: TimeDelta::zero(),
            processes: processes.map(|channels| (channels, None)).into(),
            suspended: false,
            refused: false,
            alerts: Vec::new(),
            windows: Vec::new(),
            expected: Vec::new(),
            sent: BTreeMap::new(),
            sent_ahead: BTreeMap::new(),
            once: BTreeSet::new(),
            logged: 0,
            outcome: Outcome::default(),
        }
    }

    fn now(&self) -> Moment {
        self.begins + self.passed + self.ahead
    }

    fn chance(&mut self, percent: u32) -> bool {
        self.rng.u32(0..100) < percent
    }

    fn run(mut self) -> Outcome {
        for index in 0..self.processes.len() {
            if self.chance(60) {
                self.start(index);
            }
        }
        let end = TimeDelta::hours(22);
        while self.passed < end {
            self.happen();
            self.follow();
            let lives = Channel::ALL.map(|channel| self.lives(channel));
            // A process with a message under way looks often, also at a desktop that hangs.
            let hangs = self.world.hub().desktop.up;
            let waits = |expected: &Expected| {
                lives[expected.channel as usize] || expected.channel == Channel::Desktop && hangs
            };
            let most = if self.expected.iter().any(waits) { 41 } else { 900 };
            let step = TimeDelta::seconds(self.rng.i64(30..most));
            for expected in &mut self.expected {
                let lives = lives[expected.channel as usize];
                expected.waited = if lives { expected.waited + step } else { TimeDelta::zero() };
            }
            self.passed += step;
        }
        self.end()
    }

    fn start(&mut self, index: usize) {
        if self.processes[index].1.is_none() {
            self.processes[index].1 = Some(self.world.process(&self.processes[index].0));
        }
    }

    fn kill(&mut self, index: usize) {
        if let Some(process) = self.processes[index].1.take() {
            self.world.kill(process);
        }
    }

    /// What may happen between two looks.
    fn happen(&mut self) {
        let (now, world) = (self.now(), self.world);
        if !self.suspended && !self.refused {
            world.log(reading(now, 20.0));
            let area = ["door", "sill", "roof"][self.rng.usize(0..3)];
            match self.rng.u32(0..100) {
                0..3 => world.enter(now, coat(area, "varnish-quick")),
                3 => {
                    let step = |step| EntryKind::step(area, step, None);
                    world.enter(now, step(StepKind::TapeOn));
                    world.enter(now, coat(area, "varnish-quick"));
                }
                4 => {
                    world.acknowledge_all(now);
                    self.alerts.iter_mut().for_each(|alert| alert.acknowledged = Some(now));
                    self.outcome.overtaken += self.expected.len();
                    self.expected.clear();
                }
                _ => {}
            }
        }
        for index in 0..self.processes.len() {
            if self.chance(4) {
                if self.processes[index].1.is_some() { self.kill(index) } else { self.start(index) }
            }
        }
        match self.rng.u32(0..200) {
            0..4 => world.kill_desktop(),
            4..10 => world.wake_desktop(),
            10..12 => world.hub_mut().desktop.hangs = true,
            12..14 => world.hub_mut().desktop.hangs_at_send = true,
            14..16 => world.hub_mut().killed_at_send = Some(self.rng.u32(0..2)),
            16..18 => self.suspended = true,
            18..30 => self.suspended = false,
            30..33 => self.refuse(true),
            33..45 => self.refuse(false),
            45..49 => self.set_clock(),
            _ => {}
        }
    }

    fn refuse(&mut self, refuse: bool) {
        self.refused = refuse;
        let every = [1, 2, 3][self.rng.usize(0..3)];
        faults::refuse(refuse.then_some(every));
    }

    /// The clock is set wrong, or right again.
    fn set_clock(&mut self) {
        let steps = [TimeDelta::hours(1), TimeDelta::days(1), TimeDelta::days(365), TimeDelta::seconds(20)];
        let step = steps[self.rng.usize(0..steps.len())];
        let before = self.ahead;
        self.ahead =
            if self.ahead.is_zero() { if self.rng.bool() { step } else { -step } } else { TimeDelta::zero() };
        if self.ahead < before {
            // What was sent in the future of the clock counts for nothing.
            self.once.clear();
        }
    }

    fn follow(&mut self) {
        let now = self.now();
        if !self.suspended {
            if self.processes.iter().any(|(_, process)| process.is_some()) {
                self.sent_ahead.retain(|_, shown| *shown <= now);
            }
            let mut order: Vec<usize> = (0..self.processes.len()).collect();
            self.rng.shuffle(&mut order);
            for index in order {
                if let Some(process) = &mut self.processes[index].1 {
                    self.world.tick(process, now);
                }
                self.read_log();
                self.bury(index);
            }
        }
        self.expect(now);
    }

    /// A process that was killed while it sent is gone, and nobody knows what it had sent.
    fn bury(&mut self, index: usize) {
        let killed = self.world.hub().killed;
        let number = self.processes[index].1.as_ref().map(|process| process.number);
        if killed.is_some() && killed == number {
            self.world.hub_mut().killed = None;
            self.once.retain(|(_, process, ..)| Some(*process) != number);
            self.kill(index);
        }
    }

    fn read_log(&mut self) {
        let (hub, now) = (self.world.hub(), self.now());
        for taken in &hub.log[self.logged..] {
            let key = (taken.channel, taken.kind.key(), taken.subject.clone());
            if self.ahead > TimeDelta::zero() {
                self.sent_ahead.insert(key.clone(), now);
            }
            self.sent.insert(key, self.passed);
            if self.refused {
                continue;
            }
            let same = |(channel, process, kind, subject, round, repeat): &(
                Channel,
                usize,
                &'static str,
                String,
                u32,
                u32,
            )| {
                (*channel, *kind, subject.as_str())
                    == (taken.channel, taken.kind.key(), taken.subject.as_str())
                    && (*round, *repeat) == (taken.round, taken.repeat)
                    && (taken.channel.is_shared() || *process == taken.process)
            };
            if self.once.iter().any(same) {
                self.outcome.faults.push(format!("twice: {taken:?}"));
            }
            let (channel, process) = (taken.channel, taken.process);
            let (subject, round, repeat) = (taken.subject.clone(), taken.round, taken.repeat);
            self.once.insert((channel, process, taken.kind.key(), subject, round, repeat));
        }
        self.logged = hub.log.len();
    }

    /// Whether a process runs that could reach a person on this channel.
    fn lives(&self, channel: Channel) -> bool {
        let desktop = &self.world.hub().desktop;
        let works = channel != Channel::Desktop || desktop.up && !desktop.hangs && !desktop.hangs_at_send;
        let mut running = self.processes.iter().filter(|(_, process)| process.is_some());
        works && !self.suspended && running.any(|(channels, _)| channels.contains(&channel))
    }

    /// What falls due for the watcher that never sleeps, and what became of what fell due before.
    fn expect(&mut self, now: Moment) {
        let config = Config::default();
        let session = self.world.session();
        let survey = session.survey(now, SurveyOptions::default()).unwrap();
        let memory = Memory { alerts: &self.alerts, windows: &self.windows };
        let due = due_in_words(&survey, memory, &config, &words(), now).raising;
        for new in due.raise {
            let id = AlertId(self.alerts.len() as i64 + 1);
            if SURE.contains(&new.kind) {
                self.outcome.due += 1;
                for channel in [Channel::Output, Channel::Screen, Channel::Desktop, Channel::Command] {
                    let (kind, subject, since) = (new.kind, new.subject.clone(), self.passed);
                    self.expected.push(Expected { channel, kind, subject, since, waited: TimeDelta::zero() });
                }
            }
            self.alerts.push(Alert {
                id,
                kind: new.kind,
                subject: new.subject,
                round: new.round,
                area: new.area,
                due: new.due,
                raised: now,
                repeat: 0,
                wanted: now,
                acknowledged: None,
                text: new.text,
            });
        }
        for window in due.windows {
            self.windows.retain(|other| other.coat != window.coat);
            self.windows.push(window);
        }
        let (sent, passed) = (&self.sent, self.passed);
        let sent_ahead = &self.sent_ahead;
        // A clock that was set back comes to the same moment once more.
        let behind = (-self.ahead).max(TimeDelta::zero());
        let (alerts, outcome) = (&self.alerts, &mut self.outcome);
        self.expected.retain_mut(|expected| {
            let key = (expected.channel, expected.kind.key(), expected.subject.clone());
            if let Some(at) = sent.get(&key).filter(|at| **at + MOVED + behind >= expected.since) {
                outcome.sent += 1;
                let delay = if *at < expected.since { TimeDelta::zero() } else { expected.waited };
                outcome.longest = outcome.longest.max(delay);
                return false;
            }
            if sent_ahead.contains_key(&key) {
                outcome.overtaken += 1;
                return false;
            }
            let newest = alerts
                .iter()
                .filter(|alert| alert.kind == expected.kind && alert.subject == expected.subject)
                .max_by_key(|alert| alert.round);
            let matters = newest.is_some_and(|alert| {
                alert.raised <= now
                    && now - alert.raised < TimeDelta::days(14)
                    && still_matters(&survey, alert, now)
            });
            if !matters {
                outcome.overtaken += 1;
                return false;
            }
            if expected.waited > AT_MOST {
                let Expected { channel, kind, subject, .. } = expected;
                let what = format!("{kind:?} of {subject} not sent to {channel:?} at {now} after {passed}");
                outcome.faults.push(what);
                return false;
            }
            true
        });
    }

    /// At last everything works, and what still matters arrives.
    fn end(mut self) -> Outcome {
        faults::refuse(None);
        (self.refused, self.suspended) = (false, false);
        self.world.wake_desktop();
        self.world.hub_mut().killed_at_send = None;
        (0..self.processes.len()).for_each(|index| self.start(index));
        for _ in 0..12 {
            self.follow();
            self.passed += TimeDelta::seconds(40);
        }
        let left = self.expected.iter();
        let never =
            |left: &Expected| format!("{:?} of {} never sent to {:?}", left.kind, left.subject, left.channel);
        self.outcome.faults.extend(left.map(never).collect::<Vec<_>>());
        self.outcome
    }
}

/// Where the days begin: among others, the two on which the clocks change.
const DATES: [&str; 4] =
    ["2026-05-02T04:00:00Z", "2026-03-28T20:00:00Z", "2026-10-24T20:00:00Z", "2025-12-31T10:00:00Z"];

/// Days of these seeds, one after the other.
fn live_through(seeds: impl Iterator<Item = u64>) -> Outcome {
    let mut total = Outcome::default();
    for seed in seeds {
        let world = World::new();
        let begins: Moment = DATES[(seed % 4) as usize].parse().unwrap();
        for minutes in (10..2880).step_by(30) {
            world.log(reading(begins - TimeDelta::minutes(minutes), 20.0));
        }
        world.enter(begins - TimeDelta::minutes(100), coat("door", "varnish-quick"));
        let outcome = Day::new(&world, begins, seed).run();
        let faults = outcome.faults.iter().map(|fault| format!("day {seed}: {fault}")).collect();
        total.add(Outcome { faults, ..outcome });
    }
    total
}

/// What many days came to has no fault.
#[track_caller]
fn assert_sound(days: u64, total: &Outcome) {
    let Outcome { due, sent, overtaken, longest, faults } = total;
    let longest = longest.num_seconds();
    println!(
        "{days} days: {due} alerts fell due; on four channels {sent} were sent and {overtaken} overtaken or seen before; the greatest delay beside a living channel was {longest} s"
    );
    assert!(faults.is_empty(), "{} faults: {:#?}", faults.len(), &faults[..faults.len().min(9)]);
    assert!(*sent as u64 > days, "too little happened");
}

#[test]
fn on_random_days_each_alert_is_sent_and_none_twice() {
    assert_sound(12, &live_through(0..12));
}

#[test]
#[ignore = "takes minutes: cargo test --release --lib thousand -- --ignored --nocapture"]
fn on_a_thousand_random_days_each_alert_is_sent_and_none_twice() {
    const DAYS: u64 = 1000;
    let threads = std::thread::available_parallelism().map_or(2, |count| count.get() as u64);
    let mut total = Outcome::default();
    std::thread::scope(|scope| {
        let part = |first| scope.spawn(move || live_through((first..DAYS).step_by(threads as usize)));
        let parts: Vec<_> = (0..threads).map(part).collect();
        parts.into_iter().for_each(|part| total.add(part.join().unwrap()));
    });
    assert_sound(DAYS, &total);
}
