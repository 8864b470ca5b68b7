//! A plan that is followed: each step is recorded when it was planned, and exactly the alerts ring that the plan
//! implies. The varnish minds no temperature: open from 2 h to 5 h, sandable after 8 h, through after 3 d.

use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use crate::common::Hut;

/// The door's coats fit into an evening, two and two; the sill's take too long for that.
const SCHEME: &str = r#"
name = "Hut"
[free]
hours = ["daily 18:30-22:00"]

[[area]]
name = "door"
square_metres = 2
minutes_per_square_metre = 10
steps = [{ coat = "hut-varnish" }, { coat = "hut-varnish" }, { sand = "320", minutes = 30 }, { tape = "on" }, { coat = "hut-varnish" }, { tape = "off" }]

[[area]]
name = "sill"
square_metres = 3
minutes_per_square_metre = 30
steps = [{ coat = "hut-varnish" }, { coat = "hut-varnish" }]
"#;

type Time = DateTime<Utc>;
/// Area, kind, and when it is due.
type Rung = (String, String, Time);

struct Step {
    area: String,
    what: String,
    tape: String,
    from: Time,
    to: Time,
    owed: bool,
    open_film: bool,
}

fn steps(plan: &Value) -> Vec<Step> {
    let text = |step: &Value, key: &str| step[key].as_str().unwrap_or_default().to_owned();
    let step = |step: &Value| Step {
        area: text(step, "area"),
        what: text(step, "what"),
        tape: text(step, "tape"),
        from: text(step, "from").parse().unwrap(),
        to: text(step, "to").parse().unwrap(),
        owed: step["owed"] == true,
        open_film: step["wet_on_wet"] == true,
    };
    plan["steps"].as_array().unwrap().iter().map(step).collect()
}

/// What the plan implies: a window opens for every coat that follows without a planned sanding; it is called
/// and closes only where an extra sanding is due; a film is announced as sandable where it is sanded.
fn promised(steps: &[Step]) -> BTreeSet<Rung> {
    let hours = |hours| TimeDelta::hours(hours);
    let mut all = BTreeSet::new();
    for area in ["door", "sill"] {
        let own: Vec<&Step> = steps.iter().filter(|step| step.area == area).collect();
        for (index, coat) in own.iter().enumerate().filter(|(_, step)| step.what == "coat") {
            let mut ring = |kind: &str, due: Time| all.insert((area.to_owned(), kind.to_owned(), due));
            let behind = &own[index + 1..];
            let Some(next) = behind.iter().position(|step| step.what == "coat") else {
                ring("full_cure", coat.to + hours(72));
                continue;
            };
            let sanded = behind[..next].iter().find(|step| step.what == "sand");
            let (opens, closes) = (coat.to + hours(2), coat.from + hours(5));
            // The usual lead of the last call is a quarter of an hour.
            let call = closes - (behind[next].to - behind[next].from) - TimeDelta::minutes(15);
            // Nobody is called to a coat that would not be finished before the window closes.
            if sanded.is_none_or(|sand| sand.owed) && opens <= call {
                ring("recoat_open", opens);
            }
            match sanded {
                None => assert!(behind[next].open_film),
                Some(sand) => {
                    ring("sandable", coat.to + hours(8));
                    if sand.owed {
                        ring("recoat_close", closes);
                        ring("last_call", call);
                    }
                }
            }
        }
    }
    all
}

fn at(moment: Time) -> String {
    moment.to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
}

#[test]
fn following_the_plan_day_by_day_rings_exactly_what_it_promised() {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", SCHEME);
    let begin: Time = "2026-05-04T16:00:00Z".parse().unwrap();
    hut.at(&at(begin), "scheme hut.toml").well();
    hut.at(&at(begin), "reading 20").well();
    let plan = hut.at(&at(begin), "plan --json").well().json();
    let steps = steps(&plan);
    let what: Vec<&str> = steps.iter().map(|step| step.what.as_str()).collect();
    assert!(what.contains(&"tape") && steps.iter().any(|step| step.open_film), "{what:?}");
    assert!(steps.iter().any(|step| step.owed), "the sill's evenings are too short for a pair");

    let mut happens: Vec<(Time, String)> = Vec::new();
    for step in &steps {
        let area = &step.area;
        match step.what.as_str() {
            "coat" => {
                happens.push((step.from, format!("coat {area}")));
                happens.push((step.to, format!("done {area}")));
            }
            "tape" => happens.push((step.to, format!("step {area} tape-{}", step.tape))),
            "mix" | "clean_up" => {}
            other => happens.push((step.to, format!("step {area} {other}"))),
        }
    }
    let end = steps.iter().map(|step| step.to).max().unwrap() + TimeDelta::hours(73);
    let mut rung: BTreeSet<Rung> = BTreeSet::new();
    let mut now = begin;
    let mut next = happens.into_iter().peekable();
    while now <= end {
        hut.at(&at(now), "reading 20").well();
        hut.at(&at(now), "watch --once --no-desktop").well();
        let until = now + TimeDelta::hours(1);
        while let Some((when, line)) = next.next_if(|(when, _)| *when < until) {
            // Somebody looks just before each step, and the alerts of that moment are raised.
            hut.at(&at(when), "watch --once --no-desktop").well();
            let ran = hut.at(&at(when), &line);
            assert_eq!(ran.status, Some(0), "{ran}");
        }
        now = until;
    }
    assert!(next.peek().is_none());
    for alert in hut.at(&at(end), "alerts --json").well().json().as_array().unwrap() {
        let text = |key: &str| alert[key].as_str().unwrap_or_default().to_owned();
        rung.insert((text("area"), text("kind"), text("due").parse().unwrap()));
    }
    assert_eq!(rung, promised(&steps));
}
