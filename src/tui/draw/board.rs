//! The board: header, axis, areas, what comes next.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::area::{self, Block, Place};
use super::share::{Wish, share};
use super::{Columns, Drawn, Sight, axis, banner, foot, header, help, pot, sheet};
use crate::tui::app::Page;
use crate::tui::text::put;

/// Draws the board.
pub fn page(sight: &Sight<'_>, area: Rect, buf: &mut Buffer) -> Drawn {
    let columns = Columns::of(area.width);
    header::piece(sight, 0, area, buf);
    let air = header::air_lines(sight, area);
    header::air(sight, 1, area, buf);
    let time = sight.app.axis(columns.cells, sight.civil);
    axis::ruler(sight, &time, &columns, 1 + air, buf);
    let top = 2 + air;
    let (bottom, drawn) = lower(sight, &columns, top, area, buf);
    rule(sight, &columns, top, bottom, buf);
    let pots = pot::rows(sight, area.height, bottom.saturating_sub(top));
    pot::draw(sight, &time, &columns, (top, pots), area.height, buf);
    let top = top + pots;
    areas(sight, &columns, &time, (top, bottom), buf);
    drawn
}

/// The vertical line of now, under everything between the ruler and the lower part.
fn rule(sight: &Sight<'_>, columns: &Columns, top: u16, bottom: u16, buf: &mut Buffer) {
    if !sight.app.at_now() || !columns.wide() || sight.app.view.ribbons.is_empty() {
        return;
    }
    for y in top..bottom {
        put(buf, columns.rule, y, 1, "│", sight.theme.strong());
    }
}

fn areas(
    sight: &Sight<'_>,
    columns: &Columns,
    time: &crate::app::view::Axis,
    (top, bottom): (u16, u16),
    buf: &mut Buffer,
) {
    let ribbons = &sight.app.view.ribbons;
    if ribbons.is_empty() {
        help::legend(sight, (columns.text, top + 1, columns.text_width), bottom, buf);
        return;
    }
    let blocks: Vec<Block<'_>> = ribbons.iter().map(|ribbon| Block::new(ribbon, columns)).collect();
    let wishes: Vec<Wish> = blocks.iter().map(|block| block.wish(columns)).collect();
    let chosen = sight.app.chosen();
    let shares = share(&wishes, chosen, bottom.saturating_sub(top));
    let mut y = top;
    for (index, (block, &rows)) in
        blocks.iter().enumerate().skip(shares.first).zip(&shares.rows).map(|((i, b), r)| (i, (b, r)))
    {
        let place = Place {
            y,
            rows,
            flags: shares.flags,
            chosen: index == chosen,
            parted: shares.gap == 0 && y > top,
        };
        area::draw(sight, block, time, columns, &place, buf);
        y += rows + shares.gap;
    }
}

/// Everything below the areas, laid out from the bottom up; gives the row at which it begins.
pub fn lower(sight: &Sight<'_>, columns: &Columns, top: u16, area: Rect, buf: &mut Buffer) -> (u16, Drawn) {
    let end = area.width.saturating_sub(1);
    let footer = area.height - 1;
    foot::keys(sight, footer, end, buf);
    let room = footer.saturating_sub(top);
    if let Some(over) = &sight.app.sheet {
        let lines = sheet::lines(sight, over, (area.width, room.saturating_sub(2).max(1)));
        let y = footer.saturating_sub(u16::try_from(lines.len()).unwrap_or(u16::MAX)).max(top);
        line(sight, columns, y.saturating_sub(1), buf);
        let cursor = sheet::draw(lines, y, footer, end, buf);
        return (y.saturating_sub(1).max(top), Drawn { cursor, scroll: 0 });
    }
    let roomy = area.height >= 16;
    let message = foot::message(sight, end.saturating_sub(1), room / 3);
    let next = if area.height >= 32 && area.width < 100 { 3 } else { 2 };
    // Big digits want the rows more than the second banner does.
    let most = if sight.app.page == Page::Big { 1 } else { (area.height / 10).max(1) };
    let banners = banner::lines(sight, most);
    let mut y = footer - u16::try_from(message.len()).unwrap_or(0);
    for (y, (text, style)) in (y..).zip(&message) {
        put(buf, 1, y, end.saturating_sub(1), text, *style);
    }
    y = y.saturating_sub(next);
    foot::next(sight, y, next, end, buf);
    y = y.saturating_sub(banners);
    banner::draw(sight, y, banners, end, buf);
    if roomy {
        y = y.saturating_sub(1);
        line(sight, columns, y, buf);
    }
    (y.max(top), Drawn::default())
}

/// The sheet that lies over a page, or what was just said there; gives the row at which that begins.
pub fn lower_part(
    sight: &Sight<'_>,
    columns: &Columns,
    top: u16,
    area: Rect,
    buf: &mut Buffer,
) -> (u16, Drawn) {
    if sight.app.sheet.is_some() {
        return lower(sight, columns, top, area, buf);
    }
    let (end, footer) = (area.width.saturating_sub(1), area.height - 1);
    foot::keys(sight, footer, end, buf);
    let message = foot::message(sight, end.saturating_sub(1), footer.saturating_sub(top) / 2);
    let y = footer - u16::try_from(message.len()).unwrap_or(0);
    for (y, (text, style)) in (y..).zip(&message) {
        put(buf, 1, y, end.saturating_sub(1), text, *style);
    }
    (y.max(top), Drawn::default())
}

/// The line under the areas; the rule of now stands on it.
fn line(sight: &Sight<'_>, columns: &Columns, y: u16, buf: &mut Buffer) {
    put(buf, 1, y, columns.cells, &"─".repeat(usize::from(columns.cells)), sight.theme.quiet());
    let on_board = sight.app.page == Page::Board;
    if on_board && sight.app.at_now() && columns.wide() && !sight.app.view.ribbons.is_empty() {
        put(buf, columns.rule, y, 1, "┴", sight.theme.strong());
    }
}
