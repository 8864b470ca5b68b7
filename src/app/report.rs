//! What a job knows, in the forms that others read: a page, a text, tables, a calendar, lines for export.
//!
//! What is in them is gathered once, as plain data; each form is written from that and from nothing else, so
//! that they cannot contradict one another. This room knows no clock, no file and no terminal.

pub mod calendar;
mod csv;
mod escape;
pub mod facts;
mod head;
mod html;
mod lines;
mod markdown;
mod shop_page;
mod text;

pub use csv::{coats_csv, readings_csv};
pub use facts::Report;
pub use head::coat_view;
pub use html::{PAGE_MARK, html};
pub use lines::{JOB_HEAD, LineFault, read_lines, write_lines};
pub use markdown::{TEXT_MARK, markdown};
pub use shop_page::shop_page;
