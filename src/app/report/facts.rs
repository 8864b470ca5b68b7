//! What a report holds: every area with its coats, what the air was, what was outside a data sheet's limits,
//! hours and money.

mod batch;
mod coat;
mod figures;
mod ground;
mod limits;
mod stripped;

use crate::app::view::{Ribbon, View};
use crate::engine::amounts::Practice;
use crate::engine::assess::{AreaSurvey, CoatSurvey, HoursReport, MoneyReport, Readings, Survey};
use crate::engine::config::{Config, ReportHead};
use crate::engine::job::{Area, Batch, Coat, Entry, Job, Note, StepDone, voided};
use crate::engine::profile::{Library, Product};
use crate::engine::units::{KelvinDelta, Moment, SquareMetres, clean};

pub use coat::{Assumption, CalculatedCoat, CoatReport, TakenOff};
pub use figures::{AirFigures, Span};
pub use limits::{Finding, Outside};

/// A piece and what was done to it, up to a moment.
#[derive(Debug, Clone)]
pub struct Report {
    /// The piece.
    pub piece: Option<String>,
    /// The moment it was made for.
    pub at: Moment,
    /// The areas.
    pub areas: Vec<AreaReport>,
    /// The batches that were mixed.
    pub batches: Vec<Batch>,
    /// Hours of work.
    pub hours: HoursReport,
    /// What was bought.
    pub money: MoneyReport,
    /// What was noted of the piece as a whole.
    pub notes: Vec<Note>,
    /// The products that were used, each once.
    pub products: Vec<Product>,
    /// How many entries were taken back or corrected.
    pub struck: usize,
    /// How far the thermometer may be off.
    pub thermometer_error: KelvinDelta,
    /// Who and where, from the settings.
    pub head: ReportHead,
}

/// One area.
#[derive(Debug, Clone)]
pub struct AreaReport {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: String,
    /// How large it is.
    pub size: Option<SquareMetres>,
    /// How many coats the scheme gives it.
    pub planned: Option<usize>,
    /// How it stands now, as on the board.
    pub now: Option<Ribbon>,
    /// Its coats, from the ground up.
    pub coats: Vec<CoatReport>,
    /// The coats that were taken off again, in the order of that.
    pub stripped: Vec<CoatReport>,
    /// What was done before the first coat.
    pub before: Vec<StepDone>,
    /// What was noted of it, and of none of its coats.
    pub notes: Vec<Note>,
}

impl Report {
    /// Gathers the report of a job. `survey` has to hold every coat, `view` is that of the board.
    ///
    /// # Errors
    /// Those of the readings.
    pub fn gather<R: Readings>(
        entries: &[Entry],
        survey: &Survey<'_>,
        view: &View,
        library: &Library,
        readings: &R,
        config: &Config,
    ) -> Result<Self, R::Error> {
        let at = survey.at;
        let job = Job::fold(entries, at);
        let mut areas = Vec::with_capacity(job.areas.len());
        for area in &job.areas {
            let surveyed = survey.areas.iter().find(|known| known.name == area.name);
            let error = config.thermometer_error;
            let gathering = Gathering { job: &job, survey, area, surveyed, library, readings, error };
            let before = stripped::Before { entries, job: &job, library, readings, config };
            let mut gathered = gathering.area(before.coats_of(area)?)?;
            gathered.now = view.ribbons.iter().find(|ribbon| ribbon.area == clean(&area.name)).cloned();
            areas.push(gathered);
        }
        let mut products: Vec<Product> = Vec::new();
        for id in job.areas.iter().flat_map(Area::every_coat).map(|coat| &coat.product) {
            if let Ok(product) = library.get(id)
                && !products.iter().any(|known| known.id == product.id)
            {
                products.push(product.clone());
            }
        }
        let known = |area: &String| job.area(area).is_some();
        let voided = voided(entries);
        let struck = |entry: &&Entry| entry.at <= at && voided.contains(&entry.id);
        Ok(Self {
            piece: job.name.clone(),
            at,
            areas,
            hours: HoursReport::of(&job),
            money: MoneyReport::of(&job, library, &Practice::usual(&config.amounts)),
            notes: job.notes.iter().filter(|note| !note.area.as_ref().is_some_and(known)).cloned().collect(),
            batches: job.batches.clone(),
            products,
            struck: entries.iter().filter(struck).count(),
            thermometer_error: config.thermometer_error,
            head: config.report.clone(),
        })
    }

    /// Every coat with its area.
    pub fn coats(&self) -> impl Iterator<Item = (&AreaReport, &CoatReport)> {
        self.areas.iter().flat_map(|area| area.coats.iter().map(move |coat| (area, coat)))
    }

    /// Everything that was outside a data sheet's limits, with its area and coat.
    pub fn findings(&self) -> impl Iterator<Item = (&AreaReport, &CoatReport, &Finding)> {
        self.coats().flat_map(|(area, coat)| coat.findings.iter().map(move |finding| (area, coat, finding)))
    }

    /// The first and the last stroke of all coats.
    pub fn span(&self) -> Option<(Moment, Moment)> {
        let first = self.coats().map(|(_, coat)| coat.first_stroke).min()?;
        let last = self.coats().map(|(_, coat)| coat.last_stroke.unwrap_or(coat.first_stroke)).max()?;
        Some((first, last))
    }

    /// A product that was used.
    pub fn product(&self, id: &str) -> Option<&Product> {
        self.products.iter().find(|product| product.id == id)
    }
}

/// What the report of an area is gathered from.
struct Gathering<'g, 'a, R> {
    job: &'g Job,
    survey: &'g Survey<'a>,
    area: &'g Area,
    surveyed: Option<&'g AreaSurvey<'a>>,
    library: &'g Library,
    readings: &'g R,
    error: KelvinDelta,
}

impl<'g, 'a, R: Readings> Gathering<'g, 'a, R> {
    fn area(&self, stripped: Vec<CoatReport>) -> Result<AreaReport, R::Error> {
        let coats = self.area.coats.iter().enumerate();
        let coats = coats.map(|(index, coat)| self.coat(index, coat)).collect::<Result<Vec<_>, _>>()?;
        let first = self.area.coats.first().map(|coat| (coat.first_stroke, coat.id));
        let of_a_coat = |note: &Note| {
            coats.iter().chain(&stripped).any(|coat| coat.notes.iter().any(|n| n.id == note.id))
        };
        let here = |note: &&Note| {
            let area = note.area.as_ref();
            area.is_some_and(|area| area.eq_ignore_ascii_case(&self.area.name)) && !of_a_coat(note)
        };
        Ok(AreaReport {
            name: self.area.name.clone(),
            place: self.area.place().to_owned(),
            size: self.area.plan.as_ref().and_then(|plan| plan.square_metres),
            planned: self.area.planned_coats(),
            now: None,
            before: self.steps_between(None, first),
            notes: self.job.notes.iter().filter(here).cloned().collect(),
            coats,
            stripped,
        })
    }

    /// The steps between two strokes.
    fn steps_between(
        &self,
        from: Option<(Moment, crate::engine::job::EntryId)>,
        to: Option<(Moment, crate::engine::job::EntryId)>,
    ) -> Vec<StepDone> {
        let inside = |step: &&StepDone| {
            let at = (step.at, step.id);
            from.is_none_or(|from| at > from) && to.is_none_or(|to| at < to)
        };
        self.area.steps.iter().filter(inside).copied().collect()
    }

    /// What the survey knows of a coat.
    fn surveyed_coat(&self, coat: &Coat) -> Option<&'g CoatSurvey<'a>> {
        let area = self.surveyed?;
        area.under.iter().chain(&area.newest).find(|known| known.coat.id == coat.id)
    }
}

#[cfg(test)]
mod tests;
