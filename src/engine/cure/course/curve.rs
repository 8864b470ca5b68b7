//! A polynomial of second degree on 0…1: how temperature and humidity factor run along a segment.

/// c0 + c1·u + c2·u² for u in 0…1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Curve {
    c0: f64,
    c1: f64,
    c2: f64,
}

impl Curve {
    /// The same value everywhere.
    pub const fn constant(value: f64) -> Self {
        Self { c0: value, c1: 0.0, c2: 0.0 }
    }

    /// The line between the values at 0 and at 1.
    pub fn line(first: f64, last: f64) -> Self {
        Self { c0: first, c1: last - first, c2: 0.0 }
    }

    /// The curve through the values at 0, ½ and 1.
    pub fn through(first: f64, middle: f64, last: f64) -> Self {
        let bend = 2.0 * (first + last) - 4.0 * middle;
        // Less is the rounding of the three values.
        let scale = first.abs().max(middle.abs()).max(last.abs());
        let bend = if bend.abs() > 1e-13 * scale { bend } else { 0.0 };
        Self { c0: first, c1: last - first - bend, c2: bend }
    }

    pub fn at(self, u: f64) -> f64 {
        self.c0 + u * (self.c1 + u * self.c2)
    }

    /// Where the slope is zero; infinite for a line.
    pub fn vertex(self) -> f64 {
        -self.c1 / (2.0 * self.c2)
    }

    /// Where it has a value: up to two places, NaN or infinite for those that do not exist.
    pub fn reaches(self, value: f64) -> [f64; 2] {
        let c = self.c0 - value;
        if self.c2 == 0.0 {
            return [-c / self.c1, f64::NAN];
        }
        // The form that does not cancel.
        let q = -0.5 * (self.c1 + self.c1.signum() * (self.c1 * self.c1 - 4.0 * self.c2 * c).sqrt());
        [q / self.c2, c / q]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_goes_through_its_three_values_and_reaches_them_there() {
        let curve = Curve::through(283.0, 284.5, 283.5);
        for (u, value) in [(0.0, 283.0), (0.5, 284.5), (1.0, 283.5)] {
            assert!((curve.at(u) - value).abs() < 1e-12);
            assert!(curve.reaches(value).iter().any(|found| (found - u).abs() < 1e-9), "{u}");
        }
        assert!(curve.reaches(300.0).iter().all(|found| found.is_nan()));
    }

    #[test]
    fn a_line_reaches_a_value_once_and_has_no_vertex() {
        let line = Curve::line(2.0, 4.0);
        assert_eq!(line.reaches(3.0)[0], 0.5);
        assert!(line.reaches(3.0)[1].is_nan() && !line.vertex().is_finite());
        assert_eq!(Curve::through(2.0, 3.0, 4.0), line);
        assert!(!Curve::constant(2.0).reaches(3.0)[0].is_finite());
    }
}
