//! Alerts as rows: what was raised, and which channel took it.
//!
//! Raising is one transaction that looks and writes, so that two processes raise an alert once. Sending is
//! claimed in another: one process at a time has an alert for a channel, and a claim that comes to nothing
//! ends by itself.

use chrono::TimeDelta;
use rusqlite::{Connection, Row};

use super::error::Fault;
use super::{Store, StoreError, moment};
use crate::engine::job::{
    Alert, AlertId, AlertKind, CLOCK_SLACK, Channel, Delivery, EntryId, NewAlert, Raising, ReportedWindow,
};
use crate::engine::units::{Moment, clean};

/// A claim without a delivery may have lapsed after this time: it is longer than an answer may take, and a process
/// that still waits for one renews it. Whether its owner has died, or has only slept with the machine, is seen when
/// it is not renewed.
pub const LEASE: TimeDelta = TimeDelta::minutes(2);

impl Store {
    /// Every alert that was raised, oldest first.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn alerts(&self) -> Result<Vec<Alert>, StoreError> {
        self.read(all)
    }

    /// The alerts and the windows as they were last reported, at one moment.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn alert_memory(&self) -> Result<(Vec<Alert>, Vec<ReportedWindow>), StoreError> {
        self.read(|connection| Ok((all(connection)?, all_windows(connection)?)))
    }

    /// Records what is due, all of it or nothing. `decide` sees what the job holds inside the transaction, so
    /// that no other process can raise the same in between.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn raise(
        &mut self,
        now: Moment,
        decide: impl FnOnce(&[Alert], &[ReportedWindow]) -> Raising,
    ) -> Result<(), StoreError> {
        self.write(|work| {
            let raising = decide(&all(work)?, &all_windows(work)?);
            for alert in &raising.raise {
                insert_new(work, alert, now)?;
            }
            for id in &raising.again {
                work.execute(
                    "UPDATE alert SET repeat = repeat + 1, told = ?2 WHERE id = ?1 AND acknowledged IS NULL",
                    (id.0, now.timestamp()),
                )?;
            }
            raising.windows.iter().try_for_each(|window| put_window(work, *window))
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

    /// What channels took of the alerts that nobody has acknowledged.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn open_deliveries(&self) -> Result<Vec<Delivery>, StoreError> {
        let open = "JOIN alert ON alert.id = alert WHERE sent IS NOT NULL AND acknowledged IS NULL";
        self.read(|connection| deliveries(connection, open))
    }

    /// Claims that came to nothing so far: the alert, its repetition, and when it was claimed.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn open_claims(&self, channel: Channel) -> Result<Vec<(AlertId, u32, Moment)>, StoreError> {
        self.read(|connection| {
            let query = "SELECT alert, repeat, claimed FROM delivery WHERE channel = ? AND sent IS NULL";
            let mut statement = connection.prepare(query)?;
            let mut rows = statement.query([channel.key()])?;
            let mut claims = Vec::new();
            while let Some(row) = rows.next()? {
                claims.push((AlertId(row.get(0)?), row.get(1)?, moment(row.get(2)?)?));
            }
            Ok(claims)
        })
    }

    /// Claims alerts for a channel, each in its repetition, and gives back those that this process has to
    /// send: not what the channel took, what another process is sending, or what was acknowledged. A claim of
    /// another process ends only where it is among those that `lapsed`, and is still the same.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn claim(
        &mut self,
        channel: Channel,
        alerts: &[(AlertId, u32)],
        lapsed: &[(AlertId, Moment)],
        now: Moment,
    ) -> Result<Vec<AlertId>, StoreError> {
        let (second, ahead) = (now.timestamp(), (now + CLOCK_SLACK).timestamp());
        self.write(|work| {
            let mut claim = work.prepare(
                "INSERT INTO delivery (alert, channel, repeat, claimed) \
                 SELECT id, ?2, ?3, ?4 FROM alert WHERE id = ?1 AND repeat = ?3 AND acknowledged IS NULL \
                 ON CONFLICT (alert, channel) DO UPDATE \
                 SET repeat = excluded.repeat, claimed = excluded.claimed, sent = NULL \
                 WHERE delivery.repeat < excluded.repeat OR delivery.sent > ?5 \
                 OR (delivery.sent IS NULL AND delivery.claimed = ?6)",
            )?;
            let mut claimed = Vec::new();
            for (id, repeat) in alerts {
                let ended = lapsed.iter().find(|(lapsed, _)| lapsed == id).map(|(_, at)| at.timestamp());
                if claim.execute((id.0, channel.key(), repeat, second, ahead, ended))? == 1 {
                    claimed.push(*id);
                }
            }
            Ok(claimed)
        })
    }

    /// Keeps a claim for longer, since the channel has not answered yet.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn renew(&mut self, channel: Channel, alert: AlertId, now: Moment) -> Result<(), StoreError> {
        self.write(|work| {
            work.execute(
                "UPDATE delivery SET claimed = ?3 WHERE alert = ?1 AND channel = ?2 AND sent IS NULL",
                (alert.0, channel.key(), now.timestamp()),
            )?;
            Ok(())
        })
    }

    /// Gives a claim back that came to nothing, so that it can be tried again.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn release(&mut self, channel: Channel, alert: AlertId, repeat: u32) -> Result<(), StoreError> {
        self.write(|work| {
            work.execute(
                "DELETE FROM delivery WHERE alert = ?1 AND channel = ?2 AND repeat = ?3 AND sent IS NULL",
                (alert.0, channel.key(), repeat),
            )?;
            Ok(())
        })
    }

    /// Records what channels took, claimed or not.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn record_sent(&mut self, sent: &[Delivery]) -> Result<(), StoreError> {
        self.write(|work| sent.iter().try_for_each(|delivery| insert_delivery(work, *delivery)))
    }
}

/// Every alert, for [`alert`].
pub(super) const ALL: &str = "SELECT id, kind, subject, round, area, due, raised, repeat, told, acknowledged, text \
     FROM alert ORDER BY id";

/// Every alert, by number.
pub(super) fn all(connection: &Connection) -> Result<Vec<Alert>, Fault> {
    let mut statement = connection.prepare(ALL)?;
    let mut rows = statement.query([])?;
    let mut alerts = Vec::new();
    while let Some(row) = rows.next()? {
        alerts.push(alert(row)?);
    }
    Ok(alerts)
}

/// The window of every coat as it was last reported.
pub(super) fn all_windows(connection: &Connection) -> Result<Vec<ReportedWindow>, Fault> {
    let mut statement = connection.prepare("SELECT coat, open, close FROM told ORDER BY coat")?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let (open, close): (Option<i64>, Option<i64>) = (row.get(1)?, row.get(2)?);
        let (open, close) = (open.map(moment).transpose()?, close.map(moment).transpose()?);
        all.push(ReportedWindow { coat: EntryId(row.get(0)?), open, close });
    }
    Ok(all)
}

/// Every delivery.
pub(super) fn all_deliveries(connection: &Connection) -> Result<Vec<Delivery>, Fault> {
    deliveries(connection, "WHERE sent IS NOT NULL")
}

fn deliveries(connection: &Connection, which: &str) -> Result<Vec<Delivery>, Fault> {
    let query =
        format!("SELECT alert, channel, delivery.repeat, sent FROM delivery {which} ORDER BY alert, channel");
    let mut statement = connection.prepare(&query)?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let channel = row.get_ref(1)?.as_str().map_err(rusqlite::Error::from)?;
        // A channel that only a later version knows concerns nobody here.
        let Some(channel) = Channel::from_key(channel) else { continue };
        let (alert, repeat) = (AlertId(row.get(0)?), row.get(2)?);
        all.push(Delivery { alert, repeat, channel, sent: moment(row.get(3)?)? });
    }
    Ok(all)
}

fn insert_new(work: &Connection, alert: &NewAlert, now: Moment) -> Result<(), Fault> {
    work.execute(
        "INSERT INTO alert (kind, subject, round, area, due, raised, told, text) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?6, ?7) ON CONFLICT DO NOTHING",
        (
            alert.kind.key(),
            clean(&alert.subject),
            alert.round,
            alert.area.as_deref().map(clean),
            alert.due.timestamp(),
            now.timestamp(),
            clean(&alert.text),
        ),
    )?;
    Ok(())
}

/// Writes an alert as it was.
pub(super) fn insert(work: &Connection, alert: &Alert) -> Result<(), Fault> {
    alert.check()?;
    work.execute(
        "INSERT INTO alert (id, kind, subject, round, area, due, raised, repeat, told, acknowledged, text) \
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            alert.id.0,
            alert.kind.key(),
            &alert.subject,
            alert.round,
            &alert.area,
            alert.due.timestamp(),
            alert.raised.timestamp(),
            alert.repeat,
            alert.wanted.timestamp(),
            alert.acknowledged.map(|seen| seen.timestamp()),
            &alert.text,
        ),
    )?;
    Ok(())
}

/// Writes that a channel took an alert.
pub(super) fn insert_delivery(work: &Connection, delivery: Delivery) -> Result<(), Fault> {
    work.execute(
        "INSERT INTO delivery (alert, channel, repeat, claimed, sent) VALUES (?1, ?2, ?3, ?4, ?4) \
         ON CONFLICT (alert, channel) DO UPDATE \
         SET repeat = excluded.repeat, claimed = excluded.claimed, sent = excluded.sent \
         WHERE delivery.repeat <= excluded.repeat",
        (delivery.alert.0, delivery.channel.key(), delivery.repeat, delivery.sent.timestamp()),
    )?;
    Ok(())
}

/// Writes the window of a coat as it is reported.
pub(super) fn put_window(work: &Connection, window: ReportedWindow) -> Result<(), Fault> {
    work.execute(
        "INSERT OR REPLACE INTO told (coat, open, close) VALUES (?, ?, ?)",
        (window.coat.0, window.open.map(|m| m.timestamp()), window.close.map(|m| m.timestamp())),
    )?;
    Ok(())
}

/// The alert of a row.
pub(super) fn alert(row: &Row<'_>) -> Result<Alert, Fault> {
    let kind: String = row.get("kind")?;
    let acknowledged: Option<i64> = row.get("acknowledged")?;
    let text = |name| row.get::<_, String>(name).map(|text| clean(&text));
    Ok(Alert {
        id: AlertId(row.get("id")?),
        kind: AlertKind::from_key(&kind).ok_or_else(|| Fault::damaged("an alert of an unknown kind"))?,
        subject: text("subject")?,
        round: row.get("round")?,
        area: row.get::<_, Option<String>>("area")?.as_deref().map(clean),
        due: moment(row.get("due")?)?,
        raised: moment(row.get("raised")?)?,
        repeat: row.get("repeat")?,
        wanted: moment(row.get("told")?)?,
        acknowledged: acknowledged.map(moment).transpose()?,
        text: text("text")?,
    })
}
