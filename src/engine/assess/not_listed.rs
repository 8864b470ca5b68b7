//! A product that the profile of the film below does not list among what may follow it.

use super::AreaSurvey;
use crate::engine::profile::Product;

/// A film whose profile does not list the product to come, sanded or not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotListed<'a> {
    /// The product of the film.
    pub under: &'a Product,
    /// The product to come.
    pub next: &'a Product,
}

impl<'a> AreaSurvey<'a> {
    /// Where the profile of the newest film does not list `next`, and nobody has confirmed the pair. A profile
    /// that lists nothing at all is silent, not against it.
    pub fn not_listed(&self, next: &'a Product) -> Option<NotListed<'a>> {
        let under = self.newest.as_ref()?.product;
        self.is_not_listed(next).then_some(NotListed { under, next })
    }

    /// Whether [`AreaSurvey::not_listed`] finds something.
    pub fn is_not_listed(&self, next: &Product) -> bool {
        self.newest.as_ref().is_some_and(|newest| {
            let under = newest.product;
            let listed = under.id == next.id || under.recoat_before(next).is_some();
            let silent = under.recoat.is_empty();
            let confirmed = self.confirmed.iter().any(|pair| pair.0 == under.id && pair.1 == next.id);
            !listed && !silent && !confirmed
        })
    }
}
