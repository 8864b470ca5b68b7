//! Amounts of a job: questions, and the entries of films and stock.

use super::{Done, Session, SessionError};
use crate::app::wording::AmountsPage;
use crate::engine::amounts::{
    AirFrom, Asked, BuildUp, Ledger, Material, Pot, Practice, Quantities, Shop, UNREAD, implausible_film,
    implausible_stock, ledgers,
};
use crate::engine::assess::{AreaSurvey, PotByModel, SurveyOptions};
use crate::engine::cure::Phase;
use crate::engine::job::{Amount, EntryKind, Job};
use crate::engine::profile::{Product, Stage};
use crate::engine::units::{Celsius, Micrometres, Millilitres, Moment, Money, UnitError, Units, clean};
use crate::io::store::Store;

/// A tin, as a person types it: "2kg", "750 ml", "1 qt". A bare number does not say what it is of.
///
/// # Errors
/// [`UnitError`] where it is no amount, or not more than nothing.
pub fn parse_amount(text: &str, units: &Units) -> Result<Amount, UnitError> {
    let bare = text.trim().chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-'));
    if bare {
        let wanted = "an amount with its unit, such as 2kg, 750ml or 1qt";
        return Err(UnitError::NotThat { text: clean(text), wanted });
    }
    match crate::engine::units::Grams::parse(text, units.mass) {
        Ok(mass) => Ok(Amount::MassG(mass)),
        Err(UnitError::OutOfRange { value, range, advice }) => {
            Err(UnitError::OutOfRange { value, range, advice })
        }
        Err(_) => Millilitres::parse(text, units.volume).map(Amount::VolumeMl).map_err(|error| match error {
            UnitError::NotThat { text, .. } => {
                UnitError::NotThat { text, wanted: "an amount such as 2kg, 750ml or 1qt" }
            }
            other => other,
        }),
    }
}

impl<'a> Session<'a> {
    /// How a coat is applied, from the settings.
    pub const fn practice(&self) -> Practice {
        Practice::usual(&self.config.amounts)
    }

    /// The need at a moment; `air` if the person gives the temperature.
    ///
    /// # Errors
    /// Where the job cannot be read, or there is no such area.
    pub fn quantities(
        &self,
        asked: &Asked,
        air: Option<Celsius>,
        now: Moment,
    ) -> Result<Quantities<'a>, SessionError> {
        let pot = PotByModel::of(&self.survey(now, SurveyOptions::default())?, now);
        self.quantities_of(&self.job(now)?, &pot, asked, air, now)
    }

    fn quantities_of(
        &self,
        job: &Job,
        pot: &dyn Pot,
        asked: &Asked,
        air: Option<Celsius>,
        now: Moment,
    ) -> Result<Quantities<'a>, SessionError> {
        let mut asked = asked.clone();
        if let Some(area) = &mut asked.area {
            *area = match (job.area(area.trim()), asked.size) {
                (Some(known), _) => known.name.clone(),
                // An unrecorded area can be calculated if its size is given.
                (None, Some(_)) => self.area_name(area, false)?,
                (None, None) => self.known_area(area).map_err(|error| {
                    SessionError::Input(format!("{error}. For a new area give its size: --size 3m2"))
                })?,
            };
        }
        let read = |place: &str| {
            let reading =
                self.store.as_ref().map(|store: &Store| store.latest_reading(place, now)).transpose();
            reading.ok().flatten().flatten()
        };
        let air = |place: &str| match (air, read(place)) {
            (Some(air), _) => (air, AirFrom::Given),
            (None, Some(reading)) => (reading.air, AirFrom::Read(reading.at)),
            (None, None) => (UNREAD, AirFrom::Unread),
        };
        let shop = Shop {
            air: &air,
            thermometer_error: self.config.thermometer_error,
            pot,
            scale: self.config.amounts.scale,
        };
        Ok(Quantities::calculate(job, self.library, &asked, &shop))
    }

    /// The stock of every product at a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn ledgers(&self, now: Moment) -> Result<Vec<Ledger>, SessionError> {
        Ok(ledgers(&self.job(now)?, self.library, &self.practice()))
    }

    /// The pages of amounts: every area of the scheme, all of them together, and the stock.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn amount_pages(&self, now: Moment) -> Result<Vec<AmountsPage>, SessionError> {
        let job = self.job(now)?;
        let scale = self.config.amounts.scale;
        let pot = PotByModel::of(&self.survey(now, SurveyOptions::default())?, now);
        let calculate = |area: Option<String>| {
            let asked = Asked { area, product: None, size: None, practice: self.practice() };
            self.quantities_of(&job, &pot, &asked, None, now)
        };
        let mut pages = Vec::new();
        for area in &job.areas {
            pages.push(self.words.quantity(&calculate(Some(area.name.clone()))?, scale, now));
        }
        pages.push(self.words.all_quantities(&calculate(None)?));
        let ledgers = ledgers(&job, self.library, &self.practice());
        pages.push(self.words.stock(&ledgers, &self.config.amounts.currency, now));
        Ok(pages)
    }

    pub(super) fn wet_film(
        &mut self,
        area: &str,
        spots: Vec<Micrometres>,
        sure: bool,
        at: Moment,
    ) -> Result<Done, SessionError> {
        let area = self.known_area(area)?;
        let mut job = self.job(at)?;
        let coat = job.area(&area).and_then(crate::engine::job::Area::newest).cloned().ok_or_else(|| {
            SessionError::Input(format!(
                "no coat was started on {area} before that time; start one with: curewright coat \"{area}\""
            ))
        })?;
        if spots.is_empty() {
            return Err(SessionError::Input(
                "how thick is the film? Give the value of the comb: 80um".into(),
            ));
        }
        let product = self.library.get(&coat.product).ok();
        let asked = product.and_then(|product| product.film.as_ref()?.wet);
        let slip = spots.iter().find_map(|spot| Some((*spot, implausible_film(*spot, asked)?)));
        if let (false, Some((spot, slip))) = (sure, slip) {
            return Err(SessionError::Ask(self.words.implausible_film(spot, asked, &coat.product, slip)));
        }
        let survey = self.survey(at, SurveyOptions::default())?;
        let cautions = survey.area(&area).into_iter().filter_map(|area| no_longer_wet(area, at)).collect();
        let first = |area: &crate::engine::job::Area| area.films.iter().all(|film| film.layer != coat.layer);
        let listed = !job.area(&area).is_some_and(first);
        if let Some(known) = job.areas.iter_mut().find(|known| known.name == area) {
            let id = crate::engine::job::EntryId(i64::MAX);
            known.films.push(crate::engine::job::WetFilm { id, at, layer: coat.layer, spots: spots.clone() });
        }
        let films = job.area(&area).map(|area| BuildUp::of(area, self.library));
        let told = films.map(|films| self.words.build_up(&films, listed).join(" ")).unwrap_or_default();
        let done = self.append_saying(at, EntryKind::WetFilm { area, micrometres: spots }, &told)?;
        Ok(Done { cautions, ..done })
    }

    pub(super) fn stock_came(
        &mut self,
        product: &str,
        amount: Amount,
        price: Option<Money>,
        lot: Option<String>,
        sure: bool,
        at: Moment,
    ) -> Result<Done, SessionError> {
        let product = self.library.get(product.trim())?;
        let came = Material::of(amount, product.density());
        let need = self.need_of(product, at)?;
        if let (false, Some(slip)) = (sure, implausible_stock(came, need)) {
            return Err(SessionError::Ask(self.words.implausible_stock(&product.id, amount, need, slip)));
        }
        let kind = EntryKind::Stock {
            product: product.id.clone(),
            amount,
            price: price.map(|price| price.to_string()),
            lot: lot.map(|lot| clean(lot.trim())).filter(|lot| !lot.is_empty()),
        };
        let mut done = self.append_saying(at, kind, "")?;
        let ledger =
            self.ledgers(self.now().max(at))?.into_iter().find(|ledger| ledger.product == product.id);
        if let Some(left) = ledger.and_then(|ledger| self.words.left_of(&ledger)) {
            done.says = format!("{} {left}", done.says);
        }
        Ok(done)
    }

    /// The need of the piece for a product: coming and used.
    fn need_of(&self, product: &Product, at: Moment) -> Result<Material, SessionError> {
        let asked = Asked { area: None, product: None, size: None, practice: self.practice() };
        let to_come = self.quantities(&asked, None, at)?;
        let to_come = to_come.products.iter().find(|known| known.product.id == product.id);
        let used = Ledger::of(&self.job(at)?, &product.id, Some(product), &self.practice()).used.all;
        Ok(to_come.map_or(Material::NONE, |known| known.all.1).plus(used))
    }

    /// The warning for one coat too many wet on wet. It is recorded anyway.
    pub(super) fn one_too_many(
        &self,
        area: &AreaSurvey<'_>,
        product: &Product,
        at: Moment,
    ) -> Option<String> {
        let soft = matches!(area.phase_at(at)?, Phase::Wet | Phase::Open);
        let wet = area.wet_on_wet.filter(|_| soft && area.is_full_for(product))?;
        Some(format!(
            "The profile allows {} coats of {} wet on wet, and this is one more: it may stay soft, run or wrinkle.",
            wet.most, product.id
        ))
    }
}

/// A comb reads a wet film only.
fn no_longer_wet(area: &AreaSurvey<'_>, at: Moment) -> Option<String> {
    let standing = &area.newest.as_ref()?.standing;
    let tack_free = standing.stage(Stage::TackFree).and_then(|stage| stage.at)?;
    (tack_free <= at)
        .then(|| "The coat is tack-free: a comb measures only a wet film, directly after the stroke.".into())
}
