use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use super::*;

const TICKET: Ticket = Ticket { alert: AlertId(7), repeat: 2 };

fn message(text: &str) -> Message {
    Message { title: "curewright: roof".into(), text: text.into(), line: text.into(), urgent: false }
}

fn outcome(outlet: &mut dyn Outlet) -> Outcome {
    let end = Instant::now() + Duration::from_secs(30);
    loop {
        if let Some((ticket, outcome)) = outlet.outcomes().pop() {
            assert_eq!(ticket, TICKET);
            return outcome;
        }
        assert!(Instant::now() < end, "there is no outcome");
        thread::sleep(Duration::from_millis(5));
    }
}

fn command(words: &[&str]) -> Command {
    Command::new(&words.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>()).unwrap()
}

#[test]
fn a_command_gets_its_words_as_arguments_and_no_shell() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sent; touch nothing");
    let mut command = command(&["cp", "/dev/null", &file.display().to_string()]);
    command.send(TICKET, message("x"));
    assert_eq!(outcome(&mut command), Ok(()));
    assert!(file.exists());
}

#[test]
fn what_an_alert_says_is_not_filled_in_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut command = command(&["mkdir", &format!("{}/{{title}}-{{text}}", folder.path().display())]);
    command.send(TICKET, Message { title: "{text}".into(), ..message("{title}") });
    assert_eq!(outcome(&mut command), Ok(()));
    assert!(folder.path().join(Path::new("{text}-{title}")).exists());
}

#[test]
fn a_command_that_fails_has_not_taken_the_alert() {
    for (words, why) in [(["no-such-program-here"], "cannot be run"), (["false"], "failed (exit status: 1)")]
    {
        let mut command = command(&words);
        command.send(TICKET, message("x"));
        let said = outcome(&mut command).unwrap_err();
        assert!(said.contains(words[0]) && said.contains(why), "{said}");
    }
}

#[test]
#[cfg(unix)]
fn a_command_that_takes_too_long_is_stopped_with_all_it_has_started() {
    let folder = tempfile::tempdir().unwrap();
    let note = folder.path().join("late");
    // What it starts in the background would write the note after the time-out.
    let script = format!("(sleep 3; touch {}) & sleep 60", note.display());
    let mut command = command(&["sh", "-c", &script]).within(Duration::from_secs(1));
    command.send(TICKET, message("x"));
    assert_eq!(outcome(&mut command).unwrap_err(), "The alert command \"sh\" did not end within 1 s.");
    thread::sleep(Duration::from_secs(3));
    assert!(!note.exists());
}

#[test]
fn without_a_command_there_is_no_outlet() {
    assert!(Command::new(&[]).is_none());
}

#[test]
fn a_screen_takes_what_it_is_given() {
    let mut screen = Screen::default();
    screen.send(TICKET, message("x"));
    assert_eq!(screen.outcomes(), [(TICKET, Ok(()))]);
    assert_eq!(screen.outcomes(), []);
}
