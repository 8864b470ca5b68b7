//! What is known of the piece: its areas with their coats, the batches, the stock.

use chrono::TimeDelta;

use super::entry::{Amount, EntryId, StepKind, Vessel};
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
    /// Its coats, oldest first.
    pub coats: Vec<Coat>,
    /// Its other steps, oldest first.
    pub steps: Vec<StepDone>,
    /// The wet films measured on its coats, oldest first.
    pub films: Vec<WetFilm>,
    /// What the scheme says of it.
    pub plan: Option<SchemeArea>,
}

impl Area {
    pub(super) fn new(name: &str) -> Self {
        Self { name: name.to_owned(), coats: Vec::new(), steps: Vec::new(), films: Vec::new(), plan: None }
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
            .or_else(|| self.to_do().iter().find_map(SchemeStep::product))
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
