//! The time axis: one ruler for the whole screen.

use ratatui::buffer::Buffer;

use super::{Columns, Sight};
use crate::app::view::Axis;
use crate::engine::units::Moment;
use crate::tui::text::{put, put_right, width};

/// The cell of a moment, which may lie outside the axis.
pub fn cell(axis: &Axis, moment: Moment, cells: u16) -> i64 {
    (axis.share(moment) * f64::from(cells)).floor() as i64
}

/// The cell of a moment, where the axis has it.
pub fn visible(axis: &Axis, moment: Moment, cells: u16) -> Option<u16> {
    u16::try_from(cell(axis, moment, cells)).ok().filter(|cell| *cell < cells)
}

/// The ruler: every label begins after its tick, and now has its own.
pub fn ruler(sight: &Sight<'_>, axis: &Axis, columns: &Columns, y: u16, buf: &mut Buffer) {
    let theme = sight.theme;
    let (left, cells) = (columns.axis, columns.cells);
    put(buf, left, y, cells, &"─".repeat(usize::from(cells)), theme.quiet());
    let now = visible(axis, sight.app.view.now, cells);
    let mut free = 0;
    for (moment, label) in &axis.ticks {
        let Some(at) = visible(axis, *moment, cells) else { continue };
        let end = at + 1 + width(label);
        let on_now = now.is_some_and(|now| at < now + 2 && end + 4 > now);
        if at < free || end > cells || on_now {
            continue;
        }
        put(buf, left + at, y, 1, "┬", theme.quiet());
        put(buf, left + at + 1, y, cells - at - 1, label, theme.plain());
        free = end;
    }
    match now {
        Some(now) => {
            if now >= 4 {
                put(buf, left + now - 4, y, 4, " now", theme.strong());
            }
            put(buf, left + now, y, 1, "▼", theme.strong());
        }
        None if sight.app.view.now < axis.from => {
            put(buf, left, y, cells, "◄now ", theme.strong());
        }
        None => {
            put_right(buf, left + cells, y, cells, " now►", theme.strong());
        }
    }
}
