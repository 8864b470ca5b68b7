//! What the state of the board is made of, what happens to it, and what it wants of the world.

use crossterm::event::KeyEvent;

use super::record::Record;
use crate::app::session::{Done, Order, Refused};
use crate::app::view::{CoatView, PlanShown, RecordView, View};
use crate::app::wording::{AmountsPage, Check};
use crate::engine::job::EntryId;
use crate::engine::units::{Civil, Moment, Units};
use crate::tui::form::Form;

/// What the reducer may know of the world.
pub struct Known<'a> {
    /// The moment it is now.
    pub now: Moment,
    /// How many seconds pass in one.
    pub speed: u32,
    /// The wall clock.
    pub civil: &'a Civil,
    /// The units.
    pub units: Units,
    /// The products: id and name. Asked for only where they are listed: all profiles are read for it.
    pub products: &'a dyn Fn() -> Vec<(String, String)>,
    /// Those of them that are mixed from parts.
    pub mixtures: &'a dyn Fn() -> Vec<(String, String)>,
    /// The product that goes on an area next.
    pub next_product: &'a dyn Fn(&str) -> Option<String>,
    /// Whether a coat of a product may go on an area.
    pub check: &'a dyn Fn(&str, &str) -> Option<Check>,
    /// How much of what, page by page. Asked for only while it is shown.
    pub amounts: &'a dyn Fn() -> Vec<AmountsPage>,
    /// The entry that would be taken back.
    pub last_entry: &'a dyn Fn() -> Option<(EntryId, String)>,
    /// The record, looked at when it is shown.
    pub record: &'a dyn Fn() -> RecordView,
    /// A coat over time.
    pub coat_view: &'a dyn Fn(EntryId) -> Option<CoatView>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A key.
    Key(KeyEvent),
    /// A text was pasted.
    Pasted(String),
    /// The job was looked at.
    Seen(Result<View, String>),
    /// The plan came, or is being worked out.
    Planned(PlanShown),
    /// An order was carried out, or was not.
    Carried(Result<Done, Refused>),
    /// Something the person has to be told once.
    Notice(String),
    /// The board came back from the shell, or could not go there.
    NoShell,
}

/// Something the world is to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Records it, as of a moment or now.
    CarryOut(Order, Option<Moment>),
    /// The plan as far as it is there is enough.
    Enough,
    /// To the shell.
    Suspend,
    /// Draws everything again.
    Redraw,
    /// Leaves.
    Quit,
}

/// What fills the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// The board.
    Board,
    /// The big digits.
    Big,
    /// The help, scrolled by so many lines.
    Help(u16),
    /// Everything about the chosen area, scrolled.
    Details(u16),
    /// The alerts, with one chosen.
    Alerts(usize),
    /// The weather.
    Weather(Weather),
    /// The plan, with one step chosen.
    Plan(usize),
    /// The record, with one line chosen.
    Record(Record),
    /// A coat over time, scrolled; the record behind it as it was.
    Coat(Record, u16),
    /// How much of what.
    Amounts(Amounts),
}

/// What is shown of the amounts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Amounts {
    /// Which page.
    pub page: usize,
    /// Scrolled by so many lines.
    pub scroll: u16,
}

/// What is shown of the weather.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Weather {
    /// Which place.
    pub place: usize,
    /// As a table of hours, where a plot would fit.
    pub table: bool,
    /// Scrolled by so many lines.
    pub scroll: u16,
}

/// What lies over the lower part of the screen.
#[derive(Debug, Clone, PartialEq)]
pub enum Sheet {
    /// Whether this entry is to be taken back, the one that was the last when it was asked.
    Undo(EntryId, String),
    /// A form.
    Form(Form),
}

/// What is said below the board for a while.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// The sentence.
    pub says: String,
    /// What can hurt, a sentence each.
    pub cautions: Vec<String>,
    pub(super) until: Option<Moment>,
}
