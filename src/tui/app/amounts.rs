//! The pages of amounts: opening, paging, refreshing.

use super::{Amounts, App, Known, Page};

impl App {
    /// The amounts of the chosen area, or of all.
    pub(super) fn open_amounts(&mut self, known: &Known<'_>) {
        self.amounts = (known.amounts)();
        let chosen = self.chosen_ribbon().map(|ribbon| &ribbon.area);
        let page = self.amounts.iter().position(|page| page.area.is_some() && page.area.as_ref() == chosen);
        self.page = Page::Amounts(Amounts { page: page.unwrap_or(0), scroll: 0 });
    }

    pub(super) fn turn_amounts(&mut self, forward: bool) {
        let count = self.amounts.len().max(1);
        if let Page::Amounts(shown) = &mut self.page {
            let page = shown.page.min(count - 1) + if forward { 1 } else { count - 1 };
            *shown = Amounts { page: page % count, scroll: 0 };
        }
    }

    /// Requests the shown amounts again.
    pub(super) fn refresh_amounts(&mut self, known: &Known<'_>) {
        if matches!(self.page, Page::Amounts(_)) {
            self.amounts = (known.amounts)();
        }
    }

    /// Returns to the board with the area that was shown: a form lies over it, and the result is shown there.
    pub(super) fn leave_amounts(&mut self) {
        if let Page::Amounts(shown) = self.page {
            let area = self.amounts.get(shown.page).and_then(|page| page.area.clone());
            self.chosen = area.or(self.chosen.take());
            self.page = self.base;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::session::{Order, Refused};
    use crate::engine::job::Amount;
    use crate::engine::units::{Grams, Micrometres, Millilitres, Moment, Money};
    use crate::tui::app::{Effect, Event, Sheet};
    use crate::tui::samples::*;

    #[test]
    fn films_and_stock_are_recorded_by_keys_too() {
        let film = |area: &str, spots: &[f64]| Order::WetFilm {
            area: area.into(),
            spots: spots.iter().map(|spot| Micrometres::new(*spot)).collect(),
            sure: false,
        };
        let stock = |product: &str, amount, price: Option<&str>, lot: Option<&str>| Order::Stock {
            product: product.into(),
            amount,
            price: price.map(|price| Money::parse(price).unwrap()),
            lot: lot.map(str::to_owned),
            sure: false,
        };
        let kilograms = |value: f64| Amount::MassG(Grams::new(value * 1000.0));
        let table: &[(&str, Order, Option<Moment>)] = &[
            ("i80 90um;75<Enter>", film("Roof", &[80.0, 90.0, 75.0]), None),
            ("ji80<Enter>", film("Door, outside", &[80.0]), None),
            ("gi80<Tab><Down><Tab>-5m<Enter>", film("Door, outside", &[80.0]), Some(at(-5))),
            ("o<Tab>2kg<Enter>", stock("primer-two-part", kilograms(2.0), None, None), None),
            (
                "goalk<Tab>0,75L<Tab>24,90<Tab>7A<Enter>",
                stock("varnish-alkyd", Amount::VolumeMl(Millilitres::new(750.0)), Some("24.90"), Some("7A")),
                None,
            ),
        ];
        for (keys, order, when) in table {
            let effects = press(&mut App::showing(hut()), keys);
            assert_eq!(effects, [Effect::CarryOut(order.clone(), *when)], "{keys}");
        }
    }

    #[test]
    fn an_implausible_amount_is_recorded_by_another_enter() {
        let sure = |keys: &str| {
            let mut app = App::showing(hut());
            press(&mut app, keys);
            let refused = Refused { says: "2g is far less.".into(), asks: true };
            knowing(now(), |known| app.handle(Event::Carried(Err(refused)), known));
            match press(&mut app, "<Enter>").as_slice() {
                [Effect::CarryOut(Order::WetFilm { sure, .. } | Order::Stock { sure, .. }, _)] => *sure,
                other => panic!("{keys}: {other:?}"),
            }
        };
        assert!(sure("i800<Enter>") && sure("o<Tab>2g<Enter>"));
    }

    #[test]
    fn an_invalid_film_or_amount_is_asked_for_again() {
        let says = |keys: &str| {
            let mut app = App::showing(hut());
            assert_eq!(press(&mut app, keys), [], "{keys}");
            match app.sheet {
                Some(Sheet::Form(form)) => form.error.unwrap_or_default(),
                _ => panic!("{keys} closed the form"),
            }
        };
        assert!(says("i<Enter><Enter>").contains("what the comb shows"));
        assert!(says("ithick<Enter>").contains("a film such as 75um"));
        assert!(says("o<Tab>2<Enter>").contains("with its unit"));
        assert!(says("o<Tab>-2kg<Enter>").contains("more than 0"));
        assert!(says("o<Tab>2kg<Tab>dear<Enter>").contains("a price such as 24.90"));
    }

    #[test]
    fn amounts_are_asked_for_when_they_are_opened_and_anew_with_every_look() {
        let mut app = App::showing(hut());
        assert!(app.amounts.is_empty());
        press(&mut app, "g");
        assert_eq!(app.amounts.len(), 3);
        app.amounts.clear();
        knowing(now(), |known| app.handle(Event::Seen(Ok(hut())), known));
        assert_eq!(app.amounts.len(), 3);
        press(&mut app, "q");
        assert_eq!(app.page, Page::Board);
    }
}
