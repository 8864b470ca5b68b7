//! The batches on the board: a row each over the areas, with the countdown at its end.

use ratatui::buffer::Buffer;
use ratatui::style::{Modifier, Style};

use super::axis::cell;
use super::{Columns, Sight};
use crate::app::view::{Axis, PotPhase, PotRibbon};
use crate::tui::text::{fit, put, put_right, width, wrap_to};
use crate::tui::theme::pot_pattern;

/// From this many rows on the sentences of a batch are shown.
const SPOKEN: u16 = 30;

/// The columns of the text for a batch whose pot life is over.
const OVER: i64 = 10;

/// The rows of the batches for a screen height: a third of the free rows.
pub fn rows(sight: &Sight<'_>, height: u16, room: u16) -> u16 {
    let each = if height >= SPOKEN { 2 } else { 1 };
    let count = u16::try_from(sight.app.view.pots.len()).unwrap_or(u16::MAX).min((room / 3 / each).max(1));
    if sight.app.view.pots.is_empty() { 0 } else { (count * each).min(room) }
}

/// Draws them from a row on, in the given rows.
pub fn draw(
    sight: &Sight<'_>,
    axis: &Axis,
    columns: &Columns,
    (y, rows): (u16, u16),
    height: u16,
    buf: &mut Buffer,
) {
    let each = if height >= SPOKEN && rows > 1 { 2 } else { 1 };
    for (pot, y) in sight.app.view.pots.iter().zip((y..y + rows).step_by(each)) {
        one(sight, pot, axis, columns, y, buf);
        if each > 1 {
            let says = wrap_to(&pot.says, columns.text_width, 1);
            put(
                buf,
                columns.text,
                y + 1,
                columns.text_width,
                says.first().map_or("", String::as_str),
                sight.theme.plain(),
            );
        }
    }
}

fn one(sight: &Sight<'_>, pot: &PotRibbon, axis: &Axis, columns: &Columns, y: u16, buf: &mut Buffer) {
    let theme = sight.theme;
    let now = sight.app.view.now;
    let room = columns.left();
    let short = format!("{} {}", pot.batch, pot.product);
    let name = format!("batch {short}");
    let name = if width(&name) <= room { name } else { short };
    let style = if pot.hot { theme.alarm() } else { theme.strong() };
    put(buf, 1, y, room, &fit(&name, room), style);
    let digits = pot.countdown.as_ref().map(|countdown| countdown.digits(now)).unwrap_or_default();
    let what = match pot.phase_at(now) {
        _ if digits.is_empty() || !columns.wide() => "",
        Some(PotPhase::Induction) => "wait ",
        _ => "spread ",
    };
    let digits = format!("{what}{digits}");
    let end = columns.width.saturating_sub(1);
    let free = end.saturating_sub(width(&digits) + 1);
    strip(sight, pot, axis, columns, (columns.rule + 1, free, y), buf);
    put_right(buf, end, y, columns.text_width, &digits, theme.strong());
}

/// The stretches right of now, with a word in each that has room for it.
fn strip(
    sight: &Sight<'_>,
    pot: &PotRibbon,
    axis: &Axis,
    columns: &Columns,
    (from, to, y): (u16, u16, u16),
    buf: &mut Buffer,
) {
    let last = i64::from(to);
    for band in &pot.bands {
        let column = |moment| i64::from(columns.axis) + cell(axis, moment, columns.cells);
        let begin = column(band.from).clamp(i64::from(from), last);
        let mut end = band.to.map_or(last, column).clamp(i64::from(from), last);
        if band.phase == PotPhase::Over {
            end = end.min(begin + OVER);
        }
        // What is usable for a short while on this axis is still usable.
        let ahead = band.to.is_none_or(|to| to > sight.app.view.now);
        if begin == end && ahead && band.phase == PotPhase::Usable && begin < last {
            end += 1;
        }
        let (Ok(begin), Ok(end)) = (u16::try_from(begin), u16::try_from(end)) else { continue };
        let style = style(sight, band.phase);
        let letter = pot_pattern(band.phase);
        for x in begin..end {
            let gap = band.phase == PotPhase::Perhaps && (x - begin) % 2 == 1;
            buf[(x, y)].set_char(if gap { ' ' } else { letter }).set_style(style);
        }
        let word = format!(" {} ", band.phase.word());
        if width(&word) + 2 <= end - begin {
            put(buf, begin + (end - begin - width(&word)) / 2, y, width(&word), &word, sight.theme.strong());
        }
    }
    if pot.bands.is_empty() {
        put(buf, columns.text, y, columns.text_width, &pot.says, sight.theme.plain());
    }
}

fn style(sight: &Sight<'_>, phase: PotPhase) -> Style {
    let open = sight.theme.phase(crate::engine::cure::Phase::Open);
    match phase {
        PotPhase::Induction | PotPhase::Over => sight.theme.plain(),
        PotPhase::Usable => open,
        PotPhase::Perhaps => open.remove_modifier(Modifier::BOLD).patch(sight.theme.quiet()),
    }
}
