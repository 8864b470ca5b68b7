//! The planner of the board: a thread that works while the plan is shown and is stopped afterwards. The board
//! never waits for it.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread::Scope;
use std::time::{Duration, Instant};

use chrono::TimeDelta;

use crate::app::session::{Clock, PlanRequest};
use crate::app::view::{PlanShown, PlanView};
use crate::cli::setup::Setup;
use crate::engine::units::Moment;

/// A plan starts now: after this time it is made again.
const LASTS: TimeDelta = TimeDelta::hours(1);
/// With a fast clock no more often than this in real time.
const RESTS: Duration = Duration::from_secs(60);
/// The number of draws, and the seed.
const DRAWS: (usize, u64) = (200, 1);
/// The number of past days to compare with.
const SINCE: TimeDelta = TimeDelta::days(7);

enum News {
    /// Its progress.
    PlanProgress(String),
    /// The plan, or why there is none.
    Plan(Result<PlanView, String>),
}

pub struct Planner<'scope, 'env> {
    scope: &'scope Scope<'scope, 'env>,
    setup: &'env Setup,
    job: PathBuf,
    running: Option<Running>,
    shown: PlanShown,
    /// When it was made; None if the job has changed since.
    made: Option<Moment>,
    begun: Option<Instant>,
}

struct Running {
    wish: Arc<AtomicU8>,
    news: Receiver<News>,
}

impl Drop for Running {
    fn drop(&mut self) {
        self.wish.store(NONE_OF_IT, Ordering::Relaxed);
    }
}

/// The request: all, the best so far, or stop.
const ALL_OF_IT: u8 = 0;
const BEST_SO_FAR: u8 = 1;
const NONE_OF_IT: u8 = 2;

impl<'scope, 'env> Planner<'scope, 'env> {
    pub fn new(scope: &'scope Scope<'scope, 'env>, setup: &'env Setup, job: PathBuf) -> Self {
        Self { scope, setup, job, running: None, shown: PlanShown::default(), made: None, begun: None }
    }

    /// The job has changed: the result is out of date.
    pub const fn forget(&mut self) {
        self.made = None;
    }

    /// The current state of the plan. A running plan is finished even if the job changes in the meantime:
    /// otherwise a busy sensor could keep it from ever finishing.
    pub fn plan(&mut self, wanted: bool, now: Moment) -> PlanShown {
        if !wanted {
            // A partial plan is not shown.
            if self.running.take().is_some() {
                self.made = None;
            }
            return PlanShown::default();
        }
        while let Some(running) = &self.running {
            match running.news.try_recv() {
                Ok(News::PlanProgress(busy)) => self.shown.busy = Some(busy),
                Ok(News::Plan(plan)) => self.shown.view = Some(plan),
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) => self.running = None,
            }
        }
        let lasts = |made: Moment| (TimeDelta::zero()..LASTS).contains(&(now - made));
        let rests = || self.begun.is_some_and(|begun| begun.elapsed() < RESTS);
        if self.running.is_none() && !self.made.is_some_and(|made| lasts(made) || rests()) {
            self.running = Some(self.begin(now));
            (self.made, self.begun) = (Some(now), Some(Instant::now()));
        }
        self.shown.working = self.running.is_some();
        if !self.shown.working {
            self.shown.busy = None;
        }
        self.shown.clone()
    }

    /// Take the best plan so far.
    pub fn enough(&self) {
        if let Some(running) = &self.running {
            running.wish.store(BEST_SO_FAR, Ordering::Relaxed);
        }
    }

    fn begin(&self, now: Moment) -> Running {
        let (sender, news) = channel();
        let wish = Arc::new(AtomicU8::new(ALL_OF_IT));
        let (setup, job, asked) = (self.setup, self.job.clone(), Arc::clone(&wish));
        self.scope.spawn(move || {
            let trouble = work_out(setup, &job, now, &asked, &sender).err();
            // The receiver may be gone.
            trouble.map(|trouble| sender.send(News::Plan(Err(trouble))));
        });
        Running { wish, news }
    }
}

/// The plan first, then the uncertainty of its end, and the effect of the last days.
fn work_out(
    setup: &Setup,
    job: &Path,
    now: Moment,
    wish: &AtomicU8,
    sender: &Sender<News>,
) -> Result<(), String> {
    let told = |error: &dyn std::fmt::Display| error.to_string();
    let session = setup.session_on(job, Clock::At(now)).map_err(|error| told(&error))?;
    let mut told_last = String::new();
    let mut watch = |busy| {
        let busy = session.words().busy(busy, now);
        if busy != told_last {
            told_last.clone_from(&busy);
            // The receiver may be gone.
            let _ = sender.send(News::PlanProgress(busy));
        }
        match wish.load(Ordering::Relaxed) {
            ALL_OF_IT => ControlFlow::Continue(()),
            _ => ControlFlow::Break(()),
        }
    };
    let known = session.entries().map_err(|error| told(&error))?.iter().any(|entry| entry.at <= now - SINCE);
    for (draws, since) in [(None, None), (Some(DRAWS), known.then_some(SINCE))] {
        let request = PlanRequest { draws, since, ..PlanRequest::default() };
        let planned = session.plan(&request, now, &mut watch).map_err(|error| told(&error))?;
        let wished = wish.load(Ordering::Relaxed);
        // The plan on the screen is as good as an interrupted better one.
        if wished == NONE_OF_IT || wished == BEST_SO_FAR && request.draws.is_some() {
            return Ok(());
        }
        let planned = planned.map_err(|trouble| told(&trouble))?;
        let view = planned.view(session.words(), now);
        if sender.send(News::Plan(Ok(view))).is_err() || planned.stopped {
            return Ok(());
        }
    }
    Ok(())
}
