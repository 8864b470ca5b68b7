//! A typical year of hourly weather, its dry bulb taken as the temperature of the shop.
//!
//! Source: `year.csv`, columns of the Typical Meteorological Year 3 file of station 723170 (S. Wilcox and
//! W. Marion, NREL/TP-581-43156, 2008), and `year.json`, coats over it by adaptive quadrature with SciPy;
//! see `SOURCES.md`.

use curewright::engine::cure::{Bound, Course, History};
use curewright::engine::profile::Cure;
use serde::Deserialize;

use super::shop::{Coat, HOUR, PROMISED, after, assert_close, assert_moment, history, reading};

#[derive(Debug, Deserialize)]
struct Hour {
    hour: u32,
    temperature_c: f64,
    relative_humidity: f64,
}

#[derive(Debug, Deserialize)]
struct Dated {
    #[serde(flatten)]
    coat: Coat,
    start_hour: u32,
    /// (seconds, progress).
    probes: Vec<(f64, f64)>,
    crossing_s: Option<f64>,
}

fn year() -> History {
    let mut rows = csv::Reader::from_reader(include_str!("../../reference/year.csv").as_bytes());
    let hours: Vec<Hour> = rows.deserialize().map(Result::unwrap).collect();
    assert_eq!(hours.len(), 8760);
    history(
        hours
            .iter()
            .map(|h| reading(f64::from(h.hour) * HOUR, h.temperature_c, Some(h.relative_humidity / 100.0))),
    )
}

fn coats() -> Vec<Dated> {
    serde_json::from_str(include_str!("../../reference/year.json")).unwrap()
}

#[test]
fn coats_of_every_season_progress_as_quadrature_says() {
    let (year, coats) = (year(), coats());
    assert!(coats.len() >= 30);
    assert!(coats.iter().filter(|dated| dated.coat.cure != Cure::Reaction).count() >= 5);
    for quarter in 0..4 {
        let in_it = coats.iter().filter(|dated| dated.start_hour / 2190 == quarter).count();
        assert!(in_it >= 5, "quarter {quarter}: {in_it}");
    }
    for dated in coats {
        let table = dated.coat.table();
        let course = Course::new(&year, &table, dated.coat.law());
        let start = f64::from(dated.start_hour) * HOUR;
        for (seconds, expected) in dated.probes {
            println!("{} at {seconds} s", dated.coat.name);
            let progress = course.progress(after(start), after(start + seconds), Bound::AsRead);
            assert_close(progress, expected, PROMISED);
        }
        let crossing = course.crossing(after(start), 1.0, Bound::AsRead);
        assert_moment(crossing, after(start), dated.crossing_s, &dated.coat.name);
    }
}

#[test]
fn a_year_starts_anywhere_without_a_change_to_its_sum() {
    let year = year();
    for dated in coats() {
        let table = dated.coat.table();
        let course = Course::new(&year, &table, dated.coat.law());
        let between =
            |from: f64, to: f64| course.progress(after(from * HOUR), after(to * HOUR), Bound::AsRead);
        let start = f64::from(dated.start_hour);
        assert_close(
            between(0.0, start + 0.3) + between(start + 0.3, 9000.0),
            between(0.0, 9000.0),
            PROMISED,
        );
    }
}
