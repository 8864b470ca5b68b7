//! What the `profile` commands print, and their exit status.

use std::fs;

use super::*;

struct Ran {
    status: u8,
    out: String,
}

fn ran(command: &ProfileCommand, library: &Library, json: bool, input: &str) -> Ran {
    let (mut input, mut out) = (input.as_bytes(), Vec::new());
    let done = run(command, library, &Units::default(), json, 80, &mut input, &mut out);
    let mut out = String::from_utf8(out).unwrap();
    let status = done.unwrap_or_else(|error| {
        out += &error.to_string();
        error.status()
    });
    Ran { status, out }
}

fn built_in(command: ProfileCommand) -> Ran {
    ran(&command, &Library::built_in(), false, "")
}

fn value(command: ProfileCommand, library: &Library) -> serde_json::Value {
    serde_json::from_str(&ran(&command, library, true, "").out).unwrap()
}

#[test]
fn the_list_names_every_product_and_every_faulty_file() {
    let mut library = Library::built_in();
    library.with_file("mine.toml".into(), template("mine"));
    library.with_file("bad.toml".into(), "schema = 1\n".into());
    let listed = ran(&ProfileCommand::List, &library, false, "");
    assert_eq!(listed.status, 0);
    for product in library.iter() {
        assert!(listed.out.contains(&product.name), "{}", listed.out);
    }
    assert!(listed.out.contains("from mine.toml"), "{}", listed.out);
    assert!(listed.out.contains("bad.toml cannot be used: 6 faults."), "{}", listed.out);
    let json = value(ProfileCommand::List, &library);
    assert_eq!(json["products"].as_array().unwrap().len(), library.iter().count());
    assert_eq!(json["faults"][0]["file"], "bad.toml");
}

#[test]
fn a_product_that_is_not_there_is_wrong_input() {
    let shown = built_in(ProfileCommand::Show { id: "epoxi-sealer".into() });
    assert_eq!(shown.status, 2);
    assert!(shown.out.contains("did you mean \"epoxy-sealer\"?"), "{}", shown.out);
}

#[test]
fn a_sheet_for_programs_has_its_units_in_the_keys() {
    let mut library = Library::built_in();
    library.with_file("mine.toml".into(), template("mine"));
    let json = value(ProfileCommand::Show { id: "mine".into() }, &library);
    assert_eq!(json["recoat"][0]["open"][1]["temperature_c"], 20.0);
    assert_eq!(json["recoat"][0]["open"][1]["time_s"], 7200.0);
    assert_eq!(json["mix"]["parts"][1]["by_mass"], 48.0);
    assert_eq!(json["stages"]["full_cure"][0]["time_s"], 604_800.0);
    assert_eq!(json["file"], "mine.toml");
}

#[test]
fn a_check_says_no_with_every_fault_and_yes_to_a_sound_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    fs::write(&file, template("mine")).unwrap();
    let check = ProfileCommand::Check { file: file.clone() };
    let checked = built_in(check.clone());
    assert_eq!(checked.status, 0);
    assert!(
        checked
            .out
            .contains("mine.toml is a valid profile: My product (mine).\nIts figures are still examples"),
        "{}",
        checked.out
    );

    fs::write(&file, template("mine").replace("\"16 h\"", "\"16 hrs\"").replace("schema = 1", "schema = 7"))
        .unwrap();
    let checked = built_in(check.clone());
    assert_eq!(checked.status, 1);
    assert!(checked.out.contains("\"16 hrs\" is not a time"), "{}", checked.out);
    assert!(checked.out.contains("^^^^^^^^\n"), "{}", checked.out);
    assert!(checked.out.contains("\n2 faults in "), "{}", checked.out);
    let json = value(check.clone(), &Library::built_in());
    assert_eq!((&json["sound"], json["faults"].as_array().unwrap().len()), (&false.into(), 2));

    fs::write(&file, b"id = \xff").unwrap();
    assert_eq!(built_in(check.clone()).status, 1);
    fs::write(&file, vec![b'#'; 2 << 20]).unwrap();
    assert_eq!(built_in(check.clone()).status, 3);
    fs::remove_file(&file).unwrap();
    assert_eq!(built_in(check).status, 3);
}

#[test]
fn a_new_profile_never_overwrites_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("new.toml");
    let new = |ask| ProfileCommand::New { id: Some("mine".into()), file: Some(file.clone()), ask };
    assert_eq!(built_in(new(false)).status, 0);
    let written = fs::read_to_string(&file).unwrap();
    assert_eq!(written, template("mine"));
    for ask in [false, true] {
        assert_eq!(built_in(new(ask)).status, 2);
        assert_eq!(fs::read_to_string(&file).unwrap(), written);
    }
    let nowhere =
        ProfileCommand::New { id: None, file: Some(folder.path().join("no/such/folder.toml")), ask: false };
    assert_eq!(built_in(nowhere).status, 3);
}

#[test]
fn a_new_profile_is_printed_where_no_file_is_named() {
    let printed = built_in(ProfileCommand::New { id: None, file: None, ask: false });
    assert_eq!((printed.status, printed.out), (0, template("my-product")));
    assert_eq!(built_in(ProfileCommand::New { id: Some("Mine!".into()), file: None, ask: false }).status, 2);
}

#[test]
fn answers_become_a_profile_and_a_wrong_one_is_asked_again() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("asked.toml");
    let new = ProfileCommand::New { id: None, file: Some(file.clone()), ask: true };
    let answers =
        "My Varnish\npolyurethane\nmagic\nreaction\n8\n30\n\n16 h\n32 h\n2 h\n4 h\n1 h\n10 h\n20 h\n7 d\n";
    let asked = ran(&new, &Library::built_in(), false, answers);
    assert_eq!(asked.status, 0, "{}", asked.out);
    assert!(asked.out.contains("Not accepted: answer reaction, drying or moisture."), "{}", asked.out);
    assert!(asked.out.contains("Not accepted: at 20 °C the window opens after"), "{}", asked.out);
    let product = read_profile(&fs::read_to_string(&file).unwrap(), Origin::BuiltIn).unwrap();
    assert_eq!((product.id.as_str(), product.recoat.len(), product.stages.len()), ("my-varnish", 1, 2));
}

#[test]
fn answers_that_end_too_early_leave_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("asked.toml");
    let new = ProfileCommand::New { id: None, file: Some(file.clone()), ask: true };
    let asked = ran(&new, &Library::built_in(), false, "My Varnish\n");
    assert_eq!(asked.status, 2);
    assert!(!file.exists());
}

#[test]
fn answers_that_contradict_each_other_are_written_and_their_error_shown() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("asked.toml");
    let new = ProfileCommand::New { id: Some("epoxy-sealer".into()), file: Some(file.clone()), ask: true };
    let answers = "Sealer\nepoxy\nreaction\n8\n30\n\n\n2 h\n12 h\n3 h\n\n";
    let asked = ran(&new, &Library::built_in(), false, answers);
    assert_eq!(asked.status, 1, "{}", asked.out);
    assert!(asked.out.contains("replaces the product with the same id"), "{}", asked.out);
    assert!(asked.out.contains("1 fault in"), "{}", asked.out);
    assert!(file.exists());
}
