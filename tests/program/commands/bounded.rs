//! Endless, blocking or closed files: the program ends, and says why.

use std::fs;
use std::io::Read;
use std::process::Command;
use std::sync::mpsc::channel;
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{CommandBuilder, PtySize, native_pty_system};

use crate::common::Hut;

#[test]
fn a_pipe_or_a_device_is_not_a_job_and_does_not_block() {
    let hut = Hut::new();
    assert!(Command::new("mkfifo").arg(hut.path("pipe")).status().unwrap().success());
    for job in ["pipe", "/dev/null", "/dev/zero"] {
        for command in ["status", "--at -1h reading 17", "record", "check-job"] {
            let ran = hut.run(&format!("--job {job} {command}"));
            assert_eq!(ran.status, Some(3), "{ran}");
            assert!(ran.err.contains("is not a regular file but a device or a pipe"), "{ran}");
        }
    }
}

#[test]
fn a_file_without_end_is_not_read_to_its_end() {
    let hut = Hut::new();
    for command in ["import /dev/zero", "record --import /dev/zero", "forecast /dev/zero", "scheme /dev/zero"]
    {
        // In a room of 600 MB.
        let mut bounded = hut.any_command("sh");
        bounded.args(["-c", "ulimit -v 600000; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_curewright")]);
        let output = bounded.args(command.split(' ')).output().unwrap();
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(matches!(output.status.code(), Some(2 | 3)), "{command}: {:?} {told}", output.status);
        assert!(told.starts_with("curewright: /dev/zero"), "{command}: {told}");
    }
}

#[test]
fn a_calendar_full_of_exceptions_is_soon_read() {
    let hut = Hut::new();
    let exceptions: String = (0..60_000)
        .map(|n| format!("EXDATE:{}\r\n", if n % 2 == 0 { "none" } else { "20260501T090000Z" }))
        .collect();
    hut.write(
        "mine.ics",
        format!("BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTART:20260501T090000Z\r\nRRULE:FREQ=DAILY\r\n{exceptions}END:VEVENT\r\nEND:VCALENDAR\r\n"),
    );
    let calendar = hut.path("mine.ics");
    hut.settings(format!("[free]\nhours = [\"daily 08:00-20:00\"]\nbusy = [\"{}\"]\n", calendar.display()));
    let began = Instant::now();
    let ran = hut.at("2026-05-01 08:00", "free");
    assert!(ran.err.contains("more faults"), "{ran}");
    assert!(began.elapsed() < Duration::from_secs(20), "{:?}", began.elapsed());
}

#[test]
fn a_terminal_that_is_closed_ends_the_board_and_is_no_error() {
    for (round, ignoring) in ["", "trap '' HUP; "].into_iter().enumerate().cycle().take(6) {
        let hut = Hut::new().with_varnish();
        hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new("sh");
        command.args([
            "-c",
            &format!(
                "{ignoring}{}; echo $? > {}",
                env!("CARGO_BIN_EXE_curewright"),
                hut.path("status").display()
            ),
        ]);
        command.env_clear();
        for (name, value) in hut.environment() {
            command.env(name, value);
        }
        // The shell lives on to say how the board ended, where the signal is ignored.
        command.env("PATH", "/usr/bin:/bin");
        command.env("TERM", "xterm-256color");
        let mut shell = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (sender, drawn) = channel();
        let reading = thread::spawn(move || {
            let mut bytes = [0; 4096];
            let mut seen = Vec::new();
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                seen.extend_from_slice(&bytes[..count]);
                if String::from_utf8_lossy(&seen).contains("oor") {
                    let _ = sender.send(());
                    break;
                }
            }
        });
        drawn.recv_timeout(Duration::from_secs(20)).expect("a board");
        reading.join().unwrap();
        drop(pair.master);
        let ended = shell.wait().unwrap();
        if !ignoring.is_empty() {
            assert_eq!(
                fs::read_to_string(hut.path("status")).unwrap().trim(),
                "0",
                "round {round}: {ended:?}"
            );
        }
    }
}

#[test]
fn a_clock_that_stands_before_1970_stops_no_command() {
    // The clock can only be put back where this is installed.
    if Command::new("faketime").arg("--version").output().is_err() {
        return;
    }
    let hut = Hut::new().with_varnish();
    for line in
        ["status", "reading 17", "coat door hut-varnish", "record", "watch --once --no-desktop", "undo"]
    {
        let mut command = hut.any_command("faketime");
        command.args(["-f", "1969-07-20 20:17:00", env!("CARGO_BIN_EXE_curewright")]).args(line.split(' '));
        let output = command.output().unwrap();
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{line}: {told}");
    }
}
