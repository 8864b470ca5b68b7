//! The dead band: a steady shop does not fill the disk.

use chrono::TimeDelta;

use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, KelvinDelta};

/// A reading is kept at least this often.
const AT_LEAST: TimeDelta = TimeDelta::minutes(30);
/// A change of the humidity, in % RH.
const DAMPER: f64 = 2.0;

/// Which readings to keep, given the last kept one and the last skipped one: none, the new one, or both, if
/// interpolation to the new one would miss the skipped one.
pub fn to_keep(
    last: Option<&Reading>,
    held: Option<&Reading>,
    new: Reading,
    band: KelvinDelta,
) -> Vec<Reading> {
    let Some(last) = last else { return vec![new] };
    if new.at <= last.at {
        return Vec::new();
    }
    if alike(last, &new, band) && new.at - last.at < AT_LEAST {
        return Vec::new();
    }
    let held =
        held.filter(|held| last.at < held.at && held.at < new.at && off_the_line(last, held, &new, band));
    held.copied().into_iter().chain([new]).collect()
}

fn alike(last: &Reading, new: &Reading, band: KelvinDelta) -> bool {
    let near = |a: Celsius, b: Celsius| (a.degrees() - b.degrees()).abs() <= band.kelvin() + 1e-9;
    let surface = match (last.surface, new.surface) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let humidity = match (last.humidity, new.humidity) {
        (Some(a), Some(b)) => (a.percent() - b.percent()).abs() < DAMPER,
        (a, b) => a.is_none() && b.is_none(),
    };
    near(last.air, new.air) && surface && humidity
}

fn off_the_line(last: &Reading, held: &Reading, new: &Reading, band: KelvinDelta) -> bool {
    let seconds = |span: TimeDelta| span.num_milliseconds() as f64;
    let share = seconds(held.at - last.at) / seconds(new.at - last.at);
    let line = last.air.degrees() + share * (new.air.degrees() - last.air.degrees());
    (line - held.air.degrees()).abs() > band.kelvin() / 2.0
}
