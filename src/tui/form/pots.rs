//! The forms of a batch: mixed, used up, and which one a coat is taken from.

use super::kinds::{product_choice, wrong};
use super::{Choice, Field, Form, Kind, Missing, Name, Pick};
use crate::app::session::{Mixing, Order};
use crate::app::view::View;
use crate::engine::job::{EntryId, Vessel};
use crate::engine::units::{Celsius, Grams, Millimetres};
use crate::tui::app::Known;

const VESSELS: &[(char, &str)] = &[('c', "cup"), ('t', "tray")];

impl Form {
    /// The form of a batch, of what goes on the area next where that is mixed from parts.
    pub fn mix(area: Option<&str>, known: &Known<'_>) -> Self {
        let mixtures = (known.mixtures)();
        let next = area.and_then(|area| (known.next_product)(area));
        let next = next.filter(|next| mixtures.iter().any(|(id, _)| id == next));
        let products = mixtures.iter().map(product_choice).collect();
        let mut form = Self::new(
            Kind::Mix,
            vec![
                Field::pick(Name::Product, Pick::new(products, next.as_deref())),
                Field::line(Name::Mass, ""),
                Field::letter(Name::Vessel, VESSELS, Some(0)),
                Field::line(Name::Depth, ""),
                Field::line(Name::Parts, ""),
                Field::line(Name::When, "now"),
            ],
        );
        if next.is_some() {
            form.focus_on(Name::Mass);
        }
        form
    }

    /// The form of a batch that is used up; None where none stands here.
    pub fn emptied(view: &View) -> Option<Self> {
        let batches = batches(view);
        let first = batches.first()?.value.clone();
        let batch = Field::pick(Name::Batch, Pick::new(batches, Some(&first)));
        Some(Self::new(Kind::Emptied, vec![batch, Field::line(Name::When, "now")]))
    }

    /// Which batch a coat is taken from; None where none stands here.
    pub(super) fn batch_of_coat(view: &View) -> Option<Field> {
        if view.pots.is_empty() {
            return None;
        }
        let told = Choice { value: String::new(), label: "the batch in use, if there is only one".into() };
        let choices = std::iter::once(told).chain(batches(view)).collect();
        Some(Field::pick(Name::Batch, Pick::new(choices, Some(""))))
    }

    pub(super) fn batch(&self) -> Option<EntryId> {
        self.text(Name::Batch).parse().ok().map(EntryId)
    }

    pub(super) fn mixing(&self, known: &Known<'_>) -> Result<Order, Missing> {
        let product = self.needed(Name::Product)?;
        let mass = Grams::parse(&self.needed(Name::Mass)?, known.units.mass);
        let mass = mass.map_err(|error| wrong(Name::Mass, &error))?;
        let vessel = if self.text(Name::Vessel) == "tray" {
            let depth = Millimetres::parse(&self.needed(Name::Depth)?);
            Vessel::Tray { depth_mm: depth.map_err(|error| wrong(Name::Depth, &error))? }
        } else {
            Vessel::Cup
        };
        let celsius = |text: &str| Celsius::parse(text, known.units.temperature);
        let temperature = self.perhaps(Name::Parts, celsius)?;
        Ok(Order::Mix(Mixing { product, mass, vessel, temperature, place: None, sure: self.sure }))
    }
}

fn batches(view: &View) -> Vec<Choice> {
    let choice = |pot: &crate::app::view::PotRibbon| Choice {
        value: pot.batch.to_string(),
        label: format!("{}  {} of {}", pot.batch, pot.mass, pot.product),
    };
    view.pots.iter().map(choice).collect()
}
