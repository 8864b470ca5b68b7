//! Readings packed into blocks of four hours, so that reading some days costs the same in a job of a week and
//! of ten years.
//!
//! A packed reading has sixteen bytes, little-endian: the second within its block, the humidity in
//! hundredths of a per cent, the air and the surface in thousandths of a °C, and the entry that it came
//! in with (0 for none). A block is sorted by time, and at one moment by entry. This file knows no SQL.

use chrono::{DateTime, NaiveTime};

use super::error::Fault;
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Humidity};

/// A day is a whole number of blocks, so that a block has one date.
const BLOCK_SECONDS: i64 = 14_400;
const SIZE: usize = 16;
const NO_HUMIDITY: u16 = u16::MAX;
const NO_SURFACE: i32 = i32::MIN;

/// A reading in a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Packed {
    pub(super) second: u16,
    humidity: u16,
    air: i32,
    surface: i32,
    pub(super) origin: u32,
}

/// The block of a second of Unix time.
pub(super) const fn block_of(second: i64) -> i64 {
    second.div_euclid(BLOCK_SECONDS)
}

/// The Unix time of a reading in a block.
pub(super) const fn second_of(block: i64, packed: &Packed) -> i64 {
    block.saturating_mul(BLOCK_SECONDS).saturating_add(packed.second as i64)
}

impl Packed {
    /// The block and the packed form of a reading; None if the air is impossible. An impossible humidity or
    /// surface is dropped.
    pub(super) fn new(reading: &Reading) -> Option<(i64, Self)> {
        let second = reading.at.timestamp();
        let humidity =
            reading.humidity.map(Humidity::percent).filter(|percent| (0.0..=100.0).contains(percent));
        let packed = Self {
            second: second.rem_euclid(BLOCK_SECONDS) as u16,
            humidity: humidity.map_or(NO_HUMIDITY, |percent| (percent * 100.0).round() as u16),
            air: thousandths(reading.air)?,
            surface: reading.surface.and_then(thousandths).unwrap_or(NO_SURFACE),
            origin: 0,
        };
        Some((block_of(second), packed))
    }

    /// Whether both have the same values, whatever their source.
    pub(super) fn says_the_same(&self, other: &Self) -> bool {
        Self { origin: 0, ..*self } == Self { origin: 0, ..*other }
    }

    /// Whether its values are valid for [`Packed::new`].
    fn can_be(&self) -> bool {
        let temperature = |thousandths: i32| Celsius::new(f64::from(thousandths) / 1e3).plausible().is_ok();
        temperature(self.air)
            && (self.surface == NO_SURFACE || temperature(self.surface))
            && (!self.has_humidity() || self.humidity <= 10_000)
    }

    pub(super) fn has_humidity(&self) -> bool {
        self.humidity != NO_HUMIDITY
    }
}

fn thousandths(temperature: Celsius) -> Option<i32> {
    temperature.plausible().ok().map(|temperature| (temperature.degrees() * 1000.0).round() as i32)
}

/// The readings of a block.
pub(super) fn readings(block: i64, packed: &[Packed]) -> Result<impl Iterator<Item = Reading>, Fault> {
    let start = block.checked_mul(BLOCK_SECONDS).and_then(|start| DateTime::from_timestamp(start, 0));
    let date = start.ok_or_else(|| Fault::damaged("readings outside the valid time"))?.date_naive();
    let start = (block * BLOCK_SECONDS).rem_euclid(86_400) as u32;
    Ok(packed.iter().map(move |packed| {
        let time = NaiveTime::from_num_seconds_from_midnight_opt(start + u32::from(packed.second), 0);
        Reading {
            at: date.and_time(time.unwrap_or_default()).and_utc(),
            air: Celsius::new(f64::from(packed.air) / 1e3),
            humidity: packed
                .has_humidity()
                .then(|| Humidity::from_fraction(f64::from(packed.humidity) / 1e4)),
            surface: (packed.surface != NO_SURFACE).then(|| Celsius::new(f64::from(packed.surface) / 1e3)),
        }
    }))
}

/// The bytes of a block.
pub(super) fn encode(block: &[Packed]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(block.len() * SIZE);
    for packed in block {
        bytes.extend_from_slice(&packed.second.to_le_bytes());
        bytes.extend_from_slice(&packed.humidity.to_le_bytes());
        bytes.extend_from_slice(&packed.air.to_le_bytes());
        bytes.extend_from_slice(&packed.surface.to_le_bytes());
        bytes.extend_from_slice(&packed.origin.to_le_bytes());
    }
    bytes
}

/// A block from its bytes.
pub(super) fn decode(bytes: &[u8]) -> Result<Vec<Packed>, Fault> {
    let (chunks, rest) = bytes.as_chunks::<SIZE>();
    let block: Vec<Packed> = chunks
        .iter()
        .map(|&[s0, s1, h0, h1, a0, a1, a2, a3, f0, f1, f2, f3, o0, o1, o2, o3]| Packed {
            second: u16::from_le_bytes([s0, s1]),
            humidity: u16::from_le_bytes([h0, h1]),
            air: i32::from_le_bytes([a0, a1, a2, a3]),
            surface: i32::from_le_bytes([f0, f1, f2, f3]),
            origin: u32::from_le_bytes([o0, o1, o2, o3]),
        })
        .collect();
    let in_order = block.is_sorted_by_key(|packed| (packed.second, packed.origin));
    let inside = block.last().is_none_or(|last| i64::from(last.second) < BLOCK_SECONDS);
    if !rest.is_empty() || !in_order || !inside {
        return Err(Fault::damaged("a block of readings is incomplete"));
    }
    if !block.iter().all(Packed::can_be) {
        return Err(Fault::damaged("a reading with an impossible value"));
    }
    Ok(block)
}

/// The first and the last moment of every hour of a block, with all its readings.
pub(super) fn hourly(block: Vec<Packed>) -> Vec<Packed> {
    let mut kept: Vec<Packed> = Vec::new();
    for hour in block.chunk_by(|a, b| a.second / 3600 == b.second / 3600) {
        let (Some(first), Some(last)) = (hour.first(), hour.last()) else { continue };
        kept.extend(hour.iter().filter(|packed| [first.second, last.second].contains(&packed.second)));
    }
    kept
}

/// Adds readings to a block in the given order, and counts the new ones. With `unless_said` a reading is
/// skipped if one that counts has the same values.
pub(super) fn merge(
    block: &mut Vec<Packed>,
    mut fresh: Vec<Packed>,
    unless_said: Option<impl Fn(u32) -> bool>,
) -> u64 {
    // Stable: of two lines for the same moment the later one stays later.
    fresh.sort_by_key(|packed| packed.second);
    let before = block.len();
    for packed in fresh {
        let moment = block.partition_point(|stored| stored.second < packed.second);
        let mut at_moment = block[moment..].iter().take_while(|stored| stored.second == packed.second);
        if let Some(counts) = &unless_said
            && at_moment.any(|stored| stored.says_the_same(&packed) && counts(stored.origin))
        {
            continue;
        }
        let key = (packed.second, packed.origin);
        let after = block.partition_point(|stored| (stored.second, stored.origin) <= key);
        block.insert(after, packed);
    }
    (block.len() - before) as u64
}
