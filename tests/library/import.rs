//! Readings on their way from a logger, a sensor or a person into a job, and back out of it.

use std::path::PathBuf;

use chrono::{DateTime, TimeDelta};
use curewright::engine::cure::Reading;
use curewright::engine::job::{EntryId, EntryKind};
use curewright::engine::units::{Celsius, Civil, Humidity, Moment};
use curewright::io::sources::read_logger;
use curewright::io::store::Store;
use proptest::prelude::*;
use tempfile::TempDir;

fn at(minutes: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::minutes(minutes)
}

fn reading(minutes: i64, air: f64) -> Reading {
    Reading { at: at(minutes), air: Celsius::new(air), humidity: None, surface: None }
}

fn entered(air: f64) -> EntryKind {
    let air = Celsius::new(air);
    EntryKind::Reading { place: "shop".into(), air, humidity_percent: Some(62.0), surface: None }
}

struct Shop {
    path: PathBuf,
    _folder: TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self { path: folder.path().join("hut.job"), _folder: folder }
    }

    fn store(&self) -> Store {
        Store::open(&self.path).unwrap()
    }
}

fn airs(store: &Store, from: i64, to: i64) -> Vec<f64> {
    let readings = store.readings("shop", at(from), at(to)).unwrap();
    readings.iter().map(|reading| reading.air.degrees()).collect()
}

#[test]
fn a_loggers_file_reaches_the_job_row_by_row() {
    let shop = Shop::new();
    let mut store = shop.store();
    let text = "time;temperature;humidity;place\n\
                2026-05-02T17:50:00Z;14,2;61;\n\
                2026-05-02T17:55:00Z;hot;61;\n\
                2026-05-02T18:00:00Z;14,5;62;yard\n";
    let file = read_logger(text.as_bytes(), "shop", &Civil::utc(), at(0)).unwrap();
    assert_eq!(file.faults[0].to_string(), "line 3: \"hot\" is not a temperature such as 17.5 or 63F");
    assert_eq!(store.import(at(0), "may.csv", file.readings).unwrap().taken, 2);
    assert_eq!(airs(&store, -60, 0), [14.2]);
    let yard = store.latest_reading("yard", at(0)).unwrap().unwrap();
    assert_eq!((yard.air.degrees(), yard.humidity), (14.5, Humidity::from_percent(62.0).ok()));
}

#[test]
fn the_line_into_a_span_is_known_and_nothing_after_it_is() {
    let shop = Shop::new();
    let mut store = shop.store();
    let line: Vec<_> =
        [-3000, -2000, -1000, 0, 10].map(|minute| reading(minute, f64::from(minute as i32) / 100.0)).into();
    store.log_readings("shop", &line).unwrap();
    assert_eq!(airs(&store, -1500, 5), [-20.0, -10.0, 0.0]);
    assert_eq!(airs(&store, -1000, 0), [-20.0, -10.0, 0.0]);
    assert_eq!(airs(&store, 900, 1000), [0.1]);
    assert_eq!(airs(&store, -9000, -4000), [0.0; 0]);
}

#[test]
fn a_reading_that_a_person_enters_is_among_the_readings_until_it_is_taken_back() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.log_readings("shop", &[reading(0, 14.0), reading(5, 14.5)]).unwrap();
    store.append(at(5), at(6), entered(17.8)).unwrap();
    let latest = store.latest_reading("Shop", at(9)).unwrap().unwrap();
    assert_eq!((latest.at, latest.air.degrees()), (at(5), 17.8), "the person's counts");
    assert_eq!(latest.humidity.map(Humidity::percent), Some(62.0));
    assert_eq!(store.latest_with_humidity("shop", at(0), at(9)).unwrap(), Some(latest));
    assert_eq!(store.latest_with_humidity("shop", at(6), at(9)).unwrap(), None);
    store.void(None, at(7)).unwrap();
    assert_eq!(store.latest_reading("shop", at(9)).unwrap(), Some(reading(5, 14.5)));
    assert_eq!(store.latest_reading("shop", at(4)).unwrap(), Some(reading(0, 14.0)));
    assert_eq!(store.latest_reading("yard", at(9)).unwrap(), None);
}

#[test]
fn an_import_that_is_taken_back_takes_its_readings_along_and_brings_them_back() {
    let shop = Shop::new();
    let (mut store, mut other) = (shop.store(), shop.store());
    store.log_readings("shop", &[reading(-30, 10.0)]).unwrap();
    let log = || (-20..0).map(|minute| ("shop", reading(minute, 15.0)));
    let first = store.import(at(0), "log.csv", log()).unwrap();
    assert_eq!((first.entry, first.taken, first.already_there), (Some(EntryId(1)), 20, 0));
    let kind = EntryKind::Import { file: "log.csv".into(), readings: 20 };
    assert_eq!(store.entries().unwrap()[0].kind, kind);
    assert_eq!(airs(&store, -60, 0).len(), 21);

    other.void(None, at(1)).unwrap();
    assert_eq!(airs(&store, -60, 0), [10.0], "another process took it back");
    other.void(Some(EntryId(2)), at(2)).unwrap();
    assert_eq!(airs(&store, -60, 0).len(), 21);

    let again = store.import(at(3), "log.csv", log()).unwrap();
    assert_eq!((again.entry, again.taken, again.already_there), (None, 0, 20));
    assert_eq!(store.entries().unwrap().len(), 3, "nothing new, no entry");
    store.void(Some(EntryId(1)), at(4)).unwrap();
    let anew = store.import(at(5), "log.csv", log()).unwrap();
    assert_eq!((anew.taken, airs(&store, -60, 0).len()), (20, 21), "what was taken back is no longer there");
}

#[test]
fn a_later_import_corrects_an_earlier_one() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.import(at(0), "a.csv", [("shop", reading(-2, 15.0)), ("yard", reading(-1, 5.0))]).unwrap();
    let corrected =
        store.import(at(0), "b.csv", [("shop", reading(-2, 16.0)), ("yard", reading(-1, 5.0))]).unwrap();
    assert_eq!((corrected.taken, corrected.already_there), (1, 1));
    assert_eq!(airs(&store, -9, 0), [15.0, 16.0]);
    assert_eq!(store.latest_reading("shop", at(0)).unwrap(), Some(reading(-2, 16.0)));
    assert_eq!(store.places_with_readings().unwrap(), ["shop", "yard"]);
    store.void(Some(EntryId(1)), at(1)).unwrap();
    assert_eq!(store.places_with_readings().unwrap(), ["shop"]);
}

#[derive(Debug, Clone)]
enum Deed {
    Log(Vec<Row>),
    Import(Vec<Row>),
    Enter(Row),
    Void(i64),
}

/// Place, second, and the figures, from so few that they often meet.
type Row = (usize, i64, i32, Option<u8>, Option<i32>);

const PLACES: [&str; 2] = ["shop", "yard"];

fn row() -> impl Strategy<Value = Row> {
    let second = (-3i64..=3, prop_oneof![Just(0i64), Just(14_399), -3i64..3, 0i64..14_400]);
    let second = second.prop_map(|(block, second)| block * 14_400 + second);
    (0..2usize, second, 0..3i32, prop::option::of(0..2u8), prop::option::of(0..2i32))
}

fn deed() -> impl Strategy<Value = Deed> {
    let rows = || prop::collection::vec(row(), 0..20);
    prop_oneof![
        rows().prop_map(Deed::Log),
        rows().prop_map(Deed::Import),
        row().prop_map(Deed::Enter),
        (1..8i64).prop_map(Deed::Void),
    ]
}

fn moment(second: i64) -> Moment {
    DateTime::from_timestamp(second, 0).unwrap()
}

fn as_reading(row: Row) -> Reading {
    Reading {
        at: moment(row.1),
        air: Celsius::new(f64::from(row.2) + 17.3),
        humidity: row.3.map(|h| Humidity::from_percent(f64::from(h) + 61.0).unwrap()),
        surface: row.4.map(|s| Celsius::new(f64::from(s) - 3.1)),
    }
}

/// The same without blocks, bytes and SQL.
#[derive(Default)]
struct Plain {
    rows: Vec<(Row, i64)>,
    /// What every entry voids, where it is a void.
    entries: Vec<Option<i64>>,
}

impl Plain {
    fn counts(&self, origin: i64) -> bool {
        let voids = self.entries.iter().zip(1i64..).filter(|(target, _)| **target == Some(origin));
        origin == 0 || !voids.into_iter().any(|(_, void)| self.counts(void))
    }

    fn take(&mut self, row: Row, origin: i64, always: bool) -> u64 {
        let said = self.rows.iter().any(|(stored, from)| *stored == row && self.counts(*from));
        if !said || always {
            self.rows.push((row, origin));
        }
        u64::from(!said)
    }

    fn readings(&self, place: usize, from: i64, to: i64) -> Vec<Reading> {
        let mut rows: Vec<_> =
            self.rows.iter().filter(|(row, origin)| row.0 == place && self.counts(*origin)).collect();
        rows.sort_by_key(|(row, origin)| (row.1, *origin));
        let before = rows.iter().rfind(|(row, _)| row.1 < from && row.1 <= to);
        let inside = rows.iter().filter(|(row, _)| (from..=to).contains(&row.1));
        before.into_iter().chain(inside).map(|(row, _)| as_reading(*row)).collect()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn packed_readings_are_those_that_a_plain_list_would_hold(
        deeds in prop::collection::vec(deed(), 1..8),
        spans in prop::collection::vec((0..2usize, row(), row()), 6),
    ) {
        let shop = Shop::new();
        let mut store = shop.store();
        let mut plain = Plain::default();
        let now = moment(1_000_000);
        for deed in deeds {
            match deed {
                Deed::Log(rows) => {
                    for (place, name) in PLACES.iter().enumerate() {
                        let mine: Vec<Row> = rows.iter().copied().filter(|row| row.0 == place).collect();
                        let readings: Vec<Reading> = mine.iter().map(|row| as_reading(*row)).collect();
                        let new = store.log_readings(name, &readings).unwrap();
                        prop_assert_eq!(new, mine.iter().map(|row| plain.take(*row, 0, false)).sum::<u64>());
                    }
                }
                Deed::Import(rows) => {
                    let origin = plain.entries.len() as i64 + 1;
                    let readings = rows.iter().map(|row| (PLACES[row.0], as_reading(*row)));
                    let imported = store.import(now, "log.csv", readings).unwrap();
                    let taken: u64 = rows.iter().map(|row| plain.take(*row, origin, false)).sum();
                    prop_assert_eq!(imported.taken, taken);
                    prop_assert_eq!(imported.taken + imported.already_there, rows.len() as u64);
                    plain.entries.extend((taken > 0).then_some(None));
                }
                Deed::Enter(row) => {
                    let reading = as_reading(row);
                    let kind = EntryKind::Reading {
                        place: PLACES[row.0].into(),
                        air: reading.air,
                        humidity_percent: row.3.map(|h| f64::from(h) + 61.0),
                        surface: reading.surface,
                    };
                    store.append(reading.at, now, kind).unwrap();
                    plain.entries.push(None);
                    plain.take(row, plain.entries.len() as i64, true);
                }
                Deed::Void(id) => {
                    let there = id <= plain.entries.len() as i64 && plain.counts(id);
                    prop_assert_eq!(store.void(Some(EntryId(id)), now).is_ok(), there);
                    plain.entries.extend(there.then_some(Some(id)));
                }
            }
        }
        for (place, from, to) in spans {
            let expected = plain.readings(place, from.1, to.1);
            prop_assert_eq!(store.readings(PLACES[place], moment(from.1), moment(to.1)).unwrap(), expected);
            let latest = plain.readings(place, to.1 + 1, to.1 + 1);
            let latest = latest.first().filter(|reading| reading.at <= moment(to.1)).copied();
            prop_assert_eq!(store.latest_reading(PLACES[place], moment(to.1)).unwrap(), latest);
        }
        let all = store.readings("shop", Moment::MIN_UTC, Moment::MAX_UTC).unwrap();
        prop_assert_eq!(all, plain.readings(0, i64::MIN, i64::MAX));
    }
}
