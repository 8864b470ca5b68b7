//! The readings of every place, in blocks.
//!
//! Undo changes no reading: those of a voided entry are skipped.

use std::collections::BTreeMap;

use rusqlite::{Connection, Row, Statement};

use super::error::Fault;
use super::pack::{self, Packed, block_of, second_of};
use super::{Store, StoreError, checksum, entries};
use crate::engine::cure::Reading;
use crate::engine::job::{Entry, EntryId, EntryKind, gate};
use crate::engine::units::{Humidity, Moment, clean};

/// The result of a logger import.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Imported {
    /// The entry of its readings; None if none was new, so none was written.
    pub entry: Option<EntryId>,
    /// The number of new readings.
    pub taken: u64,
    /// The number of readings already in the job.
    pub already_there: u64,
}

/// Every block of every place, for [`block_of_row`].
pub(super) const ALL: &str = "SELECT name, block, packed, checksum \
     FROM reading_block JOIN place ON place.id = place ORDER BY place.id, block";

/// New readings of one place by block, in order of arrival.
type Blocks = BTreeMap<i64, Vec<Packed>>;

impl Store {
    /// Imports the readings of a logger's file, all or none. Exact duplicates are not stored again; of two
    /// different ones at the same moment the one of the later entry counts.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn import<P: AsRef<str>>(
        &mut self,
        now: Moment,
        file: &str,
        readings: impl IntoIterator<Item = (P, Reading)>,
    ) -> Result<Imported, StoreError> {
        // Prepared before the job is locked, to keep the lock short.
        let mut places: BTreeMap<String, Blocks> = BTreeMap::new();
        let mut given = 0;
        for (place, reading) in readings {
            let Some((block, packed)) = Packed::new(&reading) else { continue };
            let blocks = match places.get_mut(place.as_ref()) {
                Some(blocks) => blocks,
                None => places.entry(place.as_ref().to_owned()).or_default(),
            };
            blocks.entry(block).or_default().push(packed);
            given += 1;
        }
        self.write(|work| {
            let kind = EntryKind::Import { file: file.to_owned(), readings: 0 };
            let mut entry = entries::admitted(work, now, now, kind)?;
            let taken = put(work, entry.id.0, places, true)?;
            if taken > 0 {
                entry.kind = EntryKind::Import { file: file.to_owned(), readings: taken };
                entries::insert(work, &entry)?;
            }
            Ok(Imported { entry: (taken > 0).then_some(entry.id), taken, already_there: given - taken })
        })
    }

    /// Stores sensor readings, without an entry, and returns how many were new. If a person entered a reading
    /// for the same moment, that one counts.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn log_readings(&mut self, place: &str, readings: &[Reading]) -> Result<u64, StoreError> {
        let mut blocks = Blocks::new();
        for (block, packed) in readings.iter().filter_map(Packed::new) {
            blocks.entry(block).or_default().push(packed);
        }
        if blocks.is_empty() {
            return Ok(0);
        }
        self.write(|work| put(work, 0, [(place.to_owned(), blocks)], true))
    }

    /// The places with readings, by name. Case is ignored; the first spelling stays.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn places_with_readings(&self) -> Result<Vec<String>, StoreError> {
        self.read(|connection| {
            let counts = Counting::load(connection)?;
            let mut statement = connection.prepare("SELECT name FROM place ORDER BY name")?;
            let mut rows = statement.query([])?;
            let mut places = Vec::new();
            while let Some(row) = rows.next()? {
                let place: String = row.get(0)?;
                if newest(connection, &place, i64::MIN, i64::MAX, |p| counts.counts(p.origin))?.is_some() {
                    places.push(place);
                }
            }
            Ok(places)
        })
    }

    /// The readings of a place between two moments, inclusive, ascending; preceded by the last one before
    /// `from`, for interpolation. Of two at the same moment the one that counts comes later.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn readings(&self, place: &str, from: Moment, to: Moment) -> Result<Vec<Reading>, StoreError> {
        let (from, to) = (second_from(from), to.timestamp());
        self.read(|connection| {
            let counts = Counting::load(connection)?;
            let lead = newest(connection, place, i64::MIN, to.min(from - 1), |p| counts.counts(p.origin))?;
            let rest = blocks(connection, &counts, place, (from, to), |packed| packed)?;
            Ok(lead.into_iter().chain(rest).collect())
        })
    }

    /// The readings of a place between two moments that hourly interpolation needs: the first and the last of
    /// every hour. This makes years of a busy logger fast.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn hourly_readings(&self, place: &str, from: Moment, to: Moment) -> Result<Vec<Reading>, StoreError> {
        let (from, to) = (second_from(from), to.timestamp());
        self.read(|connection| {
            let counts = Counting::load(connection)?;
            blocks(connection, &counts, place, (from, to), pack::hourly)
        })
    }

    /// The last reading of a place up to a moment.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn latest_reading(&self, place: &str, as_of: Moment) -> Result<Option<Reading>, StoreError> {
        self.read(|connection| {
            let counts = Counting::load(connection)?;
            newest(connection, place, i64::MIN, as_of.timestamp(), |p| counts.counts(p.origin))
        })
    }

    /// The last reading of a place between two moments that has a humidity.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn latest_with_humidity(
        &self,
        place: &str,
        from: Moment,
        to: Moment,
    ) -> Result<Option<Reading>, StoreError> {
        self.read(|connection| {
            let counts = Counting::load(connection)?;
            let wanted = |p: &Packed| p.has_humidity() && counts.counts(p.origin);
            newest(connection, place, second_from(from), to.timestamp(), wanted)
        })
    }
}

/// The first whole second that is not before a moment.
fn second_from(moment: Moment) -> i64 {
    moment.timestamp() + i64::from(moment.timestamp_subsec_nanos() > 0)
}

/// Stores the reading of an entry; other entries have none. A typed reading is stored even if a logger has the
/// same: each can be taken back by itself.
pub(super) fn put_entered(connection: &Connection, entry: &Entry) -> Result<(), Fault> {
    let EntryKind::Reading { place, air, humidity_percent, surface } = &entry.kind else { return Ok(()) };
    let humidity = humidity_percent.map(Humidity::from_percent).transpose();
    let humidity = humidity.map_err(|_| Fault::Unwritable("a humidity outside 0…100 %"))?;
    let reading = Reading { at: entry.at, air: *air, humidity, surface: *surface };
    let fresh = Packed::new(&reading).ok_or(Fault::Unwritable("an impossible temperature"))?;
    let blocks = Blocks::from([(fresh.0, vec![fresh.1])]);
    put(connection, entry.id.0, [(place.clone(), blocks)], false).map(|_| ())
}

/// Merges new readings into the stored blocks, and returns how many were new.
fn put(
    connection: &Connection,
    origin: i64,
    places: impl IntoIterator<Item = (String, Blocks)>,
    unless_said: bool,
) -> Result<u64, Fault> {
    let origin = u32::try_from(origin).map_err(|_| Fault::Unwritable("one more entry with readings"))?;
    let counting = Counting::load(connection)?;
    let unless_said = unless_said.then_some(|origin| counting.counts(origin));
    let mut stored = connection.prepare(
        "SELECT name, block, packed, checksum FROM reading_block JOIN place ON place.id = place \
         WHERE place = ? AND block = ?",
    )?;
    let mut store = connection.prepare(PUT)?;
    let mut taken = 0;
    for (name, blocks) in places {
        let place = place(connection, &name)?;
        for (number, mut fresh) in blocks {
            fresh.iter_mut().for_each(|packed| packed.origin = origin);
            let mut rows = stored.query((place.id, number))?;
            let stored = match rows.next()? {
                Some(row) => Some(block_of_row(row)?.2),
                None => None,
            };
            drop(rows);
            let first = stored.is_none();
            let mut block = stored.unwrap_or_default();
            let new = pack::merge(&mut block, fresh, unless_said);
            if new > 0 {
                if first {
                    count_block(connection, &place, number)?;
                }
                put_block(&mut store, &place, number, &block)?;
            }
            taken += new;
        }
    }
    Ok(taken)
}

/// The place, the number and the readings of a row, if its checksum matches.
pub(super) fn block_of_row(row: &Row<'_>) -> Result<(String, i64, Vec<Packed>), Fault> {
    let (place, block): (String, i64) = (row.get(0)?, row.get(1)?);
    let bytes = row.get_ref(2)?.as_blob().map_err(rusqlite::Error::from)?;
    if row.get::<_, Option<i64>>(3)? != Some(checksum::of_block(&place, block, bytes)) {
        let place = clean(&place);
        return Err(Fault::damaged(format!("readings of \"{place}\" have changed since they were written")));
    }
    Ok((place, block, pack::decode(bytes)?))
}

/// Writes a block, for [`put_block`].
pub(super) const PUT: &str =
    "INSERT OR REPLACE INTO reading_block (place, block, packed, checksum) VALUES (?, ?, ?, ?)";

/// Writes a block of readings of a place, replacing the stored one.
pub(super) fn put_block(
    put: &mut Statement<'_>,
    place: &Place,
    block: i64,
    packed: &[Packed],
) -> Result<(), Fault> {
    let bytes = pack::encode(packed);
    put.execute((place.id, block, &bytes, checksum::of_block(&place.name, block, &bytes)))?;
    Ok(())
}

/// Counts a new block.
pub(super) fn count_block(work: &Connection, place: &Place, block: i64) -> Result<(), Fault> {
    let count = "UPDATE place SET blocks = blocks + 1, block_sum = block_sum + ?2 WHERE id = ?1";
    work.execute(count, (place.id, block))?;
    Ok(())
}

/// A place as stored.
pub(super) struct Place {
    id: i64,
    name: String,
}

/// A place by its name; created if new.
pub(super) fn place(connection: &Connection, place: &str) -> Result<Place, Fault> {
    gate::name("place", place)?;
    connection.execute("INSERT INTO place (name) VALUES (?) ON CONFLICT DO NOTHING", [place])?;
    let find = "SELECT id, name FROM place WHERE name = ?";
    Ok(connection.query_row(find, [place], |row| Ok(Place { id: row.get(0)?, name: row.get(1)? }))?)
}

/// The readings of a place between two seconds, inclusive, that count, filtered by block.
fn blocks(
    connection: &Connection,
    counts: &Counting,
    place: &str,
    (from, to): (i64, i64),
    kept: impl Fn(Vec<Packed>) -> Vec<Packed>,
) -> Result<Vec<Reading>, Fault> {
    let mut statement = connection.prepare(
        "SELECT name, block, packed, checksum FROM reading_block JOIN place ON place.id = place \
         WHERE name = ? AND block BETWEEN ? AND ? ORDER BY block",
    )?;
    let mut rows = statement.query((place, block_of(from), block_of(to)))?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let (_, block, mut packed) = block_of_row(row)?;
        packed.retain(|p| (from..=to).contains(&second_of(block, p)) && counts.counts(p.origin));
        found.extend(pack::readings(block, &kept(packed))?);
    }
    Ok(found)
}

/// The last matching reading of a place between two seconds.
fn newest(
    connection: &Connection,
    place: &str,
    from: i64,
    to: i64,
    wanted: impl Fn(&Packed) -> bool,
) -> Result<Option<Reading>, Fault> {
    let mut statement = connection.prepare(
        "SELECT name, block, packed, checksum FROM reading_block JOIN place ON place.id = place \
         WHERE name = ? AND block BETWEEN ? AND ? ORDER BY block DESC",
    )?;
    let mut rows = statement.query((place, block_of(from), block_of(to)))?;
    while let Some(row) = rows.next()? {
        let (_, block, packed) = block_of_row(row)?;
        let inside = |p: &&Packed| (from..=to).contains(&second_of(block, p));
        if let Some(found) = packed.iter().rev().find(|p| inside(p) && wanted(p)) {
            return Ok(pack::readings(block, std::slice::from_ref(found))?.next());
        }
    }
    Ok(None)
}

/// The readings that count: those without an entry, or of an entry that is not voided.
struct Counting {
    taken_back: Vec<EntryId>,
}

impl Counting {
    /// Read again for every query, because another process may have voided an entry.
    fn load(connection: &Connection) -> Result<Self, Fault> {
        Ok(Self { taken_back: entries::taken_back(connection)? })
    }

    fn counts(&self, origin: u32) -> bool {
        self.taken_back.is_empty() || self.taken_back.binary_search(&EntryId(origin.into())).is_err()
    }
}
