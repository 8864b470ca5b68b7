//! `plan`: every coat in a free hour; where there is no plan, what stands in the way and what would do.

use crate::common::{Hut, Story};

const DOOR: &str = "name = \"Door\"\n[free]\nhours = [\"Sat 9-17\", \"Mon-Fri 19:00-21:00\"]\n[[area]]\nname = \"door\"\n\
    square_metres = 2\nminutes_per_square_metre = 10\nsteps = [{ coat = \"varnish-two-part\" }, { coat = \"varnish-two-part\" }, \
    { sand = \"320\", minutes = 30 }, { tape = \"on\" }, { coat = \"varnish-two-part\" }, { tape = \"off\" }]\n";

fn door(hut: &Hut, change: (&str, &str)) {
    assert!(DOOR.contains(change.0), "{}", change.0);
    hut.write("door.toml", DOOR.replacen(change.0, change.1, 1));
}

#[test]
fn the_last_coat_waits_for_a_sanding_and_the_choices_show_what_less_work_costs() {
    let hut = Hut::new();
    let mut story = Story::of(&hut);
    door(&hut, ("Door", "Door"));
    story.tell("Nothing was read yet, so the temperature to plan with is given.");
    story.add(&hut.at("2026-05-02 08:50", "plan door.toml --temperature 18C --choices"));
    story.tell("Only short evenings: each coat waits for a sanding.");
    door(&hut, ("\"Sat 9-17\", ", ""));
    story.add(&hut.at("2026-05-02 08:50", "plan door.toml --temperature 18C"));
    story.ends("plan");
}

#[test]
fn without_a_plan_the_blocking_step_and_the_remedy_are_named() {
    let hut = Hut::new();
    let mut story = Story::of(&hut);
    let refused = |story: &mut Story<'_>, change: (&str, &str), more: &str, status: i32| {
        door(&hut, change);
        let ran = hut.at("2026-05-02 08:50", &format!("plan door.toml {more}"));
        assert_eq!(ran.status, Some(status), "{ran}");
        story.add(&ran);
    };
    let warm = "--temperature 18C";
    refused(&mut story, ("Door", "Door"), "", 1);
    refused(&mut story, ("hours = [\"Sat 9-17\", \"Mon-Fri 19:00-21:00\"]", ""), warm, 2);
    refused(&mut story, ("[\"Sat 9-17\", \"Mon-Fri 19:00-21:00\"]", "[\"Mon-Fri 19:00-19:15\"]"), warm, 1);
    refused(&mut story, ("Door", "Door"), "--temperature 4C", 1);
    refused(&mut story, ("Door", "Door"), "--temperature 18C --days 1", 1);
    story.tell("What is wrong with the scheme itself is wrong input.");
    let first = "steps = [{ coat = \"varnish-two-part\" }";
    refused(&mut story, (first, "steps = [{ tape = \"off\" }, { coat = \"varnish-two-part\" }"), warm, 2);
    refused(&mut story, (first, "steps = [{ coat = \"varnish-tow-part\" }"), warm, 2);
    let last = "{ coat = \"varnish-two-part\" }, { tape = \"off\" }";
    refused(&mut story, (last, "{ coat = \"varnish-two-part\", wet_on_wet = \"must\" }"), warm, 2);
    story.tell("A window that must be met, and no hour that meets it.");
    let second = "{ coat = \"varnish-two-part\" }, { sand";
    hut.write(
        "evenings.toml",
        DOOR.replace("\"Sat 9-17\", ", "")
            .replace(second, "{ coat = \"varnish-two-part\", wet_on_wet = \"must\" }, { sand"),
    );
    let ran = hut.at("2026-05-02 08:50", &format!("plan evenings.toml {warm}"));
    assert_eq!(ran.status, Some(1), "{ran}");
    story.add(&ran);
    story.ends("no_plan");
}

#[test]
fn the_same_seed_draws_the_same_end_and_machines_read_the_plan() {
    let hut = Hut::new();
    door(&hut, ("Door", "Door"));
    let ask = "plan door.toml --temperature 15C --draws 40 --seed 3 --heat 20C --heater-kw 2 --price 0.3 --choices --json";
    let first = hut.at("2026-05-02 08:50", ask);
    let again = hut.at("2026-05-02 08:50", ask);
    assert_eq!(first.out, again.out);
    let plan: serde_json::Value = serde_json::from_str(&first.out).unwrap();
    for key in ["from", "work_done", "service"] {
        assert!(plan[key].as_str().is_some_and(|moment| moment.ends_with('Z')), "{key}: {plan}");
    }
    for key in ["work_hours", "sandings", "gap_hours"] {
        assert!(plan[key].is_number(), "{key}: {plan}");
    }
    assert_eq!(plan["optimal"], true);
    let all = plan["steps"].as_array().unwrap();
    let is = |step: &&serde_json::Value, what: &str| step["what"] == what;
    let count = |what: &str| all.iter().filter(|step| is(step, what)).count();
    assert_eq!((count("mix"), count("clean_up")), (3, 3), "hours lie between the coats: {all:?}");
    let beside = |step: &&serde_json::Value| is(step, "mix") || is(step, "clean_up");
    let steps: Vec<_> = all.iter().filter(|step| !beside(step)).collect();
    let what: Vec<_> = steps.iter().map(|step| step["what"].as_str().unwrap()).collect();
    assert_eq!(what, ["coat", "coat", "sand", "tape", "coat", "tape"]);
    assert!(steps.iter().all(|step| step["not_earlier"].is_string() && step["area"] == "door"));
    assert_eq!(steps[1]["wet_on_wet"], true);
    let materials = plan["materials"].as_array().unwrap();
    assert_eq!((&materials[0]["product"], &materials[0]["coats"]), (&"varnish-two-part".into(), &3.into()));
    let door = &plan["areas"][0];
    assert!(door["handled"].as_str() > plan["work_done"].as_str(), "{door}");
    assert!(door["handled"].as_str() < door["service"].as_str() && door["service"] == plan["service"]);
    assert_eq!(plan["draws"]["count"], 40);
    assert!(plan["draws"]["service_50"].as_str() <= plan["draws"]["service_90"].as_str());
    assert!(plan["heating"]["days_won"].as_f64().unwrap() > 0.0);
}

#[test]
fn the_end_as_it_was_planned_then_knows_nothing_of_a_forecast_that_came_later() {
    let hut = Hut::new();
    door(&hut, ("name = \"door\"", "name = \"door\"\nplace = \"outdoors\""));
    hut.at("2026-05-04 08:00", "scheme door.toml").well();
    hut.at("2026-05-04 08:00", "reading 12 --humidity 60 --place outdoors").well();
    let then = hut.at("2026-05-04 12:00", "plan --days 92 --json").well().json();
    let hour = |hour: usize| format!("2026-05-{:02}T{:02}:00:00Z,26,45\n", 6 + hour / 24, hour % 24);
    hut.write("week.csv", "time,temperature,humidity\n".to_owned() + &(8..168).map(hour).collect::<String>());
    hut.at("2026-05-06 10:00", "forecast week.csv").well();
    hut.at("2026-05-06 12:00", "reading 12 --humidity 60 --place outdoors").well();
    let now = hut.at("2026-05-06 12:00", "plan --since 2d --json").well().json();
    assert_eq!(now["since"]["service_then"], then["service"], "{now}");
    assert!(now["service"].as_str() < then["service"].as_str(), "the warm week brings it forward: {now}");
}

#[test]
fn the_effect_of_the_last_days_is_shown_beside_the_end() {
    let hut = Hut::new().with_varnish();
    let short = DOOR.replace("varnish-two-part", "hut-varnish").replace("\"Sat 9-17\", ", "");
    hut.write("door.toml", short);
    hut.at("2026-05-04 08:00", "scheme door.toml").well();
    hut.at("2026-05-04 08:00", "reading 20").well();
    let mut story = Story::of(&hut);
    story.tell("Nothing was done on Monday and Tuesday.");
    story.at("2026-05-06 12:00", "reading 20");
    let ran = story.at("2026-05-06 12:00", "plan --since 2d");
    assert!(ran.out.contains("The last 2 d moved the end from "), "{ran}");
    let json = hut.at("2026-05-06 12:00", "plan --since 2d --json").well().json();
    assert!(json["since"]["moved_hours"].as_f64().unwrap() > 24.0, "{json}");
    assert!(json["since"]["service_then"].as_str() < json["service"].as_str());
    story.tell("A week ago nothing was recorded.");
    story.at("2026-05-06 12:00", "plan --since 7d");
    story.ends("what_the_last_days_did");
    assert_eq!(hut.at("2026-05-06 12:00", "plan --since 10min").status, Some(2));
    assert_eq!(hut.at("2026-05-06 12:00", "plan --since soon").status, Some(2));
}

#[test]
fn a_date_is_met_or_missed_because_of_an_area_that_can_be_left_out() {
    let hut = Hut::new();
    let gate = "[[area]]\nname = \"gate\"\nsquare_metres = 3\nminutes_per_square_metre = 10\nsteps = [{ coat = \"enamel-alkyd\" }, \
                { sand = \"320\", minutes = 30 }, { coat = \"enamel-alkyd\" }]\n";
    hut.write("two.toml", format!("{DOOR}{gate}"));
    let plan = |more: &str| hut.at("2026-05-02 08:50", &format!("plan two.toml --temperature 18C {more}"));

    let missed = plan("--by 2026-05-25");
    assert_eq!(missed.status, Some(1), "{missed}");
    let first = missed.out.lines().next().unwrap();
    assert!(first.starts_with("In service by Mon 25 May 23:59: no, "), "{missed}");
    assert!(first.contains("too late, because of gate. "), "{missed}");

    let met = plan("--by \"2026-05-25 12:00\" --without ga").well();
    assert!(met.out.starts_with("In service by Mon 25 May 12:00: yes, with "), "{met}");
    assert!(!met.out.contains("gate: coat"), "{met}");

    let json = plan("--by 2026-05-25 --without gate --draws 20 --json").well().json();
    assert_eq!(json["by"]["met"], true);
    assert_eq!(json["by"]["at"], "2026-05-25T21:59:00Z");
    assert!((0.0..=1.0).contains(&json["by"]["chance"].as_f64().unwrap()), "{}", json["by"]);

    for (wrong, says) in [
        ("--by soon", "soon"),
        ("--without roof", "roof"),
        ("--patience never", "never"),
        ("--patience 0s", "at least a second"),
    ] {
        let refused = plan(wrong);
        assert_eq!(refused.status, Some(2), "{refused}");
        assert!(refused.err.contains(says), "{refused}");
    }
}

#[test]
fn a_search_that_is_out_of_patience_shows_the_best_plan_so_far() {
    let hut = Hut::new();
    hut.write("door.toml", DOOR);
    let plan = |more: &str| hut.at("2026-05-02 08:50", &format!("plan door.toml --temperature 18C {more}"));
    let whole = plan("--patience 5min").well();
    assert_eq!(whole.out, plan("").well().out, "enough patience changes nothing");
    let short = plan("--patience 1s --draws 100000").well();
    assert!(short.out.contains("It was stopped: "), "{short}");
    assert!(!short.out.contains("simulations"), "{short}");
}

#[test]
fn a_film_that_was_sanded_waits_in_the_plan_for_what_the_check_waits_for() {
    for (under, over, sanded) in [
        // Sanded once hard, and to be at full cure before the next product.
        ("epoxy-fairing-filler", "enamel-alkyd", "2026-05-03 08:02"),
        // Sanded while it was wet.
        ("primer-two-part", "paint-two-part", "2026-05-02 08:10"),
    ] {
        let hut = Hut::new();
        hut.write(
            "a.toml",
            format!(
                "name = \"A\"\n[free]\nhours = [\"daily 0-24\"]\n[[area]]\nname = \"a\"\nground = \"metal\"\nsquare_metres = 2\n\
                 minutes_per_square_metre = 10\nsteps = [{{ coat = \"{under}\" }}, {{ coat = \"{over}\" }}]\n"
            ),
        );
        hut.at("2026-05-02 07:50", "scheme a.toml").well();
        hut.at("2026-05-02 08:00", "reading 20 --humidity 50").well();
        hut.at("2026-05-02 08:00", "coat a --done").well();
        if sanded > "2026-05-03" {
            hut.at("2026-05-03 08:00", "reading 20 --humidity 50").well();
        }
        hut.at(sanded, "step a sand").well();
        let check = hut.at(sanded, "check a --json");
        let from = serde_json::from_str::<serde_json::Value>(&check.out).unwrap()["from"].clone();
        let plan = hut.at(sanded, "plan --json").well().json();
        let coat = plan["steps"].as_array().unwrap().iter().find(|step| step["what"] == "coat").unwrap();
        assert!(from.is_string(), "{check}");
        assert!(coat["from"].as_str() >= from.as_str(), "{under}: {coat}, {check}");
    }
}
