//! What each form asks, and the order that its answers make.

use super::{Choice, Field, Form, Missing, Name, Pick};
use crate::app::session::Order;
use crate::app::view::{Ribbon, View};
use crate::engine::job::{Detail, EntryId, StepKind};
use crate::engine::units::{Celsius, Humidity, parse_duration};
use crate::tui::app::Known;

/// What a form records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The first stroke of a coat.
    Coat,
    /// The last stroke.
    Finish,
    /// A reading.
    Reading,
    /// Another step.
    Step,
    /// A batch.
    Mix,
    /// A batch is used up.
    Emptied,
    /// What an entry should have been.
    Correct(EntryId),
    /// A note, on an entry or on none.
    Note(Option<EntryId>),
    /// Work: the clock, or minutes.
    Work,
    /// A wet film.
    Film,
    /// What came into the shop.
    Stock,
}

impl Kind {
    /// The line above the form.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Coat => "The first stroke of a coat",
            Self::Finish => "The last stroke of a coat",
            Self::Reading => "A reading",
            Self::Step => "Another step",
            Self::Mix => "A batch is mixed",
            Self::Emptied => "A batch is used up",
            Self::Correct(_) => "Correction; the old entry stays, struck through",
            Self::Note(None) => "A note",
            Self::Note(Some(_)) => "A note on this entry",
            Self::Work => "Work",
            Self::Film => "A wet film was measured",
            Self::Stock => "New material",
        }
    }
}

const YES_NO: &[(char, &str)] = &[('y', "yes"), ('n', "no")];

impl Form {
    /// The form of a coat's first stroke, with the area chosen beforehand and its product known where the
    /// scheme or the last coat tell it.
    pub fn coat(view: &View, area: Option<&str>, known: &Known<'_>) -> Self {
        let product = area.and_then(|area| (known.next_product)(area));
        let products = || (known.products)().iter().map(product_choice).collect::<Vec<_>>();
        let told = Choice { value: String::new(), label: "as the scheme says, or the same".into() };
        let next = std::iter::once(told).chain(products()).collect();
        let mut fields = vec![
            Field::pick(Name::Area, Pick::new(areas(view, |_| true), area).or_new("new area")),
            Field::pick(Name::Product, Pick::new(products(), product.as_deref())),
            Field::line(Name::When, "now"),
            Field::letter(Name::Last, YES_NO, Some(1)),
            Field::pick(Name::Next, Pick::new(next, Some(""))),
        ];
        fields.extend(Self::batch_of_coat(view));
        let mut form = Self::new(Kind::Coat, fields);
        form.follow(known);
        form
    }

    /// The form of a last stroke; None where no coat is being applied.
    pub fn finish(view: &View, area: Option<&str>) -> Option<Self> {
        let coated: Vec<&str> =
            view.ribbons.iter().filter(|ribbon| ribbon.applying).map(|ribbon| ribbon.area.as_str()).collect();
        let chosen = area.filter(|area| coated.contains(area)).or(coated.first().copied())?;
        let area =
            Field::pick(Name::Area, Pick::new(areas(view, |name| coated.contains(&name)), Some(chosen)));
        let mut form = Self::new(Kind::Finish, vec![area, Field::line(Name::When, "now")]);
        let forgotten = |ribbon: &Ribbon| Some((ribbon.area.clone(), ribbon.forgotten.clone()?));
        form.forgotten = view.ribbons.iter().filter_map(forgotten).collect();
        form.propose_last_stroke();
        Some(form)
    }

    /// The form of a reading.
    pub fn reading(view: &View) -> Self {
        let mut fields = vec![
            Field::line(Name::Air, ""),
            Field::line(Name::Humidity, ""),
            Field::line(Name::Surface, ""),
            Field::line(Name::When, "now"),
        ];
        // Where there is one place only nobody needs to be asked, though another can be named.
        let first = view.air.first().map(|air| air.place.as_str());
        let place =
            |air: &crate::app::view::AirLine| Choice { value: air.place.clone(), label: air.place.clone() };
        let places = Pick::new(view.air.iter().map(place).collect(), first);
        fields.push(Field::pick(Name::Place, places.or_new("new place")));
        Self::new(Kind::Reading, fields)
    }

    /// The form of a step; None where there is no area that it could be done on.
    pub fn step(view: &View, area: Option<&str>) -> Option<Self> {
        Self::step_of(view, area, None)
    }

    /// The same with the step chosen.
    pub fn step_of(view: &View, area: Option<&str>, step: Option<StepKind>) -> Option<Self> {
        let area = area.or_else(|| view.ribbons.first().map(|ribbon| ribbon.area.as_str()))?;
        let applying = view.ribbons.iter().any(|ribbon| ribbon.area == area && ribbon.applying);
        let letters = if applying { &StepKind::LETTERS_OF_A_COAT } else { &StepKind::LETTERS };
        let chosen = step.and_then(|step| letters.iter().position(|(letter, _)| *letter == step.letter()));
        Some(Self::new(
            Kind::Step,
            vec![
                Field::letter(Name::What, letters, chosen),
                Field::pick(Name::Area, Pick::new(areas(view, |_| true), Some(area))),
                Field::line(Name::Minutes, ""),
                Field::line(Name::When, "now"),
            ],
        ))
    }

    pub(super) const fn new(kind: Kind, fields: Vec<Field>) -> Self {
        let checked = (String::new(), String::new());
        Self { kind, fields, focus: 0, error: None, sure: false, check: None, checked, forgotten: Vec::new() }
    }

    /// Where a last stroke was likely forgotten, its likely time stands in the field until another is typed.
    pub(super) fn propose_last_stroke(&mut self) {
        let area = self.text(Name::Area);
        let likely = self.forgotten.iter().find(|(name, _)| *name == area).map(|(_, likely)| likely.clone());
        let line = Field::line(Name::When, likely.as_deref().unwrap_or("now"));
        if let Some(field) = self.fields.iter_mut().find(|field| field.name == Name::When)
            && field.is_untouched()
        {
            *field = line;
        }
    }

    pub(super) fn order(&self, known: &Known<'_>) -> Result<Order, Missing> {
        Ok(match self.kind {
            Kind::Coat => Order::Coat {
                area: self.needed(Name::Area)?,
                product: Some(self.needed(Name::Product)?),
                next: Some(self.text(Name::Next)).filter(|next| !next.is_empty()),
                finished: self.text(Name::Last) == "yes",
                batch: self.batch(),
                why: Some(self.text(Name::Detail(Detail::Why))).filter(|why| !why.is_empty()),
                sure: self.sure,
            },
            Kind::Mix => self.mixing(known)?,
            Kind::Emptied => Order::Emptied { batch: self.batch() },
            Kind::Correct(entry) => self.correct_order(entry),
            Kind::Note(entry) => self.note_order(entry)?,
            Kind::Work => self.work_order()?,
            Kind::Film => self.film_order(known)?,
            Kind::Stock => self.stock_order(known)?,
            Kind::Finish => Order::Finish { area: Some(self.needed(Name::Area)?) },
            Kind::Step => {
                let word = self.needed(Name::What)?;
                let step = StepKind::ALL.into_iter().find(|step| step.label() == word);
                let step = step.unwrap_or(StepKind::Sand);
                let why = Some(self.text(Name::Detail(Detail::Why))).filter(|why| !why.is_empty());
                let (area, minutes) = (self.needed(Name::Area)?, self.minutes()?);
                Order::Step { step, area, minutes, coats: self.coats_off(step)?, why }
            }
            Kind::Reading => {
                let celsius = |text: &str| Celsius::parse(text, known.units.temperature);
                let air = self.needed(Name::Air)?;
                Order::Reading {
                    place: Some(self.text(Name::Place)).filter(|place| !place.is_empty()),
                    air: celsius(&air).map_err(|error| wrong(Name::Air, &error))?,
                    humidity: self.perhaps(Name::Humidity, Humidity::parse_typed)?,
                    surface: self.perhaps(Name::Surface, celsius)?,
                }
            }
        })
    }

    pub(super) fn needed(&self, name: Name) -> Result<String, Missing> {
        let text = self.text(name);
        if text.is_empty() { Err(Missing { name, why: None }) } else { Ok(text) }
    }

    pub(super) fn perhaps<T, E: ToString>(
        &self,
        name: Name,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Result<Option<T>, Missing> {
        let text = self.text(name);
        if text.is_empty() {
            return Ok(None);
        }
        parse(&text).map(Some).map_err(|error| wrong(name, &error))
    }

    /// A strip asks how many coats came off, and why; no other step does.
    pub(super) fn ask_what_came_off(&mut self) {
        let asked = [Name::Off, Name::Detail(Detail::Why)];
        let strip = self.text(Name::What) == StepKind::Strip.label();
        match (strip, self.field(Name::Off).is_some()) {
            (true, false) => {
                let when = self.fields.len() - 1;
                let fields = [Field::line(asked[0], "1"), Field::line(asked[1], "")];
                self.fields.splice(when..when, fields);
            }
            (false, true) => self.fields.retain(|field| !asked.contains(&field.name)),
            _ => {}
        }
    }

    fn coats_off(&self, step: StepKind) -> Result<Option<usize>, Missing> {
        if step != StepKind::Strip {
            return Ok(None);
        }
        let count = |text: &str| {
            let count = text.parse().ok().filter(|count| *count > 0);
            count.ok_or_else(|| format!("\"{text}\" is no number of coats, such as 1"))
        };
        self.needed(Name::Off)?;
        self.perhaps(Name::Off, count)
    }

    /// "45", and as a favour "1 h 30 min".
    fn minutes(&self) -> Result<Option<u32>, Missing> {
        self.perhaps(Name::Minutes, |text| {
            let written_out = || {
                let minutes = parse_duration(text).ok()?.num_minutes();
                u32::try_from(minutes).ok()
            };
            let minutes = text.parse().ok().or_else(written_out);
            minutes.ok_or_else(|| format!("\"{text}\" is no number of minutes, such as 45"))
        })
    }
}

pub(super) fn wrong(name: Name, error: &impl ToString) -> Missing {
    Missing { name, why: Some(error.to_string()) }
}

pub(super) fn areas(view: &View, wanted: impl Fn(&str) -> bool) -> Vec<Choice> {
    let names = view.ribbons.iter().map(|ribbon| ribbon.area.clone()).filter(|name| wanted(name));
    names.map(|name| Choice { label: name.clone(), value: name }).collect()
}

pub(super) fn product_choice((id, name): &(String, String)) -> Choice {
    Choice { value: id.clone(), label: format!("{id}  {name}") }
}
