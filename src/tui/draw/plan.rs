//! The plan: its end, its sessions by day, and why the chosen step is not earlier.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{Columns, Drawn, Sight, board};
use crate::app::view::{PlanShown, PlanView};
use crate::tui::text::{fit, put, put_right, width, wrap, wrap_to};

/// Draws the page with one step chosen.
pub fn page(sight: &Sight<'_>, chosen: usize, area: Rect, buf: &mut Buffer) -> Drawn {
    let theme = sight.theme;
    let plan = &sight.app.plan;
    let top = title(sight, area, buf);
    let (footer, drawn) = board::lower_part(sight, &Columns::of(area.width), top, area, buf);
    let room = area.width.saturating_sub(2);
    let view = match &plan.view {
        Some(Ok(view)) => view,
        Some(Err(trouble)) => {
            let text = format!("No plan: {trouble}");
            say(&wrap(&text, room), theme.plain(), (top, footer), room, buf);
            return drawn;
        }
        None => {
            let busy = plan.busy.as_ref().map_or_else(String::new, |busy| format!(": {busy}"));
            let text =
                format!("Calculating{busy} … Enter takes the best plan so far, Esc goes back and stops.");
            say(&wrap(&text, room), theme.plain(), (top, footer), room, buf);
            return drawn;
        }
    };
    let most = usize::from(area.height / 3).saturating_sub(1).max(1);
    let mut told: Vec<(String, Style)> = Vec::new();
    for (index, line) in view.summary.iter().enumerate() {
        let style = if index == 0 { theme.strong() } else { theme.plain() };
        let left = most.saturating_sub(told.len()).min(2);
        told.extend(wrap_to(line, room, left).into_iter().map(|line| (line, style)));
    }
    let mut y = top;
    for (text, style) in &told {
        put(buf, 1, y, room, text, *style);
        y += 1;
    }
    let why = why(plan, chosen, room, if area.height < 16 { 2 } else { 3 });
    let under = footer.saturating_sub(u16::try_from(why.len()).unwrap_or(0));
    steps(sight, view, chosen, (y, under), room, buf);
    say(&why, theme.plain(), (under, footer), room, buf);
    drawn
}

/// The title, the clock, and whether it is being calculated; returns the row below.
fn title(sight: &Sight<'_>, area: Rect, buf: &mut Buffer) -> u16 {
    if area.height < 4 {
        return 0;
    }
    let (end, strong) = (area.width.saturating_sub(1), sight.theme.strong());
    let left = put_right(buf, end, 0, end, &sight.app.view.clock, strong);
    let again = sight.app.plan.working && sight.app.plan.view.is_some();
    let text = match &sight.app.plan.busy {
        Some(busy) if again => format!("Plan (calculating again: {busy} …)"),
        _ if again => "Plan (calculating again …)".into(),
        _ => "Plan".into(),
    };
    let room = left.saturating_sub(3);
    put(buf, 1, 0, room, &fit(&text, room), strong);
    1
}

/// Why the chosen step is not earlier.
fn why(plan: &PlanShown, chosen: usize, columns: u16, most: usize) -> Vec<String> {
    let Some(line) = plan.line(chosen).filter(|line| !line.not_earlier.is_empty()) else { return Vec::new() };
    wrap_to(&format!("{} is not earlier: {}.", line.time, line.not_earlier), columns, most)
}

/// The sessions by day between two rows, so far down that the chosen one is seen.
fn steps(
    sight: &Sight<'_>,
    view: &PlanView,
    chosen: usize,
    (top, bottom): (u16, u16),
    columns: u16,
    buf: &mut Buffer,
) {
    let theme = sight.theme;
    let mut rows: Vec<(String, Style)> = Vec::new();
    let (mut from, mut to, mut number) = (0, 0, 0);
    for day in &view.days {
        let head = rows.len();
        rows.push((day.day.clone(), theme.strong()));
        for (index, line) in day.lines.iter().enumerate() {
            let (sign, style) = match number == chosen {
                true => ("> ", theme.strong()),
                false => ("  ", theme.plain()),
            };
            let time = format!("{sign}{}  ", line.time);
            let indent = width(&time);
            // The day is seen with its first step.
            let begins = if index == 0 { head } else { rows.len() };
            let texts = wrap(&line.what, columns.saturating_sub(indent).max(8));
            for (row, text) in texts.into_iter().enumerate() {
                let before = if row == 0 { time.clone() } else { " ".repeat(usize::from(indent)) };
                rows.push((format!("{before}{text}"), style));
            }
            if number == chosen {
                (from, to) = (begins, rows.len());
            }
            number += 1;
        }
    }
    for line in view.ready.iter().chain(&view.materials) {
        rows.extend(wrap(line, columns).into_iter().map(|row| (row, theme.plain())));
    }
    for assumed in &view.assumed {
        rows.extend(
            wrap(&format!("assumed: {assumed}"), columns).into_iter().map(|row| (row, theme.quiet())),
        );
    }
    // After the last step: when everything is ready, the materials and the assumptions.
    if chosen + 1 == number {
        to = rows.len();
    }
    let room = usize::from(bottom.saturating_sub(top));
    let skip = to.saturating_sub(room).min(from);
    let more = rows.len() > skip + room;
    for (y, (text, style)) in (top..bottom).zip(rows.iter().skip(skip)) {
        put(buf, 1, y, columns, &fit(text, columns), *style);
    }
    if more && bottom > top {
        put_right(buf, columns + 1, bottom - 1, 7, " more ↓", theme.strong());
    }
}

fn say(lines: &[String], style: Style, (top, bottom): (u16, u16), columns: u16, buf: &mut Buffer) {
    for (y, line) in (top..bottom).zip(lines) {
        put(buf, 1, y, columns, line, style);
    }
}
