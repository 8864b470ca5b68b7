//! Entries folded to the state of the job, and the rules a new entry has to meet.

use super::correction::{Corrections, voided};
use super::entry::{Entry, EntryId, EntryKind, StepKind};
use super::hours::Hours;
use super::scheme::Scheme;
use super::state::{Area, Batch, Coat, Note, StepDone, Stock, WetFilm};
use crate::engine::hours::FreeHours;
use crate::engine::units::Moment;

/// The state of a job at a moment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Job {
    /// The areas, in the order of the scheme and then of their first entry.
    pub areas: Vec<Area>,
    /// The name of the piece, where a scheme gave it.
    pub name: Option<String>,
    /// The batches, oldest first.
    pub batches: Vec<Batch>,
    /// What came into the shop, oldest first.
    pub stock: Vec<Stock>,
    /// The work on the piece.
    pub hours: Hours,
    /// What was noted, oldest first.
    pub notes: Vec<Note>,
    /// When the person is free for it, where the scheme says so.
    pub free: FreeHours,
    /// The pairs, film and coat, that a person confirmed with both data sheets.
    pub confirmed: Vec<(String, String)>,
}

/// Why an entry cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// It lies ahead of now.
    #[error("that is in the future; a record is for the past")]
    Future,
    /// A coat on an area whose coat is not finished.
    #[error("{area} is still being coated; record its last stroke: curewright done \"{area}\"")]
    StillCoating {
        /// The area.
        area: String,
    },
    /// A coat from before the end of the one under it.
    #[error(
        "{area} got its last coat later than that; take the later entries back first, or correct the time"
    )]
    BeforeTheCoatUnder {
        /// The area.
        area: String,
    },
    /// A last stroke where no coat is being applied.
    #[error("no coat is being applied to {area}; start one with: curewright coat \"{area}\"")]
    NothingToFinish {
        /// The area.
        area: String,
    },
    /// A last stroke before the first.
    #[error("the coat on {area} started later than that; correct the time")]
    FinishedBeforeBegun {
        /// The area.
        area: String,
    },
    /// A coat is interrupted that is interrupted already.
    #[error("the coat on {area} is interrupted already; when it goes on: curewright step \"{area}\" resume")]
    Interrupted {
        /// The area.
        area: String,
    },
    /// A coat goes on that was not interrupted.
    #[error(
        "the coat on {area} was not interrupted; record that first: curewright step \"{area}\" pause --at TIME"
    )]
    NotInterrupted {
        /// The area.
        area: String,
    },
    /// Coats are taken off where there is none.
    #[error("{area} had no coat then that could be taken off")]
    NothingToStrip {
        /// The area.
        area: String,
    },
    /// A batch that was never mixed by then, or was taken back.
    #[error("there was no batch {0} at that time; \"curewright status\" shows the batches in use")]
    NoSuchBatch(EntryId),
    /// A batch of something else.
    #[error("batch {batch} is {holds}, not {product}")]
    OtherProduct {
        /// The batch.
        batch: EntryId,
        /// What it is.
        holds: String,
        /// What the coat is.
        product: String,
    },
    /// A batch of which nothing is left.
    #[error("batch {0} was used up before that time")]
    BatchEmptied(EntryId),
    /// The work clock is started for what it runs for.
    #[error("the work clock runs for that already; stop it with: curewright work stop")]
    ClockRuns,
    /// The work clock is stopped and does not run.
    #[error("the work clock did not run then; start it with \"curewright work start\", or enter --minutes")]
    ClockStands,
    /// A correction after which another entry could not have happened.
    #[error("with this correction the record contradicts itself: {then}")]
    Contradicts {
        /// What would be said of the other entry.
        then: Box<Self>,
    },
    /// An entry that was corrected before.
    #[error("entry {entry} was corrected by entry {by}; correct that one, or take it back")]
    Corrected {
        /// The entry.
        entry: EntryId,
        /// What took its place.
        by: EntryId,
    },
    /// An entry that was taken back before.
    #[error("entry {entry} was taken back already; to restore it: curewright undo {by}")]
    TakenBack {
        /// The entry.
        entry: EntryId,
        /// The entry that took it back.
        by: EntryId,
    },
    /// An entry that is not there, or does not count any more.
    #[error("there is no valid entry {0}")]
    NoSuchEntry(EntryId),
    /// Nothing was recorded yet.
    #[error("there is no entry to take back")]
    NothingToTakeBack,
}

impl Job {
    /// Folds entries, in the order of their numbers, to the state at a moment: what happened later is not
    /// there yet, what was taken back never was.
    pub fn fold(entries: &[Entry], as_of: Moment) -> Self {
        let voided = voided(entries);
        let mut counting: Vec<&Entry> =
            entries.iter().filter(|entry| entry.at <= as_of && !voided.contains(&entry.id)).collect();
        let corrections = Corrections::of(entries);
        counting.sort_by_key(|entry| (entry.at, corrections.first(entry.id)));
        let mut job = Self::default();
        for entry in &counting {
            job.apply(entry, &corrections);
        }
        job.hours = Hours::calculate(&counting, &job.areas, as_of);
        job
    }

    /// The contradictions among the entries, in order of time. A clock that is stopped twice is not one.
    pub fn contradictions(entries: &[Entry], now: Moment) -> Vec<Refusal> {
        let (voided, corrections) = (voided(entries), Corrections::of(entries));
        let mut counting: Vec<&Entry> = entries.iter().filter(|entry| !voided.contains(&entry.id)).collect();
        counting.sort_by_key(|entry| (entry.at, corrections.first(entry.id)));
        let mut job = Self::default();
        let mut found = Vec::new();
        for entry in counting {
            let of_the_clock = matches!(entry.kind, EntryKind::ClockOn { .. } | EntryKind::ClockOff);
            let mut kind = entry.kind.clone();
            kind.entries_mut().into_iter().for_each(|named| *named = corrections.newest(*named));
            found.extend(job.admit(&kind, entry.at, now).err().filter(|_| !of_the_clock));
            job.apply(entry, &corrections);
        }
        found
    }

    /// The area of this name, upper and lower case alike.
    pub fn area(&self, name: &str) -> Option<&Area> {
        self.areas.iter().find(|area| area.name.eq_ignore_ascii_case(name))
    }

    /// The entry that took a coat off again.
    pub fn taken_off(&self, coat: EntryId) -> Option<EntryId> {
        let off = self.areas.iter().flat_map(|area| &area.stripped).find(|off| off.coat.id == coat);
        off.map(|off| off.step)
    }

    /// The places of the areas, each once; "shop" where there are none.
    pub fn places(&self) -> Vec<String> {
        let mut places: Vec<String> = Vec::new();
        for area in &self.areas {
            if !places.iter().any(|place| place == area.place()) {
                places.push(area.place().to_owned());
            }
        }
        if places.is_empty() {
            places.push("shop".into());
        }
        places
    }

    /// The place of what names none: the first of the areas, or "shop".
    pub fn first_place(&self) -> String {
        self.places().swap_remove(0)
    }

    /// Whether an entry of this kind at that moment can be taken.
    ///
    /// # Errors
    /// [`Refusal`] says why not.
    pub fn admit(&self, kind: &EntryKind, at: Moment, now: Moment) -> Result<(), Refusal> {
        if at > now {
            return Err(Refusal::Future);
        }
        let named = |area: &String| area.clone();
        match kind {
            EntryKind::Coat { area, product, batch, .. } => {
                self.admit_from(*batch, Some(product), at)?;
                let Some(under) = self.area(area).and_then(Area::newest) else { return Ok(()) };
                match under.last_stroke {
                    None => Err(Refusal::StillCoating { area: named(area) }),
                    Some(last) if at < last => Err(Refusal::BeforeTheCoatUnder { area: named(area) }),
                    Some(_) => Ok(()),
                }
            }
            EntryKind::Finished { area } => match self.area(area).and_then(Area::newest) {
                Some(coat) if coat.last_stroke.is_none() && at < coat.first_stroke => {
                    Err(Refusal::FinishedBeforeBegun { area: named(area) })
                }
                Some(coat) if coat.last_stroke.is_none() => Ok(()),
                _ => Err(Refusal::NothingToFinish { area: named(area) }),
            },
            EntryKind::Emptied { batch } => self.admit_from(Some(*batch), None, at),
            EntryKind::Step { area, step: StepKind::Strip, coats, .. } => {
                let on = self.area(area).map_or(&[][..], |area| &area.coats);
                match on.iter().any(|coat| coats.contains(&coat.id) && coat.first_stroke <= at) {
                    true => Ok(()),
                    false => Err(Refusal::NothingToStrip { area: named(area) }),
                }
            }
            EntryKind::Step { area, step: step @ (StepKind::Pause | StepKind::Resume), .. } => {
                let coat = self.area(area).and_then(Area::newest).filter(|coat| coat.last_stroke.is_none());
                let coat = coat.ok_or_else(|| Refusal::NothingToFinish { area: named(area) })?;
                let last =
                    coat.pauses.last().map_or(coat.first_stroke, |pause| pause.to.unwrap_or(pause.from));
                match (step, coat.paused_since()) {
                    _ if at < last => Err(Refusal::FinishedBeforeBegun { area: named(area) }),
                    (StepKind::Pause, Some(_)) => Err(Refusal::Interrupted { area: named(area) }),
                    (StepKind::Resume, None) => Err(Refusal::NotInterrupted { area: named(area) }),
                    _ => Ok(()),
                }
            }
            EntryKind::ClockOn { area } => match self.hours.clock_at(at) {
                Some(running) if same_area(running.area.as_deref(), area.as_deref()) => {
                    Err(Refusal::ClockRuns)
                }
                _ => Ok(()),
            },
            EntryKind::ClockOff => self.hours.clock_at(at).map(|_| ()).ok_or(Refusal::ClockStands),
            _ => Ok(()),
        }
    }

    /// Whether something can be taken from a batch at a moment.
    fn admit_from(
        &self,
        batch: Option<EntryId>,
        product: Option<&String>,
        at: Moment,
    ) -> Result<(), Refusal> {
        let Some(id) = batch else { return Ok(()) };
        let known = self.batches.iter().find(|batch| batch.id == id && batch.mixed_at <= at);
        let batch = known.ok_or(Refusal::NoSuchBatch(id))?;
        if let Some(product) = product.filter(|product| **product != batch.product) {
            let (holds, product) = (batch.product.clone(), product.clone());
            return Err(Refusal::OtherProduct { batch: id, holds, product });
        }
        match batch.emptied {
            Some(emptied) if emptied <= at || product.is_none() => Err(Refusal::BatchEmptied(id)),
            _ => Ok(()),
        }
    }

    fn apply(&mut self, entry: &Entry, corrections: &Corrections) {
        match &entry.kind {
            EntryKind::Coat { area, product, next, finished, batch, why } => {
                let area = self.area_or_new(area);
                let departure = area.departure(product);
                area.coats.push(Coat {
                    id: entry.id,
                    product: product.clone(),
                    next: next.clone(),
                    layer: area.coats.len() + 1,
                    first_stroke: entry.at,
                    last_stroke: finished.then_some(entry.at),
                    batch: batch.map(|batch| corrections.newest(batch)),
                    departure,
                    why: why.clone(),
                    pauses: Vec::new(),
                });
            }
            EntryKind::Finished { area } => {
                if let Some(coat) = self.area_or_new(area).coats.last_mut() {
                    coat.last_stroke.get_or_insert(entry.at);
                }
            }
            EntryKind::Step { area, step, minutes, coats, why } => {
                let area = self.area_or_new(area);
                area.interrupt(*step, entry.at);
                let coats: Vec<EntryId> = coats.iter().map(|coat| corrections.newest(*coat)).collect();
                let coats = area.strip(&coats, (entry.id, entry.at), why.as_ref());
                let (id, kind, at, minutes) = (entry.id, *step, entry.at, *minutes);
                area.steps.push(StepDone { id, kind, at, minutes, coats, undone: false });
            }
            EntryKind::Scheme { text } => {
                if let Ok(scheme) = Scheme::read(text) {
                    self.plan(scheme);
                }
            }
            EntryKind::Batch { product, mass_g, vessel, temperature, place } => self.batches.push(Batch {
                id: entry.id,
                product: product.clone(),
                mixed_at: entry.at,
                mass: *mass_g,
                vessel: *vessel,
                temperature: *temperature,
                place: place.clone(),
                emptied: None,
            }),
            EntryKind::Emptied { batch } => {
                let batch = corrections.newest(*batch);
                if let Some(batch) = self.batches.iter_mut().find(|known| known.id == batch) {
                    batch.emptied.get_or_insert(entry.at);
                }
            }
            EntryKind::WetFilm { area, micrometres } => {
                let area = self.area_or_new(area);
                area.films.push(WetFilm {
                    id: entry.id,
                    at: entry.at,
                    layer: area.coats.len(),
                    spots: micrometres.clone(),
                });
            }
            EntryKind::Stock { product, amount, price, lot } => self.stock.push(Stock {
                id: entry.id,
                at: entry.at,
                product: product.clone(),
                amount: *amount,
                price: price.clone(),
                lot: lot.clone(),
            }),
            EntryKind::PairConfirmed { film, coat } => self.confirmed.push((film.clone(), coat.clone())),
            EntryKind::Note { area, entry: about, text, photo } => self.notes.push(Note {
                id: entry.id,
                at: entry.at,
                area: area.clone(),
                about: about.map(|about| corrections.newest(about)),
                text: text.clone(),
                photo: photo.clone(),
            }),
            EntryKind::Work { .. }
            | EntryKind::ClockOn { .. }
            | EntryKind::ClockOff
            | EntryKind::Reading { .. }
            | EntryKind::Import { .. }
            | EntryKind::Void { .. } => {}
        }
    }

    /// Takes a scheme in: its areas first and in its order; what it does not name keeps its record.
    fn plan(&mut self, scheme: Scheme) {
        let mut before = std::mem::take(&mut self.areas);
        for area in &mut before {
            area.place_before = area.plan.take().map(|plan| plan.place).or(area.place_before.take());
        }
        for plan in scheme.areas {
            let called = |name: &str| before.iter().position(|area| area.name.eq_ignore_ascii_case(name));
            let known = called(&plan.name).or_else(|| called(plan.was.as_deref()?));
            let mut area = known.map_or_else(|| Area::new(&plan.name), |index| before.remove(index));
            area.name.clone_from(&plan.name);
            area.plan = Some(plan);
            self.areas.push(area);
        }
        before.retain(|area| area.every_coat().next().is_some() || !area.steps.is_empty());
        self.areas.append(&mut before);
        self.name = Some(scheme.name);
        self.free = scheme.free;
    }

    fn area_or_new(&mut self, name: &str) -> &mut Area {
        let known = self.areas.iter().position(|area| area.name.eq_ignore_ascii_case(name));
        let index = known.unwrap_or_else(|| {
            self.areas.push(Area::new(name));
            self.areas.len() - 1
        });
        &mut self.areas[index]
    }
}

fn same_area(one: Option<&str>, other: Option<&str>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.eq_ignore_ascii_case(other),
        (one, other) => one.is_none() && other.is_none(),
    }
}

#[cfg(test)]
mod tests;
