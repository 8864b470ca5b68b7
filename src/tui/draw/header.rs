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
    let air = &sight.app.view.air;
    let places = u16::try_from(air.len()).unwrap_or(u16::MAX);
    let told = air.first().is_some_and(|air| !air.fitness.is_empty()) && height >= TELLS_FITNESS;
    places.clamp(1, (height / 12).max(1)) + u16::from(told)
}

/// From so many lines on there is room for whether the air suits the next coat.
const TELLS_FITNESS: u16 = 20;

/// The air, a line a place.
pub fn air(sight: &Sight<'_>, y: u16, lines: u16, area: Rect, buf: &mut Buffer) {
    let places = &sight.app.view.air;
    let told = lines > 1 && places.first().is_some_and(|air| !air.fitness.is_empty());
    let told = told && buf.area.height >= TELLS_FITNESS;
    let (y, lines) = match places.first() {
        Some(first) if told => {
            place(sight, first, "", y, area, buf);
            let room = area.width.saturating_sub(2);
            put(buf, 1, y + 1, room, &fit(&first.fitness, room), sight.theme.plain());
            (y + 2, lines - 2)
        }
        _ => (y, lines),
    };
    let places = if told { &places[1..] } else { &places[..] };
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
