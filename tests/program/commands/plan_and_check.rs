//! The plan starts nothing that the check forbids at the same moment.

use chrono::{DateTime, Utc};
use serde_json::Value;

use crate::common::Hut;

const DOOR: &str = r#"
name = "Shepherd's hut"
[free]
hours = ["Mon-Sun 6-23"]

[[area]]
name = "door"
square_metres = 1
minutes_per_square_metre = 20
steps = [{ coat = "hut-varnish" }, { coat = "hut-varnish" }, { tape = "off" }]
"#;

fn hut() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", DOOR);
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut
}

/// The verdict of the check, and the first coat of the plan, as of a moment.
fn both(hut: &Hut, at: &str) -> (String, DateTime<Utc>) {
    let check = hut.at(at, "check door --json").out;
    let check: Value = serde_json::from_str(&check).unwrap();
    let plan = hut.at(at, "plan --json").well().json();
    let coat = plan["steps"].as_array().unwrap().iter().find(|step| step["what"] == "coat").unwrap();
    (check["verdict"].as_str().unwrap().to_owned(), coat["from"].as_str().unwrap().parse().unwrap())
}

#[test]
fn a_surface_that_was_measured_cold_holds_the_plan_back_too() {
    let hut = hut();
    hut.at("2026-05-01 09:00", "reading 18 --humidity 40 --surface 2").well();
    let (verdict, from) = both(&hut, "2026-05-01 09:01");
    assert_eq!(verdict, "no");
    assert!(from.to_rfc3339().as_str() > "2026-05-01T07:10", "{from}");
}

#[test]
fn air_that_falls_towards_the_limit_holds_the_plan_back_too() {
    let hut = hut();
    hut.at("2026-05-01 18:00", "reading 16 --humidity 40").well();
    hut.at("2026-05-01 19:00", "reading 12 --humidity 40").well();
    let (verdict, from) = both(&hut, "2026-05-01 19:01");
    assert_eq!(verdict, "no");
    assert!(from.to_rfc3339().as_str() > "2026-05-01T19:00", "{from}");
}

#[test]
fn washed_ground_dries_in_the_plan_too() {
    let hut = hut();
    hut.at("2026-05-01 09:00", "reading 18 --humidity 40").well();
    hut.at("2026-05-01 09:10", "step door wash").well();
    let (verdict, from) = both(&hut, "2026-05-01 09:11");
    assert_eq!((verdict.as_str(), from.to_rfc3339().as_str()), ("wait", "2026-05-01T07:40:00+00:00"));
}

#[test]
fn work_is_planned_although_the_full_cure_has_no_date() {
    let hut = Hut::new();
    let hour = |n: u32| {
        let (day, hour) = (n / 24 + 1, n % 24);
        let (air, damp) = if (8..20).contains(&hour) { (14, 55) } else { (4, 75) };
        format!("2026-05-{day:02} {hour:02}:00,{air},{damp},0\n")
    };
    let hours: String = (0..240).map(hour).collect();
    hut.write("week.csv", format!("time,temperature,humidity,rain\n{hours}"));
    let primed =
        DOOR.replace("name = \"door\"", "name = \"door\"\nplace = \"outdoors\"\nground = \"sealed\"");
    let primed = primed.replace("hut-varnish", "primer-two-part").replace(", { tape = \"off\" }", "");
    hut.write("hut.toml", primed);
    hut.at("2026-05-01 07:00", "scheme hut.toml").well();
    hut.at("2026-05-01 07:00", "forecast week.csv").well();
    hut.at("2026-05-01 08:10", "reading 14 --humidity 55").well();
    assert!(hut.at("2026-05-01 08:10", "check door").well().out.starts_with("GO "));
    let plan = hut.at("2026-05-01 08:10", "plan").well().out;
    assert!(plan.starts_with("In service: unknown."), "{plan}");
    assert!(plan.contains("coat 2 of primer-two-part") && !plan.contains("of waiting"), "{plan}");
}

#[test]
fn a_plan_from_an_old_reading_says_so() {
    let hut = hut();
    hut.at("2026-05-01 09:00", "reading 18 --humidity 40").well();
    let says = "shop: the last reading is 9 h 01 min old; read the thermometer before you begin";
    assert!(!hut.at("2026-05-01 09:01", "plan").well().out.contains("read the thermometer before"));
    let plan = hut.at("2026-05-01 18:01", "plan").well().out;
    assert!(plan.contains(says), "{plan}");
}
