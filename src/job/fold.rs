//! Entries folded to the state of the job, and the rules a new entry has to meet.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::entry::{Entry, EntryId, EntryKind, StepKind};
use super::scheme::{Scheme, SchemeArea, SchemeStep};
use crate::units::Moment;

/// One application of one product on one area.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coat {
    /// The entry of its first stroke.
    pub id: EntryId,
    /// The product's id.
    pub product: String,
    /// What the person said goes on next.
    pub next: Option<String>,
    /// Which coat of its area it is, from 1.
    pub layer: usize,
    /// The first stroke.
    pub first_stroke: Moment,
    /// The last one; None while it is being applied.
    pub last_stroke: Option<Moment>,
}

/// A step other than a coat, done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StepDone {
    /// Its entry.
    pub id: EntryId,
    /// Which step.
    pub kind: StepKind,
    /// When.
    pub at: Moment,
}

/// One surface and all that was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Its name.
    pub name: String,
    /// Its coats, oldest first.
    pub coats: Vec<Coat>,
    /// Its other steps, oldest first.
    pub steps: Vec<StepDone>,
    /// What the scheme says of it.
    pub plan: Option<SchemeArea>,
}

/// The state of a job at a moment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Job {
    /// The areas, in the order of the scheme and then of their first entry.
    pub areas: Vec<Area>,
    /// The name of the piece, where a scheme gave it.
    pub name: Option<String>,
}

/// Why an entry cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// It lies ahead of now.
    #[error("that is in the future; a record holds what has happened")]
    Future,
    /// A coat on an area whose coat is not finished.
    #[error("{area} is still being coated; say: curewright done \"{area}\"")]
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
    #[error("no coat is being applied to {area}; begin one with: curewright coat \"{area}\"")]
    NothingToFinish {
        /// The area.
        area: String,
    },
    /// A last stroke before the first.
    #[error("the coat on {area} began later than that; correct the time")]
    FinishedBeforeBegun {
        /// The area.
        area: String,
    },
    /// An entry that is not there, or does not count any more.
    #[error("there is no entry {0} that could be taken back")]
    NoSuchEntry(EntryId),
    /// Nothing was recorded yet.
    #[error("nothing has been recorded that could be taken back")]
    NothingToTakeBack,
}

impl Area {
    fn new(name: &str) -> Self {
        Self { name: name.to_owned(), coats: Vec::new(), steps: Vec::new(), plan: None }
    }

    /// Where the area stands.
    pub fn place(&self) -> &str {
        self.plan.as_ref().map_or("shop", |plan| plan.place.as_str())
    }

    /// The newest coat.
    pub fn newest(&self) -> Option<&Coat> {
        self.coats.last()
    }

    /// Whether a step of this kind was done since the newest coat began.
    pub fn done_since_coat(&self, kind: StepKind) -> bool {
        let since = self.newest().map(|coat| (coat.first_stroke, coat.id));
        self.steps
            .iter()
            .any(|step| step.kind == kind && since.is_none_or(|since| (step.at, step.id) > since))
    }

    /// Whether the ground is ready for the next coat: sanded since the newest coat, and washed where the
    /// film owes it.
    pub fn is_prepared(&self, wash: bool) -> bool {
        self.done_since_coat(StepKind::Sand) && (!wash || self.done_since_coat(StepKind::Wash))
    }

    /// Whether tape is on that the newest coat went over: it was put on before the last stroke.
    pub fn is_taped(&self) -> bool {
        let tape = self.steps.iter().rev().find(|s| matches!(s.kind, StepKind::TapeOn | StepKind::TapeOff));
        let before =
            |at: Moment| self.newest().and_then(|coat| coat.last_stroke).is_none_or(|last| at <= last);
        tape.is_some_and(|step| step.kind == StepKind::TapeOn && before(step.at))
    }

    /// How long a coat of this area takes: the middle of what the finished ones took, else what the
    /// scheme says.
    pub fn takes(&self) -> Option<TimeDelta> {
        let mut took: Vec<TimeDelta> = self
            .coats
            .iter()
            .filter_map(|coat| Some(coat.last_stroke? - coat.first_stroke))
            .filter(|took| *took > TimeDelta::zero())
            .collect();
        took.sort();
        took.get(took.len() / 2).copied().or_else(|| self.plan.as_ref()?.takes)
    }

    /// The steps of the scheme that are still to do.
    pub fn to_do(&self) -> &[SchemeStep] {
        let Some(plan) = &self.plan else { return &[] };
        &plan.steps[self.steps_behind(&plan.steps)..]
    }

    /// What the next coat will be: what the newest coat's entry said, else the scheme, else the same
    /// product again.
    pub fn next_product(&self) -> Option<&str> {
        let newest = self.newest();
        newest
            .and_then(|coat| coat.next.as_deref())
            .or_else(|| self.to_do().iter().find_map(coat_product))
            .or_else(|| newest.map(|coat| coat.product.as_str()))
    }

    /// How many coats the scheme gives the area.
    pub fn planned_coats(&self) -> Option<usize> {
        self.plan.as_ref().map(|plan| plan.coats().count()).filter(|count| *count > 0)
    }

    /// How many steps of the scheme the record has behind it. A coat counts for the first planned coat of
    /// its product that is left; another step only for one planned before the next coat.
    fn steps_behind(&self, plan: &[SchemeStep]) -> usize {
        let coats = self.coats.iter().map(|coat| (coat.first_stroke, coat.id, Done::Coat(&coat.product)));
        let steps = self.steps.iter().map(|step| (step.at, step.id, Done::Step(step.kind)));
        let mut done: Vec<_> = coats.chain(steps).collect();
        done.sort_by_key(|(at, id, _)| (*at, *id));
        let mut behind = 0;
        for (_, _, done) in done {
            let ahead = plan[behind..].iter();
            let step = match done {
                Done::Coat(product) => ahead.clone().position(|step| coat_product(step) == Some(product)),
                Done::Step(kind) => ahead
                    .clone()
                    .take_while(|step| coat_product(step).is_none())
                    .position(|step| step.kind() == Some(kind)),
            };
            behind += step.map_or(0, |step| step + 1);
        }
        behind
    }
}

enum Done<'a> {
    Coat(&'a str),
    Step(StepKind),
}

fn coat_product(step: &SchemeStep) -> Option<&str> {
    match step {
        SchemeStep::Coat { product, .. } => Some(product),
        _ => None,
    }
}

impl Job {
    /// Folds entries, in the order of their numbers, to the state at a moment: what happened later is not
    /// there yet, what was taken back never was.
    pub fn fold(entries: &[Entry], as_of: Moment) -> Self {
        let voided = voided(entries);
        let mut counting: Vec<&Entry> =
            entries.iter().filter(|entry| entry.at <= as_of && !voided.contains(&entry.id)).collect();
        counting.sort_by_key(|entry| (entry.at, entry.id));
        let mut job = Self::default();
        for entry in counting {
            job.apply(entry);
        }
        job
    }

    /// The area of this name, upper and lower case alike.
    pub fn area(&self, name: &str) -> Option<&Area> {
        self.areas.iter().find(|area| area.name.eq_ignore_ascii_case(name))
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
            EntryKind::Coat { area, .. } => {
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
            _ => Ok(()),
        }
    }

    fn apply(&mut self, entry: &Entry) {
        match &entry.kind {
            EntryKind::Coat { area, product, next, finished } => {
                let area = self.area_or_new(area);
                area.coats.push(Coat {
                    id: entry.id,
                    product: product.clone(),
                    next: next.clone(),
                    layer: area.coats.len() + 1,
                    first_stroke: entry.at,
                    last_stroke: finished.then_some(entry.at),
                });
            }
            EntryKind::Finished { area } => {
                if let Some(coat) = self.area_or_new(area).coats.last_mut() {
                    coat.last_stroke.get_or_insert(entry.at);
                }
            }
            EntryKind::Step { area, step, .. } => {
                let done = StepDone { id: entry.id, kind: *step, at: entry.at };
                self.area_or_new(area).steps.push(done);
            }
            EntryKind::Scheme { text } => {
                if let Ok(scheme) = Scheme::read(text) {
                    self.plan(scheme);
                }
            }
            EntryKind::Reading { .. } | EntryKind::Import { .. } | EntryKind::Void { .. } => {}
        }
    }

    /// Takes a scheme in: its areas first and in its order; what it does not name keeps its record.
    fn plan(&mut self, scheme: Scheme) {
        let mut before = std::mem::take(&mut self.areas);
        before.iter_mut().for_each(|area| area.plan = None);
        for plan in scheme.areas {
            let known = before.iter().position(|area| area.name.eq_ignore_ascii_case(&plan.name));
            let mut area = known.map_or_else(|| Area::new(&plan.name), |index| before.remove(index));
            area.plan = Some(plan);
            self.areas.push(area);
        }
        before.retain(|area| !area.coats.is_empty() || !area.steps.is_empty());
        self.areas.append(&mut before);
        self.name = Some(scheme.name);
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

/// The entries that do not count. A void is an entry, and may itself be taken back.
pub fn voided(entries: &[Entry]) -> BTreeSet<EntryId> {
    let voids: BTreeMap<EntryId, EntryId> = entries
        .iter()
        .filter_map(|entry| match entry.kind {
            EntryKind::Void { entry: target } => Some((entry.id, target)),
            _ => None,
        })
        .collect();
    let mut voided = BTreeSet::new();
    for (id, target) in voids.iter().rev() {
        if !voided.contains(id) {
            voided.insert(*target);
        }
    }
    voided
}

#[cfg(test)]
mod tests;
