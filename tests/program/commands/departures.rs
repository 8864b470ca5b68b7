//! Coats that are not as the scheme says, told as a story.

use std::fs;

use crate::common::{Hut, Story};

const SCHEME: &str = r#"
name = "Hut"
[[area]]
name = "door"
square_metres = 2
minutes_per_square_metre = 10
steps = [{ tape = "on" }, { coat = "hut-varnish" }, { tape = "off" }, { sand = "240" }, { coat = "hut-varnish" }]
"#;

fn hut() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", SCHEME);
    hut.at("2026-05-01 07:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    hut
}

#[test]
fn a_coat_that_is_not_as_the_scheme_says_is_asked_about_first() {
    let hut = hut();
    let mut story = Story::of(&hut);
    story.tell("The tape is forgotten: nothing is recorded without a yes.");
    story.add(&hut.at("2026-05-01 08:00", "coat door"));
    story.add(&hut.at("2026-05-01 08:00", "coat door oil-penetrating"));
    story.at("2026-05-01 08:00", "record");
    story.at("2026-05-01 08:00", "coat door --done --yes --why \"no panes in it\"");

    story.tell(
        "Another product with a reason: the coats of the scheme stay to be done, and every count follows.",
    );
    story.at("2026-05-02 12:00", "reading 20 --humidity 50");
    story.at("2026-05-02 12:00", "step door sand");
    story.add(&hut.at("2026-05-02 12:00", "coat door oil-penetrating"));
    story.at("2026-05-02 12:00", "coat door varnish-water --done --yes --why \"the tin was empty\"");
    story.at("2026-05-02 12:30", "status");

    story.tell("When every coat of the scheme is on, one more is asked about too.");
    story.at("2026-05-04 12:00", "reading 20 --humidity 50");
    story.at("2026-05-04 12:00", "step door sand");
    story.at("2026-05-04 12:00", "coat door hut-varnish --done --yes");
    story.at("2026-05-06 12:00", "reading 20 --humidity 50");
    story.at("2026-05-06 12:00", "step door sand");
    story.add(&hut.at("2026-05-06 12:00", "coat door"));
    story.at("2026-05-06 12:00", "coat door --done --yes");
    story.at("2026-05-06 12:30", "status");
    story.at("2026-05-06 12:30", "record");
    story.ends("a_coat_that_is_not_as_the_scheme_says");

    let report = hut.at("2026-05-06 12:30", "report --format md").well();
    assert!(
        report.out.contains("The scheme says hut-varnish here, tape first. Why: No panes in it."),
        "{report}"
    );
    assert!(report.out.contains("4 of 4 planned coats done"), "{report}");
    let status = hut.at("2026-05-06 12:30", "status --all --json").well();
    assert!(status.out.contains("\"why\": \"the tin was empty\""), "{status}");

    let moved = Hut::new().with_varnish();
    hut.run("record --export hut.jsonl").well();
    moved.write("hut.jsonl", fs::read_to_string(hut.path("hut.jsonl")).unwrap());
    moved.run("record --import hut.jsonl").well();
    assert_eq!(
        moved.at("2026-05-06 12:30", "status --all --json").out,
        status.out,
        "the reason moves house too"
    );

    hut.at("2026-05-06 12:30", "undo").well();
    let status = hut.at("2026-05-06 12:30", "status").well();
    assert!(status.out.contains("(coat 3 of 3, hut-varnish)"), "{status}");
}

#[test]
fn a_coat_that_cannot_be_recorded_is_not_asked_about() {
    let hut = hut();
    hut.at("2026-05-01 08:00", "coat door --yes").well();
    let again = hut.at("2026-05-01 08:05", "coat door");
    assert!(again.err.contains("door is still being coated"), "{again}");
}
