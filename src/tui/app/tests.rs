//! Keys and what comes of them, read as a table.

use super::*;
use crate::app::session::{Done, Order};
use crate::app::view::{PlanDay, PlanEntry, PlanEntryKind, PlanLine, PlanView};
use crate::engine::job::{EntryId, StepKind};
use crate::engine::units::{Celsius, Humidity};
use crate::tui::keys::Action;
use crate::tui::samples::*;

fn coat(area: &str, product: &str) -> Order {
    Order::Coat {
        area: area.into(),
        product: Some(product.into()),
        next: None,
        finished: false,
        batch: None,
        why: None,
        sure: false,
    }
}

fn reading(air: f64) -> Order {
    Order::Reading { place: Some("shop".into()), air: Celsius::new(air), humidity: None, surface: None }
}

fn step(area: &str, step: StepKind, minutes: Option<u32>) -> Order {
    Order::Step { area: area.into(), step, minutes, coats: None, why: None }
}

fn stripped(coats: usize, why: Option<&str>) -> Order {
    let (step, coats, why) = (StepKind::Strip, Some(coats), why.map(str::to_owned));
    Order::Step { area: "Roof".into(), step, minutes: None, coats, why }
}

fn finish(area: &str) -> Order {
    Order::Finish { area: Some(area.into()) }
}

#[test]
fn keys_make_orders() {
    let undo = Order::Undo { entry: Some(EntryId(7)) };
    let damp = Order::Reading {
        place: Some("shop".into()),
        air: Celsius::new(17.5),
        humidity: Humidity::from_percent(62.0).ok(),
        surface: Some(Celsius::new(15.0)),
    };
    let whole = Order::Coat {
        area: "Roof".into(),
        product: Some("primer-two-part".into()),
        next: None,
        finished: true,
        batch: None,
        why: None,
        sure: false,
    };
    let followed = Order::Coat {
        area: "Roof".into(),
        product: Some("primer-two-part".into()),
        next: Some("varnish-alkyd".into()),
        finished: false,
        batch: None,
        why: None,
        sure: false,
    };
    let bench =
        Order::Reading { place: Some("Bench".into()), air: Celsius::new(9.0), humidity: None, surface: None };
    let table: &[(&str, Order, Option<Moment>)] = &[
        ("c<Enter>", coat("Roof", "primer-two-part"), None),
        ("C<Enter>", coat("Roof", "primer-two-part"), None),
        ("c<Down><Enter>", coat("Door, outside", "varnish-two-part"), None),
        ("jc<Enter>", coat("Door, outside", "varnish-two-part"), None),
        ("cdo<Enter>", coat("Door, outside", "varnish-two-part"), None),
        ("cfloor<Enter>oil<Enter>", coat("Floor", "oil-penetrating"), None),
        ("cBench<Enter><Down><Enter>", coat("Bench", "epoxy-sealer"), None),
        ("croo<Down><Enter>alk<Enter>", coat("roo", "varnish-alkyd"), None),
        ("c<Tab><Down><BackTab><Down><Enter>", coat("Door, outside", "varnish-two-part"), None),
        ("c<Tab><Tab>-20m<Enter>", coat("Roof", "primer-two-part"), Some(at(-20))),
        ("c<Tab><Tab>14:20<Enter>", coat("Roof", "primer-two-part"), Some(at(-100))),
        ("c<Tab><Tab>-20x<Backspace>m<Enter>", coat("Roof", "primer-two-part"), Some(at(-20))),
        ("c<Tab><Tab><Tab>y<Enter>", whole, None),
        ("c<BackTab>alk<Enter>", followed, None),
        ("f<Enter>", finish("Floor"), None),
        ("f<Tab>-1h<Enter>", finish("Floor"), Some(at(-60))),
        ("t17.5<Enter>", reading(17.5), None),
        ("t17,5<Enter>", reading(17.5), None),
        ("t68F<Enter>", reading(20.0), None),
        ("t-3<Enter>", reading(-3.0), None),
        ("t17,5<Tab>62<Tab>15<Enter>", damp, None),
        ("t17.5<BackTab><BackTab>-20m<Enter>", reading(17.5), Some(at(-20))),
        ("t9<BackTab>Bench<Enter>", bench, None),
        ("ss<Enter>", step("Roof", StepKind::Sand, None), None),
        ("sw<Enter>", step("Roof", StepKind::Wash, None), None),
        ("st<Enter>", step("Roof", StepKind::TapeOn, None), None),
        ("sP<Enter>", step("Roof", StepKind::TapeOff, None), None),
        ("so<Enter>", stripped(1, None), None),
        ("so2<Tab>rained on<Enter>", stripped(2, Some("rained on")), None),
        ("so<BackTab><BackTab><BackTab>s<Enter>", step("Roof", StepKind::Sand, None), None),
        ("ss45<Enter>", step("Roof", StepKind::Sand, Some(45)), None),
        ("ss1h 30min<Enter>", step("Roof", StepKind::Sand, Some(90)), None),
        ("s<Down><Down><Enter>", step("Roof", StepKind::Wash, None), None),
        (
            "s<Tab><Down><BackTab>s<Tab>-2h<Enter>",
            step("Door, outside", StepKind::Sand, None),
            Some(at(-120)),
        ),
        ("bss<Enter>", step("Roof", StepKind::Sand, None), None),
        ("uy", undo.clone(), None),
        ("u<Enter>", undo, None),
        ("a", Order::Acknowledge { alert: None }, None),
        ("la", Order::Acknowledge { alert: Some(crate::engine::job::AlertId(9)) }, None),
        ("ljja", Order::Acknowledge { alert: Some(crate::engine::job::AlertId(5)) }, None),
    ];
    for (keys, order, at) in table {
        let mut app = App::showing(alarmed());
        assert_eq!(press(&mut app, keys), [Effect::CarryOut(order.clone(), *at)], "{keys}");
    }
}

#[test]
fn a_letter_that_the_step_form_does_not_offer_now_says_why() {
    let error = |keys: &str| {
        let mut app = App::showing(hut());
        press(&mut app, keys);
        let Some(Sheet::Form(form)) = &app.sheet else { panic!("{keys}: the form is gone") };
        form.error.clone()
    };
    // The floor is being coated; the roof is not.
    let coating = error("jjjss").or_else(|| error("jjss"));
    assert_eq!(
        coating.as_deref(),
        Some("Not while a coat is being applied: enter its last stroke first (f).")
    );
    let open = error("si");
    assert_eq!(open.as_deref(), Some("Only while a coat is being applied: enter its first stroke (c)."));
    assert_eq!(error("sq"), None);
}

/// A plan of these steps on these areas, shown with the first one chosen.
fn planned_steps(steps: &[(&str, Option<PlanEntryKind>)]) -> PlanShown {
    let line = |(area, kind): &(&str, Option<PlanEntryKind>)| PlanLine {
        time: "17:00-17:30".into(),
        what: (*area).into(),
        not_earlier: String::new(),
        enters: kind.map(|kind| PlanEntry { area: (*area).into(), kind }),
    };
    let day = PlanDay { day: "Sat 2 May".into(), lines: steps.iter().map(line).collect() };
    PlanShown { view: Some(Ok(PlanView { days: vec![day], ..PlanView::default() })), ..PlanShown::default() }
}

#[test]
fn the_steps_of_the_plan_are_recorded_from_its_page() {
    let steps = [
        ("Roof", Some(PlanEntryKind::Coat)),
        ("Door, outside", Some(PlanEntryKind::Step(StepKind::TapeOff))),
        ("Door, outside", Some(PlanEntryKind::Coat)),
        ("Roof", None),
    ];
    let carried = |keys: &str| {
        let mut app = App::showing(hut());
        press(&mut app, "p");
        app.plan = planned_steps(&steps);
        (press(&mut app, keys), app)
    };
    let order = |order| vec![Effect::CarryOut(order, None)];
    assert_eq!(carried("<Enter><Enter>").0, order(coat("Roof", "primer-two-part")));
    assert_eq!(carried("j<Enter><Enter>").0, order(step("Door, outside", StepKind::TapeOff, None)));
    assert_eq!(carried("jj<Enter><Enter>").0, order(coat("Door, outside", "varnish-two-part")));
    let (effects, app) = carried("jjj<Enter>");
    assert_eq!((effects, app.sheet.is_none()), (Vec::new(), true), "cleaning up is no entry");
    // A form that is closed leaves the plan on the screen.
    let (effects, app) = carried("<Enter><Esc>");
    assert_eq!((effects, app.scene()), (Vec::new(), Scene::Plan));
    // While the plan is still searched, the key takes the best one so far.
    let mut app = App::showing(hut());
    press(&mut app, "p");
    app.plan = PlanShown { working: true, ..PlanShown::default() };
    assert_eq!(press(&mut app, "<Enter>"), [Effect::Enough]);
    // A plan that is shown can be worked from, also while it is calculated again.
    app.plan = PlanShown { working: true, ..planned_steps(&steps) };
    assert_eq!((press(&mut app, "<Enter>"), app.scene()), (Vec::new(), Scene::Form));
}

#[test]
fn keys_that_make_no_order_say_why() {
    let table = [
        ("c<Tab><Tab>soon<Enter>", "\"soon\" is not a time"),
        ("cBench<Enter><Enter>", "Which product?"),
        ("t<Enter>", "How warm is the air?"),
        ("twarm<Enter>", "\"warm\" is not a temperature"),
        ("t99<Enter>", "outside −40…60 °C"),
        ("t17<Tab>101<Enter>", "outside 0…100 %"),
        ("s<Enter>", "Which step?"),
        ("ssx<Enter>", "no number of minutes"),
    ];
    for (keys, why) in table {
        let mut app = App::showing(hut());
        assert_eq!(press(&mut app, keys), [], "{keys}");
        let Some(Sheet::Form(form)) = &app.sheet else { panic!("{keys}: the form is gone") };
        let error = form.error.clone().unwrap_or_default();
        assert!(error.contains(why), "{keys}: {error}");
    }
}

#[test]
fn the_form_of_a_coat_shows_the_verdict_for_the_product_that_is_chosen() {
    let told = |keys: &str| {
        let mut app = App::showing(hut());
        press(&mut app, keys);
        let Some(Sheet::Form(form)) = app.sheet else { panic!("{keys}: the form is gone") };
        form.check.map(|check| check.says)
    };
    let wait = "WAIT until Sun 10:30: Roof, primer-two-part.";
    assert_eq!(told("c").as_deref(), Some(wait));
    assert_eq!(told("c<Tab><Tab>-20m").as_deref(), Some(wait));
    let go = |area: &str, product: &str| Some(format!("GO until 18:30: {area}, {product}."));
    assert_eq!(told("c<Down>"), go("Door, outside", "varnish-two-part"), "another area, and its product");
    assert_eq!(told("c<Tab>alk"), go("Roof", "varnish-alkyd"), "another product");
    assert_eq!(told("cBench<Enter>alk"), go("Bench", "varnish-alkyd"), "an area that is not there yet");
    assert_eq!(told("cBench"), None, "no product yet");
    assert_eq!(told("t17"), None, "a reading is no coat");
}

#[test]
fn a_form_that_stays_open_shows_the_verdict_of_now() {
    let mut app = App::showing(hut());
    press(&mut app, "c");
    let later = |area: &str, _: &str| {
        let check = check(area, "varnish-alkyd")?;
        Some(crate::app::wording::Check { says: "Go: the morning is dry.".into(), ..check })
    };
    let view = View { clock: "Sun 10:30".into(), ..hut() };
    knowing(now(), |known| {
        let known = Known { check: &later, ..*known };
        app.handle(Event::Seen(Ok(view)), &known)
    });
    let Some(Sheet::Form(form)) = app.sheet else { panic!("the form is gone") };
    assert_eq!(form.check.map(|check| check.says).as_deref(), Some("Go: the morning is dry."));
}

#[test]
fn what_was_typed_is_still_there_after_a_mistake() {
    let mut app = App::showing(hut());
    press(&mut app, "t17,5<Tab>101<Enter>");
    assert_eq!(press(&mut app, "<Backspace><Enter>").len(), 1);
    let mut app = App::showing(hut());
    press(&mut app, "c<Enter>");
    knowing(now(), |known| app.handle(Event::Carried(Err("The disk is full.".to_owned().into())), known));
    let Some(Sheet::Form(form)) = &app.sheet else { panic!("the form is gone") };
    assert_eq!(form.error.as_deref(), Some("The disk is full."));
    assert_eq!(press(&mut app, "<Enter>").len(), 1, "it can be tried again");
}

#[test]
fn forms_close_and_nothing_happens() {
    for keys in ["c<Esc>", "t17<Esc>", "f<Esc>", "ss<Esc>", "u<Esc>", "un"] {
        let mut app = App::showing(hut());
        assert_eq!(press(&mut app, keys), [], "{keys}");
        assert_eq!((app.scene(), &app.sheet), (Scene::Board, &None), "{keys}");
    }
}

#[test]
fn keys_lead_from_scene_to_scene() {
    let table = [
        ("b", Scene::Big),
        ("bb", Scene::Board),
        ("b<Esc>", Scene::Board),
        ("bc", Scene::Form),
        ("bc<Esc>", Scene::Big),
        ("b?", Scene::Help),
        ("b?<Esc>", Scene::Big),
        ("?q", Scene::Board),
        ("h", Scene::Help),
        ("<Enter>", Scene::Details),
        ("<Enter><Enter>", Scene::Board),
        ("l", Scene::Alerts),
        ("l<Esc>", Scene::Board),
        ("u", Scene::Confirm),
        ("xyz", Scene::Board),
        ("cq", Scene::Form),
    ];
    for (keys, scene) in table {
        let mut app = App::showing(alarmed());
        assert_eq!(press(&mut app, keys), [], "{keys}");
        assert_eq!(app.scene(), scene, "{keys}");
    }
    for (keys, effect) in [
        ("q", Effect::Quit),
        ("bq", Effect::Quit),
        ("<Ctrl-c>", Effect::Quit),
        ("c<Ctrl-c>", Effect::Quit),
        ("t<Ctrl-z>", Effect::Suspend),
        ("<Ctrl-l>", Effect::Redraw),
    ] {
        assert_eq!(press(&mut App::showing(hut()), keys), [effect], "{keys}");
    }
}

#[test]
fn the_most_urgent_area_is_chosen_until_the_person_chooses() {
    let mut view = hut();
    view.next.area = Some("Door, outside".into());
    let mut app = App::showing(view);
    let chosen = |app: &App| app.chosen_ribbon().map(|ribbon| ribbon.area.clone()).unwrap_or_default();
    for (key, area) in [
        ("", "Door, outside"),
        ("j", "Floor"),
        ("<Down>", "Floor"),
        ("k", "Door, outside"),
        ("<Up>", "Roof"),
        ("<Up>", "Roof"),
        ("<Esc>", "Door, outside"),
    ] {
        press(&mut app, key);
        assert_eq!(chosen(&app), area, "{key}");
    }
    press(&mut app, "<Enter>");
    let mut later = app.view.clone();
    later.next.area = Some("Roof".into());
    knowing(now(), |known| app.handle(Event::Seen(Ok(later)), known));
    assert_eq!(chosen(&app), "Door, outside", "what is read does not change under the eyes");
}

#[test]
fn the_axis_zooms_and_moves_and_comes_back() {
    let mut app = App::showing(hut());
    let span = |app: &App| {
        let axis = app.axis(78, &Civil::utc());
        (axis.to - axis.from).num_hours()
    };
    let before = span(&app);
    press(&mut app, "+");
    assert!(span(&app) < before);
    press(&mut app, "--");
    assert!(span(&app) > before);
    press(&mut app, "<Right><Right>");
    assert!(!app.at_now() && app.axis(78, &Civil::utc()).from > now());
    press(&mut app, "0");
    assert_eq!((app.at_now(), span(&app)), (true, before));
    press(&mut app, &"-".repeat(30));
    press(&mut app, &"<Left>".repeat(1000));
    press(&mut app, &"+".repeat(30));
    assert!(span(&app) > 0);
}

#[test]
fn a_message_stays_for_a_while_or_until_the_next_key() {
    let done = || Event::Carried(Ok(Done { says: "Roof: coat 3.".into(), cautions: vec!["Gloves.".into()] }));
    let says = |app: &App| app.message.as_ref().map(|message| message.says.clone());
    let later = |app: &mut App, seconds: i64| {
        let now = now() + TimeDelta::seconds(seconds);
        knowing(now, |known| app.handle(Event::Seen(Ok(hut())), known));
    };
    let mut app = App::showing(hut());
    press(&mut app, "c<Enter>");
    knowing(now(), |known| app.handle(done(), known));
    assert_eq!((says(&app).as_deref(), app.scene()), (Some("Roof: coat 3."), Scene::Board));
    later(&mut app, 19);
    assert!(says(&app).is_some());
    later(&mut app, 20);
    assert_eq!(says(&app), None);
    knowing(now(), |known| app.handle(done(), known));
    press(&mut app, "j");
    assert_eq!(says(&app), None);
}

#[test]
fn a_notice_stays_until_a_key_was_pressed() {
    let mut app = App::showing(hut());
    let tell = |app: &mut App, text: &str| {
        knowing(now(), |known| app.handle(Event::Notice(text.into()), known));
    };
    tell(&mut app, "The desktop cannot be reached.");
    tell(&mut app, "The bell rings instead.");
    let far = now() + TimeDelta::hours(9);
    knowing(far, |known| app.handle(Event::Seen(Ok(hut())), known));
    assert!(app.message.as_ref().is_some_and(|message| message.says.contains("desktop")));
    press(&mut app, "x");
    assert!(app.message.as_ref().is_some_and(|message| message.says.contains("bell")));
    press(&mut app, "x");
    assert_eq!(app.message, None);
}

#[test]
fn where_nothing_is_to_be_done_it_is_said() {
    for (keys, words) in [
        ("f", "No coat is being applied"),
        ("s", "no area yet"),
        ("a", "no new alerts"),
        ("l", "no new alerts"),
    ] {
        let mut app = App::showing(empty());
        assert_eq!(press(&mut app, keys), [], "{keys}");
        let says = app.message.clone().map(|message| message.says).unwrap_or_default();
        assert!(says.contains(words), "{keys}: {says}");
    }
    let mut app = App::showing(empty());
    press(&mut app, "<Enter>j");
    assert_eq!(app.scene(), Scene::Board, "there are no details of nothing");
    let first = press(&mut app, "cRoof, west<Enter>epoxy<Enter>");
    assert_eq!(first, [Effect::CarryOut(coat("Roof, west", "epoxy-sealer"), None)]);
}

#[test]
fn the_list_of_alerts_closes_when_all_were_seen() {
    let mut app = App::showing(alarmed());
    press(&mut app, "ljjj");
    let mut fewer = alarmed();
    fewer.banners.truncate(2);
    knowing(now(), |known| app.handle(Event::Seen(Ok(fewer)), known));
    assert_eq!(app.page, Page::Alerts(1));
    knowing(now(), |known| app.handle(Event::Seen(Ok(hut())), known));
    assert_eq!(app.page, Page::Board);
}

#[test]
fn a_paste_goes_into_a_form_or_nowhere() {
    let mut app = App::showing(hut());
    let paste =
        |app: &mut App, text: &str| knowing(now(), |known| app.handle(Event::Pasted(text.into()), known));
    assert_eq!(paste(&mut app, "q\rcc\r\u{1b}"), []);
    assert_eq!(app.scene(), Scene::Board);
    press(&mut app, "t");
    assert_eq!(paste(&mut app, "17\r\n.5\u{1b}"), []);
    assert_eq!(press(&mut app, "<Enter>"), [Effect::CarryOut(reading(17.5), None)]);
}

#[test]
fn only_a_press_counts() {
    let mut app = App::showing(hut());
    for kind in [KeyEventKind::Release, KeyEventKind::Repeat] {
        let key = KeyEvent::new_with_kind(KeyCode::Char('q'), KeyModifiers::NONE, kind);
        assert_eq!(knowing(now(), |known| app.handle(Event::Key(key), known)), []);
    }
}

#[test]
fn every_key_of_the_table_is_handled() {
    for binding in crate::tui::keys::TABLE {
        for (scene, way) in [
            (Scene::Board, ""),
            (Scene::Big, "b"),
            (Scene::Help, "?"),
            (Scene::Details, "<Enter>"),
            (Scene::Alerts, "l"),
            (Scene::Confirm, "u"),
            (Scene::Form, "c"),
        ] {
            if !binding.scenes.contains(&scene) {
                continue;
            }
            for key in binding.keys {
                let mut app = App::showing(alarmed());
                press(&mut app, way);
                assert_eq!(app.scene(), scene);
                // In the middle of what can move, so that a step either way shows.
                app.set_page_lines(9);
                let to_middle = if matches!(scene, Scene::Help | Scene::Details | Scene::Alerts | Scene::Form)
                {
                    "<Down>"
                } else {
                    "j<Right>"
                };
                press(&mut app, to_middle);
                let event = match key {
                    Key::Char(letter) => KeyEvent::from(KeyCode::Char(*letter)),
                    Key::Control(letter) => KeyEvent::new(KeyCode::Char(*letter), KeyModifiers::CONTROL),
                    Key::Other(code) => KeyEvent::from(*code),
                };
                if matches!(binding.action, Action::Erase | Action::Edit(_)) {
                    press(&mut app, "xyz<Left>");
                }
                let before = format!("{app:?}");
                let effects = knowing(now(), |known| app.handle(Event::Key(event), known));
                let did = !effects.is_empty() || format!("{app:?}") != before;
                assert!(did, "{key:?} does nothing in {scene:?}");
            }
        }
    }
}

#[test]
fn a_forgotten_last_stroke_stands_in_the_form_with_its_likely_time() {
    let mut view = hut();
    for ribbon in &mut view.ribbons {
        ribbon.applying = true;
    }
    let area = view.ribbons[0].area.clone();
    view.ribbons[0].forgotten = Some("2026-05-02 12:30".into());
    let likely: Moment = "2026-05-02T12:30:00Z".parse().unwrap();
    let mut app = App::showing(view);
    let finish = |area: &str| Order::Finish { area: Some(area.into()) };
    assert_eq!(press(&mut app, "f<Enter>"), [Effect::CarryOut(finish(&area), Some(likely))]);
    press(&mut app, "<Esc>");
    assert_eq!(press(&mut app, "f<Tab>now<Enter>"), [Effect::CarryOut(finish(&area), None)]);
    press(&mut app, "<Esc>");
    let other = app.view.ribbons[1].area.clone();
    assert_eq!(
        press(&mut app, "f<Down><Enter>"),
        [Effect::CarryOut(finish(&other), None)],
        "not for another area"
    );
}

#[test]
fn a_text_is_edited_where_the_cursor_is() {
    for (keys, value) in [
        ("t71<Left><Left><Right><Backspace>1<Enter>", 11.0),
        ("t7<Home>1<Enter>", 17.0),
        ("t17<Home><Delete><Enter>", 7.0),
        ("t99 17<Left><Left><Left><Home><Delete><Delete><End><Enter>", 17.0),
    ] {
        let mut app = App::showing(hut());
        assert_eq!(press(&mut app, keys), [Effect::CarryOut(reading(value), None)], "{keys}");
    }
    let keys = "t99 17<Ctrl-w><Ctrl-u>18<Ctrl-a><Ctrl-k>17<Ctrl-a>9<Delete><Ctrl-e><Backspace>.5<Enter>";
    assert_eq!(press(&mut App::showing(hut()), keys), [Effect::CarryOut(reading(9.5), None)]);
}

mod pots;
