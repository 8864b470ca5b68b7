//! What a report finds, as a finisher would tell it.

use super::*;
use crate::app::report::text::Tell;
use crate::engine::job::{Amount, EntryKind, StepKind};
use crate::engine::units::{Micrometres, Millilitres, Money};
use crate::testing::{Bench, words};

/// Open from 2 to 5 h, sandable after 8, tape off within 90 min, tack-free after 1, at every temperature.
const VARNISH: &str = r#"
schema = 1
id = "even-varnish"
name = "Varnish that minds no temperature"
family = "varnish"
cure = "reaction"
basis = "a test"
[application]
air = [12, 25]
humidity_max = 80
dew_margin = 3
stall_below = 8
[film]
volume_solids = 50
wet = [60, 90]
wet_on_wet_coats = 2
[stages]
tack_free = [{ at = 10, time = "1 h" }, { at = 30, time = "1 h" }]
tape_by   = [{ at = 10, time = "90 min" }, { at = 30, time = "90 min" }]
sandable  = [{ at = 10, time = "8 h" }, { at = 30, time = "8 h" }]
full_cure = [{ at = 10, time = "3 d" }, { at = 30, time = "3 d" }]
[[recoat]]
next  = ["even-varnish"]
open  = [{ at = 10, time = "2 h" }, { at = 30, time = "2 h" }]
close = [{ at = 10, time = "5 h" }, { at = 30, time = "5 h" }]
wash  = true
"#;

fn library() -> Library {
    let mut library = Library::built_in();
    library.with_file("even-varnish.toml".into(), VARNISH.into());
    library
}

/// What was outside the limits of the roof: the coat, the key, whether it is sure.
fn found(bench: &Bench) -> Vec<(usize, &'static str, bool)> {
    let report = bench.report(&library(), 3000);
    report.findings().map(|(_, coat, finding)| (coat.layer, finding.what.code(), finding.sure)).collect()
}

/// The same in words.
fn told(bench: &Bench) -> Vec<String> {
    let (report, words) = (bench.report(&library(), 3000), words());
    report.findings().map(|(_, _, finding)| Tell::new(&words).finding(finding)).collect()
}

fn coats(bench: Bench, minutes: &[i64]) -> Bench {
    minutes.iter().fold(bench, |bench, from| bench.coat("roof", "even-varnish", *from, from + 20))
}

fn shop() -> Bench {
    Bench::steady(20.0, 3000)
}

#[test]
fn a_coat_in_suitable_air_on_ready_ground_has_no_findings() {
    assert_eq!(found(&coats(shop(), &[0, 180])), []);
    let sanded = coats(shop(), &[0]).step("roof", StepKind::Wash, 600).step("roof", StepKind::Sand, 610);
    assert_eq!(found(&coats(sanded, &[700])), []);
}

#[test]
fn air_that_is_too_cold_is_reported_with_its_value() {
    let cold = coats(shop().damp_reading(25, 8.5, 0.5), &[0]);
    assert_eq!(found(&cold), [(1, "too_cold", true)]);
    assert_eq!(
        told(&cold),
        [
            "Colder than the product allows: 8.5 °C at the coldest, 12.0 °C needed (Sat 2 May 2026 08:23 … 08:26 \
          for 3 min)."
        ]
    );
    let nearly = coats(shop().damp_reading(25, 11.5, 0.5), &[0]);
    assert_eq!(found(&nearly), [(1, "too_cold", false)], "within the thermometer's error");
    let later = coats(shop().damp_reading(205, 10.5, 0.5), &[0]);
    assert_eq!(found(&later), [], "once it is tack-free the film is not wet");
}

#[test]
fn damp_counts_while_it_is_applied_and_dew_while_it_is_wet() {
    assert_eq!(found(&coats(shop().damp_reading(15, 20.0, 0.815), &[0])), [(1, "too_damp", true)]);
    assert_eq!(found(&coats(shop().damp_reading(45, 20.0, 0.82), &[0])), []);
    let bloom = coats(shop().damp_reading(45, 20.0, 0.99), &[0]);
    assert_eq!(found(&bloom), [(1, "dew_margin", true)]);
    assert!(
        told(&bloom)[0].contains("0.2 K above the dew point while the film was wet; it must be 3.0 K above")
    );
}

#[test]
fn a_stalled_film_is_reported_with_its_duration() {
    let mut bench = Bench::default();
    for minutes in (-2880..=3000).step_by(10) {
        let air = if (60..=180).contains(&minutes) { 5.0 } else { 13.0 };
        bench = bench.damp_reading(minutes, air, 0.4);
    }
    let stood = told(&coats(bench, &[0]));
    assert!(stood.iter().any(|text| text.contains("did not cure in the cold for 2 h 0")), "{stood:?}");
}

#[test]
fn a_coat_at_the_wrong_moment_is_reported() {
    let early = coats(shop(), &[0, 60]);
    assert_eq!(found(&early), [(2, "too_early", true)]);
    assert_eq!(
        told(&early),
        ["It started too early, at Sat 2 May 2026 09:00: the film below was ready at Sat 2 May 2026 10:20."]
    );
    assert_eq!(found(&coats(shop(), &[0, 400])), [(2, "too_late", true)]);
    assert_eq!(found(&coats(shop(), &[0, 700])), [(2, "not_prepared", true)]);
    let unwashed = coats(shop(), &[0]).step("roof", StepKind::Sand, 650);
    let told = told(&coats(unwashed, &[700]));
    assert!(told[0].starts_with("No washing of the hard film below is recorded"), "{told:?}");
}

#[test]
fn work_too_soon_or_too_late_is_reported() {
    let soft = coats(shop(), &[0]).step("roof", StepKind::Sand, 400);
    assert_eq!(found(&soft), [(1, "sanded_soft", true)]);
    let begun_soft = EntryKind::step("roof", StepKind::Sand, Some(60));
    assert_eq!(found(&coats(shop(), &[0]).entry(540, begun_soft)), [(1, "sanded_soft", true)]);
    let late = coats(shop().step("roof", StepKind::TapeOn, -5), &[0]).step("roof", StepKind::TapeOff, 95);
    assert_eq!(found(&late), [(1, "tape_late", true)]);
    assert!(told(&late)[0].contains("the limit was Sat 2 May 2026 09:30"));
}

#[test]
fn what_is_perhaps_so_is_called_perhaps() {
    let bench = |next: i64| {
        let bench = Bench::steady(20.0, 3000).coat("roof", "varnish-two-part", 0, 20);
        bench.coat("roof", "varnish-two-part", next, next + 20)
    };
    // At 20 °C it opens after 3 h; with a degree less, some minutes later.
    let window = bench(3000).report(&library(), 3000);
    let opens = window.areas[0].coats[0].calculated.as_ref().unwrap().stages[0].1;
    let minutes = |moment: Option<Moment>| (moment.unwrap() - crate::testing::at(0)).num_minutes();
    let between = (minutes(opens.at) + minutes(opens.latest)) / 2;
    let found = |next| {
        let report = bench(next).report(&library(), 3000);
        report.findings().map(|(_, _, finding)| (finding.what.code(), finding.sure)).collect::<Vec<_>>()
    };
    assert_eq!(found(between), [("too_early", false)]);
    assert_eq!(found(minutes(opens.earliest) - 5), [("too_early", true)]);
    assert_eq!(found(minutes(opens.latest) + 2), []);
}

#[test]
fn films_are_held_against_what_is_asked() {
    let film = |spots: &[f64]| EntryKind::WetFilm {
        area: "roof".into(),
        micrometres: spots.iter().map(|spot| Micrometres::new(*spot)).collect(),
    };
    let measured = coats(shop(), &[0]).entry(15, film(&[55.0, 75.0, 95.0]));
    assert_eq!(found(&measured), [(1, "film_thin", true), (1, "film_thick", true)]);
    let report = measured.report(&library(), 3000);
    let dry = report.areas[0].coats[0].dry.unwrap();
    assert!((dry.micrometres() - 37.5).abs() < 1e-9, "half of the mean stays");
    assert_eq!(found(&coats(shop(), &[0, 180, 360])), [(3, "too_many_wet", true)]);
}

/// A coat of two-part varnish, taken from a batch that was mixed at 08:00.
fn from_a_batch(bench: Bench, from: i64, to: i64) -> Bench {
    let coat = EntryKind::Coat {
        area: "roof".into(),
        product: "varnish-two-part".into(),
        next: None,
        finished: false,
        batch: Some(crate::engine::job::EntryId(1)),
        why: None,
    };
    bench.entry(from, coat).entry(to, EntryKind::Finished { area: "roof".into() })
}

#[test]
fn a_coat_from_a_batch_past_its_pot_life_is_reported_and_one_in_time_is_not() {
    let varnish = || Bench::steady(20.0, 3000).batch("varnish-two-part", 300.0, 0);
    let library = Library::built_in();
    let survey = varnish().survey(&library, 600);
    let usable = survey.batches[0].standing.as_ref().unwrap().usable;
    let minutes = |moment: Option<Moment>| (moment.unwrap() - crate::testing::at(0)).num_minutes();
    let (earliest, latest) = (minutes(usable.earliest), minutes(usable.latest));
    assert!(earliest + 5 < latest, "{earliest} {latest}");
    let of = |from, to| found(&from_a_batch(varnish(), from, to));
    assert_eq!(of(20, 50), []);
    assert_eq!(of(5, 50), [(1, "batch_early", true)], "it stands for 10 minutes first");
    assert_eq!(of(earliest + 2, earliest + 30), [(1, "batch_over", false)]);
    assert_eq!(of(latest + 1, latest + 30), [(1, "batch_over", true)]);
    // Begun in time, and still spread when it was over.
    assert_eq!(of(earliest - 20, latest + 5), [(1, "batch_outspread", false)]);
    let two = varnish().batch("varnish-two-part", 300.0, earliest - 15);
    assert_eq!(found(&from_a_batch(two, earliest - 20, latest + 5)), [], "finished from another");
    let gone = EntryKind::Emptied { batch: crate::engine::job::EntryId(1) };
    let gone = from_a_batch(varnish(), earliest - 20, latest + 5).entry(earliest - 10, gone);
    assert_eq!(found(&gone), [], "it was used up in time");
    let late = told(&from_a_batch(varnish(), earliest + 26, earliest + 40));
    assert!(
        late[0].contains("it was taken from batch 1 at ")
            && late[0].contains(", 25 min after its pot life was over at the earliest (usable until "),
        "{late:?}"
    );
}

#[test]
fn what_cannot_be_calculated_is_reported() {
    let unread = coats(Bench::default(), &[0]).report(&library(), 3000);
    let coat = &unread.areas[0].coats[0];
    assert_eq!(coat.calculated.as_ref().map(|r| r.assumed.clone()), Some(vec![Assumption::NoReading]));
    assert_eq!(
        Tell::no_findings(&unread),
        "There are no readings from the time when a film was wet: nothing can be checked."
    );
    let gone = shop().coat("roof", "gone-paint", 0, 20).report(&library(), 3000);
    assert!(gone.areas[0].coats[0].calculated.is_none());
    assert_eq!(Tell::new(&words()).facts(&gone.areas[0].coats[0]).last().unwrap().0, "Calculated");
    let empty = Bench::default().report(&library(), 3000);
    assert_eq!((empty.areas.len(), empty.span()), (0, None));
}

const SCHEME: &str = r#"
name = "Hut"
[[area]]
name = "roof"
square_metres = 5
minutes_per_square_metre = 6
steps = [{ coat = "even-varnish" }, { sand = "320", minutes = 40 }, { coat = "even-varnish" }]
[[area]]
name = "sill"
steps = [{ coat = "even-varnish" }]
"#;

#[test]
fn hours_stand_beside_what_the_scheme_gives() {
    let bench = coats(shop().scheme(SCHEME), &[0]);
    let work = EntryKind::Work { area: Some("tidying".into()), minutes: 25 };
    let report = bench.entry(700, work).report(&library(), 3000);
    let rows = Tell::hours(&report).map_rows();
    assert_eq!(
        rows,
        [
            "roof | 20 min | 30 min | 1 h 40 min",
            "sill | 0 min | – | –",
            "tidying | 25 min | – | –",
            "In all | 45 min | 30 min | 1 h 40 min",
        ]
    );
}

trait MapRows {
    fn map_rows(self) -> Vec<String>;
}

impl MapRows for Vec<[String; 4]> {
    fn map_rows(self) -> Vec<String> {
        self.iter().map(|row| row.join(" | ")).collect()
    }
}

fn bought(price: Option<&str>, lot: Option<&str>) -> EntryKind {
    EntryKind::Stock {
        product: "even-varnish".into(),
        amount: Amount::VolumeMl(Millilitres::new(750.0)),
        price: price.map(str::to_owned),
        lot: lot.map(str::to_owned),
    }
}

#[test]
fn prices_add_up_to_the_last_figure_and_lots_go_with_the_coats_after_them() {
    let bench = shop()
        .entry(-90, bought(Some("24.90"), Some("A-7")))
        .entry(-80, bought(Some("0.1"), Some("A-7")))
        .entry(-70, bought(Some("0.2"), None))
        .entry(-60, bought(None, Some("B-1")));
    let bench = coats(bench, &[0]).entry(300, bought(Some("1000"), Some("C-3")));
    let report = bench.report(&library(), 3000);
    assert_eq!(report.money.paid.map(Tell::money), Some("1025.20".into()));
    assert_eq!(report.money.unpriced, 1);
    assert_eq!(Tell::paid(&report), "In all 1025.20. One has no price.");
    assert_eq!(report.areas[0].coats[0].lots, ["A-7", "B-1"]);
}

proptest::proptest! {
    /// Against whole cents.
    #[test]
    fn money_is_exact(cents in proptest::collection::vec(0..100_000_000_u64, 1..40)) {
        let bench = cents.iter().fold(Bench::default(), |bench, cents| {
            bench.entry(0, bought(Some(&format!("{}.{:02}", cents / 100, cents % 100)), None))
        });
        let paid = bench.report(&Library::built_in(), 60).money.paid.unwrap();
        let sum: u64 = cents.iter().sum();
        proptest::prop_assert_eq!(paid, Money::parse(&format!("{}.{:02}", sum / 100, sum % 100)).unwrap());
    }
}

#[test]
fn notes_stand_where_they_belong() {
    let note = |area: Option<&str>, entry: Option<i64>, text: &str| EntryKind::Note {
        area: area.map(str::to_owned),
        entry: entry.map(crate::engine::job::EntryId),
        text: text.into(),
        photo: None,
    };
    let bench = coats(shop(), &[0])
        .entry(30, note(Some("roof"), Some(1), "a run"))
        .entry(31, note(Some("ROOF"), None, "dusty"))
        .entry(32, note(None, None, "more paper"))
        .entry(33, note(Some("cellar"), None, "damp"));
    let report = bench.report(&library(), 3000);
    let texts = |notes: &[Note]| notes.iter().map(|note| note.text.clone()).collect::<Vec<_>>();
    assert_eq!(texts(&report.areas[0].coats[0].notes), ["a run"]);
    assert_eq!(texts(&report.areas[0].notes), ["dusty"]);
    assert_eq!(texts(&report.notes), ["more paper", "damp"]);
}
