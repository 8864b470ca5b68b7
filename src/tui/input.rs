//! What wakes the board: keys on one thread, signals on another, both into one channel. Both threads
//! block; neither wakes by itself.

use std::io;
use std::sync::mpsc::Sender;
use std::thread;

use crossterm::event;
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
use signal_hook::iterator::{Handle, Signals};

/// What the board is woken by.
#[derive(Debug)]
pub enum Wake {
    /// A key, a paste, a new size.
    Terminal(event::Event),
    /// To the shell.
    Stop,
    /// Back from the shell.
    Continue,
    /// Leave.
    Leave,
    /// No key can be read any more.
    Deaf(io::Error),
}

/// Starts to read the terminal. The thread ends with the process: a read cannot be called off.
///
/// # Errors
/// Where there is no thread to be had.
pub fn read_keys(wakes: Sender<Wake>) -> io::Result<()> {
    let read = move || {
        loop {
            let wake = event::read().map_or_else(Wake::Deaf, Wake::Terminal);
            let deaf = matches!(wake, Wake::Deaf(_));
            if wakes.send(wake).is_err() || deaf {
                return;
            }
        }
    };
    thread::Builder::new().name("keys".into()).spawn(read)?;
    Ok(())
}

/// Starts to listen for signals, until the handle is closed.
///
/// # Errors
/// Where a signal cannot be listened for.
pub fn hear_signals(wakes: Sender<Wake>) -> io::Result<Handle> {
    let mut signals = Signals::new([SIGTERM, SIGHUP, SIGINT, SIGTSTP, SIGCONT])?;
    let handle = signals.handle();
    let hear = move || {
        for signal in signals.forever() {
            let wake = match signal {
                SIGTSTP => Wake::Stop,
                SIGCONT => Wake::Continue,
                _ => Wake::Leave,
            };
            if wakes.send(wake).is_err() {
                return;
            }
        }
    };
    thread::Builder::new().name("signals".into()).spawn(hear)?;
    Ok(handle)
}
