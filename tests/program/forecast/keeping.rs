//! The outdoor hours in the job: what is coming, and what has been.

use std::path::PathBuf;

use chrono::TimeDelta;
use curewright::engine::air::{FetchState, Origin, OutdoorHour, Provenance};
use curewright::engine::job::EntryKind;
use curewright::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, Moment};
use curewright::io::store::{Store, StoreError};
use rusqlite::Connection;
use tempfile::TempDir;

fn at(hours: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::hours(hours)
}

fn hour(at_hour: i64, air: f64) -> OutdoorHour {
    OutdoorHour { at: at(at_hour), air: Celsius::new(air), humidity: None, rain: None, wind: None }
}

fn hours(from: i64, to: i64, air: f64) -> Vec<OutdoorHour> {
    (from..=to).map(|at_hour| hour(at_hour, air)).collect()
}

fn file(name: &str) -> Provenance {
    Provenance { origin: Origin::File(name.into()), made: None, met_norway: false }
}

fn service() -> Provenance {
    Provenance { origin: Origin::Service("example.org".into()), made: Some(at(-1)), met_norway: true }
}

fn state() -> FetchState {
    FetchState {
        url: "https://example.org/compact?lat=60&lon=10".into(),
        fetched: Some(at(0)),
        expires: Some(at(1)),
        last_modified: Some("Tue, 16 Jun 2020 12:13:49 GMT".into()),
        etag: Some("\"a-1\"".into()),
        tried: Some(at(0)),
        held_until: Some(at(2)),
        failures: 3,
        error: Some("it was busy".into()),
    }
}

struct Hut {
    path: PathBuf,
    _folder: TempDir,
}

impl Hut {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self { path: folder.path().join("hut.job"), _folder: folder }
    }

    fn store(&self) -> Store {
        Store::open(&self.path).unwrap()
    }
}

fn airs(store: &Store, from: i64, to: i64) -> Vec<f64> {
    store.outdoor(at(from), at(to)).unwrap().iter().map(|hour| hour.air.degrees()).collect()
}

#[test]
fn an_hour_is_kept_with_all_that_is_known_of_it() {
    let hut = Hut::new();
    let full = OutdoorHour {
        humidity: Some(Humidity::from_fraction(0.781)),
        rain: Some(Millimetres::new(0.4)),
        wind: Some(MetresPerSecond::new(2.5)),
        ..hour(0, 12.25)
    };
    let all = [full, hour(1, -3.5)];
    assert_eq!(hut.store().store_forecast(at(0), &all, &file("may.csv"), None).unwrap(), 2);
    assert_eq!(hut.store().outdoor(at(0), at(9)).unwrap(), all);
}

#[test]
fn a_span_comes_with_the_hour_before_it() {
    let hut = Hut::new();
    let mut store = hut.store();
    let all: Vec<_> = (0..10).map(|at_hour| hour(at_hour, at_hour as f64)).collect();
    store.store_forecast(at(0), &all, &file("may.csv"), None).unwrap();
    assert_eq!(airs(&store, 3, 5), [2.0, 3.0, 4.0, 5.0]);
    assert_eq!(airs(&store, -5, 1), [0.0, 1.0]);
    assert_eq!(airs(&store, 50, 60), [9.0]);
    assert_eq!(airs(&store, -9, -5), [0.0; 0]);
    let half = store.outdoor(at(3) + TimeDelta::minutes(30), at(4)).unwrap();
    assert_eq!(half.len(), 2);
}

#[test]
fn a_newer_forecast_counts_from_its_first_hour_and_what_has_passed_stays() {
    let hut = Hut::new();
    let mut store = hut.store();
    store.store_forecast(at(0), &hours(0, 9, 10.0), &file("old.csv"), None).unwrap();
    store.store_forecast(at(3), &hours(3, 5, 20.0), &file("new.csv"), None).unwrap();
    assert_eq!(airs(&store, 0, 99), [10.0, 10.0, 10.0, 20.0, 20.0, 20.0], "the old one ends with the new");
    let kept = store.forecast().unwrap().unwrap();
    assert_eq!(kept.provenance, file("new.csv"));
    assert_eq!((kept.taken, kept.from, kept.to), (at(3), at(3), at(5)));
    assert_eq!(store.forecast_at().unwrap(), Some(at(3)));
    // What lies before it in time is still told from the newest.
    store.store_forecast(at(3), &hours(7, 8, 30.0), &file("later.csv"), None).unwrap();
    assert_eq!(airs(&store, 4, 99), [20.0, 20.0, 20.0, 30.0, 30.0]);
}

#[test]
fn a_later_forecast_was_not_known_yet() {
    let hut = Hut::new();
    let mut store = hut.store();
    store.store_forecast(at(0), &hours(0, 9, 10.0), &file("old.csv"), None).unwrap();
    store.store_forecast(at(3), &hours(5, 12, 20.0), &file("new.csv"), None).unwrap();
    let known = |hour| -> Vec<f64> {
        let known = store.outdoor_as_of(at(0), at(99), Some(at(hour))).unwrap();
        known.iter().map(|hour| hour.air.degrees()).collect()
    };
    assert_eq!(known(1), [10.0; 5], "of what the old one said of later hours the new one left nothing");
    assert_eq!(known(3), airs(&store, 0, 99));
    assert_eq!(known(-1), [0.0; 0]);
}

#[test]
fn a_record_of_the_past_does_not_take_the_future_away() {
    let hut = Hut::new();
    let mut store = hut.store();
    store.store_forecast(at(0), &hours(0, 3, 10.0), &file("forecast.csv"), None).unwrap();
    store.store_forecast(at(2), &hours(-2, 1, 5.0), &file("record.csv"), None).unwrap();
    assert_eq!(airs(&store, -2, 9), [5.0, 5.0, 5.0, 5.0, 10.0, 10.0]);
    assert_eq!(store.forecast().unwrap().unwrap().provenance, file("forecast.csv"));
}

#[test]
fn nothing_is_kept_of_a_forecast_with_a_figure_that_is_none() {
    let hut = Hut::new();
    let mut store = hut.store();
    store.store_forecast(at(0), &hours(0, 3, 10.0), &file("good.csv"), None).unwrap();
    for wrong in [
        hour(1, f64::NAN),
        hour(1, 99.0),
        OutdoorHour { humidity: Some(Humidity::from_fraction(1.01)), ..hour(1, 9.0) },
        OutdoorHour { rain: Some(Millimetres::new(-1.0)), ..hour(1, 9.0) },
        OutdoorHour { wind: Some(MetresPerSecond::new(f64::INFINITY)), ..hour(1, 9.0) },
    ] {
        let refused = store.store_forecast(at(1), &[hour(0, 9.0), wrong], &file("bad.csv"), None);
        assert!(matches!(refused, Err(StoreError::Unwritable { .. })), "{refused:?}");
    }
    assert_eq!(airs(&store, 0, 9), [10.0; 4]);
    assert_eq!(store.store_forecast(at(1), &[], &file("empty.csv"), None).unwrap(), 0);
    assert_eq!(airs(&store, 0, 9), [10.0; 4]);
}

#[test]
fn what_is_remembered_of_a_fetch_comes_back_as_it_was() {
    let hut = Hut::new();
    assert_eq!(hut.store().fetch_state().unwrap(), FetchState::default());
    hut.store().store_forecast(at(0), &hours(0, 9, 10.0), &service(), Some(&state())).unwrap();
    assert_eq!(hut.store().fetch_state().unwrap(), state());
    let failed = FetchState { failures: 4, error: None, etag: None, ..state() };
    hut.store().note_fetch(&failed, None).unwrap();
    assert_eq!(hut.store().fetch_state().unwrap(), failed);
    let kept = hut.store().forecast().unwrap().unwrap();
    assert_eq!((kept.provenance, kept.taken), (service(), at(0)));
    hut.store().note_fetch(&state(), Some(at(1))).unwrap();
    let kept = hut.store().forecast().unwrap().unwrap();
    assert_eq!((kept.taken, kept.age(at(2))), (at(1), TimeDelta::hours(3)), "it was made an hour before");
    assert_eq!(hut.store().forecast_at().unwrap(), Some(at(-1)));
}

#[test]
fn after_another_file_the_service_has_to_send_its_forecast_again() {
    let hut = Hut::new();
    let mut store = hut.store();
    store.store_forecast(at(0), &hours(0, 9, 10.0), &service(), Some(&state())).unwrap();
    store.store_forecast(at(1), &hours(1, 9, 20.0), &file("may.csv"), None).unwrap();
    let left = store.fetch_state().unwrap();
    assert_eq!((left.last_modified, left.etag), (None, None));
    assert_eq!(left.expires, Some(at(1)), "but it is not asked sooner for that");
}

/// A job as the first version of the program made it.
fn job_of_version_1(hut: &Hut) {
    let first = include_str!("../../../src/io/store/migrations/1.sql");
    let connection = Connection::open(&hut.path).unwrap();
    connection.execute_batch(first).unwrap();
    connection.pragma_update(None, "application_id", i32::from_be_bytes(*b"CuRe")).unwrap();
    connection.pragma_update(None, "user_version", 1).unwrap();
    let sanded = r#"{"what":"step","area":"roof","step":"sand","minutes":null}"#;
    connection.execute("INSERT INTO entry (at, recorded, body) VALUES (0, 0, ?)", [sanded]).unwrap();
}

fn version(hut: &Hut) -> i64 {
    let connection = Connection::open(&hut.path).unwrap();
    connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
}

#[test]
fn a_job_of_the_first_version_opens_and_takes_a_forecast() {
    let hut = Hut::new();
    job_of_version_1(&hut);
    let mut store = hut.store();
    assert_eq!(store.entries().unwrap().len(), 1);
    assert!(matches!(store.entries().unwrap()[0].kind, EntryKind::Step { .. }));
    assert_eq!((store.outdoor(at(0), at(9)).unwrap(), store.forecast().unwrap()), (vec![], None));
    store.store_forecast(at(0), &hours(0, 3, 10.0), &file("may.csv"), None).unwrap();
    drop(store);
    assert_eq!(version(&hut), 5);
    assert_eq!(airs(&hut.store(), 0, 9), [10.0; 4]);
}

#[test]
fn a_job_of_the_first_version_can_be_looked_at() {
    let hut = Hut::new();
    job_of_version_1(&hut);
    let store = Store::open_to_read(&hut.path).unwrap().unwrap();
    assert_eq!((store.entries().unwrap().len(), store.forecast().unwrap()), (1, None));
}

#[test]
fn a_job_of_the_first_version_can_be_looked_at_even_where_it_cannot_be_written() {
    use std::fs::{self, Permissions};
    use std::os::unix::fs::PermissionsExt;
    let hut = Hut::new();
    job_of_version_1(&hut);
    let folder = hut.path.parent().unwrap().to_owned();
    let allow =
        |path: &std::path::Path, mode| fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
    allow(&hut.path, 0o400);
    allow(&folder, 0o500);
    // Whoever may do everything is not held up by rights; then there is nothing to see here.
    let minds_rights = fs::write(folder.join("probe"), "").is_err();
    let read = Store::open_to_read(&hut.path).map(|store| {
        let store = store.unwrap();
        (store.entries().unwrap().len(), store.outdoor(at(0), at(9)).unwrap())
    });
    allow(&folder, 0o700);
    assert_eq!(read.unwrap(), (1, vec![]));
    if minds_rights {
        assert_eq!(version(&hut), 1);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
    }
}
