//! The cost of the materials of a scheme, at the average prices paid.

use super::need::Practice;
use super::planned::planned_needs;
use super::stock::ledgers;
use crate::engine::job::{Area, Job, SchemeStep};
use crate::engine::profile::Library;
use crate::engine::units::Money;

/// The cost of the coats of a piece.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Costs {
    /// Material on the piece or mixed for it; None if no price is known.
    pub used_up: Option<Money>,
    /// Material for the coming coats; None if there are none or no price is known.
    pub to_come: Option<Money>,
    /// Products of coming coats with unknown price or need: not included in `to_come`.
    pub unpriced: Vec<String>,
}

impl Costs {
    /// The costs of a job.
    pub fn of(job: &Job, library: &Library, practice: &Practice) -> Self {
        let ledgers = ledgers(job, library, practice);
        let mut costs = Self::default();
        for used_up in ledgers.iter().filter_map(|ledger| ledger.used_up) {
            costs.used_up = Some(costs.used_up.into_iter().chain([used_up]).sum());
        }
        let mut coats: Vec<(&str, &str)> = job.areas.iter().flat_map(to_come).collect();
        coats.sort_by_key(|(_, product)| *product);
        for need in planned_needs(job, library, practice, coats) {
            match need.cost.filter(|_| need.uncounted == 0) {
                Some(cost) => costs.to_come = Some(costs.to_come.into_iter().chain([cost]).sum()),
                None => costs.unpriced.push(need.product),
            }
        }
        costs
    }
}

/// The coming coats of an area, by area and product.
fn to_come(area: &Area) -> impl Iterator<Item = (&str, &str)> {
    area.to_do().iter().filter_map(SchemeStep::product).map(|product| (area.name.as_str(), product))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::config::Config;
    use crate::engine::job::{Amount, EntryKind};
    use crate::engine::units::Grams;
    use crate::testing::Bench;

    const SCHEME: &str = r#"
        name = "Hut"
        [[area]]
        name = "roof"
        square_metres = 5
        steps = [{ coat = "epoxy-sealer" }, { coat = "epoxy-sealer" }, { coat = "paint-two-part" }]
    "#;

    fn tin(product: &str, grams: f64, price: &str) -> EntryKind {
        EntryKind::Stock {
            product: product.into(),
            amount: Amount::MassG(Grams::new(grams)),
            price: Some(price.into()),
            lot: None,
        }
    }

    fn costs(bench: &Bench, minutes: i64) -> Costs {
        let job = Job::fold(&bench.entries(), crate::testing::at(minutes));
        Costs::of(&job, &Library::built_in(), &Practice::usual(&Config::default().amounts))
    }

    #[test]
    fn past_and_coming_coats_cost_the_average_price_paid() {
        let bench = Bench::default().entry(0, EntryKind::Scheme { text: SCHEME.into() });
        let bench = bench.entry(1, tin("epoxy-sealer", 2000.0, "80.00"));
        let before = costs(&bench, 5);
        assert_eq!(before.used_up, Some(Money::parse("0.00").unwrap()));
        assert_eq!(before.unpriced, ["paint-two-part"]);
        let bench = bench.coat("roof", "epoxy-sealer", 10, 30);
        let after = costs(&bench, 40);
        let (used, left) = (after.used_up.unwrap(), after.to_come.unwrap());
        assert_eq!(used, left, "one coat lies there, one is to come");
        assert_eq!([used, left].into_iter().sum::<Money>(), before.to_come.unwrap());
    }

    #[test]
    fn coats_that_need_more_than_came_in_cost_more_than_was_paid() {
        let of = |grams, price| {
            let bench = Bench::default().entry(0, EntryKind::Scheme { text: SCHEME.into() });
            costs(&bench.entry(1, tin("epoxy-sealer", grams, price)), 5).to_come
        };
        assert_eq!(of(100.0, "4.00"), of(2000.0, "80.00"), "the price of a gram is the same");
        assert!(of(100.0, "4.00") > Some(Money::parse("4.00").unwrap()));
    }

    #[test]
    fn without_a_scheme_and_without_a_tin_there_is_no_cost() {
        assert_eq!(costs(&Bench::default(), 5), Costs::default());
    }
}
