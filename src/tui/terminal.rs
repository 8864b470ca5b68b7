//! The terminal: claimed for the board, and given back whatever happens.

use std::cell::Cell;
use std::io::{self, Write};
use std::panic;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, Once, PoisonError};

use crossterm::cursor::{Hide, Show};
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::execute;
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};

use crate::io::platform::suspend;

static CLAIMED: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();
/// What other threads said while they panicked; it would have torn the board.
static SAID: Mutex<Vec<String>> = Mutex::new(Vec::new());

thread_local! {
    static DRAWS: Cell<bool> = const { Cell::new(false) };
}

/// The terminal, held for the board; it is given back when this is dropped.
#[derive(Debug)]
pub struct Held(());

impl Held {
    /// Claims the terminal.
    ///
    /// # Errors
    /// Where there is none.
    pub fn claim() -> io::Result<Self> {
        HOOK.call_once(hook_panics);
        DRAWS.set(true);
        let held = Self(());
        claim()?;
        Ok(held)
    }

    /// Claims it again: someone else may have had it meanwhile.
    ///
    /// # Errors
    /// Those of the terminal.
    pub fn reclaim(&self) -> io::Result<()> {
        release();
        claim()
    }

    /// Gives the terminal back and stops the process group, as Ctrl-Z does. When the person comes back a
    /// continue signal says so; until then the terminal must be left alone, even when this returns, since
    /// the stop may take another thread first. False where there is no shell to come back from.
    ///
    /// # Errors
    /// Where the group cannot be stopped.
    pub fn stop(&self) -> io::Result<bool> {
        suspend(release)
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        release();
        DRAWS.set(false);
        let said = std::mem::take(&mut *SAID.lock().unwrap_or_else(PoisonError::into_inner));
        for text in said {
            // A terminal that is gone takes nothing any more.
            let _ = writeln!(io::stderr(), "{text}");
        }
    }
}

fn claim() -> io::Result<()> {
    CLAIMED.store(true, Ordering::SeqCst);
    enable_raw_mode()?;
    execute!(io::stdout(), EnterAlternateScreen, EnableBracketedPaste, Hide)
}

/// Gives the terminal back, once. Where it is gone there is nothing to be done about it.
fn release() {
    if CLAIMED.swap(false, Ordering::SeqCst) {
        let _ = execute!(io::stdout(), DisableBracketedPaste, LeaveAlternateScreen, Show);
        let _ = disable_raw_mode();
    }
}

/// A panic of the drawing thread is told on a terminal that can be read. Those of other threads wait: the
/// board goes on.
fn hook_panics() {
    let before = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        if DRAWS.get() {
            release();
        } else if CLAIMED.load(Ordering::SeqCst) {
            SAID.lock().unwrap_or_else(PoisonError::into_inner).push(info.to_string());
            return;
        }
        before(info);
    }));
}

/// Rings the bell.
///
/// # Errors
/// Those of the terminal.
pub fn ring() -> io::Result<()> {
    let mut out = io::stdout();
    out.write_all(b"\x07")?;
    out.flush()
}
