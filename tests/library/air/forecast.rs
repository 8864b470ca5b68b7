//! The coverage of predictions from a forecast that is itself wrong.
//!
//! The weather and the shops are those of `shop.rs` and `attic.rs`. No public record was found that holds old
//! forecasts beside a shop, so the forecasts are made here: the true weather, off by as much as is published
//! (see `climate::outdoor_error`), for some hours, for about a day, or to one side all the while.

use chrono::TimeDelta;
use curewright::engine::air::OutdoorHour;
use curewright::engine::air::{outdoor_error, predict_place};
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Moment};

use super::lines::Line;
use super::{attic, shop};

const AHEAD: [usize; 4] = [6, 12, 24, 48];
/// Hours after which an error of the forecast has become another; None: it stays.
const LASTS: [Option<f64>; 3] = [Some(6.0), Some(24.0), None];

/// Numbers by chance, normally distributed, the same each time.
struct Chance(u64);

impl Chance {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// One value an hour, with a variance of one, that forgets itself after this many hours.
    fn wander(&mut self, count: usize, lasts: Option<f64>) -> Vec<f64> {
        let kept = lasts.map_or(1.0, |hours| (-1.0 / hours).exp());
        let mut now = self.normal();
        (0..count)
            .map(|_| {
                let before = now;
                now = now * kept + self.normal() * (1.0 - kept * kept).sqrt();
                before
            })
            .collect()
    }
}

/// One standard deviation of a forecast's error; nine in ten are within 1.645 of them.
fn deviation(hours: usize) -> f64 {
    outdoor_error(TimeDelta::hours(hours as i64)).kelvin() / 1.645
}

/// The weather as a job holds it at `now`: what is past by forecasts of some hours before, what is to come by
/// one made now.
fn told(truth: &Line, now: usize, lasts: Option<f64>, chance: &mut Chance) -> Vec<OutdoorHour> {
    let (past, ahead) = (chance.wander(now + 1, Some(6.0)), chance.wander(truth.len() - now, lasts));
    let hour = |(index, &(at, air)): (usize, &(Moment, Celsius))| {
        let off = match index.checked_sub(now + 1) {
            None => past[index] * deviation(3),
            Some(after) => ahead[after] * deviation(after + 1),
        };
        OutdoorHour { at, air: Celsius::new(air.degrees() + off), humidity: None, rain: None, wind: None }
    };
    truth.iter().enumerate().map(hour).collect()
}

/// The shares of truths inside the whole band, and inside the model's own residual alone.
fn coverage(inside: &Line, outside: &Line, days: usize, every: usize, lasts: Option<f64>) -> [(f64, f64); 4] {
    let mut chance = Chance(7);
    let (mut within, mut alone, mut asked) = ([0; 4], [0; 4], 0);
    for begin in (0..inside.len() - (days + 3) * 24).step_by(every) {
        let end = begin + days * 24 + begin % 24;
        let (truth, inside) = (outside[begin..end + 50].to_vec(), &inside[begin..end + 50]);
        let now = end - begin - 1;
        let read = |&(at, air): &(Moment, Celsius)| Reading { at, air, humidity: None, surface: None };
        let readings: Vec<Reading> = inside[..=now].iter().map(read).collect();
        let outdoor = told(&truth, now, lasts, &mut chance);
        let at = inside[now].0;
        let Ok(foresight) = predict_place(&readings, &outdoor, false, at, at) else { continue };
        asked += 1;
        for (index, &hours) in AHEAD.iter().enumerate() {
            let (moment, truth) = inside[now + hours];
            let point = foresight.points.iter().find(|point| point.at == moment).unwrap();
            let error = (point.air.degrees() - truth.degrees()).abs();
            let model = foresight.model.as_ref().unwrap();
            within[index] += i32::from(error <= point.error.kelvin());
            alone[index] += i32::from(error <= model.residual_after(moment - at).kelvin());
        }
    }
    assert!(asked > 15, "{asked}");
    [0, 1, 2, 3].map(|index: usize| {
        (f64::from(within[index]) / f64::from(asked), f64::from(alone[index]) / f64::from(asked))
    })
}

fn holds(name: &str, inside: &Line, outside: &Line, days: usize, every: usize) {
    for lasts in LASTS {
        let shares = coverage(inside, outside, days, every, lasts);
        let how = lasts.map_or("to one side".into(), |hours| format!("off for {hours} h"));
        let told =
            |part: fn(&(f64, f64)) -> f64| shares.iter().map(move |s| format!("{:.1} %", part(s) * 100.0));
        let (all, alone): (Vec<_>, Vec<_>) = (told(|s| s.0).collect(), told(|s| s.1).collect());
        println!(
            "{name}, forecast {how}: inside {} at {AHEAD:?} h ahead; by the model's residual alone {}",
            all.join(", "),
            alone.join(", ")
        );
        for (share, _) in shares {
            assert!(share >= 0.90, "{name}, {how}: {share}");
        }
    }
}

#[test]
fn with_a_wrong_forecast_nine_in_ten_truths_lie_inside_in_a_made_up_shop() {
    holds("made-up shop", &shop::inside(), &shop::outside(), 7, 35);
}

#[test]
fn with_a_wrong_forecast_nine_in_ten_truths_lie_inside_in_a_real_attic() {
    let (inside, outside) = attic::lines();
    holds("attic", &inside, &outside, 10, 5);
}
