//! What the board is doing, as plain data, and how an event changes it. The world is not touched here:
//! what has to happen there comes out as effects.

mod amounts;
mod event;
mod record;

use std::collections::VecDeque;

use chrono::TimeDelta;
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

pub use event::{Amounts, Effect, Event, Known, Message, Page, Sheet, Weather};
pub use record::Record;

use super::form::Form;
use super::keys::{Action, Key, Scene, action};
use crate::board::{AmountsPage, Axis, CoatView, NextThing, PlanShown, RecordView, Ribbon, View};
use crate::session::Order;
use crate::units::{Civil, Moment, TemperatureUnit};

/// A message is there for so many seconds of the person's time, or until the next key.
const MESSAGE_SECONDS: i64 = 20;

/// The state of the board.
#[derive(Debug, Clone)]
pub struct App {
    /// What is to be seen.
    pub view: View,
    /// What fills the screen.
    pub page: Page,
    /// What lies over it.
    pub sheet: Option<Sheet>,
    /// What is said below.
    pub message: Option<Message>,
    /// Why the view is not fresh.
    pub trouble: Option<String>,
    /// The plan, as far as it was asked for.
    pub plan: PlanShown,
    /// How fast the clock runs.
    pub speed: u32,
    /// The record, while it is shown.
    pub record: RecordView,
    /// The coat that is looked at.
    pub coat: Option<CoatView>,
    /// What its temperatures are told in.
    pub coat_unit: TemperatureUnit,
    /// How much of what, while it is shown.
    pub amounts: Vec<AmountsPage>,
    base: Page,
    chosen: Option<String>,
    zoom: Option<usize>,
    shift: i32,
    notices: VecDeque<String>,
    page_lines: u16,
}

impl App {
    /// A board that has seen nothing yet.
    pub fn new(now: Moment, speed: u32) -> Self {
        let view = View {
            now,
            piece: None,
            clock: String::new(),
            air: Vec::new(),
            ribbons: Vec::new(),
            next: NextThing::default(),
            banners: Vec::new(),
            pots: Vec::new(),
            weather: Vec::new(),
        };
        Self {
            view,
            page: Page::Board,
            sheet: None,
            message: None,
            trouble: None,
            plan: PlanShown::default(),
            speed,
            record: RecordView::default(),
            coat: None,
            coat_unit: TemperatureUnit::Celsius,
            amounts: Vec::new(),
            base: Page::Board,
            chosen: None,
            zoom: None,
            shift: 0,
            notices: VecDeque::new(),
            page_lines: 0,
        }
    }

    /// A board that shows this.
    pub fn showing(view: View) -> Self {
        Self { view: view.clone(), ..Self::new(view.now, 1) }
    }

    /// What is in front of the person.
    pub fn scene(&self) -> Scene {
        match (&self.sheet, self.page) {
            (Some(Sheet::Undo(..)), _) => Scene::Confirm,
            (Some(Sheet::Form(_)), _) => Scene::Form,
            (None, Page::Board) => Scene::Board,
            (None, Page::Big) => Scene::Big,
            (None, Page::Help(_)) => Scene::Help,
            (None, Page::Details(_)) => Scene::Details,
            (None, Page::Alerts(_)) => Scene::Alerts,
            (None, Page::Weather(_)) => Scene::Weather,
            (None, Page::Record(_)) => Scene::Record,
            (None, Page::Coat(..)) => Scene::Coat,
            (None, Page::Amounts(_)) => Scene::Amounts,
            (None, Page::Plan(_)) => Scene::Plan,
        }
    }

    /// Which area is chosen: by the person, or else the most urgent one.
    pub fn chosen(&self) -> usize {
        let find = |name: &String| self.view.ribbons.iter().position(|ribbon| ribbon.area == *name);
        let chosen = self.chosen.as_ref().and_then(find);
        chosen.or_else(|| self.view.next.area.as_ref().and_then(find)).unwrap_or(0)
    }

    /// The ribbon of the chosen area.
    pub fn chosen_ribbon(&self) -> Option<&Ribbon> {
        self.view.ribbons.get(self.chosen())
    }

    /// The time axis over so many columns.
    pub fn axis(&self, columns: u16, civil: &Civil) -> Axis {
        let zoom = self.zoom.unwrap_or_else(|| Axis::fitting(&self.view));
        Axis::new(self.view.now, zoom, self.shift, columns, civil)
    }

    /// Whether now is where it always is, a quarter from the left.
    pub const fn at_now(&self) -> bool {
        self.shift == 0
    }

    /// How far a page can be scrolled; it is known once the page was laid out.
    pub const fn set_page_lines(&mut self, lines: u16) {
        self.page_lines = lines;
    }

    /// Takes an event in; what the world is to do comes out.
    pub fn handle(&mut self, event: Event, known: &Known<'_>) -> Vec<Effect> {
        let more = record::may_tell_more(&event);
        match event {
            Event::Key(key) if key.kind == KeyEventKind::Press => return self.key(key, known),
            Event::Key(_) => {}
            Event::Pasted(text) => self.pasted(&text, known),
            Event::Seen(Ok(view)) => {
                self.seen(view, known);
                self.refresh_amounts(known);
            }
            Event::Seen(Err(trouble)) => self.trouble = Some(trouble),
            Event::Planned(plan) => self.planned(plan),
            Event::Carried(Ok(done)) => {
                self.sheet = None;
                self.say(done.says, done.cautions, known);
            }
            Event::Carried(Err(trouble)) => match &mut self.sheet {
                Some(Sheet::Form(form)) => form.refused(trouble),
                _ => {
                    self.sheet = None;
                    self.say(trouble.says, Vec::new(), known);
                }
            },
            Event::Notice(notice) => self.notices.push_back(notice),
            Event::NoShell => {
                let says = "There is no shell behind this terminal to go back to.".to_owned();
                self.say(says, Vec::new(), known);
            }
        }
        if more {
            self.refresh_record(known);
        }
        self.settle_message(known);
        Vec::new()
    }

    fn seen(&mut self, view: View, known: &Known<'_>) {
        self.trouble = None;
        // What a form says of the air is as fresh as what is said of it above.
        let news = self.view.clock != view.clock || self.view.air != view.air;
        if let (Some(Sheet::Form(form)), true) = (&mut self.sheet, news) {
            form.look(known);
        }
        self.view = view;
        if let Page::Alerts(at) = self.page {
            self.page = match self.view.banners.len() {
                0 => self.base,
                count => Page::Alerts(at.min(count - 1)),
            };
        }
    }

    fn planned(&mut self, plan: PlanShown) {
        self.plan = plan;
        if let Page::Plan(chosen) = &mut self.page {
            *chosen = (*chosen).min(self.plan.lines().saturating_sub(1));
        }
    }

    fn say(&mut self, says: String, cautions: Vec<String>, known: &Known<'_>) {
        let until = known.now + TimeDelta::seconds(MESSAGE_SECONDS * i64::from(known.speed.max(1)));
        self.message = Some(Message { says, cautions, until: Some(until) });
    }

    fn settle_message(&mut self, known: &Known<'_>) {
        if self.message.as_ref().and_then(|message| message.until).is_some_and(|until| known.now >= until) {
            self.message = None;
        }
        // A notice stays until a key was pressed: it is told once only.
        if self.message.is_none()
            && let Some(says) = self.notices.pop_front()
        {
            self.message = Some(Message { says, cautions: Vec::new(), until: None });
        }
    }

    fn pasted(&mut self, text: &str, known: &Known<'_>) {
        if let Some(Sheet::Form(form)) = &mut self.sheet {
            for letter in text.chars().filter(|letter| !letter.is_control()).take(200) {
                form.type_letter(letter, known);
            }
        }
    }

    fn key(&mut self, event: KeyEvent, known: &Known<'_>) -> Vec<Effect> {
        let Some(key) = Key::of(event) else { return Vec::new() };
        self.message = None;
        let effects = match action(self.scene(), key) {
            Some(action) => self.act(action, known),
            None => {
                self.type_letter(event, known);
                Vec::new()
            }
        };
        self.settle_message(known);
        effects
    }

    fn type_letter(&mut self, event: KeyEvent, known: &Known<'_>) {
        let plain = !event.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
        if let (Some(Sheet::Form(form)), KeyCode::Char(letter), true) = (&mut self.sheet, event.code, plain) {
            form.type_letter(letter, known);
        }
    }

    fn act(&mut self, action: Action, known: &Known<'_>) -> Vec<Effect> {
        match action {
            Action::Suspend => return vec![Effect::Suspend],
            Action::Redraw => return vec![Effect::Redraw],
            Action::Quit => return vec![Effect::Quit],
            Action::Coat
            | Action::Finish
            | Action::Reading
            | Action::Step
            | Action::Mix
            | Action::Emptied
            | Action::Film
            | Action::Stock => self.open(action, known),
            Action::Note | Action::Work => self.open(action, known),
            Action::Record => {
                self.coat_unit = known.units.temperature;
                self.open_record(known);
            }
            Action::PageUp | Action::PageDown => self.step_record(action),
            Action::NextArea | Action::AreaBefore => self.turn_record(action == Action::NextArea),
            Action::LookAt | Action::TakeBack | Action::CorrectLine | Action::NoteOn => {
                return self.act_on_line(action, known);
            }
            Action::Undo => match (known.last_entry)() {
                Some((entry, says)) => self.sheet = Some(Sheet::Undo(entry, says)),
                None => self.say("Nothing was recorded that could be taken back.".into(), Vec::new(), known),
            },
            Action::Seen => return self.acknowledge(known),
            Action::Accept => return self.accept(known),
            Action::Back => self.back(),
            Action::Big => {
                self.base = if self.base == Page::Big { Page::Board } else { Page::Big };
                self.page = self.base;
            }
            Action::Help => self.page = Page::Help(0),
            Action::Details if self.view.ribbons.is_empty() => {}
            Action::Details => {
                // What is read must not change to another area because that has become more urgent.
                self.chosen = self.chosen_ribbon().map(|ribbon| ribbon.area.clone());
                self.page = Page::Details(0);
            }
            Action::Alerts if self.view.banners.is_empty() => {
                self.say("No alert waits to be seen.".into(), Vec::new(), known);
            }
            Action::Alerts => self.page = Page::Alerts(0),
            Action::Up | Action::Down => self.step(action == Action::Down, known),
            Action::Closer | Action::Farther => {
                let zoom = self.zoom.unwrap_or_else(|| Axis::fitting(&self.view));
                self.zoom = Some(match action {
                    Action::Closer => zoom.saturating_sub(1),
                    _ => (zoom + 1).min(Axis::ZOOMS - 1),
                });
            }
            Action::Amounts => self.open_amounts(known),
            Action::NextPage | Action::PageBefore => self.turn_amounts(action == Action::NextPage),
            Action::Weather => self.page = Page::Weather(Weather::default()),
            Action::Plan => self.page = Page::Plan(0),
            Action::Enough => return vec![Effect::Enough],
            Action::NextPlace | Action::PlaceBefore | Action::Table => self.turn_weather(action),
            Action::Earlier => self.shift = (self.shift - 1).max(-400),
            Action::Later => self.shift = (self.shift + 1).min(400),
            Action::ToNow => (self.shift, self.zoom) = (0, None),
            Action::NextField | Action::PreviousField => {
                if let Some(Sheet::Form(form)) = &mut self.sheet {
                    form.step_focus(action == Action::NextField);
                }
            }
            Action::Erase => {
                if let Some(Sheet::Form(form)) = &mut self.sheet {
                    form.erase(known);
                }
            }
        }
        Vec::new()
    }

    fn open(&mut self, action: Action, known: &Known<'_>) {
        self.leave_amounts();
        let area = self.chosen_ribbon().map(|ribbon| ribbon.area.as_str());
        let form = match action {
            Action::Coat => Some(Form::coat(&self.view, area, known)),
            Action::Finish => Form::finish(&self.view, area),
            Action::Reading => Some(Form::reading(&self.view)),
            Action::Mix => Some(Form::mix(area, known)),
            Action::Emptied => Form::emptied(&self.view),
            Action::Note => Some(Form::note(&self.view, area)),
            Action::Work => Some(Form::work(&self.view, area)),
            Action::Film => Form::film(&self.view, area),
            Action::Stock => Some(Form::stock(area, known)),
            _ => Form::step(&self.view, area),
        };
        match form {
            Some(form) => self.sheet = Some(Sheet::Form(form)),
            None => {
                let says = match action {
                    Action::Emptied => "No batch stands here: press m when one is mixed.",
                    Action::Finish => "No coat is being applied: press c when the first stroke goes on.",
                    _ => "There is no area yet: press c when the first stroke goes on.",
                };
                self.say(says.into(), Vec::new(), known);
            }
        }
    }

    fn acknowledge(&mut self, known: &Known<'_>) -> Vec<Effect> {
        if self.view.banners.is_empty() {
            self.say("No alert waits to be seen.".into(), Vec::new(), known);
            return Vec::new();
        }
        let alert = match self.page {
            Page::Alerts(at) => self.view.banners.get(at).map(|banner| banner.id),
            _ => None,
        };
        vec![Effect::CarryOut(Order::Acknowledge { alert }, None)]
    }

    fn accept(&mut self, known: &Known<'_>) -> Vec<Effect> {
        let order = match &mut self.sheet {
            Some(Sheet::Undo(entry, _)) => Some((Order::Undo { entry: Some(*entry) }, None)),
            Some(Sheet::Form(form)) => form.accept(known),
            None => None,
        };
        order.map(|(order, at)| Effect::CarryOut(order, at)).into_iter().collect()
    }

    fn turn_weather(&mut self, action: Action) {
        let places = self.view.weather.len().max(1);
        if let Page::Weather(weather) = &mut self.page {
            weather.scroll = 0;
            let place = weather.place.min(places - 1);
            match action {
                Action::Table => weather.table = !weather.table,
                Action::NextPlace => weather.place = (place + 1) % places,
                _ => weather.place = (place + places - 1) % places,
            }
        }
    }

    fn back(&mut self) {
        if self.sheet.take().is_some() {
            return;
        }
        if self.back_to_record() {
            return;
        }
        match self.page {
            Page::Board => self.chosen = None,
            Page::Big => self.base = Page::Board,
            _ => {}
        }
        self.page = self.base;
    }

    fn step(&mut self, down: bool, known: &Known<'_>) {
        if let Some(Sheet::Form(form)) = &mut self.sheet {
            form.choose(down, known);
            return;
        }
        let moved = |at: usize, last: usize| if down { (at + 1).min(last) } else { at.saturating_sub(1) };
        match &mut self.page {
            Page::Record(_) => self.step_record(if down { Action::Down } else { Action::Up }),
            Page::Coat(_, at)
            | Page::Help(at)
            | Page::Details(at)
            | Page::Weather(Weather { scroll: at, .. })
            | Page::Amounts(Amounts { scroll: at, .. }) => {
                *at = if down { (*at + 1).min(self.page_lines) } else { at.saturating_sub(1) };
            }
            Page::Alerts(at) => *at = moved(*at, self.view.banners.len().saturating_sub(1)),
            Page::Plan(at) => *at = moved(*at, self.plan.lines().saturating_sub(1)),
            Page::Board | Page::Big => {
                let at = moved(self.chosen(), self.view.ribbons.len().saturating_sub(1));
                self.chosen = self.view.ribbons.get(at).map(|ribbon| ribbon.area.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests;
