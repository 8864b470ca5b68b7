//! What was raised and told, so that several processes tell it once.

use rusqlite::{Connection, OptionalExtension, Row};

use super::error::Fault;
use super::{Store, StoreError, moment};
use crate::engine::job::EntryId;
use crate::engine::job::{Alert, AlertId, AlertKind, NewAlert, Told};
use crate::engine::units::Moment;

impl Store {
    /// Every alert that was raised, oldest first.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn alerts(&self) -> Result<Vec<Alert>, StoreError> {
        self.read(all)
    }

    /// Raises an alert; None where another process did so first.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn raise(&mut self, alert: &NewAlert, now: Moment) -> Result<Option<Alert>, StoreError> {
        self.write(|work| {
            let id: Option<i64> = work
                .query_row(
                    "INSERT INTO alert (kind, subject, round, area, due, raised, told, text) \
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?6, ?7) ON CONFLICT DO NOTHING RETURNING id",
                    (
                        alert.kind.key(),
                        &alert.subject,
                        alert.round,
                        &alert.area,
                        alert.due.timestamp(),
                        now.timestamp(),
                        &alert.text,
                    ),
                    |row| row.get(0),
                )
                .optional()?;
            let raised = moment(now.timestamp())?;
            let due = moment(alert.due.timestamp())?;
            Ok(id.map(|id| Alert {
                id: AlertId(id),
                kind: alert.kind,
                subject: alert.subject.clone(),
                round: alert.round,
                area: alert.area.clone(),
                due,
                raised,
                told: raised,
                acknowledged: None,
                text: alert.text.clone(),
            }))
        })
    }

    /// Notes that an alert is told again; false where another process did so since `told_before`, or where
    /// the person has acknowledged it.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn tell_again(&mut self, id: AlertId, told_before: Moment, now: Moment) -> Result<bool, StoreError> {
        self.write(|work| {
            let told = work.execute(
                "UPDATE alert SET told = ?3 WHERE id = ?1 AND told = ?2 AND acknowledged IS NULL",
                (id.0, told_before.timestamp(), now.timestamp()),
            )?;
            Ok(told == 1)
        })
    }

    /// Acknowledges one alert or all of them, and says how many were not before.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn acknowledge(&mut self, id: Option<AlertId>, now: Moment) -> Result<usize, StoreError> {
        self.write(|work| {
            Ok(work.execute(
                "UPDATE alert SET acknowledged = ?2 WHERE acknowledged IS NULL AND (?1 IS NULL OR id = ?1)",
                (id.map(|id| id.0), now.timestamp()),
            )?)
        })
    }

    /// What the person was last told of a coat's window.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn told(&self, coat: EntryId) -> Result<Option<Told>, StoreError> {
        self.read(|connection| told(connection, coat))
    }

    /// Notes what the person is told of a coat's window; false where it is no longer `before` that they
    /// were told, since another process was first.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn tell(&mut self, before: Option<Told>, after: Told) -> Result<bool, StoreError> {
        self.write(|work| {
            let known = told(work, after.coat)?;
            if known != before.map(whole_seconds).transpose()? {
                return Ok(false);
            }
            put_told(work, after)?;
            Ok(true)
        })
    }
}

/// Every alert, by number.
pub(super) fn all(connection: &Connection) -> Result<Vec<Alert>, Fault> {
    let mut statement = connection.prepare(
        "SELECT id, kind, subject, round, area, due, raised, told, acknowledged, text FROM alert ORDER BY id",
    )?;
    let mut rows = statement.query([])?;
    let mut alerts = Vec::new();
    while let Some(row) = rows.next()? {
        alerts.push(alert(row)?);
    }
    Ok(alerts)
}

/// What was told of every coat.
pub(super) fn all_told(connection: &Connection) -> Result<Vec<Told>, Fault> {
    let mut statement = connection.prepare("SELECT coat, open, close FROM told ORDER BY coat")?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let (open, close): (Option<i64>, Option<i64>) = (row.get(1)?, row.get(2)?);
        let (open, close) = (open.map(moment).transpose()?, close.map(moment).transpose()?);
        all.push(Told { coat: EntryId(row.get(0)?), open, close });
    }
    Ok(all)
}

/// Writes an alert as it was.
pub(super) fn insert(work: &Connection, alert: &Alert) -> Result<(), Fault> {
    work.execute(
        "INSERT INTO alert (id, kind, subject, round, area, due, raised, told, acknowledged, text) \
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            alert.id.0,
            alert.kind.key(),
            &alert.subject,
            alert.round,
            &alert.area,
            alert.due.timestamp(),
            alert.raised.timestamp(),
            alert.told.timestamp(),
            alert.acknowledged.map(|seen| seen.timestamp()),
            &alert.text,
        ),
    )?;
    Ok(())
}

/// Notes what the person was told of a coat.
pub(super) fn put_told(work: &Connection, told: Told) -> Result<(), Fault> {
    work.execute(
        "INSERT OR REPLACE INTO told (coat, open, close) VALUES (?, ?, ?)",
        (told.coat.0, told.open.map(|m| m.timestamp()), told.close.map(|m| m.timestamp())),
    )?;
    Ok(())
}

fn told(connection: &Connection, coat: EntryId) -> Result<Option<Told>, Fault> {
    let found: Option<(Option<i64>, Option<i64>)> = connection
        .query_row("SELECT open, close FROM told WHERE coat = ?", [coat.0], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .optional()?;
    let Some((open, close)) = found else { return Ok(None) };
    Ok(Some(Told { coat, open: open.map(moment).transpose()?, close: close.map(moment).transpose()? }))
}

fn whole_seconds(told: Told) -> Result<Told, Fault> {
    let whole = |at: Option<Moment>| at.map(|at| moment(at.timestamp())).transpose();
    Ok(Told { coat: told.coat, open: whole(told.open)?, close: whole(told.close)? })
}

fn alert(row: &Row) -> Result<Alert, Fault> {
    let kind: String = row.get("kind")?;
    let acknowledged: Option<i64> = row.get("acknowledged")?;
    Ok(Alert {
        id: AlertId(row.get("id")?),
        kind: AlertKind::from_key(&kind).ok_or_else(|| Fault::damaged("an alert of an unknown kind"))?,
        subject: row.get("subject")?,
        round: row.get("round")?,
        area: row.get("area")?,
        due: moment(row.get("due")?)?,
        raised: moment(row.get("raised")?)?,
        told: moment(row.get("told")?)?,
        acknowledged: acknowledged.map(moment).transpose()?,
        text: row.get("text")?,
    })
}
