//! The top: the piece, the clock, the air of every place.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Sight;
use crate::board::AirLine;
use crate::tui::text::{fit, put, put_right, width};

/// The piece at the left and the clock at the right.
pub fn piece(sight: &Sight<'_>, y: u16, area: Rect, buf: &mut Buffer) {
    let (app, strong) = (sight.app, sight.theme.strong());
    let clock = match app.speed {
        0 | 1 => app.view.clock.clone(),
        speed => format!("{} ({speed} \u{d7} as fast)", app.view.clock),
    };
    let end = area.width.saturating_sub(1);
    let left = put_right(buf, end, y, end, &clock, strong);
    let name = app.view.piece.as_deref().unwrap_or("A job without a name");
    let room = left.saturating_sub(3);
    put(buf, 1, y, room, &fit(name, room), strong);
}

/// How many lines the air takes where the screen is so many lines high.
pub fn air_lines(sight: &Sight<'_>, height: u16) -> u16 {
    let places = u16::try_from(sight.app.view.air.len()).unwrap_or(u16::MAX);
    places.clamp(1, (height / 12).max(1))
}

/// The air, a line a place.
pub fn air(sight: &Sight<'_>, y: u16, lines: u16, area: Rect, buf: &mut Buffer) {
    let places = &sight.app.view.air;
    let hidden = places.len().saturating_sub(usize::from(lines));
    for (row, air) in (y..y + lines).zip(places) {
        let more =
            if hidden > 0 && row + 1 == y + lines { format!("  (+{hidden} places)") } else { String::new() };
        place(sight, air, &more, row, area, buf);
    }
}

fn place(sight: &Sight<'_>, air: &AirLine, more: &str, y: u16, area: Rect, buf: &mut Buffer) {
    let theme = sight.theme;
    let style = if air.old { theme.strong() } else { theme.plain() };
    let end = area.width.saturating_sub(1);
    let left = put_right(buf, end, y, end * 2 / 3, &air.age, style);
    let room = left.saturating_sub(3);
    // What does not fit is left out from the end: the temperature comes first.
    let mut line = air.place.clone();
    for figure in &air.figures {
        let longer = format!("{line}  {figure}");
        if width(&longer) + width(more) > room {
            break;
        }
        line = longer;
    }
    line.push_str(more);
    put(buf, 1, y, room, &fit(&line, room), theme.plain());
}
