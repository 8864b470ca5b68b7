//! Alternatives to impractical batches in a cup, in words.

use crate::app::wording::Words;
use crate::engine::amounts::{Alternatives, Impractical, InTray, Mixing, NoSplit, Split, Weighed};
use crate::engine::profile::{Mix, Product};
use crate::engine::units::{Grams, capital, clean, duration_text};

/// Less solids than this, in per cent by volume, means solvent or water.
const SOLVENT_FREE: f64 = 95.0;

impl Words {
    /// "Weigh out …", or the number of batches and the vessel.
    pub fn mix_and_weigh(
        &self,
        product: &Product,
        mix: &Mix,
        (batch, many, tray): (&Weighed, usize, Option<&InTray>),
        scale: Grams,
    ) -> String {
        let mass = self.units.weighed(batch.mass(), scale);
        let portion = self.portion(batch, product, mix, scale);
        let solids = product.film.as_ref().and_then(|film| film.volume_solids);
        let cover = match solids {
            Some(solids) if solids.percent() < SOLVENT_FREE => {
                ", and cover it: its solvent leaves an open tray"
            }
            _ => "",
        };
        let flat = tray.map(|tray| {
            let side = (tray.side.millimetres() / 10.0).ceil();
            let depth = tray.depth.millimetres();
            format!("a tray, {depth:.0} mm deep (about {side:.0} × {side:.0} cm){cover}")
        });
        match (many, flat) {
            (1, None) => format!("Weigh out {portion}"),
            (1, Some(flat)) => format!("Pour it out flat at once into {flat}. Weigh out {portion}"),
            (_, None) => format!("Mix {many} batches of {mass}, one after the other. Weigh out {portion}"),
            (_, Some(flat)) => format!(
                "Mix {many} batches of {mass}, one after the other, and pour each out flat at once into {flat}. Weigh out {portion}"
            ),
        }
    }

    /// Why a cup is impractical, and the alternatives.
    pub fn alternatives(&self, mixing: &Mixing, alternatives: &Alternatives, scale: Grams) -> Vec<String> {
        let cup = mixing.split.ok().zip(mixing.batches.first()).map(|(split, batch)| {
            let many = if split.count == 1 { "one batch".into() } else { format!("{} batches", split.count) };
            let mass = self.units.weighed(batch.mass(), scale);
            format!("{many} of {mass}, each usable for {}", duration_text(split.usable))
        });
        let why = match (alternatives.why, cup, &alternatives.tray) {
            (Impractical::None(NoSplit::TooHot), _, Some(_)) => Some(
                "In a cup it would get dangerously hot before it is spread, however little is mixed.".into(),
            ),
            (Impractical::None(_), _, Some(_)) => Some("No number of batches in a cup works.".into()),
            (why, Some(cup), tray) => Some(format!(
                "{} {cup}: {}.",
                if tray.is_some() { "In a cup it would take" } else { "In a cup it takes" },
                match why {
                    Impractical::Little => "too small to work with",
                    Impractical::Short => "too short to stir and spread it",
                    Impractical::Many | Impractical::None(_) => "too many for one coat",
                }
            )),
            _ => None,
        };
        why.into_iter().chain(self.other_ways(alternatives)).collect()
    }

    /// "Or use epoxy-laminating-slow: 2 batches of 300 g in a cup, each usable for 45 min; or …."
    fn other_ways(&self, alternatives: &Alternatives) -> Option<String> {
        let in_cups = |mass: Option<Grams>, split: Split| {
            let mass = mass.map(|mass| self.units.mass(Grams::new(mass.grams() / split.count as f64)));
            let of = mass.map(|mass| format!(" of {mass}")).unwrap_or_default();
            let usable = duration_text(split.usable);
            match split.count {
                1 => format!("one batch{of} in a cup, usable for {usable}"),
                many => format!("{many} batches{of} in a cup, each usable for {usable}"),
            }
        };
        let slower = alternatives.slower.as_ref().map(|slower| {
            format!("use {}: {}", clean(&slower.product), in_cups(Some(slower.mass), slower.split))
        });
        let cooler = alternatives.cooler.map(|cooler| {
            let air = self.units.temperature(cooler.air);
            format!("wait for air of {air} or less: {}", in_cups(None, cooler.split))
        });
        let less = alternatives
            .at_a_time
            .map(|size| format!("coat no more than {} at a time, in a few batches", self.units.area(size)));
        let ways: Vec<String> = [slower, cooler, less].into_iter().flatten().collect();
        let or = if alternatives.tray.is_some() { "or " } else { "" };
        match ways.is_empty() {
            false => Some(format!("{}.", capital(&format!("{or}{}", ways.join("; or "))))),
            true => alternatives
                .tray
                .is_none()
                .then(|| "No alternative helps: wait for a cooler shop, or use a slower product.".into()),
        }
    }
}
