//! What would be safe: how much in a cup, how deep in a tray, how cool.

use chrono::TimeDelta;

use super::hazard::{HOT, Hazard};
use super::kinetics::Kinetics;
use super::self_heating::Portion;
use super::vessel::Vessel;
use crate::engine::cure::AirLine;
use crate::engine::units::{Celsius, Grams, Millimetres};

/// What would be safe, each by itself; None where it does not help.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Safer {
    /// So much at a time in a cup.
    pub cup: Option<Grams>,
    /// The whole batch in a tray, no deeper than this.
    pub tray: Option<Millimetres>,
    /// The whole batch in the same vessel, mixed from parts no warmer than this.
    pub cooler: Option<Celsius>,
}

/// Trays between these depths are of use: thinner is a film, deeper is no tray.
const TRAY: (f64, f64) = (2.0, 50.0);

impl Kinetics {
    /// Whether a batch stays below [`HOT`] while it is worked with, and is usable so long at least. What is not
    /// trusted is not.
    fn is_safe(&self, portion: &Portion, air: &AirLine, at_least: TimeDelta) -> bool {
        self.end_and_peak(portion, air)
            .is_some_and(|(end, peak)| peak < HOT.kelvin() && end >= at_least.as_seconds_f64())
    }

    /// The largest batch in a vessel that is not dangerous in this air and is usable so long at least, of what
    /// the model is trusted with; rounded down to two digits. None where not even the smallest is.
    pub fn largest_batch(
        &self,
        vessel: Vessel,
        temperature: Option<Celsius>,
        air: &AirLine,
        at_least: TimeDelta,
    ) -> Option<Grams> {
        let (least, most) = self.trusted_masses();
        let safe = |ln: f64| {
            let portion = Portion { mass: Grams::new(ln.exp()), vessel, temperature };
            self.is_safe(&portion, air, at_least)
        };
        let ln = greatest(least.grams().ln(), most.grams().ln(), safe)?;
        Some(Grams::new(two_digits(ln.exp())))
    }

    /// What would be safe instead of a batch that is not, each found by trying in this air.
    pub fn safer(&self, portion: &Portion, air: &AirLine, at_least: TimeDelta) -> Safer {
        let temperature = portion.temperature;
        let cup = self.largest_batch(Vessel::Cup, temperature, air, at_least);
        let cup = cup.filter(|mass| *mass < portion.mass);
        let depth = |depth: f64| Vessel::Tray { depth_mm: Millimetres::new(depth) };
        let in_tray = |millimetres| Portion { vessel: depth(millimetres), ..*portion };
        // Best a tray in which it stays calm even if it is left; else one in which it can be worked with.
        let calm = |portion: &Portion| {
            self.self_heating(portion, air)
                .is_some_and(|self_heating| Hazard::of(&self_heating) == Hazard::Calm)
        };
        let tray = greatest(TRAY.0, TRAY.1, |mm| {
            let portion = in_tray(mm);
            self.is_safe(&portion, air, at_least) && calm(&portion)
        });
        let tray = tray.or_else(|| greatest(TRAY.0, TRAY.1, |mm| self.is_safe(&in_tray(mm), air, at_least)));
        let started = temperature.unwrap_or_else(|| air.at(TimeDelta::zero()));
        let coolest = self.temperatures.0;
        let cooler = greatest(coolest.degrees(), started.degrees(), |degrees| {
            let temperature = Some(Celsius::new(degrees));
            self.is_safe(&Portion { temperature, ..*portion }, air, at_least)
        });
        let cooler = cooler.map(|degrees| Celsius::new(degrees.floor()));
        Safer {
            cup,
            tray: tray.map(|depth| Millimetres::new(depth.floor())),
            cooler: cooler.filter(|cooler| *cooler >= coolest && *cooler < started),
        }
    }
}

/// The greatest number between two at which something holds that holds below it; None where it does not even
/// hold at the least.
fn greatest(least: f64, most: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    if least > most || !holds(least) {
        return None;
    }
    if holds(most) {
        return Some(most);
    }
    let (mut low, mut high) = (least, most);
    for _ in 0..24 {
        let middle = f64::midpoint(low, high);
        if holds(middle) { low = middle } else { high = middle }
    }
    Some(low)
}

/// Rounded down to two digits: 187 g is told as 180 g.
fn two_digits(value: f64) -> f64 {
    let unit = 10f64.powf(value.log10().floor() - 1.0);
    // 10^ln comes back a last digit too low.
    ((value / unit) * (1.0 + 1e-9)).floor() * unit
}
