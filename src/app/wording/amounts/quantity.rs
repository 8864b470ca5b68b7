//! Amounts in words: by coat with what to weigh out, then for the rest of the scheme.

use crate::app::wording::ordinal_coat;
use crate::app::wording::{AmountsPage, Words, count, listed};
use crate::engine::amounts::{
    AreaQuantity, Cannot, CoatQuantity, Fits, Material, Mixing, Part, ProductQuantity, Quantities,
};
use crate::engine::profile::COMES_FIRST;
use crate::engine::units::{Grams, Millilitres, Moment, capital, clean, duration_text};

impl Words {
    /// The need of one area: every coming coat in full with its cautions, and the total.
    pub fn quantity(&self, all: &Quantities<'_>, scale: Grams, now: Moment) -> AmountsPage {
        let Some(area) = all.areas.first() else { return AmountsPage::default() };
        let mut page = AmountsPage::of(self.area_and_size(area));
        page.area = Some(clean(&area.area));
        let mixed_first = area.coats.iter().position(|coat| coat.mixing.is_some()).unwrap_or(0);
        for (index, coat) in area.coats.iter().enumerate() {
            let same = area.coats[..index].iter().find(|before| before.product.id == coat.product.id);
            match same.map(|same| ordinal_coat(same.layer).to_lowercase()) {
                None => self.coat(&mut page, coat, &area.area, scale, now),
                Some(before) => {
                    let the = if before.starts_with("coat") { "" } else { "the " };
                    let ordinal = ordinal_coat(coat.layer);
                    page.head(format!("{ordinal}, {}: as {the}{before}.", coat.product.id));
                }
            }
            // The cautions go beside the first mixing, not at the end.
            if index == mixed_first {
                cautions(&mut page, &area.coats);
            }
        }
        self.cannot(&mut page, area);
        self.totals(&mut page, &all.products);
        page
    }

    /// The need of all areas, a line per coat, and the total.
    pub fn all_quantities(&self, all: &Quantities<'_>) -> AmountsPage {
        let mut page = AmountsPage::of("All areas".into());
        for area in &all.areas {
            page.head(self.area_and_size(area));
            for coat in &area.coats {
                let batches = coat.mixing.as_ref().map(in_batches).unwrap_or_default();
                let layer = ordinal_coat(coat.layer);
                page.say(1, format!("{layer}, {}: {}{batches}.", coat.product.id, self.amount(coat)));
            }
            if area.coats.is_empty() && area.cannot.is_empty() {
                page.say(1, "No coat is planned.");
            }
            self.cannot(&mut page, area);
        }
        self.totals(&mut page, &all.products);
        page
    }

    fn area_and_size(&self, area: &AreaQuantity<'_>) -> String {
        let size = area.size.map(|size| format!(", {}", self.units.area(size))).unwrap_or_default();
        format!("{}{size}", clean(&area.area))
    }

    fn coat(&self, page: &mut AmountsPage, coat: &CoatQuantity<'_>, area: &str, scale: Grams, now: Moment) {
        let ordinal = ordinal_coat(coat.layer);
        page.head(format!("{ordinal}, {}: {}.", coat.product.id, self.amount(coat)));
        page.say(1, self.film_to_lay(coat));
        self.mixing(coat, scale).into_iter().for_each(|says| page.say(1, says));
        let Some(mixing) = coat.mixing.as_ref().filter(|_| coat.product.mix.is_some()) else { return };
        let tray = mixing.alternatives.as_ref().and_then(|alternatives| alternatives.tray.as_ref());
        let split = tray.map_or(mixing.split, |tray| Ok(tray.split));
        match split {
            Ok(split) => {
                let vessel = if tray.is_some() { "tray" } else { "cup" };
                page.say(1, self.why_so_many((mixing, split, vessel), area, now));
            }
            Err(why) => page.say(1, self.no_split(why, mixing)),
        }
        if let Some(alternatives) = &mixing.alternatives {
            self.alternatives(mixing, alternatives, scale).into_iter().for_each(|says| page.say(1, says));
        }
        if mixing.pace.is_none() && split.is_ok() {
            page.say(
                1,
                "Your pace here is unknown: record a whole coat, or give minutes_per_square_metre in the scheme.",
            );
        }
    }

    /// What to weigh or measure out for a coat, its thinner, and how long it stands.
    pub(in crate::app::wording) fn mixing(&self, coat: &CoatQuantity<'_>, scale: Grams) -> Vec<String> {
        let (Some(mixing), Some(mix)) = (&coat.mixing, &coat.product.mix) else {
            return self.stir_in(coat, 1).into_iter().collect();
        };
        let tray = mixing.alternatives.as_ref().and_then(|alternatives| alternatives.tray.as_ref());
        let weighed = match (mixing.best().first(), tray) {
            (Some(batch), _) => {
                Some(self.mix_and_weigh(coat.product, mix, (batch, mixing.best().len(), tray), scale))
            }
            // An amount too large for any vessel is not measured at once either.
            (None, None) if mixing.alternatives.is_some() && mixing.split.is_err() => None,
            (None, _) => self.measured(mix, coat.need.product).map(|parts| format!("Measure out {parts}.")),
        };
        let stands = mix
            .induction
            .map(|stands| format!("Let it stand for {} before the first stroke.", duration_text(stands)));
        weighed.into_iter().chain(self.stir_in(coat, mixing.best().len())).chain(stands).collect()
    }

    /// The thinner of a batch.
    fn stir_in(&self, coat: &CoatQuantity<'_>, batches: usize) -> Option<String> {
        let each = Millilitres::new(coat.need.thinner.millilitres() / batches.max(1) as f64);
        let to = if batches > 1 { "to each" } else { "to it" };
        (each.millilitres() >= 0.05).then(|| format!("Add {} of thinner {to}.", self.units.volume(each)))
    }

    /// What to weigh out for a coat in all its batches, else its need; and its thinner.
    pub(in crate::app::wording) fn amount(&self, coat: &CoatQuantity<'_>) -> String {
        let batches = coat.mixing.iter().flat_map(|mixing| mixing.best());
        let weighed: f64 = batches.map(|batch| batch.mass().grams()).sum();
        let product = match weighed > 0.0 {
            true => Material::of_mass(Grams::new(weighed), coat.product.density()),
            false => coat.need.product,
        };
        let product = self.material(product, coat.mixing.is_some());
        match coat.need.thinner {
            thinner if thinner.millilitres() < 0.05 => product,
            thinner => format!("{product} and {} of thinner", self.units.volume(thinner)),
        }
    }

    /// "Lay 75 µm wet (50 to 100 µm asked), 38 µm dry; it goes 12.5 m² a litre with what is lost."
    fn film_to_lay(&self, coat: &CoatQuantity<'_>) -> String {
        let need = &coat.need;
        let off = match Fits::of(need.wet, need.asked) {
            Fits::Thin => ": this is too thin",
            Fits::Thick => ": this is too thick",
            Fits::Well => "",
        };
        let asked =
            need.asked.map(|(thin, thick)| format!(" ({} specified{off})", self.units.films(thin, thick)));
        let dry = match need.dry {
            Some(dry) => format!(", {} dry", self.units.film(dry)),
            None => ", dry film unknown (add volume_solids under [film] to the profile)".into(),
        };
        let (wet, rate) = (self.units.film(need.wet), self.units.spreading_rate(need.rate));
        format!("Lay {wet} wet{}{dry}; it covers {rate}, losses included.", asked.unwrap_or_default())
    }

    fn cannot(&self, page: &mut AmountsPage, area: &AreaQuantity<'_>) {
        area.cannot.iter().for_each(|why| page.say(1, self.why_not(why, &area.area)));
    }

    /// Why an amount is unknown, and what to do.
    pub fn why_not(&self, why: &Cannot, area: &str) -> String {
        let shown = clean(area);
        match why {
            Cannot::NoSize => format!(
                "The size of {shown} is unknown: give square_metres in its scheme (curewright scheme FILE), or ask with --size 3m2."
            ),
            Cannot::NoFilm(product) => format!(
                "The profile of {product} gives no film thickness: add wet = [60, 90] under [film], or ask with --film 80um."
            ),
            Cannot::NoProduct(unknown) => capital(unknown),
            Cannot::NothingToCome => format!(
                "No coat is planned on {shown}: the scheme is complete, or there is none. Name a product: curewright quantity \"{shown}\" PRODUCT"
            ),
        }
    }

    fn totals(&self, page: &mut AmountsPage, products: &[ProductQuantity<'_>]) {
        if products.is_empty() {
            return;
        }
        page.head("Together");
        for product in products {
            let weighed = product.product.mix.is_some();
            let total = self.material(product.here.1, weighed);
            let coats = count(product.here.0, "coat", "coats");
            let whole = match product.all.0 > product.here.0 {
                true => format!("; {} for the whole piece", self.material(product.all.1, weighed)),
                false => String::new(),
            };
            page.say(1, format!("{}: {coats}, {total}{whole}.", product.product.id));
            let part = |part: &Part| format!("{} {}", clean(&part.name), self.material(part.amount, true));
            let parts: Vec<String> = product.parts.iter().map(part).collect();
            if !parts.is_empty() {
                page.say(2, format!("{}.", capital(&listed(&parts))));
            }
            page.say(2, self.in_stock(product, weighed));
        }
    }

    fn in_stock(&self, product: &ProductQuantity<'_>, weighed: bool) -> String {
        let (ledger, buy) = (&product.ledger, product.to_buy);
        if ledger.bought.is_empty() {
            return format!("To buy: {}; no stock of it is entered.", self.material(buy, weighed));
        }
        let left = self.material(ledger.left, weighed);
        if buy.mass.is_none() && buy.volume.is_none() {
            return format!(
                "In stock: {left}. Without a density in the profile it cannot be compared: add density under [film]."
            );
        }
        match buy.is_some() {
            true => format!("In stock: {left}; to buy: {}.", self.material(buy, weighed)),
            false => format!("In stock: {left}; that is enough."),
        }
    }
}

/// ", in 3 batches in trays"
fn in_batches(mixing: &Mixing) -> String {
    let trays = mixing.alternatives.as_ref().is_some_and(|alternatives| alternatives.tray.is_some());
    match (mixing.best().len(), trays) {
        (0, _) | (1, false) => String::new(),
        (1, true) => ", poured out flat".into(),
        (batches, true) => format!(", in {batches} batches, each poured out flat"),
        (batches, false) => format!(", in {batches} batches"),
    }
}

/// Cautions for whoever mixes the next coat; none if nothing is mixed or thinned.
fn cautions(page: &mut AmountsPage, coats: &[CoatQuantity<'_>]) {
    let mut told: Vec<String> = Vec::new();
    if let Some(coat) = coats.iter().find(|coat| coat.mixing.is_some()) {
        told.push(
            "A batch heats itself as it hardens: a large one in a cup can smoke and burn. Mix only what you can spread, and leave none in the cup.".into(),
        );
        told.extend(coat.product.cautions.iter().map(|caution| clean(caution)));
    }
    if coats.iter().any(|coat| coat.need.thinner.millilitres() > 0.0) {
        told.push(
            "Thin only as the data sheet allows; thinner is flammable and makes you dizzy: ventilate, no flames, no sparks."
                .into(),
        );
    }
    if !told.is_empty() {
        told.push(COMES_FIRST.into());
    }
    told.into_iter().for_each(|caution| page.say(1, format!("! {caution}")));
}
