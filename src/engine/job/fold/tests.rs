use chrono::TimeDelta;
use proptest::prelude::*;

use super::*;
use crate::engine::job::{SchemeStep, StepKind};

fn at(minutes: i64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
}

fn entry(id: i64, minutes: i64, kind: EntryKind) -> Entry {
    Entry { id: EntryId(id), at: at(minutes), recorded: at(minutes), kind }
}

fn coat(area: &str, product: &str) -> EntryKind {
    EntryKind::Coat {
        area: area.into(),
        product: product.into(),
        next: None,
        finished: false,
        batch: None,
        why: None,
    }
}

fn finished(area: &str) -> EntryKind {
    EntryKind::Finished { area: area.into() }
}

fn step(area: &str, step: StepKind) -> EntryKind {
    EntryKind::step(area, step, None)
}

fn void(entry: i64) -> EntryKind {
    EntryKind::Void { entry: EntryId(entry), by: None }
}

const SCHEME: &str = r#"
name = "Hut"
[[area]]
name = "roof"
square_metres = 6
minutes_per_square_metre = 5
steps = [{ coat = "sealer" }, { coat = "sealer" }, { sand = "120" }, { coat = "primer" }, { tape = "off" }]
"#;

fn scheme() -> EntryKind {
    EntryKind::Scheme { text: SCHEME.into() }
}

#[test]
fn a_coat_runs_from_its_first_stroke_to_its_last() {
    let entries = [entry(1, 0, coat("roof", "sealer")), entry(2, 30, finished("Roof"))];
    let job = Job::fold(&entries, at(60));
    let newest = job.area("ROOF").unwrap().newest().unwrap().clone();
    assert_eq!((newest.first_stroke, newest.last_stroke, newest.layer), (at(0), Some(at(30)), 1));
    assert_eq!(Job::fold(&entries, at(10)).areas[0].coats[0].last_stroke, None);
}

#[test]
fn the_scheme_knows_the_next_product_and_how_long_it_takes() {
    let mut entries = vec![entry(1, 0, scheme())];
    assert_eq!(Job::fold(&entries, at(9)).areas[0].next_product(), Some("sealer"));
    assert_eq!(Job::fold(&entries, at(9)).areas[0].takes(), Some(TimeDelta::minutes(30)));
    entries.push(entry(2, 10, coat("roof", "sealer")));
    entries.push(entry(3, 30, finished("roof")));
    entries.push(entry(4, 100, coat("roof", "sealer")));
    entries.push(entry(5, 120, finished("roof")));
    let job = Job::fold(&entries, at(200));
    let roof = &job.areas[0];
    assert_eq!(roof.next_product(), Some("primer"));
    assert!(matches!(roof.to_do()[0], SchemeStep::Sand { .. }));
    assert_eq!(roof.takes(), Some(TimeDelta::minutes(20)), "the record knows better than the scheme");
}

#[test]
fn an_unplanned_sanding_skips_no_coat() {
    let entries = [
        entry(1, 0, scheme()),
        entry(2, 10, coat("roof", "sealer")),
        entry(3, 30, finished("roof")),
        entry(4, 900, step("roof", StepKind::Sand)),
    ];
    assert_eq!(Job::fold(&entries, at(1000)).areas[0].to_do().len(), 4);
}

#[test]
fn an_area_without_a_scheme_takes_the_same_product_again() {
    let entries = [entry(1, 0, coat("oar", "oil"))];
    assert_eq!(Job::fold(&entries, at(9)).areas[0].next_product(), Some("oil"));
}

#[test]
fn what_was_done_to_the_ground_counts_until_the_next_coat() {
    let mut entries = vec![entry(1, 0, coat("roof", "sealer")), entry(2, 30, finished("roof"))];
    entries.push(entry(3, 900, step("roof", StepKind::Sand)));
    let job = Job::fold(&entries, at(1000));
    assert!(job.areas[0].done_since_coat(StepKind::Sand));
    assert!(!job.areas[0].done_since_coat(StepKind::Wash));
    entries.push(entry(4, 910, step("roof", StepKind::Wash)));
    let washed = Job::fold(&entries, at(1000)).areas[0].last_since_coat(StepKind::Wash);
    assert_eq!(washed, Some(at(910)));
    entries.push(entry(5, 920, coat("roof", "sealer")));
    assert!(!Job::fold(&entries, at(1000)).areas[0].done_since_coat(StepKind::Sand));
}

#[test]
fn tape_is_on_until_it_is_pulled() {
    let mut entries = vec![entry(1, 0, step("roof", StepKind::TapeOn))];
    assert!(Job::fold(&entries, at(9)).areas[0].is_taped());
    entries.push(entry(2, 5, step("roof", StepKind::TapeOff)));
    assert!(!Job::fold(&entries, at(9)).areas[0].is_taped());
}

#[test]
fn what_cannot_have_happened_is_refused() {
    let entries = [entry(1, 10, coat("roof", "sealer"))];
    let job = Job::fold(&entries, at(60));
    let admit = |kind: EntryKind, minutes| job.admit(&kind, at(minutes), at(60));
    let area = || "roof".to_owned();
    assert_eq!(admit(coat("roof", "sealer"), 61), Err(Refusal::Future));
    assert_eq!(admit(coat("roof", "sealer"), 50), Err(Refusal::StillCoating { area: area() }));
    assert_eq!(admit(finished("roof"), 9), Err(Refusal::FinishedBeforeBegun { area: area() }));
    assert_eq!(admit(finished("roof"), 10), Ok(()));
    assert_eq!(admit(finished("door"), 50), Err(Refusal::NothingToFinish { area: "door".into() }));
    let entries = [entry(1, 10, coat("roof", "sealer")), entry(2, 40, finished("roof"))];
    let job = Job::fold(&entries, at(60));
    let early = job.admit(&coat("roof", "sealer"), at(39), at(60));
    assert_eq!(early, Err(Refusal::BeforeTheCoatUnder { area: area() }));
}

#[test]
fn a_void_that_is_taken_back_brings_the_entry_back() {
    let mut entries = vec![entry(1, 0, coat("roof", "sealer")), entry(2, 1, void(1))];
    assert!(Job::fold(&entries, at(9)).areas.is_empty());
    entries.push(entry(3, 2, void(2)));
    assert_eq!(Job::fold(&entries, at(9)).areas.len(), 1);
}

#[test]
fn a_last_stroke_whose_coat_was_taken_back_is_harmless() {
    let entries = [entry(1, 0, coat("roof", "sealer")), entry(2, 5, finished("roof")), entry(3, 6, void(1))];
    assert!(Job::fold(&entries, at(9)).areas.iter().all(|area| area.coats.is_empty()));
}

fn any_kind() -> impl Strategy<Value = EntryKind> {
    let area = prop::sample::select(vec!["roof", "door", "Roof", "floor"]);
    let product = prop::sample::select(vec!["sealer", "primer", "oil"]);
    let steps = vec![StepKind::Sand, StepKind::Wash, StepKind::TapeOn, StepKind::TapeOff];
    prop_oneof![
        (area.clone(), product).prop_map(|(a, p)| coat(a, p)),
        area.clone().prop_map(finished),
        (area, prop::sample::select(steps)).prop_map(|(a, s)| step(a, s)),
        Just(scheme()),
    ]
}

proptest! {
    #[test]
    fn voiding_an_entry_restores_the_state_before_it(
        kinds in prop::collection::vec((any_kind(), 0..500i64), 1..20),
        last in (any_kind(), 0..500i64),
    ) {
        let mut entries: Vec<Entry> =
            kinds.into_iter().enumerate().map(|(i, (kind, m))| entry(i as i64 + 1, m, kind)).collect();
        let before = Job::fold(&entries, at(1000));
        let id = entries.len() as i64 + 1;
        entries.push(entry(id, last.1, last.0));
        entries.push(entry(id + 1, 600, void(id)));
        prop_assert_eq!(Job::fold(&entries, at(1000)), before);
    }
}

#[test]
fn a_coat_goes_with_its_batch_when_that_is_corrected() {
    let batch = |mass: f64| EntryKind::Batch {
        product: "primer".into(),
        mass_g: crate::engine::units::Grams::new(mass),
        vessel: crate::engine::job::Vessel::Cup,
        temperature: None,
        place: "shop".into(),
    };
    let from_it = EntryKind::Coat {
        area: "roof".into(),
        product: "primer".into(),
        next: None,
        finished: true,
        batch: Some(EntryId(1)),
        why: None,
    };
    let corrected = EntryKind::Void { entry: EntryId(1), by: Some(EntryId(4)) };
    let mut entries = vec![
        entry(1, 0, batch(30.0)),
        entry(2, 5, from_it),
        entry(3, 9, corrected),
        entry(4, 0, batch(300.0)),
    ];
    let named = |entries: &[Entry]| {
        let job = Job::fold(entries, at(60));
        let named = job.areas[0].coats[0].batch;
        job.batches.iter().find(|batch| Some(batch.id) == named).map(|batch| batch.mass.grams())
    };
    assert_eq!(named(&entries), Some(300.0));
    entries.push(entry(5, 10, EntryKind::Emptied { batch: EntryId(1) }));
    assert_eq!(Job::fold(&entries, at(60)).batches[0].emptied, Some(at(10)));
    entries.push(entry(6, 11, void(4)));
    assert_eq!(named(&entries), Some(30.0));
}

#[test]
fn a_corrected_coat_keeps_its_place_among_the_entries_of_its_moment() {
    let corrected = EntryKind::Void { entry: EntryId(1), by: Some(EntryId(4)) };
    let entries = [
        entry(1, 0, coat("roof", "sealer")),
        entry(2, 0, finished("roof")),
        entry(3, 9, corrected),
        entry(4, 0, coat("roof", "primer")),
    ];
    let roof = Job::fold(&entries, at(60)).areas[0].clone();
    assert_eq!(roof.coats[0].product, "primer");
    assert_eq!(roof.coats[0].last_stroke, Some(at(0)));
    assert_eq!(Job::contradictions(&entries, at(60)), []);
}

fn batch(product: &str) -> EntryKind {
    EntryKind::Batch {
        product: product.into(),
        mass_g: crate::engine::units::Grams::new(300.0),
        vessel: crate::engine::job::Vessel::Cup,
        temperature: None,
        place: "shop".into(),
    }
}

fn coat_from(batch: i64) -> EntryKind {
    EntryKind::Coat {
        area: "roof".into(),
        product: "sealer".into(),
        next: None,
        finished: true,
        batch: Some(EntryId(batch)),
        why: None,
    }
}

#[test]
fn a_coat_is_taken_from_a_batch_of_its_product_that_stands_there() {
    let emptied = |batch| EntryKind::Emptied { batch: EntryId(batch) };
    let entries = [
        entry(1, 10, batch("sealer")),
        entry(2, 10, batch("primer")),
        entry(3, 10, batch("sealer")),
        entry(4, 12, void(3)),
        entry(5, 40, emptied(1)),
    ];
    let job = Job::fold(&entries, at(100));
    let admit = |kind: EntryKind, minutes| job.admit(&kind, at(minutes), at(100));
    assert_eq!(admit(coat_from(1), 20), Ok(()));
    assert_eq!(admit(coat_from(1), 5), Err(Refusal::NoSuchBatch(EntryId(1))), "before it was mixed");
    assert_eq!(admit(coat_from(1), 50), Err(Refusal::BatchEmptied(EntryId(1))));
    assert_eq!(admit(coat_from(3), 20), Err(Refusal::NoSuchBatch(EntryId(3))), "taken back");
    assert_eq!(admit(coat_from(9), 20), Err(Refusal::NoSuchBatch(EntryId(9))));
    let other = Refusal::OtherProduct { batch: EntryId(2), holds: "primer".into(), product: "sealer".into() };
    assert_eq!(admit(coat_from(2), 20), Err(other));
    assert_eq!(admit(emptied(1), 60), Err(Refusal::BatchEmptied(EntryId(1))), "twice");
    assert_eq!(admit(emptied(2), 60), Ok(()));
    assert_eq!(admit(emptied(7), 60), Err(Refusal::NoSuchBatch(EntryId(7))));
}

fn strip(coats: &[i64]) -> EntryKind {
    let coats = coats.iter().copied().map(EntryId).collect();
    let why = Some("rained on".into());
    EntryKind::Step { area: "roof".into(), step: StepKind::Strip, minutes: None, coats, why }
}

/// Sealer at 10, sealer at 100, sanded at 300, primer at 400; its last stroke at 430.
fn three_coats() -> Vec<Entry> {
    let film = EntryKind::WetFilm {
        area: "roof".into(),
        micrometres: vec![crate::engine::units::Micrometres::new(90.0)],
    };
    vec![
        entry(1, 0, scheme()),
        entry(2, 10, coat("roof", "sealer")),
        entry(3, 30, finished("roof")),
        entry(4, 100, coat("roof", "sealer")),
        entry(5, 130, finished("roof")),
        entry(6, 300, step("roof", StepKind::Sand)),
        entry(7, 400, coat("roof", "primer")),
        entry(8, 410, film),
        entry(9, 430, finished("roof")),
    ]
}

#[test]
fn a_coat_that_is_taken_off_is_no_longer_counted_and_its_ground_is_sanded_again() {
    let mut entries = three_coats();
    assert_eq!(Job::fold(&entries, at(500)).areas[0].to_do().len(), 1, "the tape");
    entries.push(entry(10, 600, strip(&[7])));
    let roof = Job::fold(&entries, at(700)).areas[0].clone();
    assert_eq!((roof.coats.len(), roof.films.len(), roof.next_product()), (2, 0, Some("primer")));
    let off = &roof.stripped[0];
    assert_eq!((off.coat.layer, off.films.len(), off.why.as_deref()), (3, 1, Some("rained on")));
    assert!(matches!(roof.to_do(), [SchemeStep::Sand { .. }, SchemeStep::Coat { .. }, _]));
    assert!(!roof.done_since_coat(StepKind::Sand) && roof.is_stripped());
    entries.push(entry(11, 800, step("roof", StepKind::Sand)));
    entries.push(entry(12, 900, coat("roof", "primer")));
    let again = Job::fold(&entries, at(950)).areas[0].clone();
    assert_eq!((again.newest().unwrap().layer, again.to_do().len(), again.is_stripped()), (3, 1, false));
    assert_eq!(again.every_coat().count(), 4);
}

#[test]
fn a_strip_that_is_taken_back_leaves_the_area_as_it_was() {
    let mut entries = three_coats();
    let before = Job::fold(&entries, at(700)).areas;
    entries.push(entry(10, 600, strip(&[4, 7])));
    assert_eq!(Job::fold(&entries, at(700)).areas[0].coats.len(), 1);
    entries.push(entry(11, 650, void(10)));
    assert_eq!(Job::fold(&entries, at(700)).areas, before);
}

#[test]
fn a_strip_takes_off_what_lies_on_the_coat_that_it_names_and_no_other() {
    let mut entries = three_coats();
    // The upper coat was never there: the strip took off nothing else in its stead.
    entries.extend([entry(10, 600, strip(&[7])), entry(11, 650, void(7))]);
    assert_eq!(Job::fold(&entries, at(700)).areas[0].coats.len(), 2);
    // The coat was corrected: it is the corrected one that is off.
    let mut entries = three_coats();
    entries.push(entry(10, 600, strip(&[7])));
    let by = EntryKind::Void { entry: EntryId(7), by: Some(EntryId(12)) };
    entries.extend([entry(11, 650, by), entry(12, 405, coat("roof", "primer"))]);
    let roof = Job::fold(&entries, at(700)).areas[0].clone();
    assert_eq!((roof.coats.len(), roof.stripped[0].coat.first_stroke), (2, at(405)));
    assert_eq!(Job::contradictions(&entries, at(700)), []);
}

#[test]
fn down_to_the_ground_the_scheme_begins_anew_after_a_sanding() {
    let mut entries = three_coats();
    entries.push(entry(10, 600, strip(&[2])));
    let roof = Job::fold(&entries, at(700)).areas[0].clone();
    assert_eq!((roof.coats.len(), roof.stripped.len(), roof.to_do().len()), (0, 3, 5));
    assert!(matches!(roof.to_come()[..], [SchemeStep::Sand { .. }, SchemeStep::Coat { .. }, ..]));
}

#[test]
fn nothing_is_taken_off_where_no_coat_was() {
    let job = Job::fold(&three_coats(), at(500));
    let refused = Err(Refusal::NothingToStrip { area: "roof".into() });
    assert_eq!(job.admit(&strip(&[]), at(450), at(500)), refused);
    assert_eq!(job.admit(&strip(&[7]), at(390), at(500)), refused, "before the coat went on");
    assert_eq!(job.admit(&strip(&[7]), at(420), at(500)), Ok(()), "while it was being applied");
}

#[test]
fn an_interrupted_coat_goes_on_and_took_what_was_worked_on_it() {
    let entries = [
        entry(1, 0, coat("roof", "sealer")),
        entry(2, 30, step("roof", StepKind::Pause)),
        entry(3, 800, step("roof", StepKind::Resume)),
        entry(4, 820, finished("roof")),
    ];
    let coat_at = |now: i64| Job::fold(&entries, at(now)).area("roof").unwrap().newest().unwrap().clone();
    assert_eq!(coat_at(20).paused_since(), None);
    assert_eq!(coat_at(60).paused_since(), Some(at(30)));
    assert_eq!(coat_at(60).worked_until(at(60)), TimeDelta::minutes(30));
    assert_eq!(coat_at(810).paused_since(), None);
    assert_eq!(coat_at(900).took(), Some(TimeDelta::minutes(50)));
    let hours = |now: i64| Job::fold(&entries, at(now)).hours.total();
    assert_eq!((hours(700), hours(900)), (TimeDelta::minutes(30), TimeDelta::minutes(50)));
    let job = Job::fold(&entries, at(700));
    assert_eq!(job.forgotten_last_stroke(job.area("roof").unwrap(), at(700)), None, "it rests");
}

#[test]
fn a_coat_that_ended_where_it_was_interrupted_needs_no_resume() {
    let entries = [
        entry(1, 0, coat("roof", "sealer")),
        entry(2, 30, step("roof", StepKind::Pause)),
        entry(3, 30, finished("roof")),
    ];
    let job = Job::fold(&entries, at(900));
    let coat = job.area("roof").unwrap().newest().unwrap();
    assert_eq!((coat.took(), coat.paused_since()), (Some(TimeDelta::minutes(30)), None));
}

#[test]
fn only_a_coat_that_is_being_applied_is_interrupted_and_only_an_interrupted_one_goes_on() {
    let area = || "roof".to_owned();
    let begun = [entry(1, 10, coat("roof", "sealer"))];
    let admit = |entries: &[Entry], kind: StepKind, minutes: i64| {
        Job::fold(entries, at(minutes)).admit(&step("roof", kind), at(minutes), at(1000))
    };
    assert_eq!(admit(&[], StepKind::Pause, 5), Err(Refusal::NothingToFinish { area: area() }));
    assert_eq!(admit(&begun, StepKind::Resume, 20), Err(Refusal::NotInterrupted { area: area() }));
    assert_eq!(admit(&begun, StepKind::Pause, 20), Ok(()));
    let paused = [begun[0].clone(), entry(2, 20, step("roof", StepKind::Pause))];
    assert_eq!(admit(&paused, StepKind::Pause, 30), Err(Refusal::Interrupted { area: area() }));
    assert_eq!(admit(&paused, StepKind::Resume, 30), Ok(()));
}
