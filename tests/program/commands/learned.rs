//! What a job has taught.

use crate::common::{Hut, Story};

#[test]
fn a_job_teaches_pace_and_shop() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    story.tell("Nothing was done yet.");
    story.at("2026-05-01 08:00", "learned");

    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[[area]]\nname = \"door\"\nsquare_metres = 2\nminutes_per_square_metre = 9\nsteps = [{ coat = \
         \"hut-varnish\" }, { coat = \"hut-varnish\" }]\n",
    );
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    hut.at("2026-05-01 08:10", "coat door").well();
    hut.at("2026-05-01 08:30", "done door").well();
    hut.at("2026-05-01 11:00", "coat door").well();
    hut.at("2026-05-01 11:22", "done door").well();
    // Over a gap of more than two hours a window is assumed, and teaches nothing.
    for hour in [10, 12, 14, 16, 18, 20] {
        hut.at(&format!("2026-05-01 {hour}:00"), "reading 20 --humidity 50").well();
    }
    story.tell("Two coats later.");
    story.at("2026-05-01 20:00", "learned");
    hut.settings("[units]\narea = \"ft2\"\n");
    story.tell("In square feet; a scheme is written in square metres.");
    story.at("2026-05-01 20:00", "learned");
    story.at("2026-05-01 20:00", "learned --json");
    story.ends("what_was_learned");
}
