//! Sanding beside a film that is not tack-free: its dust would stick, and status, check and the answer say so.

use crate::common::Hut;

const SCHEME: &str = r#"
name = "Hut"
[[area]]
name = "door"
square_metres = 2
minutes_per_square_metre = 10
steps = [{ coat = "hut-varnish" }, { sand = "240" }, { coat = "hut-varnish" }]
[[area]]
name = "sill"
square_metres = 1
minutes_per_square_metre = 10
steps = [{ coat = "hut-varnish" }]
[[area]]
name = "gate"
place = "outside"
square_metres = 1
minutes_per_square_metre = 10
steps = [{ coat = "hut-varnish" }, { sand = "240" }, { coat = "hut-varnish" }]
"#;

const DUST: &str = "Sill is tacky until 16:30: dust of sanding here would stick to it.";

/// The door is hard at 14:20, and the sill has just been varnished beside it.
fn hut() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", SCHEME);
    for (moment, line) in [
        ("2026-05-01 06:00", "scheme hut.toml"),
        ("2026-05-01 06:00", "reading 20 --humidity 50"),
        ("2026-05-01 06:00", "reading 20 --humidity 50 --place outside"),
        ("2026-05-01 06:00", "coat door"),
        ("2026-05-01 06:20", "done door"),
        ("2026-05-01 06:00", "coat gate"),
        ("2026-05-01 06:20", "done gate"),
        ("2026-05-01 15:20", "coat sill"),
        ("2026-05-01 15:30", "done sill"),
        ("2026-05-01 15:30", "reading 20 --humidity 50"),
        ("2026-05-01 15:30", "reading 20 --humidity 50 --place outside"),
    ] {
        hut.at(moment, line).well();
    }
    hut
}

#[test]
fn sanding_beside_a_tacky_film_is_said_to_make_dust() {
    let hut = hut();
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let status = hut.at("2026-05-01 15:30", "status").well();
    assert!(flat(&status.out).contains(DUST), "{status}");
    let gate = hut.at("2026-05-01 15:30", "check gate");
    assert!(!gate.out.contains("dust"), "the gate stands outside: {gate}");
    let check = hut.at("2026-05-01 15:30", "check door --json");
    assert_eq!(check.status, Some(1), "{check}");
    let answer: serde_json::Value = serde_json::from_str(&check.out).unwrap();
    let reasons = answer["reasons"].to_string();
    assert!(reasons.contains("\"dust\"") && reasons.contains(DUST), "{check}");
    let sanded = hut.at("2026-05-01 15:35", "step door sand").well();
    assert!(flat(&sanded.out).contains(DUST), "{sanded}");
}

#[test]
fn once_the_film_beside_it_is_tack_free_nothing_is_said_of_dust() {
    let hut = hut();
    let status = hut.at("2026-05-01 16:31", "status").well();
    assert!(status.out.contains("SAND") && !status.out.contains("dust"), "{status}");
    let sanded = hut.at("2026-05-01 16:31", "step door sand").well();
    assert!(!sanded.out.contains("would stick"), "{sanded}");
    let report = hut.at("2026-05-01 16:40", "report --format md").well();
    assert!(!report.out.contains("dust sticks"), "{report}");
}
