//! Alerts as rows: what was raised, and which channel took it.
//!
//! Raising reads and writes in one transaction, so that two processes raise an alert once. Sending is claimed
//! in another: one process at a time has an alert for a channel, and an abandoned claim expires.

use chrono::TimeDelta;
use rusqlite::{Connection, Row};

use super::error::Fault;
use super::{Store, StoreError, moment};
use crate::engine::job::{
    Alert, AlertId, AlertKind, CLOCK_SLACK, Channel, Delivery, EntryId, NewAlert, Raising, ReportedWindow,
    clock_was_ahead,
};
use crate::engine::units::{Moment, clean};

/// A claim without a delivery may have expired after this time: it is longer than any answer takes, and a
/// process that still waits renews it. A claim that is not renewed belongs to a process that has died or slept.
pub const LEASE: TimeDelta = TimeDelta::minutes(2);

/// That a person has put an alert off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Snooze {
    /// The alert.
    pub alert: AlertId,
    /// When that was.
    pub since: Moment,
    /// When it comes again.
    pub until: Moment,
}

impl Snooze {
    /// Whether the alert is put off at a moment. One that was put off by a clock that was ahead is not.
    pub fn holds(&self, now: Moment) -> bool {
        now < self.until && !clock_was_ahead(self.since, now)
    }
}

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

    /// The alerts that are put off, or were and have not come again.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn snoozes(&self) -> Result<Vec<Snooze>, StoreError> {
        self.read(all_snoozes)
    }

    /// Puts an alert off that nobody has acknowledged; false where there is no such alert.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn snooze(&mut self, id: AlertId, now: Moment, until: Moment) -> Result<bool, StoreError> {
        self.write(|work| {
            Ok(work.execute(
                "INSERT OR REPLACE INTO snooze (alert, since, until) \
                 SELECT id, ?2, ?3 FROM alert WHERE id = ?1 AND acknowledged IS NULL",
                (id.0, now.timestamp(), until.timestamp()),
            )? == 1)
        })
    }

    /// Records due alerts, all or nothing. `decide` sees the job inside the transaction, so that no other
    /// process raises the same alert.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn raise(
        &mut self,
        now: Moment,
        decide: impl FnOnce(&[Alert], &[ReportedWindow], &[Snooze]) -> Raising,
    ) -> Result<(), StoreError> {
        self.write(|work| {
            let raising = decide(&all(work)?, &all_windows(work)?, &all_snoozes(work)?);
            for alert in &raising.raise {
                insert_new(work, alert, now)?;
            }
            for id in &raising.again {
                work.execute(
                    "UPDATE alert SET repeat = repeat + 1, told = ?2 WHERE id = ?1 AND acknowledged IS NULL",
                    (id.0, now.timestamp()),
                )?;
                work.execute("DELETE FROM snooze WHERE alert = ?", [id.0])?;
            }
            raising.windows.iter().try_for_each(|window| put_window(work, *window))
        })
    }

    /// Acknowledges one alert or all of them, and returns how many were new.
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

    /// The deliveries of the alerts not yet acknowledged.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn open_deliveries(&self) -> Result<Vec<Delivery>, StoreError> {
        let open = "JOIN alert ON alert.id = alert WHERE sent IS NOT NULL AND acknowledged IS NULL";
        self.read(|connection| deliveries(connection, open))
    }

    /// Open claims: the alert, its repetition, and when it was claimed.
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

    /// Claims alerts for a channel, each in its repetition, and returns those to send: not those that the
    /// channel took, another process is sending, or a person acknowledged. A claim of another process ends only
    /// if it is among the `lapsed` ones and unchanged.
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

    /// Renews a claim while the channel has not answered.
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

    /// Returns a failed claim, so that it can be tried again.
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

    /// Records deliveries, claimed or not.
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

/// The last reported window of every coat.
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

fn all_snoozes(connection: &Connection) -> Result<Vec<Snooze>, Fault> {
    let mut statement = connection.prepare("SELECT alert, since, until FROM snooze ORDER BY alert")?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let (since, until) = (moment(row.get(1)?)?, moment(row.get(2)?)?);
        all.push(Snooze { alert: AlertId(row.get(0)?), since, until });
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
        // A channel of a later version is ignored here.
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

/// Writes an alert unchanged.
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

/// Records that a channel took an alert.
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

/// Writes the reported window of a coat.
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
