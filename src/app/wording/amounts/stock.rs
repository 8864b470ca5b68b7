//! The stock in words: bought, used, left, cost.

use super::{AmountsPage, Words, count, typed};
use crate::engine::amounts::{Implausible, Ledger, Material};
use crate::engine::job::{Amount, Stock};
use crate::engine::units::{Grams, Millilitres, Moment, Money, clean};

impl Words {
    /// The stock of every product.
    pub fn stock(&self, ledgers: &[Ledger], currency: &str, now: Moment) -> AmountsPage {
        let mut page = AmountsPage::of("Stock".into());
        if ledgers.is_empty() {
            page.say(
                0,
                "Nothing is entered yet. Enter stock with: curewright stock PRODUCT 2kg --price 24.90",
            );
        }
        for ledger in ledgers {
            page.head(clean(&ledger.product));
            self.ledger(&mut page, ledger, currency, now);
        }
        let paid: Vec<Money> = ledgers.iter().filter_map(|ledger| ledger.paid).collect();
        if paid.len() > 1 {
            page.head(format!("Paid in all: {}.", money(paid.into_iter().sum(), currency)));
        }
        page
    }

    fn ledger(&self, page: &mut AmountsPage, ledger: &Ledger, currency: &str, now: Moment) {
        if ledger.bought.is_empty() {
            page.say(
                1,
                format!(
                    "Received: nothing is entered; enter it with: curewright stock {} 2kg",
                    clean(&ledger.product)
                ),
            );
        }
        for stock in &ledger.bought {
            page.say(1, format!("Received: {}.", self.tin(stock, currency, now)));
        }
        if ledger.bought.len() > 1 {
            page.say(1, format!("In all: {}.", self.either(ledger.came)));
        }
        page.say(1, self.used(ledger));
        if ledger.is_short() && !ledger.bought.is_empty() {
            page.say(1, "More was used than received: enter what is missing.");
        } else if ledger.left.mass.is_none() && ledger.left.volume.is_none() {
            page.say(
                1,
                "What is left cannot be calculated without a density in the profile: add density under [film].",
            );
        } else if !ledger.bought.is_empty() {
            page.say(1, format!("Left: {}.", self.either(ledger.left)));
        }
        if let Some(paid) = ledger.paid {
            let unpriced = match ledger.unpriced {
                0 => String::new(),
                many => format!(" ({} without a price)", count(many, "entry", "entries")),
            };
            let used_up = ledger
                .used_up
                .filter(|_| ledger.used.all.is_some())
                .map(|used| format!("; about {} of it used", money(used, currency)));
            let used_up = used_up.unwrap_or_default();
            page.say(1, format!("Paid: {}{unpriced}{used_up}.", money(paid, currency)));
        }
    }

    /// What is left of a product, in a sentence; None if unknown.
    pub fn left_of(&self, ledger: &Ledger) -> Option<String> {
        let known = ledger.left.mass.is_some() || ledger.left.volume.is_some();
        (known && !ledger.is_short()).then(|| format!("Left: {}.", self.either(ledger.left)))
    }

    /// "2.00 kg for 49.80 EUR, lot 7A, Sat 14:20"
    fn tin(&self, stock: &Stock, currency: &str, now: Moment) -> String {
        let amount = match stock.amount {
            Amount::MassG(mass) => self.units.mass(mass),
            Amount::VolumeMl(volume) => self.units.volume(volume),
        };
        let price = stock.price.as_deref().and_then(|price| Money::parse(price).ok());
        let price = price.map(|price| format!(" for {}", money(price, currency))).unwrap_or_default();
        let lot = stock.lot.as_ref().map(|lot| format!(", lot {}", clean(lot))).unwrap_or_default();
        format!("{amount}{price}{lot}, {}", self.when(stock.at, now))
    }

    fn used(&self, ledger: &Ledger) -> String {
        let used = &ledger.used;
        let mut by = Vec::new();
        if used.batches > 0 {
            by.push(format!("{} mixed", count(used.batches, "batch", "batches")));
        }
        if used.coats > 0 {
            by.push(format!("{} as calculated", count(used.coats, "coat", "coats")));
        }
        if used.uncounted > 0 {
            by.push(format!(
                "{} not counted: the area has no size, or the profile no film thickness",
                count(used.uncounted, "coat", "coats")
            ));
        }
        match by.is_empty() {
            true => "Used: nothing.".into(),
            false => format!("Used: {}: {}.", self.either(used.all), by.join(", ")),
        }
    }

    fn either(&self, amount: Material) -> String {
        self.material(amount, true)
    }

    /// An implausible amount of stock, and what was probably meant.
    pub fn implausible_stock(
        &self,
        product: &str,
        came: Amount,
        need: Material,
        slip: Implausible,
    ) -> String {
        let (factor, than) = match slip {
            Implausible::Little => (1000.0, "far less"),
            Implausible::Much => (0.001, "far more"),
        };
        let than = match need.is_some() {
            true => format!("{than} than the {} needed", self.either(need)),
            false => format!("{than} than any tin holds"),
        };
        let meant = match came {
            Amount::MassG(mass) => Amount::MassG(Grams::new(mass.grams() * factor)),
            Amount::VolumeMl(volume) => Amount::VolumeMl(Millilitres::new(volume.millilitres() * factor)),
        };
        let (meant, right) = (typed(meant), typed(came));
        format!("{right} of {product} is {than}: if you mean {meant}, type that.")
    }
}

/// "24.90 EUR", or "24.90" where no currency is set.
pub fn money(money: Money, currency: &str) -> String {
    format!("{money} {currency}").trim_end().to_owned()
}
