//! Batches by keys.

use super::*;
use crate::app::session::{Mixing, Refused};
use crate::engine::job::Vessel;
use crate::engine::units::{Grams, Millimetres};

fn mix(product: &str, grams: f64, sure: bool) -> Mixing {
    let (product, mass) = (product.into(), Grams::new(grams));
    Mixing { product, mass, vessel: Vessel::Cup, temperature: None, place: None, sure }
}

#[test]
fn a_batch_is_mixed_taken_from_and_used_up_by_a_few_keys() {
    let tray = Vessel::Tray { depth_mm: Millimetres::new(10.0) };
    let emptied = |batch| Order::Emptied { batch: Some(EntryId(batch)) };
    let from = |batch: Option<i64>| Order::Coat {
        area: "Roof".into(),
        product: Some("primer-two-part".into()),
        next: None,
        finished: false,
        batch: batch.map(EntryId),
        why: None,
        sure: false,
    };
    let primer = || mix("primer-two-part", 300.0, false);
    let table: &[(&str, Order, Option<Moment>)] = &[
        ("m300g<Enter>", Order::Mix(primer()), None),
        ("m0,3 kg<Enter>", Order::Mix(primer()), None),
        ("m300<Tab>t<Tab>1cm<Enter>", Order::Mix(Mixing { vessel: tray, ..primer() }), None),
        (
            "m300<Tab><Tab><Tab>12<Enter>",
            Order::Mix(Mixing { temperature: Some(Celsius::new(12.0)), ..primer() }),
            None,
        ),
        ("m300<BackTab><BackTab>-5m<Enter>", Order::Mix(primer()), Some(at(-5))),
        ("m<BackTab>seal<Tab>300<Enter>", Order::Mix(mix("epoxy-sealer", 300.0, false)), None),
        ("e<Enter>", emptied(12), None),
        ("e<Down><Enter>", emptied(13), None),
        ("c<Enter>", from(None), None),
        ("c<BackTab><Down><Down><Enter>", from(Some(13)), None),
    ];
    for (keys, order, at) in table {
        let mut app = App::showing(mixed());
        assert_eq!(press(&mut app, keys), [Effect::CarryOut(order.clone(), *at)], "{keys}");
    }
    let mut app = App::showing(hut());
    press(&mut app, "e");
    assert!(app.sheet.is_none() && app.message.unwrap().says.contains("There is no batch"));
}

#[test]
fn what_is_asked_about_is_recorded_by_another_enter_unless_something_is_changed() {
    let asked = || {
        let mut app = App::showing(mixed());
        press(&mut app, "m900<Enter>");
        let refused = Refused { says: "DANGER.".into(), asks: true };
        knowing(now(), |known| app.handle(Event::Carried(Err(refused)), known));
        app
    };
    let order = |sure, grams| Effect::CarryOut(Order::Mix(mix("primer-two-part", grams, sure)), None);
    assert_eq!(press(&mut asked(), "<Enter>"), [order(true, 900.0)]);
    assert_eq!(press(&mut asked(), "<Backspace><Enter>"), [order(false, 90.0)]);
    let mut app = asked();
    let wrong = Refused { says: "The disk is full.".into(), asks: false };
    knowing(now(), |known| app.handle(Event::Carried(Err(wrong)), known));
    assert_eq!(press(&mut app, "<Enter>"), [order(false, 900.0)], "an error is no question");
}

#[test]
fn a_mix_that_makes_no_order_says_why() {
    for (keys, why) in [
        ("m<Enter>", "How much, all parts together?"),
        ("m0<Enter>", "give more than 0"),
        ("m300<Tab>t<Enter><Enter>", "How deep is the tray"),
        ("m300<Tab>t<Tab>deep<Enter>", "not a depth"),
        ("m300ml<Enter>", "not a mass"),
    ] {
        let mut app = App::showing(mixed());
        assert_eq!(press(&mut app, keys), [], "{keys}");
        let Some(Sheet::Form(form)) = &app.sheet else { panic!("{keys}: the form is gone") };
        let error = form.error.clone().unwrap_or_default();
        assert!(error.contains(why), "{keys}: {error}");
    }
}

#[test]
fn a_coat_that_was_asked_about_takes_a_reason_and_is_recorded_by_enter() {
    let asked = || {
        let mut app = App::showing(mixed());
        press(&mut app, "c<Enter>");
        let refused = Refused { says: "The scheme says varnish-water here.".into(), asks: true };
        knowing(now(), |known| app.handle(Event::Carried(Err(refused)), known));
        app
    };
    let order = |why: Option<&str>, sure| {
        let (area, product) = ("Roof".into(), Some("primer-two-part".into()));
        let why = why.map(str::to_owned);
        Effect::CarryOut(
            Order::Coat { area, product, next: None, finished: false, batch: None, why, sure },
            None,
        )
    };
    assert_eq!(press(&mut asked(), "<Enter>"), [order(None, true)]);
    assert_eq!(press(&mut asked(), "tin empty<Enter>"), [order(Some("tin empty"), true)]);
    assert_eq!(
        press(&mut asked(), "<BackTab><BackTab><BackTab><BackTab>-1m<Enter>"),
        [Effect::CarryOut(
            Order::Coat {
                area: "Roof".into(),
                product: Some("primer-two-part".into()),
                next: None,
                finished: false,
                batch: None,
                why: None,
                sure: false,
            },
            Some(at(-1))
        )],
        "another time is asked about anew"
    );
}
