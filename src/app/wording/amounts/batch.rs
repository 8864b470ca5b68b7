//! A batch in words: what to weigh or measure of each part, and the reason for its size.

use crate::app::wording::the;
use crate::app::wording::{Words, count, listed};
use crate::engine::amounts::{
    AirFrom, KnownBy, Material, Mixing, NoSplit, Pace, Part, Split, Unfit, UsableBy, Weighed, equal_portion,
    next_accurate_batch, parts, weigh,
};
use crate::engine::profile::{Mix, Product};
use crate::engine::units::{Grams, Moment, clean, duration_text};

/// A smaller error of the ratio, in per cent, is not mentioned.
const RATIO_OFF: f64 = 0.5;
/// An older temperature is shown with its age.
const FRESH: chrono::TimeDelta = chrono::TimeDelta::hours(1);

impl Words {
    /// What to weigh out for a batch, and its volume.
    pub fn portion(&self, batch: &Weighed, product: &Product, mix: &Mix, scale: Grams) -> String {
        let named = mix.names.iter().zip(&batch.parts);
        let part =
            |(name, part): (&String, &Grams)| format!("{} {}", clean(name), self.units.weighed(*part, scale));
        let parts: Vec<String> = named.map(part).collect();
        let measured = self.measured(mix, Material::of_mass(batch.mass(), product.density()));
        let measured = measured.map(|parts| format!("; or measure {parts}")).unwrap_or_default();
        let off = match batch.off.percent() {
            off if !batch.is_accurate() => format!(
                " The scale is too coarse for such a small amount: the ratio is off by {off:.0} %.{}",
                self.weighed_well(batch, mix, scale)
            ),
            off if off >= RATIO_OFF => format!(" Rounded to the scale, the ratio is off by {off:.1} %."),
            _ => String::new(),
        };
        format!("{}{measured}.{off}", listed(&parts))
    }

    /// What to do if the scale is too coarse for a batch.
    fn weighed_well(&self, batch: &Weighed, mix: &Mix, scale: Grams) -> String {
        let next = mix.shares_by_mass().and_then(|shares| next_accurate_batch(batch.mass(), &shares, scale));
        let Some(next) = next else { return " Measure by volume, or use a finer scale.".into() };
        let part =
            |(name, part): (&String, &Grams)| format!("{} {}", clean(name), self.units.weighed(*part, scale));
        let parts: Vec<String> = mix.names.iter().zip(&next.parts).map(part).collect();
        format!(
            " The next larger batch that it weighs accurately is {}, {}: mix that, measure by volume, or use a finer scale.",
            self.units.weighed(next.mass(), scale),
            listed(&parts)
        )
    }

    /// "Weigh out resin 204 g and hardener 96 g; or measure …." for a batch of this mass; empty if the profile
    /// gives no ratio.
    pub fn weigh_out(&self, product: &Product, mass: Grams, scale: Grams) -> String {
        let Some(mix) = &product.mix else { return String::new() };
        let Some(shares) = mix.shares_by_mass() else {
            let measured = self.measured(mix, Material::of_mass(mass, product.density()));
            return measured.map(|parts| format!("Measure out {parts}.")).unwrap_or_default();
        };
        let batch = weigh(equal_portion(mass, 1, scale), &shares, scale);
        format!("Weigh out {}", self.portion(&batch, product, mix, scale))
    }

    /// "resin 345 mL and hardener 173 mL", if the profile gives the ratio by volume.
    pub fn measured(&self, mix: &Mix, mixed: Material) -> Option<String> {
        let part = |part: Part| {
            let volume = self.units.volume(part.amount.volume?);
            Some(format!("{} {volume}", clean(&part.name)))
        };
        let parts: Option<Vec<String>> = parts(mix, mixed).into_iter().map(part).collect();
        Some(listed(&parts?))
    }

    /// "It is spread in 26 min (as the scheme says) and usable for 2 h 55 min at 18.5 °C (…)."
    pub fn why_so_many(
        &self,
        (mixing, split, vessel): (&Mixing, Split, &str),
        area: &str,
        now: Moment,
    ) -> String {
        let each = if split.count == 1 { "It" } else { "Each" };
        let spread = split.spread.zip(mixing.pace).map(|(spread, pace)| {
            format!(" spread in {} ({}) and", duration_text(spread), known_by(pace, area))
        });
        let spread = spread.unwrap_or_default();
        let basis = if split.basis { ", outside the profile's temperatures" } else { "" };
        let capped = match split.capped {
            Some(Unfit::Unknown) => " The pot life of larger batches is unknown.".into(),
            Some(Unfit::Hot) => " A larger one would get dangerously hot.".into(),
            None => String::new(),
        };
        let (estimated, runs_away) = match split.by {
            UsableBy::Sheet => (false, false),
            UsableBy::Model { estimated, runs_away } => (estimated, runs_away),
        };
        let estimated =
            if estimated { " Its self-heating is assumed to be typical of its family." } else { "" };
        let left = match runs_away {
            true => format!(
                " It heats itself: left in the {vessel} it overheats. Pour what is left over out flat, outdoors."
            ),
            false => String::new(),
        };
        let (usable, air) = (duration_text(split.usable), self.in_air(mixing, (split.by, vessel), now));
        format!("{each} is{spread} usable for {usable} {air}{basis}.{left}{estimated}{capped}")
    }

    fn in_air(&self, mixing: &Mixing, (by, vessel): (UsableBy, &str), now: Moment) -> String {
        let (air, from) = mixing.air;
        let (air, warm) = (self.units.temperature(air), self.units.temperature(mixing.warm));
        let how = match from {
            AirFrom::Read(at) if now - at > FRESH => format!("{air} read {} ago", duration_text(now - at)),
            AirFrom::Read(_) => format!("{air} read"),
            AirFrom::Given => air,
            AirFrom::Unread => format!("the temperature is unknown: {air} is assumed"),
        };
        match (by, from) {
            (UsableBy::Sheet, _) => format!("at {warm} ({how}, and the thermometer's error)"),
            (UsableBy::Model { .. }, AirFrom::Read(_)) => {
                format!("in a {vessel} ({how}; its own heat, the expected air and their errors included)")
            }
            (UsableBy::Model { .. }, _) => {
                format!("in a {vessel} at {warm} ({how}, and the thermometer's error; its own heat included)")
            }
        }
    }

    /// Why a coat cannot be split into batches.
    pub fn no_split(&self, why: NoSplit, mixing: &Mixing) -> String {
        match why {
            NoSplit::NoPotLife => "The profile gives no pot life, so batches cannot be calculated.".into(),
            NoSplit::NoMass => {
                "The profile gives no density, so mass and batches cannot be calculated: add density = […] under [mix].".into()
            }
            NoSplit::SetsFirst => format!(
                "At {} it sets before it can be spread, however little is mixed in a cup.",
                self.units.temperature(mixing.warm)
            ),
            NoSplit::TooHot => format!(
                "At {} it gets dangerously hot before it can be spread, however little is mixed in a cup.",
                self.units.temperature(mixing.warm)
            ),
            NoSplit::TooMany => {
                "It would take more than 60 batches: the pot life is known for small ones only.".into()
            }
        }
    }
}

fn known_by(pace: Pace, area: &str) -> String {
    match pace.known {
        KnownBy::Area(coats) => {
            let of = match the(area) {
                area if area.is_empty() => "here".into(),
                area => format!("of {}", area.trim_end()),
            };
            format!("from {} {of}", count(coats, "coat", "coats"))
        }
        KnownBy::Others(coats) => format!("by area, from {} elsewhere", count(coats, "coat", "coats")),
        KnownBy::Scheme => "as the scheme says".into(),
    }
}
