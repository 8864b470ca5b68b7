//! All products that are known: those built in, and those of the user's files, which win by id.
//!
//! Built-in profiles are read when they are first asked for. Which files there are is not known here:
//! they are handed in as texts.

use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;
use std::sync::OnceLock;

use super::check::{claimed_id, file_name, read_profile};
use super::fault::{Fault, Faults, shown, without_mark};
use super::is_id;
use super::product::{Origin, Product};
use super::suggestions::near;

macro_rules! shipped {
    ($($id:literal),* $(,)?) => {
        &[$(($id, include_str!(concat!("../../../profiles/", $id, ".toml")))),*]
    };
}

/// The ids and the texts of the profiles inside the program: the folder `profiles`.
const SHIPPED: &[(&str, &str)] = shipped![
    "adhesive-hybrid",
    "antifouling",
    "deck-coating-polyurethane-moisture",
    "enamel-alkyd",
    "epoxy-fairing-filler",
    "epoxy-laminating-fast",
    "epoxy-laminating-slow",
    "epoxy-sealer",
    "oil-penetrating",
    "paint-two-part",
    "paint-water",
    "primer-alkyd",
    "primer-high-build",
    "primer-two-part",
    "varnish-alkyd",
    "varnish-two-part",
    "varnish-water",
];

/// The ids and the texts of the built-in profiles.
pub fn built_in_texts() -> impl Iterator<Item = (&'static str, &'static str)> {
    SHIPPED.iter().copied()
}

enum Entry {
    BuiltIn(Lazy),
    File(Box<Product>),
    /// A file of the user's that means to give this product but has faults. What it would replace
    /// is not used in its stead: the user believes that it is replaced.
    Faulty {
        faults: usize,
        first: Fault,
    },
}

/// A built-in profile, and the product once it has been asked for.
struct Lazy {
    text: &'static str,
    product: OnceLock<Option<Box<Product>>>,
}

impl Lazy {
    const fn new(text: &'static str) -> Self {
        Self { text, product: OnceLock::new() }
    }

    fn product(&self) -> Option<&Product> {
        self.product.get_or_init(|| read_profile(self.text, Origin::BuiltIn).ok().map(Box::new)).as_deref()
    }
}

/// The products that commands and schemes can name.
pub struct Library {
    entries: BTreeMap<String, Entry>,
    faults: Vec<Fault>,
}

impl Library {
    /// The built-in products.
    pub fn built_in() -> Self {
        let entries = SHIPPED.iter().map(|(id, text)| ((*id).to_owned(), Entry::BuiltIn(Lazy::new(text))));
        Self { entries: entries.collect(), faults: Vec::new() }
    }

    /// Adds a file of the user's. It wins over a built-in profile of the same id. If it has faults they
    /// are kept, and asking for its id reports their faults.
    pub fn with_file(&mut self, path: PathBuf, text: String) {
        let claimed = claimed_id(&text);
        let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        match read_profile(&text, Origin::File(path.clone())) {
            Ok(product) => {
                let taken = match self.entries.get(&product.id) {
                    // Folders are added from the general to the particular: the later one wins.
                    Some(Entry::File(other)) if beside(&other.origin, &path) => {
                        Some(file_name(&other.origin))
                    }
                    _ => None,
                };
                let Some(other) = taken else {
                    self.entries.insert(product.id.clone(), Entry::File(Box::new(product)));
                    return;
                };
                let faults = Faults::new(file_name(&product.origin), without_mark(&text));
                let span = claimed.map_or(0..0, |(_, span)| span);
                let what = format!("the id \"{}\" is taken by {other}", product.id);
                faults.add(&span, what, "give each file an id of its own");
                self.faults.extend(faults.into_sorted());
            }
            Err(found) => {
                let id = claimed.map(|(id, _)| id).or(stem.filter(|stem| is_id(stem)));
                self.keep_faults(id, found);
            }
        }
    }

    /// Takes note of a file that could not even be read as text.
    pub fn with_unreadable(&mut self, path: PathBuf, fault: Fault) {
        let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        self.keep_faults(stem.filter(|stem| is_id(stem)), vec![fault]);
    }

    fn keep_faults(&mut self, id: Option<String>, found: Vec<Fault>) {
        if let (Some(id), Some(first)) = (id, found.first()) {
            let sound = matches!(self.entries.get(&id), Some(Entry::File(_)));
            if !sound {
                self.entries.insert(id, Entry::Faulty { faults: found.len(), first: first.clone() });
            }
        }
        self.faults.extend(found);
    }

    /// What is wrong with the user's files.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// The product of this id.
    ///
    /// # Errors
    /// [`UnknownProduct`] where there is none, or where the file that gives it has faults.
    pub fn get(&self, id: &str) -> Result<&Product, UnknownProduct> {
        let product = match self.entries.get(id) {
            Some(Entry::BuiltIn(lazy)) => lazy.product(),
            Some(Entry::File(product)) => Some(product.as_ref()),
            Some(Entry::Faulty { faults, first }) => {
                return Err(UnknownProduct::Faulty {
                    id: id.to_owned(),
                    faults: *faults,
                    first: Box::new(first.clone()),
                });
            }
            None => None,
        };
        product.ok_or_else(|| UnknownProduct::NotThere {
            id: shown(id),
            nearest: near(id, self.ids()).into_iter().take(3).map(str::to_owned).collect(),
        })
    }

    /// Every sound product, sorted by id.
    pub fn iter(&self) -> impl Iterator<Item = &Product> {
        self.entries.values().filter_map(|entry| match entry {
            Entry::BuiltIn(lazy) => lazy.product(),
            Entry::File(product) => Some(product.as_ref()),
            Entry::Faulty { .. } => None,
        })
    }

    /// Every id, sorted. No profile is read for it.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.entries.keys().map(String::as_str)
    }
}

/// Whether two files lie in one folder.
fn beside(other: &Origin, path: &std::path::Path) -> bool {
    matches!(other, Origin::File(other) if other.parent() == path.parent())
}

/// Why a product cannot be had.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UnknownProduct {
    /// No profile has this id.
    NotThere {
        /// What was asked for, cleaned of control characters.
        id: String,
        /// The ids that are spelt much like it, the nearest first.
        nearest: Vec<String>,
    },
    /// The user's own profile of this id has faults.
    Faulty {
        /// What was asked for.
        id: String,
        /// How many faults it has.
        faults: usize,
        /// The first of them.
        first: Box<Fault>,
    },
}

impl fmt::Display for UnknownProduct {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotThere { id, nearest } => {
                write!(f, "there is no product \"{id}\"; ")?;
                for (index, name) in nearest.iter().enumerate() {
                    let lead = if index == 0 { "did you mean " } else { " or " };
                    write!(f, "{lead}\"{name}\"")?;
                }
                if !nearest.is_empty() {
                    f.write_str("? ")?;
                }
                f.write_str("\"curewright profile list\" shows all")
            }
            Self::Faulty { id, faults, first } => {
                let file = &first.file;
                write!(f, "your profile of \"{id}\" cannot be used: {first}")?;
                if *faults > 1 {
                    write!(f, " (and {} more)", faults - 1)?;
                }
                write!(f, ". \"curewright profile check {file}\" shows all")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OWN: &str = r#"
schema = 1
id = "epoxy-sealer"
name = "My sealer"
family = "epoxy"
cure = "reaction"
basis = "its data sheet"
[application]
air = [10, 30]
"#;

    fn own(id: &str) -> String {
        OWN.replace("epoxy-sealer", id)
    }

    #[test]
    fn a_file_of_the_user_wins_over_what_is_built_in() {
        let mut library = Library::built_in();
        assert_eq!(library.get("epoxy-sealer").unwrap().origin, Origin::BuiltIn);
        library.with_file("a.toml".into(), own("epoxy-sealer"));
        assert_eq!(library.get("epoxy-sealer").unwrap().name, "My sealer");
        assert_eq!(library.iter().filter(|p| p.id == "epoxy-sealer").count(), 1);
    }

    #[test]
    fn a_faulty_file_never_falls_back_silently_to_the_built_in_profile() {
        let mut library = Library::built_in();
        library.with_file("mine.toml".into(), own("epoxy-sealer").replace("\"reaction\"", "\"magic\""));
        let error = library.get("epoxy-sealer").unwrap_err().to_string();
        assert!(error.contains("mine.toml:6:8: `cure`"), "{error}");
        assert!(library.iter().all(|product| product.id != "epoxy-sealer"));
        assert_eq!(library.faults().len(), 1);
    }

    #[test]
    fn a_file_that_is_no_toml_still_speaks_for_the_product_it_is_named_after() {
        let mut library = Library::built_in();
        library.with_file("sub/varnish-two-part.toml".into(), "= nothing [".into());
        assert!(matches!(library.get("varnish-two-part"), Err(UnknownProduct::Faulty { .. })));
        let fault = super::super::text_of(vec![0xff], std::path::Path::new("paint-water.toml")).unwrap_err();
        library.with_unreadable("paint-water.toml".into(), fault);
        assert!(matches!(library.get("paint-water"), Err(UnknownProduct::Faulty { .. })));
    }

    #[test]
    fn one_bad_profile_hides_no_others() {
        let mut library = Library::built_in();
        library.with_file("bad.toml".into(), "schema = 1\n".into());
        library.with_file("good.toml".into(), own("good-one"));
        assert!(library.get("good-one").is_ok());
        assert!(library.get("primer-alkyd").is_ok());
        assert!(library.faults().iter().all(|fault| fault.file == "bad.toml"));
    }

    #[test]
    fn two_files_with_the_same_id_are_distinguished() {
        let mut library = Library::built_in();
        library.with_file("one.toml".into(), own("mine"));
        library.with_file("two.toml".into(), own("mine").replace("My sealer", "Another"));
        assert_eq!(library.get("mine").unwrap().name, "My sealer");
        let fault = &library.faults()[0];
        assert_eq!((fault.file.as_str(), fault.line), ("two.toml", 3));
        assert!(fault.what.contains("taken by one.toml"), "{fault}");
    }

    #[test]
    fn a_mistyped_id_is_answered_with_the_nearest() {
        let library = Library::built_in();
        assert_eq!(
            library.get("epoxi-sealer").unwrap_err().to_string(),
            "there is no product \"epoxi-sealer\"; did you mean \"epoxy-sealer\"? \
             \"curewright profile list\" shows all"
        );
        assert_eq!(
            library.get("\u{1b}[31mtea").unwrap_err().to_string(),
            "there is no product \"[31mtea\"; \"curewright profile list\" shows all"
        );
    }

    #[test]
    fn products_come_sorted_by_id() {
        let library = Library::built_in();
        let ids: Vec<&str> = library.iter().map(|product| product.id.as_str()).collect();
        assert!(ids.is_sorted());
        assert_eq!(ids.len(), SHIPPED.len(), "a built-in profile has a fault");
        assert!(library.ids().eq(ids));
    }

    #[test]
    fn no_built_in_profile_is_read_before_it_is_asked_for() {
        let library = Library::built_in();
        let read =
            |id: &str| matches!(&library.entries[id], Entry::BuiltIn(lazy) if lazy.product.get().is_some());
        assert!(library.get("epoxy-sealer").is_ok());
        assert!(read("epoxy-sealer"));
        assert!(library.ids().filter(|id| *id != "epoxy-sealer").all(|id| !read(id)));
    }
}
