//! Carries out orders: each becomes an entry, and the answer gives its consequences.

use super::{Done, Order, Session, SessionError};
use crate::app::view::View;
use crate::app::wording::count;
use crate::engine::assess::{AreaSurvey, SurveyOptions};
use crate::engine::job::{Entry, EntryId, EntryKind, Job, Scheme, StepKind};
use crate::engine::profile::COMES_FIRST;
use crate::engine::units::{Moment, capital, clean};
use crate::io::sources::LoggerFile;
use crate::io::store::Imported;

/// An older entry is answered as of its own moment.
const ANSWERED_NOW: chrono::TimeDelta = chrono::TimeDelta::hours(12);

/// Names at least this similar are probably one name with a slip.
const NEARLY: f64 = 0.85;

/// A sentence, unless the earliest moment of what it is about has come.
fn unless(earliest: Option<Moment>, at: Moment, says: &str) -> &str {
    if earliest.is_some_and(|earliest| earliest <= at) { "" } else { says }
}

impl Session<'_> {
    /// Records something as of `at`, or of now.
    ///
    /// # Errors
    /// [`SessionError`]; nothing is recorded then.
    pub fn execute(&mut self, order: Order, at: Option<Moment>) -> Result<Done, SessionError> {
        let (given, at) = (at, at.unwrap_or_else(|| self.now()));
        match order {
            Order::Coat { area, product, next, finished, batch, why, sure } => {
                let questions = (sure, given.is_none());
                self.coat(&area, (product, next), finished, (batch, why), questions, at)
            }
            Order::Mix(mixing) => self.mix(&mixing, Some(at)).map(|mixed| mixed.done),
            Order::Emptied { batch } => self.emptied(batch, at),
            Order::Finish { area } => self.finish(area.as_deref(), at),
            Order::Step { area, step, minutes, coats, why } => {
                self.step(&area, (step, minutes), (coats, why), at)
            }
            Order::Reading { place, air, humidity, surface } => {
                let job = self.job(at)?;
                let place = place.map(|place| clean(place.trim())).filter(|place| !place.is_empty());
                let place = place.unwrap_or_else(|| job.first_place());
                let cautions = unknown_place(&job, &place);
                let kind = EntryKind::Reading {
                    place,
                    air: air.plausible()?,
                    humidity_percent: humidity.map(|humidity| humidity.percent()),
                    surface: surface.map(|surface| surface.plausible()).transpose()?,
                };
                let done = self.append(at, kind)?;
                Ok(Done { cautions, ..done })
            }
            Order::Work { area, minutes } => self.enter_work(area.as_deref(), minutes, at),
            Order::StartClock { area } => self.start_clock(area.as_deref(), at),
            Order::StopClock { area, sure } => self.stop_clock(area.as_deref(), sure, at),
            Order::Note { area, entry, text, photo } => {
                self.note(area.as_deref(), entry, &text, photo.as_deref(), at)
            }
            Order::Correct { entry, changes } => self.correct(entry, &changes, given),
            Order::WetFilm { area, spots, sure } => self.wet_film(&area, spots, sure, at),
            Order::Stock { product, amount, price, lot, sure } => {
                self.stock_came(&product, amount, price, lot, sure, at)
            }
            Order::Undo { entry } => {
                let before = self.entries()?;
                let latest = self.clock.latest();
                let taken = self.writer()?.void(entry, latest)?;
                let void = EntryKind::Void { entry: taken.id, by: None };
                let back =
                    self.entries()?.iter().rev().find(|entry| entry.kind == void).map(|entry| entry.id);
                let back = back.map(|id| format!(" To restore it, take back entry {id}."));
                let says = format!(
                    "Took back entry {}: {}.{}{}",
                    taken.id,
                    taken.summary(&self.words.units),
                    self.counts_again(&before, taken.id),
                    back.unwrap_or_default()
                );
                Ok(Done { says, cautions: self.coats_without_batch(taken.id)? })
            }
            Order::Acknowledge { alert } => {
                let latest = self.clock.latest();
                let seen = match (self.writer()?.acknowledge(alert, latest)?, alert) {
                    (0, Some(id)) if self.alerts()?.iter().any(|alert| alert.id == id) => {
                        format!("Alert {} was already marked as seen.", id.0)
                    }
                    (0, Some(id)) => {
                        return Err(SessionError::no_alert(id));
                    }
                    (0, None) => "There were no new alerts.".into(),
                    (1, _) => "One alert marked as seen.".into(),
                    (count, _) => format!("{count} alerts marked as seen."),
                };
                Ok(Done { says: seen, ..Done::default() })
            }
        }
    }

    /// Imports a scheme.
    ///
    /// # Errors
    /// [`SessionError`] with the file, the line and what would be right; products that are not there are
    /// named too.
    pub fn import_scheme(
        &mut self,
        file: &str,
        text: String,
        at: Option<Moment>,
    ) -> Result<Done, SessionError> {
        let at = at.unwrap_or_else(|| self.now());
        let scheme =
            Scheme::read(&text).map_err(|error| SessionError::Scheme { file: clean(file), error })?;
        for area in &scheme.areas {
            for product in area.coats() {
                self.library.get(product).map_err(|unknown| {
                    let (file, area) = (clean(file), &area.name);
                    SessionError::Input(format!("{file}: area \"{area}\": {unknown}"))
                })?;
            }
        }
        let names: Vec<&str> = scheme.areas.iter().map(|area| area.name.as_str()).collect();
        let says = format!(
            "{}: {}.",
            scheme.name,
            if names.is_empty() { "no areas".into() } else { names.join(", ") }
        );
        let before = self.job(at)?;
        self.append(at, EntryKind::Scheme { text })?;
        let job = self.job(at)?;
        // What is left over by this scheme and was not by the one before it.
        let left_over = job.areas.iter().filter(|area| area.plan.is_none() && !area.coats.is_empty());
        let new = left_over.filter(|area| before.area(&area.name).is_some_and(|known| known.plan.is_some()));
        let cautions = new.map(|area| {
            let (name, coats) = (clean(&area.name), count(area.coats.len(), "coat", "coats"));
            format!(
                "{name} has {coats} and is not in this scheme: it stays in the job without a plan. If the area has \
                 a new name, add was = \"{name}\" under that name and import the scheme again."
            )
        });
        Ok(Done { says, cautions: cautions.collect() })
    }

    /// Imports the valid rows of a logger's file.
    ///
    /// # Errors
    /// Where the job cannot be written; then none was taken.
    pub fn import_readings(&mut self, file: &str, logger: LoggerFile) -> Result<Imported, SessionError> {
        let latest = self.clock.latest();
        Ok(self.writer()?.import(latest, &clean(file), logger.readings)?)
    }

    /// The name of an area as the job spells it; a beginning that fits one area is enough, unless `new` is set. A new
    /// name is accepted if `new` is set, or if no other area has a similar name.
    ///
    /// # Errors
    /// [`SessionError::PerhapsMeant`], [`SessionError::NoName`].
    pub fn area_name(&self, given: &str, new: bool) -> Result<String, SessionError> {
        let given = clean(given.trim());
        if given.is_empty() {
            return Err(SessionError::NoName);
        }
        let job = self.job(Moment::MAX_UTC)?;
        match meant(&job, &given) {
            Meant::One(name) => return Ok(name),
            Meant::Several(areas) if !new => return Err(SessionError::SeveralAreas { given, areas }),
            Meant::Begins(name) if !new => return Ok(name),
            _ => {}
        }
        let lower = given.to_lowercase();
        let likeness = |name: &String| strsim::jaro_winkler(&lower, &name.to_lowercase());
        let names = job.areas.into_iter().map(|area| area.name);
        match names.max_by(|a, b| likeness(a).total_cmp(&likeness(b))) {
            Some(nearest) if !new && likeness(&nearest) >= NEARLY => {
                Err(SessionError::PerhapsMeant { given, nearest })
            }
            _ => Ok(given),
        }
    }

    /// The place of readings that name none: the first of the job.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn first_place(&self) -> Result<String, SessionError> {
        Ok(self.job(Moment::MAX_UTC)?.first_place())
    }

    /// The name of an existing area.
    ///
    /// # Errors
    /// [`SessionError::NoSuchArea`].
    pub fn known_area(&self, given: &str) -> Result<String, SessionError> {
        area_of(&self.job(Moment::MAX_UTC)?, given)
    }

    /// The next product on an area, if known.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn next_product(&self, area: &str, at: Moment) -> Result<Option<String>, SessionError> {
        Ok(self.job(at)?.area(area).and_then(|area| area.next_product().map(str::to_owned)))
    }

    fn finish(&mut self, area: Option<&str>, at: Moment) -> Result<Done, SessionError> {
        let area = match area {
            Some(area) => self.known_area(area)?,
            None => {
                let job = self.job(at)?;
                let open =
                    |area: &&crate::engine::job::Area| area.newest().is_some_and(|c| c.last_stroke.is_none());
                let mut areas: Vec<String> = job.areas.iter().filter(open).map(|a| a.name.clone()).collect();
                match areas.len() {
                    1 => areas.remove(0),
                    _ => return Err(SessionError::WhichArea { areas }),
                }
            }
        };
        self.append(at, EntryKind::Finished { area })
    }

    fn step(
        &mut self,
        area: &str,
        (step, minutes): (StepKind, Option<u32>),
        (coats, why): (Option<usize>, Option<String>),
        at: Moment,
    ) -> Result<Done, SessionError> {
        let area = self.area_name(area, true)?;
        let soft = match step {
            StepKind::Sand => self.against_sanding(&area, at)?,
            StepKind::Wash => self.against_washing(&area, at)?,
            _ => Vec::new(),
        };
        let coats = self.coats_off(&area, step, coats, at)?;
        let why = why.map(|why| clean(why.trim())).filter(|why| !why.is_empty());
        let done = self.append(at, EntryKind::Step { area, step, minutes, coats, why })?;
        let caution = step.caution().into_iter().flat_map(|caution| [caution, COMES_FIRST]);
        Ok(Done { cautions: soft.into_iter().chain(caution.map(str::to_owned)).collect(), ..done })
    }

    /// The newest coats of a strip; none for any other step.
    fn coats_off(
        &self,
        area: &str,
        step: StepKind,
        coats: Option<usize>,
        at: Moment,
    ) -> Result<Vec<EntryId>, SessionError> {
        if step != StepKind::Strip {
            return match coats {
                Some(_) => Err(SessionError::Input("only a strip takes coats off".into())),
                None => Ok(Vec::new()),
            };
        }
        let job = self.job(at)?;
        let on = job.area(area).map_or(&[][..], |area| &area.coats);
        let off = coats.unwrap_or(1);
        match on.len().checked_sub(off) {
            _ if on.is_empty() => {
                Err(SessionError::Input(format!("{area} had no coat then that could be taken off")))
            }
            Some(left) if off > 0 => Ok(on[left..].iter().map(|coat| coat.id).collect()),
            _ => Err(SessionError::Input(format!(
                "{area} had {} then: say how many were taken off, 1 to {}",
                count(on.len(), "coat", "coats"),
                on.len()
            ))),
        }
    }

    /// The warnings that the film may not be hard enough to be sanded at `at`, or that the dust would stick to
    /// another film. It is recorded anyway: it has happened.
    fn against_sanding(&self, area: &str, at: Moment) -> Result<Vec<String>, SessionError> {
        let survey = self.survey(at, SurveyOptions::default())?;
        let Some(area) = survey.area(area) else { return Ok(Vec::new()) };
        let from = area.newest.as_ref().map(|coat| coat.sand_from).unwrap_or_default();
        let soft = from.latest.filter(|sandable| *sandable > at).map(|sandable| {
            let counts = unless(from.earliest, at, " This sanding does not count: sand again then.");
            format!(
                "It may still be too soft: it can be sanded from {}. Damage now shows in every later coat.{counts}",
                self.words.when(sandable, at)
            )
        });
        Ok(soft.into_iter().chain(self.words.dust(area, at)).collect())
    }

    /// The warning that the film may still be liquid at `at`, where it is washed.
    fn against_washing(&self, area: &str, at: Moment) -> Result<Vec<String>, SessionError> {
        let survey = self.survey(at, SurveyOptions::default())?;
        let coat = survey.area(area).and_then(|area| area.newest.as_ref());
        let times = coat.and_then(|coat| coat.standing.stage(coat.dust_free()?));
        let liquid = times.filter(|times| times.latest.is_none_or(|latest| latest > at));
        Ok(Vec::from_iter(liquid.map(|times| {
            let again = " This washing does not count: wash again once it is tack-free.";
            let counts = unless(times.earliest, at, again);
            format!("The film may not be tack-free yet: water can mark it.{counts}")
        })))
    }

    /// Records an entry and returns a sentence.
    pub(super) fn note_down(&mut self, at: Moment, kind: EntryKind) -> Result<String, SessionError> {
        Ok(self.recorded(at, kind, self.now())?.1)
    }

    /// Records an entry and returns it with a sentence, as of `now`.
    fn recorded(
        &mut self,
        at: Moment,
        kind: EntryKind,
        now: Moment,
    ) -> Result<(Entry, String), SessionError> {
        let latest = self.clock.latest();
        let id = self.writer()?.append(at, latest, kind.clone())?;
        let entry = Entry { id, at, recorded: latest, kind };
        let just_now = (now - at).abs() < chrono::TimeDelta::minutes(1);
        let when = if just_now { String::new() } else { format!(" ({})", self.words.when(at, now)) };
        let says = format!("{}{when}.", capital(&entry.summary(&self.words.units)));
        Ok((entry, says))
    }

    /// The moment for the answer to an entry at `at`: for a recent one now.
    pub(super) fn answered_at(&self, at: Moment) -> Moment {
        let latest = self.clock.latest();
        match self.clock {
            super::Clock::At(_) if latest - at > ANSWERED_NOW => at,
            super::Clock::At(_) => latest,
            _ => self.now(),
        }
    }

    pub(super) fn append(&mut self, at: Moment, kind: EntryKind) -> Result<Done, SessionError> {
        self.append_saying(at, kind, "")
    }

    /// Appends an entry; its own sentence comes before its consequences.
    pub(super) fn append_saying(
        &mut self,
        at: Moment,
        kind: EntryKind,
        told: &str,
    ) -> Result<Done, SessionError> {
        let now = self.answered_at(at);
        let (entry, mut says) = self.recorded(at, kind, now)?;
        if !told.is_empty() {
            says = format!("{says} {told}");
        }
        if let Some(area) = entry.kind.area() {
            let survey = self.survey(now, SurveyOptions::default())?;
            if let Some(follows) = what_follows(&self.view(&survey, now)?, survey.area(area)) {
                says = format!("{says} {follows}");
            }
        }
        Ok(Done { says, ..Done::default() })
    }
}

/// The area of a job that a name means.
pub(super) fn area_of(job: &Job, given: &str) -> Result<String, SessionError> {
    match meant(job, given.trim()) {
        Meant::One(name) | Meant::Begins(name) => Ok(name),
        Meant::Several(areas) => Err(SessionError::SeveralAreas { given: clean(given), areas }),
        Meant::None => {
            let areas = job.areas.iter().map(|area| area.name.clone()).collect();
            Err(SessionError::NoSuchArea { given: clean(given), areas })
        }
    }
}

/// The areas that a name can mean.
enum Meant {
    /// The name is that of an area.
    One(String),
    /// One area begins with it.
    Begins(String),
    /// Several areas begin with it.
    Several(Vec<String>),
    None,
}

/// What is meant by a name: the area that is called so, else those that begin with it, upper and lower case alike.
fn meant(job: &Job, given: &str) -> Meant {
    if let Some(area) = job.area(given) {
        return Meant::One(area.name.clone());
    }
    let start = given.to_lowercase();
    let begins = |name: &String| !start.is_empty() && name.to_lowercase().starts_with(&start);
    let mut names: Vec<String> = job.areas.iter().map(|area| area.name.clone()).filter(begins).collect();
    match names.len() {
        0 => Meant::None,
        1 => Meant::Begins(names.remove(0)),
        _ => Meant::Several(names),
    }
}

/// A place where nothing stands is likely a slip.
pub(super) fn unknown_place(job: &Job, place: &str) -> Vec<String> {
    let places = job.places();
    let known = places.iter().any(|known| known == place);
    if known {
        return Vec::new();
    }
    vec![format!("There is no area at \"{place}\"; the places of the job: {}.", places.join(", "))]
}

fn what_follows(view: &View, area: Option<&AreaSurvey<'_>>) -> Option<String> {
    let area = area?;
    let ribbon = view.ribbons.iter().find(|ribbon| ribbon.area == clean(&area.name))?;
    Some(format!("{}. {}", ribbon.head, ribbon.says).trim_end().to_owned())
}
