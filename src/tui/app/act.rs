//! What each key does to the board.

use super::{Amounts, App, Effect, Known, Page, Sheet, Weather};
use crate::app::session::Order;
use crate::app::view::{Axis, PlanEntry, PlanEntryKind};
use crate::tui::form::Form;
use crate::tui::keys::Action;

impl App {
    pub(super) fn act(&mut self, action: Action, known: &Known<'_>) -> Vec<Effect> {
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
                None => self.say("There is no entry to take back.".into(), Vec::new(), known),
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
                // The text being read must not switch to another area that becomes more urgent.
                self.chosen = self.chosen_ribbon().map(|ribbon| ribbon.area.clone());
                self.page = Page::Details(0);
            }
            Action::Alerts if self.view.banners.is_empty() => {
                self.say("There are no new alerts.".into(), Vec::new(), known);
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
            Action::EnterStep if self.plan.view.is_none() => return vec![Effect::Enough],
            Action::EnterStep => self.enter_step(known),
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
            Action::Edit(key) => {
                if let Some(Sheet::Form(form)) = &mut self.sheet {
                    form.edit(key, known);
                }
            }
        }
        Vec::new()
    }

    fn open(&mut self, action: Action, known: &Known<'_>) {
        self.leave_amounts();
        if matches!(self.page, Page::Weather(_)) {
            self.page = self.base;
        }
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
                    Action::Emptied => "There is no batch: press m when one is mixed.",
                    Action::Finish => "No coat is being applied: press c at the first stroke.",
                    _ => "There is no area yet: press c at the first stroke.",
                };
                self.say(says.into(), Vec::new(), known);
            }
        }
    }

    /// Opens the form of the chosen step of the plan.
    fn enter_step(&mut self, known: &Known<'_>) {
        let Page::Plan(chosen) = self.page else { return };
        let Some(line) = self.plan.line(chosen) else { return };
        let Some(PlanEntry { area, kind }) = line.enters.clone() else {
            return self.say("Cleaning up is not recorded.".into(), Vec::new(), known);
        };
        let form = match kind {
            PlanEntryKind::Coat => Some(Form::coat(&self.view, Some(&area), known)),
            PlanEntryKind::Batch => Some(Form::mix(Some(&area), known)),
            PlanEntryKind::Step(step) => Form::step_of(&self.view, Some(&area), Some(step)),
        };
        self.sheet = form.map(Sheet::Form);
    }

    fn acknowledge(&mut self, known: &Known<'_>) -> Vec<Effect> {
        if self.view.banners.is_empty() {
            self.say("There are no new alerts.".into(), Vec::new(), known);
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
            Some(Sheet::Undo(entry, _) | Sheet::Restore(entry, _)) => {
                Some((Order::Undo { entry: Some(*entry) }, None))
            }
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
