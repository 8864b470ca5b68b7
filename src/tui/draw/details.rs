//! Everything about one area: all its sentences, when what changes, what happened.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

use super::{Columns, Drawn, Sight, axis, pages, strip};
use crate::app::view::{Band, MarkKind, Ribbon};
use crate::tui::text::wrap;

/// The column of the text after a moment.
const LABEL: usize = 12;

/// Draws the details of the chosen area.
pub fn page(sight: &Sight<'_>, scroll: u16, area: Rect, buf: &mut Buffer) -> Drawn {
    let Some(ribbon) = sight.app.chosen_ribbon() else {
        return pages::lines(sight, &[Line::from("No area is chosen.")], scroll, 0, area, buf);
    };
    let title = match ribbon.layer.as_str() {
        "" => format!("{}: {}", ribbon.area, ribbon.head),
        layer => format!("{}: {} ({layer})", ribbon.area, ribbon.head),
    };
    let mut top = pages::title(sight, &title, area, buf);
    if area.height >= 12 {
        let columns = Columns::of(area.width);
        let time = sight.app.axis(columns.cells, sight.civil);
        axis::ruler(sight, &time, &columns, 1, buf);
        strip::draw(sight, ribbon, &time, &columns, (0, 2, 1), buf);
        top = 4;
    }
    pages::lines(sight, &lines(sight, ribbon, area.width.saturating_sub(2)), scroll, top, area, buf)
}

fn lines(sight: &Sight<'_>, ribbon: &Ribbon, columns: u16) -> Vec<Line<'static>> {
    let (theme, now) = (sight.theme, sight.app.view.now);
    let mut lines = Vec::new();
    let mut say = |text: &str, style: Style| {
        lines.extend(wrap(text, columns).into_iter().map(|line| Line::styled(line, style)));
    };
    say(&ribbon.says, theme.plain());
    if let Some(countdown) = &ribbon.countdown {
        say(&format!("{} {}", countdown.digits(now), countdown.label), theme.strong());
    }
    say(&ribbon.range, theme.plain());
    ribbon.film.iter().for_each(|film| say(film, theme.plain()));
    for assumed in &ribbon.assumed {
        say(&format!("assumed: {assumed}"), theme.plain());
    }
    let pair = |label: String, text: String| {
        Line::from(vec![Span::styled(format!("{label:<LABEL$}"), theme.strong()), Span::raw(text)])
    };
    if !ribbon.bands.is_empty() {
        lines.push(Line::default());
        lines.extend(ribbon.bands.iter().map(|band| pair(band_word(band), stretch(sight, band))));
    }
    if !ribbon.marks.is_empty() {
        lines.push(Line::default());
        lines.extend(ribbon.marks.iter().map(|mark| {
            let when = sight.civil.when(mark.at, now);
            pair(mark_word(mark.kind), when)
        }));
    }
    lines
}

fn band_word(band: &Band) -> String {
    let word = if band.applying { "coating" } else { band.phase.word() };
    if band.sure { word.into() } else { format!("{word}?") }
}

fn stretch(sight: &Sight<'_>, band: &Band) -> String {
    let when = |moment| sight.civil.when(moment, sight.app.view.now);
    let unsure = if band.sure { "" } else { ", not sure" };
    match band.to {
        Some(to) => format!("{} … {}{unsure}", when(band.from), when(to)),
        None => format!("from {}{unsure}", when(band.from)),
    }
}

fn mark_word(kind: MarkKind) -> String {
    match kind {
        MarkKind::Coat(layer) => format!("coat {layer}"),
        MarkKind::Step(step) => step.done_word().into(),
        MarkKind::LastCall => "start by".into(),
    }
}
