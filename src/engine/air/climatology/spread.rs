//! The spread of hours around the mean that stands for them.

use super::{KelvinDelta, VapourPressure};

/// The spread of hours around a mean day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// 0.9 quantile of the temperature deviation.
    pub air: KelvinDelta,
    /// 0.9 quantile of the vapour deviation; None if the humidity was unknown.
    pub vapour: Option<VapourPressure>,
    /// Correlation of the two, 0 if the humidity was unknown.
    pub together: f64,
}

/// The share that is covered.
const COVERED: f64 = 0.9;

impl Spread {
    /// From deviations in kelvin and, if known, hectopascals. Zero without deviations.
    pub fn of(off: impl Iterator<Item = (f64, Option<f64>)>) -> Self {
        let (mut air, mut vapour) = (Vec::new(), Vec::new());
        let (mut both, mut squares) = (0.0, (0.0, 0.0));
        for (kelvin, hectopascals) in off {
            air.push(kelvin.abs());
            if let Some(hectopascals) = hectopascals {
                vapour.push(hectopascals.abs());
                both += kelvin * hectopascals;
                squares = (squares.0 + kelvin * kelvin, squares.1 + hectopascals * hectopascals);
            }
        }
        let size = (squares.0 * squares.1).sqrt();
        Self {
            air: KelvinDelta::new(covered(&mut air).unwrap_or(0.0)),
            vapour: covered(&mut vapour).map(VapourPressure::from_hectopascals),
            together: if size > 0.0 { (both / size).clamp(-1.0, 1.0) } else { 0.0 },
        }
    }
}

/// The 0.9 quantile: nearest rank.
fn covered(values: &mut [f64]) -> Option<f64> {
    let rank = (values.len().checked_sub(1)? as f64 * COVERED).round() as usize;
    Some(*values.select_nth_unstable_by(rank, f64::total_cmp).1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_in_ten_are_within_the_spread_and_the_correlation_is_given() {
        let off = (0..=100).map(|step| (f64::from(step) - 50.0, Some((f64::from(step) - 50.0) * 0.1)));
        let spread = Spread::of(off);
        assert_eq!(spread.air, KelvinDelta::new(45.0));
        assert!((spread.vapour.unwrap().hectopascals() - 4.5).abs() < 1e-12);
        assert!((spread.together - 1.0).abs() < 1e-12);
        let against = Spread::of([(1.0, Some(-1.0)), (-1.0, Some(1.0))].into_iter());
        assert!((against.together + 1.0).abs() < 1e-12);
    }

    #[test]
    fn without_deviations_the_spread_is_zero() {
        let none = Spread::of(std::iter::empty());
        assert_eq!((none.air, none.vapour, none.together), (KelvinDelta::new(0.0), None, 0.0));
        let steady = Spread::of([(0.0, Some(0.0)), (0.0, None)].into_iter());
        assert_eq!(steady.together, 0.0);
    }
}
