//! The types of the board's state, its events and its effects.

use crossterm::event::KeyEvent;

use super::record::Record;
use crate::app::session::{Done, Order, Refused};
use crate::app::view::{CoatView, PlanShown, RecordView, View};
use crate::app::wording::{AmountsPage, Check};
use crate::engine::job::EntryId;
use crate::engine::units::{Civil, Moment, Units};
use crate::tui::form::Form;

/// What the reducer may ask.
pub struct Known<'a> {
    /// The current moment.
    pub now: Moment,
    /// Clock speed.
    pub speed: u32,
    /// The wall clock.
    pub civil: &'a Civil,
    /// The units.
    pub units: Units,
    /// The products: id and name. Requested only where they are listed, because it reads all profiles.
    pub products: &'a dyn Fn() -> Vec<(String, String)>,
    /// Those of them that are mixed from parts.
    pub mixtures: &'a dyn Fn() -> Vec<(String, String)>,
    /// The next product on an area.
    pub next_product: &'a dyn Fn(&str) -> Option<String>,
    /// Whether a coat of a product may go on an area.
    pub check: &'a dyn Fn(&str, &str) -> Option<Check>,
    /// The amounts by page. Requested only while shown.
    pub amounts: &'a dyn Fn() -> Vec<AmountsPage>,
    /// The entry that undo would take back.
    pub last_entry: &'a dyn Fn() -> Option<(EntryId, String)>,
    /// The record, requested when it is shown.
    pub record: &'a dyn Fn() -> RecordView,
    /// A coat over time.
    pub coat_view: &'a dyn Fn(EntryId) -> Option<CoatView>,
}

/// An event.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A key.
    Key(KeyEvent),
    /// A text was pasted.
    Pasted(String),
    /// A new view.
    Seen(Result<View, String>),
    /// The plan, or its progress.
    Planned(PlanShown),
    /// The result of an order.
    Carried(Result<Done, Refused>),
    /// A message to show once.
    Notice(String),
    /// The board returned from the shell, or could not suspend.
    NoShell,
}

/// An effect.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Records it, as of a moment or now.
    CarryOut(Order, Option<Moment>),
    /// Take the best plan so far.
    Enough,
    /// Suspend to the shell.
    Suspend,
    /// Draws everything again.
    Redraw,
    /// Leaves.
    Quit,
}

/// A scene.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// The board.
    Board,
    /// The big digits.
    Big,
    /// The help, with its scroll position.
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
    /// A coat over time, scrolled; the record before it as it was.
    Coat(Record, u16),
    /// The amounts.
    Amounts(Amounts),
}

/// The state of the amounts page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Amounts {
    /// Which page.
    pub page: usize,
    /// Scroll position.
    pub scroll: u16,
}

/// The state of the weather page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Weather {
    /// Which place.
    pub place: usize,
    /// As a table of hours, even where a plot would fit.
    pub table: bool,
    /// Scroll position.
    pub scroll: u16,
}

/// The sheet over the lower part of the screen.
#[derive(Debug, Clone, PartialEq)]
pub enum Sheet {
    /// The question whether to take back this entry, the last one when asked.
    Undo(EntryId, String),
    /// The question whether to take back the entry of this number, which took back another one.
    Restore(EntryId, String),
    /// A form.
    Form(Form),
}

/// A message below the board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// The sentence.
    pub says: String,
    /// Cautions, a sentence each.
    pub cautions: Vec<String>,
    pub(super) until: Option<Moment>,
}
