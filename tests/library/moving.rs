//! A job that is exported as lines and imported is the same job. A job of the first version opens.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use curewright::app::report::{read_lines, write_lines};
use curewright::engine::air::{Origin, OutdoorHour, Provenance};
use curewright::engine::cure::Reading;
use curewright::engine::job::{AlertId, AlertKind, Channel, Delivery, NewAlert, Raising, ReportedWindow};
use curewright::engine::job::{Amount, EntryId, EntryKind, Job, StepKind, Vessel, voided};
use curewright::engine::units::{
    Celsius, Grams, Humidity, MetresPerSecond, Micrometres, Millimetres, Moment,
};
use curewright::io::store::{Store, StoreError, Whole};
use proptest::prelude::*;
use tempfile::TempDir;

fn at(minutes: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::minutes(minutes)
}

const NOW: i64 = 5000;

/// Something that a person, a logger or the program does.
#[derive(Debug, Clone)]
enum Deed {
    Entry(i64, EntryKind),
    Void(i64),
    Correct(i64, i64),
    Sensor(Vec<Reading>),
    Logger(Vec<(String, Reading)>),
    Forecast(Vec<OutdoorHour>, bool),
    Alert(i64, i64),
    Window(i64),
    Seen(i64),
}

fn celsius() -> impl Strategy<Value = Celsius> {
    // In °F, so that the figures have many places.
    (-200..1200_i64).prop_map(|tenth| Celsius::from_fahrenheit(tenth as f64 / 10.0))
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => prop::sample::select(vec!["roof", "Roof", "door, \"outside\"", "日本", "\\n"])
            .prop_map(Into::into),
        4 => "\\PC{1,12}",
        // Refused.
        1 => Just("日本\u{1b}[2J".into()),
    ]
}

fn reading() -> impl Strategy<Value = Reading> {
    let humidity =
        prop::option::of((0..=10_000_u32).prop_map(|part| Humidity::from_fraction(f64::from(part) / 1e4)));
    (0..NOW, celsius(), humidity, prop::option::of(celsius()))
        .prop_map(|(minutes, air, humidity, surface)| Reading { at: at(minutes), air, humidity, surface })
}

fn hour() -> impl Strategy<Value = OutdoorHour> {
    (0..300_i64, -30.0..40.0_f64, prop::option::of(0.0..=1.0_f64), prop::option::of(0.0..20.0_f64)).prop_map(
        |(hours, air, humidity, rain)| OutdoorHour {
            at: at(hours * 60),
            air: Celsius::new(air),
            humidity: humidity.map(Humidity::from_fraction),
            rain: rain.map(Millimetres::new),
            wind: rain.map(|rain| MetresPerSecond::new(rain / 3.0)),
        },
    )
}

fn kind() -> impl Strategy<Value = EntryKind> {
    let coat = (name(), name(), any::<bool>(), prop::option::of(1..9_i64)).prop_map(
        |(area, product, finished, batch)| EntryKind::Coat {
            area,
            product,
            next: None,
            finished,
            batch: batch.map(EntryId),
            why: None,
        },
    );
    let step = prop::sample::select(StepKind::ALL.to_vec());
    let off = (prop::collection::vec(1..9_i64, 0..3), prop::option::of(name()));
    let step = (name(), step, prop::option::of(0..500_u32), off).prop_map(|(area, step, minutes, off)| {
        let coats = off.0.into_iter().map(EntryId).collect();
        EntryKind::Step { area, step, minutes, coats, why: off.1 }
    });
    let measured = (name(), celsius(), prop::option::of(0.0..=100.0_f64), prop::option::of(celsius()))
        .prop_map(|(place, air, humidity_percent, surface)| EntryKind::Reading {
            place,
            air,
            humidity_percent,
            surface,
        });
    let batch =
        (name(), 0.1..2000.0_f64, prop::option::of(celsius())).prop_map(|(product, mass, temperature)| {
            let vessel = Vessel::Tray { depth_mm: Millimetres::new(mass / 7.0) };
            EntryKind::Batch { product, mass_g: Grams::new(mass), vessel, temperature, place: "shop".into() }
        });
    let film = (name(), prop::collection::vec(10.0..300.0_f64, 0..4)).prop_map(|(area, spots)| {
        EntryKind::WetFilm { area, micrometres: spots.into_iter().map(Micrometres::new).collect() }
    });
    let stock =
        (name(), 1.0..5000.0_f64, prop::option::of("[0-9]{1,5}\\.[0-9]{2}"), prop::option::of(name()))
            .prop_map(|(product, mass, price, lot)| EntryKind::Stock {
                product,
                amount: Amount::MassG(Grams::new(mass)),
                price,
                lot,
            });
    let note =
        (prop::option::of(name()), name(), prop::option::of(name()), prop::option::of(1..9_i64)).prop_map(
            |(area, text, photo, entry)| EntryKind::Note { area, entry: entry.map(EntryId), text, photo },
        );
    prop_oneof![
        4 => coat,
        2 => name().prop_map(|area| EntryKind::Finished { area }),
        2 => step,
        3 => measured,
        1 => batch,
        1 => film,
        1 => stock,
        1 => note,
        1 => (prop::option::of(name()), 1..900_u32).prop_map(|(area, minutes)| EntryKind::Work { area, minutes }),
        1 => prop::option::of(name()).prop_map(|area| EntryKind::ClockOn { area }),
        1 => Just(EntryKind::ClockOff),
        1 => name().prop_map(|name| EntryKind::Scheme { text: format!("name = {}", serde_json::to_string(&name).unwrap()) }),
    ]
}

fn deed() -> impl Strategy<Value = Deed> {
    let logger = prop::collection::vec((name(), reading()), 1..6);
    prop_oneof![
        6 => (0..NOW, kind()).prop_map(|(minutes, kind)| Deed::Entry(minutes, kind)),
        1 => (1..20_i64).prop_map(Deed::Void),
        1 => (1..20_i64, 0..NOW).prop_map(|(entry, minutes)| Deed::Correct(entry, minutes)),
        1 => prop::collection::vec(reading(), 1..6).prop_map(Deed::Sensor),
        1 => logger.prop_map(Deed::Logger),
        1 => (prop::collection::vec(hour(), 1..6), any::<bool>()).prop_map(|(hours, file)| Deed::Forecast(hours, file)),
        1 => (1..20_i64, 0..NOW).prop_map(|(subject, due)| Deed::Alert(subject, due)),
        1 => (1..20_i64).prop_map(Deed::Window),
        1 => (1..9_i64).prop_map(Deed::Seen),
    ]
}

/// Does it, if it can be done.
fn execute(store: &mut Store, deed: Deed) {
    let now = at(NOW);
    match deed {
        Deed::Entry(minutes, kind) => drop(store.append(at(minutes), now, kind)),
        Deed::Void(entry) => drop(store.void(Some(EntryId(entry)), now)),
        Deed::Correct(entry, minutes) => {
            let entries = store.entries().unwrap();
            if let Some(old) = entries.iter().find(|known| known.id == EntryId(entry)) {
                let _ = store.correct(old.id, at(minutes), now, old.kind.clone());
            }
        }
        Deed::Sensor(readings) => drop(store.log_readings("attic", &readings)),
        Deed::Logger(readings) => drop(store.import(now, "log.csv", readings)),
        Deed::Forecast(mut hours, file) => {
            hours.sort_by_key(|hour| hour.at);
            let origin =
                if file { Origin::File("f.csv".into()) } else { Origin::Service("example.org".into()) };
            let provenance = Provenance { origin, made: Some(at(7)), met_norway: !file };
            let _ = store.store_forecast(now, &hours, &provenance, None);
        }
        Deed::Alert(subject, due) => {
            let alert = NewAlert {
                kind: AlertKind::RecoatClose,
                subject: subject.to_string(),
                round: 0,
                area: Some("roof".into()),
                due: at(due),
                text: "closing\u{7}".into(),
            };
            let raising = Raising { raise: vec![alert], ..Raising::default() };
            let _ = store.raise(now, |_, _, _| raising);
            let sent = |alert| Delivery { alert, repeat: 0, channel: Channel::Desktop, sent: now };
            let _ = store.record_sent(&[sent(AlertId(1))]);
        }
        Deed::Window(coat) => {
            let window = ReportedWindow { coat: EntryId(coat), open: Some(at(1)), close: None };
            let raising = Raising { windows: vec![window], again: vec![AlertId(1)], ..Raising::default() };
            let _ = store.raise(now, |_, _, _| raising);
        }
        Deed::Seen(alert) => drop(store.acknowledge(Some(AlertId(alert)), now)),
    }
}

fn lines(whole: &Whole) -> Vec<u8> {
    let mut lines = Vec::new();
    write_lines(whole, "test", at(0), &mut lines).unwrap();
    lines
}

/// All that can be seen of a job from outside.
fn seen(store: &Store) -> String {
    let places = store.places_with_readings().unwrap();
    let readings: Vec<_> =
        places.iter().map(|place| store.readings(place, at(-99), at(9999)).unwrap()).collect();
    let outdoor = store.outdoor(at(-99), at(99_999)).unwrap();
    let entries = store.entries().unwrap();
    let alerts = (store.alert_memory().unwrap(), store.open_deliveries().unwrap());
    let rest = (alerts, store.forecast().unwrap());
    format!(
        "{:?}",
        (Job::fold(&entries, at(9999)), voided(&entries), places, readings, outdoor, rest, entries)
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_job_that_has_moved_is_the_same_job(deeds in prop::collection::vec(deed(), 0..25)) {
        let folder = tempfile::tempdir().unwrap();
        let mut here = Store::open(&folder.path().join("here.job")).unwrap();
        deeds.into_iter().for_each(|deed| execute(&mut here, deed));
        let whole = here.whole().unwrap();
        let read = read_lines(lines(&whole).as_slice()).unwrap();
        prop_assert_eq!(&read, &whole);
        let mut there = Store::open(&folder.path().join("there.job")).unwrap();
        there.import_job(&read).unwrap();
        prop_assert_eq!(there.whole().unwrap(), whole);
        prop_assert_eq!(seen(&there), seen(&here));
        // And what is done next gets the same number there as here.
        let next = |store: &mut Store| store.append(at(0), at(NOW), EntryKind::ClockOff.clone()).ok();
        prop_assert_eq!(next(&mut there), next(&mut here));
    }

    #[test]
    fn no_text_makes_it_panic(text in "\\PC*", cut in 0..200_usize) {
        let _ = read_lines(text.as_bytes());
        let whole = lines(&first_version().1.whole().unwrap());
        let _ = read_lines(&whole[..cut.min(whole.len())]);
    }
}

/// A job as the first program wrote it, opened by this one.
fn first_version() -> (TempDir, Store, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("old.job");
    let sql =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/jobs/version-1.sql")).unwrap();
    rusqlite::Connection::open(&path).unwrap().execute_batch(&sql).unwrap();
    let store = Store::open(&path).unwrap();
    (folder, store, path)
}

#[test]
fn a_job_of_the_first_version_opens_with_everything_in_it() {
    let (_folder, mut store, path) = first_version();
    let entries = store.entries().unwrap();
    assert_eq!(entries.len(), 8);
    let job = Job::fold(&entries, at(0));
    assert_eq!(job.name.as_deref(), Some("Old hut"));
    assert_eq!((job.areas[0].coats.len(), job.areas[0].steps.len()), (2, 0), "the tape was taken back");
    let readings = store.readings("SHOP", at(-9999), at(0)).unwrap();
    assert_eq!(readings.len(), 9);
    assert_eq!(readings.last().map(|reading| reading.air), Some(Celsius::new(20.125)));
    let entered = readings.iter().find(|reading| reading.surface.is_some()).unwrap();
    assert_eq!(
        (entered.surface, entered.humidity),
        (Some(Celsius::new(18.25)), Some(Humidity::from_fraction(0.55)))
    );
    assert_eq!(store.alerts().unwrap().len(), 1);
    assert_eq!(store.alert_memory().unwrap().1.len(), 1);
    let sent = store.open_deliveries().unwrap();
    assert_eq!(sent.len(), Channel::ALL.len(), "an alert of an older version was sent everywhere");
    let correction = store.correct(EntryId(8), at(-60), at(0), entries[7].kind.clone()).unwrap();
    assert_eq!(correction.id, EntryId(10));
    drop(store);
    assert!(Store::open_to_read(&path).unwrap().unwrap().forecast().unwrap().is_none());
}

#[test]
fn a_job_of_the_first_version_moves_too() {
    let (folder, old, _) = first_version();
    let whole = read_lines(lines(&old.whole().unwrap()).as_slice()).unwrap();
    let mut new = Store::open(&folder.path().join("new.job")).unwrap();
    new.import_job(&whole).unwrap();
    assert_eq!(seen(&new), seen(&old));
    let again = new.import_job(&whole);
    assert!(matches!(again, Err(StoreError::NotEmpty { .. })), "{again:?}");
}

/// The first fault of lines, which are those of a small job with one of them changed.
fn fault(change: impl Fn(&mut Vec<String>)) -> String {
    let whole = first_version().1.whole().unwrap();
    let mut all: Vec<String> = String::from_utf8(lines(&whole)).unwrap().lines().map(str::to_owned).collect();
    change(&mut all);
    read_lines(all.join("\n").as_bytes()).unwrap_err().to_string()
}

#[test]
fn an_invalid_line_is_reported_with_its_number() {
    let entry = |all: &mut Vec<String>, from: &str, to: &str| {
        let line = all.iter_mut().find(|line| line.contains(from)).unwrap();
        *line = line.replace(from, to);
    };
    type Change = Box<dyn Fn(&mut Vec<String>)>;
    let table: Vec<(Change, &str)> = vec![
        (Box::new(|all| all.clear()), "line 1: the file ends before the job does"),
        (Box::new(|all| all[0] = "time,temperature".into()), "line 1: this is not a job"),
        (Box::new(|all| drop(all.remove(0))), "line 1: this is not a job"),
        (
            Box::new(|all| all[0] = all[0].replace("\"version\":1", "\"version\":2")),
            "line 1: written by a newer",
        ),
        (
            Box::new(|all| drop(all.pop())),
            "line 20: the file ends before the job does; part of it is missing",
        ),
        (Box::new(|all| drop(all.remove(10))), "line 20: the job has 21 lines, and this is line 20"),
        (Box::new(|all| all[4].truncate(30)), "line 5: EOF while parsing"),
        (
            Box::new(move |all| entry(all, "\"what\":\"finished\"", "\"what\":\"sung\"")),
            "line 5: unknown variant `sung`",
        ),
        (Box::new(|all| all.swap(3, 4)), "line 5: the numbers of entries must rise"),
        (
            Box::new(move |all| entry(all, "\"air_c\":16.0", "\"air_c\":1e99")),
            "line 10: the temperature of the air: 1e99 °C is outside",
        ),
        (
            Box::new(move |all| entry(all, "\"humidity_percent\":60.0", "\"humidity_percent\":160")),
            "line 10: the humidity: 160 % is outside",
        ),
        (
            Box::new(move |all| entry(all, "\"entry\":2", "\"entry\":99")),
            "line 10: a reading of an unknown entry",
        ),
        (Box::new(|all| all.push(all[2].clone())), "line 22: the job has ended before this line"),
        (Box::new(|all| all.insert(1, all[0].clone())), "line 2: a second job starts"),
        (
            Box::new(move |all| entry(all, "\"coat\":3", "\"coat\":77")),
            "line 20: the window of an unknown coat",
        ),
        (Box::new(|all| all.insert(19, all[18].clone())), "line 20: an alert that already exists"),
        (Box::new(move |all| entry(all, "2026-05-01T06:05:00Z", "yesterday")), "line 4: "),
        (Box::new(|all| all[3] = "\u{1b}[2J".into()), "line 4: expected value"),
    ];
    for (change, told) in table {
        let fault = fault(change);
        assert!(fault.starts_with(told) && fault.ends_with("nothing was imported"), "{told} … but: {fault}");
        assert!(!fault.contains('\u{1b}'), "{fault:?}");
    }
}

#[test]
fn an_outdoor_hour_needs_its_forecast_and_its_place_in_time() {
    let head = r#"{"job":{"version":1,"program":"x","at":"2026-05-01T00:00:00Z"}}"#;
    let forecast = r#"{"forecast":{"id":1,"taken":"2026-05-01T00:00:00Z","made":null,"file":"f","service":null,"met_norway":false}}"#;
    let hour = r#"{"outdoor":{"at":"2026-05-01T00:00:00Z","air_c":9.5,"forecast":1}}"#;
    let read = |lines: &[&str]| read_lines(lines.join("\n").as_bytes()).unwrap_err().to_string();
    assert!(read(&[head, hour]).starts_with("line 2: an hour of an unknown forecast"));
    assert!(read(&[head, forecast, hour, hour]).starts_with("line 4: outdoor hours must be in order"));
    assert!(read(&[head, forecast, forecast]).starts_with("line 3: two forecasts of one number"));
    let nonsense = hour.replace("9.5", "99.5");
    assert!(read(&[head, forecast, &nonsense]).starts_with("line 3: an outdoor hour with an invalid number"));
    let ended = [head, forecast, hour, r#"{"end":{"lines":4}}"#, ""].join("\n");
    assert_eq!(read_lines(ended.as_bytes()).unwrap().outdoor.len(), 1);
}

#[test]
fn a_line_that_says_what_cannot_be_is_refused_with_its_reason() {
    let head = r#"{"job":{"version":1,"program":"x","at":"2026-05-01T00:00:00Z"}}"#;
    let entry = |body: &str| {
        format!(
            r#"{{"entry":{{"id":1,"at":"2026-05-01T06:00:00Z","recorded":"2026-05-01T06:00:00Z","body":{body}}}}}"#
        )
    };
    let numbered = |id: &str| entry(r#"{"what":"clock_off"}"#).replace("\"id\":1", &format!("\"id\":{id}"));
    let reading = |place: &str, air: &str| {
        format!(r#"{{"reading":{{"place":"{place}","at":"2026-05-01T06:00:00Z","air_c":{air}}}}}"#)
    };
    let stock = |price: &str| {
        entry(&format!(
            r#"{{"what":"stock","product":"varnish","amount":{{"mass_g":750}},"price":"{price}"}}"#
        ))
    };
    let table = [
        (reading("shop", "-300"), "the temperature of the air: -300.0 °C is outside −40…60 °C"),
        (reading("shop", "1e300"), "the temperature of the air: 1e300 °C"),
        (reading("", "20"), "the place has no name"),
        (reading("sh\\u001b[2Jop", "20"), "the place holds characters that cannot be shown: \"sh[2Jop\""),
        (reading("shop", "20").replace("2026", "+26026"), "the reading is of the year 26026"),
        (entry(r#"{"what":"reading","place":"shop","air":-300.0}"#), "the temperature of the air"),
        (
            entry(r#"{"what":"batch","product":"e","mass_g":-200.0,"vessel":"cup","place":"shop"}"#),
            "the mass is -2e2 g",
        ),
        (stock("-inf"), "the price: \"-inf\" is not a price"),
        (entry(r#"{"what":"finished","area":""}"#), "the area has no name"),
        (entry(r#"{"what":"finished","area":"a\u202eb"}"#), "the area holds characters that cannot be shown"),
        (entry(r#"{"what":"scheme","text":"piece = 3"}"#), "the scheme: line 1, column 1"),
        (entry(r#"{"what":"work","minutes":4000000000}"#), "4000000000 min of work"),
        (numbered("9223372036854775807"), "the entry has the number 9223372036854775807"),
        (numbered("0"), "the entry has the number 0"),
    ];
    for (line, reason) in table {
        let told = read_lines(format!("{head}\n{line}\n").as_bytes()).unwrap_err().to_string();
        assert!(told.starts_with(&format!("line 2: {reason}")), "{line}: {told}");
        assert!(!told.contains(['\u{1b}', '\u{202e}']), "{told:?}");
    }
}

#[test]
fn impossible_values_are_never_recorded() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(&folder.path().join("hut.job")).unwrap();
    let too_cold = EntryKind::Reading {
        place: "shop".into(),
        air: Celsius::new(-300.0),
        humidity_percent: None,
        surface: None,
    };
    for kind in [too_cold, EntryKind::Finished { area: "roof\u{9b}".into() }] {
        let told = store.append(at(0), at(0), kind);
        assert!(told.is_err(), "{told:?}");
    }
    assert_eq!(store.entries().unwrap(), []);
    let reading = |air| Reading { at: at(0), air: Celsius::new(air), humidity: None, surface: None };
    assert_eq!(store.log_readings("shop", &[reading(-300.0), reading(f64::NAN)]).unwrap(), 0);
    assert_eq!(store.log_readings("shop", &[reading(1e300), reading(20.0)]).unwrap(), 1);
}

#[test]
fn entries_of_another_program_meet_the_same_rules() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hut.job");
    let mut store = Store::open(&path).unwrap();
    store
        .append(at(0), at(0), EntryKind::Note { area: None, entry: None, text: "dry".into(), photo: None })
        .unwrap();
    drop(store);
    let forge = |body: &str| {
        let file = rusqlite::Connection::open(&path).unwrap();
        let second = at(0).timestamp();
        let numbers = [1, second, second].map(i64::to_le_bytes).concat();
        let checksum = crc32fast::hash(&[&numbers, body.as_bytes()].concat());
        let altered =
            "INSERT OR REPLACE INTO entry (id, at, recorded, body, checksum) VALUES (1, ?1, ?1, ?2, ?3)";
        file.execute(altered, (second, body, checksum)).unwrap();
        Store::open_to_read(&path).unwrap().unwrap().entries()
    };
    let note = forge("{\"what\":\"note\",\"text\":\"dry\u{9b}2J\\u001b[2J\"}").unwrap();
    assert!(matches!(&note[0].kind, EntryKind::Note { text, .. } if text == "dry2J[2J"), "{note:?}");
    for body in [
        r#"{"what":"reading","place":"shop","air":-300.0}"#,
        r#"{"what":"finished","area":""}"#,
        r#"{"what":"void","entry":-5}"#,
        "{\"what\":\"\u{1b}[2J\"}",
    ] {
        let told = forge(body).unwrap_err().to_string();
        assert!(told.contains("is damaged (entry 1 "), "{told}");
        assert!(!told.contains('\u{1b}'), "{told:?}");
    }
}
