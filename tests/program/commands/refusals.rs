//! What cannot be taken is refused with a sentence and an exit status, and nothing is lost.

use std::io::Read;

use portable_pty::{CommandBuilder, PtySize, native_pty_system};

use crate::common::{Hut, VARNISH, same};

/// A hut with a finished coat on its roof and one that is being applied to its door.
fn at_work() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 09:00", "coat roof hut-varnish").well();
    hut.at("2026-05-01 09:20", "done roof").well();
    hut.at("2026-05-01 10:00", r#"coat "door, outside" hut-varnish"#).well();
    hut
}

/// Runs lines that are all wrong input, and gives back what was said.
fn wrong_input(hut: &Hut, lines: &[&str]) -> String {
    lines.iter().map(|line| hut.refused(2, line).to_string()).collect()
}

#[test]
fn a_temperature_that_no_shop_has_is_not_taken() {
    let hut = at_work();
    let told = wrong_input(
        &hut,
        &[
            "reading 99",
            "reading -41",
            "reading 60.1",
            "reading 150F",
            "reading NaN",
            "reading inf",
            "reading warm",
            r#"reading """#,
            "reading 17 --surface 99",
            "reading 17 --surface NaN",
            "reading 17 --humidity 101",
            "reading 17 --humidity -1",
            "reading 17 --humidity NaN",
        ],
    );
    same("temperatures_that_no_shop_has", &told);
    for taken in ["-40", "60", "17,5", "63F", "63 °F", "−3"] {
        hut.run_words(&["reading", taken, "--at", "2026-05-01 10:00"]).well();
    }
}

#[test]
fn what_has_not_happened_yet_is_not_recorded() {
    let hut = at_work();
    let told = wrong_input(
        &hut,
        &[
            "--at +1h reading 17",
            "--at +1h coat roof",
            r#"--at +1h done "door, outside""#,
            "--at +1h step roof sand",
            "--at 2199-05-01T10:00:00Z reading 17",
        ],
    );
    same("the_future", &told);
    // But it can be looked at.
    hut.at("2199-05-01 10:00", "status").well();
}

#[test]
fn strokes_come_in_their_order() {
    let hut = at_work();
    let told = wrong_input(
        &hut,
        &[
            r#"--at "2026-05-01 09:59" done "door, outside""#,
            r#"--at "2026-05-01 10:30" coat "door, outside""#,
            r#"--at "2026-05-01 09:10" coat roof"#,
            r#"--at "2026-05-01 10:30" done roof"#,
        ],
    );
    same("strokes_out_of_order", &told);
    hut.at("2026-05-01 10:30", "done").well();
    assert!(hut.refused(2, r#"--at "2026-05-01 10:30" done"#).err.contains("no coat is being applied"));
}

#[test]
fn a_name_that_is_nearly_right_is_offered() {
    let hut = at_work();
    let told = wrong_input(
        &hut,
        &[
            r#"--at "2026-05-01 12:00" coat roof epoxy-seeler"#,
            r#"--at "2026-05-01 12:00" coat roof epoxy-sealer --next primer-two-prat"#,
            r#"--at "2026-05-01 12:00" coat roof linoleum"#,
            r#"--at "2026-05-01 12:00" coat bench"#,
            r#"--at "2026-05-01 12:00" coat raof"#,
            r#"--at "2026-05-01 12:00" step "door outside" sand"#,
            r#"--at "2026-05-01 12:00" done raof"#,
            r#"--at "2026-05-01 12:00" coat " ""#,
            "profile show epoxy-seeler",
            "undo 99",
            "alerts --ack 99",
            "alerts --ack soon",
        ],
    );
    same("names_that_are_nearly_right", &told);
    // Upper and lower case are one name, and a new one is a new area where that is said.
    hut.at("2026-05-01 12:00", "step ROOF sand").well();
    let fold = hut.at("2026-05-01 12:00", "coat raof hut-varnish --new --done").well();
    assert!(fold.out.starts_with("Raof: a coat of hut-varnish."), "{fold}");
}

#[test]
fn a_reading_of_a_place_where_nothing_stands_is_taken_with_a_caution() {
    let hut = at_work();
    let shop = hut.at("2026-05-01 11:00", "reading 18 --place shop").well();
    assert_eq!(shop.out, "Shop: 18.0 °C.\n");
    let slip = hut.at("2026-05-01 11:00", "reading 18 --place shp").well();
    assert_eq!(slip.out, "Shp: 18.0 °C.\n! There is no area at \"shp\"; the places of the job: shop.\n");
}

#[test]
fn two_areas_being_coated_have_to_be_named() {
    let hut = at_work();
    hut.at("2026-05-01 12:00", "coat roof").well();
    assert!(
        hut.refused(2, r#"--at "2026-05-01 12:10" done"#)
            .err
            .contains("which area has its last stroke: roof or door, outside?")
    );
}

#[test]
fn wrong_usage_is_status_2() {
    let hut = at_work();
    let told = wrong_input(
        &hut,
        &[
            "varnish",
            "coat",
            "--frob status",
            "step roof polish",
            "step roof sand --minutes -5",
            "undo last",
            "demo --speed 0",
            "completions tcsh",
            "profile new Hut!",
            "--at 25:00 status",
            r#"--at "2026-05-01 24:30" reading 17"#,
            "--at -25 reading 17",
            "--at soon reading 17",
        ],
    );
    same("wrong_usage", &told);
}

#[test]
fn a_scheme_with_a_fault_is_not_taken_in() {
    let hut = at_work();
    for (name, text) in [
        ("not-toml.toml", "name = \"Hut\n"),
        ("unknown-key.toml", "name = \"Hut\"\ncolour = \"green\"\n"),
        (
            "no-such-product.toml",
            "name = \"Hut\"\n[[area]]\nname = \"roof\"\nsteps = [{ coat = \"epoxy-seeler\" }]\n",
        ),
        ("two-names.toml", "name = \"Hut\"\n[[area]]\nname = \"roof\"\n[[area]]\nname = \"Roof\"\n"),
        ("half-a-step.toml", "name = \"Hut\"\n[[area]]\nname = \"roof\"\nsteps = [{ minutes = 5 }]\n"),
    ] {
        hut.write(name, text);
    }
    hut.write("bytes.toml", b"name = \"\xff\"\n");
    let told = wrong_input(
        &hut,
        &[
            "scheme not-toml.toml",
            "scheme unknown-key.toml",
            "scheme no-such-product.toml",
            "scheme two-names.toml",
            "scheme half-a-step.toml",
            "scheme bytes.toml",
        ],
    );
    let missing = hut.refused(3, "scheme not-there.toml");
    same("schemes_with_a_fault", &(told + &missing.to_string()));
}

#[test]
fn a_contradiction_in_a_data_sheet_is_reported_with_place_and_remedy() {
    let hut = Hut::new();
    let sheets = [
        ("closes-first.toml", VARNISH.replace("\"5 h\"", "\"1 h\"")),
        (
            "slower-when-warm.toml",
            VARNISH.replace("{ at = 30, time = \"8 h\" }", "{ at = 30, time = \"9 h\" }"),
        ),
        ("not-a-number.toml", VARNISH.replace("stall_below = 4", "stall_below = nan")),
    ];
    let mut told = String::new();
    for (name, text) in &sheets {
        assert_ne!(text, VARNISH);
        hut.write(name, text);
        let ran = hut.run(&format!("profile check {name}"));
        assert_eq!((ran.status, ran.err.as_str()), (Some(1), ""), "{ran}");
        told += &ran.to_string();
    }
    told += &hut.refused(3, "profile check not-there.toml").to_string();
    same("data_sheets_that_contradict_themselves", &told);
    hut.write("sound.toml", VARNISH);
    hut.run("profile check sound.toml").well();
}

#[test]
fn control_characters_are_never_printed() {
    let hut = at_work();
    // What comes back is looked at by the runner, whatever it is.
    let nasty = "ro\u{1b}[2Jof\u{7}\u{202e}\r\n\u{9b}31m";
    hut.run_words(&["--at", "2026-05-01 12:00", "coat", nasty, "hut-varnish", "--new", "--done"]).well();
    hut.run_words(&["--at", "2026-05-01 12:00", "reading", "17", "--place", nasty]).well();
    hut.refused_words(2, &["--at", "2026-05-01 12:00", "coat", "roof", nasty]);
    hut.refused_words(2, &["--at", "2026-05-01 12:00", "coat", "roof", "hut-varnish", "--next", nasty]);
    hut.refused_words(2, &["--at", "2026-05-01 12:00", "done", nasty.trim_start_matches("ro")]);
    hut.refused_words(2, &["reading", nasty]);
    hut.refused_words(2, &["reading", "17", "--humidity", nasty]);
    hut.refused_words(2, &["--at", nasty, "reading", "17"]);
    hut.refused_words(2, &["alerts", "--ack", nasty]);
    hut.refused_words(2, &[nasty]);
    hut.refused_words(2, &["step", "roof", nasty]);
    hut.refused_words(2, &["profile", "show", nasty]);
    hut.refused_words(2, &["profile", "new", nasty]);
    hut.refused_words(3, &["profile", "check", nasty]);
    hut.refused_words(3, &["import", nasty]);
    hut.refused_words(3, &["scheme", nasty]);
    hut.refused_words(3, &["--profiles", nasty, "status"]);

    let csv =
        format!("time,temperature,place\n2026-05-01 12:00,17,\"{}\"\n{nasty},17,x\n", "a\u{1b}[2Jb\u{7}");
    hut.write("b\u{1b}[2Jad\u{7}.csv", csv);
    let import = hut.run_words(&["import", "b\u{1b}[2Jad\u{7}.csv"]);
    assert!(import.out.contains("One reading imported from b[2Jad.csv."), "{import}");
    let scheme = "name = \"H\\u001b[2Jut\\u0007\"\n[[area]]\nname = \"si\\u001b[2Jll\"\nsteps = \
                  [{ coat = \"hut-varnish\" }, { sand = \"1\\u001b[2J20\" }]\n";
    hut.write("nasty.toml", scheme);
    hut.at("2026-05-01 12:00", "scheme nasty.toml").well();
    hut.at("2026-05-01 12:00", "scheme").well();
    let sheet =
        VARNISH.replace("hut-varnish", "nasty").replace("Varnish that", "Va\\u001b[2Jrnish\\u0007 that");
    hut.own_profile("nasty.toml", sheet.replace("ventilate", "ven\\u001b[2Jtilate"));
    hut.own_profile("no\u{1b}[2Jne.toml", "id = \"\u{1b}[2J\"");
    let list = hut.run("profile list");
    assert_eq!(list.status, Some(0), "{list}");
    assert!(list.err.contains("no[2Jne.toml"), "{list}");
    for line in ["status", "record", "alerts", "watch --once --no-desktop", "config", "profile show nasty"] {
        let ran = hut.at("2026-05-02 12:00", line);
        assert_eq!(ran.status, Some(0), "{ran}");
    }
    // The record holds what was meant, without what would drive a terminal.
    assert!(hut.at("2026-05-02 12:00", "record").out.contains("ro[2Jof  31m: a coat of"), "{}", hut.record());
}

#[test]
fn control_characters_are_not_printed_on_a_terminal_either() {
    let hut = Hut::new();
    let pty = native_pty_system();
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    for words in
        [["co\u{1b}[2Jat\u{7}", "roof"], ["--fr\u{1b}[2Job\u{7}", "roof"], ["reading", "1\u{1b}[2J7\u{7}"]]
    {
        let pair = pty.openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_curewright"));
        command.env_clear();
        for (name, value) in hut.environment() {
            command.env(name, value);
        }
        command.env("TERM", "xterm-256color");
        command.args(words);
        let mut child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut screen = Vec::new();
        // On the end of the other side Linux reports an error and no end.
        let _ = pair.master.try_clone_reader().unwrap().read_to_end(&mut screen);
        assert_eq!(child.wait().unwrap().exit_code(), 2);
        let screen = String::from_utf8(screen).unwrap();
        assert!(screen.contains("[2J") || screen.contains("coat") || screen.contains("--frob"), "{screen:?}");
        assert!(!screen.contains("\u{1b}[2J") && !screen.contains('\u{7}'), "{screen:?}");
    }
}

#[test]
fn the_beginning_of_a_name_is_enough_where_it_fits_one_area() {
    let hut = Hut::new().with_varnish();
    for (moment, line) in [
        ("2026-05-01 08:00", "reading 20 --humidity 50"),
        ("2026-05-01 08:00", "coat \"door, outside\" hut-varnish --done"),
        ("2026-05-01 08:00", "coat \"door, inside\" hut-varnish --done --new"),
        ("2026-05-01 08:00", "coat roof hut-varnish"),
    ] {
        hut.at(moment, line).well();
    }
    let done = hut.at("2026-05-01 09:00", "done RO").well();
    assert!(done.out.starts_with("Roof: last stroke"), "{done}");
    let film = hut.at("2026-05-01 09:00", "step \"door, o\" tape-on").well();
    assert!(film.out.starts_with("Door, outside: taped"), "{film}");
    let several = hut.refused(2, "--at \"2026-05-01 09:00\" check door");
    assert!(
        several.err.contains("\"door\" fits \"door, outside\" and \"door, inside\"; type more of the name"),
        "{several}"
    );
    hut.at("2026-05-01 09:00", "coat door hut-varnish --done --new").well();
    let exact = hut.at("2026-05-01 09:30", "note door \"a run\"").well();
    assert!(exact.out.starts_with("Door: note"), "an exact name wins: {exact}");
}

#[test]
fn a_coat_on_a_film_that_is_not_ready_is_asked_about_first() {
    let hut = Hut::new().with_varnish();
    hut.run("reading 20 --humidity 50").well();
    hut.run("coat door hut-varnish --done").well();
    let asked = hut.run("coat door hut-varnish");
    assert_eq!(asked.status, Some(2), "{asked}");
    assert!(asked.err.contains("The coat below is not ready. It can be recoated from"), "{asked}");
    assert!(asked.err.contains("add --yes"), "{asked}");
    assert!(hut.run("coat door hut-varnish --yes").well().out.contains("started a coat"), "{asked}");
    // What happened earlier has happened.
    hut.run("coat roof hut-varnish --done --at -1h").well();
    hut.run("coat roof hut-varnish --at -1m").well();
}

#[test]
fn what_was_taken_back_is_restored_by_taking_that_back() {
    let hut = Hut::new();
    hut.run("reading 20").well();
    hut.run("undo 1").well();
    let twice = hut.run("undo 1");
    assert_eq!(twice.status, Some(2), "{twice}");
    assert!(
        twice.err.contains("entry 1 was taken back already; to restore it: curewright undo 2"),
        "{twice}"
    );
    hut.run("undo 2").well();
    assert!(hut.run("air --humidity 50").out.contains("20.0"));
}

#[test]
fn a_coat_on_a_new_area_has_the_caution_that_the_check_has() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    let check = hut.at("2026-05-01 17:00", "check door hut-varnish");
    assert!(check.out.starts_with("READ THE THERMOMETER") && check.out.contains("9 h old"), "{check}");
    let coat = hut.at("2026-05-01 17:00", "coat door hut-varnish").well();
    assert!(coat.out.contains("The air is not suitable: the last reading is 9 h old"), "{coat}");
}
