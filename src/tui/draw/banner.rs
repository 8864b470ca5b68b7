//! The banners: alerts that nobody has acknowledged.

use ratatui::buffer::Buffer;

use super::Sight;
use crate::app::view::Banner;
use crate::engine::job::AlertKind;
use crate::tui::keys::{Scene, Shown, bindings};
use crate::tui::text::{put, put_right, width, wrap_to};

/// The word that stands before an alert.
pub const fn word(kind: AlertKind) -> &'static str {
    match kind {
        AlertKind::RecoatOpen => "OPEN",
        AlertKind::RecoatClose => "CLOSING",
        AlertKind::LastCall => "LAST CALL",
        AlertKind::TapeBy => "TAPE",
        AlertKind::Sandable => "SANDABLE",
        AlertKind::FullCure => "CURED",
        AlertKind::Stall => "TOO COLD",
        AlertKind::Moved => "MOVED",
        AlertKind::ReadingOld => "OLD READING",
        AlertKind::Dew => "DEW",
        AlertKind::OutOfRange => "AIR",
        AlertKind::Rain => "RAIN",
        AlertKind::PotLife => "POT LIFE",
        AlertKind::PotOver => "POT OVER",
        AlertKind::Induction => "INDUCTION",
    }
}

/// The lines of the banners for a number of free lines.
pub fn lines(sight: &Sight<'_>, most: u16) -> u16 {
    u16::try_from(sight.app.view.banners.len()).unwrap_or(u16::MAX).min(most)
}

/// Draws them, the newest first, a line each; the last line says how many more there are.
pub fn draw(sight: &Sight<'_>, y: u16, lines: u16, end: u16, buf: &mut Buffer) {
    let banners = &sight.app.view.banners;
    let hidden = banners.len().saturating_sub(usize::from(lines));
    for (row, banner) in (y..y + lines).zip(banners) {
        let more = if hidden > 0 && row + 1 == y + lines { format!("+{hidden} more") } else { String::new() };
        let hint = if row == y { hint(sight.app.scene()) } else { String::new() };
        let side = [more, hint].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("  ");
        one(sight, banner, &side, row, end, buf);
    }
}

/// "a seen", as the key table has it.
fn hint(scene: Scene) -> String {
    let shown = bindings(scene).filter(|binding| binding.shown == Shown::Banner);
    shown.map(|binding| format!("{} {}", binding.name, binding.short)).collect::<Vec<_>>().join("  ")
}

/// One alert in a line: reversed as a whole where missing it costs a sanding, else its word alone.
fn one(sight: &Sight<'_>, banner: &Banner, side: &str, y: u16, end: u16, buf: &mut Buffer) {
    let theme = sight.theme;
    let insists = banner.kind.insists();
    let style = if insists { theme.alarm() } else { theme.plain() };
    if insists {
        put(buf, 1, y, end.saturating_sub(1), &" ".repeat(usize::from(end)), style);
    }
    let x = put(buf, 1, y, end.saturating_sub(1), &format!(" {} ", word(banner.kind)), theme.alarm());
    let room = end.saturating_sub(x + 2);
    let side_room = if width(side) < room / 2 { width(side) } else { 0 };
    if side_room > 0 {
        put_right(buf, end - 1, y, side_room, side, style);
    }
    let room = room.saturating_sub(if side_room > 0 { side_room + 3 } else { 0 });
    if let Some(text) = wrap_to(&banner.text, room, 1).first() {
        put(buf, x + 1, y, room, text, style);
    }
}
