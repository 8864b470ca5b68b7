//! A last stroke that nobody entered, told as a story.

use crate::common::{Hut, Story};

#[test]
fn a_forgotten_last_stroke_is_asked_about_with_its_likely_time() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    let mut story = Story::of(&hut);
    story.tell("The first coat takes half an hour. Of the second one only the first stroke is entered.");
    story.at("2026-05-01 08:00", "coat \"door, outside\" hut-varnish");
    story.at("2026-05-01 08:30", "done");
    story.at("2026-05-01 19:00", "reading 20 --humidity 50");
    story.at("2026-05-01 19:00", "coat \"door, outside\"");
    story.at("2026-05-01 20:00", "status");
    story.tell("In the morning the board asks. The windows count from now until the time is entered.");
    story.at("2026-05-02 08:00", "reading 20 --humidity 50");
    story.at("2026-05-02 08:00", "status");
    story.at("2026-05-02 08:00", "done \"door, outside\" --at \"2026-05-01 19:30\"");
    story.at("2026-05-02 08:00", "status");
    story.ends("a_forgotten_last_stroke");

    hut.at("2026-05-02 08:00", "undo").well();
    let status = hut.at("2026-05-02 08:00", "status --json").json();
    assert_eq!(status["coats"][0]["last_stroke_likely"], "2026-05-01T17:30:00Z");
}
