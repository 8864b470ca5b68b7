//! Keys on the record and what comes of them, read as a table.

use super::*;
use crate::app::session::{Done, Order};
use crate::engine::job::{Change, Detail, EntryId};
use crate::engine::units::Moment;
use crate::tui::keys::Scene;
use crate::tui::samples::*;

fn pressed(keys: &str) -> (App, Vec<Effect>) {
    let mut app = App::showing(hut());
    let effects = press(&mut app, keys);
    (app, effects)
}

fn chosen(app: &App) -> Option<i64> {
    let Page::Record(shown) = app.page else { return None };
    app.record_line(shown).map(|line| line.id.0)
}

#[test]
fn keys_on_the_record_make_orders() {
    let correct = |changes: &[(Detail, &str)]| Order::Correct {
        entry: EntryId(12),
        changes: changes
            .iter()
            .map(|(detail, text)| Change { detail: *detail, text: (*text).into() })
            .collect(),
    };
    let note = |area: Option<&str>, entry: Option<i64>, text: &str, photo: Option<&str>| Order::Note {
        area: area.map(str::to_owned),
        entry: entry.map(EntryId),
        text: text.into(),
        photo: photo.map(Into::into),
    };
    let work = |area: Option<&str>, minutes| Order::Work { area: area.map(str::to_owned), minutes };
    let roof = Some("Roof");
    let earlier: Moment = "2026-05-02T15:05:00Z".parse().unwrap();
    let table: Vec<(&str, Order, Option<Moment>)> = vec![
        ("rjju<Enter>", Order::Undo { entry: Some(EntryId(12)) }, None),
        ("r<Down><Down>uy", Order::Undo { entry: Some(EntryId(12)) }, None),
        ("rjjcDoor<Enter>", correct(&[(Detail::Area, "Door")]), None),
        ("rjjc<Tab>15:05<Enter>", correct(&[]), Some(earlier)),
        ("rjjc<Backspace><Enter>", correct(&[(Detail::Area, "")]), None),
        ("rjndusty<Enter>", note(roof, Some(13), "dusty", None), None),
        ("r<Right>jndusty<Enter>", note(roof, Some(12), "dusty", None), None),
        ("nruns, two<Enter>", note(roof, None, "runs, two", None), None),
        ("n<Tab><Tab>/tmp/a.jpg<Enter>", note(roof, None, "", Some("/tmp/a.jpg")), None),
        ("ndusty<Tab><Up><Enter>", note(None, None, "dusty", None), None),
        ("db<Enter>", Order::StartClock { area: Some("Roof".into()) }, None),
        ("db<Tab><Up><Enter>", Order::StartClock { area: None }, None),
        ("de<Enter>", Order::StopClock { area: None, sure: false }, None),
        ("dy<Enter>", Order::StopClock { area: None, sure: true }, None),
        ("d<Tab><Tab>90<Enter>", work(roof, 90), None),
        ("dm<Tab><Down><Tab>1 h 30 min<Enter>", work(Some("Door, outside"), 90), None),
    ];
    for (keys, order, at) in table {
        assert_eq!(pressed(keys).1, [Effect::CarryOut(order, at)], "{keys}");
    }
}

#[test]
fn keys_that_make_no_order_say_why() {
    for (keys, why) in [
        ("n<Enter>", "What is the note?"),
        ("d<Enter>", "Start or stop the work clock?"),
        ("dm<Enter>", "How many minutes?"),
        ("dm<Tab><Tab>soon<Enter>", "\"soon\" is not a number of minutes"),
        ("dm<Tab><Tab>9999<Enter>", "the work of each day by itself"),
        ("rjjc<Tab>soon<Enter>", "\"soon\" is not a time"),
    ] {
        let (app, effects) = pressed(keys);
        assert_eq!(effects, [], "{keys}");
        let Some(Sheet::Form(form)) = &app.sheet else { panic!("{keys}: the form is gone") };
        let mut form = form.clone();
        if form.error.is_none() {
            // The first Enter goes to what is missing, the second says so.
            knowing(now(), |known| form.accept(known));
        }
        let error = form.error.unwrap_or_default();
        assert!(error.contains(why), "{keys}: {error}");
    }
}

#[test]
fn what_does_not_count_or_cannot_be_corrected_is_said_to_be_so() {
    for (keys, says) in [
        ("rjjjjjju", "That entry is no longer valid."),
        ("rjjjjjjc", "That entry is no longer valid."),
        ("rjjjjjc", "That entry can be taken back (u), but not corrected."),
        ("r<Enter>", "shop: 17.8 °C, humidity 62 %, Sat 2 May 2026 15:48"),
    ] {
        let (app, effects) = pressed(keys);
        assert_eq!((effects, &app.sheet), (Vec::new(), &None), "{keys}");
        assert_eq!(app.message.map(|message| message.says).as_deref(), Some(says), "{keys}");
    }
}

#[test]
fn the_choice_goes_up_and_down_and_from_area_to_area() {
    for (keys, id) in [
        ("r", 14),
        ("rj", 13),
        ("rjk", 14),
        ("rk", 14),
        ("r<PageDown>", 4),
        ("r<PageDown><PageDown>", 1),
        ("r<PageDown><PageUp>", 14),
        ("r<Right>", 13),
        ("r<Right><Right>", 10),
        ("r<Right><Right><Right>", 14),
        ("r<Left>", 10),
        ("r<Right>jjjjjjjjjj", 3),
    ] {
        assert_eq!(chosen(&pressed(keys).0), Some(id), "{keys}");
    }
}

#[test]
fn keys_lead_from_the_record_and_back() {
    for (keys, scene) in [
        ("r", Scene::Record),
        ("rr", Scene::Board),
        ("r<Esc>", Scene::Board),
        ("br<Esc>", Scene::Big),
        ("rjjj<Enter>", Scene::Coat),
        ("rjjj<Enter><Esc>", Scene::Record),
        ("rjjj<Enter><Esc><Esc>", Scene::Board),
        ("rjju", Scene::Confirm),
        ("rjju<Esc>", Scene::Record),
        ("rjjc<Esc>", Scene::Record),
        ("r<PageDown>k<Enter>", Scene::Record),
    ] {
        assert_eq!(pressed(keys).0.scene(), scene, "{keys}");
    }
    assert_eq!(chosen(&pressed("rjjj<Enter><Esc>").0), Some(11), "where the person was");
}

#[test]
fn what_is_chosen_stays_chosen_when_something_new_comes_above_it() {
    let mut app = pressed("rjj").0;
    app.record.lines.remove(0);
    let before = chosen(&app);
    knowing(now(), |known| app.handle(Event::Seen(Ok(hut())), known));
    assert_eq!((before, chosen(&app)), (Some(11), Some(11)));
    let done = Done { says: "Took back entry 11.".into(), cautions: Vec::new() };
    knowing(now(), |known| app.handle(Event::Carried(Ok(done)), known));
    assert_eq!((app.scene(), chosen(&app)), (Scene::Record, Some(11)));
}
