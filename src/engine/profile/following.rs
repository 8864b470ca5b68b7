//! Whether one product may go on another, as both profiles say.
//!
//! It knows two products and no film: not how old it is, nor whether it was sanded.

use super::product::{Product, Recoat};

/// What two profiles say about one product over another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Following<'p> {
    /// The profile below lists the next product, with its times and conditions.
    Listed(&'p Recoat),
    /// The same product again, in a profile that lists only others: harden, sand, then coat.
    Itself,
    /// One of the two profiles forbids it.
    Forbidden {
        /// The product whose profile says so.
        by: &'p Product,
        /// Why.
        because: &'p str,
    },
    /// Neither profile says anything about it. The notes of the product below, where it has some.
    NotListed(Option<&'p str>),
}

/// Whether `next` may go on a film of `under`, as far as their profiles say.
///
/// Within one profile the closer name counts: an id before a family, and that before `*`. A product that
/// must not go over the film stays forbidden, whatever the profile below lists.
pub fn may_follow<'p>(under: &'p Product, next: &'p Product) -> Following<'p> {
    let listed = under.recoat_entry(next);
    let below = under.never.iter().filter_map(|entry| Some((next.named_in(&entry.next)?, entry)));
    let below = below.max_by_key(|(close, _)| *close);
    let above = next.never.iter().find(|entry| under.named_in(&entry.over).is_some());
    match (listed, below, above) {
        (_, _, Some(entry)) => Following::Forbidden { by: next, because: &entry.because },
        (listed, Some((close, entry)), _) if listed.is_none_or(|(other, _)| other < close) => {
            Following::Forbidden { by: under, because: &entry.because }
        }
        (Some((_, entry)), ..) => Following::Listed(entry),
        _ if under.id == next.id && !(under.recoat.is_empty() && under.never.is_empty()) => Following::Itself,
        _ => Following::NotListed(under.notes.as_deref()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::{Library, Origin, Stage, read_profile};

    fn product(id: &str, family: &str, rest: &str) -> Product {
        let text = format!(
            "schema = 1\nid = \"{id}\"\nname = \"{id}\"\nfamily = \"{family}\"\ncure = \"drying\"\n\
             basis = \"a test\"\n[application]\nair = [5, 30]\n[stages]\nsandable = [{{ at = 20, time = \"16 h\" }}]\n\
             full_cure = [{{ at = 20, time = \"14 d\" }}]\n{rest}"
        );
        read_profile(&text, Origin::BuiltIn).unwrap()
    }

    const LISTS_OIL: &str = "[[recoat]]\nnext = [\"oil\"]\nopen = [{ at = 20, time = \"4 h\" }]\n";

    #[test]
    fn a_product_that_its_own_profile_keeps_off_a_film_stays_off_though_the_film_lists_it() {
        let under =
            product("a", "alkyd", "[[recoat]]\nnext = [\"b\"]\nopen = [{ at = 20, time = \"4 h\" }]\n");
        let next = product("b", "epoxy", "[[never]]\nover = [\"alkyd\"]\nbecause = \"it lifts it\"\n");
        let Following::Forbidden { by, because } = may_follow(&under, &next) else { panic!() };
        assert_eq!((by.id.as_str(), because), ("b", "it lifts it"));
    }

    #[test]
    fn only_its_own_system_goes_on_a_film_that_forbids_anything_else() {
        let only = format!("{LISTS_OIL}[[never]]\nnext = [\"*\"]\nbecause = \"only its own system\"\n");
        let under = product("a", "alkyd", &only);
        assert!(matches!(may_follow(&under, &product("b", "oil", "")), Following::Listed(_)));
        assert!(matches!(may_follow(&under, &product("c", "epoxy", "")), Following::Forbidden { .. }));
    }

    #[test]
    fn one_product_is_forbidden_though_its_family_is_listed() {
        let but = format!("{LISTS_OIL}[[never]]\nnext = [\"b\"]\nbecause = \"not this one\"\n");
        let under = product("a", "alkyd", &but);
        assert!(matches!(may_follow(&under, &product("b", "oil", "")), Following::Forbidden { .. }));
        assert!(matches!(may_follow(&under, &product("c", "oil", "")), Following::Listed(_)));
    }

    #[test]
    fn a_product_over_itself_is_unknown_only_where_the_profile_is_silent() {
        let silent = product("a", "alkyd", "");
        assert_eq!(may_follow(&silent, &silent), Following::NotListed(None));
        let lists_others = product("a", "alkyd", LISTS_OIL);
        assert_eq!(may_follow(&lists_others, &lists_others), Following::Itself);
        assert_eq!(may_follow(&lists_others, &product("b", "epoxy", "")), Following::NotListed(None));
    }

    #[test]
    fn a_film_that_must_be_sanded_has_no_window_as_it_is() {
        let under =
            product("a", "epoxy", "[[recoat]]\nnext = [\"alkyd\"]\nafter = \"full_cure\"\nsand = true\n");
        let next = product("b", "alkyd", "");
        assert!(under.recoat_before(&next).is_none());
        let Following::Listed(entry) = may_follow(&under, &next) else { panic!() };
        assert!(entry.sand);
        assert_eq!(entry.after, Some(Stage::FullCure));
        assert_eq!(Some(&entry.open), under.stage(Stage::FullCure));
    }

    #[test]
    fn the_built_in_two_part_coatings_stay_off_films_that_they_lift() {
        let library = Library::built_in();
        let get = |id| library.get(id).unwrap();
        for next in ["varnish-two-part", "paint-two-part", "primer-two-part", "epoxy-sealer"] {
            for under in ["primer-alkyd", "varnish-alkyd", "paint-water"] {
                let following = may_follow(get(under), get(next));
                assert!(matches!(following, Following::Forbidden { .. }), "{next} over {under}");
            }
        }
        let Following::Listed(entry) = may_follow(get("epoxy-sealer"), get("varnish-alkyd")) else {
            panic!()
        };
        assert!(entry.sand && entry.wash && entry.after == Some(Stage::FullCure));
    }
}
