//! A desk of the test's own: it says what it was asked to do.

use curewright::engine::job::EntryId;
use std::time::Instant;

use curewright::app::view::{AirLine, Banner, NextThing, PlanShown, Ribbon, View};

use curewright::app::session::{Done, Order, Refused};
use curewright::app::wording::Countdown;
use curewright::engine::units::{Civil, Moment, Units};
use curewright::tui::Desk;

/// A clock that begins on a Saturday at 16:00, one area, one alert.
pub struct TestDesk {
    began: Instant,
    civil: Civil,
    rang: bool,
}

impl TestDesk {
    pub fn new() -> Self {
        Self { began: Instant::now(), civil: Civil::utc(), rang: false }
    }
}

fn saturday() -> Moment {
    "2026-05-02T16:00:00Z".parse().unwrap()
}

fn told(order: &Order) -> String {
    match order {
        Order::Coat { area, product, .. } => format!("Coat {area} {}", product.as_deref().unwrap_or("?")),
        Order::Finish { area } => format!("Finish {}", area.as_deref().unwrap_or("?")),
        Order::Step { area, step, minutes, .. } => format!("Step {step:?} {area} {}", minutes.unwrap_or(0)),
        Order::Reading { air, .. } => format!("Reading {}", air.degrees()),
        Order::Mix(mixing) => format!("Mix {}", mixing.product),
        Order::Emptied { .. } => "Emptied".into(),
        Order::WetFilm { area, spots, .. } => format!("WetFilm {area} {}", spots.len()),
        Order::Stock { product, .. } => format!("Stock {product}"),
        Order::Undo { .. } => "Undo".into(),
        Order::Acknowledge { .. } => "Acknowledge".into(),
        other => format!("{other:?}"),
    }
}

impl Desk for TestDesk {
    fn now(&self) -> Moment {
        saturday() + self.began.elapsed()
    }

    fn speed(&self) -> u32 {
        1
    }

    fn plan(&mut self, _wanted: bool) -> PlanShown {
        PlanShown::default()
    }

    fn view(&mut self, now: Moment) -> Result<View, String> {
        let countdown = Some(Countdown {
            to: saturday() + chrono::TimeDelta::hours(2),
            label: "until the window opens".into(),
        });
        let ribbon = Ribbon {
            area: "Roof".into(),
            layer: "coat 1, epoxy-sealer".into(),
            phase: None,
            applying: true,
            forgotten: None,
            bands: Vec::new(),
            marks: Vec::new(),
            head: "WAIT until 18:00".into(),
            says: "Second coat.".into(),
            range: String::new(),
            assumed: Vec::new(),
            film: Vec::new(),
            countdown: countdown.clone(),
        };
        Ok(View {
            now,
            piece: Some("Shepherd's hut".into()),
            clock: self.civil.time_of_day(now),
            air: vec![AirLine {
                place: "shop".into(),
                figures: vec!["17.8 °C".into()],
                figures_brief: vec!["17.8 °C".into()],
                age: "read just now".into(),
                age_brief: "read just now".into(),
                old: false,
                film: curewright::app::wording::Wording::default(),
                coat: curewright::app::wording::Wording::default(),
            }],
            ribbons: vec![ribbon],
            next: NextThing {
                area: Some("Roof".into()),
                head: "WAIT until 18:00".into(),
                says: "Second coat.".into(),
                countdown,
            },
            banners: vec![Banner {
                id: curewright::engine::job::AlertId(1),
                kind: curewright::engine::job::AlertKind::RecoatOpen,
                text: "Roof: the second coat may go on.".into(),
            }],
            pots: Vec::new(),
            weather: Vec::new(),
        })
    }

    fn execute(&mut self, order: Order, _at: Option<Moment>) -> Result<Done, Refused> {
        let says = format!("done: {}", told(&order));
        assert!(!says.contains("Panic"), "the desk fell over");
        Ok(Done { says, cautions: Vec::new() })
    }

    fn changed(&mut self) -> bool {
        false
    }

    fn ring(&mut self, _now: Moment) -> bool {
        !std::mem::replace(&mut self.rang, true)
    }

    fn notices(&self) -> Vec<String> {
        Vec::new()
    }

    fn products(&self) -> Vec<(String, String)> {
        vec![("epoxy-sealer".into(), "Epoxy sealer".into())]
    }

    fn mixtures(&self) -> Vec<(String, String)> {
        self.products()
    }

    fn next_product(&self, _area: &str) -> Option<String> {
        Some("primer-two-part".into())
    }

    fn check(&self, _area: &str, _product: &str) -> Option<curewright::app::wording::Check> {
        None
    }

    fn last_entry(&self) -> Option<(EntryId, String)> {
        Some((EntryId(7), "roof: last stroke, 15:40".into()))
    }

    fn civil(&self) -> &Civil {
        &self.civil
    }

    fn units(&self) -> Units {
        Units::default()
    }
}
