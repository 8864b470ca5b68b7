//! Readings that come by themselves: the real program with files and programs that measure.

use std::fs;
use std::io::{BufRead, BufReader};
use std::process::{Child, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

use crate::common::{Hut, comes_true};
use rustix::process::{Pid, Signal, kill_process};

/// A watch that runs, and the lines of its standard error.
struct Watch {
    child: Child,
    told: Receiver<String>,
}

impl Watch {
    fn start(hut: &Hut) -> Self {
        let mut command = hut.command();
        command.args(["watch", "--no-desktop"]).stdout(Stdio::null()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let err = BufReader::new(child.stderr.take().unwrap());
        let (sender, told) = channel();
        thread::spawn(move || err.lines().map_while(Result::ok).try_for_each(|line| sender.send(line)));
        Self { child, told }
    }

    #[track_caller]
    fn tells(&self, what: &str) {
        let line = self.told.recv_timeout(Duration::from_secs(30)).expect("nothing was told");
        assert!(line.contains(what), "{line}");
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn air(hut: &Hut) -> Option<f64> {
    hut.run("status --json").json()["air"]["temperature_c"].as_f64()
}

#[test]
fn a_file_is_read_and_its_failure_and_recovery_are_reported_once() {
    let hut = Hut::new();
    let file = hut.write("temperature", "18500\n");
    let settings = format!("[[sensor]]\nplace = \"shop\"\nfile = \"{}\"\nevery = \"10 s\"\n", file.display());
    hut.settings(settings);
    let watch = Watch::start(&hut);
    comes_true("the reading is in the job", || air(&hut) == Some(18.5));
    fs::write(&file, "85000\n").unwrap();
    watch.tells("gives no reading: 85 °C is what this kind of sensor sends before its first measurement");
    assert_eq!(air(&hut), Some(18.5));
    fs::write(&file, "21000\n").unwrap();
    watch.tells("works again");
    comes_true("the new reading is in the job", || air(&hut) == Some(21.0));
}

#[test]
fn a_program_is_asked_without_a_shell() {
    let hut = Hut::new();
    hut.settings(
        "[[sensor]]\nplace = \"shop\"\ntemperature = \"/t\"\nhumidity = \"/h\"\n\
         command = [\"/bin/echo\", \"{\\\"t\\\": \\\"59F\\\", \\\"h\\\": 61, \\\"x\\\": \\\"$(touch x)\\\"}\"]\n",
    );
    let _watch = Watch::start(&hut);
    comes_true("the reading is in the job", || air(&hut) == Some(15.0));
    assert_eq!(hut.run("status --json").json()["air"]["relative_humidity"], 61.0);
    assert!(!hut.path("x").exists());
}

#[test]
fn one_that_fails_does_not_hold_up_another() {
    let hut = Hut::new();
    hut.settings(
        "[[sensor]]\nplace = \"attic\"\nfile = \"/nonexistent/temperature\"\n\
         [[sensor]]\nplace = \"garage\"\ncommand = [\"sleep\", \"300\"]\n\
         [[sensor]]\nplace = \"shop\"\ncommand = [\"echo\", \"17.5\"]\n",
    );
    let watch = Watch::start(&hut);
    watch.tells("the sensor of attic gives no reading: the file is not there. The last one ages. (/nonexistent/temperature)");
    comes_true("the shop's reading is in the job", || air(&hut) == Some(17.5));
    watch.tells("the sensor of garage gives no reading: the program ran for more than 10 s");
}

#[test]
fn two_that_watch_keep_one_reading() {
    let hut = Hut::new();
    hut.settings("[[sensor]]\nplace = \"shop\"\ncommand = [\"echo\", \"17.5\"]\nevery = \"10 s\"\n");
    let _first = Watch::start(&hut);
    comes_true("the reading is in the job", || air(&hut) == Some(17.5));
    let kept = || hut.run("status --json").json()["air"]["reading_at"].clone();
    let before = kept();
    assert!(before.is_string(), "{before}");
    let _second = Watch::start(&hut);
    thread::sleep(Duration::from_secs(5));
    assert_eq!(kept(), before);
}

#[test]
fn no_program_outlives_the_watch() {
    let hut = Hut::new();
    hut.settings(
        "[[sensor]]\nplace = \"shop\"\ncommand = [\"sh\", \"-c\", \"echo $$ > new; mv new pid; sleep 300\"]\n",
    );
    let mut watch = Watch::start(&hut);
    comes_true("the program runs", || hut.path("pid").exists());
    let pid = fs::read_to_string(hut.path("pid")).unwrap();
    let pid = Pid::from_raw(pid.trim().parse().unwrap()).unwrap();
    kill_process(Pid::from_child(&watch.child), Signal::TERM).unwrap();
    assert_eq!(watch.child.wait().unwrap().code(), Some(0));
    comes_true("the program was stopped", || {
        let state = fs::read_to_string(format!("/proc/{}/stat", pid.as_raw_nonzero())).unwrap_or_default();
        // One that nobody has asked after yet is dead all the same.
        state.is_empty() || state.contains(") Z ")
    });
}

/// `watch --once`: its status, what it told, and how long it took.
fn once(hut: &Hut) -> (Option<i32>, String, Duration) {
    let begun = std::time::Instant::now();
    let out = hut.command().args(["watch", "--once", "--no-desktop"]).output().unwrap();
    (out.status.code(), String::from_utf8(out.stderr).unwrap(), begun.elapsed())
}

#[test]
fn a_watch_that_looks_once_reads_every_sensor_once() {
    let hut = Hut::new();
    hut.settings(
        "[[sensor]]\nplace = \"shop\"\ncommand = [\"echo\", \"17.5\"]\n\
         [[sensor]]\nplace = \"attic\"\nfile = \"/nonexistent/temperature\"\n",
    );
    let (status, told, took) = once(&hut);
    assert_eq!(status, Some(0), "{told}");
    assert!(told.contains("the sensor of attic gives no reading: the file is not there"), "{told}");
    assert_eq!(air(&hut), Some(17.5));
    assert!(took < Duration::from_secs(8), "{took:?}");
}

#[test]
fn a_watch_that_looks_once_waits_for_no_sensor_for_long() {
    let hut = Hut::new();
    let silent = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    hut.settings(format!(
        "[mqtt]\nbroker = \"{}\"\n[[sensor]]\nplace = \"shop\"\ncommand = [\"echo\", \"17.5\"]\n\
         [[sensor]]\nplace = \"garage\"\ncommand = [\"sleep\", \"300\"]\n\
         [[sensor]]\nplace = \"yard\"\ntopic = \"yard/air\"\n",
        silent.local_addr().unwrap()
    ));
    let (status, told, took) = once(&hut);
    assert_eq!(status, Some(0), "{told}");
    assert!(told.contains("the program ran for more than 10 s"), "{told}");
    assert!(told.contains("of yard"), "{told}");
    assert_eq!(air(&hut), Some(17.5));
    assert!(took < Duration::from_secs(25), "{took:?}");
}

#[test]
fn a_sensor_that_was_stuck_yesterday_is_stuck_after_a_restart() {
    let hut = Hut::new();
    let now = curewright::app::session::Clock::Wall.now();
    let mut log = "time,temperature\n".to_owned();
    for half_hour in (1..=50).rev() {
        let at = now - chrono::TimeDelta::minutes(30 * half_hour);
        log += &format!("{},17.5\n", at.to_rfc3339_opts(chrono::SecondsFormat::Secs, true));
    }
    hut.write("log.csv", log);
    hut.run("import log.csv").well();
    hut.settings("[[sensor]]\nplace = \"shop\"\ncommand = [\"echo\", \"17.5\"]\n");
    let before = hut.run("status --json").json()["air"]["reading_at"].clone();
    let (_, told, _) = once(&hut);
    assert!(told.contains("its value has not changed for a day; it is stuck"), "{told}");
    assert_eq!(hut.run("status --json").json()["air"]["reading_at"], before, "nothing of it is kept");
}
