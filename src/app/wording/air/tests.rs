//! The lines of the air.

use super::*;
use crate::app::view::View;
use crate::testing::{Bench, at, library, words};

const TWO: &str = r#"
    name = "Hut"
    [[area]]
    name = "roof"
    square_metres = 6
    minutes_per_square_metre = 10
    steps = [{ coat = "varnish-quick" }, { coat = "varnish-quick" }]
    [[area]]
    name = "door"
    surface_lag = "4 h"
    steps = [{ coat = "paint-water" }, { coat = "paint-water" }]
"#;

fn told(bench: &Bench, minutes: i64) -> (Wording, Wording) {
    let library = library();
    let survey = bench.survey(&library, minutes);
    let line = View::of(&survey, &[], &words(), at(minutes)).air.remove(0);
    (line.film, line.coat)
}

#[test]
fn where_several_areas_want_a_coat_the_line_says_which_it_is_about() {
    let (film, next) = told(&Bench::steady(20.0, 0).scheme(TWO), 0);
    assert!(film.is_empty());
    assert_eq!(next.full, "Roof: GO. Only the air now was checked: there is no forecast.");
    let bench = Bench::steady(20.0, 10).scheme(TWO).coat("roof", "varnish-quick", 0, 5);
    let (film, next) = told(&bench, 10);
    assert_eq!(film.full, "Roof, still wet: the air is suitable now; there is no forecast.");
    assert_eq!(
        next.full, "Door: GO. Only the air now was checked: there is no forecast.",
        "the roof is not ready"
    );
}

#[test]
fn a_film_under_a_good_sky_is_not_ready_all_the_same() {
    let bench = Bench::steady(20.0, 10).coat("roof", "varnish-quick", 0, 5);
    let (_, next) = told(&bench, 10);
    assert!(next.word.starts_with("WAIT until "), "{}", next.word);
    assert!(next.full.contains(". The film is not ready before "), "{}", next.full);
}

#[test]
fn objections_have_three_lengths() {
    let bench = Bench::default().damp_reading(0, 6.0, 0.7).scheme(TWO);
    let (_, next) = told(&bench, 0);
    assert_eq!(
        next.full,
        "Roof: NO. Too cold: 6.0 °C, the product needs at least 8.0 °C. There is no forecast to say when that changes."
    );
    assert_eq!(next.brief, "Roof: NO (6.0 °C, needs 8.0 °C).");
    assert_eq!((next.word.as_str(), next.warns), ("NO", true));
}

#[test]
fn a_figure_that_rounds_to_its_limit_is_shown_as_just_beyond_it() {
    let (_, next) = told(&Bench::default().reading(0, 7.98).scheme(TWO), 0);
    assert!(next.full.contains("just below 8.0 °C, the product needs at least 8.0 °C"), "{}", next.full);
}

#[test]
fn a_wet_film_is_shown_with_all_threats_the_soonest_first() {
    let cold_and_damp = Bench::default().damp_reading(0, 7.0, 0.95).coat("roof", "varnish-quick", 0, 5);
    let (film, _) = told(&cold_and_damp, 10);
    assert!(film.full.starts_with("Roof, still wet: too cold: 7.0 °C"), "{}", film.full);
    assert!(film.full.contains("; dew: the surface is only 0.7 K above the dew point"), "{}", film.full);
    assert_eq!(film.word, "wet: cold now");
}

#[test]
fn a_stalled_film_is_shown_after_it_is_tack_free() {
    let bench = Bench::steady(20.0, 600).coat("roof", "varnish-quick", 0, 5).reading(700, 2.0);
    let (film, _) = told(&bench, 701);
    assert_eq!(film.full, "Roof: too cold, the film does not cure.");
    let (film, _) = told(&Bench::steady(20.0, 1000).coat("roof", "varnish-quick", 0, 5), 900);
    assert!(film.is_empty(), "dry, and warm: {film:?}");
}

#[test]
fn an_old_reading_suits_no_coat() {
    let bench = Bench::steady(10.0, 0).coat("roof", "varnish-quick", -60, -55);
    let (film, next) = told(&bench, 400);
    assert_eq!(film.word, "wet: read the thermometer");
    assert!(
        next.full.starts_with(
            "READ THE THERMOMETER. The last reading is 6 h 40 min old: read the thermometer first."
        ),
        "{}",
        next.full
    );
}

#[test]
fn without_a_hygrometer_dew_is_unknown() {
    let bench = Bench::default().coat("roof", "varnish-quick", 0, 5).dry_reading(0, 20.0);
    let (film, _) = told(&bench, 10);
    assert!(
        film.full.ends_with("there is no forecast; the humidity is unknown, so dew is possible."),
        "{}",
        film.full
    );
}

#[test]
fn a_window_that_shuts_before_the_air_does_is_what_a_coat_is_begun_by() {
    let bench = Bench::steady(20.0, 200).scheme(TWO).coat("roof", "varnish-quick", 0, 20);
    let library = library();
    let survey = bench.survey(&library, 180);
    let call = survey.areas[0].newest.as_ref().and_then(|coat| coat.last_call).unwrap();
    let by = words().when(call, at(180));
    let (_, next) = told(&bench, 180);
    let full = format!("Roof: GO until {by}. Start by then to finish the roof before the window closes ");
    assert!(next.full.starts_with(&full), "{}", next.full);
    assert_eq!(next.word, format!("GO until {by}"));
}

#[test]
fn a_film_that_the_scheme_sands_first_takes_no_coat_as_it_is() {
    let scheme = r#"
        name = "Hut"
        [[area]]
        name = "door"
        steps = [{ coat = "primer-alkyd" }, { sand = "240" }, { coat = "enamel-alkyd" }]
    "#;
    let bench = Bench::steady(20.0, 3000).scheme(scheme).coat("door", "primer-alkyd", 0, 20);
    let (_, next) = told(&bench, 120);
    assert!(next.full.starts_with("WAIT until "), "{}", next.full);
    assert!(next.full.contains("The scheme has sanding next: leave it alone until "), "{}", next.full);
    let (_, next) = told(&bench, 2900);
    assert_eq!(
        next.full,
        "SAND. The scheme has sanding next. Sand (grit 240), then second coat, enamel-alkyd."
    );
    let sanded = bench.step("door", crate::engine::job::StepKind::Sand, 2890);
    let (_, next) = told(&sanded, 2900);
    assert_eq!(next.full, "GO. Only the air now was checked: there is no forecast.");
}
