//! The corpus of profiles: sound ones and faulty ones, each faulty one with what is said of it.
//!
//! A case is added by adding a file. `BLESS=1 cargo test --test library profile` writes what is said now beside
//! it, to be read before it is committed.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use curewright::engine::profile::{
    Library, Origin, Product, built_in_texts, fault_report, profile_warnings, read_profile, sheet,
    warning_report,
};
use curewright::engine::units::Units;
use proptest::prelude::*;

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// The TOML files of a folder, sorted.
fn profiles_in(name: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder(name)).expect("the folder is there");
    let mut files: Vec<PathBuf> =
        entries.map(|entry| entry.expect("the folder can be read").path()).collect();
    files.retain(|file| file.extension() == Some(OsStr::new("toml")));
    files.sort();
    files
}

fn stem(file: &Path) -> String {
    file.file_stem().expect("it has a name").to_string_lossy().into_owned()
}

fn text(file: &Path) -> String {
    fs::read_to_string(file).expect("the file is text")
}

fn sound(file: &Path) -> Product {
    let text = text(file);
    let named = PathBuf::from(file.file_name().expect("it has a name"));
    read_profile(&text, Origin::File(named))
        .unwrap_or_else(|faults| panic!("{}", fault_report(&faults, &text)))
}

/// Compares with the file beside the case, or writes it where that is wished.
#[expect(clippy::disallowed_methods, reason = "whoever runs the tests wishes it through the environment")]
fn expect(expected: &Path, said: &str) {
    if std::env::var_os("BLESS").is_some() {
        fs::write(expected, said).expect("the expectation can be written");
    }
    let wanted = fs::read_to_string(expected).unwrap_or_default();
    assert_eq!(said, wanted, "{} says something else", expected.display());
}

#[test]
fn every_error_of_a_profile_has_its_place_and_its_remedy() {
    let files = profiles_in("tests/profiles/invalid");
    assert!(files.len() >= 20);
    for file in files {
        let name = PathBuf::from(file.file_name().expect("it has a name"));
        let text = text(&file);
        let faults = match read_profile(&text, Origin::File(name)) {
            Err(faults) => faults,
            Ok(product) => panic!("{} was taken for {product:?}", file.display()),
        };
        assert!(!faults.is_empty(), "{} is refused without a word", file.display());
        expect(&file.with_extension("txt"), &fault_report(&faults, &text));
    }
}

#[test]
fn what_is_seldom_meant_is_a_warning_with_its_place_and_what_to_do() {
    let library = Library::built_in();
    let files = profiles_in("tests/profiles/warned");
    assert!(files.len() >= 5);
    for file in files {
        sound(&file);
        let (name, text) = (PathBuf::from(file.file_name().expect("it has a name")), text(&file));
        let warnings = profile_warnings(&text, Origin::File(name), &library);
        assert!(!warnings.is_empty(), "{} is not warned of", file.display());
        expect(&file.with_extension("txt"), &warning_report(&warnings, &text));
    }
}

#[test]
fn no_built_in_profile_is_warned_of() {
    let library = Library::built_in();
    for (id, text) in built_in_texts() {
        let warnings = profile_warnings(text, Origin::BuiltIn, &library);
        assert!(warnings.is_empty(), "{id}: {}", warning_report(&warnings, text));
    }
}

#[test]
fn a_sound_profile_is_read() {
    for file in profiles_in("tests/profiles/valid") {
        sound(&file);
    }
}

#[test]
fn every_key_of_a_profile_arrives_in_the_product() {
    let product = sound(&folder("tests/profiles/valid/everything.toml"));
    expect(&folder("tests/profiles/valid/everything.product.txt"), &format!("{product:#?}\n"));
}

#[test]
fn the_sheet_of_a_product_shows_everything_at_a_glance() {
    let product = sound(&folder("tests/profiles/valid/everything.toml"));
    expect(&folder("tests/profiles/valid/everything.sheet.txt"), &sheet(&product, &Units::default(), 80));
}

#[test]
fn degrees_fahrenheit_and_celsius_say_the_same() {
    let product = sound(&folder("tests/profiles/valid/air-in-fahrenheit.toml"));
    let air = product.application;
    let degrees = [Some(air.coolest), Some(air.warmest), air.stall_below].map(|at| at.map(|at| at.degrees()));
    for (degrees, wanted) in degrees.into_iter().zip([10.0, 30.0, 4.0]) {
        assert!((degrees.expect("it is given") - wanted).abs() < 1e-9);
    }
}

#[test]
fn every_built_in_profile_is_sound_and_bears_the_name_of_its_file() {
    for file in profiles_in("profiles") {
        assert_eq!(sound(&file).id, stem(&file));
    }
}

#[test]
fn every_file_of_the_folder_is_built_in() {
    let built_in: Vec<&str> = built_in_texts().map(|(id, _)| id).collect();
    let in_the_folder: Vec<String> = profiles_in("profiles").iter().map(|file| stem(file)).collect();
    assert_eq!(built_in, in_the_folder);
}

#[test]
fn whatever_may_follow_a_built_in_product_is_itself_built_in() {
    let library = Library::built_in();
    let known = |name: &str| name == "*" || library.iter().any(|p| p.id == name || p.family == name);
    for product in library.iter() {
        for name in product.recoat.iter().flat_map(|entry| &entry.next) {
            assert!(
                known(name),
                "{} is followed by \"{name}\", which is neither an id nor a family",
                product.id
            );
        }
    }
}

/// What an editor, a slip or a bad copy does to a text.
fn mutated() -> impl Strategy<Value = String> {
    let texts: Vec<String> = built_in_texts()
        .map(|(_, text)| text.to_owned())
        .chain([text(&folder("tests/profiles/valid/everything.toml"))])
        .collect();
    let pieces = prop_oneof![
        Just(String::new()),
        Just("\"".to_owned()),
        Just("[[recoat]]\n".to_owned()),
        Just("-1e308".to_owned()),
        Just("nan".to_owned()),
        Just("{ at = -40, time = \"1 s\" }, ".to_owned()),
        Just("99999 d".to_owned()),
        Just("0".to_owned()),
        "\\PC{0,6}",
        any::<char>().prop_map(String::from),
    ];
    let change = (any::<prop::sample::Index>(), 0_usize..12, pieces);
    (prop::sample::select(texts), prop::collection::vec(change, 1..6)).prop_map(|(text, changes)| {
        let mut letters: Vec<char> = text.chars().collect();
        for (at, taken, put) in changes {
            let at = at.index(letters.len() + 1);
            let end = (at + taken).min(letters.len());
            letters.splice(at..end, put.chars());
        }
        letters.into_iter().collect()
    })
}

/// Reads a text; whatever comes out must hold together.
fn judge(text: &str) {
    match read_profile(text, Origin::BuiltIn) {
        Ok(product) => {
            let shown = sheet(&product, &Units::default(), 80);
            assert!(!shown.contains('\u{1b}'));
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            let lines = text.split('\n').count();
            assert!(faults.iter().all(|fault| (1..=lines).contains(&fault.line) && fault.column >= 1));
            assert!(faults.iter().map(|fault| (fault.line, fault.column)).is_sorted());
            let report = fault_report(&faults, text);
            assert!(report.chars().all(|c| c == '\n' || !c.is_control()), "{report}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused_with_reasons(text in "(?s).{0,400}") {
        judge(&text);
    }

    #[test]
    fn any_toml_like_text_is_read_or_refused_with_reasons(
        text in "(schema = 1\n|id = \"[a-z]{1,3}\"\n|[a-z_]{1,8} = [0-9.e-]{1,5}\n|\\[[a-z_]{1,9}\\]\n|open = \\[\\{\\}\\]\n){0,12}"
    ) {
        judge(&text);
    }

    #[test]
    fn a_sound_profile_with_slips_in_it_is_read_or_refused_with_reasons(text in mutated()) {
        judge(&text);
    }
}
