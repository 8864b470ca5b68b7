//! Light, medium and slow shops over public weather.

use chrono::TimeDelta;
use curewright::engine::air::{VapourPressure, humidity_at, vapour_pressure};
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Humidity, Moment};

/// The air at a full hour: °C, humidity as a fraction, and the sun in W/m².
#[derive(Debug, Clone, Copy)]
pub struct Hour {
    pub air: f64,
    pub damp: f64,
    pub sun: f64,
}

/// A shop of two heat stores, air and walls. Time constants in hours; the sun in W/m² for 1 K/h.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    pub name: &'static str,
    air_to_outside: f64,
    air_to_walls: f64,
    walls_to_air: f64,
    walls_to_outside: f64,
    sun_on_air: f64,
    sun_on_walls: f64,
    /// Of its vapour.
    exchange: f64,
}

pub const KINDS: [Kind; 3] = [
    Kind {
        name: "light",
        air_to_outside: 1.0,
        air_to_walls: 2.0,
        walls_to_air: 3.0,
        walls_to_outside: 4.0,
        sun_on_air: 200.0,
        sun_on_walls: 800.0,
        exchange: 1.0,
    },
    Kind {
        name: "medium",
        air_to_outside: 2.0,
        air_to_walls: 0.7,
        walls_to_air: 6.0,
        walls_to_outside: 9.0,
        sun_on_air: 350.0,
        sun_on_walls: 1500.0,
        exchange: 3.0,
    },
    Kind {
        name: "slow",
        air_to_outside: 12.0,
        air_to_walls: 1.0,
        walls_to_air: 10.0,
        walls_to_outside: 40.0,
        sun_on_air: 1500.0,
        sun_on_walls: 3000.0,
        exchange: 10.0,
    },
];

/// Sources: see `reference/SOURCES.md`.
pub fn climates() -> [Vec<Hour>; 3] {
    [
        include_str!("../../../reference/band/nyc.csv"),
        include_str!("../../../reference/band/sand_point.csv"),
        include_str!("../../../reference/band/miami.csv"),
    ]
    .map(|text| {
        let mut rows = csv::Reader::from_reader(text.as_bytes());
        let hour = |row: Result<(f64, f64, f64), csv::Error>| {
            let (air, percent, sun) = row.unwrap();
            Hour { air, damp: percent / 100.0, sun }
        };
        rows.deserialize().map(hour).collect()
    })
}

/// The typical year of Greensboro, without its sun.
pub fn greensboro() -> Vec<Hour> {
    let mut rows = csv::Reader::from_reader(include_str!("../../../reference/year.csv").as_bytes());
    let hour = |row: Result<(usize, f64, f64), csv::Error>| {
        let (_, air, percent) = row.unwrap();
        Hour { air, damp: percent / 100.0, sun: 0.0 }
    };
    rows.deserialize().map(hour).collect()
}

pub fn at(hour: usize) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::hours(hour as i64)
}

pub fn hour_at(hour: usize, air: &Hour) -> Reading {
    Reading {
        at: at(hour),
        air: Celsius::new(air.air),
        humidity: Some(Humidity::from_fraction(air.damp)),
        surface: None,
    }
}

/// The air of a shop over a year of weather, in steps of two minutes.
pub fn over(outside: &[Hour], kind: &Kind) -> Vec<Hour> {
    const STEPS: usize = 30;
    let vapour = |hour: &Hour| {
        vapour_pressure(Celsius::new(hour.air), Humidity::from_fraction(hour.damp)).hectopascals()
    };
    let start = outside[..48].iter().map(|hour| hour.air).sum::<f64>() / 48.0;
    let (mut air, mut walls, mut damp) = (start, start, vapour(&outside[0]));
    let mut inside = Vec::with_capacity(outside.len());
    for (hour, now) in outside.iter().enumerate() {
        let humidity = humidity_at(VapourPressure::from_hectopascals(damp), Celsius::new(air)).fraction();
        inside.push(Hour { air, damp: humidity.min(1.0), sun: now.sun });
        let next = outside.get(hour + 1).unwrap_or(now);
        let (from, to) = (vapour(now), vapour(next));
        for step in 0..STEPS {
            let share = step as f64 / STEPS as f64;
            let out = now.air + (next.air - now.air) * share;
            let to_air = (out - air) / kind.air_to_outside
                + (walls - air) / kind.air_to_walls
                + now.sun / kind.sun_on_air;
            let to_walls = (air - walls) / kind.walls_to_air
                + (out - walls) / kind.walls_to_outside
                + now.sun / kind.sun_on_walls;
            damp += (from + (to - from) * share - damp) / kind.exchange / STEPS as f64;
            air += to_air / STEPS as f64;
            walls += to_walls / STEPS as f64;
        }
        // What would be more than saturated is dew on the walls.
        let most = vapour_pressure(Celsius::new(air), Humidity::from_fraction(1.0)).hectopascals();
        damp = damp.min(most);
    }
    inside
}

/// Numbers by chance, the same each time.
pub struct Chance(u64);

impl Chance {
    pub const fn of(seed: u64) -> Self {
        Self(seed)
    }

    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}
