//! The settings, and the language of the place: units, the face of the clock, and faults in `config.toml`.

use crate::common::{Hut, Story, same};

#[test]
fn temperatures_are_read_and_shown_in_the_configured_unit() {
    let hut = Hut::new().with_varnish();
    hut.settings("[units]\ntemperature = \"F\"\n");
    let mut story = Story::of(&hut);
    story.tell("A bare number is in °F, and so are differences.");
    story.at("2026-05-01 08:00", "reading 60 --surface 59");
    story.at("2026-05-01 09:00", "reading 63");
    story.at("2026-05-01 09:00", "coat door hut-varnish --done");
    story.at("2026-05-01 09:30", "status");
    story.tell("A unit that is written wins.");
    story.at("2026-05-01 10:00", "reading 17C");
    story.at("2026-05-01 10:00", "record");
    story.ends("in_fahrenheit");
    // Machines read °C whatever the person reads.
    let json = hut.at("2026-05-01 10:00", "status --json").json();
    assert_eq!(json["air"]["temperature_c"], 17.0);
}

#[test]
fn the_clock_has_twelve_hours_where_the_locale_says_so() {
    let status = |hut: &Hut| {
        hut.at("2026-05-01 08:00", "reading 20").well();
        hut.at("2026-05-01 11:30", "coat door hut-varnish --done").well();
        hut.at("2026-05-01 11:30", "status").well().out
    };
    let american = Hut::new().with_varnish().with("LANG", "en_US.UTF-8");
    same("a_clock_of_twelve_hours", &status(&american));
    let german = status(&Hut::new().with_varnish().with("LANG", "de_DE.UTF-8"));
    assert!(german.contains("WAIT until 13:30") && german.contains("closes 16:30"), "{german}");
    // The time's own category comes before the language, and LC_ALL before that.
    let mixed = Hut::new().with_varnish().with("LANG", "en_US.UTF-8").with("LC_TIME", "de_DE.UTF-8");
    assert_eq!(status(&mixed), german);
    let all = Hut::new().with_varnish().with("LC_TIME", "de_DE.UTF-8").with("LC_ALL", "en_US.UTF-8");
    assert_eq!(status(&all), status(&american_again()));
    // And what is set comes before all.
    let set = Hut::new().with_varnish().with("LANG", "en_US.UTF-8");
    set.settings("clock = \"24h\"\n");
    assert_eq!(status(&set), german);
}

fn american_again() -> Hut {
    Hut::new().with_varnish().with("LANG", "en_US.UTF-8")
}

#[test]
fn a_time_can_be_typed_with_twelve_hours() {
    let hut = Hut::new().with("LANG", "en_US.UTF-8");
    hut.at("2026-05-01 2:20 pm", "reading 17").well();
    assert_eq!(hut.record()[0]["at"], "2026-05-01T12:20:00Z");
}

#[test]
fn an_error_in_the_settings_is_reported_with_its_file_and_cause() {
    let hut = Hut::new();
    hut.at("2026-05-01 10:00", "reading 17").well();
    let before = hut.record();
    let mut told = String::new();
    for text in [
        &b"[units]\ntemperature = \"K\"\n"[..],
        b"thermometer_eror = 1\n",
        b"[units\n",
        b"clock = \"13h\"\n",
        b"thermometer_error = 11\n",
        b"[alerts]\nclose = \"30\"\n",
        b"[alerts]\nrepeat = \"1 s\"\n",
        b"[alerts]\ncommand = \"notify me\"\n",
        b"colo\x1b[2Jur = 1\n",
        b"clock = \"\xff\"\n",
    ] {
        hut.settings(text);
        for line in ["status", "--at -1h reading 17"] {
            let ran = hut.run(line);
            assert_eq!((ran.status, ran.out.as_str()), (Some(2), ""), "{ran}");
            assert!(ran.err.contains("[hut]/config/curewright/config.toml"), "{ran}");
            if line == "status" {
                told += &ran.err;
                told.push('\n');
            }
        }
    }
    same("faults_in_the_settings", &told);
    hut.settings("");
    assert_eq!(hut.record(), before);
}

#[test]
fn the_settings_are_shown_and_what_is_shown_can_be_kept() {
    let hut = Hut::new();
    let shown = hut.run("config").well().out;
    assert!(
        shown.contains("[hut]/config/curewright/config.toml (not there: the values below apply)"),
        "{shown}"
    );
    assert!(shown.contains("# job: [hut]/data/curewright/job.db"), "{shown}");
    hut.settings(&shown);
    let kept = hut.run("config").well().out;
    assert!(kept.contains("config.toml (read)") && kept.ends_with(&shown), "{kept}");
}

#[test]
fn a_thermometer_that_is_surer_narrows_the_window() {
    let spread = |settings: &str| {
        let hut = Hut::new();
        hut.settings(settings);
        hut.at("2026-05-01 08:00", "reading 18").well();
        hut.at("2026-05-01 08:00", "coat roof epoxy-sealer --done").well();
        let json = hut.at("2026-05-01 08:00", "status --json").json();
        let open = &json["coats"][0]["stages"]["recoat_open"];
        let moment =
            |key: &str| open[key].as_str().unwrap().parse::<chrono::DateTime<chrono::Utc>>().unwrap();
        moment("latest") - moment("earliest")
    };
    assert!(spread("thermometer_error = 0.2") < spread("thermometer_error = 1.0"));
    assert_eq!(spread("thermometer_error = 1.0"), spread(""));
    assert!(spread("thermometer_error = 3.0") > spread(""));
}
