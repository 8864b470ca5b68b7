//! How much is needed: coat by coat, what to weigh out and in how many batches; for the rest of the scheme,
//! what the stock still holds and what to buy.

use super::material::Material;
use super::mixing::{Mixing, Shop, ToMix};
use super::need::{Need, Practice, coat_need};
use super::pace::pace;
use super::parts::{Part, parts};
use super::stock::Ledger;
use crate::engine::job::{Area, Job};
use crate::engine::profile::{Library, Product};
use crate::engine::units::SquareMetres;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The area; None: every one.
    pub area: Option<String>,
    /// The product; None: what the scheme still has to come.
    pub product: Option<String>,
    /// How large the area is, where the scheme does not say or something else is wanted.
    pub size: Option<SquareMetres>,
    /// How the coats are put on.
    pub practice: Practice,
}

/// How much is needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantities<'a> {
    /// Area by area.
    pub areas: Vec<AreaQuantity<'a>>,
    /// Product by product, in the order in which they go on.
    pub products: Vec<ProductQuantity<'a>>,
}

/// What one area needs.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaQuantity<'a> {
    /// Its name.
    pub area: String,
    /// How large it is.
    pub size: Option<SquareMetres>,
    /// Its coats to come, soonest first.
    pub coats: Vec<CoatQuantity<'a>>,
    /// What could not be reckoned.
    pub cannot: Vec<Cannot>,
}

/// Why an amount cannot be told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cannot {
    /// Nobody gave the size of the area.
    NoSize,
    /// The profile of this product gives no wet film.
    NoFilm(String),
    /// There is no such product, as a sentence says it.
    NoProduct(String),
    /// Nothing says what goes on.
    NothingToCome,
}

/// What one coat needs.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatQuantity<'a> {
    /// Which coat of its area, from 1.
    pub layer: usize,
    /// Whether the scheme has it to come.
    pub planned: bool,
    /// The product.
    pub product: &'a Product,
    /// How much.
    pub need: Need,
    /// The parts of a product that is mixed.
    pub parts: Vec<Part>,
    /// In what batches; None for a product of one part.
    pub mixing: Option<Mixing>,
}

/// What the coats of one product need together.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductQuantity<'a> {
    /// The product.
    pub product: &'a Product,
    /// How many coats were asked for, and what they need.
    pub here: (usize, Material),
    /// How many coats of it the whole piece still has to come, and what they need.
    pub all: (usize, Material),
    /// The parts of what was asked for.
    pub parts: Vec<Part>,
    /// Its stock.
    pub ledger: Ledger,
    /// What is missing in the stock for the whole piece; all of it where no stock was entered.
    pub to_buy: Material,
}

impl<'a> Quantities<'a> {
    /// Reckons what is asked.
    pub fn calculate(job: &Job, library: &'a Library, asked: &Asked, shop: &Shop<'_>) -> Self {
        let areas: Vec<AreaQuantity<'a>> = match &asked.area {
            Some(name) => vec![AreaQuantity::calculate(job, name, library, asked, shop)],
            None => {
                let planned = job.areas.iter().filter(|area| area.plan.is_some());
                planned.map(|area| AreaQuantity::calculate(job, &area.name, library, asked, shop)).collect()
            }
        };
        let whole = Asked { area: None, product: None, size: None, practice: asked.practice };
        let piece = match (&asked.area, &asked.product) {
            (None, None) => None,
            _ => Some(Self::calculate(job, library, &whole, shop).areas),
        };
        let products = products(job, &areas, piece.as_deref().unwrap_or(&areas), &asked.practice);
        Self { areas, products }
    }

    /// The coats of all areas.
    pub fn coats(&self) -> impl Iterator<Item = &CoatQuantity<'a>> {
        self.areas.iter().flat_map(|area| &area.coats)
    }
}

impl<'a> AreaQuantity<'a> {
    fn calculate(job: &Job, name: &str, library: &'a Library, asked: &Asked, shop: &Shop<'_>) -> Self {
        let area = job.area(name);
        let planned = area.and_then(|area| area.plan.as_ref()?.square_metres);
        let size = asked.size.or(planned);
        let mut quantity = Self { area: name.to_owned(), size, coats: Vec::new(), cannot: Vec::new() };
        let Some(size) = size else {
            quantity.cannot.push(Cannot::NoSize);
            return quantity;
        };
        let to_come = to_come(area, asked.product.as_deref());
        if to_come.is_empty() && asked.area.is_some() {
            quantity.cannot.push(Cannot::NothingToCome);
        }
        for Coming { layer, id, planned } in to_come {
            let product = match library.get(&id) {
                Ok(product) => product,
                Err(unknown) => {
                    quantity.cannot(Cannot::NoProduct(unknown.to_string()));
                    continue;
                }
            };
            let Some(need) = coat_need(product, size, &asked.practice) else {
                quantity.cannot(Cannot::NoFilm(id));
                continue;
            };
            let place = area.map_or("shop", Area::place);
            let pace = pace(job, name, size);
            let mix = product.mix.as_ref();
            quantity.coats.push(CoatQuantity {
                layer,
                planned,
                product,
                need,
                parts: mix.map(|mix| parts(mix, need.product)).unwrap_or_default(),
                mixing: mix.map(|_| {
                    let practice = &asked.practice;
                    Mixing::of(&ToMix { product, need, size, pace, place, practice, library }, shop)
                }),
            });
        }
        quantity
    }

    fn cannot(&mut self, why: Cannot) {
        if !self.cannot.contains(&why) {
            self.cannot.push(why);
        }
    }
}

/// A coat to come: which one, of which product, and whether the scheme has it.
struct Coming {
    layer: usize,
    id: String,
    planned: bool,
}

/// The coats to come: those of the scheme, or the next one of a product.
fn to_come(area: Option<&Area>, product: Option<&str>) -> Vec<Coming> {
    let on = area.map_or(0, |area| area.coats.len());
    let planned = area.into_iter().flat_map(|area| area.to_do()).filter_map(|step| step.product());
    let planned = planned.enumerate();
    let mut planned =
        planned.map(|(index, id)| Coming { layer: on + index + 1, id: id.to_owned(), planned: true });
    let unplanned = |id: &str| Coming { layer: on + 1, id: id.to_owned(), planned: false };
    if let Some(product) = product {
        let next = planned.find(|coming| coming.id == product);
        return vec![next.unwrap_or_else(|| unplanned(product))];
    }
    let planned: Vec<Coming> = planned.collect();
    // Without a scheme what went on goes on again.
    let again = area.filter(|area| area.planned_coats().is_none()).and_then(Area::next_product);
    if planned.is_empty() { again.map(unplanned).into_iter().collect() } else { planned }
}

fn products<'a>(
    job: &Job,
    here: &[AreaQuantity<'a>],
    piece: &[AreaQuantity<'a>],
    practice: &Practice,
) -> Vec<ProductQuantity<'a>> {
    let mut found: Vec<ProductQuantity<'a>> = Vec::new();
    for coat in here.iter().flat_map(|area| &area.coats) {
        if found.iter().any(|known| known.product.id == coat.product.id) {
            continue;
        }
        let of = |coat: &&CoatQuantity<'_>, product: &Product| coat.product.id == product.id;
        let on_top = here.iter().flat_map(|area| &area.coats).filter(|coat| !coat.planned);
        let on_top = total(on_top.filter(|other| of(other, coat.product)));
        let here = total(here.iter().flat_map(|area| &area.coats).filter(|other| of(other, coat.product)));
        let piece = piece.iter().flat_map(|area| &area.coats).filter(|coat| coat.planned);
        let planned = total(piece.filter(|other| of(other, coat.product)));
        let all = (planned.0 + on_top.0, planned.1.plus(on_top.1));
        let ledger = Ledger::of(job, &coat.product.id, Some(coat.product), practice);
        found.push(ProductQuantity {
            product: coat.product,
            here,
            all,
            parts: coat.product.mix.as_ref().map(|mix| parts(mix, here.1)).unwrap_or_default(),
            to_buy: all.1.minus(ledger.left),
            ledger,
        });
    }
    found
}

/// How many coats there are, and what they need together.
fn total<'q>(coats: impl Iterator<Item = &'q CoatQuantity<'q>>) -> (usize, Material) {
    coats.fold((0, Material::NONE), |(count, sum), coat| (count + 1, sum.plus(coat.need.product)))
}

#[cfg(test)]
mod tests;
