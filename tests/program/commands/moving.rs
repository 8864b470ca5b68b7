//! A job moves to another machine by `record --export` and `record --import`.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use crate::common::{Hut, Story};

fn job() -> Hut {
    let hut = Hut::new().with_varnish();
    for (moment, line) in [
        ("2026-05-01 08:00", "reading 62.3F --humidity 55"),
        ("2026-05-01 08:10", "coat door hut-varnish"),
        ("2026-05-01 08:30", "done door"),
        ("2026-05-01 09:00", "coat sill hut-varnish --done"),
        ("2026-05-01 10:40", "watch --once --no-desktop"),
        ("2026-05-01 11:00", "work door --minutes 50"),
    ] {
        hut.at(moment, line).well();
    }
    hut.run("correct 2 --at \"2026-05-01 08:05\"").well();
    hut.run("undo 4").well();
    hut
}

#[test]
fn a_job_that_has_moved_says_the_same() {
    let here = job();
    let said = here.run("record --export hut.jsonl").well();
    assert!(said.out.starts_with("Wrote hut.jsonl: "), "{said}");
    assert_eq!(
        fs::metadata(here.path("hut.jsonl")).unwrap().permissions().mode() & 0o777,
        0o600,
        "it is private"
    );
    let there = Hut::new().with_varnish();
    there.write("hut.jsonl", fs::read(here.path("hut.jsonl")).unwrap());
    there.run("record --import hut.jsonl").well();
    for line in ["status", "status --json", "record --json", "alerts", "work", "report --format html"] {
        assert_eq!(there.at("2026-05-01 12:00", line), here.at("2026-05-01 12:00", line));
    }
    let lines =
        |hut: &Hut| hut.run("record --export -").well().out.lines().skip(1).collect::<Vec<_>>().join("\n");
    assert_eq!(lines(&there), lines(&here));
    there.at("2026-05-01 12:00", "undo").well();
}

#[test]
fn a_file_that_is_not_a_job_is_reported_and_nothing_is_imported() {
    let here = job();
    here.run("record --export hut.jsonl").well();
    let whole = fs::read_to_string(here.path("hut.jsonl")).unwrap();
    let there = Hut::new();
    let mut story = Story::of(&there);
    there.write("cut.jsonl", &whole[..whole.len() / 2]);
    there.write("broken.jsonl", whole.replacen("\"what\":\"finished\"", "\"what\":\"sung\"", 1));
    there.write("newer.jsonl", whole.replacen("\"version\":1", "\"version\":9", 1));
    there.write("log.csv", "time,temperature\n2026-05-01 08:00,17\n");
    there.write("empty.jsonl", "");
    there.write("bytes.jsonl", [0xff, 0xfe, b'\n']);
    for file in ["cut.jsonl", "broken.jsonl", "newer.jsonl", "log.csv", "empty.jsonl", "bytes.jsonl"] {
        story.add(&there.refused(2, &format!("record --import {file}")));
        assert!(!there.job().exists(), "no job was made");
    }
    for file in ["nowhere.jsonl", "."] {
        story.add(&there.refused(3, &format!("record --import {file}")));
    }
    story.tell("Where there is a job already, it stays as it is.");
    there.at("2026-05-01 08:00", "reading 20").well();
    there.write("hut.jsonl", &whole);
    story.add(&there.refused(2, "record --import hut.jsonl"));
    story.tell("Into a file of its own it goes.");
    let other = there.run("--job other.db record --import hut.jsonl").well();
    story.add(&other);
    story.ends("files_that_are_no_whole_job");
}

#[test]
fn the_record_of_one_area_is_shown_alone() {
    let hut = job();
    let mut story = Story::of(&hut);
    story.at("2026-05-01 12:00", "record");
    story.at("2026-05-01 12:00", "record --area DOOR");
    story.add(&hut.refused(2, "record --area dor"));
    story.add(&hut.refused(2, "record --area door --export x.jsonl"));
    story.ends("the_record_of_an_area");
}
