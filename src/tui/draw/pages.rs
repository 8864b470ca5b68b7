//! Pages of lines that can be scrolled.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::{Drawn, Sight, foot};
use crate::tui::text::{put, put_right};

/// Draws lines between row `top` and the footer, scrolled; an arrow says that there is more.
pub fn lines(
    sight: &Sight<'_>,
    lines: &[Line<'_>],
    scroll: u16,
    top: u16,
    area: Rect,
    buf: &mut Buffer,
) -> Drawn {
    let end = area.width.saturating_sub(1);
    let footer = area.height - 1;
    let room = footer.saturating_sub(top);
    let count = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    let most = count.saturating_sub(room.max(1));
    let scroll = scroll.min(most);
    for (y, line) in (top..footer).zip(lines.iter().skip(usize::from(scroll))) {
        if area.width > 1 {
            buf.set_line(1, y, line, end.saturating_sub(1));
        }
    }
    foot::keys(sight, footer, end, buf);
    if scroll < most && room > 0 {
        put_right(buf, end, footer, 6, "more ↓", sight.theme.strong());
    }
    Drawn { cursor: None, scroll: most }
}

/// The name of a page, where there is a row for it; gives the row under it.
pub fn title(sight: &Sight<'_>, text: &str, area: Rect, buf: &mut Buffer) -> u16 {
    if area.height < 4 {
        return 0;
    }
    put(buf, 1, 0, area.width.saturating_sub(2), text, sight.theme.strong());
    2
}
