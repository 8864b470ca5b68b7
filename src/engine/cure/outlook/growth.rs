//! How the error grows with the time since a reading.
//!
//! Errors of neighbouring hours are correlated, those of distant hours partly cancel. The mean error over a
//! time is therefore smaller than the error at its end. A film integrates over its hours, so it needs the mean.

/// The hours at which a growth is stated; linear between them, constant after the last.
pub(super) const KNOTS: [f64; 27] = [
    0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 15.0, 18.0, 21.0, 24.0, 30.0, 36.0,
    42.0, 48.0, 60.0, 72.0, 96.0, 120.0, 144.0, 168.0,
];
pub(super) const HOUR: f64 = 3600.0;

/// The weather drifts from a reading by 0.68 K·√(t/h), 8 K at most.
const DRIFT: f64 = 0.68;
const DRIFT_LIMIT: f64 = 8.0;
/// The mean of a random walk has 1/√3 of the standard deviation of its end.
const MEAN_OF_WALK: f64 = 0.577_350_269_189_625_8;
/// After half a day the mean of a daily cycle adds this share of its swing.
const CYCLE_STAYS: f64 = 0.6;
/// Correlation time of forecast errors in hours: they decay as e^(−t/20 h) (fitted, see `docs/cure.md`).
const FORECAST_FADES_IN: f64 = 20.0;

/// The size of two independent errors together. Kelvins need no guard against overflow: `hypot` takes ten times as long.
fn together(one: f64, other: f64) -> f64 {
    (one * one + other * other).sqrt()
}

/// The growth at one time, in kelvin.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(in crate::engine::cure) struct Grown {
    /// 0.9 quantile of the error at that time.
    pub point: f64,
    /// 0.9 quantile of the mean error up to that time.
    pub mean: f64,
    /// d(mean·t)/dt at that time, in kelvin.
    pub gain: f64,
}

/// The growth at each of [`KNOTS`].
#[derive(Debug, Clone, PartialEq)]
pub(in crate::engine::cure) struct Growth(Vec<Grown>);

impl Growth {
    /// For a place whose day swings by ±`swing` kelvin, in weather that drifts.
    pub fn of_swing(swing: f64) -> Self {
        Self(KNOTS.iter().map(|hours| cycle(swing, *hours).with(drift(*hours))).collect())
    }

    /// From the errors at every full hour from 0 on and their means up to then; the weather drifts after the
    /// last.
    pub fn of_hours(point: &[f64], mean: &[f64]) -> Self {
        let last = point.len().min(mean.len()).saturating_sub(1);
        let sum = |hour: usize| hour as f64 * mean[hour.min(last)];
        let at = |hours: f64| {
            let hour = (hours as usize).min(last);
            let (before, after) = (hour.saturating_sub(1), (hour + 1).min(last));
            let gain =
                if after > before { (sum(after) - sum(before)) / (after - before) as f64 } else { 0.0 };
            let known = Grown { point: point[hour], mean: mean[hour], gain: gain.max(0.0) };
            if hours > last as f64 {
                Grown { gain: known.mean, ..known }.with(drift(hours - last as f64))
            } else {
                known
            }
        };
        Self(KNOTS.iter().map(|hours| at(*hours)).collect())
    }

    /// From the errors of a forecast over the seconds after a reading, called with ascending times; their
    /// correlation decays with time.
    pub fn of_forecast(mut error_at: impl FnMut(f64) -> f64) -> Self {
        // Covariance C of the error with its sum and variance V of the sum, in steps of 1/4 h: C' = −C/τ + e,
        // V' = 2·e·C.
        let step = 0.25;
        let kept = (-step / FORECAST_FADES_IN).exp();
        let (mut hours, mut sum, mut with_sum, mut point) = (0.0, 0.0_f64, 0.0, error_at(0.0));
        let at = |knot: &f64| {
            while hours < *knot {
                let to = error_at((hours + step) * HOUR);
                let next = with_sum * kept + (point * kept + to) / 2.0 * step;
                sum += (point * with_sum + to * next) * step;
                (with_sum, hours, point) = (next, hours + step, to);
            }
            let deviation = sum.sqrt();
            let share = |value: f64, of: f64| if of > 0.0 { value / of } else { 0.0 };
            Grown { point, mean: share(deviation, hours), gain: share(point * with_sum, deviation) }
        };
        Self(KNOTS.iter().map(at).collect())
    }

    /// The same, made non-decreasing: a reading inside a gap then never widens the error.
    pub fn never_shrinking(&self) -> Self {
        let most = |most: &mut Grown, grown: &Grown| {
            most.point = most.point.max(grown.point);
            most.mean = most.mean.max(grown.mean);
            most.gain = most.gain.max(grown.gain);
            Some(*most)
        };
        Self(self.0.iter().scan(Grown::default(), most).collect())
    }

    /// `seconds` after a reading.
    pub fn at(&self, seconds: f64) -> Grown {
        let hours = seconds / HOUR;
        let after = KNOTS.partition_point(|knot| *knot <= hours);
        let Some(from) = after.checked_sub(1) else { return Grown::default() };
        let (a, Some(b)) = (self.0[from], self.0.get(after)) else { return self.0[from] };
        let share = (hours - KNOTS[from]) / (KNOTS[after] - KNOTS[from]);
        let between = |a: f64, b: f64| a + (b - a) * share;
        Grown {
            point: between(a.point, b.point),
            mean: between(a.mean, b.mean),
            gain: between(a.gain, b.gain),
        }
    }

    /// What a film that begins `start` seconds after a reading adds to its error, over time.
    pub fn of_film(&self, error: FilmError, start: f64) -> FilmGrowth<'_> {
        let start = start.max(0.0);
        let fixed = together(error.steady, error.grown(self, start).point);
        let mut film = FilmGrowth { growth: self, error, start, fixed, next: 1, ends: (0.0, 0.0) };
        film.ends = (film.at_knot(0), film.at_knot(1));
        film
    }
}

/// What a film adds to its error over time, linear between [`KNOTS`] after its start; called with ascending
/// times.
///
/// The error grown until the start stays. It adds to the mean growth after the start as independent errors do,
/// together with the steady error. The gain never exceeds the error at that time.
#[derive(Debug, Clone)]
pub(in crate::engine::cure) struct FilmGrowth<'a> {
    growth: &'a Growth,
    error: FilmError,
    start: f64,
    fixed: f64,
    /// The knot after the last requested time, and the errors at the knot before it and at it.
    next: usize,
    ends: (f64, f64),
}

impl FilmGrowth<'_> {
    /// The error, `seconds` after the reading.
    pub fn at(&mut self, seconds: f64) -> f64 {
        let hours = (seconds - self.start) / HOUR;
        while KNOTS.get(self.next).is_some_and(|knot| *knot <= hours) {
            self.next += 1;
            let after = if self.next < KNOTS.len() { self.at_knot(self.next) } else { self.ends.1 };
            self.ends = (self.ends.1, after);
        }
        let Some(to) = KNOTS.get(self.next) else { return self.ends.0 };
        let from = KNOTS[self.next - 1];
        self.ends.0 + (self.ends.1 - self.ends.0) * ((hours - from) / (to - from)).max(0.0)
    }

    fn at_knot(&self, knot: usize) -> f64 {
        let Self { error, fixed, .. } = *self;
        let since = KNOTS[knot] * HOUR;
        let grown = error.of(self.growth.0[knot], since);
        let whole = together(fixed, grown.mean);
        if whole == 0.0 {
            return 0.0;
        }
        // Where the error grows faster than with time, a larger fixed error must not make the sum smaller.
        let gain = ((fixed * fixed + grown.mean * grown.gain) / whole).max(grown.gain);
        let most = together(error.steady, error.grown(self.growth, self.start + since).point);
        gain.min(most).min(error.most)
    }
}

/// How a growth in kelvin becomes the error of a film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::engine::cure) struct FilmError {
    /// Constant error: that of the instrument.
    pub steady: f64,
    /// Factor per kelvin of growth.
    pub scale: f64,
    /// Additional drift per √h.
    pub drift: f64,
    /// Upper limit.
    pub most: f64,
}

impl FilmError {
    fn of(self, grown: Grown, seconds: f64) -> Grown {
        grown.times(self.scale).with(walk(self.drift, seconds))
    }

    fn grown(self, growth: &Growth, seconds: f64) -> Grown {
        self.of(growth.at(seconds), seconds)
    }
}

impl Grown {
    fn times(self, scale: f64) -> Self {
        Self { point: scale * self.point, mean: scale * self.mean, gain: scale * self.gain }
    }

    /// Combined with an independent growth.
    fn with(self, other: Self) -> Self {
        let mean = together(self.mean, other.mean);
        let gain = self.mean * self.gain + other.mean * other.gain;
        Self {
            point: together(self.point, other.point),
            mean,
            gain: if mean > 0.0 { gain / mean } else { 0.0 },
        }
    }
}

/// The drift of the weather after `seconds`, in kelvin.
pub(super) fn drifted(seconds: f64) -> f64 {
    drift(seconds / HOUR).point
}

fn drift(hours: f64) -> Grown {
    let whole = walk(DRIFT, hours * HOUR);
    if whole.point < DRIFT_LIMIT {
        return whole;
    }
    let mean = DRIFT_LIMIT * MEAN_OF_WALK;
    Grown { point: DRIFT_LIMIT, mean, gain: mean }
}

/// A random walk.
fn walk(of_an_hour: f64, seconds: f64) -> Grown {
    let point = of_an_hour * (seconds.max(0.0) / HOUR).sqrt();
    let mean = point * MEAN_OF_WALK;
    Grown { point, mean, gain: 1.5 * mean }
}

/// A daily cycle as a sine: furthest from its start after half a day.
fn cycle(swing: f64, hours: f64) -> Grown {
    let turn = std::f64::consts::PI / 24.0;
    if hours <= 0.0 {
        Grown::default()
    } else if hours <= 12.0 {
        let turned = hours * turn;
        let mean = swing * (1.0 - turned.cos()) / turned;
        Grown { point: swing * turned.sin(), mean, gain: swing * turned.sin() }
    } else {
        let sum = swing / turn + CYCLE_STAYS * swing * (hours - 12.0);
        Grown { point: swing, mean: sum / hours, gain: CYCLE_STAYS * swing }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_error_is_smaller_than_the_error_at_the_end() {
        let growths = [
            Growth::of_swing(8.0),
            Growth::of_swing(0.5),
            Growth::of_forecast(|seconds| 0.2 * (seconds / HOUR).min(12.0)),
        ];
        for growth in growths {
            for knot in KNOTS {
                let grown = growth.at(knot * HOUR);
                assert!(grown.mean <= grown.point + 1e-12, "{knot}: {grown:?}");
                assert!(grown.gain <= grown.point * 1.001 + 1e-12, "{knot}: {grown:?}");
            }
        }
    }

    /// Closed form for an error of constant size: its mean over t is √(2(x − 1 + e^−x))/x of it, x = t/τ.
    #[test]
    fn the_mean_of_a_correlated_error_matches_the_closed_form() {
        let growth = Growth::of_forecast(|_| 2.0);
        for hours in [6.0, 24.0, 48.0, 144.0] {
            let x: f64 = hours / FORECAST_FADES_IN;
            let expected = 2.0 * (2.0 * (x - 1.0 + (-x).exp())).sqrt() / x;
            let mean = growth.at(hours * HOUR).mean;
            assert!((mean / expected - 1.0).abs() < 0.005, "{hours} h: {mean} against {expected}");
        }
    }

    #[test]
    fn a_film_begun_later_starts_with_the_error_that_has_grown() {
        let growth = Growth::of_swing(6.0);
        let six = 6.0 * HOUR;
        let film = |steady, start, at| {
            growth.of_film(FilmError { steady, scale: 1.0, drift: 0.0, most: f64::INFINITY }, start).at(at)
        };
        assert!((film(0.0, six, six) - growth.at(six).point).abs() < 1e-12);
        assert!(film(1.0, six, 2.0 * six) >= film(1.0, 0.0, six));
        assert_eq!(film(0.0, 0.0, 0.0), 0.0);
        assert_eq!(film(1.0, -six, 0.0), 1.0);
    }
}
