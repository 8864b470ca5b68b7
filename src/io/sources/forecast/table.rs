//! A forecast as a table: valid rows are read, invalid ones reported with their line.

use csv::ByteRecord;

use super::columns::{Columns, RainUnit, WindUnit};
use super::settle::{Rain, Step, settle};
use super::{Forecast, ForecastError, Form, HORIZON, MOST_RAIN, MOST_WIND};
use crate::engine::units::{Civil, MetresPerSecond, Moment, clean, split_number};
use crate::io::sources::RowFault;
use crate::io::sources::csv::{FAULTS, check_shape, field_text, humidity, parse_time, rows, temperature};

/// Reads all of it.
pub(super) fn read(bytes: &[u8], civil: &Civil, now: Moment) -> Result<Forecast, ForecastError> {
    let (mut rows, mut lines) = rows(bytes).ok_or(ForecastError::Utf16)?;
    let malformed = |error: csv::Error| ForecastError::Malformed(clean(&error.to_string()));
    let mut row = ByteRecord::new();
    if !rows.read_byte_record(&mut row).map_err(malformed)? {
        return Err(ForecastError::Empty);
    }
    let columns = Columns::of(&row)?;
    let (mut steps, mut faults, mut bad_rows) = (Vec::new(), Vec::new(), 0);
    while rows.read_byte_record(&mut row).map_err(malformed)? {
        if row.iter().all(|field| field.trim_ascii().is_empty()) {
            continue;
        }
        match read_row(&row, &columns, civil, now) {
            Ok(step) => steps.push(step),
            Err(what) => {
                bad_rows += 1;
                if faults.len() < FAULTS {
                    faults.push(RowFault { line: lines.of(&row), what });
                }
            }
        }
    }
    let (hours, notes) = settle(steps, now);
    if hours.is_empty() {
        return Err(ForecastError::NothingUsable { first: faults.first().map(ToString::to_string) });
    }
    Ok(Forecast { hours, made: None, form: Form::Table, notes, faults, bad_rows })
}

fn read_row(row: &ByteRecord, columns: &Columns, civil: &Civil, now: Moment) -> Result<Step, String> {
    check_shape(row, columns.count)?;
    let text = |index: Option<usize>, what: &str| field_text(row, index, what);
    let at =
        parse_time(text(Some(columns.time), "time")?.ok_or("has no time")?, civil).map_err(String::from)?;
    if at > now + HORIZON {
        return Err("is more than 30 days ahead; check the year".into());
    }
    let air = text(Some(columns.air), "temperature")?.ok_or("has no temperature")?;
    let rain = match columns.rain {
        Some((index, unit)) => text(Some(index), "rain")?.map(|text| millimetres(text, unit)).transpose()?,
        None => None,
    };
    let wind = match columns.wind {
        Some((index, unit)) => {
            text(Some(index), "wind")?.map(|text| metres_per_second(text, unit)).transpose()?
        }
        None => None,
    };
    Ok(Step {
        at,
        air: temperature(air, columns.air_unit)?,
        humidity: text(columns.humidity, "humidity")?.map(humidity).transpose()?,
        wind: wind.map(MetresPerSecond::new),
        rain: Rain::UntilNext(rain),
    })
}

/// The rain of a row: "0.4", "0,4 mm", "0.1 in".
fn millimetres(text: &str, unit: RainUnit) -> Result<f64, String> {
    let read = split_number(text).and_then(|(number, behind)| {
        let unit = if behind.is_empty() { Some(unit) } else { RainUnit::of(behind) };
        unit.map(|unit| number * unit.millimetres())
    });
    let rain = read.ok_or_else(|| format!("\"{}\" is not rain such as 0.4 (mm)", clean(text)))?;
    if !(0.0..=MOST_RAIN).contains(&rain) {
        return Err(format!("{rain} mm of rain is outside 0…{MOST_RAIN} mm; check the unit"));
    }
    Ok(rain)
}

/// The wind of a row: "3", "3,5 m/s", "12 km/h".
fn metres_per_second(text: &str, unit: WindUnit) -> Result<f64, String> {
    let read = split_number(text).and_then(|(number, behind)| {
        let unit = if behind.is_empty() { Some(unit) } else { WindUnit::of(behind) };
        unit.map(|unit| number * unit.metres_per_second())
    });
    let wind = read.ok_or_else(|| format!("\"{}\" is not a wind such as 3.5 (m/s)", clean(text)))?;
    if !(0.0..=MOST_WIND).contains(&wind) {
        return Err(format!("{wind:.1} m/s of wind is outside 0…{MOST_WIND} m/s; check the unit"));
    }
    Ok(wind)
}
