//! Views made by hand, for the tests: a Saturday at 16:00, in UTC.

mod key_driver;
mod plans;
mod record;
mod weather;

use chrono::TimeDelta;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

pub use key_driver::*;
pub use plans::*;
pub use record::*;
pub use weather::*;

use super::app::App;
use super::draw::{Sight, screen};
use super::theme::{ColorMode, Theme};
use crate::app::view::{
    AirLine, Band, Banner, Mark, MarkKind, NextThing, PotBand, PotPhase, PotRibbon, Ribbon, View,
};
use crate::app::wording::{Countdown, Wording};
use crate::engine::cure::Phase;
use crate::engine::job::{AlertId, AlertKind};
use crate::engine::job::{EntryId, StepKind};
use crate::engine::units::{Civil, Moment};

pub fn now() -> Moment {
    "2026-05-02T16:00:00Z".parse().unwrap()
}

/// `minutes` from now.
pub fn at(minutes: i64) -> Moment {
    now() + TimeDelta::minutes(minutes)
}

fn bands(edges: &[(i64, Phase, bool)]) -> Vec<Band> {
    let ends = edges.iter().skip(1).map(|(from, ..)| Some(at(*from))).chain([None]);
    let band = |((from, phase, sure), to): (&(i64, Phase, bool), _)| Band {
        from: at(*from),
        to,
        phase: *phase,
        sure: *sure,
        applying: false,
    };
    edges.iter().zip(ends).map(band).collect()
}

fn mark(minutes: i64, kind: MarkKind) -> Mark {
    Mark { at: at(minutes), kind }
}

pub fn roof() -> Ribbon {
    let mut bands = bands(&[
        (-75, Phase::Wet, true),
        (-45, Phase::Wet, true),
        (22, Phase::Wet, false),
        (40, Phase::Open, true),
        (190, Phase::Shut, false),
        (245, Phase::Shut, true),
        (680, Phase::Shut, false),
        (760, Phase::Sandable, true),
        (9000, Phase::Cured, true),
    ]);
    bands[0].applying = true;
    Ribbon {
        area: "Roof".into(),
        layer: "coat 2 of 6, epoxy-sealer".into(),
        phase: Some(Phase::Wet),
        applying: false,
        forgotten: None,
        bands,
        marks: vec![
            mark(-1500, MarkKind::Coat(1)),
            mark(-75, MarkKind::Coat(2)),
            mark(145, MarkKind::LastCall),
        ],
        head: "WAIT until 16:40".into(),
        says: "The film is not ready before 16:40. Then third coat, primer-two-part, started by 18:25 to finish before the window closes 19:10."
            .into(),
        range: "opens 16:22 … 16:40 · closes 19:10 … 20:05".into(),
        assumed: vec!["17.8 °C unchanged since 15:48 (12 min)".into()],
        film: vec![
            "Wet film 60, 80, 40 µm: spot 3 is too thin (50 to 100 µm specified); 30 µm dry (25 to 50 µm specified).".into(),
            "Without sanding, 1 more coat of epoxy-sealer may follow inside the window (3 wet on wet at most).".into(),
        ],
        countdown: Some(Countdown { to: at(40), label: "until the next coat".into() }),
    }
}

pub fn door() -> Ribbon {
    Ribbon {
        area: "Door, outside".into(),
        layer: "coat 1 of 4, varnish-two-part".into(),
        phase: Some(Phase::Shut),
        applying: false,
        forgotten: None,
        bands: bands(&[
            (-700, Phase::Wet, true),
            (-560, Phase::Open, true),
            (-70, Phase::Shut, true),
            (245, Phase::Shut, false),
            (280, Phase::Sandable, true),
        ]),
        marks: vec![
            mark(-900, MarkKind::Step(StepKind::Sand)),
            mark(-700, MarkKind::Coat(1)),
            mark(-100, MarkKind::Step(StepKind::TapeOff)),
        ],
        head: "TOO LATE, SAND from 20:40".into(),
        says: "The window has closed. Leave it alone until then; sand (grit 240), then second coat.".into(),
        range: "sandable 20:05 … 20:40".into(),
        assumed: vec![
            "17.8 °C unchanged since 15:48 (12 min)".into(),
            "outside the data sheet's temperatures".into(),
        ],
        film: Vec::new(),
        countdown: Some(Countdown { to: at(280), label: "until it can be sanded".into() }),
    }
}

pub fn floor() -> Ribbon {
    let mut bands = bands(&[(-20, Phase::Wet, true), (0, Phase::Wet, true), (500, Phase::Open, true)]);
    bands[0].applying = true;
    Ribbon {
        area: "Floor".into(),
        layer: "coat 1, oil-penetrating".into(),
        phase: Some(Phase::Wet),
        applying: true,
        forgotten: None,
        bands,
        marks: vec![mark(-20, MarkKind::Coat(1))],
        head: "COATING".into(),
        says: "Since 15:40 (20 min). Enter the last stroke when it is done (f, or curewright done). Second coat: not before Sun 00:20."
            .into(),
        range: "opens Sat 23:40 … Sun 00:20 or later".into(),
        assumed: Vec::new(),
        film: Vec::new(),
        countdown: None,
    }
}

pub fn bare(area: &str) -> Ribbon {
    Ribbon {
        area: area.into(),
        layer: String::new(),
        phase: None,
        applying: false,
        forgotten: None,
        bands: Vec::new(),
        marks: Vec::new(),
        head: "GO".into(),
        says: "First coat, epoxy-sealer. Only the air now was checked: there is no forecast.".into(),
        range: String::new(),
        assumed: Vec::new(),
        film: Vec::new(),
        countdown: None,
    }
}

pub fn view(ribbons: Vec<Ribbon>) -> View {
    let first = ribbons.iter().find(|ribbon| ribbon.countdown.is_some());
    let next = first.map_or_else(
        || NextThing {
            says: "No coat yet: press c at the first stroke, t for a reading.".into(),
            ..NextThing::default()
        },
        |ribbon| NextThing {
            area: Some(ribbon.area.clone()),
            head: ribbon.head.clone(),
            says: ribbon.says.clone(),
            countdown: ribbon.countdown.clone(),
        },
    );
    View {
        now: now(),
        piece: Some("Shepherd's hut".into()),
        clock: "Sat 16:00".into(),
        air: vec![AirLine {
            place: "shop".into(),
            figures: vec!["17.8 °C".into(), "falling 0.4 K/h".into(), "humidity 62 %".into()],
            figures_brief: vec!["17.8 °C".into(), "falling 0.4/h".into(), "RH 62 %".into()],
            age: "reading 12 min old".into(),
            age_brief: "12 min old".into(),
            old: false,
            film: Wording::default(),
            coat: Wording::default(),
        }],
        ribbons,
        next,
        banners: Vec::new(),
        pots: Vec::new(),
        weather: Vec::new(),
    }
}

/// Three areas.
pub fn hut() -> View {
    view(vec![roof(), door(), floor()])
}

/// The hut in a night that threatens what is wet, and is too damp for the next coat; a second place.
pub fn damp_hut() -> View {
    let mut view = hut();
    let figures = [
        "about 17.8 °C",
        "falling 0.4 K/h",
        "humidity about 62 %",
        "dew point 10.4 °C",
        "surface 6.7 K above it",
    ];
    let brief = ["17.8 °C", "falling 0.4/h", "RH 62 %", "dew 10.4", "surface +6.7 K"];
    view.air[0].figures = figures.map(str::to_owned).to_vec();
    view.air[0].figures_brief = brief.map(str::to_owned).to_vec();
    view.air[0].film = Wording {
        full: "Roof, still wet: the surface is 2.1 K above the dew point from 22:10 on; 3.0 K are needed."
            .into(),
        brief: "Roof, wet: 2.1 K above dew point 22:10.".into(),
        word: "wet: dew 22:10".into(),
        warns: true,
    };
    view.air[0].coat = Wording {
        full: "Roof: WAIT until Sun 10:30. Dew from 22:10: the surface is only 2.1 K above the dew point; it has to be 3.0 K above."
            .into(),
        brief: "Roof: WAIT until Sun 10:30 (dew 22:10: 2.1 K above).".into(),
        word: "WAIT until Sun 10:30".into(),
        warns: true,
    };
    let outside = AirLine {
        place: "outside".into(),
        figures: vec!["9.2 °C".into(), "falling 0.9 K/h".into(), "humidity 81 %".into()],
        figures_brief: vec!["9.2 °C".into(), "falling 0.9/h".into(), "RH 81 %".into()],
        age: "reading 3 min old".into(),
        age_brief: "3 min old".into(),
        old: false,
        film: Wording::default(),
        coat: Wording { word: "GO until 17:30".into(), full: "GO until 17:30.".into(), ..Wording::default() },
    };
    view.air.push(outside);
    view
}

/// Three areas and two batches: one is usable, of the other the induction time runs.
pub fn mixed() -> View {
    let band = |from, to: Option<i64>, phase| PotBand { from: at(from), to: to.map(at), phase };
    let sealer = PotRibbon {
        batch: EntryId(12),
        product: "epoxy-sealer".into(),
        mass: "500 g".into(),
        bands: vec![
            band(-70, Some(68), PotPhase::Usable),
            band(68, Some(93), PotPhase::Perhaps),
            band(93, None, PotPhase::Over),
        ],
        says: "Batch 12, 500 g of epoxy-sealer: spread it by 17:08.".into(),
        range: "usable until 17:08 … 17:33 · gets to 28 °C".into(),
        assumed: Vec::new(),
        countdown: Some(Countdown { to: at(68), label: "to spread batch 12".into() }),
        hot: false,
    };
    let primer = PotRibbon {
        batch: EntryId(13),
        product: "primer-two-part".into(),
        mass: "1.00 kg".into(),
        bands: vec![
            band(-1, Some(19), PotPhase::Induction),
            band(19, Some(230), PotPhase::Usable),
            band(230, Some(280), PotPhase::Perhaps),
            band(280, None, PotPhase::Over),
        ],
        says: "Batch 13, 1.00 kg of primer-two-part: let it stand until 16:19, then spread it by 19:50."
            .into(),
        range: "usable until 19:50 … 20:40 · gets to 26 °C".into(),
        assumed: Vec::new(),
        countdown: Some(Countdown { to: at(19), label: "until batch 13 may be used".into() }),
        hot: true,
    };
    let next =
        NextThing { says: sealer.says.clone(), countdown: sealer.countdown.clone(), ..NextThing::default() };
    View { pots: vec![sealer, primer], next, ..hut() }
}

/// Four areas: on a small screen there is no row to part them.
pub fn crowd() -> View {
    let sill = Ribbon { area: "Window frames".into(), ..door() };
    view(vec![roof(), door(), sill, floor()])
}

/// A job in which nothing has happened.
pub fn empty() -> View {
    let air = AirLine {
        place: "shop".into(),
        figures: Vec::new(),
        figures_brief: Vec::new(),
        age: "no reading yet: press t".into(),
        age_brief: "no reading yet: press t".into(),
        old: true,
        film: Wording::default(),
        coat: Wording::default(),
    };
    View { piece: None, air: vec![air], ..view(Vec::new()) }
}

/// Twelve areas.
pub fn fleet() -> View {
    let sides = ["Roof", "Door", "Wall, north", "Wall, south", "Wall, east", "Wall, west", "Floor"];
    let more = ["Window frames and sills", "Steps", "Wheels", "Drawbar", "Gutter"];
    let named = |(index, name): (usize, &&str)| {
        let ribbon = match index % 4 {
            0 => roof(),
            1 => door(),
            2 => floor(),
            _ => bare(name),
        };
        Ribbon { area: (*name).into(), ..ribbon }
    };
    view(sides.iter().chain(&more).enumerate().map(named).collect())
}

/// Three areas and four alerts.
pub fn alarmed() -> View {
    let banner = |id, kind, text: &str| Banner { id: AlertId(id), kind, text: text.into() };
    let banners = vec![
        banner(9, AlertKind::LastCall, "Roof: start the third coat by 18:25 to finish it inside the window."),
        banner(8, AlertKind::RecoatOpen, "Roof: the third coat may go on."),
        banner(5, AlertKind::ReadingOld, "shop: the last reading is 7 h old. Press t for a new one."),
        banner(4, AlertKind::Stall, "Door, outside: too cold, the film does not cure."),
    ];
    View { banners, ..hut() }
}

/// Names and sentences that try to drive the terminal or to burst the screen.
pub fn hostile() -> View {
    let long = "Wärmedämmung 日本語 ".repeat(12);
    let mut ribbon = roof();
    ribbon.area = long.clone();
    ribbon.layer = long.clone();
    ribbon.says = format!("\u{1b}[2J\u{7}{long}");
    ribbon.assumed = vec![long.clone(); 5];
    ribbon.marks.push(mark(-5, MarkKind::Coat(usize::MAX)));
    let mut view = view(vec![ribbon, bare("")]);
    view.piece = Some(long.clone());
    view.air[0].figures.push(long.clone());
    view.air[0].age = long.clone();
    view.pots = mixed().pots;
    view.pots[0].product = long.clone();
    view.pots[0].says = format!("\u{1b}[2J{long}");
    view.pots[1].bands.clear();
    view.banners = vec![Banner { id: AlertId(1), kind: AlertKind::Stall, text: long }];
    view
}

/// The whole screen of a state.
pub fn drawn(app: &App, width: u16, height: u16, color: ColorMode) -> Buffer {
    let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
    screen(&Sight { app, civil: &Civil::utc(), theme: Theme::new(color) }, &mut buf);
    buf
}

/// Its text, a line a row, without the blanks at the ends.
pub fn text(buf: &Buffer) -> String {
    let area = buf.area;
    let row = |y: u16| {
        let mut line = String::new();
        let mut x = 0;
        while x < area.width {
            let symbol = buf[(x, y)].symbol();
            line.push_str(symbol);
            x += super::text::width(symbol).max(1);
        }
        line.trim_end().to_owned()
    };
    (0..area.height).map(row).collect::<Vec<_>>().join("\n")
}
