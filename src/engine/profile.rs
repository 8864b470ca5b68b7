//! Products: what a data sheet says, read from a TOML file and checked to the line and column.
//!
//! This room knows texts and numbers. It opens no files, has no clock and no terminal.

mod check;
mod fault;
mod file;
mod following;
mod library;
mod product;
mod proportions;
mod sketch;
mod suggestions;
mod table;
mod template;
mod times;
mod value;

pub use check::{profile_warnings, read_profile};
pub use fault::{Fault, fault_report, text_of, warning_report};
pub use following::{Following, may_follow};
pub use library::{Library, UnknownProduct, built_in_texts};
pub use product::{Application, Cure, Film, Mix, Never, Origin, PotLife, Product, Recoat, Stage};
pub use sketch::{COMES_FIRST, sheet};
pub(crate) use suggestions::nearest;
pub(crate) use table::Piece;
pub use table::{Point, Range, TableError, TimeTable};
pub use template::{Answers, Question, fill, id_from, questions, template, unfilled};

/// Whether a text can name a product in commands and schemes: a to z, 0 to 9 and hyphens, but no
/// hyphen first, where it would be taken for an option.
pub fn is_id(text: &str) -> bool {
    let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    !text.is_empty() && !text.starts_with('-') && text.chars().all(fits)
}
