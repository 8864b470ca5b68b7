//! The lines of the air.

use super::*;
use crate::app::view::View;
use crate::engine::profile::Library;
use crate::testing::{Bench, at, words};

const TWO: &str = r#"
    name = "Hut"
    [[area]]
    name = "roof"
    square_metres = 6
    minutes_per_square_metre = 10
    steps = [{ coat = "varnish-two-part" }, { coat = "varnish-two-part" }]
    [[area]]
    name = "door"
    surface_lag = "4 h"
    steps = [{ coat = "paint-water" }, { coat = "paint-water" }]
"#;

fn told(bench: &Bench, minutes: i64) -> (Wording, Wording) {
    let library = Library::built_in();
    let survey = bench.survey(&library, minutes);
    let line = View::of(&survey, &[], &words(), at(minutes)).air.remove(0);
    (line.film, line.fitness)
}

#[test]
fn where_several_areas_want_a_coat_the_line_says_which_it_is_about() {
    let (film, next) = told(&Bench::steady(20.0, 0).scheme(TWO), 0);
    assert!(film.is_empty());
    assert_eq!(next.full, "Fit to coat the roof now; what comes is not foreseen.");
    let bench = Bench::steady(20.0, 10).scheme(TWO).coat("roof", "varnish-two-part", 0, 5);
    let (film, next) = told(&bench, 10);
    assert_eq!(film.full, "Roof, still wet: the air suits it now; what comes is not foreseen.");
    assert_eq!(next.full, "Fit to coat the door now; what comes is not foreseen.", "the roof is not ready");
}

#[test]
fn a_film_under_a_good_sky_is_not_ready_all_the_same() {
    let bench = Bench::steady(20.0, 10).coat("roof", "varnish-two-part", 0, 5);
    let (_, next) = told(&bench, 10);
    assert_eq!(next.word, "air fit, film not ready");
    assert!(next.full.starts_with("The air suits the next coat, but the coat under it is not ready before "));
}

#[test]
fn what_speaks_against_it_is_told_in_three_lengths() {
    let bench = Bench::default().damp_reading(0, 6.0, 0.7).scheme(TWO);
    let (_, next) = told(&bench, 0);
    assert_eq!(
        next.full,
        "Not fit to coat the roof: too cold: 6.0 °C, the product asks for 8.0 °C at least."
    );
    assert_eq!(next.brief, "Not fit (roof): 6.0 °C, 8.0 °C asked.");
    assert_eq!((next.word.as_str(), next.warns), ("not fit: cold", true));
}

#[test]
fn a_figure_that_rounds_to_its_limit_is_told_as_just_beyond_it() {
    let (_, next) = told(&Bench::default().reading(0, 7.98).scheme(TWO), 0);
    assert!(next.full.contains("just under 8.0 °C, the product asks for 8.0 °C"), "{}", next.full);
}

#[test]
fn a_wet_film_is_told_of_with_all_that_threatens_it_the_soonest_first() {
    let cold_and_damp = Bench::default().damp_reading(0, 7.0, 0.95).coat("roof", "varnish-two-part", 0, 5);
    let (film, _) = told(&cold_and_damp, 10);
    assert!(film.full.starts_with("Roof, still wet: too cold: 7.0 °C"), "{}", film.full);
    assert!(film.full.contains("; the surface is 0.7 K over the dew point"), "{}", film.full);
    assert_eq!(film.word, "wet: cold now");
}

#[test]
fn a_film_that_stands_still_is_told_of_after_it_is_tack_free() {
    let bench = Bench::steady(20.0, 600).coat("roof", "varnish-two-part", 0, 5).reading(700, 2.0);
    let (film, _) = told(&bench, 701);
    assert_eq!(film.full, "Roof: too cold, the film stands still.");
    let (film, _) = told(&Bench::steady(20.0, 1000).coat("roof", "varnish-two-part", 0, 5), 900);
    assert!(film.is_empty(), "dry, and warm: {film:?}");
}

#[test]
fn an_old_reading_suits_nothing() {
    let bench = Bench::steady(10.0, 0).coat("roof", "varnish-two-part", -60, -55);
    let (film, next) = told(&bench, 400);
    assert_eq!(film.word, "wet: unread");
    assert_eq!(next.full, "Not fit to coat: the last reading is 6 h 40 min old; read the thermometer first.");
}

#[test]
fn without_a_hygrometer_dew_cannot_be_told() {
    let bench = Bench::default().coat("roof", "varnish-two-part", 0, 5).dry_reading(0, 20.0);
    let (film, _) = told(&bench, 10);
    assert!(
        film.full.ends_with("what comes is not foreseen; the humidity is not known, so neither is dew."),
        "{}",
        film.full
    );
}

#[test]
fn a_window_that_shuts_before_the_air_does_is_what_a_coat_is_begun_by() {
    let bench = Bench::steady(20.0, 200).scheme(TWO).coat("roof", "varnish-two-part", 0, 20);
    let library = Library::built_in();
    let survey = bench.survey(&library, 180);
    let call = survey.areas[0].newest.as_ref().and_then(|coat| coat.last_call).unwrap();
    let by = words().when(call, at(180));
    let (_, next) = told(&bench, 180);
    assert_eq!(next.full, format!("Fit to coat the roof, begun by {by} to finish before the window closes."));
    assert_eq!(next.word, format!("fit, begin by {by}"));
}

#[test]
fn what_the_scheme_sands_first_is_not_fit_as_it_is() {
    let scheme = r#"
        name = "Hut"
        [[area]]
        name = "door"
        steps = [{ coat = "primer-alkyd" }, { sand = "240" }, { coat = "enamel-alkyd" }]
    "#;
    let bench = Bench::steady(20.0, 3000).scheme(scheme).coat("door", "primer-alkyd", 0, 20);
    let (_, next) = told(&bench, 120);
    assert!(next.full.contains("but the coat under it is not ready before "), "{}", next.full);
    let (_, next) = told(&bench, 2900);
    assert_eq!(next.full, "The air suits the next coat, but the scheme sands it first.");
    let sanded = bench.step("door", crate::engine::job::StepKind::Sand, 2890);
    let (_, next) = told(&sanded, 2900);
    assert_eq!(next.full, "Fit to coat now; what comes is not foreseen.");
}
