//! One field of a form: a line of text, a choice from a list, or a choice by letter.

use super::edit::{Edit, cursor, edit, erase, insert};
use super::pick::Pick;
use crate::engine::job::Detail;

/// What a field asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Name {
    /// The area.
    Area,
    /// The product.
    Product,
    /// What goes on after it.
    Next,
    /// Whether the last stroke is done too.
    Last,
    /// Which step.
    What,
    /// How long it took.
    Minutes,
    /// The temperature of the air.
    Air,
    /// Relative humidity.
    Humidity,
    /// The temperature of the surface.
    Surface,
    /// The place.
    Place,
    /// When it happened.
    When,
    /// How much of a batch.
    Mass,
    /// What a batch stands in.
    Vessel,
    /// How deep a tray is filled.
    Depth,
    /// How warm the parts of a batch are.
    Parts,
    /// Which batch.
    Batch,
    /// What the work clock does.
    Clock,
    /// A detail of an entry.
    Detail(Detail),
    /// Wet films, spot by spot.
    Films,
    /// How much came in.
    Amount,
    /// What it cost.
    Price,
    /// The number on the tin.
    Lot,
    /// How many coats were taken off.
    Off,
}

impl Name {
    /// The word before the field.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Area => "area",
            Self::Product => "product",
            Self::Next => "next coat",
            Self::Last => "last stroke",
            Self::What => "step",
            Self::Minutes => "minutes",
            Self::Air => "air",
            Self::Humidity => "humidity",
            Self::Surface => "surface",
            Self::Place => "place",
            Self::When => "when",
            Self::Mass => "mass",
            Self::Vessel => "vessel",
            Self::Depth => "depth",
            Self::Parts => "parts at",
            Self::Batch => "batch",
            Self::Clock => "work",
            Self::Detail(Detail::Text) => "text",
            Self::Detail(detail) => detail.name(),
            Self::Films => "wet film",
            Self::Amount => "amount",
            Self::Price => "price",
            Self::Lot => "lot",
            Self::Off => "coats",
        }
    }

    /// What can be typed into it.
    const fn hint(self) -> &'static str {
        match self {
            Self::Last => "y if the last stroke is done too",
            Self::What => "",
            Self::Minutes => "how long it took; may stay empty",
            Self::Air => "such as 17.5 or 17,5",
            Self::Humidity => "%; may stay empty",
            Self::Surface => "of the piece; may stay empty",
            Self::When => "now, or -20m, 14:20, Fri 14:20",
            Self::Mass => "all parts together, such as 300g",
            Self::Vessel => "c cup, t tray",
            Self::Depth => "of a tray, such as 10mm",
            Self::Parts => "temperature of the parts; empty: as the air",
            Self::Clock => "one letter",
            Self::Detail(Detail::Photo) => "path of the file; may stay empty",
            Self::Detail(Detail::Why) => "what happened; may stay empty",
            Self::Off => "how many, the newest first",
            Self::Films => "spot by spot: 80 90 75, or 3mil",
            Self::Amount => "as on the tin: 2kg, 750ml, 1qt",
            Self::Price => "for all of it: 24.90; may stay empty",
            Self::Lot => "the number on the tin; may stay empty",
            Self::Detail(_) | Self::Area | Self::Product | Self::Next | Self::Place | Self::Batch => "",
        }
    }

    /// What is said when it was left empty and must not be.
    pub const fn asks(self) -> &'static str {
        match self {
            Self::Area => "Which area? Type its name.",
            Self::Product => "Which product? Choose one from the list.",
            Self::What => "Which step? One letter is enough.",
            Self::Mass => "How much, all parts together? Such as 300g.",
            Self::Depth => "How deep is the tray filled? Such as 10mm.",
            Self::Clock => "Start or stop the work clock? Or type the minutes.",
            Self::Minutes => "How many minutes?",
            Self::Off => "How many coats were taken off? Type a number.",
            Self::Detail(Detail::Text) => "What is the note? Type it.",
            Self::Air => "How warm is the air? Type the thermometer's reading.",
            Self::Films => "How thick? Type what the comb shows.",
            Self::Amount => "How much? Type it with its unit: 2kg.",
            _ => "Something is missing in this field.",
        }
    }
}

/// A field of a form.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// What it asks.
    pub name: Name,
    /// What was answered.
    pub input: Input,
}

/// How a field is answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// A line of text.
    Line(Line),
    /// A choice from a list that letters filter.
    Pick(Pick),
    /// A choice by one letter.
    Letter(Letter),
}

/// A line of text. What stands in it at first gives way to what is typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Line {
    text: String,
    preset: bool,
    /// How many characters are after the cursor.
    after: usize,
    /// Whether something stood there that was taken out.
    erased: bool,
}

impl Line {
    /// Whether it holds what stood there at first.
    pub const fn is_untouched(&self) -> bool {
        self.preset || self.text.is_empty() && !self.erased
    }

    fn type_letter(&mut self, letter: char) {
        if std::mem::take(&mut self.preset) {
            self.erased = true;
            self.text.clear();
        }
        insert(&mut self.text, self.after, letter);
    }

    fn edit(&mut self, key: Edit) {
        self.preset = false;
        self.erased |= edit(&mut self.text, &mut self.after, key);
    }

    fn erase(&mut self) {
        if std::mem::take(&mut self.preset) {
            self.erased = true;
            self.text.clear();
        }
        erase(&mut self.text, self.after);
    }
}

/// A choice by letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// The letters with what they stand for.
    pub choices: &'static [(char, &'static str)],
    /// Which one was chosen.
    pub at: Option<usize>,
}

impl Field {
    /// A line of text with a text that gives way to typing.
    pub fn line(name: Name, preset: &str) -> Self {
        let line = Line { text: preset.to_owned(), preset: !preset.is_empty(), after: 0, erased: false };
        Self { name, input: Input::Line(line) }
    }

    /// A choice from a list.
    pub const fn pick(name: Name, pick: Pick) -> Self {
        Self { name, input: Input::Pick(pick) }
    }

    /// A choice by letter.
    pub const fn letter(name: Name, choices: &'static [(char, &'static str)], at: Option<usize>) -> Self {
        Self { name, input: Input::Letter(Letter { choices, at }) }
    }

    /// Whether a line of text holds what stood there at first.
    pub fn is_untouched(&self) -> bool {
        matches!(&self.input, Input::Line(line) if line.is_untouched())
    }

    /// What can be typed into it.
    pub fn hint(&self) -> String {
        match &self.input {
            Input::Pick(pick) => pick.hint(),
            _ => self.name.hint().to_owned(),
        }
    }

    /// The answer; empty where there is none yet.
    pub fn value(&self) -> String {
        match &self.input {
            Input::Line(line) => line.text.clone(),
            Input::Pick(pick) => pick.chosen().map(|choice| choice.value).unwrap_or_default(),
            Input::Letter(letter) => {
                letter.at.and_then(|at| letter.choices.get(at)).map(|(_, word)| *word).unwrap_or("").into()
            }
        }
    }

    /// Types a character; true where a letter chose something.
    pub(super) fn type_letter(&mut self, typed: char) -> bool {
        match &mut self.input {
            Input::Line(line) => line.type_letter(typed),
            Input::Pick(pick) => pick.type_letter(typed),
            Input::Letter(letter) => {
                let typed = typed.to_lowercase().next().unwrap_or(typed);
                if let Some(at) = letter.choices.iter().position(|(key, _)| *key == typed) {
                    letter.at = Some(at);
                    return true;
                }
            }
        }
        false
    }

    pub(super) fn erase(&mut self) {
        match &mut self.input {
            Input::Line(line) => line.erase(),
            Input::Pick(pick) => pick.erase(),
            Input::Letter(letter) => letter.at = None,
        }
    }

    pub(super) fn edit(&mut self, key: Edit) {
        match &mut self.input {
            Input::Line(line) => line.edit(key),
            Input::Pick(pick) => pick.edit(key),
            Input::Letter(_) => {}
        }
    }

    /// What is typed, before and after the cursor.
    pub fn typed(&self) -> (&str, &str) {
        match &self.input {
            Input::Line(line) => line.text.split_at(cursor(&line.text, line.after)),
            Input::Pick(pick) => pick.typed(),
            Input::Letter(_) => ("", ""),
        }
    }

    pub(super) fn choose(&mut self, down: bool) {
        match &mut self.input {
            Input::Line(_) => {}
            Input::Pick(pick) => pick.choose(down),
            Input::Letter(letter) => {
                let last = letter.choices.len().saturating_sub(1);
                letter.at = Some(match (letter.at, down) {
                    (None, _) => 0,
                    (Some(at), true) => (at + 1).min(last),
                    (Some(at), false) => at.saturating_sub(1),
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stood_there_gives_way_to_what_is_typed() {
        let mut field = Field::line(Name::When, "now");
        field.type_letter('-');
        field.type_letter('5');
        assert_eq!(field.value(), "-5");
        let mut field = Field::line(Name::When, "now");
        field.erase();
        assert_eq!(field.value(), "");
    }

    #[test]
    fn control_characters_and_endless_pastes_are_not_taken() {
        let mut field = Field::line(Name::Place, "");
        for letter in "a\u{1b}[2J\u{7}".chars().chain(std::iter::repeat_n('x', 5000)) {
            field.type_letter(letter);
        }
        assert!(field.value().starts_with("a[2Jx"));
        assert_eq!(field.value().chars().count(), super::super::edit::LONGEST);
    }
}
