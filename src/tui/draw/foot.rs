//! The lower part: what comes next, what was just said, which keys there are.

use ratatui::buffer::Buffer;
use ratatui::style::Style;

use super::Sight;
use crate::tui::keys::{Action, Binding, Shown, bindings};
use crate::tui::text::{put, put_right, width, wrap_beside, wrap_to};

/// "Next: …" over the given lines, with its countdown at the right. The sentence comes first; the countdown's
/// label follows if it fits.
pub fn next(sight: &Sight<'_>, y: u16, lines: u16, end: u16, buf: &mut Buffer) {
    let (view, theme) = (&sight.app.view, sight.theme);
    let room = end.saturating_sub(1);
    let about = match &view.next.area {
        Some(area) => format!("Next: {area},"),
        None if view.next.says.is_empty() => String::new(),
        None => "Next:".into(),
    };
    let digits = view.next.countdown.as_ref().map(|countdown| countdown.digits(view.now));
    let beside = digits.as_ref().map_or(0, |digits| width(digits) + 3);
    let text = format!("{about} {}", view.next.line());
    let text = wrap_beside(&text, room.saturating_sub(beside), room, usize::from(lines));
    for (y, line) in (y..).zip(&text) {
        put(buf, 1, y, room, line, theme.plain());
    }
    if text.first().is_some_and(|line| line.starts_with(&about)) {
        put(buf, 1, y, room, &about, theme.strong());
    }
    let (Some(digits), Some(countdown)) = (digits, &view.next.countdown) else { return };
    put_right(buf, end, y, room, &digits, theme.strong());
    for row in 1..lines {
        let used = text.get(usize::from(row)).map_or(0, |line| width(line));
        if used + 3 + width(&countdown.label) <= room {
            put_right(buf, end, y + row, room, &countdown.label, theme.plain());
            return;
        }
    }
}

/// What is said for a while, in lines.
pub fn message(sight: &Sight<'_>, columns: u16, most: u16) -> Vec<(String, Style)> {
    let (app, theme) = (sight.app, sight.theme);
    let mut lines = Vec::new();
    if let Some(trouble) = &app.trouble {
        let text = format!("This screen may be out of date: {trouble}");
        lines.extend(wrap_to(&text, columns, 2).into_iter().map(|line| (line, theme.alarm())));
    }
    if let Some(message) = &app.message {
        lines.extend(wrap_to(&message.says, columns, 2).into_iter().map(|line| (line, theme.strong())));
        for caution in &message.cautions {
            let wrapped = wrap_to(caution, columns.saturating_sub(2), 2).into_iter();
            let signs = ["! "].into_iter().chain(std::iter::repeat("  "));
            lines.extend(signs.zip(wrapped).map(|(sign, line)| (format!("{sign}{line}"), theme.plain())));
        }
    }
    lines.truncate(usize::from(most));
    lines
}

/// The keys of the scene, as many as fit: the table has the most useful ones first. The way to the help and the
/// way out have their room kept.
pub fn keys(sight: &Sight<'_>, y: u16, end: u16, buf: &mut Buffer) {
    let long = |binding: &Binding| width(binding.name) + 1 + width(binding.short) + 2;
    let shown = || bindings(sight.app.scene()).filter(|binding| binding.shown == Shown::Footer);
    let kept = |binding: &Binding| matches!(binding.action, Action::Help | Action::Quit);
    let mut owed: u16 = shown().filter(|binding| kept(binding)).map(long).sum();
    let (mut x, mut full) = (1, false);
    for binding in shown() {
        owed -= if kept(binding) { long(binding) } else { 0 };
        full |= !kept(binding) && x + long(binding) + owed > end + 2;
        if full && !kept(binding) || x + long(binding) > end + 2 {
            continue;
        }
        x = put(buf, x, y, width(binding.name), binding.name, sight.theme.key());
        x = put(buf, x + 1, y, width(binding.short), binding.short, sight.theme.plain()) + 2;
    }
}
