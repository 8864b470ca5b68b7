//! A linear function on [0, 1]: temperature or humidity factor along a segment.

/// first + slope·u, u in [0, 1].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ramp {
    first: f64,
    slope: f64,
}

impl Ramp {
    /// The same value everywhere.
    pub const fn constant(value: f64) -> Self {
        Self { first: value, slope: 0.0 }
    }

    /// The line through the values at 0 and 1.
    pub fn between(first: f64, last: f64) -> Self {
        Self { first, slope: last - first }
    }

    pub fn at(self, u: f64) -> f64 {
        self.first + self.slope * u
    }

    /// The u at which it takes a value; NaN or infinite if there is none.
    pub fn reaches(self, value: f64) -> f64 {
        (value - self.first) / self.slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_reaches_a_value_once() {
        let line = Ramp::between(2.0, 4.0);
        assert_eq!((line.at(0.25), line.reaches(3.0)), (2.5, 0.5));
        assert!(!Ramp::constant(2.0).reaches(3.0).is_finite());
    }
}
