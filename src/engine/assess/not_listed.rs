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
    /// Where the profile of the newest film does not list `next`; None where it does, or where nothing is below.
    pub fn not_listed(&self, next: &'a Product) -> Option<NotListed<'a>> {
        let under = self.newest.as_ref()?.product;
        (under.id != next.id && under.recoat_before(next).is_none()).then_some(NotListed { under, next })
    }
}
