//! The forms of the record: a correction, a note, work.

use super::{Choice, Field, Form, Input, Kind, Missing, Name, Pick};
use crate::app::session::Order;
use crate::app::view::{RecordLine, View};
use crate::engine::job::{Change, Detail, EntryId, minutes};

/// The letters of the work clock.
const CLOCK: &[(char, &str)] =
    &[('b', "begins"), ('e', "ends"), ('y', "ends, the time is right"), ('m', "minutes")];

impl Form {
    /// The form that corrects an entry; None where it can only be taken back.
    pub fn correct(line: &RecordLine) -> Option<Self> {
        let details = line.details.as_ref()?;
        let field = |(detail, text): &(Detail, String)| Field::line(Name::Detail(*detail), text);
        let mut fields: Vec<Field> = details.iter().map(field).collect();
        fields.push(Field::line(Name::When, &line.typed));
        Some(Self::new(Kind::Correct(line.id), fields))
    }

    /// The form of a note.
    pub fn note(view: &View, area: Option<&str>) -> Self {
        Self::a_note(view, area, None)
    }

    /// The form of a note on an entry.
    pub fn note_on(view: &View, area: Option<&str>, entry: EntryId) -> Self {
        Self::a_note(view, area, Some(entry))
    }

    fn a_note(view: &View, area: Option<&str>, entry: Option<EntryId>) -> Self {
        let fields = vec![
            Field::line(Name::Detail(Detail::Text), ""),
            Field::pick(Name::Area, areas_or_all(view, area)),
            Field::line(Name::Detail(Detail::Photo), ""),
            Field::line(Name::When, "now"),
        ];
        Self::new(Kind::Note(entry), fields)
    }

    /// The form of work: the clock, or minutes.
    pub fn work(view: &View, area: Option<&str>) -> Self {
        let fields = vec![
            Field::letter(Name::Clock, CLOCK, None),
            Field::pick(Name::Area, areas_or_all(view, area)),
            Field::line(Name::Minutes, ""),
            Field::line(Name::When, "now"),
        ];
        Self::new(Kind::Work, fields)
    }

    pub(super) fn correct_order(&self, entry: EntryId) -> Order {
        let changed = |field: &Field| match (field.name, &field.input) {
            (Name::Detail(detail), Input::Line(line)) if !line.is_untouched() => {
                Some(Change { detail, text: field.value() })
            }
            _ => None,
        };
        Order::Correct { entry, changes: self.fields.iter().filter_map(changed).collect() }
    }

    pub(super) fn note_order(&self, entry: Option<EntryId>) -> Result<Order, Missing> {
        let photo = self.text(Name::Detail(Detail::Photo));
        let text = self.text(Name::Detail(Detail::Text));
        if text.is_empty() && photo.is_empty() {
            return Err(Missing { name: Name::Detail(Detail::Text), why: None });
        }
        let photo = Some(photo).filter(|photo| !photo.is_empty()).map(Into::into);
        Ok(Order::Note { area: self.area_or_none(), entry, text, photo })
    }

    pub(super) fn work_order(&self) -> Result<Order, Missing> {
        let area = self.area_or_none();
        let typed = self.text(Name::Minutes);
        let at = |key: char| CLOCK.iter().find(|known| known.0 == key).map_or("", |known| known.1);
        let chosen = self.text(Name::Clock);
        if chosen == at('b') {
            return Ok(Order::StartClock { area });
        }
        if chosen == at('e') || chosen == at('y') {
            return Ok(Order::StopClock { area: None, sure: chosen == at('y') });
        }
        if typed.is_empty() {
            let name = if chosen.is_empty() { Name::Clock } else { Name::Minutes };
            return Err(Missing { name, why: None });
        }
        let minutes =
            minutes(&typed).map_err(|error| Missing { name: Name::Minutes, why: Some(error.to_string()) })?;
        Ok(Order::Work { area, minutes })
    }

    fn area_or_none(&self) -> Option<String> {
        Some(self.text(Name::Area)).filter(|area| !area.is_empty())
    }
}

/// The areas, and the piece as a whole.
fn areas_or_all(view: &View, area: Option<&str>) -> Pick {
    let whole = Choice { value: String::new(), label: "the piece as a whole".into() };
    let areas = view.ribbons.iter().map(|ribbon| ribbon.area.clone());
    let areas = areas.map(|name| Choice { label: name.clone(), value: name });
    Pick::new(std::iter::once(whole).chain(areas).collect(), Some(area.unwrap_or(""))).or_new("new area")
}
