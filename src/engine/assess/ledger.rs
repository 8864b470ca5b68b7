//! Hours and money, compared with the scheme.

use chrono::TimeDelta;

use crate::engine::amounts::{Costs, Practice};
use crate::engine::job::{Amount, Area, Job, SchemeArea, SchemeStep, Stretch};
use crate::engine::profile::Library;
use crate::engine::units::{Moment, Money};

/// The work on one area.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AreaHours {
    /// Its name.
    pub area: String,
    /// What was worked.
    pub worked: TimeDelta,
    /// The scheme's time for the steps done; None if it gives no times.
    pub planned_so_far: Option<TimeDelta>,
    /// The scheme's time for all steps.
    pub planned: Option<TimeDelta>,
}

/// The work on the piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoursReport {
    /// Area by area: those of the job, then others that were worked on.
    pub areas: Vec<AreaHours>,
    /// Work without an area.
    pub elsewhere: TimeDelta,
    /// The total.
    pub worked: TimeDelta,
    /// The scheme's time for the steps done, as far as given.
    pub planned_so_far: Option<TimeDelta>,
    /// The scheme's time for all steps.
    pub planned: Option<TimeDelta>,
    /// Implausibly long stretches, which are not counted.
    pub doubtful: Vec<Stretch>,
}

impl HoursReport {
    /// The hours of a job.
    pub fn of(job: &Job) -> Self {
        let hours = &job.hours;
        let mut areas: Vec<AreaHours> = job.areas.iter().map(|area| of_area(job, area)).collect();
        for name in hours.areas() {
            if job.area(name).is_none() {
                let worked = hours.of(Some(name));
                areas.push(AreaHours { area: name.into(), worked, planned_so_far: None, planned: None });
            }
        }
        let sum = |of: fn(&AreaHours) -> Option<TimeDelta>| {
            let known: Vec<TimeDelta> = areas.iter().filter_map(of).collect();
            (!known.is_empty()).then(|| known.into_iter().sum())
        };
        Self {
            elsewhere: hours.of(None),
            worked: hours.total(),
            planned_so_far: sum(|area| area.planned_so_far),
            planned: sum(|area| area.planned),
            doubtful: hours.doubtful.clone(),
            areas,
        }
    }
}

fn of_area(job: &Job, area: &Area) -> AreaHours {
    let planned = area.plan.as_ref().and_then(|plan| planned(plan, &plan.steps));
    let to_come = area.plan.as_ref().and_then(|plan| planned_or_nothing(plan, area.to_do()));
    AreaHours {
        area: area.name.clone(),
        worked: job.hours.of(Some(&area.name)),
        planned_so_far: planned.zip(to_come).map(|(all, to_come)| all - to_come),
        planned,
    }
}

fn planned(plan: &SchemeArea, steps: &[SchemeStep]) -> Option<TimeDelta> {
    planned_or_nothing(plan, steps).filter(|planned| *planned > TimeDelta::zero())
}

/// The scheme's time for steps. Washing and tape have no times; None if it gives no duration of a coat.
fn planned_or_nothing(plan: &SchemeArea, steps: &[SchemeStep]) -> Option<TimeDelta> {
    let time = |step: &SchemeStep| match step {
        SchemeStep::Coat { .. } => plan.takes,
        SchemeStep::Sand { minutes, .. } => Some(TimeDelta::minutes(minutes.unwrap_or(0).into())),
        SchemeStep::Wash | SchemeStep::Tape { .. } => Some(TimeDelta::zero()),
    };
    steps.iter().map(time).sum()
}

/// Something that was bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// When.
    pub at: Moment,
    /// The product's id.
    pub product: String,
    /// How much.
    pub amount: Amount,
    /// The number on the tin.
    pub lot: Option<String>,
    /// What it cost.
    pub price: Option<Money>,
}

/// What was bought.
#[derive(Debug, Clone, PartialEq)]
pub struct MoneyReport {
    /// One by one, oldest first.
    pub purchases: Vec<Purchase>,
    /// The sum of all prices; None if there is none.
    pub paid: Option<Money>,
    /// How many came in without a price.
    pub unpriced: usize,
    /// The cost of the coats on the piece, and of the coming ones.
    pub costs: Costs,
}

impl MoneyReport {
    /// The purchases of a job.
    pub fn of(job: &Job, library: &Library, practice: &Practice) -> Self {
        let purchases: Vec<Purchase> = job
            .stock
            .iter()
            .map(|stock| Purchase {
                at: stock.at,
                product: stock.product.clone(),
                amount: stock.amount,
                lot: stock.lot.clone(),
                price: stock.price.as_deref().and_then(|price| Money::parse(price).ok()),
            })
            .collect();
        let prices: Vec<Money> = purchases.iter().filter_map(|purchase| purchase.price).collect();
        Self {
            paid: (!prices.is_empty()).then(|| prices.iter().copied().sum()),
            unpriced: purchases.len() - prices.len(),
            purchases,
            costs: Costs::of(job, library, practice),
        }
    }
}
