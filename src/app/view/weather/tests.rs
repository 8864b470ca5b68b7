//! The weather of a simulated job: warm dry days, cold nights near the dew point.

use std::f64::consts::TAU;

use super::*;
use crate::engine::air::Origin;
use crate::engine::air::OutdoorHour;
use crate::engine::job::StepKind;
use crate::engine::profile::Library;
use crate::engine::units::{Humidity, Millimetres};
use crate::testing::{Bench, at, words};

/// `minutes` after Saturday 08:00: a daily cycle with its maximum at 15:00.
fn day(minutes: i64, mean: f64, swing: f64) -> f64 {
    mean + swing * ((minutes as f64 / 60.0 - 7.0) / 24.0 * TAU).cos()
}

/// A shop that follows the outdoors, with five days of readings and a forecast of `ahead` hours.
fn bench(ahead: i64) -> Bench {
    let mut bench = Bench::default()
        .coat("Roof", "epoxy-sealer", -2880, -2820)
        .step("Roof", StepKind::Wash, -60)
        .step("Roof", StepKind::Sand, -30);
    for hour in -120..=0 {
        bench = bench.reading(hour * 60, day(hour * 60 - 120, 12.0, 4.0));
    }
    for hour in -130..=ahead {
        let rains = (26..30).contains(&hour);
        bench = bench.outdoor_hour(OutdoorHour {
            at: at(hour * 60),
            air: Celsius::new(day(hour * 60, 9.0, 7.0)),
            humidity: Some(Humidity::from_fraction(day(hour * 60 + 720, 0.75, 0.2))),
            rain: Some(Millimetres::new(if rains { 1.5 } else { 0.0 })),
            wind: None,
        });
    }
    bench
}

fn seen(bench: &Bench, now: i64) -> WeatherView {
    let library = Library::built_in();
    let survey = bench.survey(&library, now);
    WeatherView::all(&survey, &words(), at(now)).remove(0)
}

#[test]
fn four_days_on_one_grid() {
    let weather = seen(&bench(96), 7);
    let samples = &weather.samples;
    assert!(samples.windows(2).all(|pair| pair[1].at - pair[0].at == EVERY));
    assert!(samples[0].at <= at(7) - BEFORE && samples[samples.len() - 1].at >= at(7) + AHEAD);
    assert!(samples.len() < 200, "{}", samples.len());
    assert!(samples.iter().all(|sample| sample.forecast == (sample.at > at(0))));
    assert!(samples.iter().all(|sample| sample.air.is_some() && sample.outdoor.is_some()));
    let rainy: Vec<_> = samples.iter().filter(|sample| sample.rain > 0.0).map(|sample| sample.at).collect();
    assert_eq!((rainy.first(), rainy.last()), (Some(&at(26 * 60)), Some(&(at(30 * 60) - EVERY))));
}

#[test]
fn the_stretches_have_no_gaps_and_their_slots_are_those_of_the_check() {
    let (bench, library) = (bench(96), Library::built_in());
    let survey = bench.survey(&library, 7);
    let fitness = survey.areas[0].judgement.clone();
    let weather = WeatherView::all(&survey, &words(), at(7)).remove(0);
    let stretches = &weather.stretches;
    assert_eq!(stretches.first().map(|part| part.from), Some(at(7)));
    assert!(stretches.windows(2).all(|pair| pair[0].to == pair[1].from), "{stretches:?}");
    assert!(stretches.iter().all(|part| part.from < part.to && !part.word.is_empty()));
    let fits: Vec<_> = stretches.iter().filter(|part| part.fits).map(|part| part.from).collect();
    let slots = fitness.map(|fitness| fitness.slots).unwrap_or_default();
    let slots: Vec<_> = slots.iter().map(|slot| slot.0).filter(|from| *from < at(7) + AHEAD).collect();
    assert_eq!(fits, slots);
}

#[test]
fn unknown_values_are_not_shown() {
    let alone = seen(&bench(0), 7);
    let ahead = |sample: &&Sample| sample.at > at(7);
    assert!(alone.samples.iter().filter(ahead).all(|sample| sample.air.is_none() && !sample.near_dew));
    assert!(alone.stretches.is_empty() && alone.slots.is_empty());
    assert_eq!(alone.rests_on, ["There is no forecast (curewright forecast)."]);
    let unread = seen(&Bench::default().coat("Roof", "epoxy-sealer", -2880, -2820), 7);
    assert!(unread.samples.iter().all(|sample| sample.air.is_none() && sample.forecast));
    let nothing = Bench::default();
    let library = Library::built_in();
    assert!(WeatherView::all(&nothing.survey(&library, 0), &words(), at(0)).len() <= 1);
}

#[test]
fn a_slot_is_shown_with_its_days() {
    let words = words();
    let told = |from, to| words.slot((at(from), at(to)), at(0));
    assert_eq!(told(100, 220), "Sat 09:40 … 11:40");
    assert_eq!(told(-5, 220), "now … 11:40");
    assert_eq!(told(600, 1500), "Sat 18:00 … Sun 09:00");
}

#[test]
fn each_objection_has_its_word() {
    let weather = seen(&bench(96), 7);
    let words: Vec<_> = weather.stretches.iter().map(|part| part.word).collect();
    assert_eq!(
        words,
        ["cold", "OK", "then cold", "cold", "OK", "then cold", "cold", "OK", "then cold", "cold"]
    );
    assert_eq!(weather.about, "Roof, epoxy-sealer");
    assert_eq!(weather.slots[0], "Sat 09:37 … 17:37");
    assert!(weather.verdict.starts_with("WAIT until 09:37. Too cold"), "{}", weather.verdict);
    let lag = "The forecast reaches until Wed 08:00: the shop follows the outdoor air within 3 h ";
    assert!(weather.rests_on[0].starts_with(lag), "{:?}", weather.rests_on);
}

#[test]
fn a_film_that_is_not_ready_is_shown_beside_the_air() {
    let weather = seen(&bench(96).coat("Roof", "epoxy-sealer", -10, -5), 300);
    let verdict = &weather.verdict;
    assert!(verdict.starts_with("WAIT until "), "{verdict}");
    assert!(verdict.contains("The film is not ready before "), "{verdict}");
    assert_eq!(weather.stretches[0].word, "not ready");
}

#[test]
fn the_forecast_is_shown_with_its_age_and_its_credit() {
    let told = |origin: Origin, met_norway: bool| {
        seen(&bench(96).forecast(-173, origin, met_norway), 7).rests_on[0].clone()
    };
    let file = told(Origin::File("week.csv".into()), false);
    assert_eq!(file, "The forecast of week.csv is 3 h old.");
    let service = told(Origin::Service("api.example.org".into()), true);
    assert_eq!(service, "The forecast of api.example.org is 3 h old. Data: MET Norway (CC BY 4.0).");
    let ended = seen(&bench(0).forecast(-1500, Origin::File("week.csv".into()), false), 7).rests_on;
    assert!(ended[1].starts_with("The forecast has ended"), "{ended:?}");
    assert_eq!(ended[0], "The forecast of week.csv is 1 d 1 h old.");
}
