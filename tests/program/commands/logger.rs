//! The readings of a logger: good rows are taken, bad ones are listed.

use crate::common::{Hut, Story, same};

#[test]
fn the_good_rows_of_a_logger_are_taken_and_the_bad_ones_listed_with_their_line() {
    let hut = Hut::new();
    hut.write(
        "night.csv",
        "time,temperature,humidity\n\
         2026-05-01 20:00,17.4,61\n\
         2026-05-01 21:00,NaN,62\n\
         2026-05-01 22:00,99,63\n\
         2026-05-01 23:00,15.1,163\n\
         2099-05-01 23:30,15.0,63\n\
         tonight,14.9,64\n\
         \"2026-05-02 00:30\",14.6\n\
         2026-05-02 01:00,,64\n\
         2026-05-02 02:00,14.0,66\n",
    );
    let ran = hut.run("import night.csv");
    assert_eq!(ran.status, Some(0), "{ran}");
    same("a_logger_with_broken_rows", &ran.to_string());
    let json = hut.run("import night.csv --json").json();
    assert_eq!(
        (&json["taken"], &json["already_there"], &json["bad_rows"]),
        (&0.into(), &3.into(), &6.into())
    );
    let lines: Vec<_> =
        json["faults"].as_array().unwrap().iter().map(|fault| fault["line"].clone()).collect();
    assert_eq!(lines, [3, 4, 5, 6, 7, 9]);
    let status = hut.at("2026-05-02 02:00", "status --json").json();
    assert_eq!(status["air"]["temperature_c"], 14.0);
    assert_eq!(status["air"]["relative_humidity"], 66.0);
}

#[test]
fn a_file_is_taken_once_and_counted_as_people_count() {
    let hut = Hut::new();
    hut.write("one.csv", "time,temperature\n2026-05-01 20:00,17.4\n");
    hut.write(
        "two.csv",
        "time,temperature\n2026-05-01 20:00,17.4\n2026-05-01 20:10,17.2\n2026-05-01 20:20,17\n",
    );
    let mut story = Story::of(&hut);
    for file in ["one.csv", "one.csv", "two.csv", "two.csv"] {
        story.run(&format!("import {file}"));
    }
    story.at("2026-05-01 20:20", "status");
    story.ends("a_logger_taken_twice");
}

#[test]
fn a_file_that_is_no_logger_s_changes_nothing() {
    let hut = Hut::new();
    hut.at("2026-05-01 20:00", "reading 17").well();
    hut.write("empty.csv", "");
    hut.write("notes.csv", "Buy sandpaper\nand tape\n");
    hut.write("picture.csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR");
    hut.write("wide.csv", "\u{feff}".encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<_>>());
    hut.write("cold.csv", "time,humidity\n2026-05-01 20:00,60\n");
    let mut told = String::new();
    for file in ["empty.csv", "notes.csv", "picture.csv", "wide.csv", "cold.csv"] {
        told += &hut.refused(2, &format!("import {file}")).to_string();
    }
    told += &hut.refused(3, "import not-there.csv").to_string();
    told += &hut.refused(3, "import .").to_string();
    same("files_that_are_no_logger_s", &told);
}

#[test]
fn a_loggers_own_names_units_zone_and_preface_can_be_given() {
    let hut = Hut::new();
    hut.write(
        "log.csv",
        "Logger 7\nserial,unknown\nWhen;Probe 2\n2026-05-01 08:00;50\n2026-05-01 09:00;hot\n",
    );
    let line =
        "import log.csv --skip 2 --column time=when --column \"temperature=Probe 2\" --unit F --zone -05:00";
    let ran = hut.at("2026-05-02 08:00", line);
    assert_eq!(ran.status, Some(0), "{ran}");
    assert!(ran.out.starts_with("One reading imported from log.csv.\nOne row was not readable"), "{ran}");
    assert!(ran.err.starts_with("log.csv: line 5: \"hot\""), "{ran}");
    let air = &hut.at("2026-05-02 08:00", "status --json").json()["air"];
    assert_eq!((&air["temperature_c"], &air["reading_at"]), (&10.0.into(), &"2026-05-01T13:00:00Z".into()));
    for (options, why) in [
        ("--unit K", "write C or F"),
        ("--zone Mars", "write local, UTC or an offset such as +02:00"),
        ("--column time", "then = and the heading"),
        ("--column time=wann --skip 2", "no column called \"wann\" among when, probe 2"),
        ("--skip 9", "the file is empty"),
    ] {
        let ran = hut.refused(2, &format!("import log.csv {options}"));
        assert!(ran.err.contains(why), "{ran}");
    }
}

#[test]
fn what_was_taken_for_what_is_said_in_one_line() {
    let hut = Hut::new();
    hut.write("log.csv", "Date/Time,Temp (°F),RH\n2026-05-01 08:00,50,62\n");
    let ran = hut.at("2026-05-02 08:00", "import log.csv").well();
    let taken = "Taken: \"Date/Time\" for time, \"Temp (°F)\" for temperature in °F, \"RH\" for humidity.\n";
    assert!(ran.out.contains(taken), "{ran}");
    let json = hut.at("2026-05-02 08:00", "import log.csv --json").json();
    assert_eq!(json["recognised"]["humidity"], "RH");
}

#[test]
fn dates_of_two_columns_are_taken_in_the_order_that_they_show_or_that_is_said() {
    let hut = Hut::new();
    hut.write("shown.csv", "Date,Time,Temp (°F)\n4/30/2026,8:00 PM,63\n5/1/2026,8:00 PM,61\n");
    hut.write("either.csv", "Date,Time,Temp (°F)\n5/1/2026,9:00 PM,60\n");
    let mut story = Story::of(&hut);
    story.run("import shown.csv");
    story.add(&hut.refused(2, "import either.csv"));
    story.run("import either.csv --dates mdy");
    story.add(&hut.refused(2, "import either.csv --dates american"));
    story.ends("a_logger_with_dates");
    let air = &hut.at("2026-05-01 21:00", "status --json").json()["air"];
    assert_eq!(air["reading_at"], "2026-05-01T19:00:00Z");
}
