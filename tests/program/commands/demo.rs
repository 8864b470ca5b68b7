//! The demo where there is no terminal.

use curewright::app::session::demo;
use curewright::engine::units::{Civil, ClockFace};
use serde_json::Value;

use crate::common::{Hut, same};

#[test]
fn without_a_terminal_the_demo_prints_its_status() {
    let hut = Hut::new();
    let demo = hut.run("demo").well();
    same("the_demo", &demo.to_string());
    assert!(!hut.job().exists(), "the demo has touched the person's own job");
    let faster = hut.run("demo --speed 3600").well();
    assert_eq!(faster.out, demo.out);
}

#[test]
fn the_demo_can_be_shown_at_another_moment() {
    let hut = Hut::new();
    let later = hut.at("2026-05-02 19:00", "demo").well();
    assert!(later.out.starts_with("Shepherd's hut, Sat 19:00\n"), "{later}");
    assert_ne!(later.out, hut.run("demo").well().out);
}

#[test]
fn the_demo_answers_machines() {
    let json = Hut::new().run("demo --json").well().json();
    let areas: Vec<&str> =
        json["coats"].as_array().unwrap().iter().map(|coat| coat["area"].as_str().unwrap()).collect();
    assert_eq!(areas, ["roof", "door, outside", "window frames", "floor"]);
    assert_eq!(json["at"], "2026-05-02T15:00:00Z");
}

/// The demo's job, to be asked about.
fn demo_job(hut: &Hut) {
    let zone = chrono_tz::Europe::Berlin;
    let civil = Civil::new(zone, ClockFace::TwentyFour);
    std::fs::create_dir_all(hut.job().parent().unwrap()).unwrap();
    demo::build(&hut.job(), &civil).unwrap();
}

#[test]
fn the_demo_s_plan_coats_wet_on_wet_within_the_windows_and_heating_wins_days() {
    let hut = Hut::new();
    demo_job(&hut);
    let ask = "plan --json --draws 60 --heat 20C --heater-kw 2 --price 0.3";
    let heated = hut.at("2026-05-02 17:00", ask).well().json();
    assert!(heated["heating"]["days_won"].as_f64().unwrap() > 7.0, "{}", heated["heating"]);
    let plan = hut.at("2026-05-02 17:00", "plan --json --draws 60").well().json();
    let steps = plan["steps"].as_array().unwrap();
    let days = |text: &Value| text.as_str().unwrap().parse::<chrono::DateTime<chrono::Utc>>().unwrap();
    assert_eq!(plan["sandings_owed"], 0);
    let coats: Vec<&Value> = steps.iter().filter(|step| step["what"] == "coat").collect();
    // The door's last coat goes on the one of the evening before, and neither is sanded between.
    let varnish: Vec<&&Value> = coats.iter().filter(|coat| coat["area"] == "door, outside").collect();
    let [.., third, fourth] = &varnish[..] else { panic!("{plan}") };
    assert_eq!((&third["wet_on_wet"], &fourth["wet_on_wet"]), (&false.into(), &true.into()));
    let apart = days(&fourth["from"]) - days(&third["from"]);
    assert!((6..=24).contains(&apart.num_hours()), "{apart}");
    // The date is on the safe side of the draws, and not absurdly so: an enamel dries for two weeks in air whose
    // humidity nobody knows better than to 8 %.
    let late = days(&plan["service"]) - days(&plan["draws"]["service_90"]);
    assert!((0..=10).contains(&late.num_days()), "{late}");
}

#[test]
fn the_next_session_is_a_checklist_for_the_bench() {
    let hut = Hut::new();
    demo_job(&hut);
    let list = hut.at("2026-05-02 17:00", "plan --tonight").well().out;
    insta::assert_snapshot!("the_demo_s_next_session", list);
    assert!(list.lines().all(|line| line.chars().count() <= 80), "{list}");
    let plan = hut.at("2026-05-02 17:00", "plan --json").well().json();
    let session = &plan["next_session"];
    assert_eq!(
        (&session["from"], &session["to"]),
        (&"2026-05-02T15:00:00Z".into(), &"2026-05-02T16:00:00Z".into())
    );
    assert_eq!(session["steps"], 3);
}

#[test]
fn without_a_terminal_the_board_prints_the_status() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let board = hut.run_words(&["--at", "2026-05-01 09:00"]).well();
    assert_eq!(board.out, hut.at("2026-05-01 09:00", "status").well().out);
    assert!(hut.run("").well().out.contains("door: READ THE THERMOMETER"));
}

/// What the demo says of the air at a moment: the line of what goes on next.
fn air(hut: &Hut, moment: &str) -> String {
    let ran = hut.at(moment, "demo").well();
    let line = |line: &&str| {
        line.starts_with("  ") && [": GO", ": WAIT", ": NO"].iter().any(|head| line.contains(head))
    };
    ran.out
        .lines()
        .find(line)
        .unwrap_or_else(|| panic!("nothing is said of the air: {ran}"))
        .trim()
        .to_owned()
}

#[test]
fn the_demo_has_a_night_that_is_unfit_and_a_morning_that_is_fit() {
    let hut = Hut::new();
    assert!(air(&hut, "2026-05-02 17:00").starts_with("Roof: GO until 19:13"));
    for night in ["2026-05-03 00:30", "2026-05-03 03:00", "2026-05-03 06:30", "2026-05-03 09:00"] {
        let line = air(&hut, night);
        assert!(line.starts_with("Door, outside: WAIT until 09:"), "{night}: {line}");
        assert!(line.contains("dew") || line.contains("Dew"), "{night}: {line}");
    }
    assert!(air(&hut, "2026-05-03 03:00").contains("Dew from 06:"));
    for morning in ["2026-05-03 10:00", "2026-05-03 11:30"] {
        let line = air(&hut, morning);
        assert!(line.starts_with("Door, outside: GO until "), "{morning}: {line}");
    }
}
