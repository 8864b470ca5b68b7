use chrono::TimeDelta;

use super::*;
use crate::engine::job::{AlertId, AlertKind, Channel, StepKind};
use crate::engine::units::{Grams, Micrometres, Millilitres, Millimetres};

fn now() -> Moment {
    "2026-05-02T18:00:00Z".parse().unwrap()
}

fn refused(kind: &EntryKind) -> String {
    kind.check().expect_err(&format!("{kind:?}")).to_string()
}

fn measured(air: f64, humidity: Option<f64>, surface: Option<f64>) -> EntryKind {
    EntryKind::Reading {
        place: "shop".into(),
        air: Celsius::new(air),
        humidity_percent: humidity,
        surface: surface.map(Celsius::new),
    }
}

fn bought(amount: Amount, price: Option<&str>) -> EntryKind {
    EntryKind::Stock { product: "varnish".into(), amount, price: price.map(Into::into), lot: None }
}

fn mixed(mass: f64, vessel: Vessel, temperature: Option<f64>) -> EntryKind {
    EntryKind::Batch {
        product: "epoxy".into(),
        mass_g: Grams::new(mass),
        vessel,
        temperature: temperature.map(Celsius::new),
        place: "shop".into(),
    }
}

const NONE: [f64; 4] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300];

#[test]
fn a_temperature_that_no_shop_has_is_refused() {
    for degrees in NONE.into_iter().chain([-300.0, -40.001, 60.001]) {
        assert!(refused(&measured(degrees, None, None)).starts_with("the temperature of the air: "));
        let surface = refused(&measured(20.0, None, Some(degrees)));
        assert!(surface.starts_with("the temperature of the surface: "), "{surface}");
        let batch = refused(&mixed(100.0, Vessel::Cup, Some(degrees)));
        assert!(batch.starts_with("the temperature of the batch: "), "{batch}");
    }
    for degrees in [-40.0, 0.0, 60.0] {
        assert_eq!(measured(degrees, None, Some(degrees)).check(), Ok(()));
    }
}

#[test]
fn a_humidity_is_between_nothing_and_all() {
    for percent in NONE.into_iter().chain([-0.1, 100.1]) {
        assert!(refused(&measured(20.0, Some(percent), None)).starts_with("the humidity: "));
    }
    assert_eq!(measured(20.0, Some(0.0), None).check(), Ok(()));
    assert_eq!(measured(20.0, Some(100.0), None).check(), Ok(()));
}

#[test]
fn an_amount_is_more_than_nothing_and_less_than_a_shop_holds() {
    for value in NONE.into_iter().chain([0.0, -200.0, MOST * 1.001]) {
        refused(&mixed(value, Vessel::Cup, None));
        refused(&mixed(100.0, Vessel::Tray { depth_mm: Millimetres::new(value) }, None));
        refused(&bought(Amount::MassG(Grams::new(value)), None));
        refused(&bought(Amount::VolumeMl(Millilitres::new(value)), None));
        let spots = vec![Micrometres::new(75.0), Micrometres::new(value)];
        refused(&EntryKind::WetFilm { area: "roof".into(), micrometres: spots });
    }
    let mass = refused(&mixed(-200.0, Vessel::Cup, None));
    assert_eq!(mass, "the mass is -2e2 g; it must be above 0 and at most 100000000");
    assert_eq!(mixed(MOST, Vessel::Tray { depth_mm: Millimetres::new(1.0) }, None).check(), Ok(()));
}

#[test]
fn a_price_is_one_that_could_be_typed() {
    let tin = Amount::MassG(Grams::new(750.0));
    for price in ["-inf", "NaN", "-5", "", "1e300", "99999999999999999999"] {
        assert!(refused(&bought(tin, Some(price))).starts_with("the price: "));
    }
    assert_eq!(bought(tin, Some("24.90")).check(), Ok(()));
}

#[test]
fn a_name_has_letters_that_can_be_shown() {
    let area = |area: &str| EntryKind::Finished { area: area.into() };
    assert_eq!(refused(&area("")), "the area has no name");
    assert_eq!(refused(&area("  ")), "the area has no name");
    for evil in ["\u{1b}[2J", "\u{7f}", "\u{9b}31m", "\u{202e}foor", "a\nb", "\u{61c}x"] {
        let told = refused(&area(&format!("roof{evil}")));
        assert!(told.starts_with("the area holds characters that cannot be shown: \"roof"), "{told}");
        assert_eq!(told, clean(&told));
    }
    assert_eq!(refused(&area(&"x".repeat(1001))), "the area is longer than 1000 characters");
    assert_eq!(area(&"ü".repeat(1000)).check(), Ok(()));
    assert_eq!(area("door, \"outside\" 日本").check(), Ok(()));
    let mut step = EntryKind::step("roof", StepKind::Sand, None);
    if let EntryKind::Step { why, .. } = &mut step {
        *why = Some("dust\u{1b}[2J".into());
    }
    assert!(refused(&step).starts_with("the note holds"), "{}", refused(&step));
    assert!(step.clean() && step.check().is_ok());
    let note = EntryKind::Note { area: None, entry: None, text: String::new(), photo: Some("x.jpg".into()) };
    assert_eq!(note.check(), Ok(()), "a photo needs no words");
}

#[test]
fn a_number_leaves_room_for_those_to_come() {
    let entry = |id| Entry { id: EntryId(id), at: now(), recorded: now(), kind: EntryKind::ClockOff };
    for id in [i64::MIN, -1, 0, HIGHEST + 1, i64::MAX] {
        assert!(entry(id).check().is_err(), "{id}");
        refused(&EntryKind::Emptied { batch: EntryId(id) });
        refused(&EntryKind::Void { entry: EntryId(1), by: Some(EntryId(id)) });
    }
    assert_eq!(entry(1).check(), Ok(()));
    assert_eq!(entry(HIGHEST).check(), Ok(()));
}

#[test]
fn a_moment_is_of_these_centuries() {
    let entry = |at| Entry { id: EntryId(1), at, recorded: now(), kind: EntryKind::ClockOff };
    for at in [Moment::MIN_UTC, Moment::MAX_UTC, "1899-12-31T23:59:59Z".parse().unwrap()] {
        assert!(entry(at).check().unwrap_err().to_string().contains("of the year"));
    }
    for at in ["1900-01-01T00:00:00Z", "1969-07-20T20:17:00Z", "2999-12-31T23:59:59Z"] {
        assert_eq!(entry(at.parse().unwrap()).check(), Ok(()));
    }
}

#[test]
fn work_is_no_longer_than_a_week() {
    let step = |minutes| EntryKind::step("roof", StepKind::Sand, Some(minutes));
    assert_eq!(step(MINUTES).check(), Ok(()));
    refused(&step(MINUTES + 1));
    refused(&EntryKind::Work { area: None, minutes: u32::MAX });
}

#[test]
fn an_alert_can_be_raised_and_repeated_again() {
    let alert = Alert {
        id: AlertId(1),
        kind: AlertKind::RecoatClose,
        subject: "3".into(),
        round: 0,
        area: Some("roof".into()),
        due: now(),
        raised: now(),
        repeat: 0,
        wanted: now(),
        acknowledged: None,
        text: "The window closes.".into(),
    };
    assert_eq!(alert.check(), Ok(()));
    for wrong in [
        Alert { id: AlertId(0), ..alert.clone() },
        Alert { id: AlertId(i64::MAX), ..alert.clone() },
        Alert { repeat: u32::MAX, ..alert.clone() },
        Alert { round: u32::MAX, ..alert.clone() },
        Alert { area: Some("a\u{1b}".into()), ..alert.clone() },
        Alert { text: "a\u{9b}".into(), ..alert.clone() },
        Alert { due: Moment::MAX_UTC, ..alert.clone() },
        Alert { acknowledged: Some(Moment::MIN_UTC), ..alert },
    ] {
        assert!(wrong.check().is_err(), "{wrong:?}");
    }
    let sent = Delivery { alert: AlertId(1), repeat: 0, channel: Channel::Desktop, sent: now() };
    assert_eq!(sent.check(), Ok(()));
    assert!(Delivery { repeat: u32::MAX, ..sent }.check().is_err());
    assert!(Delivery { sent: now() + TimeDelta::days(900_000), ..sent }.check().is_err());
}

#[test]
fn what_an_older_version_let_in_is_cleaned() {
    let mut note = EntryKind::Note {
        area: Some("roof\u{1b}".into()),
        entry: None,
        text: "dry\u{202e}".into(),
        photo: Some("/a\u{9b}".into()),
    };
    assert!(note.clean());
    let plain = EntryKind::Note {
        area: Some("roof".into()),
        entry: None,
        text: "dry".into(),
        photo: Some("/a".into()),
    };
    assert_eq!(note, plain);
    assert!(!note.clean());
}
