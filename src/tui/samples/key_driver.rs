//! The tests' hands and desk: keys are pressed, orders noted.

use crate::engine::job::EntryId;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::{at, now};
use crate::app::session::{Done, Order, Refused};
use crate::app::view::{PlanShown, View};
use crate::app::wording::{AmountsPage, Check, PageLine, Reason};
use crate::engine::assess::{Answer, Verdict};
use crate::engine::units::{Civil, Moment, Units};
use crate::tui::Desk;
use crate::tui::app::{App, Effect, Event, Known};

pub fn products() -> Vec<(String, String)> {
    [
        ("epoxy-sealer", "Epoxy sealer"),
        ("primer-two-part", "Two-part epoxy primer"),
        ("varnish-two-part", "Two-part polyurethane varnish"),
        ("varnish-alkyd", "One-part alkyd varnish"),
        ("oil-penetrating", "Penetrating drying oil"),
    ]
    .map(|(id, name)| (id.to_owned(), name.to_owned()))
    .to_vec()
}

pub fn mixtures() -> Vec<(String, String)> {
    let mut products = products();
    products.truncate(3);
    products
}

pub fn next_product(area: &str) -> Option<String> {
    match area {
        "Roof" => Some("primer-two-part".into()),
        "Door, outside" => Some("varnish-two-part".into()),
        _ => None,
    }
}

/// A primer has to wait for a dry morning; anything else may go on.
pub fn check(area: &str, product: &str) -> Option<Check> {
    if product != "primer-two-part" {
        return Some(Check {
            answer: Answer::Go,
            verdict: Verdict::Go { until: Some(at(150)), if_dry: false },
            says: format!("GO until 18:30: {area}, {product}."),
            why: vec!["A coat started later is still wet when it rains, 19:10.".into()],
            until: Some(at(150)),
            from: None,
            reasons: Vec::new(),
            slots: Vec::new(),
            slot_texts: Vec::new(),
            sanded_from: 0,
            unforecast: None,
        });
    }
    let why = [
        "The film is not ready before 16:40. Then third coat, primer-two-part.",
        "Dew from 22:10: the surface is only 2.1 K above the dew point; it has to be 3.0 K above.",
        "Too cold from Sun 02:30: 7.4 °C, the product needs at least 8.0 °C.",
    ];
    let reason = |(code, text): (&'static str, &&str)| Reason { code, text: (*text).into(), from: now() };
    Some(Check {
        answer: Answer::Wait,
        verdict: Verdict::Wait { until: Some(at(1110)) },
        says: format!("WAIT until Sun 10:30: {area}, {product}."),
        why: why.iter().map(|why| (*why).into()).collect(),
        until: None,
        from: Some(at(1110)),
        reasons: ["film_wet", "dew_margin", "too_cold"].into_iter().zip(&why).map(reason).collect(),
        slots: vec![(at(1110), at(1620)), (at(2600), at(3200))],
        slot_texts: vec!["Sun 10:30 … 19:00".into(), "Mon 11:20 … 21:20".into()],
        sanded_from: 1,
        unforecast: None,
    })
}

/// An area, all of them, and the stock.
pub fn amounts() -> Vec<AmountsPage> {
    let line = |indent, text: &str, head| PageLine { indent, text: text.into(), head };
    let roof = vec![
        line(0, "Third coat, primer-two-part: 949 g (725 mL).", true),
        line(
            1,
            "Lay 100 µm wet (80 to 120 µm specified), 50 µm dry; it covers 9.0 m² a litre, losses included.",
            false,
        ),
        line(
            1,
            "Weigh out base 811 g and hardener 138 g; or measure base 580 mL and hardener 145 mL.",
            false,
        ),
        line(1, "Let it stand for 20 min before the first stroke.", false),
        line(
            1,
            "It is spread in 26 min (as the scheme says) and usable for 4 h 24 min at 18.8 °C (17.8 °C read, and the thermometer's error).",
            false,
        ),
        line(1, "! Resin and hardener sensitise the skin: gloves, no solvent on skin.", false),
        line(
            1,
            "! The product's own data sheet and safety data sheet, local rules and licensed practice come first.",
            false,
        ),
        line(0, "Fourth coat, primer-two-part: as the third coat.", true),
        line(0, "Together", true),
        line(1, "primer-two-part: 2 coats, 1.90 kg (1.45 L).", false),
        line(2, "Base 1.62 kg (1.16 L) and hardener 276 g (290 mL).", false),
        line(2, "In stock: 1.00 kg (764 mL); to buy: 900 g (686 mL).", false),
    ];
    let page = |title: &str, area: Option<&str>, lines| AmountsPage {
        title: title.into(),
        area: area.map(str::to_owned),
        lines,
    };
    vec![
        page("Roof, 6.5 m²", Some("Roof"), roof),
        page("All areas", None, vec![line(0, "Roof, 6.5 m²", true)]),
        page(
            "Stock",
            None,
            vec![line(0, "primer-two-part", true), line(1, "Left: 1.00 kg (764 mL).", false)],
        ),
    ]
}

/// What was recorded last.
pub fn last_entry() -> Option<(EntryId, String)> {
    Some((EntryId(7), "Roof: last stroke, 15:40".into()))
}

/// What the tests know of the world at a moment.
pub fn knowing<T>(now: Moment, use_it: impl FnOnce(&Known<'_>) -> T) -> T {
    use_it(&Known {
        now,
        speed: 1,
        civil: &Civil::utc(),
        units: Units::default(),
        mixtures: &mixtures,
        products: &products,
        next_product: &next_product,
        check: &check,
        amounts: &amounts,
        last_entry: &last_entry,
        record: &super::record,
        coat_view: &super::coat_view,
    })
}

/// The events of keys, "<Enter>" being one and "c" another.
pub fn typed(keys: &str) -> Vec<KeyEvent> {
    let mut events = Vec::new();
    let mut rest = keys;
    while let Some(letter) = rest.chars().next() {
        let (event, after) = match rest.strip_prefix('<').and_then(|rest| rest.split_once('>')) {
            Some((name, after)) => (named_key(name), after),
            None => (KeyEvent::from(KeyCode::Char(letter)), &rest[letter.len_utf8()..]),
        };
        events.push(event);
        rest = after;
    }
    events
}

/// Presses keys and gives what the world is to do.
pub fn press(app: &mut App, keys: &str) -> Vec<Effect> {
    let mut effects = Vec::new();
    for event in typed(keys) {
        effects.extend(knowing(app.view.now, |known| app.handle(Event::Key(event), known)));
    }
    effects
}

fn named_key(name: &str) -> KeyEvent {
    let code = match name {
        "Enter" => KeyCode::Enter,
        "Tab" => KeyCode::Tab,
        "BackTab" => KeyCode::BackTab,
        "Esc" => KeyCode::Esc,
        "Up" => KeyCode::Up,
        "Down" => KeyCode::Down,
        "Left" => KeyCode::Left,
        "Right" => KeyCode::Right,
        "Backspace" => KeyCode::Backspace,
        "Home" => KeyCode::Home,
        "End" => KeyCode::End,
        "Delete" => KeyCode::Delete,
        "PageUp" => KeyCode::PageUp,
        "PageDown" => KeyCode::PageDown,
        _ => {
            let letter = name.strip_prefix("Ctrl-").and_then(|name| name.chars().next()).unwrap();
            return KeyEvent::new(KeyCode::Char(letter), KeyModifiers::CONTROL);
        }
    };
    KeyEvent::from(code)
}

/// A desk that holds a view and notes what it is asked to do.
pub struct FakeDesk {
    pub view: Result<View, String>,
    pub answer: Result<Done, Refused>,
    pub orders: Vec<(Order, Option<Moment>)>,
    pub rings: bool,
    pub notices: Vec<String>,
    pub looked: usize,
    pub plan: PlanShown,
    pub planned: bool,
    civil: Civil,
}

impl FakeDesk {
    pub fn new(view: View) -> Self {
        Self {
            view: Ok(view),
            answer: Ok(Done::default()),
            orders: Vec::new(),
            rings: false,
            notices: Vec::new(),
            looked: 0,
            plan: PlanShown::default(),
            planned: false,
            civil: Civil::utc(),
        }
    }
}

impl Desk for FakeDesk {
    fn now(&self) -> Moment {
        now()
    }

    fn speed(&self) -> u32 {
        1
    }

    fn view(&mut self, _now: Moment) -> Result<View, String> {
        self.looked += 1;
        self.view.clone()
    }

    fn plan(&mut self, wanted: bool) -> PlanShown {
        self.planned = wanted;
        if wanted { self.plan.clone() } else { PlanShown::default() }
    }

    fn execute(&mut self, order: Order, at: Option<Moment>) -> Result<Done, Refused> {
        self.orders.push((order, at));
        self.answer.clone()
    }

    fn changed(&mut self) -> bool {
        false
    }

    fn ring(&mut self, _now: Moment) -> bool {
        self.rings
    }

    fn notices(&self) -> Vec<String> {
        self.notices.clone()
    }

    fn products(&self) -> Vec<(String, String)> {
        products()
    }

    fn mixtures(&self) -> Vec<(String, String)> {
        mixtures()
    }

    fn next_product(&self, area: &str) -> Option<String> {
        next_product(area)
    }

    fn check(&self, area: &str, product: &str) -> Option<Check> {
        check(area, product)
    }

    fn last_entry(&self) -> Option<(EntryId, String)> {
        last_entry()
    }

    fn civil(&self) -> &Civil {
        &self.civil
    }

    fn units(&self) -> Units {
        Units::default()
    }
}
