//! Needs by coat, with parts and batches; and for the rest of the scheme, the stock and what to buy.

use super::material::Material;
use super::mixing::{Mixing, Shop, ToMix};
use super::need::{Need, Practice, coat_need};
use super::pace::pace;
use super::parts::{Part, parts};
use super::stock::Ledger;
use crate::engine::job::{Area, Job};
use crate::engine::profile::{Library, Product};
use crate::engine::units::SquareMetres;

/// A question about amounts.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The area; None: every one.
    pub area: Option<String>,
    /// The product; None: those the scheme still has to come.
    pub product: Option<String>,
    /// The size of the area, if the scheme has none or another one is wanted.
    pub size: Option<SquareMetres>,
    /// How the coats are applied.
    pub practice: Practice,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantities<'a> {
    /// By area.
    pub areas: Vec<AreaQuantity<'a>>,
    /// By product, in the order of application.
    pub products: Vec<ProductQuantity<'a>>,
}

/// What one area needs.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaQuantity<'a> {
    /// Its name.
    pub area: String,
    /// Its size.
    pub size: Option<SquareMetres>,
    /// Its coming coats, soonest first.
    pub coats: Vec<CoatQuantity<'a>>,
    /// What could not be calculated.
    pub cannot: Vec<Cannot>,
}

/// Why an amount cannot be calculated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cannot {
    /// The area has no size.
    NoSize,
    /// The profile of this product gives no wet film.
    NoFilm(String),
    /// There is no such product; the text is a sentence.
    NoProduct(String),
    /// No product is given.
    NothingToCome,
}

/// What one coat needs.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatQuantity<'a> {
    /// Which coat of its area, from 1.
    pub layer: usize,
    /// Whether it is a coming coat of the scheme.
    pub planned: bool,
    /// The product.
    pub product: &'a Product,
    /// The need.
    pub need: Need,
    /// The parts, if the product is mixed.
    pub parts: Vec<Part>,
    /// The batches; None for a product of one part.
    pub mixing: Option<Mixing>,
}

/// What the coats of one product need together.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductQuantity<'a> {
    /// The product.
    pub product: &'a Product,
    /// The number of coats in the question, and their need.
    pub here: (usize, Material),
    /// The number of coming coats of the whole piece, and their need.
    pub all: (usize, Material),
    /// The parts for the coats in the question.
    pub parts: Vec<Part>,
    /// Its stock.
    pub ledger: Ledger,
    /// What the stock lacks for the whole piece; all of it without any stock.
    pub to_buy: Material,
}

impl<'a> Quantities<'a> {
    /// Answers the question.
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

/// A coming coat: its number, its product, and whether the scheme has it.
struct Coming {
    layer: usize,
    id: String,
    planned: bool,
}

/// The coming coats: those of the scheme, or the next one of a product.
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
    // Without a scheme the last product goes on again.
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

/// The number of coats, and their total need.
fn total<'q>(coats: impl Iterator<Item = &'q CoatQuantity<'q>>) -> (usize, Material) {
    coats.fold((0, Material::NONE), |(count, sum), coat| (count + 1, sum.plus(coat.need.product)))
}

#[cfg(test)]
mod tests;
