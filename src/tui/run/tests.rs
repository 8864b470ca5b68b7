//! The driver on a terminal that is none.

use std::sync::mpsc::channel;

use chrono::TimeDelta;
use crossterm::event::Event as TerminalEvent;
use ratatui::backend::TestBackend;

use super::*;
use crate::app::session::{Done, Order};
use crate::tui::samples::*;

#[derive(Default)]
struct Noted {
    stops: usize,
    reclaims: usize,
    rings: usize,
    no_shell: bool,
    hangs_up: bool,
}

impl World for &mut Noted {
    fn stop(&mut self) -> io::Result<bool> {
        self.stops += 1;
        Ok(!self.no_shell)
    }

    fn reclaim(&mut self) -> io::Result<()> {
        self.reclaims += 1;
        Ok(())
    }

    fn hung_up(&mut self) -> bool {
        self.hangs_up
    }

    fn ring(&mut self) -> io::Result<()> {
        self.rings += 1;
        Ok(())
    }
}

fn keys(keys: &str) -> Vec<Wake> {
    typed(keys).into_iter().map(|key| Wake::Terminal(TerminalEvent::Key(key))).collect()
}

/// Runs the board over these wakes until they end.
fn drive(desk: &mut FakeDesk, noted: &mut Noted, wakes: Vec<Wake>) -> io::Result<()> {
    let (sender, receiver) = channel();
    for wake in wakes {
        sender.send(wake).unwrap();
    }
    drop(sender);
    let terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    Driver::new(terminal, desk, noted, Theme::new(ColorMode::Auto)).run(&receiver)
}

#[test]
fn what_is_accepted_is_carried_out_before_the_screen_says_so() {
    let mut desk = FakeDesk::new(hut());
    desk.answer = Ok(Done { says: "Roof: coat 3.".into(), cautions: Vec::new() });
    drive(&mut desk, &mut Noted::default(), keys("t17<Tab><Tab><Tab>-20m<Enter>q")).unwrap();
    let (order, when) = desk.orders.pop().unwrap();
    assert!(matches!(order, Order::Reading { .. }));
    assert_eq!(when, Some(now() - TimeDelta::minutes(20)));
    assert!(desk.looked >= 1, "the view is fresh after it");
}

#[test]
fn a_plan_is_worked_out_while_it_is_looked_at_and_given_up_when_it_is_left() {
    let mut desk = FakeDesk::new(hut());
    drive(&mut desk, &mut Noted::default(), keys("p")).unwrap();
    assert!(desk.planned);
    drive(&mut desk, &mut Noted::default(), keys("p<Esc>")).unwrap();
    assert!(!desk.planned);
}

#[test]
fn signals_end_it() {
    let mut desk = FakeDesk::new(hut());
    drive(&mut desk, &mut Noted::default(), vec![Wake::Leave]).unwrap();
    let deaf = Wake::Deaf(io::Error::other("gone"));
    assert!(drive(&mut desk, &mut Noted::default(), vec![deaf]).is_err());
}

#[test]
fn it_stops_once_and_claims_the_terminal_when_it_is_continued() {
    let mut noted = Noted::default();
    let mut wakes = keys("<Ctrl-z>");
    wakes.extend([Wake::Stop, Wake::Continue]);
    wakes.extend(keys("q"));
    drive(&mut FakeDesk::new(hut()), &mut noted, wakes).unwrap();
    assert_eq!((noted.stops, noted.reclaims), (1, 1));
}

#[test]
fn without_a_shell_it_does_not_stop() {
    let mut noted = Noted { no_shell: true, ..Noted::default() };
    drive(&mut FakeDesk::new(hut()), &mut noted, keys("<Ctrl-z>q")).unwrap();
    assert_eq!((noted.stops, noted.reclaims), (1, 0));
}

#[test]
fn it_leaves_when_the_terminal_hangs_up() {
    let (_sender, receiver) = channel();
    let mut noted = Noted { hangs_up: true, ..Noted::default() };
    let mut desk = FakeDesk::new(hut());
    let terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    Driver::new(terminal, &mut desk, &mut noted, Theme::new(ColorMode::Auto)).run(&receiver).unwrap();
}

#[test]
fn it_rings_and_shows_each_notice_once() {
    let (sender, receiver) = channel();
    let mut desk = FakeDesk::new(hut());
    desk.rings = true;
    desk.notices = vec!["The desktop cannot be reached.".into()];
    let mut noted = Noted::default();
    let terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let mut driver = Driver::new(terminal, &mut desk, &mut noted, Theme::new(ColorMode::Auto));
    for _ in 0..3 {
        driver.tick().unwrap();
        driver.draw().unwrap();
    }
    let seen = driver.terminal.backend().to_string();
    assert!(seen.contains("The desktop cannot be reached."), "{seen}");
    for wake in keys("j") {
        driver.wake(wake).unwrap();
    }
    driver.tick().unwrap();
    driver.draw().unwrap();
    assert!(!driver.terminal.backend().to_string().contains("desktop"), "told once");
    sender.send(Wake::Leave).unwrap();
    driver.run(&receiver).unwrap();
    assert!(noted.rings >= 4);
}

#[test]
fn a_redraw_begins_from_nothing() {
    let mut desk = FakeDesk::new(hut());
    let mut noted = Noted::default();
    let terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let mut driver = Driver::new(terminal, &mut desk, &mut noted, Theme::new(ColorMode::Auto));
    driver.tick().unwrap();
    driver.draw().unwrap();
    let seen = driver.terminal.backend().to_string();
    driver.terminal.backend_mut().clear_region(ClearType::All).unwrap();
    driver.draw().unwrap();
    assert_ne!(driver.terminal.backend().to_string(), seen, "what has not changed is not drawn");
    driver.wake(Wake::Continue).unwrap();
    driver.draw().unwrap();
    assert_eq!(driver.terminal.backend().to_string(), seen);
}

#[test]
fn a_view_that_fails_leaves_the_old_one_and_says_so() {
    let mut desk = FakeDesk::new(hut());
    let mut noted = Noted::default();
    let terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let mut driver = Driver::new(terminal, &mut desk, &mut noted, Theme::new(ColorMode::Auto));
    driver.tick().unwrap();
    driver.think(Event::Seen(Err("the disk is gone".into())));
    driver.draw().unwrap();
    let seen = driver.terminal.backend().to_string();
    assert!(seen.contains("the disk is gone") && seen.contains("Door, outside"), "{seen}");
}
