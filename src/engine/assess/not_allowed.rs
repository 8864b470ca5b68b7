//! A product that the profiles do not allow on the film below, or do not list among what may follow it.

use super::AreaSurvey;
use crate::engine::profile::{Following, Product, may_follow};

/// A pair of products that no profile allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotAllowed<'a> {
    /// The product of the film.
    pub under: &'a Product,
    /// The product to come.
    pub next: &'a Product,
    /// What a profile says against the pair; None where neither says anything of it.
    pub because: Option<&'a str>,
}

impl<'a> AreaSurvey<'a> {
    /// Where the profiles do not allow `next` on the newest film, and nobody has confirmed the pair. A profile
    /// that lists nothing at all is silent, not against it.
    pub fn not_allowed(&self, next: &'a Product) -> Option<NotAllowed<'a>> {
        self.against_pair(next).map(|(under, because)| NotAllowed { under, next, because })
    }

    /// Whether [`AreaSurvey::not_allowed`] finds something, and whether a profile forbids the pair.
    pub(super) fn pair_is_forbidden(&self, next: &Product) -> Option<bool> {
        let under = self.newest.as_ref()?.product;
        if self.confirmed.iter().any(|(film, coat)| *film == under.id && *coat == next.id) {
            return None;
        }
        match may_follow(under, next) {
            Following::Forbidden { .. } => Some(true),
            Following::NotListed(_) if !under.recoat.is_empty() => Some(false),
            _ => None,
        }
    }

    fn against_pair(&self, next: &'a Product) -> Option<(&'a Product, Option<&'a str>)> {
        self.pair_is_forbidden(next)?;
        let under = self.newest.as_ref()?.product;
        match may_follow(under, next) {
            Following::Forbidden { because, .. } => Some((under, Some(because))),
            _ => Some((under, None)),
        }
    }
}
