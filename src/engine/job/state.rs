//! What is known of the piece: its areas with their coats, the batches, the stock.

use std::borrow::Cow;

use chrono::TimeDelta;

use super::departure::Departure;
use super::entry::{Amount, EntryId, StepKind, Vessel};
use super::hours::IN_ONE_GO;
use super::scheme::{SchemeArea, SchemeStep};
use crate::engine::units::{Celsius, Grams, Micrometres, Moment};

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
    /// The batch it was taken from, where the person said so.
    pub batch: Option<EntryId>,
    /// What the scheme said in its place, where it did not follow that.
    pub departure: Option<Departure>,
    /// Why it did not, where the person said so.
    pub why: Option<String>,
    /// When it was interrupted, in order of time. Minimum times count from the last stroke and maximum times from the
    /// first all the same: that is the safe side of each part.
    pub pauses: Vec<Pause>,
}

/// An interruption of a coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pause {
    /// Its beginning.
    pub from: Moment,
    /// When the coat went on; None while it has not.
    pub to: Option<Moment>,
}

impl Coat {
    /// How long it took, without its interruptions; None while it is being applied.
    pub fn took(&self) -> Option<TimeDelta> {
        self.last_stroke.map(|last| self.worked_until(last))
    }

    /// The time of work on it up to a moment.
    pub fn worked_until(&self, moment: Moment) -> TimeDelta {
        self.parts_until(moment).map(|(from, to)| to - from).sum()
    }

    /// Its stretches of work up to a moment, in order of time.
    pub fn parts_until(&self, moment: Moment) -> impl Iterator<Item = (Moment, Moment)> {
        let begins =
            std::iter::once(self.first_stroke).chain(self.pauses.iter().filter_map(|pause| pause.to));
        let ends = self.pauses.iter().map(|pause| pause.from).chain(std::iter::once(moment));
        begins.zip(ends).map(move |(from, to)| (from, to.min(moment))).filter(|(from, to)| from <= to)
    }

    /// Since when it is interrupted.
    pub fn paused_since(&self) -> Option<Moment> {
        let last = self.pauses.last().filter(|_| self.last_stroke.is_none())?;
        last.to.is_none().then_some(last.from)
    }

    fn interrupt(&mut self, step: StepKind, at: Moment) {
        match step {
            StepKind::Pause if self.last_stroke.is_none() && self.paused_since().is_none() => {
                self.pauses.push(Pause { from: at, to: None });
            }
            StepKind::Resume if self.paused_since().is_some() => {
                self.pauses.iter_mut().for_each(|pause| pause.to = pause.to.or(Some(at)));
            }
            _ => {}
        }
    }
}

/// One mixed portion of a product with two or more parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Its entry.
    pub id: EntryId,
    /// The product's id.
    pub product: String,
    /// When it was mixed.
    pub mixed_at: Moment,
    /// All parts together.
    pub mass: Grams,
    /// What it stands in.
    pub vessel: Vessel,
    /// How warm it was when it was mixed, where that was said.
    pub temperature: Option<Celsius>,
    /// Where it stands.
    pub place: String,
    /// When it was used up, or thrown away.
    pub emptied: Option<Moment>,
}

/// A wet film, measured.
#[derive(Debug, Clone, PartialEq)]
pub struct WetFilm {
    /// Its entry.
    pub id: EntryId,
    /// When.
    pub at: Moment,
    /// Which coat of its area it was measured on, from 1.
    pub layer: usize,
    /// Spot by spot.
    pub spots: Vec<Micrometres>,
}

/// Material that came into the shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Its entry.
    pub id: EntryId,
    /// When.
    pub at: Moment,
    /// The product's id.
    pub product: String,
    /// How much.
    pub amount: Amount,
    /// What it cost, as a decimal number in the person's currency.
    pub price: Option<String>,
    /// The number on the tin.
    pub lot: Option<String>,
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
    /// How long it took, where that was said.
    pub minutes: Option<u32>,
    /// How many coats it took off.
    pub coats: usize,
    /// Whether it was done to the ground of a coat that is off again, or to that coat.
    pub undone: bool,
}

/// A coat that was taken off again.
#[derive(Debug, Clone, PartialEq)]
pub struct StrippedCoat {
    /// The coat, with the number that it had.
    pub coat: Coat,
    /// The wet films that were measured on it.
    pub films: Vec<WetFilm>,
    /// The entry that took it off.
    pub step: EntryId,
    /// When that was.
    pub at: Moment,
    /// Why, where that was said.
    pub why: Option<String>,
}

/// Something that was noted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// Its entry.
    pub id: EntryId,
    /// When.
    pub at: Moment,
    /// The area, where it is about one.
    pub area: Option<String>,
    /// The entry, where it is about one.
    pub about: Option<EntryId>,
    /// The words.
    pub text: String,
    /// Where a photo lies.
    pub photo: Option<String>,
}

/// One surface and all that was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Its name.
    pub name: String,
    /// The coats that are on it, oldest first.
    pub coats: Vec<Coat>,
    /// The coats that were taken off again, in the order of that.
    pub stripped: Vec<StrippedCoat>,
    /// Its other steps, oldest first.
    pub steps: Vec<StepDone>,
    /// The wet films measured on its coats, oldest first.
    pub films: Vec<WetFilm>,
    /// What the scheme says of it.
    pub plan: Option<SchemeArea>,
    /// Where it stood by the scheme before, if the present one does not name it.
    pub place_before: Option<String>,
}

impl Area {
    pub(super) fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            coats: Vec::new(),
            stripped: Vec::new(),
            steps: Vec::new(),
            films: Vec::new(),
            plan: None,
            place_before: None,
        }
    }

    /// Every coat that was ever on it: those that are on it, then those that were taken off.
    pub fn every_coat(&self) -> impl Iterator<Item = &Coat> {
        self.coats.iter().chain(self.stripped.iter().map(|stripped| &stripped.coat))
    }

    /// The wet films that were measured on a coat, on the area or off it.
    pub fn films_on(&self, coat: &Coat) -> impl Iterator<Item = &WetFilm> {
        let off = self.stripped.iter().find(|stripped| stripped.coat.id == coat.id);
        let on = self.films.iter().filter(move |film| off.is_none() && film.layer == coat.layer);
        on.chain(off.into_iter().flat_map(|stripped| &stripped.films))
    }

    /// An interruption of the coat that is being applied, or its end.
    pub(super) fn interrupt(&mut self, step: StepKind, at: Moment) {
        if let Some(coat) = self.coats.last_mut() {
            coat.interrupt(step, at);
        }
    }

    /// Takes off the lowest of these coats and all that lies on it.
    pub(super) fn strip(
        &mut self,
        coats: &[EntryId],
        step: (EntryId, Moment),
        why: Option<&String>,
    ) -> usize {
        let Some(lowest) = self.coats.iter().position(|coat| coats.contains(&coat.id)) else { return 0 };
        let off = self.coats.split_off(lowest);
        for coat in &off {
            let films = self.films.extract_if(.., |film| film.layer == coat.layer).collect();
            let (coat, why) = (coat.clone(), why.cloned());
            self.stripped.push(StrippedCoat { coat, films, step: step.0, at: step.1, why });
        }
        // What was done to the ground has to be done again; tape stays where it is.
        let newest = self.newest().map(|coat| (coat.first_stroke, coat.id));
        let ground = |step: &&mut StepDone| matches!(step.kind, StepKind::Sand | StepKind::Wash);
        let above = |step: &&mut StepDone| newest.is_none_or(|newest| (step.at, step.id) > newest);
        self.steps.iter_mut().filter(ground).filter(above).for_each(|step| step.undone = true);
        off.len()
    }

    /// Where the area stands.
    pub fn place(&self) -> &str {
        let place = self.plan.as_ref().map(|plan| &plan.place).or(self.place_before.as_ref());
        place.map_or("shop", String::as_str)
    }

    /// The newest coat.
    pub fn newest(&self) -> Option<&Coat> {
        self.coats.last()
    }

    /// Whether a step of this kind was done since the newest coat began, or the one on it was taken off.
    pub fn done_since_coat(&self, kind: StepKind) -> bool {
        self.last_since_coat(kind).is_some()
    }

    /// When a step of this kind was last done since the newest coat began, or the one on it was taken off.
    pub fn last_since_coat(&self, kind: StepKind) -> Option<Moment> {
        self.since_coat(kind).max()
    }

    /// When steps of this kind were done since the newest coat began, or the one on it was taken off.
    pub fn since_coat(&self, kind: StepKind) -> impl Iterator<Item = Moment> + '_ {
        let since = self.newest().map(|coat| (coat.first_stroke, coat.id));
        let done = self.steps.iter().filter(move |step| {
            step.kind == kind && !step.undone && since.is_none_or(|since| (step.at, step.id) > since)
        });
        done.map(|step| step.at)
    }

    /// Whether tape is on that the newest coat went over: it was put on before the last stroke.
    pub fn is_taped(&self) -> bool {
        let tape = self.steps.iter().rev().find(|s| matches!(s.kind, StepKind::TapeOn | StepKind::TapeOff));
        let before =
            |at: Moment| self.newest().and_then(|coat| coat.last_stroke).is_none_or(|last| at <= last);
        tape.is_some_and(|step| step.kind == StepKind::TapeOn && before(step.at))
    }

    /// How long a coat of this area takes: the middle of what the finished ones took, without those whose last stroke was
    /// likely forgotten, else what the scheme says.
    pub fn takes(&self) -> Option<TimeDelta> {
        let mut took: Vec<TimeDelta> = self
            .coats
            .iter()
            .filter_map(Coat::took)
            .filter(|took| *took > TimeDelta::zero() && *took <= IN_ONE_GO)
            .collect();
        took.sort();
        took.get(took.len() / 2).copied().or_else(|| self.plan.as_ref()?.takes)
    }

    /// The steps of the scheme that are still to do.
    pub fn to_do(&self) -> &[SchemeStep] {
        let Some(plan) = &self.plan else { return &[] };
        &plan.steps[self.steps_behind(&plan.steps)..]
    }

    /// The steps that come next: those of the scheme, after a sanding where coats were taken off.
    pub fn to_come(&self) -> Vec<SchemeStep> {
        let mut steps = self.to_do().to_vec();
        let sands = steps.iter().find(|step| !matches!(step, SchemeStep::Wash));
        if self.is_stripped() && !matches!(sands, Some(SchemeStep::Sand { .. })) {
            steps.insert(0, SchemeStep::Sand { grit: String::new(), minutes: None });
        }
        steps
    }

    /// The same without the sandings of its newest film at these moments.
    #[must_use]
    pub fn without_sandings(&self, of: impl Fn(Moment) -> bool) -> Cow<'_, Self> {
        let newest = self.newest().map(|coat| (coat.first_stroke, coat.id));
        let since = |step: &StepDone| newest.is_some_and(|newest| (step.at, step.id) > newest);
        let goes = |step: &StepDone| step.kind == StepKind::Sand && since(step) && of(step.at);
        if !self.steps.iter().any(goes) {
            return Cow::Borrowed(self);
        }
        let mut area = self.clone();
        area.steps.iter_mut().filter(|step| goes(step)).for_each(|step| step.undone = true);
        Cow::Owned(area)
    }

    /// Whether coats were taken off, and what was under them has not been sanded since.
    pub fn is_stripped(&self) -> bool {
        let newest = self.newest().map(|coat| (coat.first_stroke, coat.id));
        let since = |step: &StepDone| newest.is_none_or(|newest| (step.at, step.id) > newest);
        self.steps.iter().any(|step| step.coats > 0 && since(step)) && !self.done_since_coat(StepKind::Sand)
    }

    /// What the next coat will be: what the newest coat's entry said, else the scheme, else the same
    /// product again.
    pub fn next_product(&self) -> Option<&str> {
        let newest = self.newest();
        newest
            .and_then(|coat| coat.next.as_deref())
            .or_else(|| self.to_do().iter().find_map(SchemeStep::product))
            .or_else(|| {
                newest.or(self.stripped.last().map(|off| &off.coat)).map(|coat| coat.product.as_str())
            })
    }

    /// How many coats the area gets, where a scheme has coats for it: those that are on it, and those of the
    /// scheme that are still to come.
    pub fn planned_coats(&self) -> Option<usize> {
        self.plan.as_ref()?.coats().next()?;
        Some(self.coats.len() + self.to_do().iter().filter_map(SchemeStep::product).count())
    }

    /// How many steps of the scheme the record has behind it. A coat counts for the first planned coat of
    /// its product that is left; another step only for one planned before the next coat.
    fn steps_behind(&self, plan: &[SchemeStep]) -> usize {
        let coats = self.coats.iter().map(|coat| (coat.first_stroke, coat.id, Done::Coat(&coat.product)));
        let steps = self.steps.iter().filter(|step| !step.undone);
        let steps = steps.map(|step| (step.at, step.id, Done::Step(step.kind)));
        let mut done: Vec<_> = coats.chain(steps).collect();
        done.sort_by_key(|(at, id, _)| (*at, *id));
        let mut behind = 0;
        for (_, _, done) in done {
            let ahead = plan[behind..].iter();
            let step = match done {
                Done::Coat(product) => ahead.clone().position(|step| step.product() == Some(product)),
                Done::Step(kind) => ahead
                    .clone()
                    .take_while(|step| step.product().is_none())
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
