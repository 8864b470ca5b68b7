//! What a sound profile says that is seldom meant: each with its line, and what to do.

use toml::Spanned;
use toml::de::DeTable;

use super::order::comes_late;
use super::{Origin, Section, TOP, file_name, read_profile};
use crate::engine::profile::fault::{Fault, Faults, shown, without_mark};
use crate::engine::profile::file::{NEVER, RECOAT, STAGES};
use crate::engine::profile::library::Library;
use crate::engine::profile::product::{Product, Recoat, Stage};
use crate::engine::profile::suggestions::nearest;
use crate::engine::profile::value;

/// What is probably not meant in a profile, in the order of the file; nothing where it has faults, which come
/// first. The library says which products and families there are.
pub fn profile_warnings(text: &str, origin: Origin, library: &Library) -> Vec<Fault> {
    let text = without_mark(text);
    let Ok(document) = DeTable::parse(text) else { return Vec::new() };
    let found = Faults::new(file_name(&origin), text);
    let Ok(product) = read_profile(text, origin) else { return Vec::new() };
    let top = Section::new(document.get_ref(), 0..0, &TOP, &found);
    let recoat = top.sections("recoat", &RECOAT);
    Warner { product: &product, library, top: &top, recoat: &recoat }.all();
    found.into_sorted()
}

struct Warner<'a> {
    product: &'a Product,
    library: &'a Library,
    top: &'a Section<'a>,
    recoat: &'a [Section<'a>],
}

impl Warner<'_> {
    fn all(&self) {
        self.tape();
        for (section, entry) in self.recoat.iter().zip(&self.product.recoat) {
            self.opens_on_a_tacky_film(section, entry);
            self.named_twice(section, entry);
            self.names_exist(section, "next");
        }
        for section in self.top.sections("never", &NEVER) {
            self.names_exist(&section, "next");
            self.names_exist(&section, "over");
        }
        self.alone();
    }

    fn tape(&self) {
        let stage = |stage| self.product.stage(stage);
        let (Some(tape), Some(tack_free)) = (stage(Stage::TapeBy), stage(Stage::TackFree)) else { return };
        let Some(stages) = self.top.section("stages", &STAGES) else { return };
        if let Some(times) = comes_late(tape, tack_free, &self.product.application) {
            let what = format!("the tape may stay on until after the film is tack-free ({times})");
            let mend = "check `tape_by` against the data sheet: a film that has set tears at the edge";
            stages.faults().add(&stages.place(Stage::TapeBy.key()), what, mend);
        }
    }

    /// Wet on wet is a coat of the same kind, and the profile says how many of them.
    fn opens_on_a_tacky_film(&self, section: &Section<'_>, entry: &Recoat) {
        let Some(tack_free) = self.product.stage(Stage::TackFree).filter(|_| entry.after.is_none()) else {
            return;
        };
        let several = self.product.film.as_ref().and_then(|film| film.wet_on_wet_coats) > Some(1);
        let same_kind = |name: &String| self.family_of(name) == Some(&self.product.family);
        if entry.sand || several && entry.next.iter().all(same_kind) {
            return;
        }
        if let Some(times) = comes_late(tack_free, &entry.open, &self.product.application) {
            let what = format!("the window opens before the film is tack-free ({times})");
            let mend = "check `open` against the data sheet; if wet on wet is meant, give `wet_on_wet_coats` in [film]";
            section.faults().add(&section.place("open"), what, mend);
        }
    }

    /// A product that one window names by its id and another by its family.
    fn named_twice(&self, section: &Section<'_>, entry: &Recoat) {
        for name in self.names(section, "next") {
            let id = name.get_ref();
            let Some(family) = self.family_of(id).filter(|family| *family != id) else { continue };
            let of_family = |other: &&(&Section<'_>, &Recoat)| other.1.next.contains(family) && !other.1.sand;
            let other = self.recoat.iter().zip(&self.product.recoat).collect::<Vec<_>>();
            let Some((other, _)) = other.iter().find(of_family).filter(|_| !entry.sand) else { continue };
            let line = section.faults().line_of(other.heading().start);
            let what = format!(
                "\"{}\" has two windows: this one counts, and not that of its family \"{}\" in line {line}",
                shown(id),
                shown(family)
            );
            section.faults().add(&name.span(), what, "remove one, unless the data sheet gives both");
        }
    }

    fn names_exist(&self, section: &Section<'_>, key: &'static str) {
        for name in self.names(section, key) {
            let id = name.get_ref();
            if id == "*" || self.family_of(id).is_some() {
                continue;
            }
            let names: Vec<&str> =
                self.library.iter().flat_map(|product| [&*product.id, &*product.family]).collect();
            let mend = match nearest(id, &names) {
                Some(meant) => format!("did you mean \"{meant}\"?"),
                None => "write an id or a family of \"curewright profile list\", or add its profile".into(),
            };
            let what = format!("no product and no family is called \"{}\", so this has no effect", shown(id));
            section.faults().add(&name.span(), what, mend);
        }
    }

    /// A product that may be coated with itself and says nothing of any other.
    fn alone(&self) {
        let itself = |name: &String| *name == self.product.id;
        let silent = self.product.never.iter().all(|entry| entry.next.is_empty());
        let alone = self.product.recoat.iter().all(|entry| entry.next.iter().all(itself));
        if let Some(first) = self.recoat.first().filter(|_| silent && alone) {
            let mend = "add a [[recoat]] for what the data sheet allows on the sanded film, or [[never]]";
            let what =
                "only the product itself is listed: every other one is answered with \"ask the data sheets\"";
            first.faults().add(&first.place("next"), what, mend);
        }
    }

    /// The family of an id, or the family itself; None where there is neither.
    fn family_of(&self, name: &str) -> Option<&String> {
        let mut products = std::iter::once(self.product).chain(self.library.iter());
        products.find(|product| product.id == name || product.family == name).map(|product| &product.family)
    }

    fn names(&self, section: &Section<'_>, key: &'static str) -> Vec<Spanned<String>> {
        section.list(key, "[\"epoxy\"]", value::text).unwrap_or_default()
    }
}
