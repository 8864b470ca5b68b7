//! Checksums of entries and readings, to detect damage when they are read.
//!
//! A CRC-32 (ISO-HDLC, as in Ethernet and gzip) of all columns of a row: it detects every single-bit error, and
//! larger damage with a probability of 1 − 2⁻³². It does not protect against forgery.

use crc32fast::Hasher;
use rusqlite::{Connection, OptionalExtension};

use super::error::Fault;
use crate::engine::units::clean;

/// The checksum of an entry from its row.
pub(super) fn of_entry(id: i64, at: i64, recorded: i64, body: &str) -> i64 {
    let mut sum = Hasher::new();
    for number in [id, at, recorded] {
        sum.update(&number.to_le_bytes());
    }
    sum.update(body.as_bytes());
    sum.finalize().into()
}

/// The checksum of a block of readings from its row, with the stored name of its place.
pub(super) fn of_block(place: &str, block: i64, packed: &[u8]) -> i64 {
    let mut sum = Hasher::new();
    sum.update(&block.to_le_bytes());
    sum.update(&(place.len() as u64).to_le_bytes());
    sum.update(place.as_bytes());
    sum.update(packed);
    sum.finalize().into()
}

/// Whether the schema is unchanged, and the indexes find every block of readings.
pub(super) fn check_tables(connection: &Connection) -> Result<(), Fault> {
    let tables: i64 = connection.query_row("SELECT tables FROM tally", [], |row| row.get(0))?;
    if tables != of_tables(connection)? {
        return Err(Fault::damaged("its tables have changed"));
    }
    let mut places = connection.prepare("SELECT id, name, blocks, block_sum FROM place NOT INDEXED")?;
    let mut find = connection.prepare("SELECT id FROM place WHERE name = ?")?;
    let mut tally =
        connection.prepare("SELECT count(*), coalesce(sum(block), 0) FROM reading_block WHERE place = ?")?;
    let (mut rows, mut all) = (places.query([])?, 0);
    while let Some(row) = rows.next()? {
        let (id, name): (i64, String) = (row.get(0)?, row.get(1)?);
        let written: (i64, i64) = (row.get(2)?, row.get(3)?);
        let found: Option<i64> = find.query_row([&name], |row| row.get(0)).optional()?;
        let there: (i64, i64) = tally.query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        if found != Some(id) || there != written {
            return Err(Fault::damaged(format!("readings of \"{}\" are missing", clean(&name))));
        }
        all += there.0;
    }
    let blocks: i64 = connection.query_row("SELECT count(*) FROM reading_block", [], |row| row.get(0))?;
    if all != blocks {
        return Err(Fault::damaged("readings of a place that is missing"));
    }
    Ok(())
}

/// Stores the checksum of the schema.
pub(super) fn keep_tables(work: &Connection) -> Result<(), Fault> {
    work.execute("UPDATE tally SET tables = ?", [of_tables(work)?])?;
    Ok(())
}

fn of_tables(connection: &Connection) -> Result<i64, Fault> {
    let mut sum = Hasher::new();
    let mut tables =
        connection.prepare("SELECT type || ' ' || name || ' ' || tbl_name, sql FROM sqlite_schema")?;
    let mut rows = tables.query([])?;
    while let Some(row) = rows.next()? {
        sum.update(row.get_ref(0)?.as_bytes_or_null().map_err(rusqlite::Error::from)?.unwrap_or_default());
        sum.update(row.get_ref(1)?.as_bytes_or_null().map_err(rusqlite::Error::from)?.unwrap_or_default());
    }
    Ok(sum.finalize().into())
}

/// Adds checksums to the rows of an older version.
pub(super) fn add_where_missing(work: &Connection) -> Result<(), Fault> {
    let mut entries = work.prepare("SELECT id, at, recorded, body FROM entry WHERE checksum IS NULL")?;
    let mut put = work.prepare("UPDATE entry SET checksum = ?2 WHERE id = ?1")?;
    let mut rows = entries.query([])?;
    while let Some(row) = rows.next()? {
        let id = row.get(0)?;
        let body = row.get_ref(3)?.as_str().map_err(rusqlite::Error::from)?;
        put.execute((id, of_entry(id, row.get(1)?, row.get(2)?, body)))?;
    }
    let mut blocks = work.prepare(
        "SELECT reading_block.rowid, name, block, packed FROM reading_block JOIN place ON place.id = place \
         WHERE checksum IS NULL",
    )?;
    let mut put = work.prepare("UPDATE reading_block SET checksum = ?2 WHERE rowid = ?1")?;
    let mut rows = blocks.query([])?;
    while let Some(row) = rows.next()? {
        let (id, place): (i64, String) = (row.get(0)?, row.get(1)?);
        let packed = row.get_ref(3)?.as_blob().map_err(rusqlite::Error::from)?;
        put.execute((id, of_block(&place, row.get(2)?, packed)))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_usual_checksum() {
        // The check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms (G. Cook),
        // https://reveng.sourceforge.io/crc-catalogue/17plus.htm#crc.cat.crc-32-iso-hdlc
        assert_eq!(crc32fast::hash(b"123456789"), 0xcbf4_3926);
    }

    #[test]
    fn every_part_of_a_row_counts() {
        let entry = of_entry(1, 2, 3, "x");
        let others =
            [of_entry(2, 2, 3, "x"), of_entry(1, 3, 3, "x"), of_entry(1, 2, 4, "x"), of_entry(1, 2, 3, "y")];
        assert!(!others.contains(&entry));
        let block = of_block("shop", 7, b"ab");
        let others = [of_block("shoq", 7, b"ab"), of_block("shop", 8, b"ab"), of_block("shop", 7, b"ac")];
        assert!(!others.contains(&block));
        assert_ne!(of_block("shopa", 7, b"b"), block, "the name ends where it ends");
    }
}
