//! The stock: what came into the shop, what was used, what is left, and what it cost.

use super::material::Material;
use super::need::{Practice, coat_need};
use crate::engine::job::{Area, Coat, Job, Stock};
use crate::engine::profile::{Library, Product};
use crate::engine::units::{Micrometres, Money};

/// The stock of one product.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// The product's id.
    pub product: String,
    /// What came in, oldest first.
    pub bought: Vec<Stock>,
    /// All of it.
    pub came: Material,
    /// What was used.
    pub used: Used,
    /// What is left; nothing where more was used than came in.
    pub left: Material,
    /// What was paid, where any price was entered.
    pub paid: Option<Money>,
    /// How many came in without a price.
    pub unpriced: usize,
    /// What of it came in with a price.
    pub priced: Material,
    /// What of the money the used part stands for, by the average price.
    pub used_up: Option<Money>,
}

/// What was used of a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Used {
    /// In all.
    pub all: Material,
    /// How many batches of it were mixed; they count by their mass.
    pub batches: usize,
    /// How many coats count by what they need: those that no batch was entered for.
    pub coats: usize,
    /// How many coats could not be counted, because their area has no size or the profile no film.
    pub uncounted: usize,
}

impl Ledger {
    /// The stock of a product.
    pub fn of(job: &Job, id: &str, product: Option<&Product>, practice: &Practice) -> Self {
        let density = product.and_then(Product::density);
        let bought: Vec<Stock> = job.stock.iter().filter(|stock| stock.product == id).cloned().collect();
        let came: Material = bought.iter().map(|stock| Material::of(stock.amount, density)).sum();
        let used = Used::of(job, id, product, practice);
        let price = |stock: &Stock| stock.price.as_deref().and_then(|price| Money::parse(price).ok());
        let priced: Vec<(Material, Money)> = bought
            .iter()
            .filter_map(|stock| Some((Material::of(stock.amount, density), price(stock)?)))
            .collect();
        let paid = (!priced.is_empty()).then(|| priced.iter().map(|(_, price)| *price).sum::<Money>());
        let (came_priced, count) = (priced.iter().map(|(amount, _)| *amount).sum::<Material>(), priced.len());
        Self {
            product: id.to_owned(),
            came,
            used,
            left: came.minus(used.all),
            paid,
            unpriced: bought.len() - count,
            used_up: paid.zip(used.all.over(came_priced)).map(|(paid, share)| paid.share(share)),
            priced: came_priced,
            bought,
        }
    }

    /// What so much of it costs, by the average price; None where no price is known.
    pub fn worth(&self, amount: Material) -> Option<Money> {
        self.paid.zip(amount.over(self.priced)).map(|(paid, tins)| paid.times(tins))
    }

    /// Whether more was used than came in.
    pub fn is_short(&self) -> bool {
        self.used.all.minus(self.came).is_some()
    }
}

impl Used {
    fn of(job: &Job, id: &str, product: Option<&Product>, practice: &Practice) -> Self {
        let density = product.and_then(Product::density);
        let batches: Vec<_> = job.batches.iter().filter(|batch| batch.product == id).collect();
        let mixed: Material = batches.iter().map(|batch| Material::of_mass(batch.mass, density)).sum();
        // From the first batch on, batches tell what was used; what was coated before rests on the need.
        let first = batches.first().map(|batch| (batch.mixed_at, batch.id));
        let before = |coat: &Coat| {
            coat.batch.is_none() && first.is_none_or(|first| (coat.first_stroke, coat.id) < first)
        };
        let mut used = Self { all: mixed, batches: batches.len(), coats: 0, uncounted: 0 };
        for area in &job.areas {
            for coat in area.every_coat().filter(|coat| coat.product == id && before(coat)) {
                match product.and_then(|product| laid(area, coat, product, practice)) {
                    Some(amount) => {
                        used.all = used.all.plus(amount);
                        used.coats += 1;
                    }
                    None => used.uncounted += 1,
                }
            }
        }
        used
    }
}

/// What a coat took: by the film that was measured on it, else by the one that is asked.
fn laid(area: &Area, coat: &Coat, product: &Product, practice: &Practice) -> Option<Material> {
    let size = area.plan.as_ref()?.square_metres?;
    let film = mean_film(area, coat).or(practice.film);
    coat_need(product, size, &Practice { film, ..*practice }).map(|need| need.product)
}

/// The mean of the wet films that were measured on a coat.
pub fn mean_film(area: &Area, coat: &Coat) -> Option<Micrometres> {
    let spots = area.films_on(coat).flat_map(|film| &film.spots);
    let spots: Vec<f64> = spots.map(|spot| spot.micrometres()).collect();
    (!spots.is_empty()).then(|| Micrometres::new(spots.iter().sum::<f64>() / spots.len() as f64))
}

/// The stock of every product that came in or was used, in order of their ids.
pub fn ledgers(job: &Job, library: &Library, practice: &Practice) -> Vec<Ledger> {
    let coats = job.areas.iter().flat_map(Area::every_coat).map(|coat| &coat.product);
    let batches = job.batches.iter().map(|batch| &batch.product);
    let mut products: Vec<&String> = job.stock.iter().map(|stock| &stock.product).collect();
    products.extend(coats.chain(batches));
    products.sort();
    products.dedup();
    products.into_iter().map(|id| Ledger::of(job, id, library.get(id).ok(), practice)).collect()
}

#[cfg(test)]
mod tests;
