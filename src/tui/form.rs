//! The forms: what they ask, what is typed into them, and the order that comes out.

mod amounts;
mod edit;
mod field;
mod kinds;
mod pick;
mod pots;
mod record;

pub use edit::Edit;
pub use field::{Field, Input, Name};
pub use kinds::Kind;
pub use pick::{Choice, Pick};

use super::app::Known;
use crate::app::session::{Order, Refused};
use crate::app::wording::{Check, sentence};
use crate::engine::job::{Detail, StepKind};
use crate::engine::units::{Moment, parse_when};

/// A form on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// What it records.
    pub kind: Kind,
    /// What it asks.
    pub fields: Vec<Field>,
    /// Which field the keys go to.
    pub focus: usize,
    /// Why it could not be recorded.
    pub error: Option<String>,
    /// Whether it was asked about: the next Enter says yes.
    pub sure: bool,
    /// Whether the coat that is chosen may go on now.
    pub check: Option<Box<Check>>,
    /// The area and the product that this is about.
    checked: (String, String),
    /// The areas whose last stroke was likely forgotten, with the time at which it likely came.
    forgotten: Vec<(String, String)>,
}

/// A field that keeps a form from being recorded, and why; no reason where it was not asked yet.
pub struct Missing {
    name: Name,
    why: Option<String>,
}

/// Why the step of a letter cannot be entered now, where the form does not offer it.
fn not_now(letter: char) -> Option<&'static str> {
    let step = StepKind::ALL.into_iter().find(|step| step.letter() == letter.to_ascii_lowercase())?;
    Some(match step {
        StepKind::Pause | StepKind::Resume => {
            "Only while a coat is being applied: enter its first stroke (c)."
        }
        _ => "Not while a coat is being applied: enter its last stroke first (f).",
    })
}

impl Form {
    /// The field that the keys go to.
    pub fn focused(&self) -> &Field {
        &self.fields[self.focus.min(self.fields.len() - 1)]
    }

    fn focused_mut(&mut self) -> &mut Field {
        let last = self.fields.len() - 1;
        &mut self.fields[self.focus.min(last)]
    }

    /// A field by its name.
    pub fn field(&self, name: Name) -> Option<&Field> {
        self.fields.iter().find(|field| field.name == name)
    }

    /// The text of a field, trimmed; empty where the form has no such field.
    fn text(&self, name: Name) -> String {
        self.field(name).map(|field| field.value().trim().to_owned()).unwrap_or_default()
    }

    /// The focus moves on, round and round.
    pub fn step_focus(&mut self, forward: bool) {
        let count = self.fields.len();
        self.focus = (self.focus + if forward { 1 } else { count - 1 }) % count;
    }

    /// It was not recorded. What is only asked about is recorded by another Enter, unless something is changed.
    pub fn refused(&mut self, refused: Refused) {
        self.sure = refused.asks;
        self.error = Some(refused.says);
        let why = Name::Detail(Detail::Why);
        if refused.asks && self.kind == Kind::Coat {
            if self.field(why).is_none() {
                self.fields.push(Field::line(why, ""));
            }
            self.focus_on(why);
        }
    }

    fn changed(&mut self) {
        // The reason changes nothing that was asked about.
        if self.sure && self.focused().name == Name::Detail(Detail::Why) {
            return;
        }
        self.error = None;
        self.sure = false;
    }

    /// A character was typed.
    pub fn type_letter(&mut self, letter: char, known: &Known<'_>) {
        self.changed();
        let chosen = self.focused_mut().type_letter(letter);
        self.follow(known);
        if !chosen && self.kind == Kind::Step && self.focused().name == Name::What {
            self.error = not_now(letter).map(str::to_owned);
        }
        if chosen && self.kind == Kind::Step {
            // The step is said with one letter; what is typed next is how long it took, or how many came off.
            let strip = self.field(Name::Off).is_some();
            self.focus_on(if strip { Name::Off } else { Name::Minutes });
        }
    }

    /// The last character goes.
    pub fn erase(&mut self, known: &Known<'_>) {
        self.changed();
        self.focused_mut().erase();
        self.follow(known);
    }

    /// The text of the field is edited.
    pub fn edit(&mut self, key: Edit, known: &Known<'_>) {
        let before = self.focused().typed();
        let before = (before.0.len() + before.1.len(), self.focused().value());
        self.focused_mut().edit(key);
        let typed = self.focused().typed();
        if before != (typed.0.len() + typed.1.len(), self.focused().value()) {
            self.changed();
        }
        self.follow(known);
    }

    /// The choice moves in the list of the field.
    pub fn choose(&mut self, down: bool, known: &Known<'_>) {
        self.changed();
        self.focused_mut().choose(down);
        self.follow(known);
    }

    /// The product follows the area until the person has chosen one.
    fn follow(&mut self, known: &Known<'_>) {
        if self.kind == Kind::Step {
            self.ask_what_came_off();
        }
        if self.kind == Kind::Finish {
            self.propose_last_stroke();
        }
        if self.kind != Kind::Coat {
            return;
        }
        let area = self.text(Name::Area);
        for field in &mut self.fields {
            if let (Name::Product, Input::Pick(pick)) = (field.name, &mut field.input)
                && !pick.touched
            {
                pick.preset((known.next_product)(&area));
            }
        }
        let chosen = (self.text(Name::Area), self.text(Name::Product));
        if chosen != self.checked {
            self.checked = chosen;
            self.look(known);
        }
    }

    /// Checks the coat that is chosen, as things stand now.
    pub fn look(&mut self, known: &Known<'_>) {
        let (area, product) = &self.checked;
        let chosen = !area.is_empty() && !product.is_empty();
        self.check = chosen.then(|| (known.check)(area, product)).flatten().map(Box::new);
    }

    fn focus_on(&mut self, name: Name) {
        if let Some(at) = self.fields.iter().position(|field| field.name == name) {
            self.focus = at;
        }
    }

    /// Enter was pressed: what is to be recorded. Otherwise the focus is where something is missing or
    /// wrong, and nothing that was typed is lost.
    pub fn accept(&mut self, known: &Known<'_>) -> Option<(Order, Option<Moment>)> {
        let decided = self.decided();
        let made = decided.and_then(|()| self.order(known)).and_then(|order| Ok((order, self.when(known)?)));
        match made {
            Ok(made) => {
                self.error = None;
                Some(made)
            }
            Err(Missing { name, why }) => {
                let asked = self.focused().name == name;
                self.focus_on(name);
                self.error = why.or_else(|| asked.then(|| name.asks().to_owned()));
                None
            }
        }
    }

    /// Nothing is taken from a list that the person did not choose.
    fn decided(&self) -> Result<(), Missing> {
        let undecided = self.fields.iter().find_map(|field| match &field.input {
            Input::Pick(pick) => Some((field.name, pick.undecided()?)),
            _ => None,
        });
        match undecided {
            Some((name, why)) => Err(Missing { name, why: Some(sentence(why)) }),
            None => Ok(()),
        }
    }

    fn when(&self, known: &Known<'_>) -> Result<Option<Moment>, Missing> {
        let text = self.text(Name::When);
        // A proposed last stroke is taken as it stands there.
        if self.kind != Kind::Finish && self.field(Name::When).is_some_and(Field::is_untouched) {
            return Ok(None);
        }
        if text.is_empty() || text.eq_ignore_ascii_case("now") {
            return Ok(None);
        }
        let at = parse_when(&text, known.now, known.civil);
        at.map(Some).map_err(|error| Missing { name: Name::When, why: Some(error.to_string()) })
    }
}
