//! Work, notes and corrections, told as stories.

use crate::common::{Hut, Story};

#[test]
fn hours_are_recorded_as_they_fall() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);

    story.tell("A clock that starts and stops; the strokes inside it do not count twice.");
    story.at("2026-05-01 08:00", "reading 20");
    story.at("2026-05-01 08:00", "work start door");
    hut.at("2026-05-01 08:20", "coat door hut-varnish").well();
    hut.at("2026-05-01 08:40", "done door").well();
    story.at("2026-05-01 08:50", "work");
    story.at("2026-05-01 09:00", "work stop");

    story.tell("A clock for the piece: what falls into a coat or a step is its area's.");
    story.at("2026-05-01 17:00", "work start");
    hut.at("2026-05-01 17:10", "coat sill hut-varnish --done").well();
    hut.at("2026-05-01 17:50", "step door sand --minutes 30").well();
    story.at("2026-05-01 18:00", "work start sill");
    story.at("2026-05-01 18:10", "work stop sill");
    story.at("2026-05-01 18:10", "work");

    story.tell("Minutes that nobody timed; some of them beside the clock.");
    story.at("2026-05-01 19:00", "work door --minutes 45");
    story.at("2026-05-01 19:00", r#"work --minutes "1 h 10 min""#);
    story.at("2026-05-01 19:00", "work");
    story.at("2026-05-01 19:00", "work door");
    story.at("2026-05-01 19:00", "work --json");

    story.tell("A clock that was left running over night.");
    story.at("2026-05-01 20:00", "work start door");
    story.at("2026-05-02 08:00", "work");
    story.add(&hut.at("2026-05-02 08:00", "work stop"));
    story.add(&hut.at("2026-05-02 08:00", "work start sill"));
    story.at("2026-05-01 21:30", "work stop");
    story.at("2026-05-02 08:00", "work");

    story.tell("A night that was worked through.");
    story.at("2026-05-02 22:00", "work start door");
    story.add(&hut.at("2026-05-03 05:00", "work stop"));
    story.at("2026-05-03 05:00", "work stop --yes");
    story.ends("hours_as_they_fall");
}

#[test]
fn an_entry_that_was_wrong_is_corrected_and_stays_struck() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    hut.write("run.jpg", "a photo");
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
    hut.at("2026-05-01 08:40", "done door").well();
    hut.at("2026-05-01 08:45", "step door sand --minutes 20").well();

    story.tell("The coat began earlier, the air was cooler, the sanding was a washing.");
    story.at("2026-05-01 07:30", "correct 2");
    story.run("correct 1 --temperature 17,5 --humidity none");
    story.run("correct 4 --step wash --minutes none");
    story.at("2026-05-01 09:00", "status");

    story.tell("A correction is corrected, and taken back again, step by step.");
    story.run("correct 6 --next hut-varnish");
    story.run("undo");
    story.run("undo 6");
    story.at("2026-05-01 12:00", "record");

    story.tell("A note on the entry, with its photo and with one that is not there.");
    story.at("2026-05-01 09:00", r#"note door "a run at the hinge" --photo run.jpg --entry 2"#);
    story.at("2026-05-01 09:01", r#"note "more paper" --photo nowhere.jpg"#);
    story.run(r#"correct 15 --text "a run at the lower hinge""#);
    story.at("2026-05-01 12:00", "record");
    let record = hut.record();
    let of = |id: i64| record.as_array().unwrap().iter().find(|entry| entry["id"] == id).unwrap();
    assert_eq!((&of(4)["corrected_by"], &of(4)["voided"]), (&10.into(), &true.into()));
    assert_eq!((&of(6)["corrected_by"], &of(6)["voided"]), (&serde_json::Value::Null, &true.into()));
    assert_eq!(of(9)["entry"], serde_json::json!({ "what": "void", "entry": 4, "by": 10 }));
    story.ends("an_entry_corrected");
}

#[test]
fn what_cannot_be_is_refused_and_changes_nothing() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
    hut.at("2026-05-01 08:40", "done door").well();
    let mut story = Story::of(&hut);
    for line in [
        "work stop",
        "work --minutes 0",
        "work --minutes 2000",
        "work --minutes soon",
        "work start door --minutes 5",
        "work dor --minutes 5",
        "note",
        r#"note """#,
        r#"note door "x" --entry 99"#,
        "correct 99 --at -1h",
        "correct 2",
        "correct 2 --temperature 15",
        "correct 2 --product hut-varnsh",
        "correct 2 --product none",
        "correct 2 --area dor",
        "correct 1 --temperature warm",
        "correct 1 --humidity 0.6",
    ] {
        story.add(&hut.refused(2, line));
    }
    story.tell(
        "The last stroke cannot come before the first, nor the first after the last, nor in the future.",
    );
    for moment in ["2026-05-01 07:00", "2099-01-01 07:00"] {
        story.add(&hut.refused(2, &format!("correct 3 --at \"{moment}\"")));
    }
    story.add(&hut.refused(2, "correct 2 --at \"2026-05-01 09:00\""));
    story.ends("work_and_corrections_refused");
}

#[test]
fn the_beginning_of_a_name_stops_the_clock_of_its_area() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "coat \"door, outside\" hut-varnish --done").well();
    hut.at("2026-05-01 09:00", "work start door").well();
    let stopped = hut.at("2026-05-01 10:30", "work stop door").well();
    assert!(stopped.out.contains("1 h 30 min"), "{stopped}");
    assert_eq!(hut.run("work door").well().out, "door, outside: 1 h 30 min\n");
}
