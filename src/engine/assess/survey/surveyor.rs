//! One area of the survey: its coats with their standing, and what was done to its ground.

use chrono::TimeDelta;

use super::{AreaSurvey, CoatSurvey, SURFACE_LAG, SurveyOptions};
use crate::engine::air::hold_moisture;
use crate::engine::amounts::{BuildUp, WetOnWet};
use crate::engine::assess::place_air::HUMIDITY_FOR;
use crate::engine::assess::{Readings, SandFrom};
use crate::engine::config::Config;
use crate::engine::cure::{CoatFacts, History, Outlook, Reading, StageTimes, Standing, last_call};
use crate::engine::job::{Area, Coat, SchemeStep, StepKind};
use crate::engine::profile::{Library, Product, Stage};
use crate::engine::units::Moment;

/// What every area of a survey is made from.
pub(super) struct Surveyor<'a, 'b, R> {
    pub library: &'a Library,
    pub readings: &'b R,
    pub config: &'b Config,
    pub outlook: &'b Outlook,
    pub last_reading: Option<Moment>,
    pub now: Moment,
}

impl<'a, R: Readings> Surveyor<'a, '_, R> {
    /// One area, without what the other areas and its judgement add.
    pub fn area(&self, recorded: &Area, options: SurveyOptions) -> Result<AreaSurvey<'a>, R::Error> {
        let mut trouble = None;
        let mut known = |id: &str| match self.library.get(id) {
            Ok(product) => Some(product),
            Err(unknown) => {
                trouble = Some(unknown.to_string());
                None
            }
        };
        let next = recorded.next_product().and_then(&mut known);
        let mut newest = None;
        if let Some(coat) = recorded.newest()
            && let Some(product) = known(&coat.product)
        {
            newest = Some(self.coat(recorded, coat, product, next)?);
        }
        let mut under = Vec::new();
        if options.all_coats {
            for pair in recorded.coats.windows(2) {
                if let Some(product) = known(&pair[0].product) {
                    let following = known(&pair[1].product);
                    under.push(self.coat(recorded, &pair[0], product, following)?);
                }
            }
        }
        let wet_on_wet = newest.as_ref().and_then(|coat| WetOnWet::of(recorded, coat.product));
        let wash = newest.as_ref().is_some_and(|coat| coat.standing.wash);
        let is_soft = |at: Moment| newest.as_ref().is_some_and(|coat| coat.is_soft_at(at));
        let sanded_soft = recorded.last_since_coat(StepKind::Sand).filter(|at| is_soft(*at));
        // From here on a sanding that does not count was not done.
        let area = &recorded.without_sandings(is_soft);
        let sanded = area.last_since_coat(StepKind::Sand);
        let washed = area.since_coat(StepKind::Wash);
        let washed = washed.filter(|at| newest.as_ref().is_none_or(|coat| !coat.is_tacky_at(*at))).min();
        // Sanding drives into the film what was not washed off it.
        let clean = !wash || washed.is_some_and(|washed| sanded.is_some_and(|sanded| washed <= sanded));
        // Tape that the scheme leaves on through further coats is due only after the last of them.
        let mut to_come = area.to_do().iter();
        let pull = to_come.clone().position(|step| matches!(step, SchemeStep::Tape { on: false }));
        let coat = to_come.position(|step| matches!(step, SchemeStep::Coat { .. }));
        let kept = pull.is_some_and(|pull| coat.is_some_and(|coat| coat < pull));
        Ok(AreaSurvey {
            newest,
            under,
            next,
            coats: area.coats.len(),
            planned: area.planned_coats(),
            takes: area.takes(),
            prepared: sanded.is_some() && clean,
            sanded_soft,
            stripped: area.is_stripped(),
            washed: washed.is_some(),
            dry_from: area.last_since_coat(StepKind::Wash).map(|at| at + self.config.session.wash_dries),
            taped: !kept && (area.is_taped() || pull.is_some() && !plans_tape(area)),
            to_do: area.to_come(),
            steps: recorded.steps.clone(),
            strokes: area.coats.iter().map(|coat| coat.first_stroke).collect(),
            last_reading: self.last_reading,
            trouble,
            surface_lag: lag_of(area),
            ground: area.plan.as_ref().and_then(|plan| plan.ground),
            films: (!area.films.is_empty()).then(|| BuildUp::of(area, self.library)),
            wet_on_wet,
            ..AreaSurvey::bare(&area.name, area.place())
        })
    }

    fn coat(
        &self,
        area: &Area,
        coat: &Coat,
        product: &'a Product,
        next: Option<&'a Product>,
    ) -> Result<CoatSurvey<'a>, R::Error> {
        let facts =
            CoatFacts { first_stroke: coat.first_stroke, last_stroke: coat.last_stroke, product, next };
        let (standing, sand_from) = self.standing(area.place(), lag_of(area), facts)?;
        let closes = standing.stage(Stage::RecoatClose).and_then(|close| close.earliest);
        let takes = area.takes().unwrap_or(TimeDelta::zero());
        let last_call = closes.map(|closes| last_call(closes, takes, self.config.leads.last_call));
        Ok(CoatSurvey { coat: coat.clone(), product, next, standing, sand_from, last_call })
    }

    /// An old coat has cured: only the readings of its own time are read, in growing spans, until every stage
    /// is reached inside them. The readings of the day before give the last humidity and surface.
    fn standing(
        &self,
        place: &str,
        lag: TimeDelta,
        facts: CoatFacts<'_>,
    ) -> Result<(Standing, SandFrom), R::Error> {
        let mut span = TimeDelta::days(16);
        let end = self.last_reading.map_or(self.now, |last| last.min(self.now));
        loop {
            let to = (facts.first_stroke + span).min(end);
            let from = facts.first_stroke - HUMIDITY_FOR;
            let mut readings = self.readings.readings(place, from, to)?;
            forget_humidity_before(&mut readings, from);
            let measured = hold_moisture(&mut readings);
            let history = History::new(readings, self.outlook.clone());
            let history = history.with_humidity_measured_until(measured).with_surface_lag(lag);
            let standing = Standing::calculate(facts, &history, self.now);
            let last = history.last_reading();
            let settled = |(_, times): &(Stage, StageTimes)| times.latest.is_some_and(|at| Some(at) <= last);
            if to >= end || standing.stages.iter().all(settled) {
                let sand_from = SandFrom::of(facts, &standing, &history);
                return Ok((standing, sand_from));
            }
            // The result for the readings so far shows how many more are needed.
            let latest = standing.stages.iter().filter_map(|(_, times)| times.latest).max();
            let needed = latest.map_or(span * 3, |latest| latest - facts.first_stroke + TimeDelta::days(2));
            span = needed.clamp(span + span / 2, span * 4);
        }
    }
}

/// Whether the scheme has a step that puts tape on, so that the record knows about it.
fn plans_tape(area: &Area) -> bool {
    let steps = area.plan.iter().flat_map(|plan| &plan.steps);
    steps.into_iter().any(|step| matches!(step, SchemeStep::Tape { on: true }))
}

/// How slowly a surface of an area follows the air.
fn lag_of(area: &Area) -> TimeDelta {
    area.plan.as_ref().map_or(SURFACE_LAG, |plan| plan.surface_lag)
}

/// A humidity measured long before a coat does not count for it.
fn forget_humidity_before(readings: &mut [Reading], moment: Moment) {
    let old = readings.iter_mut().take_while(|reading| reading.at < moment);
    old.for_each(|reading| reading.humidity = None);
}
