//! The job's file, as the commands and the board use it: alone, and several at once.

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;

use chrono::{DateTime, TimeDelta};
use curewright::alert::{AlertKind, NewAlert, Told};
use curewright::cure::Reading;
use curewright::job::{EntryId, EntryKind, Refusal, StepKind};
use curewright::store::{Store, StoreError};
use curewright::units::{Celsius, Humidity, Moment};
use proptest::prelude::*;
use tempfile::TempDir;

fn at(minutes: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::minutes(minutes)
}

fn reading(minutes: i64, air: f64) -> Reading {
    Reading { at: at(minutes), air: Celsius::new(air), humidity: None, surface: None }
}

fn sanded(area: &str) -> EntryKind {
    EntryKind::Step { area: area.into(), step: StepKind::Sand, minutes: Some(40) }
}

fn coat(area: &str) -> EntryKind {
    EntryKind::Coat { area: area.into(), product: "epoxy-sealer".into(), next: None, finished: false }
}

fn entered(air: f64) -> EntryKind {
    let air = Celsius::new(air);
    EntryKind::Reading { place: "shop".into(), air, humidity_percent: Some(62.0), surface: None }
}

struct Shop {
    folder: TempDir,
    path: PathBuf,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("hut.job");
        Self { folder, path }
    }

    fn store(&self) -> Store {
        Store::open(&self.path).unwrap()
    }

    /// Whether rights are minded at all: root may do everything.
    fn minds_rights(&self) -> bool {
        let locked = self.folder.path().join("locked");
        fs::create_dir(&locked).unwrap();
        allow(&locked, 0o500);
        fs::write(locked.join("x"), "").is_err()
    }
}

fn allow(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

fn mode(path: &Path) -> u32 {
    fs::metadata(path).unwrap().permissions().mode() & 0o777
}

fn airs(store: &Store, from: i64, to: i64) -> Vec<f64> {
    let readings = store.readings("shop", at(from), at(to)).unwrap();
    readings.iter().map(|reading| reading.air.degrees()).collect()
}

#[test]
fn what_was_entered_is_there_when_the_job_is_opened_again() {
    let shop = Shop::new();
    assert!(Store::open_to_read(&shop.path).unwrap().is_none());
    assert!(!shop.path.exists(), "a look makes no job");
    let mut store = shop.store();
    assert_eq!(store.append(at(-5), at(0), coat("roof")).unwrap(), EntryId(1));
    assert_eq!(store.append(at(1), at(1), EntryKind::Finished { area: "roof".into() }).unwrap(), EntryId(2));
    drop(store);
    for store in [shop.store(), Store::open_to_read(&shop.path).unwrap().unwrap()] {
        let entries = store.entries().unwrap();
        assert_eq!(entries.len(), 2);
        assert_eq!((entries[0].at, entries[0].recorded, &entries[0].kind), (at(-5), at(0), &coat("roof")));
    }
}

#[test]
fn an_entry_that_the_record_does_not_admit_is_not_written() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.append(at(0), at(0), coat("roof")).unwrap();
    let twice = store.append(at(1), at(1), coat("roof"));
    assert!(matches!(twice, Err(StoreError::Refused(Refusal::StillCoating { .. }))), "{twice:?}");
    let ahead = store.append(at(9), at(1), sanded("door"));
    assert!(matches!(ahead, Err(StoreError::Refused(Refusal::Future))), "{ahead:?}");
    let nonsense = store.append(at(1), at(1), entered(f64::NAN));
    assert!(matches!(nonsense, Err(StoreError::Unwritable { .. })), "{nonsense:?}");
    assert_eq!(store.entries().unwrap().len(), 1);
    assert_eq!(store.latest_reading("shop", at(9)).unwrap(), None);
}

#[test]
fn undo_takes_back_the_newest_entry_that_counts() {
    let shop = Shop::new();
    let mut store = shop.store();
    let nothing = store.void(None, at(0));
    assert!(matches!(nothing, Err(StoreError::Refused(Refusal::NothingToTakeBack))), "{nothing:?}");
    store.append(at(0), at(0), coat("roof")).unwrap();
    store.append(at(1), at(1), sanded("door")).unwrap();
    assert_eq!(store.void(None, at(2)).unwrap().id, EntryId(2));
    assert_eq!(store.void(None, at(3)).unwrap().kind, coat("roof"));
    assert!(store.void(None, at(4)).is_err());
    assert_eq!(store.void(Some(EntryId(4)), at(5)).unwrap().id, EntryId(4), "the void of the coat");
    let again = store.append(at(6), at(6), coat("roof"));
    assert!(again.is_err(), "the coat counts again, and is not finished");
    for id in [2, 99] {
        let gone = store.void(Some(EntryId(id)), at(7));
        assert!(matches!(gone, Err(StoreError::Refused(Refusal::NoSuchEntry(EntryId(n)))) if n == id));
    }
}

#[test]
fn two_who_write_at_once_both_have_all_of_it_written() {
    let shop = Shop::new();
    let writers: Vec<_> = ["roof", "door"]
        .map(|area| {
            let path = shop.path.clone();
            thread::spawn(move || {
                // Both make the job, too.
                let mut store = Store::open(&path).unwrap();
                for _ in 0..200 {
                    store.append(at(0), at(0), sanded(area)).unwrap();
                }
            })
        })
        .into();
    writers.into_iter().for_each(|writer| writer.join().unwrap());
    let entries = shop.store().entries().unwrap();
    assert_eq!(entries.iter().filter(|entry| entry.kind == sanded("roof")).count(), 200);
    assert_eq!(entries.iter().map(|entry| entry.id.0).collect::<Vec<_>>(), (1..=400).collect::<Vec<_>>());
}

#[test]
fn two_who_begin_the_same_coat_at_once_begin_it_once() {
    for _ in 0..20 {
        let shop = Shop::new();
        let begin = |path: PathBuf| move || Store::open(&path).unwrap().append(at(0), at(0), coat("roof"));
        let hands: Vec<_> = (0..6).map(|_| thread::spawn(begin(shop.path.clone()))).collect();
        let begun = hands.into_iter().map(|hand| hand.join().unwrap());
        let (done, refused): (Vec<_>, Vec<_>) = begun.partition(Result::is_ok);
        assert_eq!(done.len(), 1);
        let still = |refused: &Result<_, _>| {
            matches!(refused, Err(StoreError::Refused(Refusal::StillCoating { .. })))
        };
        assert!(refused.iter().all(still), "{refused:?}");
    }
}

#[test]
#[ignore = "the other half of the test below, in a process of its own"]
#[expect(clippy::disallowed_methods, reason = "this test is a program, and is told its job")]
fn one_who_writes_until_it_is_killed() {
    let Some(path) = std::env::var_os("CUREWRIGHT_TEST_JOB") else { return };
    let mut store = Store::open(Path::new(&path)).unwrap();
    for round in 1.. {
        let readings = (0..500).map(|minute| ("shop", reading(minute - round * 500, 15.0)));
        store.import(at(0), "log.csv", readings).unwrap();
        let id = store.append(at(0), at(0), sanded("roof")).unwrap();
        println!("acknowledged {id}");
    }
}

#[test]
fn what_was_acknowledged_survives_a_kill() {
    for round in 0..3 {
        let shop = Shop::new();
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["one_who_writes_until_it_is_killed", "--exact", "--ignored", "--nocapture"])
            .env("CUREWRIGHT_TEST_JOB", &shop.path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let mut said =
            lines.by_ref().filter_map(|line| line.split_once("acknowledged ")?.1.parse::<i64>().ok());
        let some = said.by_ref().nth(5 + round * 7).unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        let last = said.last().unwrap_or(some);
        let mut store = shop.store();
        let ids: BTreeSet<i64> = store.entries().unwrap().iter().map(|entry| entry.id.0).collect();
        assert!((1..=last).all(|id| ids.contains(&id)), "{last} was acknowledged, {ids:?} are there");
        let readings = store.readings("shop", Moment::MIN_UTC, at(0)).unwrap().len();
        assert!(
            readings.is_multiple_of(500) && readings as i64 >= last / 2 * 500,
            "{readings} readings, {last} entries"
        );
        store.append(at(1), at(1), sanded("roof")).unwrap();
    }
}

#[test]
fn a_job_is_private_and_so_is_what_lies_beside_it() {
    let shop = Shop::new();
    let path = shop.folder.path().join("jobs/2026/hut.job");
    let mut store = Store::open(&path).unwrap();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    for name in ["jobs/2026/hut.job", "jobs/2026/hut.job-wal", "jobs/2026/hut.job-shm"] {
        assert_eq!(mode(&shop.folder.path().join(name)), 0o600, "{name}");
    }
    for name in ["jobs", "jobs/2026"] {
        assert_eq!(mode(&shop.folder.path().join(name)), 0o700, "{name}");
    }
}

#[test]
fn an_empty_file_becomes_a_job_when_it_is_written() {
    let shop = Shop::new();
    fs::write(&shop.path, "").unwrap();
    assert!(Store::open_to_read(&shop.path).unwrap().is_none());
    shop.store().append(at(0), at(0), sanded("roof")).unwrap();
    assert_eq!(Store::open_to_read(&shop.path).unwrap().unwrap().entries().unwrap().len(), 1);
}

#[test]
fn a_file_that_is_no_job_is_left_alone() {
    let shop = Shop::new();
    let database = shop.folder.path().join("other.sqlite");
    rusqlite::Connection::open(&database).unwrap().execute_batch("CREATE TABLE recipe (cake TEXT)").unwrap();
    fs::write(&shop.path, "a letter, and no job at all ".repeat(200)).unwrap();
    for path in [&database, &shop.path] {
        let before = fs::read(path).unwrap();
        for refused in [Store::open(path).map(Some), Store::open_to_read(path)] {
            let refused = refused.unwrap_err();
            assert!(matches!(refused, StoreError::NotAJob { .. }), "{refused:?}");
            assert!(refused.to_string().contains("is not a job; choose another file with --job"));
        }
        assert_eq!(fs::read(path).unwrap(), before);
    }
    let folder = Store::open(shop.folder.path());
    assert!(matches!(folder, Err(StoreError::CannotOpen { .. })), "{folder:?}");
    assert!(matches!(Store::open(Path::new("")), Err(StoreError::CannotOpen { .. })));
    assert!(matches!(Store::open(&shop.path.join("hut.job")), Err(StoreError::CannotOpen { .. })));
}

#[test]
fn a_job_of_a_newer_version_is_left_alone() {
    let shop = Shop::new();
    drop(shop.store());
    rusqlite::Connection::open(&shop.path).unwrap().pragma_update(None, "user_version", 7).unwrap();
    let before = fs::read(&shop.path).unwrap();
    for refused in [Store::open(&shop.path).map(Some), Store::open_to_read(&shop.path)] {
        let refused = refused.unwrap_err();
        assert!(matches!(refused, StoreError::NewerVersion { found: 7, known: 1, .. }), "{refused:?}");
        assert!(refused.to_string().contains("update curewright"), "{refused}");
    }
    assert_eq!(fs::read(&shop.path).unwrap(), before);
}

#[test]
fn a_path_cannot_drive_the_terminal() {
    let shop = Shop::new();
    let path = shop.folder.path().join("hut\u{1b}[2J.job");
    fs::write(&path, "no job ".repeat(200)).unwrap();
    assert!(!Store::open(&path).unwrap_err().to_string().contains('\u{1b}'));
}

#[test]
fn a_job_that_cannot_be_written_can_still_be_read() {
    let shop = Shop::new();
    shop.store().append(at(0), at(0), sanded("roof")).unwrap();
    if !shop.minds_rights() {
        return;
    }
    for (file, folder) in [(0o400, 0o700), (0o600, 0o500), (0o400, 0o500)] {
        allow(&shop.path, file);
        allow(shop.folder.path(), folder);
        let read = Store::open_to_read(&shop.path).map(|store| store.unwrap().entries().unwrap().len());
        let write = Store::open(&shop.path).and_then(|mut store| store.append(at(1), at(1), sanded("roof")));
        allow(shop.folder.path(), 0o700);
        assert_eq!(read.unwrap(), 1, "{file:o} in {folder:o}");
        assert!(matches!(write, Err(StoreError::ReadOnly { .. })), "{file:o} in {folder:o}: {write:?}");
    }
    allow(&shop.path, 0o000);
    let shut = Store::open_to_read(&shop.path);
    assert!(matches!(shut, Err(StoreError::CannotOpen { .. })), "{shut:?}");
    allow(shop.folder.path(), 0o500);
    let new = Store::open(&shop.folder.path().join("new.job"));
    allow(shop.folder.path(), 0o700);
    assert!(matches!(new, Err(StoreError::ReadOnly { .. })), "{new:?}");
}

#[test]
fn one_who_only_reads_cannot_write_and_leaves_nothing_behind() {
    let shop = Shop::new();
    shop.store().append(at(0), at(0), sanded("roof")).unwrap();
    let mut reader = Store::open_to_read(&shop.path).unwrap().unwrap();
    let refused = reader.append(at(1), at(1), sanded("roof"));
    assert!(matches!(refused, Err(StoreError::ReadOnly { .. })), "{refused:?}");
    drop(reader);
    let left: Vec<_> =
        fs::read_dir(shop.folder.path()).unwrap().map(|file| file.unwrap().file_name()).collect();
    assert_eq!(left, ["hut.job"]);
}

#[test]
fn it_is_noticed_when_another_process_has_written() {
    let shop = Shop::new();
    let (mine, mut other) = (shop.store(), shop.store());
    let before = mine.version().unwrap();
    assert_eq!(mine.version().unwrap(), before);
    other.append(at(0), at(0), sanded("roof")).unwrap();
    assert_ne!(mine.version().unwrap(), before);
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

fn alert(round: u32) -> NewAlert {
    NewAlert {
        kind: AlertKind::RecoatClose,
        subject: "4".into(),
        round,
        area: Some("roof".into()),
        due: at(0),
        text: "Roof: the window closes at 21:10".into(),
    }
}

#[test]
fn an_alert_is_raised_by_one_and_told_again_by_one() {
    let shop = Shop::new();
    let (mut mine, mut other) = (shop.store(), shop.store());
    let raised = mine.raise(&alert(0), at(1)).unwrap().unwrap();
    assert_eq!(other.raise(&alert(0), at(2)).unwrap(), None);
    assert!(other.raise(&alert(1), at(2)).unwrap().is_some());
    assert_eq!(other.alerts().unwrap()[0], raised);
    assert_eq!((raised.due, raised.raised, raised.told, raised.acknowledged), (at(0), at(1), at(1), None));

    assert!(mine.tell_again(raised.id, at(1), at(5)).unwrap());
    assert!(!other.tell_again(raised.id, at(1), at(5)).unwrap(), "it was told just now");
    assert_eq!(other.acknowledge(Some(raised.id), at(6)).unwrap(), 1);
    assert_eq!(other.acknowledge(Some(raised.id), at(7)).unwrap(), 0);
    assert!(!mine.tell_again(raised.id, at(5), at(9)).unwrap(), "the person has seen it");
    assert_eq!(mine.acknowledge(None, at(9)).unwrap(), 1);
    let seen: Vec<_> = mine.alerts().unwrap().iter().map(|alert| alert.acknowledged).collect();
    assert_eq!(seen, [Some(at(6)), Some(at(9))]);
}

#[test]
fn a_window_that_moved_is_told_by_one() {
    let shop = Shop::new();
    let (mut mine, mut other) = (shop.store(), shop.store());
    let id = mine.append(at(0), at(0), coat("roof")).unwrap();
    let told = |minutes| Told { coat: id, open: Some(at(minutes) + TimeDelta::milliseconds(7)), close: None };
    assert_eq!(mine.told(id).unwrap(), None);
    assert!(mine.tell(None, told(1)).unwrap());
    assert!(!other.tell(None, told(1)).unwrap());
    assert!(other.tell(Some(told(1)), told(2)).unwrap());
    assert!(!mine.tell(Some(told(1)), told(3)).unwrap());
    assert_eq!(mine.told(id).unwrap(), Some(Told { coat: id, open: Some(at(2)), close: None }));
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
