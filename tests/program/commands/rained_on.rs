//! Rain on a wet film.

use crate::common::Hut;

#[test]
fn rain_on_the_wet_film_is_in_the_verdict_of_the_next_coat() {
    let hut = Hut::new();
    let hours = |days: u32| {
        (1..=days).flat_map(|day| (0..24).map(move |hour| (day, hour))).map(|(day, hour)| {
            let rain = if day == 1 && (13..15).contains(&hour) { 3 } else { 0 };
            format!("2026-05-{day:02} {hour:02}:00,17,50,{rain}\n")
        })
    };
    hut.write("week.csv", format!("time,temperature,humidity,rain\n{}", hours(4).collect::<String>()));
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[[area]]\nname = \"wall\"\nplace = \"outdoors\"\nground = \"sealed\"\nsquare_metres = 3\n\
         minutes_per_square_metre = 5\nsteps = [{ coat = \"paint-water\" }, { coat = \"paint-water\" }]\n",
    );
    hut.at("2026-05-01 07:00", "scheme hut.toml").well();
    hut.at("2026-05-01 07:00", "forecast week.csv").well();
    hut.at("2026-05-01 12:30", "reading 17 --humidity 50").well();
    hut.at("2026-05-01 12:30", "coat wall --done").well();
    hut.at("2026-05-01 19:00", "reading 17 --humidity 50").well();
    let warns = "Rain may have fallen on the wet film (13:00): look at it before you go on.";
    let check = hut.at("2026-05-01 19:30", "check wall");
    assert!(check.out.starts_with("GO until ") && check.out.contains(warns), "{check}");
    assert!(hut.at("2026-05-01 19:30", "status").well().out.contains(warns));
}

#[test]
fn a_logger_is_imported_to_the_first_place_of_the_job() {
    let hut = Hut::new();
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[[area]]\nname = \"wall\"\nplace = \"outdoors\"\nsteps = [{ coat = \"paint-water\" }]\n",
    );
    hut.at("2026-05-01 07:00", "scheme hut.toml").well();
    hut.write("log.csv", "time,temperature\n2026-05-01 07:00,17\n");
    hut.at("2026-05-01 08:00", "import log.csv").well();
    let status = hut.at("2026-05-01 08:00", "status --json").well().json();
    assert_eq!(status["air"]["place"], "outdoors", "{status}");
    assert_eq!(status["air"]["temperature_c"], 17.0, "{status}");
}
