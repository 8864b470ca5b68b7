//! Time tables: how long something takes at which temperature.
//!
//! Between two points ln(time) is linear in 1/T (Arrhenius, T in kelvin); beyond the ends the line of
//! the end pair goes on. One point takes its slope from an activation energy.

use chrono::TimeDelta;

use crate::engine::units::{ActivationEnergy, Celsius};

/// One line of a data sheet: so long at that temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// The temperature.
    pub at: Celsius,
    /// The time it takes there; more than zero.
    pub time: TimeDelta,
}

/// A time that the data sheet gives as a range; the table counts one of its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The temperature.
    pub at: Celsius,
    /// Its lower end.
    pub shortest: TimeDelta,
    /// Its upper end.
    pub longest: TimeDelta,
}

/// Why points make no time table.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TableError {
    /// No points.
    #[error("the table is empty; give at least one {{ at = …, time = … }}")]
    Empty,
    /// A time of zero or less at the point of this index.
    #[error("the time must be more than zero")]
    NotPositive(usize),
    /// The point of this index is not warmer than the one before.
    #[error("the temperatures must rise from point to point")]
    NotRising(usize),
    /// The point of this index takes longer than the cooler one before.
    #[error("a time must not grow with temperature")]
    Grows(usize),
    /// Not a number at the point of this index.
    #[error("not a number")]
    NotFinite(usize),
}

/// A stretch between two neighbouring points: ln(time/s) = intercept + slope / T.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// ln(seconds) at 1/T = 0.
    pub intercept: f64,
    /// In kelvin; E/R.
    pub slope: f64,
}

impl Piece {
    /// The rate 1/time in 1/s at a temperature in kelvin.
    #[inline]
    pub fn rate(self, kelvin: f64) -> f64 {
        (-self.intercept - self.slope / kelvin).exp()
    }
}

/// A time for every temperature, from the points of a data sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeTable {
    points: Vec<Point>,
    pieces: Vec<Piece>,
    /// Where one piece ends and the next begins, in kelvin: the inner points.
    bends: Vec<f64>,
    /// The points that were given as a range.
    ranges: Vec<Range>,
}

impl TimeTable {
    /// A table from points in rising order of temperature; `energy` serves where there is one point.
    ///
    /// # Errors
    /// [`TableError`] names the first point that does not fit.
    pub fn new(points: Vec<Point>, energy: ActivationEnergy) -> Result<Self, TableError> {
        if points.is_empty() {
            return Err(TableError::Empty);
        }
        for (index, point) in points.iter().enumerate() {
            if !point.at.degrees().is_finite() || point.at.kelvin() <= 0.0 {
                return Err(TableError::NotFinite(index));
            }
            if point.time <= TimeDelta::zero() {
                return Err(TableError::NotPositive(index));
            }
            let Some(before) = index.checked_sub(1).map(|i| points[i]) else { continue };
            if point.at <= before.at {
                return Err(TableError::NotRising(index));
            }
            if point.time > before.time {
                return Err(TableError::Grows(index));
            }
        }
        let line_through = |cool: &Point, warm: &Point| {
            let (x0, x1) = (1.0 / cool.at.kelvin(), 1.0 / warm.at.kelvin());
            let (y0, y1) = (ln_seconds(cool), ln_seconds(warm));
            let slope = (y1 - y0) / (x1 - x0);
            Piece { intercept: y0 - slope * x0, slope }
        };
        let pieces = if let [only] = points.as_slice() {
            let slope = energy.over_gas_constant();
            vec![Piece { intercept: ln_seconds(only) - slope / only.at.kelvin(), slope }]
        } else {
            points.windows(2).map(|pair| line_through(&pair[0], &pair[1])).collect()
        };
        let inner = points.get(1..points.len() - 1).unwrap_or_default();
        let bends = inner.iter().map(|p| p.at.kelvin()).collect();
        Ok(Self { points, pieces, bends, ranges: Vec::new() })
    }

    /// The same table, with the ranges that some of its points were taken from.
    #[must_use]
    pub(super) fn with_ranges(self, ranges: Vec<Range>) -> Self {
        Self { ranges, ..self }
    }

    /// The points that the data sheet gives as a range.
    pub fn ranges(&self) -> &[Range] {
        &self.ranges
    }

    /// The points of the data sheet.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// How many seconds it takes at this temperature.
    pub fn seconds_at(&self, temperature: Celsius) -> f64 {
        let kelvin = temperature.kelvin();
        1.0 / self.pieces[self.piece_at(kelvin)].rate(kelvin)
    }

    /// How long it takes at this temperature; at most a hundred years.
    pub fn time_at(&self, temperature: Celsius) -> TimeDelta {
        TimeDelta::seconds(self.seconds_at(temperature).min(3.2e9).round() as i64)
    }

    /// Whether this temperature lies beyond the points, so that the figure is a guess of ours, not of
    /// the data sheet. A table of one point is extrapolated everywhere but there.
    pub fn is_extrapolated(&self, temperature: Celsius) -> bool {
        let (first, last) = (self.points[0].at, self.points[self.points.len() - 1].at);
        temperature < first || temperature > last
    }

    /// All pieces, from cool to warm; one more than there are bends.
    pub(crate) fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The temperatures in kelvin at which the pieces meet.
    pub(crate) fn bends(&self) -> &[f64] {
        &self.bends
    }

    /// The index of the piece that holds at this temperature in kelvin.
    pub(crate) fn piece_at(&self, kelvin: f64) -> usize {
        self.bends.iter().take_while(|bend| kelvin > **bend).count()
    }
}

fn ln_seconds(point: &Point) -> f64 {
    (point.time.num_milliseconds() as f64 / 1000.0).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(points: &[(f64, i64)]) -> Result<TimeTable, TableError> {
        let points = points
            .iter()
            .map(|&(at, minutes)| Point { at: Celsius::new(at), time: TimeDelta::minutes(minutes) })
            .collect();
        TimeTable::new(points, ActivationEnergy::RULE_OF_THUMB)
    }

    #[test]
    fn the_table_gives_its_own_points_back() {
        let table = table(&[(10.0, 240), (20.0, 120), (30.0, 70)]).unwrap();
        for point in table.points() {
            let seconds = point.time.num_seconds() as f64;
            assert!((table.seconds_at(point.at) / seconds - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn one_point_doubles_its_rate_from_20_to_30_degrees() {
        let table = table(&[(20.0, 120)]).unwrap();
        let ratio = table.seconds_at(Celsius::new(20.0)) / table.seconds_at(Celsius::new(30.0));
        assert!((ratio - 2.0).abs() < 1e-3, "{ratio}");
    }

    #[test]
    fn beyond_the_points_the_end_line_goes_on_and_is_marked() {
        let table = table(&[(10.0, 240), (20.0, 120)]).unwrap();
        assert!(table.is_extrapolated(Celsius::new(9.9)));
        assert!(!table.is_extrapolated(Celsius::new(10.0)));
        assert!(table.seconds_at(Celsius::new(0.0)) > 240.0 * 60.0);
    }

    #[test]
    fn a_table_that_cannot_be_is_refused_at_its_point() {
        assert_eq!(table(&[]), Err(TableError::Empty));
        assert_eq!(table(&[(10.0, 60), (20.0, 61)]), Err(TableError::Grows(1)));
        assert_eq!(table(&[(20.0, 60), (20.0, 50)]), Err(TableError::NotRising(1)));
        assert_eq!(table(&[(20.0, 0)]), Err(TableError::NotPositive(0)));
        assert_eq!(table(&[(f64::NAN, 5)]), Err(TableError::NotFinite(0)));
        assert_eq!(table(&[(10.0, 60), (f64::NAN, 5)]), Err(TableError::NotFinite(1)));
    }

    #[test]
    fn a_flat_table_takes_the_same_time_everywhere() {
        let table = table(&[(10.0, 60), (20.0, 60)]).unwrap();
        assert!((table.seconds_at(Celsius::new(-5.0)) - 3600.0).abs() < 1e-6);
    }
}
