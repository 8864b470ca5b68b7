//! The forms of wet films and of the stock.

use super::kinds::{areas, product_choice, wrong};
use super::{Field, Form, Kind, Missing, Name, Pick};
use crate::app::session::{Order, parse_amount};
use crate::app::view::View;
use crate::engine::units::{Micrometres, Money};
use crate::tui::app::Known;

impl Form {
    /// The form of a wet film; None where no area has a coat.
    pub fn film(view: &View, area: Option<&str>) -> Option<Self> {
        let coated: Vec<&str> =
            view.ribbons.iter().filter(|r| !r.layer.is_empty()).map(|r| r.area.as_str()).collect();
        let chosen = area.filter(|area| coated.contains(area)).or(coated.first().copied())?;
        let area = Pick::new(areas(view, |name| coated.contains(&name)), Some(chosen));
        let fields =
            vec![Field::line(Name::Films, ""), Field::pick(Name::Area, area), Field::line(Name::When, "now")];
        Some(Self::new(Kind::Film, fields))
    }

    /// The form of what came into the shop.
    pub fn stock(area: Option<&str>, known: &Known<'_>) -> Self {
        let next = area.and_then(|area| (known.next_product)(area));
        let products = (known.products)().iter().map(product_choice).collect();
        let fields = vec![
            Field::pick(Name::Product, Pick::new(products, next.as_deref())),
            Field::line(Name::Amount, ""),
            Field::line(Name::Price, ""),
            Field::line(Name::Lot, ""),
            Field::line(Name::When, "now"),
        ];
        Self::new(Kind::Stock, fields)
    }

    pub(super) fn film_order(&self, known: &Known<'_>) -> Result<Order, Missing> {
        let typed = self.needed(Name::Films)?;
        let spots = films(&typed).into_iter().map(|film| Micrometres::parse(&film, known.units.area));
        let spots = spots.collect::<Result<_, _>>().map_err(|error| wrong(Name::Films, &error))?;
        Ok(Order::WetFilm { area: self.needed(Name::Area)?, spots, sure: self.sure })
    }

    pub(super) fn stock_order(&self, known: &Known<'_>) -> Result<Order, Missing> {
        let product = self.needed(Name::Product)?;
        let amount = self.needed(Name::Amount)?;
        let amount = parse_amount(&amount, &known.units).map_err(|error| wrong(Name::Amount, &error))?;
        let price = self.perhaps(Name::Price, Money::parse)?;
        let lot = Some(self.text(Name::Lot)).filter(|lot| !lot.is_empty());
        Ok(Order::Stock { product, amount, price, lot, sure: self.sure })
    }
}

/// The films of a line: "80 90 75", "80um; 90um", "3 mil 4 mil".
fn films(typed: &str) -> Vec<String> {
    let mut films: Vec<String> = Vec::new();
    for word in typed.split(|c: char| c.is_whitespace() || c == ';').filter(|word| !word.is_empty()) {
        let is_unit = word.chars().next().is_some_and(char::is_alphabetic);
        match films.last_mut() {
            Some(film) if is_unit => film.push_str(word),
            _ => films.push(word.to_owned()),
        }
    }
    films
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn films_are_typed_with_and_without_their_unit() {
        assert_eq!(films(" 80 90  75 "), ["80", "90", "75"]);
        assert_eq!(films("80um;90 um"), ["80um", "90um"]);
        assert_eq!(films("3,5 mil 4 mil"), ["3,5mil", "4mil"]);
        assert_eq!(films(""), [""; 0]);
        assert_eq!(films("thick"), ["thick"]);
    }
}
