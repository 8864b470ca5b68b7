//! Ordinary differential equations by the Dormand–Prince 5(4) pair of the `ivp` crate: error control, dense
//! output and an event callback.

use ivp::dense::StepInterpolant;
use ivp::ivp::FirstOrderSystem;
use ivp::methods::{DOPRI5, Tolerance};
use ivp::solout::{ControlFlag, SolOut};

/// Tolerance of the local error, relative …
const RELATIVE: f64 = 1e-10;
/// … and absolute, in the unit of each quantity.
const ABSOLUTE: f64 = 1e-10;
/// A longer run is given up.
const STEPS: usize = 200_000;

/// A completed step.
pub struct Step<'a, const N: usize> {
    /// Its start.
    pub from: (f64, [f64; N]),
    /// Its end.
    pub to: (f64, [f64; N]),
    dense: Option<&'a StepInterpolant<'a>>,
}

impl<const N: usize> Step<'_, N> {
    /// The quantities at a point inside the step.
    pub fn at(&self, x: f64) -> [f64; N] {
        let mut y = [f64::NAN; N];
        match self.dense {
            Some(dense) => dense.interpolate(x, &mut y),
            None => y = self.to.1,
        }
        y
    }

    /// The first point inside the step at which a condition holds that does not hold at its start; the end of
    /// the step if it never does.
    pub fn first(&self, holds: impl Fn(f64, &[f64; N]) -> bool) -> f64 {
        let (mut before, mut after) = (self.from.0, self.to.0);
        for _ in 0..50 {
            let middle = f64::midpoint(before, after);
            if holds(middle, &self.at(middle)) { after = middle } else { before = middle }
        }
        after
    }
}

/// The answer of the callback after a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Watch {
    /// Go on.
    On,
    /// End here.
    Stop,
}

/// A system of N quantities.
struct System<const N: usize, F>(F);

impl<const N: usize, F: Fn(f64, &[f64; N]) -> [f64; N]> FirstOrderSystem for System<N, F> {
    fn derivative(&self, x: f64, y: &[f64], dydx: &mut [f64]) {
        let mut state = [0.0; N];
        state.copy_from_slice(y);
        dydx.copy_from_slice(&(self.0)(x, &state));
    }
}

struct ProgressSink<const N: usize, W> {
    last: (f64, [f64; N]),
    watch: W,
}

impl<const N: usize, W: FnMut(&Step<'_, N>) -> Watch> SolOut for ProgressSink<N, W> {
    fn solout(
        &mut self,
        _: f64,
        x: &mut f64,
        y: &mut [f64],
        dense: Option<&StepInterpolant<'_>>,
    ) -> ControlFlag {
        let mut state = [0.0; N];
        state.copy_from_slice(y);
        let step = Step { from: self.last, to: (*x, state), dense };
        self.last = step.to;
        // The run begins with a step of zero length.
        if dense.is_some() && (self.watch)(&step) == Watch::Stop {
            return ControlFlag::Interrupt;
        }
        ControlFlag::Continue
    }
}

/// Integrates dy/dx = `rates`(x, y) from x = `from`, y = `start` to x = `to` and returns the end. `watch` sees
/// every step. None if it fails: not a number, a pole, too many steps.
pub fn follow<const N: usize>(
    rates: impl Fn(f64, &[f64; N]) -> [f64; N],
    (from, start): (f64, [f64; N]),
    to: f64,
    watch: impl FnMut(&Step<'_, N>) -> Watch,
) -> Option<(f64, [f64; N])> {
    let sound = from.is_finite() && to.is_finite() && start.iter().all(|value| value.is_finite());
    if !sound {
        return None;
    }
    if to <= from {
        return Some((from, start));
    }
    // A thin tray follows the air closely, so steps are short; that is no reason to stop.
    let solver = DOPRI5 { max_steps: STEPS, stiff_test: usize::MAX, ..DOPRI5::default() };
    let system = System(rates);
    let mut watcher = ProgressSink { last: (from, start), watch };
    let (relative, absolute) = (Tolerance::Scalar(RELATIVE), Tolerance::Scalar(ABSOLUTE));
    let run = solver.solve(&system, from, &start, to, relative, absolute, Some(&mut watcher)).ok()?;
    let (x, y) = watcher.last;
    (run.is_ok() && y.iter().all(|value| value.is_finite())).then_some((x, y))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decay_is_the_exponential() {
        let (x, [y]) = follow(|_, [y]| [-y], (0.0, [1.0]), 3.0, |_| Watch::On).unwrap();
        assert_eq!(x, 3.0);
        assert!((y * 3f64.exp() - 1.0).abs() < 1e-8, "{y}");
    }

    #[test]
    fn the_callback_ends_the_run_and_finds_the_point_inside_the_step() {
        let mut found = f64::NAN;
        let low = |_: f64, [y]: &[f64; 1]| *y < 0.5;
        let ended = follow(
            |_, [y]| [-y],
            (0.0, [1.0]),
            30.0,
            |step| {
                if low(step.to.0, &step.to.1) {
                    found = step.first(low);
                    return Watch::Stop;
                }
                Watch::On
            },
        );
        assert!((found - 2f64.ln()).abs() < 1e-8, "{found}");
        assert!(ended.unwrap().0 < 3.0);
    }

    #[test]
    fn a_system_that_cannot_be_integrated_gives_none_and_no_panic() {
        assert_eq!(follow(|_, [y]| [y * y], (0.0, [1.0]), 2.0, |_| Watch::On), None, "a pole at 1");
        assert_eq!(follow(|_, _| [f64::NAN], (0.0, [1.0]), 2.0, |_| Watch::On), None);
        assert_eq!(follow(|_, [y]| [*y], (0.0, [f64::NAN]), 2.0, |_| Watch::On), None);
        assert_eq!(follow(|_, [y]| [*y], (0.0, [1.0]), f64::INFINITY, |_| Watch::On), None);
        assert_eq!(follow(|_, [y]| [*y], (2.0, [1.0]), 2.0, |_| Watch::On), Some((2.0, [1.0])));
    }
}
