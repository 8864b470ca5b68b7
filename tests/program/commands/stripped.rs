//! Coats that are taken off again, told as a story.

use std::fs;

use crate::common::{Hut, Story};

const SCHEME: &str = r#"
name = "Hut"
[free]
hours = ["daily 8-20"]
[[area]]
name = "door"
square_metres = 2
minutes_per_square_metre = 10
steps = [{ coat = "hut-varnish" }, { coat = "hut-varnish" }, { sand = "240" }, { coat = "hut-varnish" }]
"#;

/// Two coats on the door, the second one rained on.
fn rained_on() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", SCHEME);
    for (moment, line) in [
        ("2026-05-01 07:00", "scheme hut.toml"),
        ("2026-05-01 08:00", "reading 20 --humidity 50"),
        ("2026-05-01 08:00", "coat door"),
        ("2026-05-01 08:20", "done door"),
        ("2026-05-01 11:00", "reading 20 --humidity 50"),
        ("2026-05-01 11:00", "coat door"),
        ("2026-05-01 11:20", "done door"),
        ("2026-05-01 11:25", "film door 80 90"),
        ("2026-05-01 12:00", "reading 20 --humidity 50"),
    ] {
        hut.at(moment, line).well();
    }
    hut
}

#[test]
fn a_coat_that_was_rained_on_is_taken_off_and_done_again() {
    let hut = rained_on();
    let mut story = Story::of(&hut);
    story.tell("Only what is there can be taken off, and only a strip takes off.");
    story.add(&hut.at("2026-05-01 12:30", "step door strip --coats 3"));
    story.add(&hut.at("2026-05-01 12:30", "step door strip --coats 0"));
    story.add(&hut.at("2026-05-01 12:30", "step door sand --coats 1"));
    story.add(&hut.at("2026-05-01 10:00", "step sill strip"));

    story.tell("The second coat comes off; the first one has to be sanded before the second goes on again.");
    story.at("2026-05-01 12:30", "step door strip --minutes 40 --why \"rained on\"");
    story.at("2026-05-01 12:30", "status");
    story.add(&hut.at("2026-05-01 12:30", "check door"));
    story.at("2026-05-01 12:30", "plan");
    story.at("2026-05-01 17:00", "reading 20 --humidity 50");
    story.at("2026-05-01 17:00", "step door sand");
    story.at("2026-05-01 17:00", "coat door --done");
    story.at("2026-05-01 17:00", "status");

    story.tell("The record and the report keep it, struck with what happened.");
    story.run("correct 10 --why \"rained on, and sagged\"");
    story.add(&hut.run("correct 10 --area sill"));
    story.at("2026-05-01 17:00", "record");
    story.ends("a_coat_taken_off");

    let report = hut.at("2026-05-01 17:00", "report --format md").well();
    assert!(report.out.contains("### Coat 2, taken off: Varnish that minds no temperature"), "{report}");
    assert!(report.out.contains("Taken off: Fri 1 May 2026 12:30: rained on, and sagged"), "{report}");
    assert!(report.out.contains("Then: Stripped 1 coat, Fri 1 May 2026 12:30, 40 min"), "{report}");
    assert!(report.out.contains("2 of 3 planned coats done"), "{report}");
    let page = hut.at("2026-05-01 17:00", "report --format html").well();
    assert!(page.out.contains("<del>Coat 2, taken off: "), "{page}");
    hut.at("2026-05-01 17:00", "report coats.csv").well();
    let table = fs::read_to_string(hut.path("coats.csv")).unwrap();
    assert_eq!(table.matches("2026-05-01T12:30:00+02:00: rained on").count(), 1, "{table}");
    assert_eq!(table.lines().count(), 4, "a row for each coat, on the door or off it: {table}");
}

#[test]
fn a_coat_that_was_taken_off_moves_house_and_comes_back_by_undo() {
    let hut = rained_on();
    let before = hut.at("2026-05-01 12:30", "status --json");
    hut.at("2026-05-01 12:30", "step door strip --coats 2").well();
    let bare = hut.at("2026-05-01 12:30", "status");
    assert!(bare.out.contains("SAND"), "what was under the coats is sanded first: {bare}");
    hut.run("record --export hut.jsonl").well();
    let there = Hut::new().with_varnish();
    there.write("hut.jsonl", fs::read(hut.path("hut.jsonl")).unwrap());
    there.run("record --import hut.jsonl").well();
    for line in ["status", "record --json", "report --format md", "work", "quantity door"] {
        assert_eq!(there.at("2026-05-01 12:30", line), hut.at("2026-05-01 12:30", line));
    }
    hut.at("2026-05-01 12:31", "undo").well();
    assert_eq!(hut.at("2026-05-01 12:30", "status --json"), before);
}

#[test]
fn a_sanding_of_the_soft_film_below_does_not_make_up_for_what_was_taken_off() {
    let hut = Hut::new();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    hut.at("2026-05-01 08:00", "coat door varnish-two-part --done").well();
    hut.at("2026-05-01 16:30", "reading 20 --humidity 50").well();
    hut.at("2026-05-01 16:45", "coat door --done").well();
    hut.at("2026-05-01 17:00", "step door strip").well();
    let before = hut.at("2026-05-01 17:01", "check door").out;
    assert!(before.starts_with("WAIT until Sat "), "{before}");
    let sanded = hut.at("2026-05-01 17:05", "step door sand").well().out;
    assert!(sanded.contains("This sanding does not count: sand again then."), "{sanded}");
    assert_eq!(hut.at("2026-05-01 17:06", "check door").out.lines().next(), before.lines().next());
    // And a coat all the same is not recorded without a word.
    let coated = hut.at("2026-05-01 17:07", "coat door").well().out;
    assert!(coated.contains("A coat was taken off, and no sanding is recorded since."), "{coated}");
}
