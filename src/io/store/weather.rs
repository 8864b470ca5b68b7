//! The outdoor hours, their sources, and the state between two fetches.
//!
//! A newer forecast replaces the older one from its first hour on. Earlier hours keep their last forecast: that
//! is the outdoor record, to which the shop model is fitted.

use rusqlite::{Connection, Row};

use super::error::Fault;
use super::whole::{Forecast, ForecastId};
use super::{Store, StoreError, moment};
use crate::engine::air::{FetchState, KeptForecast, Origin, OutdoorHour, Provenance};
use crate::engine::job::gate;
use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, Moment, clean};

impl Store {
    /// Imports a forecast, all or nothing, and returns its number of hours. It replaces the stored hours from
    /// its first hour on; one that ends before `now` only up to its last hour. `state` is the state for the
    /// next fetch.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn store_forecast(
        &mut self,
        now: Moment,
        hours: &[OutdoorHour],
        provenance: &Provenance,
        state: Option<&FetchState>,
    ) -> Result<usize, StoreError> {
        self.write(|work| {
            let bounds = hours.iter().map(|hour| hour.at.timestamp());
            let Some((first, last)) = bounds.clone().min().zip(bounds.max()) else { return Ok(0) };
            let until = if last < now.timestamp() { last } else { i64::MAX };
            work.execute("DELETE FROM outdoor WHERE at BETWEEN ? AND ?", (first, until))?;
            let id = insert_forecast(work, now, provenance)?;
            let of_it: Vec<(OutdoorHour, ForecastId)> = hours.iter().map(|hour| (*hour, id)).collect();
            insert_hours(work, &of_it)?;
            work.execute("DELETE FROM forecast WHERE id NOT IN (SELECT forecast FROM outdoor)", [])?;
            match state {
                Some(state) => put_state(work, state)?,
                // The last answer is no longer what is stored: it has to be sent again.
                None => {
                    work.execute("UPDATE fetch SET last_modified = NULL, etag = NULL", [])?;
                }
            }
            let kept: i64 =
                work.query_row("SELECT count(*) FROM outdoor WHERE forecast = ?", [id], |row| row.get(0))?;
            Ok(usize::try_from(kept).unwrap_or(0))
        })
    }

    /// The outdoor hours between two moments, inclusive, ascending; preceded by the last one before `from`, for
    /// interpolation.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn outdoor(&self, from: Moment, to: Moment) -> Result<Vec<OutdoorHour>, StoreError> {
        self.outdoor_as_of(from, to, None)
    }

    /// The same as known at a moment: without hours after it that were forecast later. Replaced earlier
    /// forecasts of those hours are not stored.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn outdoor_as_of(
        &self,
        from: Moment,
        to: Moment,
        known: Option<Moment>,
    ) -> Result<Vec<OutdoorHour>, StoreError> {
        self.read(|connection| {
            let from = from.timestamp() + i64::from(from.timestamp_subsec_nanos() > 0);
            let known = known.map_or(i64::MAX, |known| known.timestamp());
            let mut statement = connection.prepare(
                "SELECT at, air, humidity, rain, wind FROM outdoor \
                 WHERE at <= ?2 AND at >= coalesce((SELECT max(at) FROM outdoor WHERE at < ?1 AND at <= ?2), ?1) \
                 AND (at <= ?3 OR (SELECT taken FROM forecast WHERE id = forecast) <= ?3) \
                 ORDER BY at",
            )?;
            let mut rows = statement.query((from, to.timestamp(), known))?;
            let mut hours = Vec::new();
            while let Some(row) = rows.next()? {
                hours.push(hour(row)?);
            }
            Ok(hours)
        })
    }

    /// The forecast that reaches furthest ahead; None without any.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn forecast(&self) -> Result<Option<KeptForecast>, StoreError> {
        self.read(|connection| {
            let mut statement = connection.prepare(
                "SELECT taken, made, origin, name, met_norway, \
                 (SELECT min(at) FROM outdoor WHERE forecast = id) AS first, \
                 (SELECT max(at) FROM outdoor WHERE forecast = id) AS last \
                 FROM forecast WHERE id = (SELECT forecast FROM outdoor ORDER BY at DESC LIMIT 1)",
            )?;
            let mut rows = statement.query([])?;
            rows.next()?.map(kept).transpose()
        })
    }

    /// When the forecast that reaches furthest ahead was made or, if unknown, imported.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn forecast_at(&self) -> Result<Option<Moment>, StoreError> {
        Ok(self.forecast()?.map(|kept| kept.provenance.made.unwrap_or(kept.taken)))
    }

    /// The state of the last fetch.
    ///
    /// # Errors
    /// [`StoreError`] where the file cannot be read.
    pub fn fetch_state(&self) -> Result<FetchState, StoreError> {
        self.read(|connection| {
            let mut statement = connection.prepare(
                "SELECT url, fetched, expires, last_modified, etag, tried, held_until, failures, error FROM fetch",
            )?;
            let mut rows = statement.query([])?;
            rows.next()?.map_or_else(|| Ok(FetchState::default()), state)
        })
    }

    /// Stores the state of a fetch without a new forecast. If the service confirmed the last one, it was last
    /// confirmed at `confirmed`.
    ///
    /// # Errors
    /// [`StoreError`] says what is in the way.
    pub fn note_fetch(&mut self, state: &FetchState, confirmed: Option<Moment>) -> Result<(), StoreError> {
        self.write(|work| {
            if let Some(confirmed) = confirmed {
                work.execute(
                    "UPDATE forecast SET taken = ? WHERE origin = 'service' \
                     AND id = (SELECT forecast FROM outdoor ORDER BY at DESC LIMIT 1)",
                    [confirmed.timestamp()],
                )?;
            }
            put_state(work, state)
        })
    }
}

fn insert_forecast(work: &Connection, now: Moment, provenance: &Provenance) -> Result<i64, Fault> {
    insert_numbered(work, None, now, provenance)?;
    Ok(work.last_insert_rowid())
}

/// Writes the source of outdoor hours unchanged.
pub(super) fn insert_kept(work: &Connection, forecast: &Forecast) -> Result<(), Fault> {
    insert_numbered(work, Some(forecast.id), forecast.taken, &forecast.provenance)
}

fn insert_numbered(
    work: &Connection,
    id: Option<ForecastId>,
    taken: Moment,
    provenance: &Provenance,
) -> Result<(), Fault> {
    let (origin, name) = match &provenance.origin {
        Origin::File(name) => ("file", name),
        Origin::Service(name) => ("service", name),
    };
    gate::name("forecast", name)?;
    let made = provenance.made.map(|made| made.timestamp());
    work.execute(
        "INSERT INTO forecast (id, taken, made, origin, name, met_norway) VALUES (?, ?, ?, ?, ?, ?)",
        (id, taken.timestamp(), made, origin, name, provenance.met_norway),
    )?;
    Ok(())
}

/// Writes outdoor hours; of two at the same moment the later one stays.
pub(super) fn insert_hours(work: &Connection, hours: &[(OutdoorHour, ForecastId)]) -> Result<(), Fault> {
    let mut insert = work.prepare(
        "INSERT OR REPLACE INTO outdoor (at, air, humidity, rain, wind, forecast) VALUES (?, ?, ?, ?, ?, ?)",
    )?;
    for (hour, forecast) in hours {
        check(hour)?;
        insert.execute((
            hour.at.timestamp(),
            hour.air.degrees(),
            hour.humidity.map(Humidity::fraction),
            hour.rain.map(Millimetres::millimetres),
            hour.wind.map(MetresPerSecond::metres_per_second),
            forecast,
        ))?;
    }
    Ok(())
}

/// The sources of the outdoor hours, by number.
pub(super) fn forecasts(connection: &Connection) -> Result<Vec<Forecast>, Fault> {
    let query = "SELECT id, taken, made, origin, name, met_norway FROM forecast ORDER BY id";
    let mut statement = connection.prepare(query)?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let (id, taken) = (row.get("id")?, moment(row.get("taken")?)?);
        all.push(Forecast { id, taken, provenance: provenance(row)? });
    }
    Ok(all)
}

/// Every outdoor hour, for [`outdoor_of_row`].
pub(super) const ALL_OUTDOOR: &str =
    "SELECT at, air, humidity, rain, wind, forecast FROM outdoor ORDER BY at";

/// Every outdoor hour, in order of time, with the forecast it is from.
pub(super) fn all_outdoor(connection: &Connection) -> Result<Vec<(OutdoorHour, ForecastId)>, Fault> {
    let mut statement = connection.prepare(ALL_OUTDOOR)?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        all.push(outdoor_of_row(row)?);
    }
    Ok(all)
}

/// The hour of a row, with its forecast.
pub(super) fn outdoor_of_row(row: &Row<'_>) -> Result<(OutdoorHour, ForecastId), Fault> {
    Ok((hour(row)?, row.get("forecast")?))
}

fn put_state(work: &Connection, state: &FetchState) -> Result<(), Fault> {
    let second = |moment: Option<Moment>| moment.map(|moment| moment.timestamp());
    work.execute(
        "INSERT OR REPLACE INTO fetch \
         (one, url, fetched, expires, last_modified, etag, tried, held_until, failures, error) \
         VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            &state.url,
            second(state.fetched),
            second(state.expires),
            &state.last_modified,
            &state.etag,
            second(state.tried),
            second(state.held_until),
            state.failures,
            &state.error,
        ),
    )?;
    Ok(())
}

/// A value that is not a number could not be read again.
fn check(hour: &OutdoorHour) -> Result<(), Fault> {
    let well = hour.air.plausible().is_ok()
        && hour.humidity.is_none_or(|humidity| (0.0..=1.0).contains(&humidity.fraction()))
        && hour.rain.is_none_or(|rain| (0.0..=1e6).contains(&rain.millimetres()))
        && hour.wind.is_none_or(|wind| (0.0..=1e6).contains(&wind.metres_per_second()));
    if well { Ok(()) } else { Err(Fault::Unwritable("an outdoor hour with an invalid number")) }
}

fn hour(row: &Row<'_>) -> Result<OutdoorHour, Fault> {
    let figure = |name: &str| row.get::<_, Option<f64>>(name);
    let hour = OutdoorHour {
        at: moment(row.get("at")?)?,
        air: Celsius::new(row.get("air")?),
        humidity: figure("humidity")?.map(Humidity::from_fraction),
        rain: figure("rain")?.map(Millimetres::new),
        wind: figure("wind")?.map(MetresPerSecond::new),
    };
    check(&hour).map_err(|_| Fault::damaged("an outdoor hour with an invalid number"))?;
    Ok(hour)
}

fn kept(row: &Row<'_>) -> Result<KeptForecast, Fault> {
    Ok(KeptForecast {
        provenance: provenance(row)?,
        taken: moment(row.get("taken")?)?,
        from: moment(row.get("first")?)?,
        to: moment(row.get("last")?)?,
    })
}

fn provenance(row: &Row<'_>) -> Result<Provenance, Fault> {
    let name = clean(&row.get::<_, String>("name")?);
    let origin: String = row.get("origin")?;
    let made: Option<i64> = row.get("made")?;
    Ok(Provenance {
        origin: if origin == "service" { Origin::Service(name) } else { Origin::File(name) },
        made: made.map(moment).transpose()?,
        met_norway: row.get("met_norway")?,
    })
}

fn state(row: &Row<'_>) -> Result<FetchState, Fault> {
    let second = |name: &str| row.get::<_, Option<i64>>(name);
    Ok(FetchState {
        url: row.get("url")?,
        fetched: second("fetched")?.map(moment).transpose()?,
        expires: second("expires")?.map(moment).transpose()?,
        last_modified: row.get("last_modified")?,
        etag: row.get("etag")?,
        tried: second("tried")?.map(moment).transpose()?,
        held_until: second("held_until")?.map(moment).transpose()?,
        failures: row.get("failures")?,
        error: row.get::<_, Option<String>>("error")?.as_deref().map(clean),
    })
}
