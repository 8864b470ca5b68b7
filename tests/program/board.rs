//! The board on a real terminal: a pseudo-terminal whose screen is read as a person sees it.
//!
//! The board runs in a child of its own: this test binary again, with a desk of the test's behind it.

mod desk;
mod terminal;

use std::time::{Duration, Instant};

use desk::TestDesk;
use terminal::Terminal;

const PATIENCE: Duration = Duration::from_secs(20);

/// Not a test: the child that the others start.
#[test]
#[ignore = "the child of the other tests"]
#[expect(clippy::disallowed_methods, reason = "the child knows itself by its environment")]
fn child() {
    if std::env::var_os(terminal::CHILD).is_none() {
        return;
    }
    let options = curewright::tui::Options::default();
    let ended = curewright::tui::run(&mut TestDesk::new(), options);
    println!("the board ended: {ended:?}");
}

#[test]
fn a_coat_is_begun_finished_undone_and_an_alert_seen() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    for (keys, says) in [
        ("c\r", "done: Coat Roof primer-two-part"),
        ("f\r", "done: Finish Roof"),
        ("t17,5\r", "done: Reading 17.5"),
        ("sp45\r", "done: Step TapeOff Roof 45"),
        ("uy", "done: Undo"),
        ("a", "done: Acknowledge"),
        ("t\u{1b}[200~17\r\n.5\u{1b}[201~\r", "done: Reading 17.5"),
    ] {
        terminal.type_keys(keys);
        terminal.wait(says, PATIENCE);
        terminal.type_keys("x");
    }
    terminal.type_keys("t99\r");
    terminal.wait("outside −40…60 °C", PATIENCE);
    terminal.type_keys("\u{1b}");
    terminal.type_keys("b");
    terminal.wait("████", PATIENCE);
    terminal.type_keys("q");
    terminal.wait("the board ended: Ok", PATIENCE);
    terminal.expect_restored();
}

#[test]
fn every_way_to_end_it_gives_the_terminal_back() {
    for signal in ["TERM", "HUP", "INT"] {
        let mut terminal = Terminal::open();
        terminal.start();
        terminal.wait("Shepherd's hut", PATIENCE);
        terminal.signal(signal);
        terminal.wait("the board ended: Ok", PATIENCE);
        terminal.expect_restored();
    }
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    terminal.type_keys("\u{3}");
    terminal.wait("the board ended: Ok", PATIENCE);
    terminal.expect_restored();
}

#[test]
fn a_panic_is_read_on_a_terminal_that_was_given_back() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    terminal.type_keys("cPanic\r\r\r");
    terminal.wait("the desk fell over", PATIENCE);
    terminal.expect_restored();
}

#[test]
fn it_goes_to_the_shell_and_comes_back_whole() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    for way in ["\u{1a}", "TSTP", "STOP"] {
        if way.len() > 1 {
            terminal.signal(way)
        } else {
            terminal.type_keys(way)
        }
        terminal.wait_stopped(PATIENCE);
        if way != "STOP" {
            terminal.expect_restored();
        }
        // A shell that finds the terminal as the board left it reads no carriage return as the end of a line.
        terminal.type_keys("fg\n");
        terminal.wait("Shepherd's hut", PATIENCE);
        terminal.wait("q quit", PATIENCE);
        terminal.type_keys("t9\r");
        terminal.wait("done: Reading 9", PATIENCE);
        terminal.type_keys("x");
    }
    terminal.type_keys("q");
    terminal.wait("the board ended: Ok", PATIENCE);
    terminal.expect_restored();
}

#[test]
fn it_follows_the_size_of_the_terminal() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("q quit", PATIENCE);
    terminal.resize(40, 120);
    terminal.wait("r record", PATIENCE);
    terminal.resize(3, 20);
    terminal.wait("OPEN: Roof: the sec…", PATIENCE);
    terminal.resize(24, 80);
    terminal.wait("q quit", PATIENCE);
    terminal.type_keys("q");
    terminal.wait("the board ended: Ok", PATIENCE);
}

#[test]
fn it_rings_the_bell() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    terminal.wait_for("a bell", PATIENCE, |seen| seen.bells > 0);
}

#[test]
fn it_exits_when_the_terminal_closes_without_a_signal() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    let child = terminal.child();
    terminal.hang_up();
    let began = Instant::now();
    while terminal::runs(child) {
        assert!(began.elapsed() < PATIENCE, "the board goes on without a terminal");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
#[cfg(target_os = "linux")]
fn it_sleeps_while_nothing_happens() {
    let mut terminal = Terminal::open();
    terminal.start();
    terminal.wait("Shepherd's hut", PATIENCE);
    std::thread::sleep(Duration::from_secs(1));
    let seconds = 5;
    let before = terminal.switches();
    std::thread::sleep(Duration::from_secs(seconds));
    let switches = terminal.switches() - before;
    println!("{switches} context switches in {seconds} s");
    assert!(switches <= 4 * seconds, "{switches} context switches in {seconds} s");
}
