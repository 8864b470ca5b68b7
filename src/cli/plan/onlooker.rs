//! The progress of a plan in a terminal; Ctrl-C takes the best so far.

use std::io::{self, IsTerminal, Write};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::app::session::SessionError;
use crate::app::wording::Words;
use crate::cli::Failure;
use crate::engine::plan::PlanProgress;
use crate::engine::units::Moment;
use crate::io::platform::interrupts;

/// The delay of the first message, and the interval between messages.
const EVERY: Duration = Duration::from_millis(500);

pub struct Onlooker {
    stop: Arc<AtomicBool>,
    terminal: bool,
    until: Option<Instant>,
    told: Instant,
    line: bool,
}

impl Onlooker {
    /// From now on the first Ctrl-C takes the best so far, the second ends the program. After `patience` the best so
    /// far is taken too.
    pub fn new(patience: Option<Duration>) -> Result<Self, Failure> {
        let stop = interrupts()
            .map_err(|error| SessionError::World(format!("signals cannot be received: {error}")))?;
        let until = patience.map(|patience| Instant::now() + patience);
        Ok(Self { stop, terminal: io::stderr().is_terminal(), until, told: Instant::now(), line: false })
    }

    pub fn watch(&mut self, busy: PlanProgress, words: &Words, now: Moment) -> ControlFlow<()> {
        let over = self.until.is_some_and(|until| Instant::now() >= until);
        if over || self.stop.load(Ordering::Relaxed) {
            return ControlFlow::Break(());
        }
        if self.terminal && self.told.elapsed() >= EVERY {
            self.told = Instant::now();
            self.line = true;
            let best =
                matches!(busy, PlanProgress::Searching { best: Some(_), .. } | PlanProgress::Drawing { .. });
            let hint = if best { "Ctrl-C takes the best so far; " } else { "" };
            let line = format!("{hint}{} …", words.busy(busy, now));
            // A line that wraps could not be removed.
            let columns = crossterm::terminal::size().map_or(80, |size| usize::from(size.0));
            let line: String = line.chars().take(columns.saturating_sub(1)).collect();
            // Errors do not matter here.
            let _ = write!(io::stderr(), "\r\x1b[2K{line}");
            let _ = io::stderr().flush();
        }
        ControlFlow::Continue(())
    }

    /// Removes the line.
    pub fn done(&mut self) {
        if std::mem::take(&mut self.line) {
            let _ = write!(io::stderr(), "\r\x1b[2K");
        }
    }
}
