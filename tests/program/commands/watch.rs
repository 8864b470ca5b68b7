//! Alerts without a screen: raised in time, repeated until acknowledged, handed to a command, stopped cleanly.

use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::process::{Child, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process};

use crate::common::{Hut, Story, comes_true};

/// Longer than anything here may take.
const AT_MOST: Duration = Duration::from_secs(30);

/// A watch that runs, and the lines it prints.
struct Watch {
    child: Child,
    lines: Receiver<String>,
}

impl Watch {
    fn start(hut: &Hut) -> Self {
        let mut command = hut.command();
        command.args(["watch", "--no-desktop"]).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let (sender, lines) = channel();
        thread::spawn(move || out.lines().map_while(Result::ok).try_for_each(|line| sender.send(line)));
        let watch = Self { child, lines };
        let first = watch.next();
        assert!(first.starts_with("Watching ") && first.ends_with("job.db."), "{first}");
        watch
    }

    #[track_caller]
    fn next(&self) -> String {
        self.lines.recv_timeout(AT_MOST).expect("nothing was said")
    }

    /// Sends a signal, waits for the end and gives back the exit status.
    #[track_caller]
    fn ends_on(mut self, signal: Signal) -> Option<i32> {
        kill_process(Pid::from_child(&self.child), signal).unwrap();
        let end = self.lines.recv_timeout(AT_MOST);
        if end != Err(RecvTimeoutError::Disconnected) {
            self.child.kill().unwrap();
            panic!("it did not end: {end:?}");
        }
        self.child.wait().unwrap().code()
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn what_another_process_records_rings_within_seconds() {
    let hut = Hut::new().with_varnish();
    let watch = Watch::start(&hut);
    hut.at("-3h", "reading 20").well();
    hut.at("-3h", "coat door hut-varnish --done").well();
    let line = watch.next();
    assert!(line.contains("  door: GO IF DRY until ") && line.contains("Second coat."), "{line}");
    assert!(line.ends_with(" It was due 1 h ago."), "{line}");
    // Another area rings too; the first does not ring again.
    hut.at("-4h45m", "coat sill hut-varnish --done").well();
    let both = [watch.next(), watch.next()].join("\n");
    assert!(
        both.contains("Second coat. ")
            && both.contains("The window closes")
            && both.contains("sill: GO IF DRY until "),
        "{both}"
    );
    assert_eq!(watch.ends_on(Signal::TERM), Some(0));
}

#[test]
fn every_way_to_stop_it_is_clean() {
    let hut = Hut::new();
    for signal in [Signal::TERM, Signal::INT, Signal::HUP] {
        assert_eq!(Watch::start(&hut).ends_on(signal), Some(0), "{signal:?}");
    }
}

/// Sets an alert command that writes its arguments to a file, a line each. What it writes is whole when it
/// is there.
fn with_alert_command(hut: &Hut) -> std::path::PathBuf {
    let told = hut.path("told");
    let script = "#!/bin/sh\nprintf '%s\\n' \"$@\" > told.new && mv told.new told\n";
    let program = hut.write("tell-me", script);
    fs::set_permissions(&program, PermissionsExt::from_mode(0o755)).unwrap();
    let program = program.display();
    hut.settings(format!(
        "[alerts]\ncommand = [\"{program}\", \"{{title}}\", \"{{text}}\", \"$HOME; touch z\"]\n"
    ));
    told
}

#[test]
fn an_alert_is_handed_to_a_program_as_arguments_and_to_no_shell() {
    let hut = Hut::new().with_varnish();
    let told = with_alert_command(&hut);
    hut.at("2026-05-01 08:00", "reading 20").well();
    let area = "door; touch x; $(touch x) `touch x` | touch x && {text}";
    hut.run_words(&["--at", "2026-05-01 08:00", "coat", area, "hut-varnish", "--done"]).well();
    hut.at("2026-05-01 10:00", "watch --once --no-desktop").well();
    comes_true("the command was run", || told.exists());
    let told = fs::read_to_string(told).unwrap();
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines.len(), 3, "{told}");
    assert!(lines[0].starts_with("curewright: door; touch x; $(touch x)"), "{told}");
    assert!(
        lines[1].contains("`touch x` | touch x && ")
            && lines[1].contains(": GO IF DRY until 13:00. Second coat."),
        "{told}"
    );
    assert_eq!(lines[2], "$HOME; touch z");
    assert!(!hut.path("x").exists() && !hut.path("z").exists());
}

#[test]
fn a_watch_that_runs_hands_alerts_to_the_program_too() {
    let hut = Hut::new().with_varnish();
    let told = with_alert_command(&hut);
    let watch = Watch::start(&hut);
    hut.at("-3h", "reading 20").well();
    hut.at("-3h", "coat door hut-varnish --done").well();
    watch.next();
    comes_true("the command was run", || told.exists());
    assert!(fs::read_to_string(told).unwrap().contains("door: GO IF DRY until "));
    assert_eq!(watch.ends_on(Signal::TERM), Some(0));
}

#[test]
fn a_missing_alert_program_is_reported_and_the_alert_is_still_raised() {
    let hut = Hut::new().with_varnish();
    hut.settings("[alerts]\ncommand = [\"/nowhere/tell-me\", \"{text}\"]\n");
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let ran = hut.at("2026-05-01 10:00", "watch --once --no-desktop");
    assert_eq!(ran.status, Some(0), "{ran}");
    assert!(ran.out.contains("door: GO IF DRY until 13:00. Second coat."), "{ran}");
    assert!(ran.err.contains("The alert command \"/nowhere/tell-me\" cannot be run"), "{ran}");
}

#[test]
fn an_unreachable_desktop_is_reported_once() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let ran = hut.at("2026-05-01 12:45", "watch --once");
    assert_eq!(ran.status, Some(0), "{ran}");
    assert_eq!(ran.out.lines().count(), 2, "{ran}");
    assert_eq!(ran.err.lines().count(), 1, "{ran}");
    assert!(ran.err.starts_with("curewright: The desktop cannot be reached "), "{ran}");
}

#[test]
fn a_closing_window_is_repeated_until_it_is_acknowledged() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
    hut.at("2026-05-01 08:20", "done door").well();

    story.tell("The window opens at 10:20 and closes at 13:00; a coat takes 20 minutes, the lead is 15.");
    for time in ["10:15", "10:20", "10:21", "12:10", "12:15", "12:24", "12:25", "12:30", "12:31"] {
        story.at(&format!("2026-05-01 {time}"), "watch --once --no-desktop");
    }

    story.tell("Seen: that one is told no more. The others are.");
    story.at("2026-05-01 12:35", "alerts");
    story.run("alerts --ack 3");
    story.run("alerts --ack 3");
    story.at("2026-05-01 12:45", "watch --once --no-desktop");
    story.run("alerts --ack all");
    story.run("alerts --ack all");
    story.at("2026-05-01 12:59", "watch --once --no-desktop");
    story.at("2026-05-01 12:59", "alerts");

    story.tell("Missed. It has to harden, and says so when it has.");
    for time in ["13:30", "16:19", "16:21"] {
        story.at(&format!("2026-05-01 {time}"), "watch --once --no-desktop");
    }
    story.at("2026-05-01 16:30", "status");
    story.ends("a_window_that_closes");
}

#[test]
fn a_window_that_moved_a_stalled_cure_and_an_old_reading_raise_alerts() {
    let hut = Hut::new();
    let mut story = Story::of(&hut);
    story.tell("A coat at 20 °C; then the stove goes out.");
    story.at("2026-05-01 08:00", "reading 20");
    story.at("2026-05-01 08:00", "coat roof epoxy-sealer --done");
    story.at("2026-05-01 08:05", "watch --once --no-desktop");
    story.at("2026-05-01 09:00", "reading 11");
    story.at("2026-05-01 09:00", "watch --once --no-desktop");
    story.at("2026-05-01 10:00", "reading 3");
    story.at("2026-05-01 10:00", "watch --once --no-desktop");
    story.at("2026-05-01 10:10", "watch --once --no-desktop");

    story.tell("Nobody reads the thermometer any more.");
    story.at("2026-05-01 16:00", "watch --once --no-desktop");
    story.at("2026-05-01 16:30", "watch --once --no-desktop");
    story.ends("a_window_that_moved");
}

#[test]
fn tape_that_is_not_pulled_in_time_raises_an_alert() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "step door tape-on").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
    hut.at("2026-05-01 08:10", "done door").well();

    story.tell("The tape has to be off by 09:30.");
    for time in ["09:10", "09:15", "09:20", "09:25"] {
        story.at(&format!("2026-05-01 {time}"), "watch --once --no-desktop");
    }
    story.at("2026-05-01 09:26", "status");
    story.at("2026-05-01 09:27", "step door tape-off");
    story.at("2026-05-01 09:36", "watch --once --no-desktop");
    story.at("2026-05-01 09:36", "status");
    story.ends("tape");
}
