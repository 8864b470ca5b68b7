//! The job's file, as the commands and the board use it: alone, and several at once.

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;

use chrono::TimeDelta;
use curewright::engine::cure::Reading;
use curewright::engine::job::{AlertKind, Channel, Delivery, NewAlert, Raising, ReportedWindow};
use curewright::engine::job::{EntryId, EntryKind, Refusal, StepKind};
use curewright::engine::units::{Celsius, Moment};
use curewright::io::store::{Displaced, Store, StoreError};
use tempfile::TempDir;

fn at(minutes: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::minutes(minutes)
}

fn reading(minutes: i64, air: f64) -> Reading {
    Reading { at: at(minutes), air: Celsius::new(air), humidity: None, surface: None }
}

fn sanded(area: &str) -> EntryKind {
    EntryKind::step(area, StepKind::Sand, Some(40))
}

fn coat(area: &str) -> EntryKind {
    EntryKind::Coat {
        area: area.into(),
        product: "epoxy-sealer".into(),
        next: None,
        finished: false,
        batch: None,
        why: None,
    }
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
    assert!(matches!(nonsense, Err(StoreError::Improper(_))), "{nonsense:?}");
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
    let gone = store.void(Some(EntryId(99)), at(7));
    assert!(matches!(gone, Err(StoreError::Refused(Refusal::NoSuchEntry(EntryId(99))))), "{gone:?}");
    let twice = store.void(Some(EntryId(2)), at(7));
    let by = Refusal::TakenBack { entry: EntryId(2), by: EntryId(3) };
    assert!(matches!(&twice, Err(StoreError::Refused(refusal)) if *refusal == by), "{twice:?}");
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
            .args(["store::one_who_writes_until_it_is_killed", "--exact", "--ignored", "--nocapture"])
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
    assert!(matches!(folder, Err(StoreError::NotAJob { .. })), "{folder:?}");
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
        assert!(matches!(refused, StoreError::NewerVersion { found: 7, known: 5, .. }), "{refused:?}");
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

fn raise(store: &mut Store, round: u32, now: Moment) {
    let raising = Raising { raise: vec![alert(round)], ..Raising::default() };
    store.raise(now, |_, _, _| raising).unwrap();
}

#[test]
fn an_alert_is_raised_once_and_seen_once() {
    let shop = Shop::new();
    let (mut mine, mut other) = (shop.store(), shop.store());
    raise(&mut mine, 0, at(1));
    raise(&mut other, 0, at(2));
    raise(&mut other, 1, at(2));
    let alerts = mine.alerts().unwrap();
    assert_eq!(alerts.len(), 2);
    assert_eq!((alerts[0].due, alerts[0].raised, alerts[0].wanted), (at(0), at(1), at(1)));
    let again = |id| Raising { again: vec![id], ..Raising::default() };
    mine.raise(at(5), |alerts, _, _| again(alerts[0].id)).unwrap();
    let repeated = other.alerts().unwrap()[0].clone();
    assert_eq!((repeated.repeat, repeated.raised, repeated.wanted), (1, at(1), at(5)));
    assert_eq!(other.acknowledge(Some(repeated.id), at(6)).unwrap(), 1);
    assert_eq!(other.acknowledge(Some(repeated.id), at(7)).unwrap(), 0);
    mine.raise(at(9), |_, _, _| again(repeated.id)).unwrap();
    assert_eq!(mine.alerts().unwrap()[0].repeat, 1, "the person has seen it");
    assert_eq!(mine.acknowledge(None, at(9)).unwrap(), 1);
    let seen: Vec<_> = mine.alerts().unwrap().iter().map(|alert| alert.acknowledged).collect();
    assert_eq!(seen, [Some(at(6)), Some(at(9))]);
}

#[test]
fn the_second_to_raise_sees_what_the_first_has_raised() {
    let shop = Shop::new();
    let (mut mine, mut other) = (shop.store(), shop.store());
    let id = mine.append(at(0), at(0), coat("roof")).unwrap();
    let window = ReportedWindow { coat: id, open: Some(at(2) + TimeDelta::milliseconds(7)), close: None };
    mine.raise(at(1), |_, _, _| Raising { windows: vec![window], ..Raising::default() }).unwrap();
    raise(&mut mine, 0, at(1));
    let mut saw = (0, Vec::new());
    other
        .raise(at(1), |alerts, windows, _| {
            saw = (alerts.len(), windows.to_vec());
            Raising::default()
        })
        .unwrap();
    assert_eq!(saw, (1, vec![ReportedWindow { coat: id, open: Some(at(2)), close: None }]));
}

#[test]
fn an_alert_is_claimed_by_one_until_it_is_sent_or_the_claim_ends() {
    let shop = Shop::new();
    let (mut mine, mut other) = (shop.store(), shop.store());
    raise(&mut mine, 0, at(1));
    let id = mine.alerts().unwrap()[0].id;
    let claim = |store: &mut Store, minutes: i64| {
        store.claim(Channel::Desktop, &[(id, 0)], &[], at(minutes)).unwrap()
    };
    assert_eq!(claim(&mut mine, 1), [id]);
    assert_eq!(claim(&mut other, 2), [], "it is on its way");
    assert_eq!(other.claim(Channel::Command, &[(id, 0)], &[], at(2)).unwrap(), [id], "another channel");
    mine.renew(Channel::Desktop, id, at(2)).unwrap();
    assert_eq!(claim(&mut other, 3), [], "the claim was renewed");
    assert_eq!(claim(&mut other, 500), [], "whoever claimed it may only sleep");
    assert_eq!(other.open_claims(Channel::Desktop).unwrap(), [(id, 0, at(2))]);
    let mut lapsed =
        |claimed: i64| other.claim(Channel::Desktop, &[(id, 0)], &[(id, at(claimed))], at(5)).unwrap();
    assert_eq!(lapsed(1), [], "it has been renewed since");
    assert_eq!(lapsed(2), [id], "whoever claimed it has died");
    other.release(Channel::Desktop, id, 0).unwrap();
    assert_eq!(claim(&mut mine, 5), [id], "the other one could not send it");
    let sent = Delivery { alert: id, repeat: 0, channel: Channel::Desktop, sent: at(6) };
    mine.record_sent(&[sent]).unwrap();
    assert_eq!(claim(&mut other, 60), [], "it was sent");
    assert_eq!(other.open_deliveries().unwrap(), [sent]);
    assert_eq!(claim(&mut other, 3), [id], "the clock was ahead when it was sent");
}

#[test]
fn an_acknowledged_alert_is_not_claimed() {
    let shop = Shop::new();
    let mut store = shop.store();
    raise(&mut store, 0, at(1));
    let id = store.alerts().unwrap()[0].id;
    assert_eq!(store.claim(Channel::Desktop, &[(id, 1)], &[], at(2)).unwrap(), [], "not repeated yet");
    store.acknowledge(None, at(2)).unwrap();
    assert_eq!(store.claim(Channel::Desktop, &[(id, 0)], &[], at(2)).unwrap(), []);
}

#[test]
fn a_job_that_is_deleted_or_replaced_while_it_is_open_is_noticed() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    assert_eq!(store.displaced(), None);
    fs::remove_file(&shop.path).unwrap();
    assert_eq!(store.displaced(), Some(Displaced::Removed));
    for ending in ["-wal", "-shm"] {
        fs::remove_file(format!("{}{ending}", shop.path.display())).unwrap();
    }
    let other = shop.store();
    assert_eq!(store.displaced(), Some(Displaced::Replaced));
    store.leave();
    assert_eq!(other.displaced(), None);
    assert_eq!(other.entries().unwrap(), []);
}

#[test]
fn what_stood_in_a_deleted_log_is_saved_by_who_still_has_it_open() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    let reader = Store::open_to_read(&shop.path).unwrap().unwrap();
    assert_eq!((store.displaced(), reader.displaced()), (None, None));
    drop(store);
    fs::remove_file(format!("{}-wal", shop.path.display())).unwrap();
    assert_eq!(reader.displaced(), Some(Displaced::LogRemoved));
    reader.leave();
    assert_eq!(shop.store().entries().unwrap().len(), 1);
}

#[test]
fn a_job_of_an_older_version_is_copied_before_it_is_changed() {
    let shop = Shop::new();
    let sql = include_str!("../jobs/version-1.sql");
    let old = rusqlite::Connection::open(&shop.path).unwrap();
    old.execute_batch(sql).unwrap();
    drop(old);
    let entries = shop.store().entries().unwrap();
    let backup = shop.folder.path().join("hut.job.version-1.backup");
    assert_eq!(mode(&backup), 0o600);
    let copy = rusqlite::Connection::open(&backup).unwrap();
    let ask = |query: &str| copy.query_row(query, [], |row| row.get::<_, i64>(0)).unwrap();
    assert_eq!(ask("PRAGMA user_version"), 1);
    assert_eq!(ask("PRAGMA application_id"), i64::from(i32::from_be_bytes(*b"CuRe")));
    assert_eq!(ask("SELECT count(*) FROM entry"), entries.len() as i64);
    let files = |folder: &Path| fs::read_dir(folder).unwrap().count();
    assert_eq!(files(shop.folder.path()), 2, "nothing else is left");
}

#[test]
fn a_corrected_reading_takes_the_place_of_the_old_one() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.append(at(0), at(0), entered(17.0)).unwrap();
    let new = store.correct(EntryId(1), at(-5), at(3), entered(16.0)).unwrap();
    assert_eq!((new.id, new.at, new.recorded), (EntryId(3), at(-5), at(3)));
    let air = |minutes| store.latest_reading("shop", at(minutes)).unwrap().map(|r| (r.at, r.air.degrees()));
    assert_eq!((air(-6), air(9)), (None, Some((at(-5), 16.0))));
    let void = EntryKind::Void { entry: EntryId(1), by: Some(EntryId(3)) };
    assert_eq!(store.entries().unwrap()[1].kind, void);
    assert_eq!(
        store.void(Some(EntryId(2)), at(4)).unwrap().id,
        EntryId(3),
        "the void stands for its correction"
    );
    assert_eq!(store.latest_reading("shop", at(9)).unwrap().map(|r| r.air.degrees()), Some(17.0));
}

#[test]
fn a_correction_is_made_whole_or_not_at_all() {
    let shop = Shop::new();
    let mut store = shop.store();
    store.append(at(0), at(0), coat("roof")).unwrap();
    store.append(at(9), at(9), EntryKind::Finished { area: "roof".into() }).unwrap();
    store.append(at(9), at(9), entered(17.0)).unwrap();
    let refused = [
        store.correct(EntryId(1), at(10), at(20), coat("roof")),
        store.correct(EntryId(1), at(0), at(20), coat("door")),
        store.correct(EntryId(2), at(21), at(20), EntryKind::Finished { area: "roof".into() }),
        store.correct(EntryId(9), at(0), at(20), coat("roof")),
    ];
    for refused in refused {
        assert!(matches!(refused, Err(StoreError::Refused(_))), "{refused:?}");
    }
    let nonsense = store.correct(EntryId(3), at(9), at(20), entered(f64::NAN));
    assert!(matches!(nonsense, Err(StoreError::Improper(_))), "{nonsense:?}");
    assert_eq!(store.entries().unwrap().len(), 3);
    store.correct(EntryId(1), at(-5), at(20), coat("roof")).unwrap();
    let again = store.correct(EntryId(1), at(-6), at(20), coat("roof"));
    let by = Refusal::Corrected { entry: EntryId(1), by: EntryId(5) };
    assert!(matches!(&again, Err(StoreError::Refused(refusal)) if *refusal == by), "{again:?}");
}

#[test]
fn every_tenth_of_a_degree_fahrenheit_can_be_kept() {
    let shop = Shop::new();
    let mut store = shop.store();
    for tenth in (320..1000).step_by(7) {
        let air = Celsius::from_fahrenheit(f64::from(tenth) / 10.0);
        let kind = EntryKind::Reading { place: "shop".into(), air, humidity_percent: None, surface: None };
        store.append(at(0), at(0), kind.clone()).unwrap();
        assert_eq!(store.entries().unwrap().last().map(|entry| entry.kind.clone()), Some(kind), "{tenth}");
    }
}

#[test]
fn years_are_read_by_the_ends_of_their_hours_and_no_line_through_full_hours_is_another() {
    use curewright::engine::air::SeasonalMeans;

    let shop = Shop::new();
    let mut store = shop.store();
    // Every 7 minutes for three weeks, with one entry that is taken back.
    let readings: Vec<_> =
        (0..3 * 7 * 24 * 60 / 7).map(|n| reading(n * 7, 15.0 + (n as f64 * 0.37).sin() * 4.0)).collect();
    store.import(at(40_000), "a.csv", readings.iter().map(|reading| ("shop", *reading))).unwrap();
    let wrong: Vec<_> = (0..400).map(|n| reading(n * 11 + 3, 60.0)).collect();
    store.import(at(40_000), "wrong.csv", wrong.iter().map(|reading| ("shop", *reading))).unwrap();
    store.void(None, at(40_001)).unwrap();
    let (from, to) = (at(-9), at(35_000));
    let thin = store.hourly_readings("shop", from, to).unwrap();
    let whole = store.readings("shop", from, to).unwrap();
    assert!(thin.len() * 4 < whole.len() && thin.is_sorted_by_key(|reading| reading.at));
    let (thin, whole) = (SeasonalMeans::of(&thin), SeasonalMeans::of(&whole));
    assert!(!thin.is_empty());
    assert_eq!(thin, whole);
    assert!(store.hourly_readings("attic", from, to).unwrap().is_empty());
    assert!(store.hourly_readings("shop", at(100_000), at(200_000)).unwrap().is_empty());
}

/// A job with entries and readings, closed, as bytes.
fn small_job() -> (Shop, Vec<u8>) {
    let shop = Shop::new();
    let mut store = shop.store();
    store.append(at(0), at(0), coat("roof")).unwrap();
    store.append(at(9), at(9), EntryKind::Finished { area: "roof".into() }).unwrap();
    let day = (0..1440).step_by(10).map(|minutes| ("shop", reading(minutes, 15.0 + minutes as f64 / 1e3)));
    store.import(at(2000), "log.csv", day).unwrap();
    store.append(at(30), at(2000), entered(17.0)).unwrap();
    drop(store);
    let bytes = std::fs::read(&shop.path).unwrap();
    (shop, bytes)
}

#[test]
fn what_the_disk_has_altered_is_noticed_when_it_is_read() {
    let (shop, bytes) = small_job();
    let read = || {
        let store = Store::open_to_read(&shop.path)?.expect("a job");
        let readings = store.readings("shop", at(-99), at(9999))?;
        Ok::<_, StoreError>((store.entries()?, readings))
    };
    let whole = read().unwrap();
    let mut noticed = 0;
    let mut random = fastrand::Rng::with_seed(7);
    for _ in 0..1500 {
        let mut altered = bytes.clone();
        let (place, bit) = (random.usize(..bytes.len()), random.u8(..8));
        altered[place] ^= 1 << bit;
        fs::write(&shop.path, &altered).unwrap();
        match read() {
            Err(_) => noticed += 1,
            // Most of a small job is room for more.
            Ok(found) => assert!(found == whole, "bit {bit} of byte {place}"),
        }
    }
    assert!(noticed > 100, "{noticed}");
}

#[test]
fn what_is_sound_is_saved_from_a_job_that_is_not() {
    let (shop, mut bytes) = small_job();
    let whole = Store::open_to_read(&shop.path).unwrap().unwrap().whole().unwrap();
    let at = bytes.windows(12).position(|words| words == b"epoxy-sealer").unwrap();
    bytes[at] ^= 1;
    fs::write(&shop.path, &bytes).unwrap();
    let store = Store::open_to_read(&shop.path).unwrap().unwrap();
    let told = store.entries().unwrap_err().to_string();
    assert!(told.contains("is damaged (entry 1 has changed since it was written)"), "{told}");
    let found = store.soundness().unwrap();
    assert_eq!(found.faults, ["entry 1 has changed since it was written"]);
    assert_eq!(found.sound.entries, whole.entries[1..]);
    assert_eq!(found.sound.readings, whole.readings);
    let mut new = Store::open(&shop.folder.path().join("new.job")).unwrap();
    new.import_job(&found.sound).unwrap();
    assert_eq!(new.soundness().unwrap().faults, [""; 0]);
    assert_eq!(new.whole().unwrap(), found.sound);
}

#[test]
fn a_damaged_block_of_readings_takes_no_more_of_them() {
    let (shop, bytes) = small_job();
    // 15.0 °C in thousandths, as the first reading of the log has it.
    let at = bytes.windows(4).position(|four| four == 15_000_i32.to_le_bytes()).unwrap();
    let mut altered = bytes;
    altered[at] ^= 1;
    fs::write(&shop.path, &altered).unwrap();
    let mut store = shop.store();
    let told = store.log_readings("shop", &[reading(1, 15.0)]).unwrap_err().to_string();
    assert!(told.contains("readings of \"shop\" have changed since they were written"), "{told}");
    assert!(store.soundness().unwrap().sound.readings.len() > 100, "the other blocks are sound");
}
