//! Product pairs that a profile forbids or does not list.

use super::AreaSurvey;
use crate::engine::job::Ground;
use crate::engine::profile::{Following, Product, may_follow};

/// A pair of products that no profile allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotAllowed<'a> {
    /// The product of the film.
    pub under: &'a Product,
    /// The product to come.
    pub next: &'a Product,
    /// What a profile says against the pair; None if neither lists it.
    pub because: Option<&'a str>,
}

/// The objection to a product on a film, unless a person has confirmed the pair. A profile that lists nothing
/// at all is silent, not against it.
pub fn pair_objection<'a>(
    under: &'a Product,
    next: &'a Product,
    confirmed: &[(String, String)],
) -> Option<NotAllowed<'a>> {
    if confirmed.iter().any(|(film, coat)| *film == under.id && *coat == next.id) {
        return None;
    }
    match may_follow(under, next) {
        Following::Forbidden { because, .. } => Some(NotAllowed { under, next, because: Some(because) }),
        Following::NotListed(_) if !under.recoat.is_empty() => {
            Some(NotAllowed { under, next, because: None })
        }
        _ => None,
    }
}

/// Whether a product may harm, or come off with, paint of which nothing is known: two-part products lift one-part
/// paint (common practice, no source). A person who has asked the data sheet and tried it confirms the pair.
pub fn old_paint_objects(ground: Option<Ground>, next: &Product, confirmed: &[(String, String)]) -> bool {
    let old = Ground::OldPaint;
    ground == Some(old)
        && next.mix.is_some()
        && !confirmed.iter().any(|(film, coat)| film == old.key() && *coat == next.id)
}

impl<'a> AreaSurvey<'a> {
    /// [`pair_objection`] for the newest film of the area.
    pub fn not_allowed<'p>(&self, next: &'p Product) -> Option<NotAllowed<'p>>
    where
        'a: 'p,
    {
        pair_objection(self.newest.as_ref()?.product, next, &self.confirmed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::Library;

    fn objection(under: &str, next: &str, confirmed: &[(String, String)]) -> Option<bool> {
        let library = Library::built_in();
        let (under, next) = (library.get(under).unwrap(), library.get(next).unwrap());
        pair_objection(under, next, confirmed).map(|pair| pair.because.is_some())
    }

    #[test]
    fn a_two_part_varnish_over_an_alkyd_is_not_allowed_until_a_person_confirms_it() {
        assert!(objection("varnish-alkyd", "varnish-two-part", &[]).is_some());
        let pair = ("varnish-alkyd".to_owned(), "varnish-two-part".to_owned());
        assert_eq!(objection("varnish-alkyd", "varnish-two-part", &[pair]), None);
    }

    #[test]
    fn the_same_product_again_and_what_a_profile_lists_are_allowed() {
        assert_eq!(objection("varnish-two-part", "varnish-two-part", &[]), None);
        assert_eq!(objection("epoxy-sealer", "primer-two-part", &[]), None);
    }
}
