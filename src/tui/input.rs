//! What wakes the board: keys on one thread, signals on another, both into one channel. Both threads
//! block; neither wakes by itself.

use std::io;
use std::sync::mpsc::Sender;
use std::thread;

use crossterm::event;

use crate::io::platform::{Listener, Listening, Request};

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

/// Listens for signals, until what it gives back is dropped.
///
/// # Errors
/// Where a signal cannot be listened for.
pub fn hear_signals(wakes: Sender<Wake>) -> io::Result<Listener> {
    Listener::start(Listening::All, move |request| {
        let wake = match request {
            Request::Suspend => Wake::Stop,
            Request::Resume => Wake::Continue,
            Request::Leave => Wake::Leave,
        };
        wakes.send(wake).is_ok()
    })
}
