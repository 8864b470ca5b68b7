//! Keeps the forecast up to date while the board or the watcher runs: a thread fetches it when due, if
//! coordinates and a contact are set.

use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use chrono::TimeDelta;

use super::{Clock, FetchDone, Session};
use crate::engine::units::Moment;
use crate::io::sources::{FetchOptions, Fetched, fetch};

/// The interval of the check.
const LOOK_EVERY: TimeDelta = TimeDelta::minutes(1);

/// An automatic forecast.
#[derive(Debug, Default)]
pub struct ForecastKeeper {
    under_way: Option<(Receiver<Fetched>, FetchOptions, Moment)>,
    looked: Option<Moment>,
    trouble: Option<String>,
}

impl ForecastKeeper {
    /// Starts a fetch when due, and imports its result; true for a new forecast. Never waits. A simulated clock
    /// never fetches.
    pub fn tick(&mut self, session: &mut Session<'_>, now: Moment) -> bool {
        if session.clock() != Clock::Wall {
            return false;
        }
        match self.under_way.take() {
            Some((answer, options, asked)) => match answer.try_recv() {
                Ok(fetched) => self.take(session, fetched, &options, asked),
                Err(TryRecvError::Empty) => {
                    self.under_way = Some((answer, options, asked));
                    false
                }
                Err(TryRecvError::Disconnected) => false,
            },
            None => {
                self.ask(session, now);
                false
            }
        }
    }

    /// Why the last fetch failed; None if all is well or nothing is set.
    pub fn trouble(&self) -> Option<&str> {
        self.trouble.as_deref()
    }

    fn ask(&mut self, session: &Session<'_>, now: Moment) {
        if self.looked.is_some_and(|looked| now < looked + LOOK_EVERY && now >= looked) {
            return;
        }
        self.looked = Some(now);
        let (Ok(options), Ok(state)) = (session.fetch_options(), session.fetch_state()) else { return };
        if state.due().is_some_and(|due| due > now) {
            return;
        }
        let (sender, answer) = channel();
        let asked = options.clone();
        let started = thread::Builder::new().name("forecast".into()).spawn(move || {
            // The receiver may be gone.
            let _ = sender.send(fetch(&asked, now, &state));
        });
        self.under_way = started.is_ok().then_some((answer, options, now));
    }

    fn take(
        &mut self,
        session: &mut Session<'_>,
        fetched: Fetched,
        options: &FetchOptions,
        asked: Moment,
    ) -> bool {
        let done = session.import_fetched(fetched, options, asked);
        self.trouble = done.as_ref().err().map(|error| error.to_string());
        matches!(done, Ok(FetchDone::New(_)))
    }
}
