//! One coat of a report.

use super::Gathering;
use super::figures::AirFigures;
use super::limits::Finding;
use crate::app::view::Band;
use crate::engine::amounts::{dry_film, mean_film};
use crate::engine::assess::{CoatSurvey, CoatTrace, Readings};
use crate::engine::cure::{Phase, StageTimes, Standing};
use crate::engine::job::{Batch, Coat, Departure, EntryId, Note, StepDone, WetFilm};
use crate::engine::profile::{Application, Stage};
use crate::engine::units::{Micrometres, Moment};

/// One coat.
#[derive(Debug, Clone)]
pub struct CoatReport {
    /// The entry of its first stroke.
    pub id: EntryId,
    /// Which coat of its area it is, from 1.
    pub layer: usize,
    /// The product's id.
    pub product: String,
    /// The product's name, where it is known.
    pub name: Option<String>,
    /// The first stroke.
    pub first_stroke: Moment,
    /// The last one; None while it is being applied.
    pub last_stroke: Option<Moment>,
    /// The batch it was taken from, where that was said.
    pub batch: Option<Batch>,
    /// The numbers on the tins of the product that were in the shop by then, each once.
    pub lots: Vec<String>,
    /// The wet films that were measured on it.
    pub films: Vec<WetFilm>,
    /// What stays of the film, from the mean of what was measured, else from what the product asks.
    pub dry: Option<Micrometres>,
    /// What was done between it and the next coat.
    pub steps: Vec<StepDone>,
    /// What was noted of it.
    pub notes: Vec<Note>,
    /// What the engine makes of it; None where the product is not known here.
    pub calculated: Option<CalculatedCoat>,
    /// What was outside the data sheet's limits.
    pub findings: Vec<Finding>,
    /// What the scheme said in its place, where it did not follow that.
    pub departure: Option<Departure>,
    /// Why it did not, where that was said.
    pub why: Option<String>,
    /// Where it was taken off again: when, and why.
    pub off: Option<TakenOff>,
}

/// A coat was taken off again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenOff {
    /// When.
    pub at: Moment,
    /// Why, where that was said.
    pub why: Option<String>,
}

/// What the engine makes of a coat.
#[derive(Debug, Clone)]
pub struct CalculatedCoat {
    /// Its stages.
    pub stages: Vec<(Stage, StageTimes)>,
    /// Where it stands now, or stood when the next coat went on.
    pub phase: Phase,
    /// Its phases over time.
    pub bands: Vec<Band>,
    /// The air over it, and how far it had come.
    pub trace: CoatTrace,
    /// What the air was while it was wet; None without a reading.
    pub air: Option<AirFigures>,
    /// What its product allows.
    pub allowed: Application,
    /// On what that rests.
    pub assumed: Vec<Assumption>,
}

/// Something that was not read, or not given.
#[derive(Debug, Clone, PartialEq)]
pub enum Assumption {
    /// No temperature was ever read.
    NoReading,
    /// The coat began before the first reading, which was taken backwards.
    Backwards(Moment),
    /// A straight line over a stretch without readings.
    Gap(Moment, Moment),
    /// The humidity is unknown; the data sheet's value is used.
    Humidity,
    /// Stages that lie after the last reading.
    Ahead(Vec<Stage>),
    /// Stages on the way to which a temperature lay beyond the data sheet's.
    Extrapolated(Vec<Stage>),
    /// The profile says nothing of the product that follows.
    Silent(String),
}

impl<'g, 'a, R: Readings> Gathering<'g, 'a, R> {
    pub(super) fn coat(&self, index: usize, coat: &'g Coat) -> Result<CoatReport, R::Error> {
        let next = self.area.coats.get(index + 1);
        let surveyed = self.surveyed_coat(coat);
        let calculated = match (surveyed, self.surveyed) {
            (Some(surveyed), Some(area)) => {
                let begun = next.map(|next| next.first_stroke);
                let trace = self.survey.trace(self.readings, area, surveyed, begun)?;
                Some(calculated(surveyed, trace, begun, self.survey.at))
            }
            _ => None,
        };
        let id = |coat: &Coat| (coat.first_stroke, coat.id);
        let product = self.library.get(&coat.product).ok();
        let films: Vec<WetFilm> =
            self.area.films.iter().filter(|film| film.layer == coat.layer).cloned().collect();
        let solids = product.and_then(|product| product.film.as_ref()?.volume_solids);
        let asked = product.and_then(|product| product.film.as_ref()?.wet);
        let measured = mean_film(self.area, coat);
        let mut gathered = CoatReport {
            id: coat.id,
            layer: coat.layer,
            product: coat.product.clone(),
            name: product.map(|product| product.name.clone()),
            first_stroke: coat.first_stroke,
            last_stroke: coat.last_stroke,
            batch: self.job.batches.iter().find(|batch| Some(batch.id) == coat.batch).cloned(),
            lots: self.lots(coat),
            dry: solids.and_then(|solids| Some(dry_film(measured.or(asked.map(middle))?, solids))),
            films,
            steps: self.steps_between(Some(id(coat)), next.map(id)),
            notes: self.notes(coat, next),
            calculated,
            findings: Vec::new(),
            departure: coat.departure.clone(),
            why: coat.why.clone(),
            off: None,
        };
        gathered.findings = self.findings(index, &gathered)?;
        Ok(gathered)
    }

    /// The numbers on the tins of a coat's product that had come into the shop by its last stroke.
    fn lots(&self, coat: &Coat) -> Vec<String> {
        let by = coat.last_stroke.unwrap_or(self.survey.at);
        let mut lots: Vec<String> = Vec::new();
        let stock = self.job.stock.iter().filter(|stock| stock.product == coat.product && stock.at <= by);
        for lot in stock.filter_map(|stock| stock.lot.as_ref()) {
            if !lots.contains(lot) {
                lots.push(lot.clone());
            }
        }
        lots
    }

    /// What was noted of a coat: of its entry, its batch, or the films and steps that follow it.
    fn notes(&self, coat: &Coat, next: Option<&Coat>) -> Vec<Note> {
        let films = self.area.films.iter().filter(|film| film.layer == coat.layer).map(|film| film.id);
        let id = |coat: &Coat| (coat.first_stroke, coat.id);
        let steps = self.steps_between(Some(id(coat)), next.map(id));
        let steps = steps.iter().map(|step| step.id);
        let about: Vec<EntryId> =
            std::iter::once(coat.id).chain(coat.batch).chain(films).chain(steps).collect();
        let of_it = |note: &&Note| note.about.is_some_and(|entry| about.contains(&entry));
        self.job.notes.iter().filter(of_it).cloned().collect()
    }
}

fn calculated(coat: &CoatSurvey<'_>, trace: CoatTrace, next: Option<Moment>, now: Moment) -> CalculatedCoat {
    let air = AirFigures::of(&trace.wet, trace.readings);
    CalculatedCoat {
        stages: coat.standing.stages.clone(),
        phase: next.map_or(coat.standing.phase, |next| coat.standing.phase_at(next)),
        bands: coat.bands(now),
        allowed: coat.product.application,
        assumed: assumptions(&coat.standing, air.is_some(), coat.next.map(|next| next.id.as_str())),
        air,
        trace,
    }
}

fn assumptions(standing: &Standing, read: bool, next: Option<&str>) -> Vec<Assumption> {
    if !read {
        return vec![Assumption::NoReading];
    }
    let of = |which: fn(&StageTimes) -> bool| -> Vec<Stage> {
        standing.stages.iter().filter(|(_, times)| which(times)).map(|(stage, _)| *stage).collect()
    };
    let backwards = standing.unread_before.map(Assumption::Backwards);
    let gap = standing.gap.map(|(from, to)| Assumption::Gap(from, to));
    let humidity = standing.humidity_unknown.then_some(Assumption::Humidity);
    // What rests on the first reading taken backwards is told by that.
    let ahead = if backwards.is_some() { Vec::new() } else { of(|times| times.assumed) };
    let ahead = (!ahead.is_empty()).then_some(Assumption::Ahead(ahead));
    let basis = of(|times| times.extrapolated);
    let basis = (!basis.is_empty()).then_some(Assumption::Extrapolated(basis));
    let silent = next.filter(|_| standing.silent).map(|next| Assumption::Silent(next.to_owned()));
    [backwards, gap, humidity, ahead, basis, silent].into_iter().flatten().collect()
}

fn middle((thin, thick): (Micrometres, Micrometres)) -> Micrometres {
    Micrometres::new((thin.micrometres() + thick.micrometres()) / 2.0)
}
