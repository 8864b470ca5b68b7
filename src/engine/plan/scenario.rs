//! Random air of a place for the simulation.
//!
//! The air deviates from the expected by an error of two parts: one that lasts through the whole draw, because seasons
//! differ as a whole, and one with a correlation time of 36 h. That of the
//! temperature grows as after any reading, up to the spread of the record. That of the vapour has the spread of
//! the same record and grows as a first-order autoregression after a known value: its variance after t is that
//! of the record times 1 − e^(−2t/τ). Both have the correlation of the record. The relative humidity follows
//! from the drawn vapour and temperature, at most saturation. Without a record of the vapour it stays at its
//! expected value.

use chrono::TimeDelta;

use super::air::FADES_IN;
use super::planning::Planning;
use crate::engine::air::{SurfaceLine, VapourPressure, humidity_at};
use crate::engine::cure::{History, Outlook, Reading};
use crate::engine::units::{Celsius, KelvinDelta, Moment};

/// The share of the variance that lasts. Of four years of daily means (tests/reference/seattle.csv, without their yearly
/// course) the autocorrelation stays at 0.05 to 0.11 from 7 to 45 days, where that of the fast part is gone; the variance
/// of means of 30 to 90 days gives a share of 0.09 to 0.12.
const LASTING: f64 = 0.1;
/// 90 % of a normal distribution lie within this number of standard deviations.
const NINE_IN_TEN: f64 = 1.645;

/// An hour with its expected values and standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ExpectedHour {
    pub reading: Reading,
    pub off: KelvinDelta,
    pub damp: Option<ExpectedDamp>,
}

/// Its vapour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ExpectedDamp {
    pub vapour: VapourPressure,
    pub off: VapourPressure,
    /// The correlation with the temperature's deviation.
    pub together: f64,
}

/// The distribution of a place's air.
pub(super) struct ScenarioSource {
    hours: Vec<ExpectedHour>,
    lags: Vec<TimeDelta>,
    errors: Outlook,
}

/// The air of a place in one draw.
pub(super) struct Scenario {
    pub history: History,
    surfaces: Vec<(TimeDelta, SurfaceLine)>,
}

impl Scenario {
    pub fn of(readings: Vec<Reading>, lags: &[TimeDelta], errors: Outlook) -> Self {
        let surfaces = lags.iter().map(|lag| (*lag, SurfaceLine::new(&readings, *lag))).collect();
        Self { history: History::new(readings, errors), surfaces }
    }

    /// A surface of the place that follows its air with this lag.
    pub fn surface(&self, lag: TimeDelta) -> Option<&SurfaceLine> {
        self.surfaces.iter().find(|surface| surface.0 == lag).map(|surface| &surface.1)
    }
}

impl Planning<'_> {
    /// The distribution of a place's air up to a moment.
    pub(super) fn scenario_source(&self, place: usize, until: Moment) -> ScenarioSource {
        let here = self.input().areas.iter().filter(|area| area.place == place);
        let mut lags: Vec<TimeDelta> = here.map(|area| area.surface_lag).collect();
        lags.sort_unstable();
        lags.dedup();
        let air = &self.air[place];
        ScenarioSource {
            hours: air.hours(NINE_IN_TEN).take_while(|hour| hour.reading.at <= until).collect(),
            lags,
            errors: air.line().outlook().clone(),
        }
    }
}

impl ScenarioSource {
    pub fn draw(&self, chance: &mut Chance) -> Scenario {
        let fade = (-1.0 / FADES_IN).exp();
        let fresh = (1.0 - fade * fade).sqrt();
        let lasting = chance.normals();
        let mut fast = chance.normals();
        let mut readings = Vec::with_capacity(self.hours.len());
        let (share, rest) = (LASTING.sqrt(), (1.0 - LASTING).sqrt());
        for hour in &self.hours {
            let error = (share * lasting.0 + rest * fast.0, share * lasting.1 + rest * fast.1);
            let air = Celsius::new(hour.reading.air.degrees() + error.0 * hour.off.kelvin());
            let humidity = hour.damp.map(|damp| {
                let own = (1.0 - damp.together * damp.together).max(0.0).sqrt();
                let off = damp.together * error.0 + own * error.1;
                let vapour = damp.vapour.hectopascals() + off * damp.off.hectopascals();
                humidity_at(VapourPressure::from_hectopascals(vapour.max(0.0)), air)
            });
            readings.push(Reading { at: hour.reading.at, air, humidity, surface: None });
            let next = chance.normals();
            fast = (fast.0 * fade + next.0 * fresh, fast.1 * fade + next.1 * fresh);
        }
        Scenario::of(readings, &self.lags, self.errors.clone())
    }
}

pub(super) struct Chance(fastrand::Rng);

impl Chance {
    pub fn of(seed: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed))
    }

    /// A sample of the standard normal distribution.
    pub fn normal(&mut self) -> f64 {
        self.normals().0
    }

    /// Two samples of the standard normal distribution (Box and Muller, 1958).
    fn normals(&mut self) -> (f64, f64) {
        let (a, b) = (1.0 - self.0.f64(), self.0.f64());
        let (sine, cosine) = (std::f64::consts::TAU * b).sin_cos();
        let size = (-2.0 * a.ln()).sqrt();
        (size * cosine, size * sine)
    }
}

#[cfg(test)]
mod tests;
