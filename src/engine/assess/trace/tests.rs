use super::*;
use crate::engine::profile::Library;
use crate::testing::{Bench, at};

fn traced(bench: &Bench, now: i64) -> CoatTrace {
    let library = Library::built_in();
    let survey = bench.survey(&library, now);
    let roof = survey.area("roof").unwrap();
    survey.trace(bench, roof, roof.newest.as_ref().unwrap(), None).unwrap()
}

#[test]
fn the_progress_ends_where_the_window_opens() {
    let bench = Bench::steady(20.0, 3000).coat("roof", "varnish-two-part", 0, 30);
    let library = Library::built_in();
    let survey = bench.survey(&library, 3000);
    let roof = survey.area("roof").unwrap();
    let coat = roof.newest.as_ref().unwrap();
    let trace = survey.trace(&bench, roof, coat, None).unwrap();
    assert_eq!(trace.goal, Some(Stage::RecoatOpen));
    let opens = coat.standing.stage(Stage::RecoatOpen).and_then(|times| times.at).unwrap();
    let before = trace.samples.iter().rev().find(|sample| sample.progress < 1.0).unwrap();
    let after = trace.samples.iter().find(|sample| sample.progress >= 1.0).unwrap();
    assert!(before.at <= opens && opens <= after.at, "{} {opens} {}", before.at, after.at);
    assert!(trace.samples.is_sorted_by_key(|sample| sample.at));
    assert!(trace.samples.is_sorted_by(|a, b| a.progress <= b.progress));
}

#[test]
fn what_was_read_while_the_film_was_wet_is_all_there() {
    let bench = Bench::steady(20.0, 600).damp_reading(61, 19.0, 0.9).coat("roof", "varnish-two-part", 0, 30);
    let trace = traced(&bench, 600);
    let coldest = trace.wet.iter().min_by(|a, b| a.air.degrees().total_cmp(&b.air.degrees())).unwrap();
    assert_eq!((coldest.at, coldest.air.degrees()), (at(61), 19.0));
    assert_eq!(trace.wet.first().map(|sample| sample.at), Some(at(0)));
    assert_eq!(trace.wet.last().map(|sample| sample.at), Some(trace.wet_until));
    let (dew, margin) = (coldest.dew.unwrap().degrees(), coldest.margin.unwrap().kelvin());
    assert!((17.0..17.6).contains(&dew), "{dew}");
    assert!((margin - (coldest.surface.unwrap().degrees() - dew)).abs() < 1e-9);
}

#[test]
fn beyond_the_readings_the_air_is_assumed_and_without_any_it_is_not_known() {
    let bench = Bench::default().reading(60, 20.0).reading(120, 20.0).coat("roof", "varnish-two-part", 0, 30);
    let trace = traced(&bench, 150);
    let assumed = |minutes: i64| {
        let sample = trace.samples.iter().find(|sample| sample.at >= at(minutes)).unwrap();
        sample.air.unwrap().assumed
    };
    assert!(assumed(0) && !assumed(70) && assumed(140));
    let unread = traced(&Bench::default().coat("roof", "varnish-two-part", 0, 30), 150);
    assert!(unread.wet.is_empty());
    assert!(unread.samples.iter().all(|sample| sample.air.is_none() && sample.progress == 0.0));
}

#[test]
fn a_coat_that_is_being_applied_has_come_nowhere_yet() {
    let bench = Bench::steady(20.0, 600);
    let coat = crate::engine::job::EntryKind::Coat {
        area: "roof".into(),
        product: "varnish-two-part".into(),
        next: None,
        finished: false,
        batch: None,
        why: None,
    };
    let trace = traced(&bench.entry(0, coat), 20);
    assert!(trace.samples.iter().all(|sample| sample.progress == 0.0));
    assert_eq!(trace.wet_until, at(20));
}
