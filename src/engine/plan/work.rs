//! The remaining work on an area, from its scheme and its current state.

use chrono::TimeDelta;

use super::films::{Films, Limit, Wanted};
use super::grid::Grid;
use super::infeasible::SchemeFault;
use super::precedence::{self, CoatTask, Follows, Prep, Stack};
use super::problem::Tick;
use crate::engine::assess::{old_paint_objects, pair_objection};
use crate::engine::config::SessionTimes;
use crate::engine::cure::Standing;
use crate::engine::job::{Ground, SchemeArea, SchemeStep, WetOnWet};
use crate::engine::profile::{Library, Product, Stage};
use crate::engine::units::{Moment, SquareMetres};

/// The current state of an area.
#[derive(Debug, Clone)]
pub struct AreaNow<'a> {
    /// Its name.
    pub name: String,
    /// The number of its place.
    pub place: usize,
    /// Its size.
    pub square_metres: Option<SquareMetres>,
    /// The duration of a coat, if known.
    pub takes: Option<TimeDelta>,
    /// The time constant of its surface.
    pub surface_lag: TimeDelta,
    /// Whether rain can fall on it.
    pub outdoors: bool,
    /// Its number of coats.
    pub coats: usize,
    /// The newest one.
    pub newest: Option<NewestCoat<'a>>,
    /// Whether the ground is ready for the next coat.
    pub prepared: bool,
    /// Whether it was washed since the newest coat.
    pub washed: bool,
    /// When the water of the last washing has dried off.
    pub dry_from: Option<Moment>,
    /// Whether tape is on that was applied before the newest coat.
    pub taped: bool,
    /// The remaining steps of the scheme.
    pub to_do: Vec<SchemeStep>,
    /// What the first coat goes on; None where the scheme does not say.
    pub ground: Option<Ground>,
    /// The pairs of film and coat that a person confirmed with both data sheets.
    pub confirmed: Vec<(String, String)>,
}

impl AreaNow<'_> {
    /// When dust no longer harms its newest film; None without a film, or if its profile gives no time.
    pub(super) fn tack_free(&self, now: Moment) -> Option<Moment> {
        let latest = self.newest.as_ref()?.standing.stage(Stage::TackFree)?.latest;
        Some(latest.unwrap_or(now + NO_LONGER_WET))
    }

    /// An area of a scheme without any work done, indoors, in the first place.
    pub fn bare(area: &SchemeArea) -> Self {
        Self {
            name: area.name.clone(),
            place: 0,
            square_metres: area.square_metres,
            takes: area.takes,
            surface_lag: area.surface_lag,
            outdoors: false,
            coats: 0,
            newest: None,
            prepared: false,
            washed: false,
            dry_from: None,
            taped: false,
            to_do: area.steps.clone(),
            ground: area.ground,
            confirmed: Vec::new(),
        }
    }

    /// Whether the profiles or a person allow a product on a film, as in the judgement.
    fn allows(&self, film: &Product, coat: &Product) -> bool {
        pair_objection(film, coat, &self.confirmed).is_none()
    }
}

/// The newest coat of an area.
#[derive(Debug, Clone)]
pub struct NewestCoat<'a> {
    /// Its product.
    pub product: &'a Product,
    /// Its standing.
    pub standing: Standing,
    /// The number of coats of its product that are wet on wet, including this one.
    pub run: usize,
    /// The product that its window was calculated for.
    pub window_for: Option<&'a str>,
    /// From when on it can be sanded, for that product; None if that is unknown.
    pub sand_from: Option<Moment>,
}

/// A planned coat with its facts.
#[derive(Debug, Clone)]
pub(super) struct PlannedCoat<'a> {
    pub product: &'a Product,
    pub layer: usize,
    pub bare_wood: bool,
    /// The tables of its films, by number.
    pub open: Option<usize>,
    pub close: Option<usize>,
    pub tape_by: Option<usize>,
    pub tack_free: Option<usize>,
    pub sandable: Option<usize>,
    /// When its film also has what its profile asks for before it is sanded for the next coat.
    pub sanded_for_next: Option<usize>,
    pub done: Option<usize>,
    /// For the last coat only.
    pub handled: Option<usize>,
}

/// The kind of a preparation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Preparation {
    /// Washing.
    Wash,
    /// Sanding.
    Sand,
}

/// The work on one area.
#[derive(Debug, Clone)]
pub(super) struct Work<'a> {
    pub stack: Stack,
    pub coats: Vec<PlannedCoat<'a>>,
    /// The preparations of each coat, and those after the last.
    pub preps: Vec<Vec<Preparation>>,
    /// Assumptions for missing values.
    pub assumed: Vec<String>,
    /// And for possible extra sandings.
    pub assumed_if_owed: Option<String>,
}

/// Default duration of a coat.
const COAT: TimeDelta = TimeDelta::minutes(30);
/// Default duration of sanding in minutes per square metre, or in all if the size is unknown (common practice,
/// no source).
const SAND_A_SQUARE_METRE: f64 = 10.0;
const SAND: TimeDelta = TimeDelta::minutes(30);
/// The wait for a tack-free film ends after this.
const NO_LONGER_WET: TimeDelta = TimeDelta::days(3);
const WASH: TimeDelta = TimeDelta::minutes(15);
const TAPE_ON: TimeDelta = TimeDelta::minutes(20);
const TAPE_OFF: TimeDelta = TimeDelta::minutes(10);

/// The plan's data besides the area.
pub(super) struct Site<'a, 'b> {
    pub library: &'a Library,
    pub films: &'b Films<'a>,
    pub grid: &'b Grid,
    /// The lead of the last call.
    pub lead: TimeDelta,
    /// What a session takes besides its steps.
    pub session: SessionTimes,
}

/// The steps between two coats in the scheme.
#[derive(Default)]
struct Between {
    preps: Vec<(Preparation, TimeDelta)>,
    tape: bool,
}

impl<'a> Work<'a> {
    pub(super) fn of(area: &AreaNow<'a>, site: &Site<'a, '_>) -> Result<Self, SchemeFault> {
        let mut work = Self {
            stack: Stack::default(),
            coats: Vec::new(),
            preps: Vec::new(),
            assumed: Vec::new(),
            assumed_if_owed: None,
        };
        let takes = area.takes.unwrap_or(COAT);
        if area.takes.is_none() && area.to_do.iter().any(|step| step.kind().is_none()) {
            work.assumed.push(format!("{}: 30 min a coat; its duration is unknown", area.name));
        }
        let mut between = Between::default();
        for step in &area.to_do {
            match step {
                SchemeStep::Coat { product, wet_on_wet } => {
                    let product = site
                        .library
                        .get(product)
                        .map_err(|unknown| SchemeFault::Unknown { area: area.name.clone(), unknown })?;
                    let between = std::mem::take(&mut between);
                    work.coat(area, site, product, *wet_on_wet, between, takes)?;
                }
                SchemeStep::Sand { minutes, .. } => {
                    let minutes = minutes.map(|minutes| TimeDelta::minutes(i64::from(minutes)));
                    let length = minutes.unwrap_or_else(|| {
                        work.assumed.push(sanding_assumed(area));
                        sanding_takes(area)
                    });
                    between.preps.push((Preparation::Sand, length));
                }
                SchemeStep::Wash => between.preps.push((Preparation::Wash, WASH)),
                SchemeStep::Tape { on: true } => between.tape = true,
                SchemeStep::Tape { on: false } => work.tape_off(area, site)?,
            }
        }
        if between.tape {
            return Err(SchemeFault::TapeLast { area: area.name.clone() });
        }
        work.stack.last = preps(&between.preps, false, site);
        work.preps.push(between.preps.iter().map(|(what, _)| *what).collect());
        work.stack.ground = work.ground(area, site);
        work.stack.room = area.place;
        if let Some(last) = work.coats.last_mut() {
            let handled = last.product.stage(Stage::Handle);
            last.handled =
                handled.map(|table| site.films.want(Wanted::new(last.product, table, Limit::Minimum)));
        }
        Ok(work)
    }

    fn tape_off(&mut self, area: &AreaNow<'_>, site: &Site<'_, '_>) -> Result<(), SchemeFault> {
        if let Some(coat) = self.stack.coats.last_mut() {
            coat.after = Grid::ticks(TAPE_OFF);
            return Ok(());
        }
        let Some(newest) = &area.newest else {
            return Err(SchemeFault::TapeFirst { area: area.name.clone() });
        };
        if area.taped {
            let by = newest.standing.stage(Stage::TapeBy).and_then(|stage| stage.earliest);
            // Tape past its deadline still has to come off.
            let by = by.and_then(|by| site.grid.not_after(by)).filter(|by| *by >= Grid::ticks(TAPE_OFF));
            self.stack.first = Some((Grid::ticks(TAPE_OFF), by));
        }
        Ok(())
    }

    fn coat(
        &mut self,
        area: &AreaNow<'a>,
        site: &Site<'a, '_>,
        product: &'a Product,
        wish: Option<WetOnWet>,
        between: Between,
        takes: TimeDelta,
    ) -> Result<(), SchemeFault> {
        let first = self.coats.is_empty();
        let under = match self.coats.last() {
            Some(coat) => Some(coat.product),
            None => area.newest.as_ref().map(|newest| newest.product),
        };
        if let Some(under) = under.filter(|under| !area.allows(under, product)) {
            let (area, product, under) = (area.name.clone(), product.id.clone(), under.id.clone());
            return Err(SchemeFault::NotAllowed { area, product, under });
        }
        if under.is_none() && old_paint_objects(area.ground, product, &area.confirmed) {
            let (area, product) = (area.name.clone(), product.id.clone());
            return Err(SchemeFault::NotAllowed { area, product, under: Ground::OldPaint.key().to_owned() });
        }
        let recoat = under.and_then(|under| under.recoat_before(product));
        let planned = !between.preps.is_empty();
        let ready = first && (area.prepared || under.is_none()) && !planned;
        let names = |under: &Product| (area.name.clone(), product.id.clone(), under.id.clone());
        if wish == Some(WetOnWet::Must) && planned && under.is_some() {
            let (area, product) = (area.name.clone(), product.id.clone());
            return Err(SchemeFault::Excluded { area, product });
        }
        let follows = match (under, wish) {
            _ if ready => Follows::Open,
            _ if planned => Follows::Prepared,
            (Some(under), Some(WetOnWet::Must)) if recoat.is_none() => {
                let (area, product, under) = names(under);
                return Err(SchemeFault::NoWindow { area, product, under });
            }
            (_, Some(WetOnWet::Must)) => Follows::Open,
            (_, Some(WetOnWet::Never)) => Follows::Prepared,
            _ if recoat.is_none() => Follows::Prepared,
            _ => Follows::Either,
        };
        let mut preparations = between.preps;
        let mut extra = false;
        if let Some(under) = under.filter(|_| follows != Follows::Open) {
            if under_sandable(under).is_none() && follows == Follows::Prepared {
                let (area, product, under) = names(under);
                return Err(SchemeFault::NeverSandable { area, product, under });
            }
            let washes = recoat.map_or(under.washes(), |entry| entry.wash) && !(first && area.washed);
            let sands = preparations.iter().position(|(what, _)| *what == Preparation::Sand);
            if sands.is_none() {
                extra = true;
                self.assumed_if_owed = Some(sanding_assumed(area));
                preparations.push((Preparation::Sand, sanding_takes(area)));
            }
            if washes && preparations.iter().all(|(what, _)| *what != Preparation::Wash) {
                preparations.insert(0, (Preparation::Wash, WASH));
            }
        }
        if let Some(below) = self.coats.last_mut() {
            below.sanded_for_next = below
                .product
                .sanded_for(product)
                .map(|entry| site.films.want(Wanted::new(below.product, &entry.open, Limit::Minimum)));
            below.open =
                recoat.map(|entry| site.films.want(Wanted::new(below.product, &entry.open, Limit::Minimum)));
            let close = recoat.and_then(|entry| match &entry.close {
                Some(close) => Some(close),
                // Without a limit the film takes a coat until full cure.
                None => below.product.stage(Stage::FullCure),
            });
            below.close =
                close.map(|close| site.films.want(Wanted::new(below.product, close, Limit::Maximum)));
        }
        let limited = recoat.is_some_and(|entry| entry.close.is_some());
        let film = product.film.as_ref().and_then(|film| film.wet_on_wet_coats);
        self.stack.coats.push(CoatTask {
            before: if between.tape { Grid::ticks(TAPE_ON) } else { 0 },
            takes: Grid::ticks(takes),
            after: 0,
            follows,
            preps: preps(&preparations, extra, site),
            run_limit: film.filter(|_| limited).map(|limit| limit as usize),
            same_product: under.is_some_and(|under| under.id == product.id),
            mix: None,
            mixing: ticks_if_any(site.session.mixing + induction(product)),
            cleaning: ticks_if_any(site.session.cleaning),
        });
        self.preps.push(preparations.iter().map(|(what, _)| *what).collect());
        let minimum = |table| site.films.want(Wanted::new(product, table, Limit::Minimum));
        self.coats.push(PlannedCoat {
            product,
            layer: area.coats + self.coats.len() + 1,
            bare_wood: under.is_none() && area.ground.is_none_or(Ground::is_porous),
            open: None,
            close: None,
            tape_by: product
                .stage(Stage::TapeBy)
                .map(|table| site.films.want(Wanted::new(product, table, Limit::Maximum))),
            tack_free: product.stage(Stage::TackFree).map(minimum),
            sandable: under_sandable(product).map(minimum),
            sanded_for_next: None,
            done: in_service(product)
                .map(|table| site.films.want(Wanted::new(product, table, Limit::Minimum))),
            handled: None,
        });
        Ok(())
    }

    fn ground(&self, area: &AreaNow<'_>, site: &Site<'_, '_>) -> precedence::Ground {
        let grid = site.grid;
        let dry = area.dry_from.map_or(0, |at| grid.not_before(at));
        let Some(newest) = &area.newest else {
            return precedence::Ground {
                open: Some((dry, None)),
                sandable: Some(dry),
                run: 0,
                done: 0,
                done_unknown: false,
            };
        };
        let standing = &newest.standing;
        let latest =
            |stage: Stage| standing.stage(stage).and_then(|stage| stage.latest).map(|at| grid.not_before(at));
        let next = self.coats.first().map(|coat| coat.product.id.as_str());
        // Sanded ground waits too: until the film is hard, and for what its profile asks for before the next product.
        let hardens = standing.stage(Stage::Sandable).or_else(|| standing.stage(Stage::FullCure)).is_some();
        let sandable = match newest.sand_from {
            None if area.prepared && !hardens => Some(0),
            from => from.map(|at| grid.not_before(at)),
        };
        let sandable = sandable.map(|from| from.max(dry));
        let open = match standing.window() {
            _ if area.prepared => sandable.map(|from| (from, None)),
            Some((open, close)) if newest.window_for == next => {
                let close = close.or_else(|| {
                    let limited = standing.stage(Stage::RecoatClose).is_some();
                    standing.stage(Stage::FullCure).filter(|_| !limited).and_then(|stage| stage.earliest)
                });
                let by = close.map(|close| grid.not_after(close - site.lead).unwrap_or(0));
                open.map(|open| (grid.not_before(open).max(dry), by))
            }
            _ => None,
        };
        let stage = IN_SERVICE.into_iter().find(|stage| standing.stage(*stage).is_some());
        let done = stage.and_then(latest).filter(|_| self.coats.is_empty());
        let done_unknown = stage.is_some() && done.is_none() && self.coats.is_empty();
        let same = self.coats.first().is_some_and(|coat| coat.product.id == newest.product.id);
        let run = if same && !area.prepared { newest.run } else { 0 };
        precedence::Ground { open, sandable, run, done: done.unwrap_or(0), done_unknown }
    }
}

fn sanding_takes(area: &AreaNow<'_>) -> TimeDelta {
    area.square_metres
        .map_or(SAND, |size| TimeDelta::minutes((size.square_metres() * SAND_A_SQUARE_METRE).ceil() as i64))
}

fn sanding_assumed(area: &AreaNow<'_>) -> String {
    let minutes = sanding_takes(area).num_minutes();
    format!("{}: {minutes} min a sanding; its duration is unknown", area.name)
}

/// The stage for service: full cure, or the last stage in the profile.
const IN_SERVICE: [Stage; 4] = [Stage::FullCure, Stage::Handle, Stage::Sandable, Stage::TackFree];

/// The table for sandable; a cured film is sandable.
pub(super) fn under_sandable(product: &Product) -> Option<&crate::engine::profile::TimeTable> {
    product.stage(Stage::Sandable).or_else(|| product.stage(Stage::FullCure))
}

/// The table for service.
pub(super) fn in_service(product: &Product) -> Option<&crate::engine::profile::TimeTable> {
    IN_SERVICE.into_iter().find_map(|stage| product.stage(stage))
}

pub(super) fn ticks_if_any(length: TimeDelta) -> Tick {
    if length > TimeDelta::zero() { Grid::ticks(length) } else { 0 }
}

/// The wait between mixing a product and its first stroke.
pub(super) fn induction(product: &Product) -> TimeDelta {
    product.mix.as_ref().and_then(|mix| mix.induction).unwrap_or_default()
}

/// The preparations as work; extra ones count as extra work.
fn preps(preps: &[(Preparation, TimeDelta)], extra: bool, site: &Site<'_, '_>) -> Vec<Prep> {
    let prep = |(what, length): &(Preparation, TimeDelta)| Prep {
        length: Grid::ticks(*length),
        owed: extra,
        dusty: *what == Preparation::Sand,
        dries: if *what == Preparation::Wash { ticks_if_any(site.session.wash_dries) } else { 0 },
    };
    preps.iter().map(prep).collect()
}
