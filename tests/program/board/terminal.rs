//! A pseudo-terminal with a shell in it, and what a person would see there.

use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// Set in the environment of the child that runs the board.
pub const CHILD: &str = "CUREWRIGHT_BOARD_CHILD";

/// What is seen.
#[derive(Default)]
pub struct Seen {
    pub text: String,
    pub bells: usize,
    pub alternate: bool,
    pub cursor_hidden: bool,
    pub brackets_pastes: bool,
}

#[derive(Default)]
struct Bells(usize);

impl vt100::Callbacks for Bells {
    fn audible_bell(&mut self, _: &mut vt100::Screen) {
        self.0 += 1;
    }
}

type Parser = Arc<Mutex<vt100::Parser<Bells>>>;

pub struct Terminal {
    master: Option<Box<dyn MasterPty + Send>>,
    writer: Option<Box<dyn Write + Send>>,
    shell: Box<dyn Child + Send + Sync>,
    parser: Parser,
    gone: Arc<AtomicBool>,
}

fn cells(number: u16) -> NonZeroU16 {
    NonZeroU16::new(number).unwrap()
}

const fn size(rows: u16, cols: u16) -> PtySize {
    PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }
}

impl Terminal {
    /// 80 by 24, with a shell that controls jobs.
    pub fn open() -> Self {
        let pair = native_pty_system().openpty(size(24, 80)).unwrap();
        let mut command = CommandBuilder::new("sh");
        command.arg("-i");
        command.env("PS1", "$ ");
        command.env("TERM", "xterm-256color");
        command.env(CHILD, "1");
        command.env("RUST_BACKTRACE", "0");
        command.env_remove("ENV");
        command.env_remove("NO_COLOR");
        let shell = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let writer = pair.master.take_writer().unwrap();
        let mut reader = pair.master.try_clone_reader().unwrap();
        let parser = vt100::Parser::new_with_callbacks(cells(24), cells(80), 0, Bells::default());
        let parser = Arc::new(Mutex::new(parser));
        let seen = Arc::clone(&parser);
        let gone = Arc::new(AtomicBool::new(false));
        let over = Arc::clone(&gone);
        thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                if over.load(Ordering::SeqCst) {
                    return;
                }
                seen.lock().unwrap().process(&bytes[..count]);
            }
        });
        let mut terminal = Self { master: Some(pair.master), writer: Some(writer), shell, parser, gone };
        terminal.type_keys("set -m; echo shell is rea''dy\r");
        terminal.wait("shell is ready", Duration::from_secs(20));
        terminal
    }

    /// Starts the board.
    pub fn start(&mut self) {
        let binary = std::env::current_exe().unwrap();
        self.type_keys(&format!("{} --ignored --exact board::child --nocapture\r", binary.display()));
    }

    pub fn type_keys(&mut self, keys: &str) {
        let writer = self.writer.as_mut().unwrap();
        writer.write_all(keys.as_bytes()).unwrap();
        writer.flush().unwrap();
        if keys.ends_with('\u{1b}') {
            // So that it is not taken for the beginning of another key.
            thread::sleep(Duration::from_millis(100));
        }
    }

    pub fn seen(&self) -> Seen {
        let parser = self.parser.lock().unwrap();
        let screen = parser.screen();
        Seen {
            text: screen.contents(),
            bells: parser.callbacks().0,
            alternate: screen.alternate_screen(),
            cursor_hidden: screen.hide_cursor(),
            brackets_pastes: screen.bracketed_paste(),
        }
    }

    pub fn wait_for(&self, what: &str, patience: Duration, is_there: impl Fn(&Seen) -> bool) {
        let began = Instant::now();
        loop {
            let seen = self.seen();
            if is_there(&seen) {
                return;
            }
            assert!(began.elapsed() < patience, "no {what} on the screen:\n{}", seen.text);
            thread::sleep(Duration::from_millis(20));
        }
    }

    pub fn wait(&self, text: &str, patience: Duration) {
        self.wait_for(text, patience, |seen| seen.text.contains(text));
    }

    /// The terminal is as the shell had it: its own screen, its cursor, lines and echo.
    pub fn expect_restored(&mut self) {
        self.wait_for("own screen", Duration::from_secs(20), |seen| {
            !seen.alternate && !seen.cursor_hidden && !seen.brackets_pastes
        });
        // What is typed sooner is read by whoever is about to end.
        self.wait_for("prompt of the shell", Duration::from_secs(20), |seen| {
            seen.text.trim_end().ends_with(['$', '#'])
        });
        self.type_keys("clear; stty -a | tr ' ;' '\\n' | grep -x -e icanon -e echo -e isig | tr '\\n' ' '\r");
        self.wait_for("icanon, echo and isig", Duration::from_secs(20), |seen| {
            seen.text.lines().any(|line| {
                ["isig", "icanon", "echo"]
                    .iter()
                    .all(|flag| line.split_whitespace().any(|word| word == *flag))
                    && !line.contains("grep")
            })
        });
    }

    pub fn resize(&mut self, rows: u16, cols: u16) {
        self.parser.lock().unwrap().set_size(cells(rows), cells(cols));
        self.master.as_ref().unwrap().resize(size(rows, cols)).unwrap();
    }

    /// The terminal is gone, as soon as the board writes the next time and the reader hears of it.
    pub fn hang_up(&mut self) {
        self.gone.store(true, Ordering::SeqCst);
        self.writer = None;
        self.master = None;
    }

    /// The process of the board.
    pub fn child(&self) -> u32 {
        let shell = self.shell.process_id().unwrap();
        let listed = Command::new("ps").args(["-o", "pid=", "--ppid", &shell.to_string()]).output().unwrap();
        let text = String::from_utf8(listed.stdout).unwrap();
        text.split_whitespace().last().unwrap_or_else(|| panic!("no child: {text}")).parse().unwrap()
    }

    pub fn signal(&self, signal: &str) {
        let child = self.child().to_string();
        let sent = Command::new("kill").args(["-s", signal, &child]).status().unwrap();
        assert!(sent.success());
    }

    pub fn wait_stopped(&self, patience: Duration) {
        let began = Instant::now();
        while !state(self.child()).is_some_and(|state| state.starts_with('T')) {
            assert!(began.elapsed() < patience, "it does not stop:\n{}", self.seen().text);
            thread::sleep(Duration::from_millis(20));
        }
        // The shell says so when it has the terminal again.
        self.wait_for("word of the shell", patience, |seen| seen.text.contains("topped"));
    }

    /// How often the threads of the board have slept and woken.
    #[cfg(target_os = "linux")]
    pub fn switches(&self) -> u64 {
        let tasks = std::fs::read_dir(format!("/proc/{}/task", self.child())).unwrap();
        tasks
            .filter_map(|task| std::fs::read_to_string(task.ok()?.path().join("status")).ok())
            .filter_map(|status| {
                let line = status.lines().find(|line| line.starts_with("voluntary_ctxt_switches"))?;
                line.split_whitespace().nth(1)?.parse::<u64>().ok()
            })
            .sum()
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        self.hang_up();
        let _ = self.shell.kill();
        let _ = self.shell.wait();
    }
}

fn state(process: u32) -> Option<String> {
    let listed = Command::new("ps").args(["-o", "stat=", "-p", &process.to_string()]).output().ok()?;
    String::from_utf8(listed.stdout).ok().map(|text| text.trim().to_owned())
}

/// Whether a process still runs.
pub fn runs(process: u32) -> bool {
    state(process).is_some_and(|state| !state.is_empty() && !state.starts_with('Z'))
}
