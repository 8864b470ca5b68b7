//! The board on a terminal.
//!
//! An event (a key, a signal, the next second) goes to a reducer, which changes plain data and returns effects;
//! the screen is a function of that data. Only the driver touches the terminal, and it knows the job only
//! through the [`Desk`].

mod app;
mod draw;
mod form;
mod input;
mod keys;
mod run;
#[cfg(test)]
mod samples;
mod terminal;
mod text;
mod theme;

pub use draw::picture;
pub use run::{Options, run};
pub use text::wrap;
pub use theme::ColorMode;

use crate::app::session::{Done, Order, Refused};
use crate::app::view::{CoatView, PlanShown, RecordView, View};
use crate::app::wording::{AmountsPage, Check};
use crate::engine::job::EntryId;
use crate::engine::units::{Civil, Moment, Units};

/// The board's interface to the rest of the program. The real one holds the job; tests have their own.
pub trait Desk {
    /// The current moment; in the demo it runs faster.
    fn now(&self) -> Moment;

    /// Clock speed: 1 except in the demo.
    fn speed(&self) -> u32;

    /// The current view.
    ///
    /// # Errors
    /// A message, if the job cannot be read.
    fn view(&mut self, now: Moment) -> Result<View, String>;

    /// The current state of the plan. It is calculated in the background while it is shown.
    fn plan(&mut self, wanted: bool) -> PlanShown;

    /// Take the best plan so far.
    fn enough_planned(&mut self) {}

    /// Records something as of `at`, or now.
    ///
    /// A message, if it is refused; nothing is recorded then.
    /// In words, where it cannot be taken; nothing is recorded then.
    fn execute(&mut self, order: Order, at: Option<Moment>) -> Result<Done, Refused>;

    /// Whether another process has written since the last call.
    fn changed(&mut self) -> bool;

    /// Raises due alerts; true if the bell should ring.
    fn ring(&mut self, now: Moment) -> bool;

    /// Messages to show once, such as an unreachable desktop.
    fn notices(&self) -> Vec<String>;

    /// The available products: id and name.
    fn products(&self) -> Vec<(String, String)>;

    /// Those of them that are mixed from parts.
    fn mixtures(&self) -> Vec<(String, String)>;

    /// The next product on this area, if known.
    fn next_product(&self, area: &str) -> Option<String>;

    /// Whether a coat of a product may go on an area now; None if unknown.
    fn check(&self, area: &str, product: &str) -> Option<Check>;

    /// The amounts by page: the areas, all of them together, the stock.
    fn amounts(&self) -> Vec<AmountsPage> {
        Vec::new()
    }

    /// The entry that undo would take back, in words.
    fn last_entry(&self) -> Option<(EntryId, String)>;

    /// The record.
    fn record(&self) -> RecordView {
        RecordView::default()
    }

    /// A coat over time, by the entry of its first stroke.
    fn coat_view(&self, _coat: EntryId) -> Option<CoatView> {
        None
    }

    /// The wall clock.
    fn civil(&self) -> &Civil;

    /// The units.
    fn units(&self) -> Units;
}
