//! What people choose on a popup of the desktop.

use super::*;
use crate::io::notifier::Reply;

fn choose(world: &World, process: &Process<'_>, kind: AlertKind, reply: Reply) {
    world.hub_mut().chosen.push((process.number, kind, reply));
}

fn count(world: &World, kind: AlertKind) -> usize {
    taken(world, Channel::Desktop).into_iter().filter(|taken| *taken == kind).count()
}

#[test]
fn seen_on_the_desktop_is_seen_everywhere_and_not_repeated() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(530));
    choose(&world, &watch, AlertKind::RecoatClose, Reply::Seen);
    assert!(world.tick(&mut watch, at(531)).changed);
    let alerts = watch.session.alerts().unwrap();
    let close = alerts.iter().find(|alert| alert.kind == AlertKind::RecoatClose).unwrap();
    assert_eq!(close.acknowledged, Some(at(531)));
    for minutes in 532..=545 {
        world.tick(&mut watch, at(minutes));
    }
    assert_eq!(count(&world, AlertKind::RecoatClose), 1);
}

#[test]
fn later_brings_an_alert_again_though_it_does_not_insist() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(490));
    assert_eq!(count(&world, AlertKind::RecoatOpen), 1);
    choose(&world, &watch, AlertKind::RecoatOpen, Reply::Later);
    for minutes in 491..=504 {
        world.tick(&mut watch, at(minutes));
        assert_eq!(count(&world, AlertKind::RecoatOpen), 1, "put off at {minutes}");
    }
    for minutes in 505..=520 {
        world.tick(&mut watch, at(minutes));
    }
    assert_eq!(count(&world, AlertKind::RecoatOpen), 2, "and then once");
}

#[test]
fn what_must_not_be_missed_is_put_off_no_longer_than_it_is_repeated() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(517));
    assert_eq!(count(&world, AlertKind::RecoatClose), 1);
    choose(&world, &watch, AlertKind::RecoatClose, Reply::Later);
    for minutes in 518..=528 {
        world.tick(&mut watch, at(minutes));
    }
    assert_eq!(count(&world, AlertKind::RecoatClose), 2);
}

#[test]
fn a_popup_goes_when_its_alert_is_acknowledged_elsewhere_or_its_cause_is_gone() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(530));
    assert_eq!(world.hub().popups.len(), 2);
    world.acknowledge_all(at(531));
    world.tick(&mut watch, at(531));
    assert_eq!(world.hub().popups.len(), 0);

    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(530));
    world.enter(at(531), coat("door", "varnish-quick"));
    world.tick(&mut watch, at(533));
    assert_eq!(world.hub().popups.len(), 0, "the next coat is on");
}

#[test]
fn an_answer_is_kept_until_the_job_can_be_written() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(530));
    world.refuse_writes(true);
    choose(&world, &watch, AlertKind::RecoatClose, Reply::Seen);
    let tick = world.tick(&mut watch, at(531));
    assert!(
        tick.troubles.iter().any(|trouble| trouble.contains("cannot be recorded")),
        "{:?}",
        tick.troubles
    );
    world.refuse_writes(false);
    world.tick(&mut watch, at(532));
    let alerts = watch.session.alerts().unwrap();
    assert!(alerts.iter().any(|alert| alert.kind == AlertKind::RecoatClose && alert.acknowledged.is_some()));
}

#[test]
fn popups_of_a_job_that_was_replaced_are_taken_away() {
    let world = varnish();
    let mut watch = world.process(&[Channel::Desktop]);
    world.tick(&mut watch, at(530));
    world.make_anew();
    world.log(reading(at(0), 20.0));
    world.tick(&mut watch, at(531));
    assert_eq!(world.hub().popups.len(), 0);
}
