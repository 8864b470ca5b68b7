//! The tables of a profile file and the keys they may hold.
//!
//! Everything is read with its place, and reading goes on after a fault, so that a person sees all of
//! them at once. What the values mean together is not known here.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::{Faults, shown};
use super::suggestions::nearest;
use super::value::{Reading, Trouble};

/// The keys of one table of the format.
pub(super) struct Shape {
    /// Where they stand, as a sentence says it.
    place: &'static str,
    keys: &'static [&'static str],
}

/// The keys before the first heading.
pub(super) const TOP: Shape = Shape {
    place: "at the top",
    keys: &[
        "schema",
        "id",
        "name",
        "family",
        "cure",
        "basis",
        "activation_energy",
        "reference_humidity",
        "cautions",
        "notes",
        "mix",
        "pot_life",
        "application",
        "film",
        "stages",
        "recoat",
        "never",
        "seals",
    ],
};
/// The parts and their ratio.
pub(super) const MIX: Shape =
    Shape { place: "in [mix]", keys: &["names", "by_volume", "by_mass", "density", "induction"] };
/// How long a mixed portion is usable.
pub(super) const POT_LIFE: Shape = Shape { place: "in [pot_life]", keys: &["mass", "times"] };
/// The air a product may be applied in.
pub(super) const APPLICATION: Shape = Shape {
    place: "in [application]",
    keys: &["air", "humidity_max", "humidity_min", "dew_margin", "stall_below"],
};
/// The film of one coat.
pub(super) const FILM: Shape =
    Shape { place: "in [film]", keys: &["volume_solids", "wet", "density", "wet_on_wet_coats"] };
/// The named points of drying.
pub(super) const STAGES: Shape =
    Shape { place: "in [stages]", keys: &["tack_free", "tape_by", "sandable", "handle", "full_cure"] };
/// One recoat window.
pub(super) const RECOAT: Shape =
    Shape { place: "in [[recoat]]", keys: &["next", "open", "close", "wash", "after", "sand"] };
/// What must not follow, or lie below.
pub(super) const NEVER: Shape = Shape { place: "in [[never]]", keys: &["next", "over", "because"] };
/// One line of a time table.
pub(super) const POINT: Shape = Shape { place: "in a point of a time table", keys: &["at", "time"] };

const HEADED: [&Shape; 7] = [&MIX, &POT_LIFE, &APPLICATION, &FILM, &STAGES, &RECOAT, &NEVER];

/// One table of the file under a heading, or a `{ … }`.
pub(super) struct Section<'d> {
    table: &'d DeTable<'d>,
    span: Range<usize>,
    shape: &'static Shape,
    faults: &'d Faults<'d>,
}

impl<'d> Section<'d> {
    /// The table, with every key that it may not hold reported.
    pub(super) fn new(
        table: &'d DeTable<'d>,
        span: Range<usize>,
        shape: &'static Shape,
        faults: &'d Faults<'d>,
    ) -> Self {
        let section = Self { table, span, shape, faults };
        for key in section.unknown_keys() {
            let what = format!("the key `{}` is unknown {}", shown(key.get_ref()), shape.place);
            faults.add(&key.span(), what, section.advice_on(key.get_ref()));
        }
        section
    }

    fn unknown_keys(&self) -> impl Iterator<Item = &'d Spanned<std::borrow::Cow<'d, str>>> {
        let known = self.shape.keys;
        self.table.iter().map(|(key, _)| key).filter(move |key| !known.contains(&key.get_ref().as_ref()))
    }

    fn advice_on(&self, key: &str) -> String {
        if let Some(home) = HEADED.iter().find(|shape| shape.keys.contains(&key)) {
            return format!("it belongs {}", home.place);
        }
        if TOP.keys.contains(&key) {
            return "it belongs at the top, before the first [heading]".into();
        }
        if matches!(key, "recoat_open" | "recoat_close") {
            return "a recoat window belongs under [[recoat]], as `open` and `close`".into();
        }
        match nearest(key, self.shape.keys) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("the keys here are {}", self.shape.keys.join(", ")),
        }
    }

    /// What follows a key.
    pub(super) fn value(&self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        debug_assert!(self.shape.keys.contains(&key), "{key} has no place {}", self.shape.place);
        self.table.get(key)
    }

    /// The place of a key, or of the table where it has none.
    pub(super) fn place(&self, key: &str) -> Range<usize> {
        self.table.get_key_value(key).map_or_else(|| self.span.clone(), |(key, _)| key.span())
    }

    /// The place of the heading.
    pub(super) fn heading(&self) -> &Range<usize> {
        &self.span
    }

    /// The faults of the file.
    pub(super) fn faults(&self) -> &'d Faults<'d> {
        self.faults
    }

    /// The value of a key that may be left out.
    pub(super) fn optional<T>(
        &self,
        key: &'static str,
        read: impl FnOnce(&DeValue<'_>) -> Reading<T>,
    ) -> Option<T> {
        let value = self.value(key)?;
        self.accept(key, value, read)
    }

    /// The value of a key that may not be left out; `example` is what to add.
    pub(super) fn required<T>(
        &self,
        key: &'static str,
        example: &str,
        read: impl FnOnce(&DeValue<'_>) -> Reading<T>,
    ) -> Option<T> {
        self.demand(key, example);
        self.optional(key, read)
    }

    /// Reports a key that is not there, unless a misspelt one was already reported in its place.
    pub(super) fn demand(&self, key: &'static str, example: &str) {
        let misspelt =
            || self.unknown_keys().any(|other| nearest(other.get_ref(), self.shape.keys) == Some(key));
        if self.table.contains_key(key) || misspelt() {
            return;
        }
        self.faults.add(
            &self.span,
            format!("`{key}` is missing {}", self.shape.place),
            format!("add {example}"),
        );
    }

    /// The values of a list, each with its place; none where one of them has a fault.
    pub(super) fn list<T>(
        &self,
        key: &'static str,
        wanted: &str,
        read: impl Fn(&DeValue<'_>) -> Reading<T>,
    ) -> Option<Vec<Spanned<T>>> {
        let value = self.value(key)?;
        let Some(array) = value.get_ref().as_array() else {
            self.faults.add(
                &value.span(),
                format!("`{key}` is not a list"),
                format!("write a list: {key} = {wanted}"),
            );
            return None;
        };
        let items: Vec<Option<Spanned<T>>> = array
            .iter()
            .map(|item| self.accept(key, item, &read).map(|read| Spanned::new(item.span(), read)))
            .collect();
        items.into_iter().collect()
    }

    /// The table under a heading of its own.
    pub(super) fn section(&self, key: &'static str, shape: &'static Shape) -> Option<Section<'d>> {
        let value = self.value(key)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(Section::new(table, value.span(), shape, self.faults)),
            DeValue::Array(array) if array.iter().all(|item| item.get_ref().is_table()) => {
                let place =
                    array.get(1).or_else(|| array.first()).map_or_else(|| value.span(), Spanned::span);
                let mend = format!("write it once, under [{key}]");
                self.faults.add(&place, format!("[[{key}]] is for a list, but there is only one"), mend);
                None
            }
            _ => self.no_section(key, value, &format!("[{key}]")),
        }
    }

    /// The tables under a heading that may come again.
    pub(super) fn sections(&self, key: &'static str, shape: &'static Shape) -> Vec<Section<'d>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        match value.get_ref() {
            DeValue::Table(table) => vec![Section::new(table, value.span(), shape, self.faults)],
            DeValue::Array(array) => array
                .iter()
                .filter_map(|item| match item.get_ref() {
                    DeValue::Table(table) => Some(Section::new(table, item.span(), shape, self.faults)),
                    _ => self.no_section(key, item, &format!("[[{key}]]")),
                })
                .collect(),
            _ => self.no_section(key, value, &format!("[[{key}]]")).into_iter().collect(),
        }
    }

    fn no_section(&self, key: &str, value: &Spanned<DeValue<'_>>, heading: &str) -> Option<Section<'d>> {
        let mend = format!("write a line {heading} and its keys below it");
        self.faults.add(&value.span(), format!("`{key}` is not a table"), mend);
        None
    }

    fn accept<T>(
        &self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        read: impl FnOnce(&DeValue<'_>) -> Reading<T>,
    ) -> Option<T> {
        match read(value.get_ref()) {
            Ok(read) => Some(read),
            Err(Trouble { what, mend }) => {
                self.faults.add(&value.span(), format!("`{key}`: {what}"), mend);
                None
            }
        }
    }
}
