//! Tests that need the inside: a full disk, an unfinished transaction, a damaged file.

use chrono::TimeDelta;
use tempfile::TempDir;

use super::*;
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Humidity};

fn at(minutes: i64) -> Moment {
    let start: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    start + TimeDelta::minutes(minutes)
}

fn reading(minutes: i64, air: f64) -> Reading {
    let humidity = Humidity::from_percent(62.0).ok();
    Reading { at: at(minutes), air: Celsius::new(air), humidity, surface: None }
}

fn sanded(area: &str) -> EntryKind {
    EntryKind::step(area, crate::engine::job::StepKind::Sand, None)
}

fn job() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hut.job");
    (folder, path)
}

#[test]
fn a_full_disk_is_reported_and_leaves_nothing_half_written() {
    let (_folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    let pages: i64 = store.connection.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
    store.connection.pragma_update_and_check(None, "max_page_count", pages + 4, |_| Ok(())).unwrap();

    let year = (0..525_600).map(|minute| ("shop", reading(minute - 525_600, 15.0)));
    let full = store.import(at(1), "year.csv", year);
    assert!(matches!(full, Err(StoreError::DiskFull { .. })), "{full:?}");
    let long = EntryKind::Scheme { text: "x".repeat(1_000_000) };
    assert!(matches!(store.append(at(1), at(1), long), Err(StoreError::DiskFull { .. })));

    for store in [store, Store::open(&path).unwrap()] {
        assert_eq!(store.entries().unwrap().len(), 1);
        assert_eq!(store.latest_reading("shop", at(9)).unwrap(), None);
    }
    let mut store = Store::open(&path).unwrap();
    assert_eq!(store.append(at(2), at(2), sanded("roof")).unwrap(), EntryId(2));
}

#[test]
fn what_was_never_committed_was_never_written() {
    let (_folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    let broken_off = store.write(|work| -> Result<(), Fault> {
        let entry = entries::admitted(work, at(1), at(1), sanded("roof"))?;
        entries::insert(work, &entry)?;
        Err(Fault::damaged("the power failed"))
    });
    assert!(broken_off.is_err());
    assert_eq!(store.entries().unwrap().len(), 1);
}

#[test]
fn a_writer_that_waits_too_long_gets_an_error_that_names_the_cause() {
    let (_folder, path) = job();
    let mut patient = Store::open(&path).unwrap();
    let mut busy = Store::open(&path).unwrap();
    patient.connection.busy_timeout(Duration::from_millis(20)).unwrap();
    let held = busy.connection.transaction_with_behavior(TransactionBehavior::Immediate).unwrap();
    let locked = patient.append(at(0), at(0), sanded("roof"));
    assert!(matches!(locked, Err(StoreError::Locked { .. })), "{locked:?}");
    assert_eq!(patient.entries().unwrap(), [], "reading never waits");
    drop(held);
    patient.append(at(0), at(0), sanded("roof")).unwrap();
}

#[test]
fn an_entry_is_never_altered_and_never_removed() {
    let (_folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    assert!(store.connection.execute("UPDATE entry SET at = 0", []).is_err());
    assert!(store.connection.execute("DELETE FROM entry", []).is_err());
}

#[test]
fn a_job_has_the_settings_for_durability() {
    let (_folder, path) = job();
    let store = Store::open(&path).unwrap();
    let ask =
        |pragma: &str| store.connection.pragma_query_value(None, pragma, |row| row.get::<_, i64>(0)).unwrap();
    assert_eq!(ask("synchronous"), 2);
    assert_eq!(ask("foreign_keys"), 1);
    assert_eq!(ask("busy_timeout"), 30_000);
    let mode: String = store.connection.pragma_query_value(None, "journal_mode", |row| row.get(0)).unwrap();
    assert_eq!(mode, "wal");
}

#[test]
fn damage_is_named_and_not_shown_as_readings() {
    let (_folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    store.log_readings("shop", &[reading(0, 15.0)]).unwrap();
    // With the matching checksum: another program wrote it.
    let forge = |block: i64, packed: &[u8]| {
        let sum = checksum::of_block("shop", block, packed);
        let put = "UPDATE reading_block SET block = ?, packed = ?, checksum = ?";
        store.connection.execute(put, (block, packed, sum)).unwrap();
        store.connection.execute("UPDATE place SET block_sum = ?", [block]).unwrap();
        store.latest_reading("shop", Moment::MAX_UTC)
    };
    let block = pack::block_of(at(0).timestamp());
    let late = [[0xff; 2].as_slice(), &[0; 14]].concat();
    let not_in_order = [[2; 1].as_slice(), &[0; 31]].concat();
    let too_warm = [&[0; 4], 60_001_i32.to_le_bytes().as_slice(), &[0; 8]].concat();
    for wreck in [&[0; 15], late.as_slice(), &not_in_order, &too_warm] {
        let damaged = forge(block, wreck);
        assert!(matches!(damaged, Err(StoreError::Damaged { .. })), "{wreck:?}: {damaged:?}");
    }
    assert!(matches!(forge(1 << 60, &[0; 16]), Ok(None) | Err(StoreError::Damaged { .. })));
    assert!(matches!(forge(block, &[0; 16]), Ok(Some(_))));
    let body = "{\"what\":\"sung\"}";
    let strange = "INSERT INTO entry (id, at, recorded, body, checksum) VALUES (1, 0, 0, ?, ?)";
    store.connection.execute(strange, (body, checksum::of_entry(1, 0, 0, body))).unwrap();
    let damaged = store.entries().unwrap_err().to_string();
    assert!(damaged.contains("entry 1 cannot be read"), "{damaged}");
}

#[test]
fn a_process_of_an_older_version_cannot_write_past_the_checksums() {
    let (_folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    for old in [
        "INSERT INTO entry (at, recorded, body) VALUES (0, 0, '{\"what\":\"clock_off\"}')",
        "INSERT OR REPLACE INTO reading_block (place, block, packed) VALUES (1, 1, zeroblob(16))",
        "UPDATE entry SET body = '{}'",
        "DELETE FROM entry",
    ] {
        let told = store.connection.execute(old, []).unwrap_err().to_string();
        assert!(told.contains("start the program again") || told.contains("an entry is never"), "{told}");
    }
    assert_eq!(store.entries().unwrap().len(), 1);
}

#[test]
fn a_missing_entry_is_detected() {
    let (_folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    for minute in 0..3 {
        store.append(at(minute), at(9), sanded("roof")).unwrap();
    }
    store.connection.execute("DROP TRIGGER entry_is_never_removed", []).unwrap();
    for gone in [3, 2] {
        store.connection.execute("SAVEPOINT before", []).unwrap();
        store.connection.execute("DELETE FROM entry WHERE id = ?", [gone]).unwrap();
        let told = entries::all(&store.connection).unwrap_err();
        assert!(matches!(told, Fault::Damaged(what) if what == "entries are missing"));
        store.connection.execute("ROLLBACK TO before", []).unwrap();
    }
    drop(store);
    let told = Store::open(&path).unwrap().entries().unwrap_err().to_string();
    assert!(told.contains("its tables have changed"), "{told}");
}

#[test]
fn on_a_read_only_disk_the_job_is_read_in_place() {
    let (_folder, path) = job();
    Store::open(&path).unwrap().append(at(0), at(0), sanded("roof")).unwrap();
    let odd = path.with_file_name("50 % wet? #1 ü.job");
    fs::rename(&path, &odd).unwrap();
    let (connection, copy) = file::connect_as_it_lies(&odd).unwrap();
    assert!(copy.is_none());
    assert_eq!(entries::all(&connection.unwrap()).unwrap().len(), 1);
}

#[test]
fn on_a_read_only_disk_the_log_counts_too() {
    let (folder, path) = job();
    let mut store = Store::open(&path).unwrap();
    store.append(at(0), at(0), sanded("roof")).unwrap();
    let card = folder.path().join("card");
    fs::create_dir(&card).unwrap();
    for name in ["hut.job", "hut.job-wal"] {
        fs::copy(folder.path().join(name), card.join(name)).unwrap();
    }
    let (connection, copy) = file::connect_as_it_lies(&card.join("hut.job")).unwrap();
    assert!(copy.is_some());
    assert_eq!(entries::all(&connection.unwrap()).unwrap().len(), 1);
    assert_eq!(fs::read_dir(&card).unwrap().count(), 2, "nothing was put on the card");
}

#[test]
fn which_entries_were_taken_back_is_found_without_reading_all_of_them() {
    let (_folder, path) = job();
    let store = Store::open(&path).unwrap();
    let plan = "EXPLAIN QUERY PLAN SELECT id, at, recorded, body FROM entry WHERE body ->> 'what' = 'void' ORDER BY id";
    let plan: String = store.connection.query_row(plan, [], |row| row.get(3)).unwrap();
    assert!(plan.contains("entry_void"), "{plan}");
}
