//! The row over a ribbon: the times at which its phases begin, and what its marks stand for.

use ratatui::buffer::Buffer;
use ratatui::style::Style;

use super::super::axis::visible;
use super::super::{Columns, Sight};
use crate::app::view::{Axis, MarkKind, Ribbon};
use crate::engine::units::Moment;
use crate::tui::text::{put, width};

struct Flag {
    at: Moment,
    words: String,
    style: Style,
}

/// Sets the flags that have room; the last call comes first, then what is ahead, then what is past.
pub fn draw(sight: &Sight<'_>, ribbon: &Ribbon, axis: &Axis, columns: &Columns, y: u16, buf: &mut Buffer) {
    let mut taken: Vec<(u16, u16)> = Vec::new();
    if let Some(now) = visible(axis, sight.app.view.now, columns.cells) {
        put(buf, columns.axis + now, y, 1, "│", sight.theme.strong());
        taken.push((now, now + 1));
    }
    for flag in flags(sight, ribbon) {
        let Some(from) = visible(axis, flag.at, columns.cells) else { continue };
        let to = from + width(&flag.words);
        // A blank separates two flags.
        let free = taken.iter().all(|(start, end)| to < *start || from > *end);
        if free && to <= columns.cells {
            put(buf, columns.axis + from, y, columns.cells - from, &flag.words, flag.style);
            taken.push((from, to));
        }
    }
}

fn flags(sight: &Sight<'_>, ribbon: &Ribbon) -> Vec<Flag> {
    let (now, theme) = (sight.app.view.now, sight.theme);
    let when = |at| sight.civil.when(at, now);
    let mut flags = Vec::new();
    for mark in ribbon.marks.iter().filter(|mark| mark.kind == MarkKind::LastCall && mark.at > now) {
        flags.push(Flag { at: mark.at, words: format!("start by {}", when(mark.at)), style: theme.strong() });
    }
    for pair in ribbon.bands.windows(2).filter(|pair| pair[0].phase != pair[1].phase) {
        if pair[1].from > now {
            flags.push(Flag { at: pair[1].from, words: when(pair[1].from), style: theme.plain() });
        }
    }
    for mark in ribbon.marks.iter().rev() {
        let words = match mark.kind {
            MarkKind::Coat(layer) => format!("coat {layer}"),
            MarkKind::Step(step) => step.done_word().to_owned(),
            MarkKind::LastCall => continue,
        };
        flags.push(Flag { at: mark.at, words, style: theme.quiet() });
    }
    flags
}
