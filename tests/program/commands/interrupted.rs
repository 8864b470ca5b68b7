//! A coat that was interrupted, told as a story.

use crate::common::{Hut, Story};

#[test]
fn half_a_door_tonight_and_half_tomorrow_counts_on_the_safe_side_of_both() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    hut.at("2026-05-01 19:00", "reading 20 --humidity 50").well();

    story.tell("Friday night. The coat is interrupted, and begun again on Saturday morning.");
    story.add(&hut.at("2026-05-01 20:00", "step door pause"));
    story.at("2026-05-01 20:00", "coat door hut-varnish");
    story.add(&hut.at("2026-05-01 20:05", "step door resume"));
    story.at("2026-05-01 20:30", "step door pause --why \"called away\"");
    story.add(&hut.at("2026-05-01 20:35", "step door pause"));
    story.at("2026-05-01 22:00", "status");
    story.add(&hut.at("2026-05-01 22:00", "check door hut-varnish"));
    hut.at("2026-05-02 09:00", "reading 20 --humidity 50").well();
    story.at("2026-05-02 09:00", "step door resume");
    story.at("2026-05-02 09:20", "done door");

    story.tell("The first half takes no coat any more, and the second is not ready: it is left to harden.");
    story.at("2026-05-02 09:30", "status");
    let json = hut.at("2026-05-02 09:30", "status --json").well().json();
    let pauses = &json["coats"][0]["pauses"];
    assert_eq!(pauses[0]["from"], "2026-05-01T18:30:00Z");
    assert_eq!(pauses[0]["to"], "2026-05-02T07:00:00Z");
    story.at("2026-05-02 09:30", "work door");

    story.tell("Taken back, it is interrupted again; the record is the same in another job.");
    story.at("2026-05-02 09:31", "undo");
    story.at("2026-05-02 09:31", "undo");
    story.at("2026-05-02 09:31", "status");
    hut.at("2026-05-02 09:32", "done door --at \"2026-05-01 20:30\"").well();
    hut.run("record --export hut.jsonl").well();
    hut.run("--job other.db record --import hut.jsonl").well();
    let ask = "--job other.db --at \"2026-05-02 09:33\" status";
    assert_eq!(hut.run(ask).well().out, hut.at("2026-05-02 09:33", "status").well().out);
    let report = hut.at("2026-05-02 09:33", "report --format md").well().out;
    assert!(report.contains("coat interrupted") || report.contains("Coat interrupted"), "{report}");
    story.ends("an_interrupted_coat");
}
