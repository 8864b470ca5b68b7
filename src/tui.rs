//! The board on a terminal.
//!
//! An event (a key, a signal, another second) goes to a reducer, which changes plain data and says what the
//! world is to do; the screen is a function of that data. Only the driver touches the terminal, and it
//! knows the job by one door: the [`Desk`].

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

/// What the board needs of the world behind it. The real one holds the job; tests hold their own.
pub trait Desk {
    /// The moment it is now; in the demo it runs faster.
    fn now(&self) -> Moment;

    /// How many seconds pass in one second: 1, but for the demo.
    fn speed(&self) -> u32;

    /// What is to be seen now.
    ///
    /// # Errors
    /// In words, where the job cannot be read.
    fn view(&mut self, now: Moment) -> Result<View, String>;

    /// The plan, as far as it is there. It is worked out aside while it is wanted, and given up when it is
    /// not wanted any more.
    fn plan(&mut self, wanted: bool) -> PlanShown;

    /// What is sought for the plan is enough: the best so far is shown.
    fn enough_planned(&mut self) {}

    /// Records something as of `at`, or now.
    ///
    /// # Errors
    /// In words, where it cannot be taken; nothing is recorded then.
    fn execute(&mut self, order: Order, at: Option<Moment>) -> Result<Done, Refused>;

    /// Whether something has changed from outside since the last call: another process has written.
    fn changed(&mut self) -> bool;

    /// Raises what is due; true where the bell should ring.
    fn ring(&mut self, now: Moment) -> bool;

    /// What the person has to be told once, such as that the desktop cannot be reached.
    fn notices(&self) -> Vec<String>;

    /// The products that can be chosen: id and name.
    fn products(&self) -> Vec<(String, String)>;

    /// Those of them that are mixed from parts.
    fn mixtures(&self) -> Vec<(String, String)>;

    /// The product that goes on this area next, where that is known.
    fn next_product(&self, area: &str) -> Option<String>;

    /// Whether a coat of a product may go on an area now; None where that cannot be told.
    fn check(&self, area: &str, product: &str) -> Option<Check>;

    /// How much of what, page by page: the areas, all of them together, the stock.
    fn amounts(&self) -> Vec<AmountsPage> {
        Vec::new()
    }

    /// The entry that would be taken back, in words.
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
