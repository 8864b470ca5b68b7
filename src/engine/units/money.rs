//! Money as exact decimals: sums of prices come out to the last figure, as on the receipts.

use std::fmt;
use std::iter::Sum;
use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy};

use super::{UnitError, clean};

/// An amount of money, in a currency that nothing here has to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Money(Decimal);

/// What a receipt prints: more figures are a slip of the finger, and sums stay far from any limit.
const MOST: Decimal = Decimal::from_parts(1_410_065_408, 2, 0, false, 0);
const DECIMALS: u32 = 4;

impl Money {
    /// Reads "24.90", "24,90" or "1200".
    ///
    /// # Errors
    /// [`UnitError`] where it is no price, or less than nothing.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let wrong = || UnitError::NotThat {
            text: clean(text),
            wanted: "a price such as 24.90: figures and one point, no currency and no groups",
        };
        let number = text.trim().replace(',', ".");
        let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-');
        if !number.chars().all(plain) || !number.chars().any(|c| c.is_ascii_digit()) {
            return Err(wrong());
        }
        let mut price = Decimal::from_str(&number).map_err(|_| wrong())?;
        if price.scale() == 1 {
            // "24.9" is 24.90 on every receipt.
            price.rescale(2);
        }
        if (Decimal::ZERO..=MOST).contains(&price) && price.scale() <= DECIMALS {
            return Ok(Self(price));
        }
        Err(UnitError::OutOfRange {
            value: clean(text.trim()),
            range: "0…10000000000 with at most four decimals",
            advice: "give the price of the whole tin",
        })
    }

    /// The part of it that falls to a share of what was bought, to two decimals, halves to the even one.
    pub fn share(self, share: f64) -> Self {
        self.times(share.clamp(0.0, 1.0))
    }

    /// The product with a number, rounded likewise; zero for a value that is not a number or too large.
    pub fn times(self, factor: f64) -> Self {
        let factor = Decimal::from_f64_retain(factor.max(0.0)).unwrap_or_default();
        let decimals = self.0.scale().max(2);
        let part = self.0.checked_mul(factor).unwrap_or_default();
        let mut part = part.round_dp_with_strategy(decimals, RoundingStrategy::MidpointNearestEven);
        part.rescale(decimals);
        Self(part)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(prices: I) -> Self {
        prices.fold(Self::default(), |sum, price| Self(sum.0.saturating_add(price.0)))
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn price(text: &str) -> Money {
        Money::parse(text).unwrap()
    }

    #[test]
    fn prices_add_up_as_on_the_receipts() {
        let sum: Money = ["0.10", "0.20", "24,90", "1200"].iter().map(|text| price(text)).sum();
        assert_eq!(sum.to_string(), "1225.20");
        // In binary floating point this is 0.30000000000000004.
        let sum: Money = [price("0.1"), price("0.2")].into_iter().sum();
        assert_eq!(sum.to_string(), "0.30");
        assert_eq!(std::iter::empty::<Money>().sum::<Money>().to_string(), "0");
    }

    #[test]
    fn what_no_receipt_prints_is_refused() {
        for text in ["", "-1", "-0.01", "1e3", "24.90 EUR", "1.2.3", "free", "NaN", "0.00001", "99999999999"]
        {
            assert!(Money::parse(text).is_err(), "{text} was taken");
        }
        assert_eq!(price("0").to_string(), "0");
        assert_eq!(price("10000000000").to_string(), "10000000000");
    }

    #[test]
    fn a_share_is_rounded_to_the_smallest_coin() {
        assert_eq!(price("24.90").share(1.0 / 3.0).to_string(), "8.30");
        assert_eq!(price("10").share(0.125).to_string(), "1.25");
        assert_eq!(price("0.05").share(0.5).to_string(), "0.02");
        assert_eq!(price("24.90").share(f64::NAN).to_string(), "0.00");
        assert_eq!(price("24.90").share(7.0).to_string(), "24.90");
        assert_eq!(price("24.90").times(7.0).to_string(), "174.30");
        assert_eq!(price("24.90").times(-1.0).to_string(), "0.00");
    }
}
