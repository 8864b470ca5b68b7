//! The record: entries by day, newest first, one of them chosen; above them what the work and the material come
//! to, below them what the keys do.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::text::{Line, Span};

use super::{Columns, Drawn, Sight, board, pages};
use crate::app::view::RecordLine;
use crate::tui::app::Record;
use crate::tui::text::{fit, width, wrap_to};

/// Draws the record.
pub fn page(sight: &Sight<'_>, shown: Record, area: Rect, buf: &mut Buffer) -> Drawn {
    let app = sight.app;
    let about = match (app.record_area(shown), app.record.areas.len()) {
        (Some(area), count) => format!("Record, {area} ({} of {count})", shown.area),
        (None, 0) => "Record".to_owned(),
        (None, _) => "Record, all areas".to_owned(),
    };
    let mut top = pages::title(sight, &about, area, buf).min(1);
    let room = area.width.saturating_sub(2);
    let (bottom, drawn) = board::lower_part(sight, &Columns::of(area.width), top, area, buf);
    let work = said(sight, shown, room, bottom.saturating_sub(top) / 4);
    for line in &work {
        buf.set_line(1, top, line, room);
        top += 1;
    }
    let rows = usize::from(bottom.saturating_sub(top));
    let lines = lines(sight, shown, room);
    let chosen = lines.iter().position(|(_, chosen)| *chosen).unwrap_or(0);
    // The chosen line stands in the middle, once there is something above it.
    let first = chosen.saturating_sub(rows / 2).min(lines.len().saturating_sub(rows));
    for (y, (line, _)) in (top..bottom).zip(lines.iter().skip(first)) {
        buf.set_line(1, y, line, room);
    }
    drawn
}

/// The totals of the work, in at most the given rows.
fn said(sight: &Sight<'_>, shown: Record, columns: u16, rows: u16) -> Vec<Line<'static>> {
    let record = &sight.app.record;
    let of_area = shown.area.checked_sub(1).and_then(|index| record.area_work.get(index));
    let sentences = of_area.map_or(record.work.as_slice(), std::slice::from_ref);
    let lines = sentences.iter().flat_map(|sentence| wrap_to(sentence, columns, 2));
    lines.take(usize::from(rows)).map(Line::from).collect()
}

/// The lines, each with whether it is the chosen one; the days stand between them.
fn lines(sight: &Sight<'_>, shown: Record, columns: u16) -> Vec<(Line<'static>, bool)> {
    let shown_lines = sight.app.record_lines(shown);
    if shown_lines.is_empty() {
        return vec![(Line::from("Nothing is recorded yet."), false)];
    }
    let mut lines = Vec::new();
    let mut day = "";
    for (index, line) in shown_lines.iter().enumerate() {
        if line.day != day {
            day = &line.day;
            lines.push((Line::styled(line.day.clone(), sight.theme.strong()), false));
        }
        let chosen = index == shown.chosen;
        lines.push((entry(sight, line, chosen, columns), chosen));
    }
    lines
}

fn entry(sight: &Sight<'_>, line: &RecordLine, chosen: bool, columns: u16) -> Line<'static> {
    let theme = sight.theme;
    let sign = if chosen { "> " } else { "  " };
    let struck = line.struck.as_ref().map(|why| format!("  ({why})")).unwrap_or_default();
    let front = format!("{:>4}  {:>8}  ", line.id.0, line.time);
    let room = columns.saturating_sub(2 + width(&front) + width(&struck));
    let style = match (&line.struck, chosen) {
        (Some(_), _) => theme.quiet().add_modifier(Modifier::CROSSED_OUT),
        (None, true) => theme.strong(),
        (None, false) => Style::new(),
    };
    Line::from(vec![
        Span::styled(sign, theme.chosen()),
        Span::styled(front, if chosen { theme.strong() } else { theme.quiet() }),
        Span::styled(fit(&line.text, room), style),
        Span::styled(struck, theme.plain()),
    ])
}
