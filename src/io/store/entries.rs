//! Entries as rows: written once, never altered.

use rusqlite::Connection;

use super::error::Fault;
use super::moment;
use crate::engine::job::{Corrections, Entry, EntryId, EntryKind, Job, Refusal, voided};
use crate::engine::units::{Moment, clean};

/// Every entry, by number.
pub(super) fn all(connection: &Connection) -> Result<Vec<Entry>, Fault> {
    select(connection, "SELECT id, at, recorded, body FROM entry ORDER BY id")
}

/// The entries that count.
pub(super) fn standing(mut entries: Vec<Entry>) -> Vec<Entry> {
    let voided = voided(&entries);
    entries.retain(|entry| !voided.contains(&entry.id));
    entries
}

/// The numbers of the entries that do not count, in rising order.
pub(super) fn taken_back(connection: &Connection) -> Result<Vec<EntryId>, Fault> {
    let voids = "SELECT id, at, recorded, body FROM entry WHERE body ->> 'what' = 'void' ORDER BY id";
    Ok(voided(&select(connection, voids)?).into_iter().collect())
}

/// The entry with its number, if the record admits it.
pub(super) fn admitted(
    connection: &Connection,
    at: Moment,
    now: Moment,
    kind: EntryKind,
) -> Result<Entry, Fault> {
    let (at, recorded) = (moment(at.timestamp())?, moment(now.timestamp())?);
    let entries = all(connection)?;
    Job::fold(&entries, now).admit(&kind, at, now)?;
    let id = next(&entries);
    if let EntryKind::Void { entry: target, .. } = kind
        && !standing(entries).iter().any(|entry| entry.id == target)
    {
        return Err(Refusal::NoSuchEntry(target).into());
    }
    Ok(Entry { id, at, recorded, kind })
}

/// The void of an entry and the one that takes its place, if the old one counts.
pub(super) fn correction(
    entries: &[Entry],
    old: EntryId,
    (at, now): (Moment, Moment),
    kind: EntryKind,
) -> Result<(Entry, Entry), Fault> {
    if let Some(by) = Corrections::of(entries).by(old) {
        return Err(Refusal::Corrected { entry: old, by }.into());
    }
    if !standing(entries.to_vec()).iter().any(|entry| entry.id == old) {
        return Err(Refusal::NoSuchEntry(old).into());
    }
    let (at, recorded) = (moment(at.timestamp())?, moment(now.timestamp())?);
    let first = next(entries);
    let second = EntryId(first.0 + 1);
    let void = EntryKind::Void { entry: old, by: Some(second) };
    Ok((Entry { id: first, at: recorded, recorded, kind: void }, Entry { id: second, at, recorded, kind }))
}

/// The number that the next entry gets.
pub(super) fn next(entries: &[Entry]) -> EntryId {
    EntryId(entries.last().map_or(1, |entry| entry.id.0 + 1))
}

/// Writes an entry.
pub(super) fn insert(connection: &Connection, entry: &Entry) -> Result<(), Fault> {
    entry.check()?;
    let unwritable = || Fault::Unwritable("an entry that could not be read again");
    let body = serde_json::to_string(&entry.kind).map_err(|_| unwritable())?;
    // A figure that is not a number has no place in JSON, and would make the job unreadable for ever.
    if serde_json::from_str::<EntryKind>(&body).ok().as_ref() != Some(&entry.kind) {
        return Err(unwritable());
    }
    connection.execute(
        "INSERT INTO entry (id, at, recorded, body) VALUES (?, ?, ?, ?)",
        (entry.id.0, entry.at.timestamp(), entry.recorded.timestamp(), body),
    )?;
    Ok(())
}

fn select(connection: &Connection, query: &str) -> Result<Vec<Entry>, Fault> {
    let mut statement = connection.prepare(query)?;
    let mut rows = statement.query([])?;
    let mut entries = Vec::new();
    while let Some(row) = rows.next()? {
        let id = EntryId(row.get(0)?);
        let mut kind: EntryKind =
            serde_json::from_str(row.get_ref(3)?.as_str().map_err(rusqlite::Error::from)?).map_err(
                |error| Fault::damaged(format!("entry {id} cannot be read: {}", clean(&error.to_string()))),
            )?;
        // The file may have been written by something else, or by a version that took more.
        kind.clean();
        let entry = Entry { id, at: moment(row.get(1)?)?, recorded: moment(row.get(2)?)?, kind };
        entry.check().map_err(|improper| Fault::damaged(format!("entry {id} cannot be: {improper}")))?;
        entries.push(entry);
    }
    Ok(entries)
}
