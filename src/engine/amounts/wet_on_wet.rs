//! How many more coats of a product may go on wet on wet.

use chrono::TimeDelta;

use crate::engine::job::{Area, Coat, StepDone, StepKind};
use crate::engine::profile::{Product, Stage};

/// Coats of one product without a sanding in between, and the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WetOnWet {
    /// Their number.
    pub on: usize,
    /// The profile's limit.
    pub most: usize,
}

impl WetOnWet {
    /// The newest coats of an area, with `product` that of the newest. None if it has no coat or the profile
    /// sets no limit.
    ///
    /// A coat went on wet on wet if it is of the same product, nothing was sanded in between, and the film
    /// below cannot have been hard for long: no longer than it takes to become sandable in the coolest air in
    /// which the product may be applied.
    pub fn of(area: &Area, product: &Product) -> Option<Self> {
        let most = product.film.as_ref()?.wet_on_wet_coats?;
        let newest = area.newest()?;
        let mut on = 1;
        for pair in area.coats.windows(2).rev() {
            let [under, over] = pair else { break };
            if under.product != newest.product || !went_on_wet(area, product, under, over) {
                break;
            }
            on += 1;
        }
        Some(Self { on, most: usize::try_from(most).unwrap_or(usize::MAX) })
    }

    /// How many more may go on.
    pub const fn left(self) -> usize {
        self.most.saturating_sub(self.on)
    }
}

fn went_on_wet(area: &Area, product: &Product, under: &Coat, over: &Coat) -> bool {
    let between =
        |at, id| (at, id) > (under.first_stroke, under.id) && (at, id) < (over.first_stroke, over.id);
    let hard = product.stage(Stage::Sandable).or_else(|| product.stage(Stage::FullCure));
    let finished = under.last_stroke.unwrap_or(under.first_stroke);
    // A film that cannot have been hard, even in the warmest air for it, was not sanded.
    let softest = hard.map_or(TimeDelta::zero(), |table| table.time_at(product.application.warmest));
    let sanded = |step: &StepDone| {
        step.kind == StepKind::Sand
            && !step.undone
            && step.at - finished >= softest
            && between(step.at, step.id)
    };
    if area.steps.iter().any(sanded) {
        return false;
    }
    let hard = hard.map(|table| table.time_at(product.application.coolest));
    let waited = over.first_stroke - finished;
    hard.is_none_or(|hard| waited <= hard)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::Library;
    use crate::testing::Bench;

    fn roof(bench: &Bench) -> Option<(usize, usize)> {
        let library = Library::built_in();
        let job = bench.job(100_000);
        let area = job.area("roof")?;
        let found = WetOnWet::of(area, library.get(&area.newest()?.product).ok()?)?;
        Some((found.on, found.left()))
    }

    fn varnished(at: &[i64]) -> Bench {
        at.iter().fold(Bench::default(), |b, at| b.coat("roof", "varnish-two-part", *at, at + 20))
    }

    #[test]
    fn coats_are_counted_against_the_limit_of_the_profile() {
        // At most two.
        assert_eq!(roof(&varnished(&[0])), Some((1, 1)));
        assert_eq!(roof(&varnished(&[0, 200])), Some((2, 0)));
        assert_eq!(roof(&varnished(&[0, 200, 400])), Some((3, 0)), "it was not listened to");
    }

    #[test]
    fn a_sanding_begins_anew() {
        let bench = varnished(&[0, 200]).step("roof", StepKind::Sand, 1500);
        assert_eq!(roof(&bench.coat("roof", "varnish-two-part", 1600, 1620)), Some((1, 1)));
    }

    #[test]
    fn another_product_starts_a_new_count() {
        let bench = Bench::default().coat("roof", "primer-two-part", 0, 20);
        assert_eq!(roof(&bench.coat("roof", "varnish-two-part", 300, 320)), Some((1, 1)));
    }

    #[test]
    fn a_film_that_has_been_hard_for_long_is_not_wet() {
        let month = 30 * 24 * 60;
        assert_eq!(roof(&varnished(&[0, month])), Some((1, 1)));
    }

    #[test]
    fn without_a_coat_or_a_limit_there_is_nothing_to_count() {
        assert_eq!(roof(&Bench::default()), None);
        // The oil sets no limit.
        assert_eq!(roof(&Bench::default().coat("roof", "oil-penetrating", 0, 20)), None);
    }
}
