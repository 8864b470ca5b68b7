//! The stock: bought, used, left, and its cost.

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
    /// What was bought, oldest first.
    pub bought: Vec<Stock>,
    /// Total bought.
    pub came: Material,
    /// Total used.
    pub used: Used,
    /// What is left, at least zero.
    pub left: Material,
    /// What was paid, if any price was entered.
    pub paid: Option<Money>,
    /// The number of purchases without a price.
    pub unpriced: usize,
    /// The part bought with a price.
    pub priced: Material,
    /// The cost of the used part, at the average price.
    pub used_up: Option<Money>,
}

/// What was used of a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Used {
    /// Total.
    pub all: Material,
    /// Number of batches; they count by their mass.
    pub batches: usize,
    /// Number of coats that count by their need, because no batch was entered for them.
    pub coats: usize,
    /// Number of coats not counted, because the area has no size or the profile no film.
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

    /// The cost of an amount at the average price; None if no price is known.
    pub fn worth(&self, amount: Material) -> Option<Money> {
        self.paid.zip(amount.over(self.priced)).map(|(paid, tins)| paid.times(tins))
    }

    /// Whether more was used than bought.
    pub fn is_short(&self) -> bool {
        self.used.all.minus(self.came).is_some()
    }
}

impl Used {
    fn of(job: &Job, id: &str, product: Option<&Product>, practice: &Practice) -> Self {
        let density = product.and_then(Product::density);
        let batches: Vec<_> = job.batches.iter().filter(|batch| batch.product == id).collect();
        let mixed: Material = batches.iter().map(|batch| Material::of_mass(batch.mass, density)).sum();
        // From the first batch on the batches give the use; earlier coats count by their need.
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

/// The amount of a coat: from its measured film, else from the required one.
fn laid(area: &Area, coat: &Coat, product: &Product, practice: &Practice) -> Option<Material> {
    let size = area.plan.as_ref()?.square_metres?;
    let film = mean_film(area, coat).or(practice.film);
    coat_need(product, size, &Practice { film, ..*practice }).map(|need| need.product)
}

/// The mean of the measured wet films of a coat.
pub fn mean_film(area: &Area, coat: &Coat) -> Option<Micrometres> {
    let spots = area.films_on(coat).flat_map(|film| &film.spots);
    let spots: Vec<f64> = spots.map(|spot| spot.micrometres()).collect();
    (!spots.is_empty()).then(|| Micrometres::new(spots.iter().sum::<f64>() / spots.len() as f64))
}

/// The stock of every product that was bought or used, in order of id.
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
