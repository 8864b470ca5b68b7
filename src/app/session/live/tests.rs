//! A job that is followed by processes whose channels fail, hang, leave and come back.

mod days;
mod replies;
mod world;

use chrono::TimeDelta;

use crate::engine::job::{AlertKind, Channel, Delivery};
use crate::testing::at;
use world::{Process, World, coat, reading};

/// A varnish at 20 °C: its window opens after eight hours, and closes after about nine.
fn varnish() -> World {
    let world = World::new();
    for minutes in (-600..=700).step_by(10) {
        world.log(reading(at(minutes), 20.0));
    }
    world.enter(at(0), coat("door", "varnish-quick"));
    world
}

fn taken(world: &World, channel: Channel) -> Vec<AlertKind> {
    world.hub().log.iter().filter(|taken| taken.channel == channel).map(|taken| taken.kind).collect()
}

const BOTH: [AlertKind; 2] = [AlertKind::RecoatOpen, AlertKind::RecoatClose];

#[test]
fn a_channel_that_fails_stops_no_other_and_gets_its_alerts_when_it_works_again() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Output, Channel::Desktop]);
    world.hub_mut().desktop.up = false;
    let tick = world.tick(&mut watch, at(530));
    assert!(tick.troubles.iter().any(|trouble| trouble.contains("desktop")), "{:?}", tick.troubles);
    assert_eq!(taken(&world, Channel::Output), BOTH);
    assert_eq!(taken(&world, Channel::Desktop), []);
    world.hub_mut().desktop.up = true;
    world.tick(&mut watch, at(532));
    assert_eq!(taken(&world, Channel::Desktop), BOTH);
    assert_eq!(taken(&world, Channel::Output), BOTH, "once");
}

#[test]
fn a_board_without_a_desktop_leaves_the_alerts_to_a_watch_that_has_one() {
    let world = varnish();
    let mut board = world.process(&[Channel::Screen]);
    let mut watch = world.process(&[Channel::Output, Channel::Desktop]);
    assert!(world.tick(&mut board, at(530)).rings);
    assert!(!world.tick(&mut board, at(531)).rings, "its bell rings once");
    world.tick(&mut watch, at(531));
    for channel in [Channel::Screen, Channel::Desktop, Channel::Output] {
        assert_eq!(taken(&world, channel), BOTH, "{channel:?}");
    }
}

#[test]
fn two_watchers_send_an_alert_once() {
    let world = varnish();
    let mut both = [world.process(&[Channel::Desktop]), world.process(&[Channel::Desktop])];
    for minutes in 500..540 {
        both.iter_mut().for_each(|watch| drop(world.tick(watch, at(minutes))));
    }
    let closes = taken(&world, Channel::Desktop);
    assert_eq!(closes.iter().filter(|kind| **kind == AlertKind::RecoatOpen).count(), 1, "{closes:?}");
}

#[test]
fn an_alert_is_sent_by_another_when_its_sender_was_killed() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.hub_mut().killed_at_send = Some(1);
    world.tick(&mut watch, at(530));
    drop(watch);
    assert_eq!(taken(&world, Channel::Desktop), [AlertKind::RecoatOpen], "the second was lost");
    let mut next = world.process(&[Channel::Desktop]);
    world.tick(&mut next, at(531));
    assert_eq!(taken(&world, Channel::Desktop).len(), 1, "the claim still holds");
    for minutes in 533..=534 {
        world.tick(&mut next, at(minutes));
    }
    assert_eq!(taken(&world, Channel::Desktop).len(), 1, "its owner may only have slept");
    world.tick(&mut next, at(535));
    assert!(taken(&world, Channel::Desktop).contains(&AlertKind::RecoatClose));
}

#[test]
fn a_machine_that_sleeps_while_the_desktop_hangs_shows_an_alert_once() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    let mut board = world.process(&[Channel::Desktop]);
    world.tick(&mut board, at(500));
    world.hub_mut().desktop.hangs_at_send = true;
    world.tick(&mut watch, at(530));
    world.tick(&mut board, at(530));
    // It sleeps for an hour, and the other one is the first to wake.
    for minutes in [590, 591, 592, 593, 594] {
        world.tick(&mut board, at(minutes));
        if minutes == 590 {
            world.wake_desktop();
        }
        world.tick(&mut watch, at(minutes));
    }
    let closes = taken(&world, Channel::Desktop);
    assert_eq!(closes.iter().filter(|kind| **kind == AlertKind::RecoatOpen).count(), 1, "{closes:?}");
}

#[test]
fn what_cannot_be_recorded_is_sent_with_a_word_and_recorded_later() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop, Channel::Screen]);
    world.refuse_writes(true);
    let tick = world.tick(&mut watch, at(530));
    assert!(tick.rings);
    assert!(
        tick.troubles.iter().any(|trouble| trouble.contains("cannot be recorded")),
        "{:?}",
        tick.troubles
    );
    assert!(world.hub().log.iter().all(|taken| taken.text.contains("could not be recorded")));
    assert_eq!(watch.live.unrecorded().len(), 2);
    world.tick(&mut watch, at(531));
    assert_eq!(taken(&world, Channel::Desktop), BOTH, "once");
    world.refuse_writes(false);
    world.tick(&mut watch, at(532));
    world.tick(&mut watch, at(533));
    assert_eq!(taken(&world, Channel::Desktop), BOTH, "once, though it is recorded now");
    assert!(watch.live.unrecorded().is_empty());
    let sent = watch.session.open_deliveries().unwrap();
    let on = |channel| sent.iter().filter(|sent: &&Delivery| sent.channel == channel).count();
    assert_eq!((on(Channel::Desktop), on(Channel::Screen)), (2, 2));
}

#[test]
fn an_alert_that_cannot_be_recorded_is_repeated_and_acknowledged_all_the_same() {
    let world = varnish();
    let mut board = world.process(&[Channel::Screen]);
    world.refuse_writes(true);
    for minutes in 530..=541 {
        world.tick(&mut board, at(minutes));
    }
    let closes = |world: &World| {
        taken(world, Channel::Screen).iter().filter(|kind| **kind == AlertKind::RecoatClose).count()
    };
    assert_eq!(closes(&world), 2, "after ten minutes again: {:?}", world.hub().log);
    assert_eq!(board.live.acknowledge_unrecorded(None, at(541)), 2);
    for minutes in 542..560 {
        world.tick(&mut board, at(minutes));
    }
    assert_eq!(closes(&world), 2);
}

#[test]
fn a_reader_that_leaves_is_noticed_and_the_desktop_goes_on() {
    let world = varnish();
    let mut alone = world.process(&[Channel::Output]);
    let mut watch = world.process(&[Channel::Output, Channel::Desktop]);
    world.tick(&mut alone, at(10));
    world.tick(&mut watch, at(10));
    world.hub_mut().readers_left = true;
    world.tick(&mut alone, at(11));
    world.tick(&mut watch, at(530));
    assert!(alone.live.all_gone().is_some());
    assert_eq!(watch.live.all_gone(), None);
    assert_eq!(taken(&world, Channel::Desktop), BOTH);
}

#[test]
fn an_acknowledged_alert_is_not_sent_again() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.hub_mut().desktop.up = false;
    world.tick(&mut watch, at(530));
    world.acknowledge_all(at(531));
    world.hub_mut().desktop.up = true;
    world.tick(&mut watch, at(533));
    assert_eq!(taken(&world, Channel::Desktop), []);
}

#[test]
fn what_events_have_overtaken_is_not_sent_any_more() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.hub_mut().desktop.up = false;
    world.tick(&mut watch, at(530));
    world.enter(at(535), coat("door", "varnish-quick"));
    world.hub_mut().desktop.up = true;
    world.tick(&mut watch, at(540));
    assert_eq!(taken(&world, Channel::Desktop), []);
}

#[test]
fn a_clock_that_was_ahead_for_one_pass_silences_nothing() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(490));
    world.tick(&mut watch, at(700));
    world.hub_mut().log.clear();
    for minutes in 491..=530 {
        world.tick(&mut watch, at(minutes));
    }
    assert!(taken(&world, Channel::Desktop).contains(&AlertKind::RecoatClose));
}

#[test]
fn a_service_that_hangs_shows_what_it_was_given_when_it_wakes_and_nothing_twice() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.hub_mut().desktop.hangs_at_send = true;
    for minutes in 525..=545 {
        world.tick(&mut watch, at(minutes));
    }
    assert_eq!(taken(&world, Channel::Desktop), []);
    assert!(watch.live.is_sending());
    world.wake_desktop();
    for minutes in 546..=549 {
        world.tick(&mut watch, at(minutes));
    }
    let kinds = taken(&world, Channel::Desktop);
    assert_eq!(kinds.iter().filter(|kind| **kind == AlertKind::RecoatOpen).count(), 1, "{kinds:?}");
    assert!(kinds.contains(&AlertKind::RecoatClose), "{kinds:?}");
}

#[test]
fn a_job_that_is_made_anew_is_followed_and_said() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(10));
    world.make_anew();
    for minutes in (-600..=700).step_by(10) {
        world.log(reading(at(minutes), 20.0));
    }
    world.enter(at(0), coat("sill", "varnish-quick"));
    let tick = world.tick(&mut watch, at(530));
    assert!(tick.says.iter().any(|says| says.contains("was replaced")), "{:?}", tick.says);
    assert!(tick.changed);
    assert_eq!(taken(&world, Channel::Desktop), BOTH);
    assert!(world.hub().log.iter().all(|taken| taken.text.contains("sill")));
}

#[test]
fn what_another_process_writes_is_seen_at_once_after_a_write_of_ones_own() {
    let world = varnish();
    let mut watch: Process<'_> = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(500));
    assert!(!watch.session.alerts().unwrap().is_empty(), "its own first write");
    for second in 1..20 {
        world.enter(at(499), coat(&format!("sill {second}"), "varnish-quick"));
        let tick = world.tick(&mut watch, at(500) + TimeDelta::seconds(second));
        assert!(tick.changed, "after {second} s");
    }
}
