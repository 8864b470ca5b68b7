//! Calibrates the kinetics to the pot lives of a profile.

use std::cell::RefCell;

use chrono::TimeDelta;

use super::kinetics::{Kinetics, Warmth};
use super::self_heating::Portion;
use super::vessel::Vessel;
use crate::engine::cure::AirLine;
use crate::engine::profile::{Point, PotLife, Product};
use crate::engine::units::{ActivationEnergy, Celsius, KelvinDelta, Percent};

/// Adiabatic temperature rise of pure resin over its working life, if two masses do not show it. Estimates, no
/// source; on the high side. For epoxy see [`super::self_heating::REACTION`]; a coating polyurethane has about
/// half of an epoxy's heat per gram.
const EPOXY: f64 = 50.0;
const POLYURETHANE: f64 = 25.0;
const OTHERS: f64 = 60.0;
/// Upper limit of the temperature rise over the working life; an estimate.
const MOST: f64 = 200.0;
/// Tolerance in ln(time).
const CLOSE: f64 = 1e-9;

impl Kinetics {
    /// The kinetics of a product. None if it is not mixed.
    pub fn of(product: &Product) -> Option<Self> {
        let solids = product.film.as_ref().and_then(|film| film.volume_solids);
        let usual = usual_warming(&product.family, solids);
        Self::calibrate(&product.pot_life, product.activation_energy, usual)
    }

    /// The kinetics that reproduce the smallest portion's pot lives exactly, in a cup, with air and parts at
    /// the temperature of the table. If there are larger portions, W is fitted to them; otherwise it is
    /// `usual`.
    pub fn calibrate(lives: &[PotLife], energy: ActivationEnergy, usual: KelvinDelta) -> Option<Self> {
        let first = lives.iter().min_by(|a, b| a.mass.grams().total_cmp(&b.mass.grams()))?;
        let others: Vec<&PotLife> = lives.iter().filter(|life| life.mass > first.mass).collect();
        let largest = others.iter().map(|life| life.mass).fold(first.mass, |a, b| if b > a { b } else { a });
        let table = Table { life: first, energy };
        let fitted = table.fitted(&others);
        let found = fitted.or_else(|| {
            let kinetics = table.solve(usual.kelvin(), &mut table.guess())?;
            Some((kinetics, Warmth::Usual))
        });
        let (kinetics, warmth) = found.or_else(|| {
            let cold = Self::new(&table.points(&table.guess().lives), energy, KelvinDelta::new(0.0))?;
            Some((cold, Warmth::None))
        })?;
        let points = lives.iter().flat_map(|life| life.times.points()).map(|point| point.at);
        let (coolest, warmest) = points
            .fold((kinetics.temperatures.0, kinetics.temperatures.1), |ends, at| {
                (if at < ends.0 { at } else { ends.0 }, if at > ends.1 { at } else { ends.1 })
            });
        let mut kinetics = kinetics;
        kinetics.warmth = warmth;
        kinetics.masses = (first.mass, largest);
        kinetics.temperatures = (coolest, warmest);
        Some(kinetics)
    }
}

/// The assumed temperature rise of a product of this family and volume solids. Without solids it counts as pure
/// resin.
pub(super) fn usual_warming(family: &str, solids: Option<Percent>) -> KelvinDelta {
    let resin = match family {
        "epoxy" => EPOXY,
        "polyurethane" => POLYURETHANE,
        _ => OTHERS,
    };
    KelvinDelta::new(resin * solids.map_or(1.0, |solids| solids.percent() / 100.0))
}

/// One portion's pot lives, to be reproduced.
struct Table<'a> {
    life: &'a PotLife,
    energy: ActivationEnergy,
}

/// The current guess.
struct Guess {
    /// ln(1/k) at the temperatures of the table.
    lives: Vec<f64>,
    /// Derivative of each miss by each ln(1/k); empty if unknown.
    slopes: Vec<Vec<f64>>,
}

impl Table<'_> {
    /// A batch without self-heating.
    fn guess(&self) -> Guess {
        let lives = self.life.times.points().iter().map(|point| ln_seconds(point.time)).collect();
        Guess { lives, slopes: Vec::new() }
    }

    fn points(&self, lives: &[f64]) -> Vec<(Celsius, f64)> {
        self.life.times.points().iter().zip(lives).map(|(point, ln)| (point.at, ln.exp())).collect()
    }

    /// The kinetics with this W that reproduce the table, by Newton's method from a guess, which is updated.
    /// The Jacobian is kept while it converges.
    fn solve(&self, warming: f64, guess: &mut Guess) -> Option<Kinetics> {
        let make = |lives: &[f64]| Kinetics::new(&self.points(lives), self.energy, KelvinDelta::new(warming));
        let mut before = f64::INFINITY;
        for _ in 0..60 {
            let kinetics = make(&guess.lives)?;
            let misses = misses(&kinetics, self.life)?;
            let worst = misses.iter().fold(0.0f64, |worst, miss| worst.max(miss.abs()));
            if worst < CLOSE {
                return Some(kinetics);
            }
            if guess.slopes.is_empty() || worst > before * 0.3 {
                guess.slopes = self.slopes(&guess.lives, &misses, make)?;
            }
            before = worst;
            let with_miss =
                guess.slopes.iter().zip(&misses).map(|(row, miss)| [row.as_slice(), &[-miss]].concat());
            for (life, step) in guess.lives.iter_mut().zip(solve_linear(with_miss.collect())?) {
                *life += step.clamp(-1.0, 1.0);
            }
        }
        None
    }

    /// Derivative of each miss by each ln(1/k).
    fn slopes(
        &self,
        lives: &[f64],
        misses: &[f64],
        make: impl Fn(&[f64]) -> Option<Kinetics>,
    ) -> Option<Vec<Vec<f64>>> {
        let mut rows = vec![Vec::with_capacity(lives.len()); misses.len()];
        for column in 0..lives.len() {
            let mut moved = lives.to_vec();
            moved[column] += NUDGE;
            let moved = self::misses(&make(&moved)?, self.life)?;
            for (row, (after, before)) in rows.iter_mut().zip(moved.iter().zip(misses)) {
                row.push((after - before) / NUDGE);
            }
        }
        Some(rows)
    }

    /// W such that the other portions' pot lives are met on average in ln(time), and the largest miss.
    fn fitted(&self, others: &[&PotLife]) -> Option<(Kinetics, Warmth)> {
        if others.is_empty() {
            return None;
        }
        let guess = RefCell::new(self.guess());
        let with = |warming: f64| -> Option<(Kinetics, Vec<f64>)> {
            let kinetics = self.solve(warming, &mut guess.borrow_mut())?;
            let misses: Option<Vec<_>> = others.iter().map(|life| misses(&kinetics, life)).collect();
            Some((kinetics, misses?.concat()))
        };
        let mean = |warming: f64| {
            with(warming).map_or(f64::NAN, |(_, misses)| misses.iter().sum::<f64>() / misses.len() as f64)
        };
        let warming = falling_root(mean, MOST)?;
        let (kinetics, misses) = with(warming)?;
        let worst = misses.iter().fold(0.0f64, |worst, miss| worst.max(miss.abs()));
        Some((kinetics, Warmth::Fitted(worst)))
    }
}

/// The root of a decreasing function that is positive at 0 and negative before `most`, to 1e-8 relative (regula
/// falsi, Illinois variant). None if there is none.
fn falling_root(f: impl Fn(f64) -> f64, most: f64) -> Option<f64> {
    let mut low = (0.0, f(0.0));
    let mut high = (12.5, f(12.5));
    while high.1 > 0.0 && high.0 < most {
        low = high;
        high = (high.0 * 2.0, f(high.0 * 2.0));
    }
    if !(low.1 > 0.0 && high.1 <= 0.0 && high.0 <= most) {
        return None;
    }
    let mut before = None;
    for _ in 0..100 {
        let x = low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1);
        let value = f(x);
        if value.abs() < 1e-8 {
            return Some(x);
        }
        let above = value > 0.0;
        let again = before == Some(above);
        if above {
            low = (x, value);
            high.1 *= if again { 0.5 } else { 1.0 };
        } else if value < 0.0 {
            high = (x, value);
            low.1 *= if again { 0.5 } else { 1.0 };
        } else {
            return None;
        }
        before = Some(above);
    }
    None
}

/// Step of ln(1/k) for the numerical derivative.
const NUDGE: f64 = 1e-5;

/// The misses of the model at each pot life of a portion, in ln(time); positive if it lasts longer.
fn misses(kinetics: &Kinetics, life: &PotLife) -> Option<Vec<f64>> {
    let portion = Portion { mass: life.mass, vessel: Vessel::Cup, temperature: None };
    let miss = |point: &Point| {
        let (end, _) = kinetics.end_and_peak(&portion, &AirLine::steady(point.at))?;
        Some(end.ln() - ln_seconds(point.time))
    };
    life.times.points().iter().map(miss).collect()
}

fn ln_seconds(time: TimeDelta) -> f64 {
    time.as_seconds_f64().ln()
}

/// Solves a small linear system, each row with its right side last, by elimination with pivoting. None if it is
/// singular.
fn solve_linear(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let count = rows.len();
    for column in 0..count {
        let best =
            (column..count).max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))?;
        rows.swap(column, best);
        let pivot = rows[column].clone();
        for row in rows.iter_mut().enumerate().filter(|(index, _)| *index != column).map(|(_, row)| row) {
            let share = row[column] / pivot[column];
            row.iter_mut().zip(&pivot).for_each(|(value, above)| *value -= share * above);
        }
    }
    let found: Vec<f64> = rows.iter().enumerate().map(|(index, row)| row[count] / row[index]).collect();
    found.iter().all(|value| value.is_finite()).then_some(found)
}
