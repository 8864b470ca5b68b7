//! The state of the board as plain data, and the reducer. Actions on the rest of the program are returned as
//! effects.

mod act;
mod amounts;
mod event;
mod record;

use std::collections::VecDeque;

use chrono::TimeDelta;
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

pub use event::{Amounts, Effect, Event, Known, Message, Page, Sheet, Weather};
pub use record::Record;

use super::keys::{Key, Scene, action};
use crate::app::view::{Axis, CoatView, NextThing, PlanShown, RecordView, Ribbon, View};
use crate::app::wording::AmountsPage;
use crate::engine::units::{Civil, Moment, TemperatureUnit};

/// A message stays for this many seconds of real time, or until the next key.
const MESSAGE_SECONDS: i64 = 20;

/// The state of the board.
#[derive(Debug, Clone)]
pub struct App {
    /// The view.
    pub view: View,
    /// The current scene.
    pub page: Page,
    /// The sheet over it.
    pub sheet: Option<Sheet>,
    /// The message below.
    pub message: Option<Message>,
    /// Why the view is out of date.
    pub trouble: Option<String>,
    /// The plan, if requested.
    pub plan: PlanShown,
    /// Clock speed.
    pub speed: u32,
    /// The record, while it is shown.
    pub record: RecordView,
    /// The coat shown.
    pub coat: Option<CoatView>,
    /// The unit of its temperatures.
    pub coat_unit: TemperatureUnit,
    /// The amounts, while shown.
    pub amounts: Vec<AmountsPage>,
    base: Page,
    chosen: Option<String>,
    zoom: Option<usize>,
    shift: i32,
    notices: VecDeque<String>,
    page_lines: u16,
}

impl App {
    /// An empty board.
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

    /// A board with this view.
    pub fn showing(view: View) -> Self {
        Self { view: view.clone(), ..Self::new(view.now, 1) }
    }

    /// The current context for keys.
    pub fn scene(&self) -> Scene {
        match (&self.sheet, self.page) {
            (Some(Sheet::Undo(..) | Sheet::Restore(..)), _) => Scene::Confirm,
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

    /// The chosen area: the person's choice, or the most urgent one.
    pub fn chosen(&self) -> usize {
        let find = |name: &String| self.view.ribbons.iter().position(|ribbon| ribbon.area == *name);
        let chosen = self.chosen.as_ref().and_then(find);
        chosen.or_else(|| self.view.next.area.as_ref().and_then(find)).unwrap_or(0)
    }

    /// The ribbon of the chosen area.
    pub fn chosen_ribbon(&self) -> Option<&Ribbon> {
        self.view.ribbons.get(self.chosen())
    }

    /// The time axis over this many columns.
    pub fn axis(&self, columns: u16, civil: &Civil) -> Axis {
        let zoom = self.zoom.unwrap_or_else(|| Axis::fitting(&self.view));
        Axis::new(self.view.now, zoom, self.shift, columns, civil)
    }

    /// Whether now is at its default position, a quarter from the left.
    pub const fn at_now(&self) -> bool {
        self.shift == 0
    }

    /// The scroll limit of a page; known once it is laid out.
    pub const fn set_page_lines(&mut self, lines: u16) {
        self.page_lines = lines;
    }

    /// Handles an event and returns the effects.
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
                let says = "This terminal has no shell to go back to.".to_owned();
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
        // A form's check is as fresh as the view above it.
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
        // A notice stays until a key is pressed: it is shown only once.
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
}

#[cfg(test)]
mod tests;
