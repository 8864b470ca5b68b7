//! Damage on the disk is named, and the intact part goes into a new job.

use std::fs;

use crate::common::{Hut, Story};

fn job() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 17 --humidity 55").well();
    hut.at("2026-05-01 08:10", "coat door hut-varnish --done").well();
    hut.at("2026-05-01 09:00", "note door \"a run near the hinge\"").well();
    hut
}

#[test]
fn a_job_is_checked_and_what_is_sound_is_saved() {
    let hut = job();
    let mut story = Story::of(&hut);
    story.at("2026-05-01 12:00", "check-job");
    story.at("2026-05-01 12:00", "check-job --json");
    story.tell("The disk alters one letter of the note.");
    let mut bytes = fs::read(hut.job()).unwrap();
    let at = bytes.windows(5).position(|words| words == b"hinge").unwrap();
    bytes[at] ^= 1;
    fs::write(hut.job(), bytes).unwrap();
    story.add(&hut.run("status"));
    story.add(&hut.run("reading 18"));
    story.add(&hut.run("check-job"));
    story.add(&hut.run("check-job --rescue sound.jsonl --json"));
    story.add(&hut.run("--job new.db record --import sound.jsonl").well());
    story.add(&hut.run("--job new.db record").well());
    story.add(&hut.run("--job nowhere.db check-job"));
    story.ends("a_job_that_is_checked");
}
