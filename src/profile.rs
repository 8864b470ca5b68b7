//! Products: what a data sheet says, read from a TOML file and checked to the line and column.
//!
//! This room knows texts and numbers. It opens no files, has no clock and no terminal.

mod product;
mod table;

pub use product::{
    Application, Cure, Film, Mix, Origin, PotLife, Product, Recoat, Stage,
};
pub(crate) use table::Piece;
pub use table::{Point, TableError, TimeTable};
