//! Entries as rows: written once, never altered.

use rusqlite::{Connection, Row};

use super::error::Fault;
use super::{checksum, moment};
use crate::engine::job::{Corrections, Entry, EntryId, EntryKind, Job, Refusal, voided};
use crate::engine::units::{Moment, clean};

/// Every entry, for [`entry`].
pub(super) const ALL: &str = "SELECT id, at, recorded, body, checksum FROM entry ORDER BY id";

/// Every entry, by number.
pub(super) fn all(connection: &Connection) -> Result<Vec<Entry>, Fault> {
    let entries = select(connection, ALL)?;
    let found = (entries.len() as i64, entries.last().map_or(0, |entry| entry.id.0));
    match found == tally(connection)? {
        true => Ok(entries),
        false => Err(Fault::damaged("entries are missing")),
    }
}

/// How many entries there are, and the number of the last.
pub(super) fn tally(connection: &Connection) -> Result<(i64, i64), Fault> {
    Ok(connection.query_row("SELECT entries, last FROM tally", [], |row| Ok((row.get(0)?, row.get(1)?)))?)
}

/// The entries that count.
pub(super) fn standing(mut entries: Vec<Entry>) -> Vec<Entry> {
    let voided = voided(&entries);
    entries.retain(|entry| !voided.contains(&entry.id));
    entries
}

/// The numbers of the entries that do not count, ascending.
pub(super) fn taken_back(connection: &Connection) -> Result<Vec<EntryId>, Fault> {
    let voids =
        "SELECT id, at, recorded, body, checksum FROM entry WHERE body ->> 'what' = 'void' ORDER BY id";
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

/// The void of an entry and its replacement, if the old one counts.
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

/// The number of the next entry.
pub(super) fn next(entries: &[Entry]) -> EntryId {
    EntryId(entries.last().map_or(1, |entry| entry.id.0 + 1))
}

/// Writes an entry.
pub(super) fn insert(connection: &Connection, entry: &Entry) -> Result<(), Fault> {
    entry.check()?;
    let unwritable = || Fault::Unwritable("an entry that cannot be read");
    let body = serde_json::to_string(&entry.kind).map_err(|_| unwritable())?;
    // NaN has no JSON form and would make the job unreadable.
    if serde_json::from_str::<EntryKind>(&body).ok().as_ref() != Some(&entry.kind) {
        return Err(unwritable());
    }
    let (id, at, recorded) = (entry.id.0, entry.at.timestamp(), entry.recorded.timestamp());
    connection.execute(
        "INSERT INTO entry (id, at, recorded, body, checksum) VALUES (?, ?, ?, ?, ?)",
        (id, at, recorded, &body, checksum::of_entry(id, at, recorded, &body)),
    )?;
    connection.execute("UPDATE tally SET entries = entries + 1, last = ?", [id])?;
    Ok(())
}

fn select(connection: &Connection, query: &str) -> Result<Vec<Entry>, Fault> {
    let mut statement = connection.prepare(query)?;
    let mut rows = statement.query([])?;
    let mut entries = Vec::new();
    while let Some(row) = rows.next()? {
        entries.push(entry(row)?);
    }
    Ok(entries)
}

/// The entry of a row, if its checksum matches.
pub(super) fn entry(row: &Row<'_>) -> Result<Entry, Fault> {
    let (id, at, recorded) = (row.get(0)?, row.get(1)?, row.get(2)?);
    let body = row.get_ref(3)?.as_str().map_err(rusqlite::Error::from)?;
    if row.get::<_, Option<i64>>(4)? != Some(checksum::of_entry(id, at, recorded, body)) {
        return Err(Fault::damaged(format!("entry {id} has changed since it was written")));
    }
    let mut kind: EntryKind = serde_json::from_str(body).map_err(|error| {
        Fault::damaged(format!("entry {id} cannot be read: {}", clean(&error.to_string())))
    })?;
    // Another program or version may have written the file.
    kind.clean();
    let entry = Entry { id: EntryId(id), at: moment(at)?, recorded: moment(recorded)?, kind };
    entry.check().map_err(|improper| Fault::damaged(format!("entry {id} is not valid: {improper}")))?;
    Ok(entry)
}
