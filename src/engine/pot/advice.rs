//! Safe alternatives: mass in a cup, depth in a tray, temperature.

use chrono::TimeDelta;

use super::hazard::{HOT, Hazard};
use super::kinetics::Kinetics;
use super::self_heating::Portion;
use super::vessel::Vessel;
use crate::engine::cure::AirLine;
use crate::engine::units::{Celsius, Grams, Millimetres};

/// Safe alternatives, each by itself; None if it does not help.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Safer {
    /// Largest mass in a cup at a time.
    pub cup: Option<Grams>,
    /// The whole batch in a tray, at most this deep.
    pub tray: Option<Millimetres>,
    /// The whole batch in the same vessel, with parts no warmer than this.
    pub cooler: Option<Celsius>,
}

/// Useful depths of a tray in millimetres: thinner is a film, deeper is a pot.
const TRAY: (f64, f64) = (2.0, 50.0);

impl Kinetics {
    /// Whether a batch stays below [`HOT`] during use and is usable for at least `at_least`. False outside the
    /// model's range.
    fn is_safe(&self, portion: &Portion, air: &AirLine, at_least: TimeDelta) -> bool {
        self.end_and_peak(portion, air)
            .is_some_and(|(end, peak)| peak < HOT.kelvin() && end >= at_least.as_seconds_f64())
    }

    /// The largest batch in a vessel that is not dangerous in this air and is usable for at least `at_least`,
    /// inside the model's range; rounded down to two digits. None if even the smallest is not.
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

    /// Safe alternatives to an unsafe batch, each found by trial in this air.
    pub fn safer(&self, portion: &Portion, air: &AirLine, at_least: TimeDelta) -> Safer {
        let temperature = portion.temperature;
        let cup = self.largest_batch(Vessel::Cup, temperature, air, at_least);
        let cup = cup.filter(|mass| *mass < portion.mass);
        let depth = |depth: f64| Vessel::Tray { depth_mm: Millimetres::new(depth) };
        let in_tray = |millimetres| Portion { vessel: depth(millimetres), ..*portion };
        // Preferred: a tray in which it stays calm even if left; otherwise one in which it can be used.
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

/// The largest number in the range for which a property holds that holds below it; None if it does not hold at
/// the minimum.
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

/// Rounded down to two digits: 187 g becomes 180 g.
fn two_digits(value: f64) -> f64 {
    let unit = 10f64.powf(value.log10().floor() - 1.0);
    // 10^ln may come back one last digit too low.
    ((value / unit) * (1.0 + 1e-9)).floor() * unit
}
